"""What can be asked of a harness before any job, gathered for the faces: they take no lower room by the back door."""

from __future__ import annotations

from tracer.checking.chart import chart
from tracer.checking.findings import folded
from tracer.checking.rules import check
from tracer.checking.simulation import LampLit, Simulation, simulate
from tracer.checking.sneak import sneak_scan
from tracer.checking.survey import Survey
from tracer.checking.truth_table import truth_table
from tracer.circuit.flasher_rate import say_rate
from tracer.faults import find_fault, list_faults
from tracer.harness.base_rates import FAULT_SOURCES, RATES
from tracer.harness.file.model_files import model_names
from tracer.harness.file.nodes import read_text_file
from tracer.harness.file.schema import schema
from tracer.harness.file.starter import starter_text
from tracer.harness.file.text import load_harness
from tracer.harness.file.wire_list import unread_note, wire_list_text
from tracer.harness.file.wires_in import lay_in
from tracer.observation.words.states import parse_state
from tracer.standards import COLOUR_CODES

__all__ = [
    "COLOUR_CODES", "FAULT_SOURCES", "RATES", "LampLit", "Simulation", "Survey", "chart", "check",
    "find_fault", "folded", "lay_in", "list_faults", "load_harness", "model_names",
    "parse_state", "read_text_file", "say_rate", "schema", "simulate", "sneak_scan", "starter_text", "truth_table",
    "unread_note", "wire_list_text",
]
