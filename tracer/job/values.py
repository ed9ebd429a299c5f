"""The values that a job hands to the faces and takes from them, gathered under one roof."""

from __future__ import annotations

from tracer.harness.model import Harness, VehicleState
from tracer.harness.vehicle_kinds import TRAFFIC
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.job.history import Entry, ProofResult
from tracer.job.text import Event
from tracer.observation.evidence import Reading, Symptom, Test, Value
from tracer.observation.story import WORK, Story
from tracer.observation.test_kinds import INSTRUMENTS
from tracer.planning.constraints import Limits
from tracer.planning.next_step import Proposal
from tracer.planning.repair_proof import Proof, ProofCheck
from tracer.safety.order import Step
from tracer.safety.rules import Caution

__all__ = [
    "INSTRUMENTS", "TRAFFIC", "WORK", "Caution", "Diagnosis", "Entry", "Event", "Harness", "Limits", "Proof",
    "ProofCheck", "ProofResult", "Proposal", "Reading", "Step", "Story", "Suspect", "Symptom", "Test", "Value",
    "VehicleState",
]
