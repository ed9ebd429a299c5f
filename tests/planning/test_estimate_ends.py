"""The ends of a plan and what is told of them, on invented problems whose three repairs are new fuses: a fuse is its
own quickest test, so that nothing is measured before it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cache
from typing import cast

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tests.planning.enumerated import Enumerated
from tests.planning.test_engine_enumerated import drawn
from tests.shared import investigator_for
from tracer.harness.file.text import load_harness
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.costs import GIVE_UP_MIN, Standing
from tracer.planning.engine import Check, Problem, Repair, choose
from tracer.planning.engine.core import Kind
from tracer.planning.estimate import AS_PLANNED, End, Planned, estimate, minutes_within, plan_ends

FUSES = ("F1", "F2", "F3")


@cache
def fuses() -> tuple[Diagnosis, Standing]:
    """A diagnosis with three blown fuses for suspects."""
    own = investigator_for(load_harness(MODELS / "rear_end.yaml"))
    seen = parse_symptom("left rear stop dark when brake pedal pressed", own.harness)
    found = own.diagnose([seen], pairs=False)
    suspects = []
    for fuse in FUSES:
        row = next(i for i, h in enumerate(found.hypotheses) if h.faults[0].name == f"fuse blown: {fuse}")
        one = found.hypotheses[row]
        suspects.append(Suspect(one.repair, 0.3, (row,), one))
    return replace(found, suspects=tuple(suspects)), Standing(seen.state)


def planned(problem: Problem, kind: Kind, index: int) -> Planned:
    return Planned(problem, tuple(s.repair for s in fuses()[0].suspects), kind, index)


def ends_of(problem: Problem, kind: Kind, index: int) -> list[End]:
    return list(plan_ends(planned(problem, kind, index), *fuses()))


def test_the_ends_of_repairs_in_turn() -> None:
    """By hand: half end after 4 + 1 minutes, three tenths after 4 + 6, the rest is traced by hand after 4 + 6 + 20 in
    vain, but for a tenth that the third repair mends."""
    repairs = [Repair(4.0, finish=1.0), Repair(6.0), Repair(20.0, finish=-2.0)]
    problem = Problem(np.array([0.5, 0.3, 0.1, 0.1]), np.array([0, 1, 2, -1]), [], repairs, GIVE_UP_MIN)
    found = ends_of(problem, "repair", 0)
    assert [e.repair for e in found] == [0, 1, 2, -1]
    assert [e.mass for e in found] == pytest.approx([0.5, 0.3, 0.1, 0.1])
    # Minutes in vain count with what is given back when it was right: a sound part is no time at the vehicle.
    assert [e.minutes for e in found] == pytest.approx([5, 11, 29, 29 + GIVE_UP_MIN])


def test_what_one_repair_has_opened_is_open_for_the_next() -> None:
    """Ten minutes to the place where two are done, once: 20 elsewhere, then 4 + 10, then 6."""
    def cost(own: float) -> Callable[[Hashable], float]:
        return lambda where: own + (0.0 if "loom" in cast(Standing, where).opened else 10.0)

    def opens(where: Hashable) -> Hashable:
        standing = cast(Standing, where)
        return replace(standing, opened=standing.opened | {"loom"})

    repairs = [Repair(cost(4.0), opens), Repair(cost(6.0), opens), Repair(20.0)]
    problem = Problem(np.array([0.6, 0.3, 0.1]), np.arange(3), [], repairs)
    assert [(e.repair, e.minutes) for e in ends_of(problem, "repair", 2)] == [(2, 20), (0, 34), (1, 40)]


def test_the_ends_after_a_test_that_tells_all() -> None:
    problem = Problem(np.array([0.6, 0.4]), np.arange(2), [Check(np.eye(2), 3.0)], [
        Repair(40.0), Repair(70.0), Repair(1.0)])
    found = sorted(ends_of(problem, "check", 0), key=lambda e: e.repair)
    assert [e.repair for e in found] == [0, 1]
    assert [e.mass for e in found] == pytest.approx([0.6, 0.4])
    assert [e.minutes for e in found] == pytest.approx([43, 73])
    tried = sorted(ends_of(problem, "repair", 1), key=lambda e: e.repair)
    assert [e.minutes for e in tried] == pytest.approx([110, 70])
    assert ends_of(problem, "give up", -1) == [End(1.0, GIVE_UP_MIN, -1)]


@pytest.mark.parametrize("seed", range(25))
def test_the_ends_together_take_what_the_plan_takes(seed: int) -> None:
    """The first action and then the rule: enumerated, all by chance and minutes. Each repair ends as often as it is
    what is wrong. (No attempt uncovers another: what that saves the ends leave out.)"""
    problem = drawn(seed, 0.0, True, alone=True)
    problem = replace(problem, prior=np.asarray(problem.prior) + 0.2, repairs=[
        replace(r, finish=0.0, moves=None) for r in problem.repairs])
    own, standing = Enumerated(problem), fuses()[1]
    choice = choose(problem, standing)
    found = ends_of(problem, choice.kind, choice.index)
    rule = own.rule(stop=True)
    expected = own.taken((choice.kind, choice.index), own.prior, frozenset(), standing, rule)
    assert sum(e.mass for e in found) == pytest.approx(1.0)
    assert sum(e.mass * e.minutes for e in found) == pytest.approx(expected)
    for r, share in own.shares(own.prior).items():
        assert sum(e.mass for e in found if e.repair == r) == pytest.approx(share)


def test_where_repairs_in_turn_are_cheaper_the_plan_goes_on_with_them() -> None:
    """After a test that tells nothing, on problems in which the rule that only asks what tells most takes longer."""
    met = 0
    for seed in (15, 16, 122, 141):
        problem = drawn(seed, 0.0, True, alone=True)
        count = len(problem.prior)
        problem = replace(problem, checks=[*problem.checks, Check(np.full((2, count), 0.5), 1.0)], repairs=[
            replace(r, finish=0.0, moves=None) for r in problem.repairs])
        own, standing = Enumerated(problem), fuses()[1]
        in_turn = own.in_turn(own.prior, where=standing)
        rule = own.rule(stop=False)(own.prior, frozenset({len(problem.checks) - 1}), standing)
        met += rule > in_turn + 1e-6
        found = ends_of(problem, "check", len(problem.checks) - 1)
        assert sum(e.mass * e.minutes for e in found) <= 1 + min(in_turn, rule) + 0.02
    assert met >= 2


def test_what_is_told_of_the_ends() -> None:
    """Needs are added up over repairs; the dearest case is that of the plausible ones which takes longest; what no
    repair cures is traced by hand. A real job takes a little less than the plan (the measured factor)."""
    diagnosis, standing = fuses()
    repairs = [Repair(4.0), Repair(30.0), Repair(90.0)]
    problem = Problem(np.array([0.75, 0.15, 0.03, 0.07]), np.array([0, 1, 2, -1]), [], repairs, GIVE_UP_MIN)
    plan = planned(problem, "repair", 0)
    found, ends = estimate(plan, diagnosis, standing), list(plan_ends(plan, diagnosis, standing))
    assert (found.low, found.minutes, found.high) == minutes_within(ends)
    assert found.given_up == pytest.approx(sum(e.mass for e in ends if e.repair == -1))
    needs = {s.best.faults[0].needs for s in diagnosis.suspects}
    assert len(needs) == 1 and [n for n, _ in found.parts] == list(needs)
    assert found.parts[0][1] == pytest.approx(sum(e.mass for e in ends if e.repair >= 0))
    assert found.dearest is not None and found.dearest.repair == plan.repairs[1]  # the third is not plausible
    assert found.dearest.share == pytest.approx(0.15)
    assert found.dearest.minutes == pytest.approx(AS_PLANNED * (4 + 30))


def test_the_mean_of_several_ends_of_one_repair_counts_by_their_chances() -> None:
    """A test shows the first repair in nine of ten; in one it is tried after another."""
    table = np.array([[0.9, 0.0], [0.1, 1.0]])
    problem = Problem(np.array([0.5, 0.5]), np.arange(2), [Check(table, 2.0)], [
        Repair(20.0), Repair(10.0), Repair(1.0)])
    diagnosis, standing = fuses()
    plan = planned(problem, "check", 0)
    first = [e for e in plan_ends(plan, diagnosis, standing) if e.repair == 0]
    assert [e.mass for e in first] == pytest.approx([0.45, 0.05])
    assert [e.minutes for e in first] == pytest.approx([22, 32])
    found = estimate(plan, diagnosis, standing)
    assert found.dearest is not None and found.dearest.repair == plan.repairs[0]
    assert found.dearest.minutes == pytest.approx(AS_PLANNED * (0.45 * 22 + 0.05 * 32) / 0.5)
    assert found.given_up == 0.0


def test_a_rare_case_is_the_dearest_only_where_none_is_plausible() -> None:
    problem = Problem(np.array([0.02, 0.018, 0.016, 0.946]), np.array([0, 1, 2, -1]), [], [
        Repair(float(m)) for m in (1, 2, 3)], GIVE_UP_MIN)
    found = estimate(planned(problem, "repair", 0), *fuses())
    assert found.dearest is not None and found.dearest.repair == fuses()[0].suspects[0].repair
    assert found.given_up == pytest.approx(0.946)


def test_the_more_certain_the_narrower() -> None:
    """One end spreads by itself; two far apart reach from below the nearer to above the farther."""
    one = minutes_within([End(1.0, 20.0, 0)])
    two = minutes_within([End(0.5, 10.0, 0), End(0.5, 100.0, 1)])
    assert two[0] < one[0] and two[2] > one[2]
    doubled = minutes_within([End(2.0, 20.0, 0)])
    assert doubled == pytest.approx(one)
    assert minutes_within([End(1.0, 40.0, 0)]) == pytest.approx([2 * x for x in one])
