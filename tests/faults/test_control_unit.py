"""A trailer module: its outputs follow their inputs, feed the trailer from the battery, and fail one by one."""

from __future__ import annotations

import pytest

from tracer.checking.simulation import Simulation, simulate
from tracer.errors import TracerError
from tracer.faults import list_faults
from tracer.harness.file.text import dump_harness, read_harness

TEXT = """
harness: Invented trailer module
system: 12 V negative earth
controls:
  lamp switch: {positions: [off, on]}
  brake pedal: {positions: [released, pressed], sprung: yes}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  F2: {kind: fuse, rating: 15 A}
  lamp switch: {kind: switch, control: lamp switch, contacts: {on: [30-58]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [15-54]}}
  tail: {kind: lamp, lamp: R5W}
  module: {kind: control unit, outputs: {58L: tail in, 58R: tail in, 54: stop in}}
  left trailer tail: {kind: lamp, lamp: R5W}
  right trailer tail: {kind: lamp, lamp: R5W}
  trailer stop: {kind: lamp, lamp: P21W}
splices: {S1: feed, S2: side, S3: trailer earth, S4: switches}
earths: {E1: here}
wires:
  - battery.+ > S1
  - battery.- > E1
  - S1 > F1.in
  - S1 > F2.in
  - F1.out > S4
  - S4 > lamp switch.30
  - S4 > brake switch.15
  - lamp switch.58 > S2
  - S2 > tail.feed
  - tail.earth > E1
  - S2 > module.tail in
  - brake switch.54 > module.stop in
  - F2.out > module.30
  - module.31 > E1
  - module.58L > left trailer tail.feed
  - module.58R > right trailer tail.feed
  - module.54 > trailer stop.feed
  - left trailer tail.earth > S3
  - right trailer tail.earth > S3
  - trailer stop.earth > S3
  - S3 > E1
"""
HARNESS = read_harness(TEXT)


def lit(found: Simulation) -> set[str]:
    return {x.lamp for x in found.lamps if x.look.startswith(("normal", "bright"))}


def test_outputs_follow_their_inputs() -> None:
    assert lit(simulate(HARNESS, {"lamp switch": "on"})) == {"tail", "left trailer tail", "right trailer tail"}
    assert lit(simulate(HARNESS, {"brake pedal": "pressed"})) == {"trailer stop"}
    assert lit(simulate(HARNESS)) == set()


@pytest.mark.parametrize(("fault", "on", "stay"), [
    ("unit output dead: module output 58L", "lamp switch", {"tail", "right trailer tail"}),
    ("unit dead: module", "lamp switch", {"tail"}),
    ("unit input dead: module input tail in", "lamp switch", {"tail"}),
    ("unit output stuck on: module output 54", "", {"trailer stop"}),
    ("fuse blown: F2", "lamp switch", {"tail"}),
    ("wire open: module.31 – E1", "lamp switch", {"tail"}),
])
def test_what_each_fault_leaves(fault: str, on: str, stay: set[str]) -> None:
    positions = {on: HARNESS.controls[on].positions[1]} if on else {}
    assert lit(simulate(HARNESS, positions, faults=[fault])) == stay


def test_a_short_on_the_trailer_spares_the_car() -> None:
    """That is what the module is for: its own fuse goes, and the car’s tail lamp stays lit."""
    found = simulate(HARNESS, {"lamp switch": "on"}, faults=["wire to body: module.58L – left trailer tail.feed"])
    assert list(found.fuses_blow) == ["F2"] and lit(found) == {"tail"}


def test_it_is_written_and_read_again_and_knows_its_faults() -> None:
    assert read_harness(dump_harness(HARNESS)) == HARNESS
    assert not any(f.kind.startswith("relay") for f in list_faults(HARNESS))


@pytest.mark.parametrize(("wrong", "says"), [
    ("{58L: 58L}", "is an output"), ("{30: tail in}", "own feed or earth"), ("yes", "expected outputs"),
])
def test_wrong_outputs_are_told(wrong: str, says: str) -> None:
    with pytest.raises(TracerError, match=says):
        read_harness(TEXT.replace("{58L: tail in, 58R: tail in, 54: stop in}", wrong))
