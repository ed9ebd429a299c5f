"""Beliefs as nodes of a tree, and the steps between them, taken many at once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from itertools import islice
from typing import Final, NamedTuple

import numpy as np

from tracer.circuit.model import distinct
from tracer.planning.engine.core import Array, Bools, Ints, Kind, Problem, xlogx
from tracer.planning.engine.laid import lay, runs
from tracer.planning.engine.nodes import Node, Step
from tracer.planning.engine.prices import Prices
from tracer.planning.engine.telling import Telling

_EPS: Final = 1e-12


class Tree:
    """The beliefs that the actions of one problem may lead to.

    Attributes:
        table: (H', R) outcome probabilities of all checks side by side, H' after merging hypotheses
            that share the repair and every likelihood: separating those is worth nothing. Rows are
            in the order of their repairs.
        label: (H',) repairs.
        sizes: Outcomes of each check; `start`: where they begin in the table.
        forget: Share below which a hypothesis or an outcome is left out after an action.
        pace: Minutes that a bit of doubt is taken to cost where a search stops early; 0: repairs in
            turn are counted instead. To be set before any step is taken.
    """

    def __init__(self, problem: Problem, context: Hashable = None) -> None:
        self.problem, self.forget, self.pace = problem, _EPS, 0.0
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
        self.telling = Telling(self.table, self.start, self.label)
        sure = (self.table == 0) | (self.table == 1)
        self.noiseless = bool(np.all(sure))
        # (T,) checks that leave a doubt whatever is wrong, and (H', T) those that do under each hypothesis.
        self._doubtful: Bools = np.logical_or.reduceat(~sure, self.start, axis=1) if self.sizes else ~sure
        self._always_doubtful: list[bool] = np.all(self._doubtful, axis=0).tolist()
        # One row an outcome: of the checks, then that of each repair which leads on, "not cured".
        not_cured = self.label != np.arange(len(problem.repairs))[:, None]
        self._shows = np.concatenate([self.table.T, not_cured]).ravel()
        self._first_row = [*self.start.tolist(), *range(self.table.shape[1], self.table.shape[1] + len(not_cured))]
        self.finish = np.array([repair.finish for repair in problem.repairs])
        self.prices = Prices(problem, context)
        self._nodes: dict[tuple[int, int], dict[bytes, Node]] = {}
        self._count = 1
        mass = np.array([prior[members].sum() for members in groups.values()])
        every, belief = np.arange(mass.size), mass / mass.sum()
        share = {r - 1: p for r, p in enumerate(self.by_repair(every, belief).tolist()) if p > 0.0}
        self.root = Node(every, belief, context, 0, share, -np.inf, np.inf)

    def by_repair(self, alive: Ints, belief: Array) -> Array:
        """(repairs + 1,) shares: what no repair cures first, then repair 0, 1, …"""
        size = len(self.problem.repairs) + 1
        return np.bincount(self.label[alive] + 1, weights=belief, minlength=size).astype(float)

    def states(self) -> int:
        """How many nodes exist so far."""
        return self._count

    def ladder(self, node: Node) -> float:
        """Minutes of repairs in turn."""
        if node.in_turn is None:
            node.in_turn = self.prices.in_turn(node.share, node.context)
        return node.in_turn[0]

    def or_ladder(self, node: Node, minutes: float) -> float:
        """What takes less: these minutes, or repairs in turn, which are only counted where they may."""
        return minutes if minutes <= node.at_least else min(minutes, self.ladder(node))

    def step(self, node: Node, kind: Kind, index: int) -> Step:
        """Take an action in a node."""
        return self.steps([(node, kind, index)])[0]

    def steps(self, actions: Sequence[tuple[Node, Kind, int]]) -> list[Step]:
        """Take each of the actions in its node. An attempt at the only repair left has no branches."""
        leading_on = [action for action in actions if action[1] != "give up"]
        taken = iter(self._taken(leading_on) if leading_on else [])
        given_up = Step("give up", -1, self.problem.give_up_cost or 0.0, 0.0, [], (1.0,))
        return [given_up if kind == "give up" else next(taken) for _, kind, _ in actions]

    def _taken(self, actions: Sequence[tuple[Node, Kind, int]]) -> list[Step]:
        after = [
            self.prices.after(self.problem.checks[i] if kind == "check" else self.problem.repairs[i], node.context)
            for node, kind, i in actions
        ]
        many = [self.sizes[i] if kind == "check" else 1 for _, kind, i in actions]
        ends = np.cumsum(many)
        branches = int(ends[-1])
        action = np.repeat(np.arange(len(actions)), many)
        first = np.array([self._first_row[i if kind == "check" else len(self.sizes) + i] for _, kind, i in actions])
        row = np.arange(branches) + (first - ends + many)[action]
        # Of every branch the hypotheses alive before, end to end.
        laid = lay([node for node, _, _ in actions])
        lengths = laid.lengths[action]
        begins = np.cumsum(lengths) - lengths
        whose = np.repeat(np.arange(branches), lengths)
        at = np.arange(whose.size) + (laid.begins[action] - begins)[whose]
        alive = laid.alive[at]
        weights = self._shows[(row * self.label.size)[whose] + alive] * laid.belief[at]
        whole = np.add.reduceat(weights, begins)
        # What is too unlikely is left out, and charged for.
        stays = weights > (self.forget * whole)[whose]
        kept = np.flatnonzero(stays)
        of_branch = weights, alive, whose
        lost = self._forgotten(np.flatnonzero(~stays), of_branch, whole, lambda branch: after[action[branch]])
        weights, alive, whose = weights[kept], alive[kept], whose[kept]
        mass = np.bincount(whose, weights, branches)
        belief = weights / mass[whose]
        parts = runs(whose * (len(self.problem.repairs) + 1) + self.label[alive])
        of, names = whose[parts], self.label[alive[parts]]
        share = np.add.reduceat(weights, parts) / mass[of] if parts.size else np.zeros(0)
        known = np.stack([self.prices.with_finish(there) for there in after])[action[of], names + 1]
        branched = _Branches(
            whole.tolist(), mass.tolist(), lost.tolist(),
            np.bincount(whose, minlength=branches).cumsum().tolist(), alive, belief,
            (np.rint(belief * 1e10).astype(np.int64) + (alive << 34)).tobytes(),
            np.bincount(of, minlength=branches).cumsum().tolist(), names.tolist(), share.tolist(),
            self.prices.in_turn_at_least(share, names, of, branches).tolist(),
            # Minutes of measuring on at the usual pace and then the right repair.
            (np.bincount(of, share * known - self.pace * xlogx(share), branches) if self.pace
             else np.full(branches, np.inf)).tolist(),
        )
        return self._joined(actions, after, many, branched)

    def _forgotten(
        self, gone: Ints, of_branch: tuple[Array, Ints, Ints], whole: Array, context: Callable[[int], Hashable]
    ) -> Array:
        """(branches,) minutes, times their probability, of what is left out of each: repairs in turn up to it, where
        what is unlikely comes late. Charged with what they take on average, a test that tells nothing would be worth
        its minutes by what is forgotten after it."""
        out, (weights, alive, whose) = np.zeros(whole.size), of_branch
        gone = gone[weights[gone] > 0.0]  # what cannot be costs nothing
        if gone.size and self.forget > _EPS:
            some = distinct(whose[gone])
            at = np.full(whole.size, -1)
            at[some] = np.arange(some.size)
            size = len(self.problem.repairs) + 1
            in_some = np.flatnonzero(at[whose] >= 0)
            cell = at[whose[in_some]] * size + self.label[alive[in_some]] + 1
            share = np.bincount(cell, weights[in_some], some.size * size).reshape(some.size, size)
            each = self.prices.in_turn_each(share / share.sum(axis=1)[:, None], [context(b) for b in some.tolist()])
            minutes = each[at[whose[gone]], self.label[alive[gone]] + 1]
            out += np.bincount(whose[gone], weights[gone] * minutes, whole.size)
        return out

    def _joined(
        self, actions: Sequence[tuple[Node, Kind, int]], after: Sequence[Hashable], many: Sequence[int], b: _Branches
    ) -> list[Step]:
        """The steps of which these are the branches."""
        steps: list[Step] = []
        i = k = 0
        every = zip(b.whole, b.mass, b.lost, b.ends, b.last, b.at_least, b.guess, strict=True)
        for (node, kind, index), there, size in zip(actions, after, many, strict=True):
            used = node.used
            if kind == "check" and (self._always_doubtful[index] or self._doubtful[node.alive, index].any()):
                used |= 1 << index
            met = self._nodes.setdefault((id(there), used), {})
            outcomes, branches, done = [], list[tuple[float, Node]](), 0.0
            for whole, mass, lost, j, m, at_least, guess in islice(every, size):
                outcomes.append(whole)
                if mass > self.forget:
                    key = b.code[8 * i:8 * j]
                    child = met.get(key)
                    if child is None:
                        share = dict(zip(b.names[k:m], b.share[k:m], strict=True))
                        child = met[key] = Node(b.alive[i:j], b.belief[i:j], there, used, share, at_least, guess)
                        self._count += 1
                    branches.append((mass, child))
                    done += lost
                else:  # nothing of it is followed
                    done += whole * self.ladder(self.root)
                i, k = j, m
            cost = self.prices.list_of(kind, node.context)[index]
            if kind == "repair":
                p = node.share.get(index, 0.0)
                outcomes = [p, 1.0 - p]
                done += p * self.problem.repairs[index].finish
            steps.append(Step(kind, index, cost, done, branches, tuple(outcomes)))
        return steps


class _Branches(NamedTuple):
    """What many actions may lead to, branch by branch: probability, and that of what is not left out; minutes, times
    their probability, of what is; where its hypotheses end in `alive`, `belief` and (8 bytes each) `code`, which says
    of each the hypothesis and its probability rounded at 1e-10, so that paths meet again; where its repairs end in
    `names` and `share`; the rest as in `Node`."""

    whole: list[float]
    mass: list[float]
    lost: list[float]
    ends: list[int]
    alive: Ints
    belief: Array
    code: bytes
    last: list[int]
    names: list[int]
    share: list[float]
    at_least: list[float]
    guess: list[float]
