"""Plans worked out by trying everything, from the words of the engine's docstrings alone, in plain floats.

Beliefs are masses that need not sum to one; minutes are theirs times the mass.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable

from tracer.planning.engine import Check, Problem, Repair

Masses = tuple[float, ...]
Action = tuple[str, int]
_TELLS = 1e-10  # bits


def minutes_of(cost: float | Callable[[Hashable], float], where: Hashable) -> float:
    """A cost where the job stands."""
    return float(cost(where)) if callable(cost) else float(cost)


def bits(masses: list[float]) -> float:
    """Entropy of masses, times their sum."""
    whole = sum(masses)
    return -sum(m * math.log2(m / whole) for m in masses if m > 0)


class Enumerated:
    """The optimum and the rules of one problem."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.label = problem, [int(r) for r in problem.label]
        whole = float(sum(problem.prior))
        self.prior: Masses = tuple(float(p) / whole for p in problem.prior)
        self._known: dict[tuple[Hashable, ...], float] = {}

    # --- What actions lead to ---------------------------------------------------------------------------

    def shares(self, masses: Masses) -> dict[int, float]:
        """Mass of each repair alive, of what none cures: −1."""
        found: dict[int, float] = {}
        for h in sorted(range(len(masses)), key=lambda h: self.label[h]):
            if masses[h] > 0:
                found[self.label[h]] = found.get(self.label[h], 0.0) + masses[h]
        return found

    def after(self, action: Check | Repair, where: Hashable) -> Hashable:
        """Where the job stands afterwards."""
        return where if action.moves is None else action.moves(where)

    def parts(self, check: int, masses: Masses) -> list[Masses]:
        """The beliefs after each outcome."""
        rows = self.problem.checks[check].likelihood.tolist()
        found = [tuple(m * x for m, x in zip(masses, row, strict=True)) for row in rows]
        return [part for part in found if sum(part) > 0]

    def taken(
        self, action: Action, masses: Masses, used: frozenset[int], where: Hashable,
        ahead: Callable[[Masses, frozenset[int], Hashable], float],
    ) -> float:
        """Minutes of an action followed by `ahead`."""
        kind, i = action
        whole = sum(masses)
        if kind == "give up":
            return (self.problem.give_up_cost or 0.0) * whole
        if kind == "check":
            check = self.problem.checks[i]
            there = self.after(check, where)
            rest = sum(ahead(part, used | {i}, there) for part in self.parts(i, masses))
            return minutes_of(check.cost, where) * whole + rest
        repair = self.problem.repairs[i]
        right = self.shares(masses).get(i, 0.0)
        left = tuple(0.0 if self.label[h] == i else m for h, m in enumerate(masses))
        rest = ahead(left, used, self.after(repair, where)) if sum(left) > 0 else 0.0
        return minutes_of(repair.cost, where) * whole + repair.finish * right + rest

    # --- The optimum ------------------------------------------------------------------------------------

    def tells_apart(self, check: int, masses: Masses) -> bool:
        """Whether hypotheses alive differ in what they show."""
        table = self.problem.checks[check].likelihood
        return any(len({float(x) for x, m in zip(row, masses, strict=True) if m > 0}) > 1 for row in table)

    def actions(self, masses: Masses, used: frozenset[int]) -> list[Action]:
        """All that may be done."""
        alive = self.shares(masses)
        checks: list[Action] = [("check", t) for t in range(len(self.problem.checks))
                                if t not in used and len(alive) > 1 and self.tells_apart(t, masses)]
        repairs: list[Action] = [("repair", r) for r in alive if r >= 0]
        if not self.problem.trials and checks:
            repairs = []
        return checks + repairs + ([("give up", -1)] if self.problem.give_up_cost is not None else [])

    def best(self, masses: Masses, used: frozenset[int], where: Hashable) -> float:
        """Least minutes."""
        key = "best", masses, used, where
        if key not in self._known:
            self._known[key] = min(
                self.taken(a, masses, used, where, self.best) for a in self.actions(masses, used))
        return self._known[key]

    def first_actions(self, where: Hashable = None) -> dict[Action, float]:
        """Minutes of the best plan that begins with each action."""
        none = frozenset[int]()
        return {a: self.taken(a, self.prior, none, where, self.best) for a in self.actions(self.prior, none)}

    # --- The rules --------------------------------------------------------------------------------------

    def order(self, masses: Masses, where: Hashable) -> list[tuple[int, float]]:
        """Repairs in turn with the minutes of each attempt: the least minutes by chance first, at the prices of where
        the attempts before have led."""
        shares, found = self.shares(masses), list[tuple[int, float]]()
        left = [r for r in shares if r >= 0]
        while left:
            prices = {r: minutes_of(self.problem.repairs[r].cost, where) for r in left}
            chosen = min(left, key=lambda r: (prices[r] / shares[r], r))
            found.append((chosen, prices[chosen]))
            left.remove(chosen)
            where = self.after(self.problem.repairs[chosen], where)
        return found

    def in_turn(self, masses: Masses, used: frozenset[int] = frozenset(), where: Hashable = None) -> float:
        """Minutes of repairs in turn, given up where that takes less than going on."""
        shares, give_up = self.shares(masses), self.problem.give_up_cost
        mass = shares.get(-1, 0.0)
        minutes = mass * (give_up or 0.0)
        for r, price in reversed(self.order(masses, where)):
            mass += shares[r]
            minutes += price * mass + shares[r] * self.problem.repairs[r].finish
            minutes = minutes if give_up is None else min(minutes, give_up * mass)
        return minutes

    def told(self, check: int, masses: Masses, apart: bool = False) -> float:
        """Bits a check tells about the repair, or about the hypothesis (`apart`), times the mass."""
        def doubt(belief: Masses) -> float:
            return bits([m for m in belief if m > 0] if apart else list(self.shares(belief).values()))
        return doubt(masses) - sum(doubt(part) for part in self.parts(check, masses))

    def rates(self, masses: Masses, used: frozenset[int], where: Hashable) -> dict[Action, float]:
        """Bits a minute of every action that tells something. Of a repair the minutes count that are lost when it was
        not the one."""
        whole = sum(masses)
        left = [t for t in range(len(self.problem.checks)) if t not in used]
        told = {t: self.told(t, masses) / whole for t in left}
        if not self.problem.trials and all(b <= _TELLS for b in told.values()):
            told = {t: self.told(t, masses, apart=True) / whole for t in left}
        found: dict[Action, float] = {
            ("check", t): b / minutes_of(self.problem.checks[t].cost, where) for t, b in told.items() if b > _TELLS}
        if self.problem.trials:
            for r, p in self.shares(masses).items():
                if r >= 0 and whole - p > 1e-12:
                    lost = (1 - p / whole) * minutes_of(self.problem.repairs[r].cost, where)
                    found["repair", r] = bits([p / whole, 1 - p / whole]) / lost
        return found

    def greedy_action(self, masses: Masses, used: frozenset[int], where: Hashable) -> Action | None:
        """What tells most a minute; of equals a check, and the first."""
        rates = self.rates(masses, used, where)
        return max(rates, key=lambda a: rates[a] * (1 + 1e-9 * (a[0] == "check"))) if rates else None

    def rule(self, stop: bool) -> Callable[[Masses, frozenset[int], Hashable], float]:
        """Minutes of the greedy rule; `stop`: it turns to repairs in turn where these take less."""
        def minutes(masses: Masses, used: frozenset[int], where: Hashable) -> float:
            key = "rule", stop, masses, used, where
            if key not in self._known:
                self._known[key] = found(masses, used, where)
            return self._known[key]

        def found(masses: Masses, used: frozenset[int], where: Hashable) -> float:
            in_turn = self.in_turn(masses, used, where)
            action = self.greedy_action(masses, used, where) if len(self.shares(masses)) > 1 else None
            if action is None:
                return in_turn
            ahead = self.taken(action, masses, used, where, minutes)
            return min(ahead, in_turn) if stop and self.problem.trials else ahead
        return minutes

    def rolled(
        self, masses: Masses, used: frozenset[int], where: Hashable, stop: bool, again: bool = True,
    ) -> list[tuple[float, Action]]:
        """First actions, each followed by the rule, the four best once more by the best of such a rollout."""
        rates, rule = self.rates(masses, used, where), self.rule(stop)
        tried = [a for a in rates if a[0] == "check"]
        own = self.greedy_action(masses, used, where)
        if own is not None and own not in tried:
            tried.append(own)
        if self.problem.trials or own is None:
            tried += [a for r, _ in self.order(masses, where)[:3] if (a := ("repair", r)) not in tried]
        if self.problem.give_up_cost is not None:
            tried.append(("give up", -1))
        found = {a: self.taken(a, masses, used, where, rule) for a in tried}

        def second(part: Masses, made: frozenset[int], there: Hashable) -> float:
            if len(self.shares(part)) == 1:
                return self.in_turn(part, made, there)
            key = "second", stop, part, made, there
            if key not in self._known:
                self._known[key] = self.rolled(part, made, there, stop, again=False)[0][0]
            return self._known[key]

        if again:
            for a in sorted(tried, key=lambda a: found[a])[:4]:
                found[a] = min(found[a], self.taken(a, masses, used, where, second))
        kinds = ("check", "repair", "give up")
        whole = sum(masses)
        ranked = sorted(tried, key=lambda a: (round(found[a] / whole, 9), kinds.index(a[0]), a[1]))
        return [(found[a], a) for a in ranked]

    def follow(self, stop: bool) -> Callable[[Masses, frozenset[int], Hashable], float]:
        """Minutes when every step is chosen by rollout."""
        def minutes(masses: Masses, used: frozenset[int], where: Hashable) -> float:
            if len(self.shares(masses)) == 1:
                return self.in_turn(masses, used, where)
            key = "follow", stop, masses, used, where
            if key not in self._known:
                _, action = self.rolled(masses, used, where, stop)[0]
                self._known[key] = self.taken(action, masses, used, where, minutes)
            return self._known[key]
        return minutes
