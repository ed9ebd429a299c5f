"""Laws of a plan that need no optimum: what minutes are measured in, how things are numbered, what cannot be."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Final

import numpy as np
import pytest
from msgspec.structs import replace

from tests.planning.test_engine_enumerated import KINDS, NOTHING_OPEN, drawn
from tracer.planning.engine import Check, Option, Policy, Problem, Repair, choose, minutes_at_least, policy_minutes
from tracer.planning.engine.core import Cost
from tracer.planning.engine.exact import exact
from tracer.planning.engine.search import Planner

POLICIES: Final[tuple[Policy, ...]] = ("repairs", "greedy", "best", "rollout", "rollout of greedy")


def times(of: Cost, by: float) -> Cost:
    return (lambda where: by * of(where)) if callable(of) else by * of


def scaled(problem: Problem, by: float) -> Problem:
    """The same job with every minute as another number of minutes."""
    def least(of: float | None) -> float | None:
        return None if of is None else by * of

    checks = [replace(c, cost=times(c.cost, by), least=least(c.least)) for c in problem.checks]
    repairs = [replace(r, cost=times(r.cost, by), least=least(r.least), finish=by * r.finish)
               for r in problem.repairs]
    return replace(problem, checks=checks, repairs=repairs, give_up_cost=least(problem.give_up_cost))


def by_action(options: list[Option], by: float = 1.0) -> dict[tuple[str, int], float]:
    return {(o.kind, o.index): o.minutes / by for o in options}


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_whether_in_hours_or_in_minutes_a_plan_is_the_same(noise: float, trials: bool, alone: bool) -> None:
    """Every bound, every rule and the optimum are measured in the unit of what things cost."""
    by = 1 / 60
    for seed in range(300, 301 if noise else 304):
        problem = drawn(seed, noise, trials, alone)
        other = scaled(problem, by)
        one, two = exact(Planner(problem, NOTHING_OPEN)), exact(Planner(other, NOTHING_OPEN))
        assert by_action(two, by) == pytest.approx(by_action(one), rel=1e-7)
        assert minutes_at_least(other, NOTHING_OPEN) / by == pytest.approx(
            minutes_at_least(problem, NOTHING_OPEN), rel=1e-7)
        for policy in POLICIES:
            assert policy_minutes(other, policy, NOTHING_OPEN) / by == pytest.approx(
                policy_minutes(problem, policy, NOTHING_OPEN), rel=1e-7), policy


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_how_hypotheses_and_checks_are_numbered_does_not_matter(noise: float, trials: bool, alone: bool) -> None:
    for seed in range(320, 321 if noise else 324):
        problem = drawn(seed, noise, trials, alone)
        order, checks = np.arange(problem.prior.size)[::-1], [*reversed(range(len(problem.checks)))]
        turned = replace(problem, prior=problem.prior[order] * 7.0, label=problem.label[order], checks=[
            replace(c, likelihood=c.likelihood[:, order]) for c in reversed(problem.checks)])
        found = by_action(exact(Planner(turned, NOTHING_OPEN)))
        assert {(k, checks[i] if k == "check" else i): m for (k, i), m in found.items()} == pytest.approx(
            by_action(exact(Planner(problem, NOTHING_OPEN))), rel=1e-7)
        assert minutes_at_least(turned, NOTHING_OPEN) == pytest.approx(minutes_at_least(problem, NOTHING_OPEN))


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_what_cannot_be_changes_no_plan(noise: float, trials: bool, alone: bool) -> None:
    """A hypothesis without any share, cured by a repair that the others know."""
    for seed in range(340, 341 if noise else 344):
        problem = drawn(seed, noise, trials, alone)
        more = replace(problem, prior=np.append(problem.prior, 0.0), label=np.append(problem.label, 0), checks=[
            replace(c, likelihood=np.column_stack([c.likelihood, c.likelihood[:, 0]])) for c in problem.checks])
        assert by_action(exact(Planner(more, NOTHING_OPEN))) == pytest.approx(
            by_action(exact(Planner(problem, NOTHING_OPEN))), rel=1e-7)


def test_a_check_that_is_there_twice_is_made_once() -> None:
    """Without noise its second outcome is known; nothing gets dearer or cheaper by it."""
    for seed in range(360, 368):
        problem = drawn(seed, 0.0, True)
        twice = replace(problem, checks=[*problem.checks, problem.checks[0]])
        one, two = by_action(exact(Planner(problem, NOTHING_OPEN))), by_action(exact(Planner(twice, NOTHING_OPEN)))
        assert min(two.values()) == pytest.approx(min(one.values()), rel=1e-7)


def test_a_choice_names_its_best_option_first_and_no_bound_lies_above_it() -> None:
    for seed in range(380, 392):
        problem = drawn(seed, 0.0, True)
        choice = choose(problem, NOTHING_OPEN, time_limit_s=5.0)
        expected = exact(Planner(problem, NOTHING_OPEN))
        assert (choice.kind, choice.index) == (expected[0].kind, expected[0].index)
        assert choice.minutes == pytest.approx(expected[0].minutes, rel=1e-7)
        assert choice.lower_bound <= choice.minutes + 1e-9
        assert [o.minutes for o in choice.options] == sorted(o.minutes for o in choice.options)


CHECK = Check(np.eye(2), 1.0)


@pytest.mark.parametrize("made", [
    lambda: Problem(np.array([]), np.array([], dtype=int), [], []),
    lambda: Problem(np.array([0.0, 0.0]), np.arange(2), [], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, -0.5]), np.arange(2), [], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0]), np.arange(2), [], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0]), np.array([0, 2]), [], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0]), np.array([0, -2]), [], [Repair(1.0)] * 2, 10.0),
    lambda: Problem(np.array([1.0, 1.0]), np.array([0, -1]), [], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0, 1.0]), np.array([0, 1, 1]), [CHECK], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0]), np.arange(2), [Check(np.array([1.0, 1.0]), 1.0)], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0]), np.arange(2), [Check(np.eye(2) * 0.9, 1.0)], [Repair(1.0)] * 2),
    lambda: Problem(np.array([1.0, 1.0]), np.arange(2), [Check(np.array([[1.5, 1], [-0.5, 0]]), 1.0)],
                    [Repair(1.0)] * 2),
])
def test_a_problem_that_is_none_is_refused(made: object) -> None:
    assert callable(made)
    with pytest.raises(ValueError):
        made()


def test_what_no_repair_cures_may_have_no_share_and_then_needs_no_giving_up() -> None:
    problem = Problem(np.array([1.0, 0.0]), np.array([0, -1]), [CHECK], [Repair(3.0)])
    assert min(by_action(exact(Planner(problem))).values()) == pytest.approx(3.0)


def test_where_the_job_stands_is_asked_for_what_a_cover_costs() -> None:
    """One cover of two minutes over both repairs: it comes off once."""
    def behind(where: Hashable) -> float:
        return 3.0 if where == "open" else 5.0

    both = [Repair(behind, lambda where: "open", 3.0)] * 2
    problem = Problem(np.array([0.5, 0.5]), np.arange(2), [], both)
    assert min(by_action(exact(Planner(problem, "shut"))).values()) == pytest.approx(5.0 + 0.5 * 3.0)
    assert min(by_action(exact(Planner(problem, "open"))).values()) == pytest.approx(3.0 + 0.5 * 3.0)
