"""A switch that a pedal works: whether it is set wrong or worn is told by working it by hand."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tracer.harness.inspectable import Thing, say_moved
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.visual_inspection import MOVES_ELSE, MOVES_WORKED, move_chances, worth_moving
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.costs import Standing
from tracer.planning.next_step import propose
from tracer.practice.simulated_vehicle import PracticeVehicle

SWITCH = Thing("part", "brake switch")


@cache
def tool() -> Investigator:
    return tool_on(MODELS / "bullets_1960s.yaml")


def _of(kind: str) -> Hypothesis:
    return next(h for h in tool().singles if [f.kind for f in h.faults] == [kind] and h.awake == 1
                and "brake switch" in h.faults[0].name)


def test_a_switch_set_wrong_obeys_the_hand_and_a_worn_one_does_not() -> None:
    """1 − 0.1 · 0.96 = 0.904; a worn contact may be moved into touch as any lasting fault is: 0.184."""
    two = [_of("switch out of adjustment"), _of("switch never makes")]
    shows = np.array([True, True])
    wrong, worn = move_chances(two, SWITCH, shows, tool().harness)
    assert wrong == pytest.approx(1 - (1 - MOVES_WORKED) * (1 - MOVES_ELSE))
    assert worn < 0.2
    hidden = move_chances(two, SWITCH, np.array([False, False]), tool().harness)
    assert hidden.tolist() == pytest.approx([MOVES_ELSE] * 2), "a lamp that shows neither tells neither"
    assert move_chances(two, Thing("part", "lighting switch"), shows, tool().harness)[0] == pytest.approx(MOVES_ELSE)


def test_a_practice_vehicle_obeys_the_hand_as_well() -> None:
    """Of two lamps that stay dark the one comes on when the pedal switch is pushed in by hand; at another switch, and
    where the lamp is as it should be, nothing changes."""
    harness = tool().harness
    test = parse_test("wiggle brake switch watching left rear stop when brake pedal pressed", harness)
    for kind, expected in (("switch out of adjustment", "changes"), ("switch never makes", "does not")):
        row = next(h for h in tool().singles if [f.kind for f in h.faults] == [kind] and h.awake == 1
                   and "brake switch" in h.faults[0].name and h.variants[0].says != "closes in released and pressed")
        assert PracticeVehicle(harness, row.change, faults=row.faults).answer(test) == expected
    wrong = _of("switch out of adjustment")
    for other in ("wiggle lighting switch watching left rear stop when brake pedal pressed",
                  "wiggle brake switch watching left tail when brake pedal pressed"):
        own = parse_test(other, harness)
        assert PracticeVehicle(harness, wrong.change, faults=wrong.faults).answer(own) == "does not"


def test_it_is_worth_it_where_the_fault_stays() -> None:
    assert worth_moving([_of("switch out of adjustment")], np.ones(1), tool().harness) == [SWITCH]
    assert worth_moving([_of("switch never makes")], np.ones(1), tool().harness) == []


def test_the_words_say_what_to_do_with_it() -> None:
    said = say_moved(tool().harness, SWITCH, "", "")
    assert said == "brake switch and the wires at it, work its plunger or lever by hand"
    assert say_moved(tool().harness, Thing("part", "lighting switch"), "", "") == (
        "lighting switch and the wires at it"), "a knob carries its contacts itself"


def test_it_is_asked_for_before_the_switch_is_adjusted() -> None:
    """Stop lamps dark, twelve volts across the switch."""
    harness = tool().harness
    drop = parse_test("volt drop brake switch.in to brake switch.out when brake pedal pressed", harness)
    said = "left rear stop dark, right rear stop dark when brake pedal pressed"
    seen: list[Evidence] = [parse_symptom(said, harness), Reading(drop, parse_value("-12.4 V", "drop"))]
    step = propose(tool().diagnose(seen), Standing(drop.state))
    assert step.kind == "test" and step.test is not None
    assert step.test.kind == "wiggle" and step.test.plus == "brake switch"
