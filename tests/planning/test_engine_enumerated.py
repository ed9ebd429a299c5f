"""The engine on small problems against plans worked out by trying everything (`enumerated.py`)."""

from __future__ import annotations

from collections.abc import Callable, Hashable

import numpy as np
import pytest

from tests.planning.enumerated import Enumerated
from tracer.planning.engine import Check, Option, Problem, Repair, minutes_at_least, policy_minutes
from tracer.planning.engine.exact import exact
from tracer.planning.engine.search import Planner

NOTHING_OPEN = frozenset[int]()
NONE_MADE = frozenset[int]()


def opened(where: Hashable) -> frozenset[int]:
    return where if isinstance(where, frozenset) else NOTHING_OPEN


def behind(cover: int, minutes: float) -> Callable[[Hashable], float]:
    """Minutes of what lies behind a cover: two more where it is still on."""
    return lambda where: minutes + (0.0 if cover in opened(where) else 2.0)


def opens(cover: int) -> Callable[[Hashable], Hashable]:
    return lambda where: opened(where) | {cover}


def drawn(seed: int, noise: float, trials: bool, alone: bool = False) -> Problem:
    """Three repairs, four hypotheses or five, two checks or three behind covers. `alone`: nothing that none cures and
    no giving up."""
    dice = np.random.default_rng(seed)
    n = int(dice.integers(3, 6))
    label = np.array([0, 1, 2, *dice.integers(0 if alone else -1, 3, n - 3)])
    checks = []
    for _ in range(int(dice.integers(1, 3 if noise else 4))):
        outcomes, cover = int(dice.integers(2, 4)), int(dice.integers(2))
        minutes = float(dice.choice([0.5, 1.0, 2.5]))
        table = np.eye(outcomes)[:, dice.integers(0, outcomes, n)]
        if noise:
            table = (1 - noise) * table + noise * dice.dirichlet(np.ones(outcomes), n).T
        checks.append(Check(table, behind(cover, minutes), opens(cover), minutes) if dice.random() < 0.6
                      else Check(table, minutes))
    repairs = []
    for _ in range(3):
        minutes, finish = float(dice.choice([2.0, 5.0, 9.0, 14.0])), float(dice.choice([0.0, 2.0, -1.5]))
        cover = int(dice.integers(2))
        repairs.append(Repair(behind(cover, minutes), opens(cover), minutes, finish) if dice.random() < 0.5
                       else Repair(minutes, finish=finish))
    give_up = None
    if -1 in label or (not alone and dice.random() < 0.5):
        give_up = float(dice.choice([6.0, 12.0, 25.0]))
    return Problem(dice.gamma(0.7, size=n) + 1e-3, label, checks, repairs, give_up, trials)


def by_action(options: list[Option]) -> dict[tuple[str, int], float]:
    return {(o.kind, o.index): o.minutes for o in options}


KINDS = [(noise, trials, alone) for noise in (0.0, 0.15) for trials in (True, False) for alone in (True, False)]


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_every_first_action_takes_what_the_best_plan_after_it_takes(noise: float, trials: bool, alone: bool) -> None:
    """Not only of the best one: what is shown as second best is told in minutes too."""
    for seed in range(25 if noise else 40):
        problem = drawn(seed, noise, trials, alone)
        own, found = Enumerated(problem), exact(Planner(problem, NOTHING_OPEN))
        expected = own.first_actions(NOTHING_OPEN)
        assert by_action(found) == pytest.approx(expected, rel=1e-7)
        assert found[0].minutes == pytest.approx(min(expected.values()), rel=1e-7)
        assert [round(o.minutes, 9) for o in found] == sorted(round(o.minutes, 9) for o in found)
        bound = minutes_at_least(problem, NOTHING_OPEN)
        assert 0 <= bound <= found[0].minutes + 1e-9
        shares = own.shares(own.prior)
        for o in found:
            assert sum(o.outcomes) == pytest.approx(1.0)
            if o.kind == "repair":
                assert o.outcomes == pytest.approx((shares[o.index], 1 - shares[o.index]))
            elif o.kind == "check":
                parts = sorted(sum(part) for part in own.parts(o.index, own.prior))
                assert sorted(p for p in o.outcomes if p > 0) == pytest.approx(parts)


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_the_rules_take_what_following_them_by_hand_takes(noise: float, trials: bool, alone: bool) -> None:
    for seed in range(100, 112):
        problem = drawn(seed, noise, trials, alone)
        own = Enumerated(problem)
        found = {rule: policy_minutes(problem, rule, NOTHING_OPEN) for rule in (
            "repairs", "greedy", "best", "rollout", "rollout of greedy")}
        assert found == pytest.approx({
            "repairs": own.in_turn(own.prior, where=NOTHING_OPEN),
            "greedy": own.rule(False)(own.prior, NONE_MADE, NOTHING_OPEN),
            "best": own.rule(True)(own.prior, NONE_MADE, NOTHING_OPEN),
            "rollout": own.follow(True)(own.prior, NONE_MADE, NOTHING_OPEN),
            "rollout of greedy": own.follow(False)(own.prior, NONE_MADE, NOTHING_OPEN),
        }, rel=1e-7)


@pytest.mark.parametrize(("noise", "trials", "alone"), KINDS)
def test_a_rollout_prices_every_first_action_by_the_rule_after_it(noise: float, trials: bool, alone: bool) -> None:
    for seed in range(200, 215):
        problem = drawn(seed, noise, trials, alone)
        own, plan = Enumerated(problem), Planner(problem, NOTHING_OPEN)
        for again in (False, True):
            expected = own.rolled(own.prior, NONE_MADE, NOTHING_OPEN, True, again)
            found = plan.rollout(plan.root, again=again)
            assert by_action(found) == pytest.approx({a: m for m, a in expected}, rel=1e-7)
            assert (found[0].kind, found[0].index) == expected[0][1]


def test_a_check_that_tells_little_is_priced_like_any_other() -> None:
    """Between two repairs of ten minutes as likely, 0.54 to 0.46 for a tenth of a minute: the likelier first, and in
    vain in 46 of a hundred."""
    table = np.array([[0.54, 0.46], [0.46, 0.54]])
    problem = Problem(np.array([0.5, 0.5]), np.arange(2), [Check(table, 0.1)], [Repair(10.0)] * 2)
    found = by_action(exact(Planner(problem)))
    assert found["check", 0] == pytest.approx(0.1 + 10 + 4.6)
    assert found["repair", 0] == pytest.approx(15) == found["repair", 1]
