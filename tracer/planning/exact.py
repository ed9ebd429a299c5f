"""The optimum by dynamic programming, and bounds no plan can beat."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator

import numpy as np

from tracer.planning.core import Kind, Option, TooLargeError, entropy_bits, huffman_length
from tracer.planning.nodes import Node, Step
from tracer.planning.prices import least_minutes
from tracer.planning.search import Planner, rank

# Kind, index, minutes, minutes of finishing times their probability, then states with their probabilities.
_SetAction = tuple[Kind, int, float, float, list[int], Hashable]


def exact(plan: Planner, max_states: int = 100_000) -> list[Option]:
    """All first actions with the minutes of the best plan that begins with each, best first.

    Noiseless checks leave subsets of the hypotheses, so states are (subset, context); otherwise states
    are (belief rounded at 1e-10, checks made, context). Costs must be >= 0.

    Raises:
        TooLargeError: More than `max_states` states.
    """
    return rank(_OverSets(plan, max_states).options() if plan.noiseless else _over_beliefs(plan, max_states))


class _OverSets:
    """States are bit masks of hypotheses; minutes are kept multiplied by the probability of the state."""

    def __init__(self, plan: Planner, max_states: int) -> None:
        self.plan, self.problem, self.max_states = plan, plan.problem, max_states
        label = plan.label.tolist()
        self.p = plan.root.belief.tolist()
        self.all = (1 << len(label)) - 1
        self.cures = {r: sum(1 << h for h, own in enumerate(label) if own == r) for r in sorted(set(label))}
        self.beyond = self.cures.pop(-1, 0)
        self.outcomes = [
            [mask for row in range(start, start + size) if (mask := _mask(plan, row))]
            for start, size in zip(plan.start, plan.sizes, strict=True)
        ]
        # What each hypothesis costs at the very least: its own repair.
        least = [least_minutes(r) + r.finish for r in self.problem.repairs]
        give_up = math.inf if self.problem.give_up_cost is None else self.problem.give_up_cost
        own = [give_up if r < 0 else min(least[r], give_up) for r in label]
        self.least = [p * minutes for p, minutes in zip(self.p, own, strict=True)]
        self.sums: dict[int, tuple[float, float]] = {0: (0.0, 0.0)}
        self.known: dict[tuple[int, Hashable], float] = {}

    def options(self) -> list[Option]:
        found = []
        for kind, index, cost, done, parts, after in self.actions(self.all, self.plan.root.context):
            minutes = cost + done + sum(self.minutes(part, after) for part in parts)
            chances = tuple(self.of(part)[0] for part in parts)
            if kind == "repair":
                chances = (self.of(self.cures[index])[0], sum(chances))
            found.append(Option(kind, index, minutes, cost, chances or (1.0,)))
        return found

    def minutes(self, state: int, context: Hashable) -> float:
        key = (state, context)
        if key not in self.known:
            if len(self.known) >= self.max_states:
                raise TooLargeError("too many states for the exact method")
            mass = self.of(state)[0]
            best = math.inf
            for _, _, cost, done, parts, after in self.actions(state, context):
                if cost * mass + done + sum(self.of(part)[1] for part in parts) < best:
                    best = min(best, cost * mass + done + sum(self.minutes(part, after) for part in parts))
            self.known[key] = best
        return self.known[key]

    def of(self, state: int) -> tuple[float, float]:
        """Probability of a state and the least minutes its repairs take (times that probability)."""
        if state not in self.sums:
            low = state & -state
            mass, least = self.of(state ^ low)
            h = low.bit_length() - 1
            self.sums[state] = (mass + self.p[h], least + self.least[h])
        return self.sums[state]

    def actions(self, state: int, context: Hashable) -> Iterator[_SetAction]:
        plan, problem = self.plan, self.problem
        alive = [r for r, mask in self.cures.items() if state & mask]
        if problem.give_up_cost is not None:
            yield "give up", -1, problem.give_up_cost, 0.0, [], context
        split = False
        if len(alive) + bool(state & self.beyond) > 1:
            cost = plan.prices.costs("check", context)
            for t, masks in enumerate(self.outcomes):
                parts = [state & mask for mask in masks if state & mask]
                if len(parts) > 1:
                    split = True
                    yield "check", t, float(cost[t]), 0.0, parts, plan.prices.after(problem.checks[t], context)
        if problem.trials or not split:
            cost = plan.prices.costs("repair", context)
            for r in alive:
                done = self.of(state & self.cures[r])[0] * problem.repairs[r].finish
                rest = state & ~self.cures[r]
                after = plan.prices.after(problem.repairs[r], context)
                yield "repair", r, float(cost[r]), done, [rest] if rest else [], after


def _mask(plan: Planner, row: int) -> int:
    return sum(1 << h for h in np.flatnonzero(plan.table[:, row]).tolist())


def _over_beliefs(plan: Planner, max_states: int) -> list[Option]:
    """States are nodes. Every step leads to one with more noisy checks made, or else with fewer hypotheses alive: in
    this order all are found, many at a time, and valued backwards."""
    told_apart: dict[bytes, list[int]] = {}
    least = plan.prices.least_minutes()

    def actions(node: Node) -> Iterator[tuple[Node, Kind, int]]:
        if plan.problem.give_up_cost is not None:
            yield node, "give up", -1
        splits = []
        if plan.sizes and not node.single:
            key = node.alive.tobytes()
            if key not in told_apart:
                varies = np.ptp(plan.table[node.alive], axis=0) > 1e-12
                told_apart[key] = np.flatnonzero(np.logical_or.reduceat(varies, plan.start)).tolist()
            splits = [t for t in told_apart[key] if not node.used >> t & 1]
        if plan.problem.trials or not splits:
            for r in plan.first(node):
                yield node, "repair", r
            if splits and node is not plan.root:
                # A check saves no more than what the repairs made in vain would take.
                saved = plan.ladder(node) - sum(p * least[r] for r, p in node.share.items())
                cost = plan.prices.list_of("check", node.context)
                splits = [t for t in splits if cost[t] < saved]
        for t in splits:
            yield node, "check", t

    steps: dict[Node, list[Step]] = {}
    open_nodes: dict[tuple[int, int], dict[Node, None]] = {(0, 0): {plan.root: None}}
    while open_nodes:
        nodes = open_nodes.pop(min(open_nodes))
        asked = [action for node in nodes for action in actions(node)]
        for (node, _, _), step in zip(asked, plan.steps(asked), strict=True):
            steps.setdefault(node, []).append(step)
            for _, child in step.branches:
                open_nodes.setdefault((child.used.bit_count(), -child.alive.size), {})[child] = None
        if plan.states() > max_states:
            raise TooLargeError("too many states for the exact method")
    best: dict[Node, float] = {}
    for node in reversed(steps):
        best[node] = min(_ahead(step, best) for step in steps[node])
    return [Option(s.kind, s.index, _ahead(s, best), s.cost, s.outcomes) for s in steps[plan.root]]


def _ahead(step: Step, best: dict[Node, float]) -> float:
    return step.cost + step.done + sum(q * best[child] for q, child in step.branches)


def lower_bound(plan: Planner) -> float:
    """Minutes no plan can expect to stay below.

    Every job ends with its own repair (or is given up), so E[least repair] is paid; the rest is bounded
    by what must be told apart. With K outcomes at most, n minutes-costing steps before the last repair
    leave K^n places to end at, and a place that is a trial leaves only one way on, so over the places
    sum K^-n <= K / (K - 1) and E[n] >= H_K - log_K(K / (K - 1)) (Gibbs' inequality; the argument of L. G.
    Kraft and B. McMillan for codes). Without trials and with noiseless checks E[n] is at least the
    Huffman length. Giving up a repair saves at most its term of the entropy and costs the difference.
    """
    problem = plan.problem
    give_up = math.inf if problem.give_up_cost is None else problem.give_up_cost
    p = plan.by_repair(plan.root.alive, plan.root.belief)
    own = np.array([give_up, *(least_minutes(r) + r.finish for r in problem.repairs)])
    alive = np.flatnonzero(p)
    p, own = p[alive], own[alive]
    base = float((p * np.minimum(own, give_up)).sum())
    if p.size == 1:
        return base
    steps = [least_minutes(check) for check in problem.checks]
    arity = max([2, *(int(np.count_nonzero(plan.table[:, s : s + n].any(axis=0)))
                      for s, n in zip(plan.start, plan.sizes, strict=True))])
    if not problem.trials and plan.noiseless and problem.give_up_cost is None:
        return base + min(steps, default=0.0) * huffman_length(_told_apart(plan), arity)
    steps += [least_minutes(problem.repairs[r - 1]) for r in alive.tolist() if r > 0]
    cheapest = min(steps, default=0.0)
    bits = entropy_bits(p) / math.log2(arity) - math.log(arity / (arity - 1), arity)
    share = -p * np.log(p) / math.log(arity)
    # For what no repair cures own = give_up: the whole term is saved.
    saved = np.maximum(0.0, cheapest * share - p * np.maximum(give_up - own, 0.0))
    told = base + cheapest * bits - float(saved.sum())
    return min(give_up, max(base, told, base + cheapest * (1.0 - float(p.max()))))


def _told_apart(plan: Planner) -> list[float]:
    """Masses of the groups of repairs that noiseless checks can tell apart at all."""
    group = {int(r): int(r) for r in plan.label}

    def head(r: int) -> int:
        while group[r] != r:
            r = group[r]
        return r

    seen: dict[bytes, int] = {}
    for h, r in enumerate(plan.label.tolist()):
        group[head(r)] = head(seen.setdefault(plan.table[h].tobytes(), r))
    masses: dict[int, float] = {}
    for h, r in enumerate(plan.label.tolist()):
        masses[head(r)] = masses.get(head(r), 0.0) + float(plan.root.belief[h])
    return list(masses.values())
