"""What actions cost where a job may stand, and repairs tried one after the other."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence

import numpy as np

from tracer.planning.engine.core import Array, Check, Cost, Ints, Kind, Problem, Repair, climbed

# The context that an attempt at a repair leaves behind, what repairs cost there, and for which that is new.
_Turn = tuple[Hashable, list[float], frozenset[int]]


class Prices:
    """Costs of one problem's actions in every context that was asked for. Shares are those of repairs by number, and
    of what no repair cures: -1."""

    def __init__(self, problem: Problem, context: Hashable) -> None:
        self.problem = problem
        self._finishes = [repair.finish for repair in problem.repairs]
        self._finish = np.array(self._finishes)
        self._least = np.array([least_minutes(repair) for repair in problem.repairs])
        # Contexts may be large and are asked for again and again. Of equal ones one is kept, and known by its
        # identity; what is found for a context holds on to it, so that no other takes its place.
        self._contexts: dict[Hashable, Hashable] = {context: context}
        self._lists: dict[tuple[Kind, int], tuple[Hashable, list[float]]] = {}
        self._divisors: dict[int, tuple[Hashable, Array]] = {}
        self._finished: dict[int, tuple[Hashable, Array]] = {}
        self._costs: dict[tuple[Kind, int], tuple[Hashable, Array]] = {}
        self._moved: dict[tuple[int, int], tuple[Hashable, Hashable]] = {}
        self._turns: dict[tuple[int, int], tuple[Hashable, _Turn]] = {}

    def costs(self, kind: Kind, context: Hashable) -> Array:
        """Minutes of every check, or of every repair, in a context."""
        found = self._costs.get((kind, id(context)))
        if found is None:
            actions: list[Check] | list[Repair]
            actions = list(self.problem.checks) if kind == "check" else list(self.problem.repairs)
            found = context, np.array([minutes_in(action.cost, context) for action in actions])
            self._costs[(kind, id(context))] = found
        return found[1]

    def list_of(self, kind: Kind, context: Hashable) -> list[float]:
        """The same as a list."""
        found = self._lists.get((kind, id(context)))
        if found is None:
            found = self._lists[kind, id(context)] = context, self.costs(kind, context).tolist()
        return found[1]

    def divisors(self, context: Hashable) -> Array:
        """Minutes of every check, none of them zero."""
        found = self._divisors.get(id(context))
        if found is None:
            found = self._divisors[id(context)] = context, np.maximum(self.costs("check", context), 1e-9)
        return found[1]

    def with_finish(self, context: Hashable) -> Array:
        """Minutes of giving up, and of each repair when it is the right one."""
        found = self._finished.get(id(context))
        if found is None:
            own = np.append(self.problem.give_up_cost or 0.0, self.costs("repair", context) + self._finish)
            found = self._finished[id(context)] = context, own
        return found[1]

    def after(self, action: Check | Repair, context: Hashable) -> Hashable:
        """The context that an action of the problem leaves behind."""
        if action.moves is None:
            return context
        key = id(action), id(context)
        found = self._moved.get(key)
        if found is None:
            there = action.moves(context)
            found = self._moved[key] = context, self._contexts.setdefault(there, there)
        return found[1]

    def least_minutes(self) -> list[float]:
        """Minutes of an attempt at each repair, wherever the job stands, at the least."""
        return [float(minutes) for minutes in self._least]

    def least_own(self) -> dict[int, float]:
        """Minutes a job ends with at the least, by what is wrong: a repair or −1."""
        give_up = math.inf if self.problem.give_up_cost is None else self.problem.give_up_cost
        own = (self._least + self._finish).tolist()
        return {-1: give_up} | {r: min(minutes, give_up) for r, minutes in enumerate(own)}

    def in_turn(self, share: Mapping[int, float], context: Hashable) -> tuple[float, tuple[int, ...]]:
        """`ladder` for one belief, in plain floats, where attempts may change what the next one costs: minutes, and
        the repairs in their order."""
        order, paid = self._in_order(share, context)
        return self._climbed(share, order, paid), tuple(order)

    def in_turn_each(self, share: Array, contexts: Sequence[Hashable]) -> Array:
        """(B, repairs + 1) minutes of repairs in turn by what is wrong: first what none cures, then repair 0, 1, …
        `share` the same: the shares of B beliefs, each in its context (what an attempt changes for the next is left
        out)."""
        give_up, cures = self.problem.give_up_cost, share[:, 1:].T
        costs = np.stack([self.costs("repair", context) for context in contexts], axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            order = np.argsort(np.where(cures > 0, costs / cures, np.inf), axis=0, kind="stable")
        p, cost = np.take_along_axis(cures, order, axis=0), np.take_along_axis(costs, order, axis=0)
        given_up = np.zeros(p.shape, dtype=bool)
        if give_up is not None:
            mass, minutes = share[:, 0].copy(), share[:, 0] * give_up
            for k in range(len(p) - 1, -1, -1):
                mass += p[k]
                minutes += p[k] * self._finish[order[k]] + cost[k] * mass
                given_up[k] = minutes >= give_up * mass
                np.minimum(minutes, give_up * mass, out=minutes)
            given_up = np.logical_or.accumulate(given_up, axis=0)
        spent = np.cumsum(np.where(given_up | (p <= 0), 0.0, cost), axis=0)
        last = spent[-1] + (give_up or 0.0)
        each = np.empty(share.shape)
        each[:, 0] = last
        np.put_along_axis(each[:, 1:].T, order, np.where(given_up, last, spent + self._finish[order]), axis=0)
        return each

    def _in_order(self, share: Mapping[int, float], context: Hashable) -> tuple[list[int], list[float]]:
        """Repairs in turn, and the minutes of each attempt."""
        prices = self.list_of("repair", context)
        order, paid = _falling(share, prices, share), list[float]()
        for k, best in enumerate(order, 1):
            paid.append(prices[best])
            if k < len(order):
                context, prices, moved = self._turn(best, context)
                if moved and not moved.isdisjoint(order[k:]):
                    order[k:] = _falling(share, prices, order[k:])
        return order, paid

    def in_turn_at_least(self, share: Array, names: Ints, whose: Ints, beliefs: int) -> Array:
        """(beliefs,) minutes that repairs in turn do not stay below, wherever the job stands. The shares of all
        beliefs stand end to end: `names` the repairs, `whose` the beliefs, both rising."""
        cured = names >= 0
        beyond = np.bincount(whose[~cured], share[~cured], beliefs).astype(float)
        share, names, whose = share[cured], names[cured], whose[cured]
        cost = self._least[names]
        order = np.lexsort((cost / share, whose))
        many = np.bincount(whose, minlength=beliefs)
        rank = np.arange(whose.size) - (many.cumsum() - many)[whose]
        table = np.zeros((3, int(many.max(initial=0)), beliefs))
        table[:, rank, whose] = share[order], cost[order], self._finish[names[order]]
        return climbed(table[0], table[1], table[2], beyond, self.problem.give_up_cost)

    def _climbed(self, share: Mapping[int, float], order: Sequence[int], paid: Sequence[float]) -> float:
        """Minutes of repairs in this order at these costs."""
        finish, give_up = self._finishes, self.problem.give_up_cost
        mass = share.get(-1, 0.0)
        minutes = mass * (give_up or 0.0)
        for r, cost in zip(reversed(order), reversed(paid), strict=True):
            p = share[r]
            mass += p
            minutes += cost * mass + p * finish[r]
            if give_up is not None and minutes > give_up * mass:
                minutes = give_up * mass
        return minutes

    def _turn(self, repair: int, context: Hashable) -> _Turn:
        """What an attempt at a repair changes for those after it."""
        found = self._turns.get((repair, id(context)))
        if found is None:
            there = self.after(self.problem.repairs[repair], context)
            before, now = self.list_of("repair", context), self.list_of("repair", there)
            other = frozenset(r for r, (x, y) in enumerate(zip(before, now, strict=True)) if x != y)
            found = self._turns[repair, id(context)] = context, (there, now, other)
        return found[1]


def _falling(share: Mapping[int, float], prices: Sequence[float], repairs: Iterable[int]) -> list[int]:
    """Repairs, the most promising per minute first; of equals the lower number."""
    return [r for _, r in sorted([(prices[r] / share[r], r) for r in repairs if r >= 0])]


def least_minutes(action: Check | Repair) -> float:
    """Minutes an action takes in no context less than."""
    if action.least is not None:
        return action.least
    return 0.0 if callable(action.cost) else minutes_in(action.cost, None)


def minutes_in(cost: Cost, context: Hashable) -> float:
    """A cost in a context."""
    return float(cost(context)) if callable(cost) else float(cost)
