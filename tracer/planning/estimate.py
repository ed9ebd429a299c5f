"""What a job will take: minutes with a range, parts with their chances, the dearest plausible case.

The plan behind a proposal is followed to all its ends: from its first step on by the greedy rule, and by repairs in
turn where those are cheaper. Each end has a probability and the minutes at the vehicle until then, with the direct
confirmation before each repair. A real job is planned anew after every reading, so that it takes other ways than the
plan foresees: how far off the plan's minutes are was measured (`bench_estimate.py`) and stands in two figures below.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from typing import Final, NamedTuple, cast

import numpy as np
from msgspec import Struct

from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.observation.evidence import Test
from tracer.planning.confirmation import confirmation
from tracer.planning.costs import GIVE_UP_MIN, Standing, minutes_of
from tracer.planning.engine.core import Kind, Problem
from tracer.planning.engine.nodes import Node, Step
from tracer.planning.engine.search import Planner
from tracer.safety.feeds import Shorts

_FLOOR: Final = 0.003  # of what is less likely the minutes are guessed
_FORGET: Final = 1e-3
_WORK: Final = 3e7  # table cells
_CONFIRMED: Final = 10  # likeliest repairs for which the direct confirmation is worked out
_PLAUSIBLE: Final = 0.05
_LEAST_PART: Final = 0.02
_TAIL: Final = 0.1
# Simulated jobs take these times what the plan's end foresees, in the middle, and vary so (of the logarithm) about.
# (Fitted to 100 jobs on a rear end; of 100 others, on a trailer: below 13 %, within 81 %, beyond 6 %.)
AS_PLANNED: Final = 0.85
SPREAD: Final = 0.35


class Planned(NamedTuple):
    """What a proposal was planned with: the problem, its repairs by number, the first action, and the suspects'
    hypotheses behind the repairs."""

    problem: Problem
    repairs: tuple[str, ...]
    kind: Kind
    index: int  # type: ignore[assignment]  # hides tuple.index, which nothing here calls


class End(NamedTuple):
    """One way that a job may end: probability, minutes at the vehicle, and the repair that was right (−1: none)."""

    mass: float
    minutes: float
    repair: int


class Case(Struct, frozen=True):
    """How it is if one repair turns out to be what is needed."""

    repair: str
    share: float
    minutes: float
    needs: str


class Estimate(Struct, frozen=True):
    """What a job will take from where it stands.

    Attributes:
        minutes: Expected, to a proven repair; `low`, `high`: in one of ten jobs like this it is less, in one more.
        parts: What the repair will need (parts, material, tools), with how likely it is needed.
        dearest: The plausible case that takes longest.
        given_up: How likely it ends by tracing the circuit by hand.
    """

    minutes: float
    low: float
    high: float
    parts: tuple[tuple[str, float], ...]
    dearest: Case | None
    given_up: float


def estimate(planned: Planned, diagnosis: Diagnosis, standing: Standing) -> Estimate:
    """The estimate of a job whose next step was planned so."""
    ends = list(plan_ends(planned, diagnosis, standing))
    low, middle, high = minutes_within(ends)
    suspects = {s.repair: s for s in diagnosis.suspects}
    mass: dict[int, float] = {}
    spent: dict[int, float] = {}
    for e in ends:
        mass[e.repair] = mass.get(e.repair, 0.0) + e.mass
        spent[e.repair] = spent.get(e.repair, 0.0) + e.mass * e.minutes
    parts: dict[str, float] = {}
    cases = []
    for r, share in mass.items():
        if r >= 0:
            needs = _needs(suspects[planned.repairs[r]])
            parts[needs] = parts.get(needs, 0.0) + share
            cases.append(Case(planned.repairs[r], share, AS_PLANNED * spent[r] / share, needs))
    plausible = [c for c in cases if c.share >= _PLAUSIBLE] or sorted(cases, key=lambda c: -c.share)[:1]
    return Estimate(
        middle, low, high,
        tuple(sorted(((n, p) for n, p in parts.items() if p >= _LEAST_PART), key=lambda x: (-x[1], x[0]))),
        max(plausible, key=lambda c: (c.minutes, c.repair), default=None), mass.get(-1, 0.0),
    )


def minutes_within(
    ends: Sequence[End], factor: float = AS_PLANNED, spread: float = SPREAD
) -> tuple[float, float, float]:
    """The minutes that one job of ten stays below, the mean, and those that one of ten goes beyond: each end counts
    as a lognormal distribution about its minutes."""
    mass = np.array([e.mass for e in ends])
    mass = mass / mass.sum()
    middle = np.log(np.maximum([factor * e.minutes for e in ends], 0.1))

    def below(x: float) -> float:
        z = (math.log(x) - middle) / (spread * math.sqrt(2.0))
        return float(mass @ np.array([0.5 * (1 + math.erf(v)) for v in z]))

    def quantile(share: float) -> float:
        lowest, highest = float(np.exp(middle.min() - 4 * spread)), float(np.exp(middle.max() + 4 * spread))
        for _ in range(60):
            half = math.sqrt(lowest * highest)
            lowest, highest = (half, highest) if below(half) < share else (lowest, half)
        return highest

    mean = float(mass @ np.exp(middle)) * math.exp(spread**2 / 2)
    return quantile(_TAIL), mean, quantile(1 - _TAIL)


def plan_ends(planned: Planned, diagnosis: Diagnosis, standing: Standing) -> Iterator[End]:
    """All ends of the plan with their probabilities, which sum to one."""
    walk = _Walk(planned, diagnosis, standing)
    yield from walk.ends()


class _Walk:
    """Follows a plan to its ends."""

    def __init__(self, planned: Planned, diagnosis: Diagnosis, standing: Standing) -> None:
        self.planned, self.diagnosis, self.standing = planned, diagnosis, standing
        self.harness = diagnosis.predictor.harness
        self.plan = Planner(planned.problem, standing)
        self.plan.forget, self.plan.work = _FORGET, _WORK
        self.confirming = self._confirming()

    def _confirming(self) -> dict[int, Test]:
        """The measurement that confirms each of the likeliest repairs directly, where there is one."""
        shorts, found = Shorts(self.diagnosis), dict[int, Test]()
        suspects = {s.repair: s for s in self.diagnosis.suspects}
        share = self.plan.root.share
        for r in sorted((r for r in share if r >= 0), key=lambda r: -share[r])[:_CONFIRMED]:
            own = suspects[self.planned.repairs[r]].best
            test = confirmation(
                self.diagnosis.predictor, own.defects, own.change, [self.standing.state], self.standing, set(),
                1 - share[r], shorts,
            )
            if test is not None:
                found[r] = test
        return found

    def ends(self) -> Iterator[End]:
        plan, root = self.plan, self.plan.root
        if root.single:
            yield from self._in_turn(root, 1.0, 0.0)
            return
        first = plan.step(root, self.planned.kind, self.planned.index)
        plan.foresee([(q, child) for q, child in first.branches], _FLOOR)
        yield from self._taken(first, root, 1.0, 0.0)

    def _from(self, node: Node, mass: float, spent: float) -> Iterator[End]:
        if node.single or mass < _FLOOR:
            yield from self._in_turn(node, mass, spent)
            return
        step = self.plan.greedy_step(node)
        if step is None or self.plan.ladder(node) <= self.plan.ahead(step, _FLOOR, mass):
            yield from self._in_turn(node, mass, spent)
        else:
            yield from self._taken(step, node, mass, spent)

    def _taken(self, step: Step, node: Node, mass: float, spent: float) -> Iterator[End]:
        """Ends of an action taken in a node."""
        if step.kind == "give up":
            yield End(mass, spent + GIVE_UP_MIN, -1)
            return
        left = mass
        if step.kind == "repair":
            spent += self._repair_minutes(step.index, node.context)
            right = mass * node.share.get(step.index, 0.0)
            left -= right
            yield End(right, spent, step.index)
        else:
            spent += step.cost
        known = sum(q for q, _ in step.branches)
        for q, child in step.branches:  # what was left out as too unlikely goes with the others
            yield from self._from(child, left * q / known, spent)

    def _in_turn(self, node: Node, mass: float, spent: float) -> Iterator[End]:
        """Ends of repairs in turn. What one of them has opened is open for the next."""
        context = node.context
        for r in self.plan.first(node):
            spent += self._repair_minutes(r, context)
            yield End(mass * node.share[r], spent, r)
            context = self.plan.prices.after(self.planned.problem.repairs[r], context)
        if (unknown := node.share.get(-1, 0.0)) > 0:
            yield End(mass * unknown, spent + GIVE_UP_MIN, -1)

    def _repair_minutes(self, r: int, context: Hashable) -> float:
        """Minutes at the vehicle of an attempt at a repair, with the confirmation before it; the price of a wrong
        part is none of them."""
        repair, test = self.planned.problem.repairs[r], self.confirming.get(r)
        own = self.plan.prices.list_of("repair", context)[r] + repair.finish
        if test is None:
            return own
        return own + minutes_of(test, cast(Standing, context), self.harness)


def _needs(suspect: Suspect) -> str:
    return "; ".join(dict.fromkeys(f.needs for f in suspect.best.defects if f.needs)) or "nothing"
