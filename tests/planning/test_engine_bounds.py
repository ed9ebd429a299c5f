"""Bounds, and what a search does where it stops early; every figure is an own calculation that stands in its test."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from tests.planning.enumerated import Enumerated, Masses, bits
from tests.planning.test_engine_enumerated import NOTHING_OPEN, behind, drawn, opens
from tracer.planning.engine import (
    Check,
    Problem,
    Repair,
    choose,
    entropy_bits,
    huffman_length,
    information_gain,
    minutes_at_least,
    repairs_in_turn,
)
from tracer.planning.engine.search import Planner

EIGHT = np.full(8, 1 / 8)


def shows(outcomes: Sequence[int], cost: float = 1.0) -> Check:
    """A check that shows of each hypothesis this outcome for sure."""
    return Check(np.eye(max(outcomes) + 1)[:, list(outcomes)], cost)


def halves(cost: float, of: int = 8) -> Check:
    return shows([h % 2 for h in range(of)], cost)


# --- Weights and codes -----------------------------------------------------------------------------------


def test_only_the_proportions_of_weights_count() -> None:
    """Forty, thirty, twenty and ten in a hundred jobs are 0.4, 0.3, 0.2 and 0.1."""
    share, jobs, cost = [0.4, 0.3, 0.2, 0.1], [40.0, 30.0, 20.0, 10.0], [10.0, 3.0, 4.0, 1.0]
    assert repairs_in_turn(jobs, cost)[0] == pytest.approx(repairs_in_turn(share, cost)[0])
    assert repairs_in_turn(jobs, cost, [1.0, 2.0, 3.0, 4.0])[0] == pytest.approx(
        repairs_in_turn(share, cost)[0] + 0.4 + 0.6 + 0.6 + 0.4)
    assert entropy_bits(jobs) == pytest.approx(entropy_bits(share))
    assert huffman_length(jobs) == pytest.approx(huffman_length(share))
    table = np.array([[1.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 1.0]])
    parted = -0.7 * math.log2(0.7) - 0.3 * math.log2(0.3)
    assert information_gain(share, range(4), table) == pytest.approx(parted)
    assert information_gain(jobs, range(4), table) == pytest.approx(parted)
    assert information_gain([0.4, 0.3], [5, 2], table[:, 1:3]) == pytest.approx(entropy_bits([0.4, 0.3]))


@pytest.mark.parametrize(("weights", "arity", "length"), [
    ([1, 1, 1], 3, 1.0),  # one look with three outcomes
    ([1, 1, 1, 1], 3, 1.5),  # two of the four are told apart by one more
    ([2, 1, 1, 0], 2, 1.5),  # what cannot be needs no word
    ([1, 1, 1, 1, 1], 5, 1.0),
    ([7], 2, 0.0),
])
def test_the_shortest_code(weights: list[float], arity: int, length: float) -> None:
    assert huffman_length(weights, arity) == pytest.approx(length)


# --- Minutes that no plan stays below --------------------------------------------------------------------


def test_each_job_takes_its_own_repair_at_least() -> None:
    """A quarter of 4 + 1 minutes, half of 6, a quarter of 10 which are given up at 9."""
    prior, label = np.array([0.25, 0.5, 0.25]), np.array([0, 1, 2])
    repairs = [Repair(4.0, finish=1.0), Repair(6.0), Repair(10.0)]
    own = 0.25 * 5 + 0.5 * 6 + 0.25 * 9
    free = Problem(prior, label, [shows([0, 1, 2], 0.0)], repairs, give_up_cost=9.0)
    assert minutes_at_least(free) == pytest.approx(own)
    one = Problem(np.array([0.3, 0.7]), np.array([1, 1]), [halves(2.0, 2)], repairs)
    assert minutes_at_least(one) == pytest.approx(6.0)
    where = Problem(prior, label, [Check(np.eye(3), lambda _: 3.0)], [
        Repair(lambda _: 40.0, least=4.0, finish=1.0), Repair(lambda _: 6.0, least=6.0), Repair(lambda _: 9.0)])
    assert minutes_at_least(where) == pytest.approx(0.25 * 5 + 0.5 * 6)  # a function of the place may be nothing


def test_the_cheapest_step_as_often_as_there_is_doubt() -> None:
    """Eight repairs as likely as each other are three bits, of which trials may save one with two outcomes: two steps
    of two minutes before a repair of twenty. Without trials it is the code's length: three of them."""
    repairs = [Repair(20.0)] * 8
    tried = Problem(EIGHT, np.arange(8), [halves(2.0), halves(5.0)], repairs)
    assert minutes_at_least(tried) == pytest.approx(20 + 2 * 2)
    apart = [shows([h >> k & 1 for h in range(8)], 2.0 + k) for k in range(3)]
    assert minutes_at_least(Problem(EIGHT, np.arange(8), apart, repairs, trials=False)) == pytest.approx(20 + 3 * 2)
    cheap = Problem(EIGHT, np.arange(8), apart, [*repairs[:7], Repair(1.0)])
    assert minutes_at_least(cheap) == pytest.approx((7 * 20 + 1) / 8 + 2 * 1)  # the cheapest step is a repair


def test_checks_of_more_outcomes_need_fewer_steps() -> None:
    """Nine repairs, three outcomes: log3 9 − log3 3/2 steps at least; an outcome that cannot come counts for none."""
    ninth, repairs = np.full(9, 1 / 9), [Repair(20.0)] * 9
    three = shows([h % 3 for h in range(9)], 2.0)
    steps = 2 - math.log(1.5, 3)
    assert minutes_at_least(Problem(ninth, np.arange(9), [three], repairs)) == pytest.approx(20 + 2 * steps)
    padded = Check(np.vstack([three.likelihood, np.zeros((1, 9))]), 2.0)
    assert minutes_at_least(Problem(ninth, np.arange(9), [padded], repairs)) == pytest.approx(20 + 2 * steps)
    third = [shows([h // k % 3 for h in range(9)], 2.0) for k in (1, 3)]
    assert minutes_at_least(Problem(ninth, np.arange(9), third, repairs, trials=False)) == pytest.approx(20 + 2 * 2)


def test_the_likeliest_repair_is_tried_in_vain_as_often_as_it_is_not_the_one() -> None:
    """Two repairs, 0.7 and 0.3: less than a bit, which says nothing; but one step is in vain in three of ten."""
    problem = Problem(np.array([0.7, 0.3]), np.arange(2), [halves(4.0, 2)], [Repair(30.0), Repair(50.0)])
    assert minutes_at_least(problem) == pytest.approx(0.7 * 30 + 0.3 * 50 + 0.3 * 4)


def test_giving_up_saves_the_telling_apart_and_costs_the_difference() -> None:
    """Each of the eight is worth 3/8 bit, so 0.75 min at two minutes a step; giving it up costs (24 − 20) / 8 more:
    0.25 is saved at each, 2 of the 4 minutes. Where giving up is only a minute dearer than the repair it is all that
    a job takes. What no repair cures is given up anyway: its bits cost nothing."""
    checks, repairs = [halves(2.0)], [Repair(20.0)] * 8
    assert minutes_at_least(Problem(EIGHT, np.arange(8), checks, repairs, 24.0)) == pytest.approx(20 + 4 - 2)
    assert minutes_at_least(Problem(EIGHT, np.arange(8), checks, repairs, 21.0)) == pytest.approx(21)
    assert minutes_at_least(Problem(EIGHT, np.arange(8), checks, repairs, 200.0)) == pytest.approx(20 + 4)
    label = np.array([0, 1, 2, 3, 4, 5, 6, -1])
    none = Problem(EIGHT, label, checks, repairs, 200.0)
    assert minutes_at_least(none) == pytest.approx(7 / 8 * 20 + 1 / 8 * 200 + 4 - 2 * 3 / 8)


def test_what_no_check_tells_apart_needs_no_telling() -> None:
    """Four states, of which the checks part two from two: one step, not two. A third that looks like one of either
    side makes them all one."""
    repairs = [Repair(5.0)] * 4
    one = Problem(np.full(4, 0.25), np.arange(4), [shows([0, 0, 1, 1], 3.0)], repairs, trials=False)
    assert minutes_at_least(one) == pytest.approx(5 + 3)
    blurred = Problem(np.full(4, 0.25), np.array([0, 1, 0, 2]), [shows([0, 0, 1, 1], 3.0)], repairs, trials=False)
    assert minutes_at_least(blurred) == pytest.approx(5)


def test_the_bound_is_never_dearer_than_the_plan() -> None:
    for seed in range(60):
        problem = drawn(seed, 0.1, True)
        choice = choose(problem, NOTHING_OPEN)
        assert choice.lower_bound <= choice.minutes
        assert choice.lower_bound == pytest.approx(min(minutes_at_least(problem, NOTHING_OPEN), choice.minutes))


# --- Where a search stops early --------------------------------------------------------------------------


def four() -> Planner:
    """Four repairs of 100 minutes; the first check parts 0 and 1 from 2 and 3, the second 0 and 2 from 1 and 3."""
    prior = np.array([0.5, 0.45, 0.03, 0.02])
    return Planner(Problem(prior, np.arange(4), [shows([0, 0, 1, 1]), shows([0, 1, 0, 1])], [Repair(100.0)] * 4))


def test_what_is_unlikely_is_guessed() -> None:
    """The first check shows 2 or 3 in one of twenty. Worked out, that is one more minute and the repair; as repairs
    in turn 100 and 40 % of 100 more; at two minutes a bit the repair and 2 × H(0.6, 0.4)."""
    likely = 0.95 * (1 + 100)
    plan = four()
    first = plan.step(plan.root, "check", 0)
    assert [q for q, _ in first.branches] == pytest.approx([0.95, 0.05])
    assert plan.ahead(first) == pytest.approx(1 + 1 + 100)
    assert plan.cut == 0
    plan = four()
    first = plan.step(plan.root, "check", 0)
    assert plan.ahead(first, floor=0.1) == pytest.approx(1 + likely + 0.05 * 140)
    assert plan.cut == 1
    assert plan.ahead(first, floor=0.04) == pytest.approx(102)
    plan = four()
    plan.pace = 2.0
    first = plan.step(plan.root, "check", 0)
    guess = 100 + 2 * bits([0.6, 0.4])
    assert plan.ahead(first, floor=0.1) == pytest.approx(1 + likely + 0.05 * guess)
    plan = four()
    plan.pace = 2.0
    first = plan.step(plan.root, "check", 0)
    assert plan.ahead(first, floor=0.1, mass=0.1) == pytest.approx(1 + 0.95 * (100 + 2 * bits([
        0.5 / 0.95, 0.45 / 0.95])) + 0.05 * guess)  # both are unlikely seen from where the plan began


def test_a_search_goes_as_far_as_its_work_and_says_where_it_stopped() -> None:
    """Four rows of two checks with two outcomes are sixteen cells. With these the first step is found, and both
    beliefs after it are guessed. What was found once is not charged again."""
    plan = four()
    plan.work = 16
    assert plan.greedy_step(plan.root) is plan.greedy_step(plan.root)
    assert plan.work == 0
    step = plan.greedy_step(plan.root)
    assert step is not None and (step.kind, step.index) == ("check", 1)  # 0.53 to 0.47 tells more than 0.95 to 0.05
    cut = plan.value(plan.root)
    assert plan.cut == 2
    ones, others = 0.53 * (100 + 100 * 0.03 / 0.53), 0.47 * (100 + 100 * 0.02 / 0.47)
    assert cut == pytest.approx(1 + ones + others)
    plan.work = math.inf
    assert plan.value(plan.root) <= cut
    spent = four()
    spent.work = 0
    in_turn = 100 * (1 + 0.5 + 0.05 + 0.02)
    assert spent.value(spent.root) == pytest.approx(in_turn) and spent.cut == 1
    assert not spent.foresee([(1.0, spent.root)], 0.0)
    rested = four()
    assert rested.foresee([(1.0, rested.root)], 0.0)


def test_foreseen_is_all_that_will_be_asked_for() -> None:
    """After it, the value is found without one more cell than was counted."""
    for floor, asked in ((0.0, {0, 1, 2}), (0.6, {0})):
        plan, other = four(), four()
        assert plan.foresee([(1.0, plan.root)], floor)
        weighed, ahead = 0, [plan.root]
        while ahead:
            node = ahead.pop()
            weighed += node.weighed
            ahead += [child for _, child in node.greedy.branches] if node.greedy else []
        assert weighed == len(asked)
        assert plan.value(plan.root, floor) == pytest.approx(other.value(other.root, floor))


@pytest.mark.parametrize("noise", [0.0, 0.15])
def test_a_rough_rollout_of_few_actions_finds_what_a_full_one_finds(noise: float) -> None:
    """With work to spare and nothing so unlikely that it is guessed, no action is dropped of five."""
    compared = 0
    for seed in range(300, 330):
        problem = drawn(seed, noise, True, alone=True)
        full, rough = Planner(problem, NOTHING_OPEN), Planner(problem, NOTHING_OPEN)
        plain = full.rollout(full.root, again=False)
        found = rough.rollout(rough.root, rough=True)
        likely = min(problem.prior) / sum(problem.prior) > 0.02
        if len(plain) <= 5 and (likely and not noise):
            compared += 1
            assert [(o.kind, o.index) for o in found] == [(o.kind, o.index) for o in plain]
            assert [o.minutes for o in found] == pytest.approx([o.minutes for o in plain])
        assert found[0].minutes == pytest.approx(min(o.minutes for o in found))
        assert {(o.kind, o.index) for o in found} == {(o.kind, o.index) for o in plain}
    assert noise or compared > 8


# --- Which checks are looked at closely ------------------------------------------------------------------


def screened_by_hand(problem: Problem, where: frozenset[int]) -> dict[int, float]:
    """Minutes of each check and what is left after it: of every outcome repairs in turn, or the right repair and the
    doubt at the best pace seen here, whichever is less."""
    own = Enumerated(problem)
    price = [c.cost(where) if callable(c.cost) else c.cost for c in problem.checks]
    told = [own.told(t, own.prior) for t in range(len(price))]
    pace = max(b / c for b, c in zip(told, price, strict=True))
    give_up = problem.give_up_cost or 0.0

    def left(part: Masses, there: frozenset[int]) -> float:
        shares = own.shares(part)
        known = shares.get(-1, 0.0) * give_up
        for r, p in shares.items():
            if r >= 0:
                cost = problem.repairs[r].cost
                known += p * ((cost(there) if callable(cost) else cost) + problem.repairs[r].finish)
        return min(own.in_turn(part, where=there), known + bits(list(shares.values())) / pace)

    found = {}
    for t, check in enumerate(problem.checks):
        there = own.after(check, where)
        assert isinstance(there, frozenset)
        found[t] = price[t] + sum(left(part, there) for part in own.parts(t, own.prior))
    return {t: m for t, m in found.items() if told[t] > 1e-10}


@pytest.mark.parametrize("seed", range(25))
def test_of_many_checks_those_that_promise_the_shortest_job_are_followed(seed: int) -> None:
    dice = np.random.default_rng(seed)
    label = np.array([0, 1, 2, 3, int(dice.integers(-1, 4))])
    checks = []
    for _ in range(7):
        cover, minutes = int(dice.integers(2)), float(dice.uniform(0.5, 4.0))
        table = 0.9 * np.eye(2)[:, dice.integers(0, 2, 5)] + 0.1 * dice.dirichlet(np.ones(2), 5).T
        checks.append(Check(table, behind(cover, minutes), opens(cover), minutes))
    repairs = [Repair(behind(int(dice.integers(2)), m), least=m, finish=f) for m, f in (
        (3.0, 0.0), (8.0, -2.0), (20.0, 1.0), (6.0, 0.0))]
    problem = Problem(dice.gamma(1.0, size=5), label, checks, repairs, 40.0 if seed % 2 or -1 in label else None)
    plan = Planner(problem, NOTHING_OPEN)
    score = screened_by_hand(problem, NOTHING_OPEN)
    steps = plan.candidates(plan.root, 3)
    greedy = plan.greedy_step(plan.root)
    assert greedy is not None
    closest = sorted(score, key=lambda t: score[t])[:3]
    assert {s.index for s in steps if s.kind == "check"} - {greedy.index} == {*closest} - {greedy.index}
    assert any(s is greedy or (s.kind, s.index) == (greedy.kind, greedy.index) for s in steps)
    assert [s.index for s in steps if s.kind == "repair"][-3:] == [r for r, _ in Enumerated(problem).order(
        Enumerated(problem).prior, NOTHING_OPEN)][:3] or greedy.kind == "repair"
    assert len([s for s in steps if s.kind == "check"]) <= 4
    every = plan.candidates(plan.root, 99)
    assert {s.index for s in every if s.kind == "check"} == {*score}


# --- What is left out ------------------------------------------------------------------------------------


def in_turn_each(own: Enumerated, masses: Masses) -> dict[int, float]:
    """Minutes of repairs in turn by what is wrong; from where giving up takes no more, it is given up."""
    order, shares = own.order(masses, None), own.shares(masses)
    give_up, spent, found, left = own.problem.give_up_cost, 0.0, dict[int, float](), dict(shares)
    for r, price in order:
        rest = tuple(m if own.label[h] in left else 0.0 for h, m in enumerate(masses))
        if give_up is not None and own.in_turn(rest) >= give_up * sum(rest) * (1 - 1e-12):
            break
        spent += price
        found[r] = spent + own.problem.repairs[r].finish
        del left[r]
    return found | dict.fromkeys(left, spent + (give_up or 0.0))


@pytest.mark.parametrize("seed", range(20))
def test_what_an_outcome_leaves_out_is_charged_with_repairs_in_turn_up_to_it(seed: int) -> None:
    dice = np.random.default_rng(seed)
    label = np.array([0, 1, 2, 3, 4, int(dice.integers(-1, 5))])
    table = 0.96 * np.eye(3)[:, dice.integers(0, 3, 6)] + 0.04 * dice.dirichlet(np.ones(3), 6).T
    repairs = [Repair(float(m), finish=-float(f)) for m, f in zip(
        dice.uniform(5, 60, 5), dice.uniform(0, 4, 5), strict=True)]
    give_up = 45.0 if -1 in label or seed % 2 else None
    problem = Problem(dice.gamma(0.6, size=6) + 0.01, label, [Check(table, 2.0)], repairs, give_up)
    own, plan = Enumerated(problem), Planner(problem)
    plan.forget = 0.08
    step, charged, kept = plan.step(plan.root, "check", 0), 0.0, list[float]()
    for part in own.parts(0, own.prior):
        whole, each = sum(part), in_turn_each(own, part)
        mass = sum(m for m in part if m > 0.08 * whole)
        if mass > 0.08:
            kept.append(mass)
            charged += sum(m * each[own.label[h]] for h, m in enumerate(part) if m <= 0.08 * whole)
        else:
            charged += whole * own.in_turn(own.prior)
    assert [q for q, _ in step.branches] == pytest.approx(kept)
    assert step.done == pytest.approx(charged)
    assert sum(step.outcomes) == pytest.approx(1.0)
    own_repair = plan.step(plan.root, "repair", 0)
    p = own.shares(own.prior)[0]
    assert own_repair.outcomes == pytest.approx((p, 1 - p))


def test_an_outcome_that_cannot_come_costs_nothing() -> None:
    """The third shows under neither repair; nothing is divided by its chance."""
    table = np.array([[0.9, 0.2], [0.1, 0.8], [0.0, 0.0]])
    plan = Planner(Problem(np.array([0.5, 0.5]), np.arange(2), [Check(table, 2.0)], [Repair(9.0)] * 2))
    plan.forget = 1e-3
    with np.errstate(all="raise"):
        step = plan.step(plan.root, "check", 0)
    assert step.done == 0 and [q for q, _ in step.branches] == pytest.approx([0.55, 0.45])


@pytest.mark.parametrize("covers", [False, True])
def test_repairs_in_turn_take_no_less_than_where_everything_is_open(covers: bool) -> None:
    """Where nothing is behind a cover the two are the same."""
    for seed in range(40):
        dice = np.random.default_rng(seed)
        repairs = [Repair(behind(int(dice.integers(2)), m), opens(int(dice.integers(2))), m, f) if covers
                   else Repair(m, finish=f) for m, f in ((4.0, 1.0), (7.0, 0.0), (15.0, -3.0))]
        table = 0.9 * np.eye(2)[:, dice.integers(0, 2, 4)] + 0.05
        problem = Problem(dice.gamma(1.0, size=4), np.array([0, 1, 2, -1]), [Check(table, 1.0)], repairs,
                          float(dice.choice([12.0, 40.0])))
        plan = Planner(problem, NOTHING_OPEN)
        for _, child in plan.step(plan.root, "check", 0).branches:
            if covers:
                assert child.at_least <= plan.ladder(child) + 1e-9
            else:
                assert child.at_least == pytest.approx(plan.ladder(child))
            assert plan.or_ladder(child, 1e-6) == 1e-6
            assert plan.or_ladder(child, 1e6) == plan.ladder(child)
