"""A lamp unit with two earth terminals: what hangs on one of them stays well when the other fails."""

from __future__ import annotations

import pytest

from tracer.checking.simulation import simulate
from tracer.errors import TracerError
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import dump_harness, read_harness

TEXT = """
harness: Invented rear lamp with two earths
system: 12 V negative earth
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W}, own earth: {indicator: earth 2}}
splices: {S1: here}
earths: {E1: left, E2: right}
wires:
  - battery.+ > F1.in
  - battery.- > E1
  - F1.out > S1
  - S1 > rear.stop
  - S1 > rear.indicator
  - rear.earth > E1
  - rear.earth 2 > E2
"""
HARNESS = read_harness(TEXT)


@pytest.mark.parametrize(("wire", "dark", "lit"), [
    ("rear.earth – E1", "rear stop", "rear indicator"), ("rear.earth 2 – E2", "rear indicator", "rear stop"),
])
def test_each_earth_takes_its_own_lamps(wire: str, dark: str, lit: str) -> None:
    find_fault(list_faults(HARNESS), f"wire open: {wire}")
    looks = {x.lamp: x.look for x in simulate(HARNESS, faults=[f"wire open: {wire}"]).lamps}

    assert looks[lit].startswith(("normal", "bright")) and looks[dark].startswith("dark")


def test_it_is_written_and_read_again() -> None:
    assert read_harness(dump_harness(HARNESS)) == HARNESS
    assert HARNESS.parts["rear"].terminals == ("stop", "tail", "indicator", "earth", "earth 2")


@pytest.mark.parametrize(("wrong", "says"), [
    ("{reversing: earth 2}", "no lamp “reversing”"), ("{indicator: stop}", "is the feed of a lamp"),
    ("yes", "expected lamps and terminals"), ("{indicator: a.b}", "contains “.”"),
])
def test_wrong_input_is_told(wrong: str, says: str) -> None:
    with pytest.raises(TracerError, match=says):
        read_harness(TEXT.replace("{indicator: earth 2}", wrong))
