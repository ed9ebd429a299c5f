"""What a plan leaves out as too unlikely is paid for, so that forgetting is no reason for a test.

The problems are made up; what repairs in turn cost is worked out by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from tracer.planning.engine import Check, Problem, Repair, choose
from tracer.planning.engine.prices import Prices
from tracer.planning.engine.tree import Tree

MANY = 80


def one_likely_and_many_others(checks: list[Check]) -> Problem:
    """A part at 93 %, eighty others just below a thousandth each; an hour on top for a part that was sound."""
    prior = np.array([0.928, *[0.0009] * MANY])
    mends = [Repair(64.0, finish=-60.0), *[Repair(70.0, finish=-60.0)] * MANY]
    return Problem(prior, np.arange(MANY + 1), checks, mends, 150.0)


def tells_next_to_nothing() -> Check:
    """It shows one of the eighty half the time, and nothing of the others."""
    shown = np.full(MANY + 1, 0.02)
    shown[-1] = 0.5
    return Check(np.array([1 - shown, shown]), 0.7)


def test_a_test_that_tells_next_to_nothing_is_not_worth_its_minutes() -> None:
    """It left only what stands above the cut, and the rest was charged with the average job: the whole seven per cent
    of doubt seemed gone for the minute of a look, and the next look was worth it again."""
    telling = Check(np.column_stack([[0.9, 0.1], *[[0.05, 0.95]] * MANY]), 3.0)
    without = choose(one_likely_and_many_others([telling]))
    chosen = choose(one_likely_and_many_others([tells_next_to_nothing(), telling]))
    assert (chosen.kind, chosen.index) != ("check", 0)
    useless = next(o for o in chosen.options if (o.kind, o.index) == ("check", 0))
    assert useless.minutes >= without.minutes
    assert choose(one_likely_and_many_others([tells_next_to_nothing()])).kind == "repair"


def test_what_is_left_out_costs_repairs_in_turn_up_to_it() -> None:
    """By hand: the likeliest ends after 64 − 60, the next after 64 + 70 − 60. Then giving up is less than a third
    attempt: 64 + 70 + 150."""
    problem = Problem(np.array([0.6, 0.3, 0.04, 0.06]), np.array([0, 1, 2, -1]), [],
                      [Repair(64.0, finish=-60.0), Repair(70.0, finish=-60.0), Repair(100.0, finish=-60.0)], 150.0)
    prices, share = Prices(problem, None), np.array([[0.06, 0.6, 0.3, 0.04]])
    each = prices.in_turn_each(share, [None])
    assert each[0].tolist() == pytest.approx([284.0, 4.0, 74.0, 284.0])
    together = prices.in_turn(dict(zip(range(-1, 3), share[0].tolist(), strict=True)), None)[0]
    assert each[0] @ share[0] == pytest.approx(together)


@pytest.mark.parametrize("seed", range(20))
def test_together_they_cost_what_repairs_in_turn_cost(seed: int) -> None:
    dice = np.random.default_rng(seed)
    count = int(dice.integers(2, 9))
    prior = dice.dirichlet(np.ones(count + 1))
    mends = [Repair(float(dice.uniform(61, 90)), finish=-float(dice.uniform(0, 60))) for _ in range(count)]
    problem = Problem(prior, np.array([*range(count), -1]), [], mends, float(dice.uniform(20, 200)))
    tree = Tree(problem)
    each = tree.prices.in_turn_each(np.array([[prior[-1], *prior[:-1]]]), [None])
    assert sum(p * each[0, r + 1] for r, p in tree.root.share.items()) == pytest.approx(tree.ladder(tree.root))
