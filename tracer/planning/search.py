"""The search behind a plan: beliefs as nodes, a greedy rule, rollout of it, and exact programming."""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import Final, NamedTuple

import numpy as np

from tracer.planning.core import (
    Array,
    Bools,
    Ints,
    Kind,
    Option,
    Problem,
    ladder,
    xlogx,
)
from tracer.planning.prices import Prices

_EPS: Final = 1e-12
_BEHIND: Final = 1.03  # how far an action that was not looked at to the end stays behind the third best
_LOOKED_AT_AGAIN: Final = 4
_KIND_ORDER: Final = {"check": 0, "repair": 1, "give up": 2}


class Step(NamedTuple):
    """An action taken in a node: its minutes, minutes of ends that are not followed further times their
    probability, and the nodes it may lead to with their probabilities (what is missing to one
    ended the job)."""

    kind: Kind
    index: int  # type: ignore[assignment]  # hides tuple.index, which nothing here calls
    cost: float
    done: float
    branches: list[tuple[float, Node]]
    outcomes: tuple[float, ...]


class Node:
    """A belief over the hypotheses still alive, in a context, with the noisy checks already made."""

    def __init__(self, alive: Ints, belief: Array, context: Hashable, used: frozenset[int]) -> None:
        self.alive, self.belief, self.context, self.used = alive, belief, context, used
        self.share: dict[int, float] = {}  # of each repair alive, and of what no repair cures: −1
        self.in_turn: tuple[float, tuple[int, ...]] | None = None
        self.single = False  # one repair (or "none the plan knows") is left
        self.guess: float | None = None
        self.runs: Ints | None = None
        self.gains: tuple[Array, Array] | None = None
        self.greedy: Step | None = None
        self.values: dict[bool, float] = {}
        self.second: dict[bool, float] = {}
        self.followed: dict[bool, float] = {}
        self.optimum: float | None = None


class Planner:
    """Everything derived from one problem; nodes are shared between all its searches.

    Attributes:
        table: (H', R) outcome probabilities of all checks side by side, H' after merging hypotheses
            that share the repair and every likelihood: separating those is worth nothing. Rows are
            in the order of their repairs.
        forget: Share below which a hypothesis or an outcome is left out after an action.
        work: Table cells that may still be looked at.
        cut: How often a search stopped early and guessed what was left instead.
        pace: Minutes that a bit of doubt is taken to cost where a search stopped early; 0: repairs in
            turn are counted instead. To be set before anything is searched.
    """

    def __init__(self, problem: Problem, context: Hashable = None) -> None:
        self.problem, self.forget, self.work, self.cut = problem, _EPS, float("inf"), 0
        self.pace = 0.0
        prior, label = np.asarray(problem.prior, dtype=float), np.asarray(problem.label, dtype=np.int64)
        tables = [np.asarray(check.likelihood, dtype=float) for check in problem.checks]
        rows = np.concatenate([*tables, np.zeros((0, prior.size))]).T
        groups: dict[tuple[int, bytes], list[int]] = {}
        for h in sorted(np.flatnonzero(prior > 0).tolist(), key=lambda h: (int(label[h]), h)):
            groups.setdefault((int(label[h]), rows[h].tobytes()), []).append(h)
        chosen = [members[0] for members in groups.values()]
        self.table: Array = np.ascontiguousarray(rows[chosen])
        self.label: Ints = label[chosen]
        self.sizes = [table.shape[0] for table in tables]
        self.start = np.cumsum([0, *self.sizes])[:-1]
        sure = (self.table == 0) | (self.table == 1)
        self.noiseless = bool(np.all(sure))
        self._by_outcome = np.ascontiguousarray(self.table.T)
        # (T,) checks that leave a doubt whatever is wrong, and (H', T) those that do under each hypothesis.
        self._doubtful: Bools = np.logical_or.reduceat(~sure, self.start, axis=1) if self.sizes else ~sure
        self._always_doubtful: list[bool] = np.all(self._doubtful, axis=0).tolist()
        self.finish = np.array([repair.finish for repair in problem.repairs])
        self.prices = Prices(problem, context)
        self._nodes: dict[tuple[bytes, bytes, int, frozenset[int]], Node] = {}
        mass = np.array([prior[members].sum() for members in groups.values()])
        every, belief = np.arange(mass.size), mass / mass.sum()
        share = {r - 1: p for r, p in enumerate(self.by_repair(every, belief).tolist()) if p > 0.0}
        self.root = self.node(every, belief, belief.round(10), share, context, frozenset())

    def node(
        self, alive: Ints, belief: Array, rounded: Array, share: dict[int, float], context: Hashable,
        used: frozenset[int],
    ) -> Node:
        """The node of a belief (normalised, over `alive`), and of its shares by repair; `rounded` at 1e-10 lets paths
        meet again."""
        key = (alive.tobytes(), rounded.tobytes(), id(context), used)
        found = self._nodes.get(key)
        if found is None:
            found = self._nodes[key] = Node(alive, belief, context, used)
            found.share, found.single = share, len(share) <= 1
        return found

    def by_repair(self, alive: Ints, belief: Array) -> Array:
        """(repairs + 1,) shares: what no repair cures first, then repair 0, 1, …"""
        size = len(self.problem.repairs) + 1
        return np.bincount(self.label[alive] + 1, weights=belief, minlength=size).astype(float)

    def ladder(self, node: Node) -> float:
        """Minutes of repairs in turn."""
        if node.in_turn is None:
            node.in_turn = self.prices.in_turn(node.share, node.context)
        return node.in_turn[0]

    def first(self, node: Node) -> tuple[int, ...]:
        """Repairs alive, most promising per minute first."""
        self.ladder(node)
        return node.in_turn[1] if node.in_turn else ()

    def _or_ladder(self, node: Node, minutes: float) -> float:
        """What takes less: these minutes, or repairs in turn, which are only counted where they may."""
        return minutes if minutes <= self.prices.in_turn_at_least(node.share) else min(minutes, self.ladder(node))

    def states(self) -> int:
        """How many nodes exist so far."""
        return len(self._nodes)

    def step(self, node: Node, kind: Kind, index: int) -> Step:
        """Take an action in a node. An attempt at the only repair left has no branches."""
        if kind == "give up":
            return Step(kind, index, self.problem.give_up_cost or 0.0, 0.0, [], (1.0,))
        cost = float(self.prices.costs(kind, node.context)[index])
        if kind == "repair":
            cured = self.label[node.alive] == index
            p = float(node.belief[cured].sum())
            after = self.prices.after(self.problem.repairs[index], node.context)
            branches, lost = self._branch(node, np.where(cured, 0.0, node.belief)[None], after, node.used)
            return Step(kind, index, cost, p * float(self.finish[index]) + lost, branches, (p, 1.0 - p))
        first = self.start[index]
        weights = self._by_outcome[first:first + self.sizes[index]].take(node.alive, axis=1) * node.belief
        used = node.used
        if self._always_doubtful[index] or self._doubtful[node.alive, index].any():
            used |= {index}
        after = self.prices.after(self.problem.checks[index], node.context)
        branches, lost = self._branch(node, weights, after, used)
        return Step(kind, index, cost, lost, branches, tuple(weights.sum(axis=1).tolist()))

    def _branch(
        self, node: Node, weights: Array, context: Hashable, used: frozenset[int]
    ) -> tuple[list[tuple[float, Node]], float]:
        """Nodes after each outcome, its `weights` (outcomes, alive), and minutes charged for what is left out as too
        unlikely: should it be true after all, repairs in turn are started over."""
        total = weights.sum(axis=1)
        kept: Bools = np.greater(weights, self.forget * total[:, None])
        weights = weights * kept
        mass = weights.sum(axis=1)
        runs = self._runs(node)
        by_repair = np.add.reduceat(weights, runs, axis=1)
        beliefs = weights / np.maximum(mass, 1e-300)[:, None]
        rounded, names = beliefs.round(10), list(node.share)
        branches, lost = [], 0.0
        for k, (q, whole, shares) in enumerate(zip(mass.tolist(), total.tolist(), by_repair.tolist(), strict=True)):
            if q > self.forget:
                share = {r: p / q for r, p in zip(names, shares, strict=True) if p > 0.0}
                its = kept[k]
                child = self.node(node.alive[its], beliefs[k][its], rounded[k][its], share, context, used)
                branches.append((q, child))
                lost += whole - q
            else:
                lost += whole
        return branches, lost * self.ladder(self.root) if lost > 0.0 else 0.0

    def _runs(self, node: Node) -> Ints:
        """Where the hypotheses of each repair begin: they are kept in the order of their labels."""
        if node.runs is None:
            node.runs = self.label[node.alive].searchsorted(list(node.share))
        return node.runs

    def gains(self, node: Node) -> tuple[Array, Array]:
        """Bits each check (T,) tells about the repair, and joint masses (C, R) of classes and outcomes."""
        if node.gains is None:
            node.gains = self._bits(node, self._runs(node))
        return node.gains

    def _bits(self, node: Node, runs: Ints) -> tuple[Array, Array]:
        self.work -= node.alive.size * self.table.shape[1]
        joint = np.add.reduceat(self.table[node.alive] * node.belief[:, None], runs, axis=0)
        if not self.sizes:
            return np.zeros(0), joint
        per_row = xlogx(joint).sum(axis=0) - xlogx(joint.sum(axis=0))
        bits = np.add.reduceat(per_row, self.start) - xlogx(np.add.reduceat(node.belief, runs)).sum()
        if node.used:
            bits[list(node.used)] = 0.0
        return np.where(bits > 1e-10, bits, 0.0), joint

    def greedy_step(self, node: Node) -> Step | None:
        """The action that tells most about the repair per minute; None if nothing tells anything.

        A repair attempt counts as a check with the outcomes "cured" and "not": the minutes it is
        charged are those lost when it was not the one, (1 - p) c, the rest is needed anyway.
        """
        if node.greedy is None:
            bits = self.gains(node)[0]
            if not self.problem.trials and not np.any(bits):
                # A check that parts hypotheses, if not repairs, may still open the way for another.
                bits = self._bits(node, np.arange(node.alive.size))[0]
            rate = bits / np.maximum(self.prices.costs("check", node.context), 1e-9)
            best = int(rate.argmax()) if rate.size else 0
            kind: Kind = "check"
            top = float(rate[best]) if rate.size else 0.0
            if self.problem.trials:
                cost = self.prices.of_repairs(node.context)
                for r, p in node.share.items():
                    q = 1.0 - p
                    if r < 0 or q <= _EPS:
                        continue
                    told = -p * math.log2(p) - q * math.log2(q)
                    score = told / q / max(cost[r], 1e-9)
                    if score > top * (1 + 1e-9):
                        kind, best, top = "repair", r, score
            if top <= 0.0:
                return None
            node.greedy = self.step(node, kind, best)
        return node.greedy

    def value(self, node: Node, stop: bool, floor: float = 0.0, mass: float = 1.0) -> float:
        """Expected minutes of the greedy rule; with `stop` it turns to repairs in turn when cheaper.

        Branches whose probability `mass` is below `floor`, or met when no work is left, count as
        repairs in turn.
        """
        if node.single:
            return self.ladder(node)
        if stop in node.values:
            return node.values[stop]
        if mass < floor or (node.greedy is None and self.work <= 0):
            self.cut += 1
            return self.guess(node)
        before, step = self.cut, self.greedy_step(node)
        if step is None:
            minutes = self.ladder(node)
        else:
            minutes = self.ahead(step, stop, floor, mass)
            if stop and self.problem.trials:
                minutes = self._or_ladder(node, minutes)
        if self.cut == before:
            node.values[stop] = minutes
        return minutes

    def guess(self, node: Node) -> float:
        """Minutes left where the search stopped early: repairs in turn, or measuring on at the usual pace and
        then the right repair, whichever is less. Repairs in turn alone would make every plan that parts
        the suspects into many small groups look dear."""
        if not self.pace:
            return self.ladder(node)
        if node.guess is None:
            cost = self.prices.of_repairs(node.context)
            known = doubt = 0.0
            for r, p in node.share.items():
                own = (self.problem.give_up_cost or 0.0) if r < 0 else cost[r] + self.problem.repairs[r].finish
                known += p * own
                doubt -= p * math.log2(p)
            node.guess = self._or_ladder(node, known + doubt * self.pace)
        return node.guess

    def ahead(self, step: Step, stop: bool, floor: float = 0.0, mass: float = 1.0) -> float:
        """Expected minutes of a step followed by the greedy rule."""
        minutes = 0.0
        for q, child in step.branches:
            minutes += q * self.value(child, stop, floor, mass * q)
        return step.cost + step.done + minutes

    def candidates(self, node: Node, limit: int) -> list[Step]:
        """First actions worth a closer look, the greedy rule's own and the first repairs included."""
        bits, joint = self.gains(node)
        open_checks = np.flatnonzero(bits)
        if open_checks.size > limit:
            score = self._screen(node, bits, joint)
            open_checks = open_checks[np.argsort(score[open_checks], kind="stable")[:limit]]
        names: list[tuple[Kind, int]] = [("check", t) for t in open_checks.tolist()]
        greedy = self.greedy_step(node)
        if greedy is not None and (greedy.kind, greedy.index) not in names:
            names.append((greedy.kind, greedy.index))
        if self.problem.trials or node.single or greedy is None:
            names += [("repair", r) for r in self.first(node)[:3] if ("repair", r) not in names]
        if self.problem.give_up_cost is not None:
            names.append(("give up", -1))
        return [self.step(node, kind, index) for kind, index in names]

    def _screen(self, node: Node, bits: Array, joint: Array) -> Array:
        """One-step look-ahead for all checks: minutes of the check plus an estimate of those after it,
        the lower of repairs in turn and of measuring on at the best rate seen here."""
        names = np.unique(self.label[node.alive])
        cost = self.prices.costs("check", node.context)
        rate = float((bits / np.maximum(cost, 1e-9)).max())
        after = [self.prices.costs("repair", self.prices.after(c, node.context)) for c in self.problem.checks]
        price = np.repeat(np.column_stack(after), self.sizes, axis=1)[names[names >= 0]]
        finish = self.finish[names[names >= 0], None]
        mass = joint.sum(axis=0)
        beyond = joint[0] if names[0] < 0 else np.zeros_like(mass)
        cures, give_up = joint[int(names[0] < 0) :], self.problem.give_up_cost
        in_turn = ladder(cures, price, finish, beyond, give_up)[0]
        doubt = (xlogx(mass) - xlogx(joint).sum(axis=0)) / max(rate, _EPS)
        known = (cures * (price + finish)).sum(axis=0) + beyond * (give_up or 0.0)
        rest: Array = np.minimum(in_turn, known + doubt)
        return cost + np.add.reduceat(rest, self.start)

    def rollout(
        self, node: Node, *, stop: bool = True, limit: int = 14, rough: bool = False, again: bool = True
    ) -> list[Option]:
        """Each candidate followed by the greedy rule, best first.

        Never worse than the rule itself, whose own action is among the candidates. `rough` looks at
        likely branches first, drops the worse half of the candidates and looks deeper at the rest.
        Otherwise the best few are looked at again, each followed by the best of such a rollout (`again`).
        """
        steps = self.candidates(node, limit)
        minutes = [0.0] * len(steps)
        live = list(range(len(steps)))
        keep = {i for i, s in enumerate(steps) if s is node.greedy or (s.kind, s.index) == self._own(node)}
        for floor in (0.1, 0.03, 0.01, 0.003, 0.001) if rough else (0.0,):
            before = self.cut
            now = {i: self.ahead(steps[i], stop, floor) for i in live}
            if self.work <= 0 and floor < 0.1:
                break  # a round cut short looked deeper at some than at others: keep the round before
            third = sorted(now.values())[min(2, len(now) - 1)]
            for i in range(len(steps)):
                # What was dropped in an earlier round was looked at less closely: it stays behind.
                minutes[i] = now[i] if i in now else max(minutes[i], _BEHIND * third)
            if self.cut == before:
                break
            live.sort(key=lambda i: minutes[i])
            live = sorted({*live[: max(5, len(live) // 2)], *(keep & set(live))})
        if again and not rough:
            for i in sorted(live, key=lambda i: minutes[i])[:_LOOKED_AT_AGAIN]:
                ahead = steps[i].cost + steps[i].done
                for q, child in steps[i].branches:
                    ahead += q * (self.ladder(child) if child.single else self._second(child, stop))
                minutes[i] = min(minutes[i], ahead)
        found = [Option(s.kind, s.index, m, s.cost, s.outcomes) for s, m in zip(steps, minutes, strict=True)]
        return rank(found)

    def _own(self, node: Node) -> tuple[Kind, int]:
        first = self.first(node)
        return ("repair", first[0]) if first else ("give up", -1)

    def _second(self, node: Node, stop: bool) -> float:
        """Expected minutes of a rollout from a node on."""
        if stop not in node.second:
            node.second[stop] = self.rollout(node, stop=stop, again=False)[0].minutes
        return node.second[stop]

    def follow(self, node: Node, *, stop: bool) -> float:
        """Expected minutes when every step is chosen by rollout."""
        if node.single:
            return self.ladder(node)
        if stop not in node.followed:
            options = self.rollout(node, stop=stop)
            step = self.step(node, options[0].kind, options[0].index)
            node.followed[stop] = (
                step.cost + step.done + sum(q * self.follow(child, stop=stop) for q, child in step.branches)
            )
        return node.followed[stop]


def rank(options: list[Option]) -> list[Option]:
    """Cheapest first; ties go to checks, then to the lower number, whatever the last digits say."""
    return sorted(options, key=lambda o: (round(o.minutes, 9), _KIND_ORDER[o.kind], o.index))
