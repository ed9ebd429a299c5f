"""A vehicle of two lamps behind the ignition, invented: small enough to plan and weigh to the end in a moment."""

from __future__ import annotations

from functools import cache

from tracer.faults import Fault, find_fault
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.observation.evidence import Reading, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.practice.simulated_vehicle import PracticeVehicle

TEXT = """\
harness: Two lamps behind the ignition, invented
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls:
  ignition: {positions: [off, on]}
  lights: [off, on]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  light switch: {kind: switch, control: lights, contacts: {on: [15-58]}}
  tail: {kind: lamp, lamp: R5W, earth at: E2}
  plate: {kind: lamp, lamp: C5W, earth at: E2}
splices: {S1: here}
earths: {E1: battery, E2: rear}
wires:
  - battery.- > E1
  - battery.+ > ignition switch.30
  - ignition switch.15 > F1.in
  - F1.out > light switch.15
  - light switch.58 > S1
  - S1 > tail.feed
  - S1 > plate.feed
"""
ON = "ignition on, lights on"


@cache
def tool() -> Investigator:
    return Investigator(read_harness(TEXT, "small"))


def with_fault(name: str) -> tuple[Fault, PracticeVehicle]:
    """A fault at its plainest, and the vehicle that has it."""
    fault = find_fault(tool().faults, name)
    return fault, PracticeVehicle(tool().harness, fault.variants[-1].change)


def read(test: Test, vehicle: PracticeVehicle) -> Reading:
    """What the vehicle shows in a test."""
    return Reading(test, parse_value(vehicle.answer(test), test.kind, test.lamp))


def complaint(vehicle: PracticeVehicle) -> Symptom:
    """How both lamps look with everything on."""
    state = tool().harness.state({"ignition": "on", "lights": "on"})
    looks = [f"{lamp} {vehicle.answer(Test('look', state, lamp=lamp))}" for lamp in ("tail", "plate")]
    return parse_symptom(f"{', '.join(looks)} when {ON}", tool().harness)
