"""What a proposal was planned with: the prices of its tests and repairs, the undescribed cause, looks that are made
again, points that are probed."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tracer.circuit.model import Floats
from tracer.harness.file.text import load_harness
from tracer.harness.node import node_of
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LampSeen, Reading, Test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_readings import Measurements
from tracer.planning.costs import ALSO_MIN, GIVE_UP_MIN, PROVE_MIN, Standing, in_vain_minutes, minutes_of
from tracer.planning.live_hypotheses import Living
from tracer.planning.next_step import Proposal, propose
from tracer.planning.viewpoints import telling, together

HARNESS = load_harness(MODELS / "rear_end.yaml")
PRESSED = HARNESS.state({"brake pedal": "pressed"})
RIGHT = parse_symptom("left rear stop normal when brake pedal pressed", HARNESS)
EARTH = "left rear stop dark, left rear tail dark when lamp switch side, brake pedal pressed"


def own() -> Investigator:
    return tool_on(MODELS / "rear_end.yaml")


@cache
def found() -> Diagnosis:
    return own().diagnose([parse_symptom(EARTH, HARNESS)], pairs=False)


@cache
def proposal(dead: bool = False) -> Proposal:
    return propose(found(), Standing(PRESSED, battery_off=dead))


def cost(of: object, where: Standing) -> float:
    assert callable(of)
    return float(of(where))


# --- Prices ----------------------------------------------------------------------------------------------


def test_a_test_costs_its_minutes_and_a_word_for_every_lamp_seen_with_it() -> None:
    step = proposal()
    assert step.kind == "test" and step.test is not None and step.planned is not None
    expected = minutes_of(step.test, Standing(PRESSED), HARNESS) + ALSO_MIN * len(step.also)
    assert step.cost == pytest.approx(expected) == pytest.approx(step.options[0].cost)
    chosen = step.planned.problem.checks[step.planned.index]
    assert cost(chosen.cost, Standing(PRESSED)) == pytest.approx(expected)
    dead = Standing(PRESSED, battery_off=True)
    assert cost(chosen.cost, dead) == pytest.approx(
        minutes_of(step.test, dead, HARNESS) + ALSO_MIN * len(step.also))
    assert step.bound <= step.minutes


def test_also_lamps_are_paid_for_in_the_plan() -> None:
    """A stop lamp lit by the lamp switch: whoever stands behind sees the other lamps too, at a word for each."""
    state = HARNESS.state({"lamp switch": "side"})
    seen = parse_symptom("left rear stop lit when lamp switch side", HARNESS)
    step = propose(own().diagnose([seen], pairs=False), Standing(state))
    planned = step.planned
    assert planned is not None and step.test is not None and len(step.also) > 2
    alone = minutes_of(step.test, Standing(state), HARNESS)
    chosen = planned.problem.checks[planned.index].cost
    assert cost(chosen, Standing(state)) == pytest.approx(alone + ALSO_MIN * len(step.also))
    assert step.cost == pytest.approx(alone + ALSO_MIN * len(step.also))
    for check in planned.problem.checks:
        assert cost(check.cost, Standing(PRESSED)) >= 0.2 == check.least


def test_a_repair_costs_work_way_and_proof_and_in_vain_its_price() -> None:
    """The way there once; what a repair made in vain costs on top is given back when it was the right one."""
    planned = proposal().planned
    assert planned is not None
    suspects = {s.repair: s for s in found().suspects}
    everywhere = frozenset(HARNESS.place_of(f.node)[0] for s in suspects.values() for f in s.best.defects)
    for name, repair in zip(planned.repairs, planned.problem.repairs, strict=True):
        best = suspects[name].best
        vain = in_vain_minutes(best.defects)
        work = best.repair_min + PROVE_MIN + vain
        ways = dict(HARNESS.place_of(f.node) for f in best.defects)
        assert cost(repair.cost, Standing(PRESSED, everywhere)) == pytest.approx(work) == pytest.approx(repair.least)
        assert cost(repair.cost, Standing(PRESSED)) == pytest.approx(work + sum(ways.values()))
        assert repair.finish == -vain < 0
        assert repair.moves is not None
        after = repair.moves(Standing(PRESSED))
        assert isinstance(after, Standing) and after.opened == frozenset(ways) and after.state == PRESSED
        assert repair.moves(after) is after
    assert planned.problem.give_up_cost == GIVE_UP_MIN


def test_nobody_knows_what_an_undescribed_fault_shows() -> None:
    """Half what the suspects show on average, half anything; and what every check shows sums to one."""
    planned = proposal().planned
    assert planned is not None
    prior: Floats = np.asarray(planned.problem.prior)
    assert planned.problem.label[-1] == -1 and prior[-1] == pytest.approx(max(found().undescribed, 1e-6))
    for check in planned.problem.checks:
        table = np.asarray(check.likelihood)
        assert table.sum(axis=0) == pytest.approx(1.0)
        average = table[:, :-1] @ (prior[:-1] / prior[:-1].sum())
        assert table[:, -1] == pytest.approx(0.5 * average + 0.5 / len(table), abs=1e-3)


def test_what_is_told_of_a_repair_takes_no_price_of_a_wrong_part_for_time() -> None:
    """In the hand the filament is open: the new lamp, in the minutes of the work, the way and the proof."""
    bulb = HARNESS.lamp("left rear stop")
    held = Test("ohms", PRESSED, bulb.a, bulb.b, done=(Intervention("take out lamp", bulb.bulb),))
    seen = parse_symptom("left rear stop dark, right rear stop normal when brake pedal pressed", HARNESS)
    step = propose(own().diagnose([seen, Reading(held, parse_value("open", "ohms"))], pairs=False), Standing(PRESSED))
    assert step.kind == "repair" and step.suspect is not None and step.sure > 0.9
    fault = step.suspect.best.defects[0]
    assert step.cost == pytest.approx(fault.repair_min + PROVE_MIN + HARNESS.place_of(fault.node)[1])


# --- Where probes go -------------------------------------------------------------------------------------


def test_probes_go_to_the_lamps_concerned_the_suspects_and_what_is_next_to_them() -> None:
    """A fuse F1 alone, whose link lies inside: probes reach its holder by the wires' ends. The left unit, whose lamp
    was told of; the ways, earth and splices that their wires lead to. Not the body, and nothing inside a part."""
    tail = parse_symptom("left rear tail dark when lamp switch side", HARNESS)
    diagnosis = own().diagnose([tail, RIGHT], pairs=False)
    row = next(i for i, h in enumerate(diagnosis.hypotheses) if h.faults[0].name == "fuse blown: F1")
    points = Measurements(Living(diagnosis, [row])).probe_nodes()
    assert points == sorted(points) and len({*points}) == len(points)
    assert {"left rear.stop", "left rear.tail", "left rear.earth", "F1.out", "E1", "S2", "C1.1'"} <= {*points}
    assert "C1.1" in points  # the other half of a way next to it
    assert not any(node_of(n).inner for n in points)
    assert not {"body", "right rear.stop", "right rear.earth", "F2.in", "E2"} & {*points}


# --- Lamps seen together ---------------------------------------------------------------------------------


def test_lamps_tell_something_where_the_suspects_differ_in_one_word() -> None:
    assert telling(np.array([[0.9, 0.7], [0.1, 0.3]])) and not telling(np.array([[0.9, 0.85], [0.1, 0.15]]))
    assert not telling(np.array([[0.4, 0.4], [0.6, 0.6]]))


def test_of_lamps_seen_together_the_likely_outcomes_are_told_apart_and_the_rest_is_one() -> None:
    """Three lamps of two words each are eight outcomes: all are kept; with a fourth eight of sixteen are."""
    even = np.array([[0.5, 0.6], [0.5, 0.4]])
    said, joint = together(["a", "b", "c"], [even] * 3, ["dark", "lit"])
    assert len(said) == 9 and said[0] == "a dark, b dark, c dark" and said[-1] == "otherwise"
    assert joint.sum(axis=0) == pytest.approx(1.0)
    assert joint[0] == pytest.approx([0.125, 0.216], rel=1e-4) and joint[-1].max() < 1e-5
    said, joint = together(["a", "b", "c", "d"], [even] * 4, ["dark", "lit"])
    assert len(said) == 9 and joint.sum(axis=0) == pytest.approx(1.0)
    assert joint[-1, 0] == pytest.approx(0.5, abs=1e-4)  # eight of sixteen that are alike
    rare = np.array([[0.99, 0.95], [0.01, 0.05]])  # a word that nobody expects counts with the likeliest
    said, joint = together(["a"], [rare], ["dark", "lit"])
    assert said == ("a dark", "otherwise") and joint[0].min() > 0.999


def test_a_lamp_named_twice_in_what_was_told_stands_once_the_odd_ones_first() -> None:
    items = [RIGHT, parse_symptom("left rear tail dark when lamp switch side", HARNESS),
             parse_symptom("right rear stop normal when brake pedal pressed", HARNESS), RIGHT]
    diagnosis = own().diagnose(items, pairs=False)
    lamps = Living(diagnosis, [diagnosis.suspects[0].rows[0]]).affected_lamps()
    assert lamps == ["left rear tail", "left rear stop", "right rear stop"]
    assert all(isinstance(s, LampSeen) for i in items for s in i.seen)
