"""Which faults are one search: places along one run that nobody tells apart from outside. Expected runs are read off
the harness by hand."""

from __future__ import annotations

from tracer.faults import find_fault, list_faults
from tracer.faults.runs import Runs
from tracer.harness.file.text import read_harness

HARNESS = read_harness("""
harness: two tail lamps
system: 12 V negative earth
usual: {size: 1 mm², length: 1.5 m, loom: left hinge}
controls:
  lights: {positions: [off, side]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  lamp switch: {kind: switch, control: lights, contacts: {side: [30-58]}}
  left tail: {kind: lamp, lamp: R5W, for: side}
  right tail: {kind: lamp, lamp: R5W, for: side}
connectors:
  C1: {ways: 2}
splices:
  S1: {}
earths:
  E1: {}
  E2: {}
  E3: {}
wires:
  - {run: battery.- > E1, loom: battery}
  - {run: battery.+ > F1.in, loom: battery}
  - F1.out > lamp switch.30
  - lamp switch.58 > C1.1 > S1
  - S1 > left tail.feed
  - S1 > right tail.feed
  - {run: left tail.earth > E2, loom: rear, length: 0.5 m}
  - {run: right tail.earth > E3, loom: rear, flexes: no}
""")
FAULTS, RUNS = list_faults(HARNESS), Runs(HARNESS)


def run(name: str) -> tuple[str, str] | None:
    return RUNS.of(find_fault(FAULTS, name))


def test_a_short_is_looked_for_on_its_piece_of_copper() -> None:
    """Plug and splice join it, the switch parts it; a holder that touches its shell lies on it."""
    behind = run("wire to body: S1 – left tail.feed")
    assert behind is not None and behind[0] == "short"
    assert run("wire to body: lamp switch.58 – C1.1") == run("wire to body: C1.1 – S1") == behind
    assert run("holder shorted: right tail") == run("stray live end: S1") == behind
    assert run("wire to body: F1.out – lamp switch.30") not in (None, behind)
    assert RUNS.ends(behind) == ["lamp switch.58"]


def test_a_break_is_looked_for_as_far_as_nothing_branches_off() -> None:
    through = run("wire open: lamp switch.58 – C1.1")
    assert through is not None and through == run("wire bad: C1.1 – S1")
    assert run("old repair open: S1 – left tail.feed") == run("wire open: S1 – left tail.feed")
    assert run("wire open: S1 – left tail.feed") != through
    assert run("wire open: S1 – left tail.feed") != run("wire open: S1 – right tail.feed")
    # What is renewed or cleaned as a thing of its own is no place of a wire.
    assert run("way open: C1 way 1") is None and run("filament open: left tail") is None


def test_the_earth_of_one_lamp_is_one_search_and_another_lamps_is_another() -> None:
    assert run("earth open: E2") is not None
    assert run("earth open: E2") != run("earth open: E3")


def test_a_loom_called_after_a_hinge_bends() -> None:
    """Six times as likely to break as another wire (judgement), unless the wire says that it does not bend."""
    hinge = find_fault(FAULTS, "wire open: S1 – left tail.feed")
    assert hinge.rate == 6 * find_fault(FAULTS, "wire open: right tail.earth – E3").rate
