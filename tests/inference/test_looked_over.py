"""Looked over, moved and measured at its end, on a vehicle of two lamps: each chance by hand from the table of what
is seen."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from tests.small_vehicle import tool
from tracer.faults import find_fault
from tracer.harness.inspectable import Thing
from tracer.inference.hypotheses import Hypothesis, together
from tracer.inference.visual_inspection import (
    FALSE_FIND,
    MOVES_ELSE,
    MOVES_LASTING,
    MOVES_LOOSE,
    OF_LOOSE,
    VISIBLE,
    find_chances,
    found_loglik,
    move_chances,
    say_chance,
    where_moved,
    where_seen,
    worth_inspecting,
    worth_moving,
)
from tracer.inference.wire_ends import end_chances, worth_probing
from tracer.observation.evidence import Reading, Test, Value, inspection


def row(name: str, awake: float = 1.0) -> Hypothesis:
    own = find_fault(tool().faults, name)
    return Hypothesis((own,), (own.variants[-1],), 0.01, awake)


WIRE = Thing("wire", "S1", "tail.feed")
OPEN, HOLDER, E2, TERMINAL = (
    "wire open: S1 – tail.feed", "holder bad: tail holder contact", "earth open: E2", "terminal bad: F1.in")


def found(thing: Thing, *rows: Hypothesis) -> list[float]:
    return [float(p) for p in find_chances(rows, thing, tool().harness)]


@pytest.mark.parametrize(("fault", "thing"), [
    (OPEN, WIRE), (HOLDER, Thing("holder", "tail")), (E2, Thing("earth point", "E2")),
    ("splice open: S1", Thing("splice", "S1")), ("fuse blown: F1", Thing("fuse", "F1")),
    (TERMINAL, Thing("fuse", "F1")), ("filament open: plate", Thing("lamp", "plate")),
    ("added load: tail", Thing("part", "tail")),
])
def test_what_is_seen_at_a_thing_is_missed_as_often_as_the_table_says(fault: str, thing: Thing) -> None:
    """Found by what is there or by what only looks bad: 1 − (1 − p)(1 − q); elsewhere by the second alone."""
    share, false = VISIBLE[fault.partition(":")[0]][1], FALSE_FIND[thing.kind]
    assert where_seen(row(fault).faults[0], tool().harness)[thing] == share
    assert found(thing, row(fault)) == pytest.approx([1 - (1 - share) * (1 - false)])
    if "fuse" not in fault:  # what blew stays blown
        assert found(thing, row(fault, 0.3)) == pytest.approx([1 - (1 - OF_LOOSE * share) * (1 - false)])
    other = Thing("wire", "battery.+", "ignition switch.30")
    assert found(other, row(fault)) == pytest.approx([FALSE_FIND["wire"]])


def test_of_two_faults_in_one_thing_either_is_found() -> None:
    pair = together(row(OPEN), row("wire open: S1 – plate.feed"))
    assert pair is not None
    here, false = VISIBLE["wire open"][1], FALSE_FIND["wire"]
    assert found(WIRE, pair) == found(Thing("wire", "S1", "plate.feed"), pair) == pytest.approx(
        [1 - (1 - here) * (1 - false)])
    splice = together(row("splice open: S1"), row("splice leg open: S1 to tail.feed"))
    if splice is not None:
        missed = (1 - VISIBLE["splice open"][1]) * (1 - VISIBLE["splice leg open"][1]) * (1 - FALSE_FIND["splice"])
        assert found(Thing("splice", "S1"), splice) == pytest.approx([1 - missed])


def test_a_fuse_that_a_short_blew_is_seen_at_the_fuse() -> None:
    short = next(h for h in tool().singles if h.faults[0].kind == "wire to body" and any(
        name == "F1 link" for name, _ in h.change.set_ohm))
    fuse = Thing("fuse", "F1")
    assert found(fuse, short) == pytest.approx([1 - (1 - VISIBLE["fuse blown"][1]) * (1 - FALSE_FIND["fuse"])])


def moved(thing: Thing, *rows: Hypothesis, shows: bool = True) -> list[float]:
    return [float(p) for p in move_chances(rows, thing, np.full(len(rows), shows), tool().harness)]


def test_a_lamp_flickers_where_what_is_moved_is_loose_and_shows_in_it() -> None:
    """What is bad for good sometimes, anything else hardly ever; and nothing where the lamp does not hang on it."""
    holder, lasting = row(HOLDER, 0.3), row(HOLDER)
    here = Thing("holder", "tail")
    assert here in where_moved(holder.faults[0], tool().harness)
    assert moved(here, holder, lasting, row(E2, 0.3)) == pytest.approx([
        1 - (1 - MOVES_LOOSE) * (1 - MOVES_ELSE), 1 - (1 - MOVES_LASTING) * (1 - MOVES_ELSE), MOVES_ELSE])
    assert moved(here, holder, shows=False) == pytest.approx([MOVES_ELSE])
    assert moved(Thing("earth point", "E2"), row(E2, 0.3))[0] > 0.7 > moved(Thing("earth point", "E2"), holder)[0]


def test_what_is_found_counts_by_its_chance_and_no_look_excludes_anything() -> None:
    test = inspection(tool().harness, WIRE)
    chances = np.array([0.9, 0.05])
    for value, expected in ((Value(found=True), chances), (Value(found=False), 1 - chances), (Value(), np.ones(2))):
        assert np.exp(found_loglik(Reading(test, value), chances)) == pytest.approx(expected)
    assert say_chance(0.25, "inspect") != say_chance(0.24, "inspect") == "nothing"
    assert "9" in say_chance(0.9, "inspect")


# --- what is worth it


def test_what_is_likeliest_to_be_found_is_looked_over_first_and_once() -> None:
    """By share times chance: an earth, 0.8 of 0.3, before a wire, 0.3 of 0.6; filaments are seen in the hand."""
    rows = [row(OPEN), row(E2), row("filament open: tail"), row("wire open: S1 – plate.feed")]
    shares, harness = np.array([0.6, 0.3, 0.09, 0.01]), tool().harness
    assert worth_inspecting(rows, shares, [], harness) == [Thing("earth point", "E2"), WIRE]
    done = Reading(inspection(harness, Thing("earth point", "E2")), Value(found=False))
    skipped = replace(done, value=Value())
    assert worth_inspecting(rows, shares, [done], harness) == [WIRE]
    assert worth_inspecting(rows, shares, [skipped], harness) == [Thing("earth point", "E2"), WIRE]


def test_only_what_comes_and_goes_is_worth_moving() -> None:
    rows = [row(HOLDER, 0.3), row("holder bad: plate holder contact")]
    things = worth_moving(rows, np.array([0.5, 0.5]), tool().harness)
    assert Thing("holder", "tail") in things and not any("plate" in t.name for t in things)
    assert worth_moving(rows, np.array([0.009, 0.9]), tool().harness) == []


def test_an_end_is_measured_where_a_wire_and_what_it_is_fastened_to_are_suspects() -> None:
    rows = [row("terminal bad: F1.in"), row("wire bad: ignition switch.15 – F1.in")]
    harness = tool().harness
    ends = worth_probing(rows, np.array([0.5, 0.5]), [], harness)
    assert ends == [("F1.in", "ignition switch.15")]
    assert worth_probing(rows[:1], np.array([1.0]), [], harness) == [], "nothing to tell it from"
    assert worth_probing(rows, np.array([0.009, 0.9]), [], harness) == []
    state = harness.state({"ignition": "on", "lights": "on"})
    known = Reading(Test("crimp", state, "F1.in", "ignition switch.15"), Value(found=False))
    assert worth_probing(rows, np.array([0.5, 0.5]), [known], harness) == []


def test_volts_are_lost_at_the_end_that_is_bad() -> None:
    """Of 0.2 V along the wire with its ends nearly all is lost in the terminal: found 97 times in a hundred, and
    three where nothing is lost; half of the way between 0.05 and 0.2 V half as often."""
    harness = tool().harness
    state = harness.state({"ignition": "on", "lights": "on"})
    test = Test("crimp", state, "F1.in", "ignition switch.15")
    rows = [row("terminal bad: F1.in"), row("terminal bad: ignition switch.15"), row(E2)]
    for volts, told in ((1.0, 1.0), (0.0, 0.0), (-1.0, 1.0)):
        there, other, elsewhere = end_chances(test, rows, np.full(3, volts), harness)
        assert there == pytest.approx(0.03 + 0.94 * told, abs=0.01) and other == elsewhere == 0.03
    half = end_chances(test, rows[:1], np.array([0.125]), harness)[0]
    assert half == pytest.approx(0.5, abs=0.03)
    loose = end_chances(test, [replace(rows[0], awake=0.3)], np.array([1.0]), harness)[0]
    assert loose == pytest.approx(0.03 + 0.94 * 0.3, abs=0.01)
