"""The search behind a plan: a greedy rule, and rollout of it."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Final

import numpy as np

from tracer.planning.engine.core import (
    Array,
    Kind,
    Option,
    Problem,
    ladder,
    xlogx,
)
from tracer.planning.engine.nodes import Node, Step
from tracer.planning.engine.tree import Tree

_EPS: Final = 1e-12
_BEHIND: Final = 1.03  # how far an action that was not looked at to the end stays behind the third best
_LOOKED_AT_AGAIN: Final = 4
_KIND_ORDER: Final = {"check": 0, "repair": 1, "give up": 2}


class Planner(Tree):
    """The search in the tree of a problem; nodes are shared between all its searches.

    Attributes:
        work: Table cells that may still be looked at.
        cut: How often a search stopped early and guessed what was left instead.
        stop: Whether the greedy rule turns to repairs in turn when those are cheaper. To be set before
            anything is searched.
    """

    def __init__(self, problem: Problem, context: Hashable = None) -> None:
        super().__init__(problem, context)
        self.work, self.cut, self.stop = float("inf"), 0, True
        self._waiting: list[tuple[float, Node]] = []  # where the search stopped early, with their probabilities

    def first(self, node: Node) -> tuple[int, ...]:
        """Repairs alive, most promising per minute first."""
        self.ladder(node)
        return node.in_turn[1] if node.in_turn else ()

    def greedy_step(self, node: Node) -> Step | None:
        """The action that tells most about the repair per minute; None if nothing tells anything.

        A repair attempt counts as a check with the outcomes "cured" and "not": the minutes it is
        charged are those lost when it was not the one, (1 - p) c, the rest is needed anyway.
        """
        if not node.weighed:
            self._weigh([node])
        if node.owed:
            self.work -= node.owed
            node.owed = 0
        return node.greedy

    def _weigh(self, nodes: Sequence[Node]) -> None:
        """Find the greedy steps of nodes."""
        bits, trials = self.telling.bits(nodes), self.problem.trials
        owed = [node.alive.size * self.table.shape[1] for node in nodes]
        if not trials:
            for k in np.flatnonzero(~bits.any(axis=1)).tolist():
                # A check that parts hypotheses, if not repairs, may still open the way for another.
                bits[k], owed[k] = self.telling.bits_apart(nodes[k]), 2 * owed[k]
        best, top = [0] * len(nodes), [0.0] * len(nodes)
        if self.sizes:
            costs = np.concatenate([self.prices.divisors(node.context) for node in nodes])
            rate = bits / costs.reshape(bits.shape)
            best, top = rate.argmax(axis=1).tolist(), rate.max(axis=1).tolist()
        repairs = self._telling_repairs(nodes, top) if trials else [-1] * len(nodes)
        actions: list[tuple[Node, Kind, int]] = []
        for node, cells, check, told, repair in zip(nodes, owed, best, top, repairs, strict=True):
            node.weighed, node.owed = True, cells
            if repair >= 0:
                actions.append((node, "repair", repair))
            elif told > 0.0:
                actions.append((node, "check", check))
        for (node, _, _), step in zip(actions, self.steps(actions), strict=True):
            node.greedy = step

    def _telling_repairs(self, nodes: Sequence[Node], top: Sequence[float]) -> list[int]:
        """For each node the repair that tells most per minute, if more than `top`; else −1."""
        many = np.array([len(node.share) for node in nodes])
        whose = np.repeat(np.arange(len(nodes)), many)
        repair = np.array([r for node in nodes for r in node.share])
        p = np.array([p for node in nodes for p in node.share.values()])
        costs = np.concatenate([self.prices.costs("repair", node.context) for node in nodes])
        q = 1.0 - p
        sure = (repair < 0) | (q <= _EPS)
        q[sure] = 1.0
        cost = costs[whose * len(self.problem.repairs) + repair]
        score = np.where(sure, 0.0, -(xlogx(p) + xlogx(q)) / q / np.maximum(cost, 1e-9))
        found = [-1] * len(nodes)
        begins = np.cumsum(many) - many
        most = np.maximum.reduceat(score, begins)
        for k in np.flatnonzero(most > np.array(top) * (1 + 1e-9)).tolist():
            own = score[begins[k]:begins[k] + many[k]]
            # Of equals the first, whatever the last digits say.
            found[k] = int(repair[begins[k] + int((own >= most[k] / (1 + 1e-9)).argmax())])
        return found

    def value(self, node: Node, floor: float = 0.0, mass: float = 1.0) -> float:
        """Expected minutes of the greedy rule.

        Branches whose probability `mass` is below `floor`, or met when no work is left, count as guessed.
        """
        if node.minutes is not None:
            return node.minutes
        if node.single:
            node.minutes = self.ladder(node)
            return node.minutes
        if mass < floor or (self.work <= 0 and (node.owed or not node.weighed)):
            self.cut += 1
            self._waiting.append((mass, node))
            return self.guess(node)
        before, step = self.cut, self.greedy_step(node)
        if step is None:
            minutes = self.ladder(node)
        else:
            minutes = self.ahead(step, floor, mass)
            if self.stop and self.problem.trials:
                minutes = self.or_ladder(node, minutes)
        if self.cut == before:
            node.minutes = minutes
        return minutes

    def guess(self, node: Node) -> float:
        """Minutes left where the search stopped early: repairs in turn, or measuring on at the usual pace and
        then the right repair, whichever is less. Repairs in turn alone would make every plan that parts
        the suspects into many small groups look dear."""
        return self.or_ladder(node, node.guess)

    def ahead(self, step: Step, floor: float = 0.0, mass: float = 1.0) -> float:
        """Expected minutes of a step followed by the greedy rule."""
        minutes = 0.0
        for q, child in step.branches:
            # Most branches are known, or guessed: the few others are worth a call.
            if child.minutes is not None:
                minutes += q * child.minutes
            elif mass * q < floor and not child.single and child.guess <= child.at_least:
                self.cut += 1
                self._waiting.append((mass * q, child))
                minutes += q * child.guess
            else:
                minutes += q * self.value(child, floor, mass * q)
        return step.cost + step.done + minutes

    def foresee(self, level: list[tuple[float, Node]], floor: float) -> bool:
        """Find the greedy steps of all nodes that `value` will come to from these with this floor, many at a time;
        False if that takes more than the work left."""
        work, reached = self.work, dict[Node, float]()
        while level:
            now, new = [], dict[Node, None]()
            for mass, node in level:
                if mass < floor or node.single or node.minutes is not None or mass <= reached.get(node, 0.0):
                    continue
                if node not in reached:
                    new[node] = None
                reached[node] = mass
                now.append((mass, node))
            if new and work <= 0:
                return False
            if fresh := [node for node in new if not node.weighed]:
                self._weigh(fresh)
            work -= sum(node.owed for node in new)
            level = [
                (m * q, child) for m, node in now if node.greedy
                for q, child in node.greedy.branches if m * q >= floor
            ]
        return work > 0

    def candidates(self, node: Node, limit: int) -> list[Step]:
        """First actions worth a closer look, the greedy rule's own and the first repairs included."""
        bits = self.telling.bits([node])[0]
        open_checks = np.flatnonzero(bits)
        if open_checks.size > limit:
            score = self._screen(node, bits, self.telling.joint(node))
            open_checks = open_checks[np.argsort(score[open_checks], kind="stable")[:limit]]
        names: list[tuple[Kind, int]] = [("check", t) for t in open_checks.tolist()]
        greedy = self.greedy_step(node)
        if greedy is not None and (greedy.kind, greedy.index) not in names:
            names.append((greedy.kind, greedy.index))
        if self.problem.trials or node.single or greedy is None:
            names += [("repair", r) for r in self.first(node)[:3] if ("repair", r) not in names]
        if self.problem.give_up_cost is not None:
            names.append(("give up", -1))
        return self.steps([(node, kind, index) for kind, index in names])

    def _screen(self, node: Node, bits: Array, joint: Array) -> Array:
        """One-step look-ahead for all checks: minutes of the check plus an estimate of those after it,
        the lower of repairs in turn and of measuring on at the best rate seen here."""
        names = np.unique(self.label[node.alive], return_index=True)[0]  # without it numpy loads masked arrays
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
        self, node: Node, *, limit: int = 14, rough: bool = False, again: bool = True
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
        waiting = [step.branches for step in steps]
        for floor in (0.1, 0.03, 0.01, 0.003, 0.001) if rough else (0.0,):
            before = self.cut
            if not self.foresee([part for i in live for part in waiting[i]], floor) and floor < 0.1:
                break
            now = {}
            for i in live:
                waiting[i] = self._waiting = []
                now[i] = self.ahead(steps[i], floor)
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
                    ahead += q * (self.ladder(child) if child.single else self._second(child))
                minutes[i] = min(minutes[i], ahead)
        found = [Option(s.kind, s.index, m, s.cost, s.outcomes) for s, m in zip(steps, minutes, strict=True)]
        return rank(found)

    def _own(self, node: Node) -> tuple[Kind, int]:
        first = self.first(node)
        return ("repair", first[0]) if first else ("give up", -1)

    def _second(self, node: Node) -> float:
        """Expected minutes of a rollout from a node on."""
        if node.second is None:
            node.second = self.rollout(node, again=False)[0].minutes
        return node.second

    def follow(self, node: Node) -> float:
        """Expected minutes when every step is chosen by rollout."""
        if node.single:
            return self.ladder(node)
        if node.followed is None:
            options = self.rollout(node)
            step = self.step(node, options[0].kind, options[0].index)
            node.followed = step.cost + step.done + sum(q * self.follow(child) for q, child in step.branches)
        return node.followed


def rank(options: list[Option]) -> list[Option]:
    """Cheapest first; ties go to checks, then to the lower number, whatever the last digits say."""
    return sorted(options, key=lambda o: (round(o.minutes, 9), _KIND_ORDER[o.kind], o.index))
