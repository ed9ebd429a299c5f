"""The next step of a job: which test or repair, why, and what each leading suspect would show."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain
from typing import Any, ClassVar, cast

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import Floats, Ints
from tracer.harness.model import Harness
from tracer.harness.partly_compared import PartlyCompared
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.expected_results import Expectation, expectations
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.consistency import comes_and_goes
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import (
    CHEAP_MIN,
    LEAST_DOUBT,
    MUCH_DOUBT,
    around_holder,
    confirmation,
    in_sight,
    measured,
    unmeasured,
    was_found,
)
from tracer.planning.constraints import Limits, allowed
from tracer.planning.costs import ALSO_MIN, GIVE_UP_MIN, PROVE_MIN, Standing, TestPrice, in_vain_minutes
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.engine import Check, Choice, Problem, Repair, choose, information_gain
from tracer.planning.engine import Option as PlanOption
from tracer.planning.estimate import Planned
from tracer.planning.first_steps import moved_first, not_again, preferred, rather_tested
from tracer.planning.live_hypotheses import Living
from tracer.planning.look_again import complaints_to_look_at, complaints_unseen, said_against, still_stands
from tracer.planning.on_the_point import on_words_alone, voltages_there
from tracer.planning.outcomes import Candidate
from tracer.planning.screening import screened
from tracer.planning.told import told_of_repair
from tracer.safety.advice import Caution, Now, Step, cautions_of, of_test, of_tracing, steps_of
from tracer.safety.feeds import Shorts
from tracer.safety.permitted import forbidden
from tracer.units import percent

_SAID_APART = 0.01  # share by which what a repair cures besides has to be said
# What the choice of a step may take, nominally. A tenth of it finds steps as good (on 56 jobs worse by less than a
# thousandth of the minutes to go), but says too few minutes: what is not looked at is guessed kindly.
_PLAN_S = 0.25


class Option(Struct, frozen=True):
    """One of the best candidates, in words."""

    says: str
    minutes: float
    cost: float
    split: tuple[tuple[str, float], ...]


class Proposal(PartlyCompared, frozen=True):
    """What to do next.

    Attributes:
        kind: "test", "repair", or "give up" (nothing the harness file describes is worth more tests).
        test: The test, or, for a repair, the direct confirmation before taking anything apart.
        suspect: The suspect to be repaired.
        cost: Minutes of this step; `minutes`: expected to a proven repair; `bound`: no plan can expect less.
        sure: Share of the cases that a proposed repair cures, as planned with; 0 for a test.
        expectations: For the test, by suspect.
        options: The best three candidates; `planned`: what they were chosen with, for an estimate.
        cautions: What must be said before it, gravest first; `test_cautions`: of those the ones of the test that
            confirms a repair, for a face that shows the repair afterwards.
        steps: The lines of the test in order, from making it safe to putting back; `repair_steps`: of the repair.
        also: For a look, further lamps that are seen from the same place and tell something too; what they show is
            told as something seen.
    """

    UNCOMPARED: ClassVar = ("planned",)

    kind: str
    says: str
    test: Test | None
    suspect: Suspect | None
    cost: float
    minutes: float
    bound: float
    method: str
    sure: float = 0.0
    expectations: tuple[Expectation, ...] = ()
    cautions: tuple[Caution, ...] = ()
    test_cautions: tuple[Caution, ...] = ()
    options: tuple[Option, ...] = ()
    why: str = ""
    also: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    repair_steps: tuple[Step, ...] = ()
    planned: Planned | None = None

    @property
    def cautions_of_test(self) -> tuple[Caution, ...]:
        """What must be said before the test alone."""
        return self.test_cautions if self.kind == "repair" and self.test is not None else self.cautions


def propose(
    diagnosis: Diagnosis, standing: Standing, limits: Limits | None = None, skipped: Collection[Test] = (),
    tried: Mapping[str, int] | None = None, said: frozenset[str] = frozenset(),
) -> Proposal:
    """Choose the next step from where the job stands; tests that could not be done are not proposed again.

    Args:
        tried: Repairs that were made and did not help, each with how much of the evidence stood then.
        said: Names of the safety rules whose cautions were shown in this job.
    """
    where = _Where(diagnosis, standing, limits or Limits(), frozenset(skipped), tried or {},
                   Now(standing.state, standing.battery_off, said), Shorts(diagnosis))
    rows, shares = rows_to_plan_with(diagnosis)
    maker = Candidates(diagnosis, rows, where.limits.alone)
    made = {_bare(t) for t in where.done}
    every = [c for c in maker.all() if _bare(c.test) not in made and where.may_be_made(c.test)]
    plan = _planned(where, every, rows, shares, maker.living)
    if plan.choice.kind == "check":
        return _test(where, plan)
    if plan.choice.kind == "repair":
        return _repair_first(where, plan, maker.living)
    return _give_up(where, plan, maker.living)


class _Where(Struct, frozen=True, dict=True):
    """Where the job stands when a step is chosen."""

    diagnosis: Diagnosis
    standing: Standing
    limits: Limits
    skipped: frozenset[Test]
    tried: Mapping[str, int]
    now: Now
    shorts: Shorts

    @property
    def harness(self) -> Harness:
        return self.diagnosis.predictor.harness

    @property
    def done(self) -> set[Test]:
        """Tests made, or found not to be possible."""
        return _tests(self.diagnosis.evidence) | self.skipped

    @cached_property
    def whole(self) -> set[str]:
        """Splices that stay whole: who could not part one for one of its wires can for none."""
        return {t.parted for t in self.skipped} - {""}

    @cached_property
    def since(self) -> Mapping[str, set[Test]]:
        """Repair made in vain → tests made since."""
        return {r: _tests(self.diagnosis.evidence[n:]) | self.skipped for r, n in self.tried.items()}

    def may_be_made(self, test: Test) -> bool:
        return allowed(test, self.harness, self.limits) and test.parted not in self.whole and not forbidden(
            test, self.harness, self.shorts)


class _Plan(Struct, frozen=True):
    """What was planned with, and what came of it.

    Attributes:
        checks, repairs: Those that were planned with, in the order of the `problem`.
        rows, shares: Hypotheses; `labels`: which repair cures each.
        again: Repairs that were made in vain and not measured since.
    """

    checks: list[Candidate]
    repairs: list[str]
    problem: Problem
    rows: Sequence[int]
    shares: Floats
    labels: Ints
    prior: Floats
    choice: Choice
    again: set[int]

    @property
    def label(self) -> Ints:
        """With the undescribed cause, which no repair cures, as the last."""
        return np.append(self.labels, -1)

    @property
    def weights(self) -> Floats:
        """Shares of the hypotheses, without the undescribed cause, together one."""
        return np.asarray(self.prior[:-1] / self.prior[:-1].sum())

    def begun_with(self, check: Check, candidate: Candidate, where: _Where) -> _Plan:
        """The same after one more test, that is made first."""
        cost, own = candidate.minutes(where.standing, where.harness), len(self.problem.checks)
        chances = tuple((candidate.likelihood @ self.weights).tolist())
        first = PlanOption("check", own, self.choice.minutes + cost, cost, chances)
        choice = replace(self.choice, kind="check", index=own, minutes=first.minutes,
                         options=(first, *self.choice.options))
        if len(check.likelihood[0]) != len(self.problem.prior):  # planned without the undescribed cause
            check = _without_last([check])[0]
        problem = replace(self.problem, checks=[*self.problem.checks, check])
        return replace(self, checks=[*self.checks, candidate], problem=problem, choice=choice)

    def options(self, harness: Harness) -> tuple[Option, ...]:
        """The best three in words."""
        return tuple(
            Option(
                _says(self.checks[o.index], harness) if o.kind == "check" else
                f"repair: {self.repairs[o.index]}" if o.kind == "repair" else "trace it by hand",
                o.minutes,
                # The price of a wrong part is no time at the vehicle.
                o.cost + (self.problem.repairs[o.index].finish if o.kind == "repair" else 0.0),
                tuple(zip(_outcomes(o, self.checks), o.outcomes, strict=False)),
            )
            for o in self.choice.options[:3]
        )

    def common(self, harness: Harness) -> dict[str, Any]:
        """What every proposal tells of the plan behind it."""
        c = self.choice
        return {"minutes": c.minutes, "bound": c.lower_bound, "method": c.method, "options": self.options(harness),
                "planned": Planned(self.problem, tuple(self.repairs), c.kind, c.index)}


def _planned(
    where: _Where, every: list[Candidate], rows: Sequence[int], shares: Floats, living: Living
) -> _Plan:
    """Plan with the best of the tests that may be made and the repairs of the hypotheses that matter."""
    diagnosis, standing = where.diagnosis, where.standing
    suspects = {s.repair: s for s in diagnosis.suspects}
    repairs, labels = cures(diagnosis, rows, where.tried)
    label = np.append(labels, -1)
    prior = np.append(shares, max(diagnosis.undescribed, 1e-6))
    mends = [_repair(suspects[r], diagnosis) for r in repairs]
    best = screened(every, prior, label, standing, diagnosis, np.array([m.least for m in mends]))
    checks = [_check(c, diagnosis, prior[:-1] / prior[:-1].sum()) for c in best]
    problem = Problem(prior, label, checks, mends, GIVE_UP_MIN)
    choice = choose(problem, standing, _PLAN_S)
    if choice.kind == "give up" and still_stands(diagnosis):
        # Something undescribed is likelier, but nobody can look for that: follow what still fits.
        problem = Problem(prior[:-1], label[:-1], _without_last(checks), mends)
        choice = choose(problem, standing, _PLAN_S)
    again = unmeasured([suspects[r] for r in repairs], where.since, where.harness)
    choice = preferred(choice, best, living, prior, label)
    if comes_and_goes(diagnosis.evidence):
        choice = moved_first(choice, best, lambda own: choose(
            Problem(prior, label, [checks[k] for k in own], mends, GIVE_UP_MIN), standing, _PLAN_S / 5))
    choice = not_again(rather_tested(choice, best, prior, label), again)
    return _Plan(best, repairs, problem, rows, shares, labels, prior, choice, again)


def _test(where: _Where, plan: _Plan) -> Proposal:
    chosen, harness = plan.checks[plan.choice.index], where.harness
    test, also = chosen.test, chosen.also
    facts = of_test(test, harness, where.now, where.shorts)
    return Proposal(
        "test", _says(chosen, harness), test, None, chosen.minutes(where.standing, harness),
        expectations=expectations(where.diagnosis, test, also=also), cautions=cautions_of(facts),
        steps=steps_of(facts), why=_why(chosen, plan.prior, plan.label), also=also, **plan.common(harness),
    )


def _repair_first(where: _Where, plan: _Plan, living: Living) -> Proposal:
    """A repair, with the direct confirmation before anything is taken apart, if there is one that may be made."""
    diagnosis, index = where.diagnosis, plan.choice.index
    suspect = next(s for s in diagnosis.suspects if s.repair == plan.repairs[index])
    # Several faults that this repair is the first of count as well.
    held = max(suspect.share, float(plan.shares[plan.labels == index].sum()))
    own, since = suspect.best, where.since.get(suspect.repair, where.done)
    confirm = confirmation(
        diagnosis.predictor, own.defects, own.change, living.work_states(), where.standing, since, 1 - held,
        where.shorts, where.may_be_made,
    )
    if confirm is None and index in plan.again:
        return _give_up(where, plan, living)
    untold = confirm is None and on_words_alone(diagnosis, own, suspect.rows[0])
    if untold:
        confirm = next(voltages_there(diagnosis, own, living.work_states(), where.standing, where.done,
                                      where.may_be_made), None)
    if confirm is None or around_holder(confirm, own.defects, where.harness):
        looks = chain(_seen_first(where, own, 1 - held, living),
                      in_sight(own.defects, where.harness, where.done, where.standing) if untold else ())
        confirm = next((t for t in looks if where.may_be_made(t)), confirm)
    cured = [diagnosis.hypotheses[r].repair for r, k in zip(plan.rows, plan.labels, strict=True) if k == index]
    common = plan.common(where.harness)
    return Proposal(
        "repair", suspect.repair, confirm, suspect, common["options"][0].cost, sure=held,
        expectations=expectations(diagnosis, confirm) if confirm else (), why=_sure(suspect, held, diagnosis, cured),
        **told_of_repair(suspect, confirm, where.standing, where.now, where.shorts, where.harness), **common,
    )


def _seen_first(where: _Where, own: Hypothesis, doubt: float, living: Living) -> Iterator[Test]:
    """What is looked at before a repair that may be in vain, and that no meter tells more of: the lamp complained of,
    and the thing itself, with whatever has to come off for the repair anyhow."""
    if own.repair_min <= CHEAP_MIN or doubt < LEAST_DOUBT or was_found(own.defects, where.diagnosis):
        return
    if not measured(own.defects, where.done, where.harness):
        yield from complaints_unseen(where.diagnosis, own, living, where.done)
    if doubt >= MUCH_DOUBT:
        yield from in_sight(own.defects, where.harness, where.done, where.standing)


def _give_up(where: _Where, plan: _Plan, living: Living) -> Proposal:
    for c in complaints_to_look_at(where.diagnosis, living, where.done):
        if where.may_be_made(c.test):
            return _test(where, plan.begun_with(_check(c, where.diagnosis, plan.weights), c, where))
    return Proposal(
        "give up", said_against(where.diagnosis) + "no fault that the harness file describes is worth more tests: "
        "check the harness file against the vehicle, then trace the circuit by hand", None, None, GIVE_UP_MIN,
        cautions=cautions_of(of_tracing(where.harness, where.now, where.shorts)), **plan.common(where.harness),
    )


def _sure(suspect: Suspect, held: float, diagnosis: Diagnosis, cured: Collection[str]) -> str:
    """How sure a repair is, and what else it cures where that is counted as well."""
    said = f"{percent(suspect.share)} sure"
    if held - suspect.share >= _SAID_APART:
        others = [s.repair for s in diagnosis.suspects if s.repair in cured and s.repair != suspect.repair]
        said += f", {percent(held)} with what is mended on the way ({'; '.join(others[:2])})"
    if suspect.best.deviations:  # else nobody understands why that point and not the one in the file
        said += f"; then {' and '.join(f.says for f in suspect.best.deviations)}"
    return f"{said}; trying it is cheaper than any further test"


def _says(c: Candidate, harness: Harness) -> str:
    said = c.test.says(harness) + (f"; from there also at: {', '.join(c.also)}" if c.also else "")
    return f"check once more: {said}" if c.again else said


def _tests(evidence: Sequence[Evidence]) -> set[Test]:
    return {i.test for i in evidence if isinstance(i, Reading)}


def _bare(test: Test) -> Test:
    """A test without what does not matter to it: whatever the vehicle is set to, a lamp or fuse in the hand is the
    same."""
    return replace(test, state=replace(test.state, positions=(), engine_running=False)) if test.in_hand else test


def _without_last(checks: list[Check]) -> list[Check]:
    """The checks for a problem without its last hypothesis."""
    return [replace(c, likelihood=np.asarray(c.likelihood)[:, :-1]) for c in checks]


def _outcomes(o: PlanOption, best: list[Candidate]) -> tuple[str, ...]:
    return best[o.index].outcomes if o.kind == "check" else ("cured", "not cured")


def _check(c: Candidate, diagnosis: Diagnosis, weights: Floats) -> Check:
    # Nobody knows what an undescribed fault would show: half the time what the suspects show on average,
    # else anything. So a test that a suspect passes speaks for the suspect.
    other = 0.5 * (c.likelihood @ weights) + 0.5 / len(c.outcomes)
    table = np.column_stack([c.likelihood, other])
    table = table / table.sum(axis=0)

    price, also = TestPrice(c.test, diagnosis.predictor.harness), ALSO_MIN * len(c.also)

    def cost(where: Hashable) -> float:
        return price.minutes(cast(Standing, where)) + also

    return Check(table, cost, lambda where: price.after(cast(Standing, where)), least=0.2)


def _repair(suspect: Suspect, diagnosis: Diagnosis) -> Repair:
    harness = diagnosis.predictor.harness
    places = dict(harness.place_of(f.node) for f in suspect.best.defects)
    # Charged with every attempt and given back when it was the right one: the price of a wrong part.
    in_vain = in_vain_minutes(suspect.best.defects)
    own = suspect.best.repair_min + PROVE_MIN + in_vain

    def cost(where: Hashable) -> float:
        standing = cast(Standing, where)
        return own + sum(minutes for place, minutes in places.items() if place not in standing.opened)

    def moves(where: Hashable) -> Hashable:
        standing = cast(Standing, where)
        if standing.opened.issuperset(places):
            return standing
        return replace(standing, opened=standing.opened.union(places))

    return Repair(cost, moves, least=own, finish=-in_vain)


def _why(c: Candidate, prior: Floats, label: Ints) -> str:
    gain = information_gain(prior[:-1], label[:-1], c.likelihood)
    split = c.likelihood @ (prior[:-1] / prior[:-1].sum())
    shown = ", ".join(f"{w} {percent(p)}" for w, p in zip(c.outcomes, split, strict=True) if p > 0.02)
    return f"expected: {shown}; worth {gain:.2f} bits about the repair"
