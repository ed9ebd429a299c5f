"""The optimum by dynamic programming, and bounds no plan can beat."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator

import numpy as np

from tracer.planning.engine.core import Kind, Option, TooLargeError, entropy_bits, huffman_length
from tracer.planning.engine.nodes import Node, Step
from tracer.planning.engine.prices import least_minutes
from tracer.planning.engine.search import Planner, rank

# Kind, index, minutes, minutes of finishing times their probability, then states with their probabilities.
_SetAction = tuple[Kind, int, float, float, list[int], Hashable]


def exact(plan: Planner, max_states: int = 100_000) -> list[Option]:
    """All first actions with the minutes of the best plan that begins with each, best first.

    Noiseless checks leave subsets of the hypotheses, so states are (subset, context); otherwise states
    are (belief rounded at 1e-10, checks made, context). Costs must be >= 0.

    Raises:
        TooLargeError: More than `max_states` states.
    """
    return rank((_OverSets if plan.noiseless else _OverBeliefs)(plan, max_states).options())


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


class _OverBeliefs:
    """States are nodes. Every step leads to one with more noisy checks made, or else with fewer hypotheses alive: in
    this order all are found, many at a time, and valued backwards. Repairs in turn are a plan, so a step is left out
    where nothing that begins with it can take less."""

    def __init__(self, plan: Planner, max_states: int) -> None:
        self.plan, self.max_states = plan, max_states
        self.least, self.own = plan.prices.least_minutes(), plan.prices.least_own()
        self.told_apart: dict[bytes, list[int]] = {}
        self.cheapest: dict[tuple[int, int], float] = {}
        self.bounds: dict[Node, float] = {}

    def options(self) -> list[Option]:
        steps: dict[Node, list[Step]] = {}
        found: dict[tuple[int, int], dict[Node, None]] = {(0, 0): {self.plan.root: None}}
        while found:
            nodes = found.pop(min(found))
            asked = [(node, kind, index) for node in nodes for kind, index in self.actions(node)]
            for (node, _, _), step in zip(asked, self.plan.steps(asked), strict=True):
                if node is self.plan.root or self.may_be_best(node, step):
                    steps.setdefault(node, []).append(step)
                    for _, child in step.branches:
                        found.setdefault((child.used.bit_count(), -child.alive.size), {})[child] = None
            if self.plan.states() > self.max_states:
                raise TooLargeError("too many states for the exact method")
        trials, best = self.plan.problem.trials, dict[Node, float]()

        def ahead(step: Step) -> float:
            left = [q * (best[child] if child in best else self.plan.ladder(child)) for q, child in step.branches]
            return step.cost + step.done + sum(left)

        for node, own in reversed(steps.items()):
            minutes = min(map(ahead, own))
            best[node] = min(minutes, self.plan.ladder(node)) if trials else minutes
        return [Option(s.kind, s.index, ahead(s), s.cost, s.outcomes) for s in steps[self.plan.root]]

    def actions(self, node: Node) -> list[tuple[Kind, int]]:
        """What may be done in a node, but what repairs in turn are better than whatever follows."""
        plan, splits = self.plan, self.splits(node)
        checks: list[tuple[Kind, int]] = [("check", t) for t in splits]
        repairs: list[tuple[Kind, int]] = [("repair", r) for r in plan.first(node)]
        if not plan.problem.trials and splits:
            repairs = []
        elif plan.problem.trials and node is not plan.root:
            # No step saves more than what the repairs made in vain would take.
            saved = plan.ladder(node) - self.own_minutes(node)
            cost = plan.prices.list_of("check", node.context)
            checks = [("check", t) for t in splits if cost[t] < saved]
            repairs = [("repair", r) for _, r in repairs if (1.0 - node.share[r]) * self.least[r] < saved]
            return checks + repairs
        given_up: list[tuple[Kind, int]] = [("give up", -1)] if plan.problem.give_up_cost is not None else []
        return given_up + checks + repairs

    def may_be_best(self, node: Node, step: Step) -> bool:
        if not self.plan.problem.trials:
            return True
        least = step.cost + step.done + sum(q * self.at_least(child) for q, child in step.branches)
        return least < self.plan.ladder(node)

    def at_least(self, node: Node) -> float:
        """Minutes no plan stays below: the own repair at the end, and the first step as far as it may be in vain."""
        found = self.bounds.get(node)
        if found is None:
            own = found = self.own_minutes(node)
            if not node.single:
                key = id(node.context), node.used
                if key not in self.cheapest:
                    cost = self.plan.prices.list_of("check", node.context)
                    left = [c for t, c in enumerate(cost) if not node.used >> t & 1]
                    self.cheapest[key] = min(left, default=math.inf)
                vain = min((1.0 - p) * self.least[r] for r, p in node.share.items() if r >= 0)
                found = min(own + min(self.cheapest[key], vain), self.own[-1])
            self.bounds[node] = found
        return found

    def own_minutes(self, node: Node) -> float:
        return sum(p * self.own[r] for r, p in node.share.items())

    def splits(self, node: Node) -> list[int]:
        """Checks that tell something in a node."""
        if node.single or not self.plan.sizes:
            return []
        key = node.alive.tobytes()
        if key not in self.told_apart:
            varies = np.ptp(self.plan.table[node.alive], axis=0) > 1e-12
            self.told_apart[key] = np.flatnonzero(np.logical_or.reduceat(varies, self.plan.start)).tolist()
        return [t for t in self.told_apart[key] if not node.used >> t & 1]


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
