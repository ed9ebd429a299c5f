"""Choosing the next action: the check or repair that shortens the way to a proven repair.

Exact dynamic programming where few hypotheses are left (K. R. Pattipati, M. G. Alexandridis, IEEE
Trans. SMC 20(4), 1990), else one-step rollout of a greedy rule (F. Tu, K. R. Pattipati, IEEE Trans.
SMC-A 33(1), 2003). Nothing here reads a clock or draws a random number: equal problems get equal
answers. Costs are minutes.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Final, Literal

import numpy as np
from msgspec import Struct

from tracer.planning.engine.core import (
    Check,
    Kind,
    Option,
    Problem,
    Repair,
    TooLargeError,
    entropy_bits,
    huffman_length,
    information_gain,
    repairs_in_turn,
)
from tracer.planning.engine.exact import exact, lower_bound
from tracer.planning.engine.search import Planner

__all__ = [
    "Check", "Choice", "Kind", "Option", "Policy", "Problem", "Repair", "TooLargeError", "choose",
    "entropy_bits", "huffman_length", "information_gain", "minutes_at_least", "policy_minutes",
    "repairs_in_turn",
]

Policy = Literal["repairs", "greedy", "best", "rollout", "rollout of greedy", "exact"]

_WORK_PER_SECOND: Final = 6e7  # table cells looked at
_ACTIONS_PER_SECOND: Final = 1e6  # actions tried in states of the exact method
_SHOWN: Final = 12


class Choice(Struct, frozen=True):
    """The action to take.

    Attributes:
        kind: "check", "repair" or "give up".
        index: Number of the check or repair in the problem; -1 for giving up.
        minutes: Expected to a proven repair.
        lower_bound: Minutes no plan can expect to stay below.
        method: "exact", "rollout", or "settled" when a single repair is left.
        options: The best few first actions, the chosen one first.
    """

    kind: Kind
    index: int
    minutes: float
    lower_bound: float
    method: str
    options: tuple[Option, ...]


def choose(problem: Problem, context: Hashable = None, time_limit_s: float = 0.5) -> Choice:
    """The next action: exact if the problem is small, else by rollout.

    Args:
        problem: Present beliefs and the actions still open.
        context: Where the job stands.
        time_limit_s: Turned into an amount of work at a fixed nominal rate, not measured: the answer
            must not depend on how busy the machine is.

    Returns:
        The choice with its bound and alternatives. In large or noisy problems suspects whose share
        falls below 0.001 after an outcome are left out of the look-ahead, at the price of starting
        repairs over.
    """
    plan = Planner(problem, context)
    if plan.root.single:
        return _choice(plan, "settled", plan.rollout(plan.root))
    if _small(plan):
        try:
            actions = len(problem.checks) + len(problem.repairs)
            return _choice(plan, "exact", exact(plan, int(_ACTIONS_PER_SECOND * time_limit_s / actions)))
        except TooLargeError:
            plan = Planner(problem, context)
    plan.work = time_limit_s * _WORK_PER_SECOND
    # Noise keeps every hypothesis alive in every branch: without a cut the tree never ends.
    rough = not plan.noiseless or plan.table.size > 5_000
    if rough:
        plan.forget = 1e-3
        bits = plan.telling.bits([plan.root])[0]
        rate = float((bits / np.maximum(plan.prices.costs("check", context), 1e-9)).max()) if bits.size else 0.0
        # The first test is the best bargain; those after it go slower.
        plan.pace = max(1.0, 2.0 / rate) if rate > 0.0 else 0.0
    return _choice(plan, "rollout", plan.rollout(plan.root, rough=rough))


def policy_minutes(problem: Problem, policy: Policy, context: Hashable = None) -> float:
    """Expected minutes of following one rule to the end, over all outcomes: for measuring rules.

    Args:
        problem: As for `choose`, but small: every branch is followed.
        policy: "repairs" tries repairs by p/c; "greedy" takes the most bits about the repair per
            minute; "best" is greedy that turns to repairs in turn when those are cheaper; "rollout"
            improves "best" at every step, "rollout of greedy" improves "greedy"; "exact" is the optimum.
        context: Where the job stands.

    Returns:
        Minutes.
    """
    plan = Planner(problem, context)
    if policy == "repairs":
        return plan.ladder(plan.root)
    if policy == "exact":
        return exact(plan)[0].minutes
    if policy in ("greedy", "best"):
        plan.stop = policy == "best"
        return plan.value(plan.root)
    plan.stop = policy == "rollout"
    return plan.follow(plan.root)


def minutes_at_least(problem: Problem, context: Hashable = None) -> float:
    """The bound of `Choice.lower_bound`: cheapest step × Huffman or entropy bound, plus the repair."""
    return lower_bound(Planner(problem, context))


def _small(plan: Planner) -> bool:
    hypotheses, checks = plan.root.alive.size, len(plan.sizes)
    if plan.noiseless:
        return hypotheses <= 12 and checks <= 60
    return hypotheses <= 6 and checks <= 6


def _choice(plan: Planner, method: str, options: list[Option]) -> Choice:
    best = options[0]
    bound = min(lower_bound(plan), best.minutes)
    return Choice(best.kind, best.index, best.minutes, bound, method, tuple(options[:_SHOWN]))
