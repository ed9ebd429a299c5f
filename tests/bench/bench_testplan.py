"""How far the planning rules are from the optimum, and how long a large choice takes.

Run: python tests/bench/bench_testplan.py [cases]. Prints ratios to the exact optimum and exits with 1 if
rollout was ever worse than the rule it improves, or any plan beat the lower bound.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.planning.test_testplan_published import harness_sized, random_sequencing, workshop
from tracer.planning.engine import Check, Policy, Problem, Repair, choose, minutes_at_least, policy_minutes

NOTHING_OPEN: frozenset[int] = frozenset()


def sequencing_case(n: int, m: int, unit: bool, seed: int) -> Problem:
    """n states to tell apart with m noiseless tests."""
    return random_sequencing(np.random.default_rng(seed), n, m, unit)


def with_repairs(rng: np.random.Generator, n: int, m: int) -> Problem:
    """n faults, each with its own repair that may be tried at any time, and m noiseless tests."""
    base = random_sequencing(rng, n, m, unit=False)
    repairs = [Repair(float(rng.choice([3, 5, 10, 20, 40]))) for _ in range(n)]
    return Problem(base.prior, base.label, base.checks, repairs)


def noisy(rng: np.random.Generator, n: int, m: int) -> Problem:
    """As `with_repairs`, but every test is wrong in 5 % of cases."""
    base = with_repairs(rng, n, m)
    checks = [Check(0.9 * np.asarray(c.likelihood) + 0.05, c.cost) for c in base.checks]
    return Problem(base.prior, base.label, checks, base.repairs)


def compare(title: str, make: Callable[[int], Problem], cases: int, rules: Sequence[Policy], over: Policy) -> int:
    """Print one line per rule; return how often rollout or the bound failed."""
    ratios: dict[str, list[float]] = {rule: [] for rule in (*rules, "bound")}
    worse = 0
    for seed in range(cases):
        problem = make(seed)
        optimum = policy_minutes(problem, "exact", NOTHING_OPEN)
        value = {rule: policy_minutes(problem, rule, NOTHING_OPEN) for rule in rules}
        bound = minutes_at_least(problem, NOTHING_OPEN)
        last = value[rules[-1]]
        worse += last > value[over] * (1 + 1e-6) or optimum > last * (1 + 1e-6) or bound > optimum * (1 + 1e-9)
        for rule, minutes in (*value.items(), ("bound", bound)):
            ratios[rule].append(minutes / optimum)
    print(f"{title}: {cases} cases, rollout or bound broken in {worse}")
    for rule, found in ratios.items():
        exactly = 100 * np.mean(np.array(found) < 1 + 1e-6)
        tail = f"p95 {np.percentile(found, 95):.3f}  max {max(found):.3f}  optimal {exactly:3.0f} %"
        print(f"  {rule:<18} mean {np.mean(found):.4f}  {tail if rule != 'bound' else ''}")
    return worse


def main(cases: int) -> int:
    pure: tuple[Policy, ...] = ("greedy", "rollout of greedy")
    full: tuple[Policy, ...] = ("repairs", "greedy", "best", "rollout")
    rng = np.random.default_rng
    worse = 0
    for n, m in ((6, 8), (8, 10), (10, 12)):
        for unit in (True, False):
            title = f"tell {n} states apart, {m} tests, {'unit costs' if unit else 'costs 1-8'}"
            worse += compare(title, partial(sequencing_case, n, m, unit), cases, pure, "greedy")
    worse += compare("9 repairs, 10 tests", lambda s: with_repairs(rng(s), 9, 10), cases, full, "best")
    small = max(1, cases // 4)
    worse += compare("4 repairs, 4 tests, 5 % wrong", lambda s: noisy(rng(s), 4, 4), small, full, "best")
    worse += compare("covers, noise, giving up", lambda s: workshop(s, True), small, full, "best")
    for hypotheses, repairs, checks in ((100, 20, 100), (300, 40, 300)):
        spent = []
        for seed in range(5):
            problem = harness_sized(seed, hypotheses, repairs, checks)
            start, cpu = time.perf_counter(), time.process_time()
            choice = choose(problem)
            spent.append((time.perf_counter() - start, time.process_time() - cpu))
            in_turn = policy_minutes(problem, "repairs")
            print(f"  {choice.kind} {choice.index}: {choice.minutes:.1f} min, bound {choice.lower_bound:.1f}, "
                  f"repairs in turn {in_turn:.1f}")
        wall, busy = np.array(spent).T
        print(f"{hypotheses} hypotheses, {repairs} repairs, {checks} checks: "
              f"{wall.mean():.2f} s (max {wall.max():.2f}), processor {busy.mean():.2f} s")
    return int(worse > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200))
