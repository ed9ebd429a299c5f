"""The next step of a job: which test or repair, why, and what each leading suspect would show."""

from __future__ import annotations

from collections.abc import Collection, Hashable
from dataclasses import dataclass, field, replace
from typing import cast

import numpy as np

from tracer.candidates import Candidate, Candidates, Limits, allowed
from tracer.cautions import cautions_for, repair_cautions
from tracer.circuit import Floats, Ints
from tracer.costs import GIVE_UP_MIN, PROVE_MIN, Standing, access_minutes, after_test, minutes_of, opened
from tracer.evidence import Reading, Test
from tracer.likelihood import contradicted
from tracer.planning import Check, Choice, Problem, Repair, choose, information_gain
from tracer.planning import Option as PlanOption
from tracer.reasons import say_evidence, say_lamp, say_value
from tracer.suspects import Diagnosis, Suspect
from tracer.units import percent

_REPAIRS = 24
_ROWS_A_REPAIR = 4
_COVER = 0.99
_CHECKS = 30
_LEAST_BITS = 0.02  # a test that tells less only promises what the error model grants everything


@dataclass(frozen=True)
class Expectation:
    """What one suspect would show."""

    repair: str
    share: float
    shows: str


@dataclass(frozen=True)
class Option:
    """One of the best candidates, in words."""

    says: str
    minutes: float
    cost: float
    split: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Proposal:
    """What to do next.

    Attributes:
        kind: "test", "repair", or "give up" (nothing the harness file describes is worth more tests).
        test: The test, or, for a repair, the direct confirmation before taking anything apart.
        suspect: The suspect to be repaired.
        cost: Minutes of this step; `minutes`: expected to a proven repair; `bound`: no plan can
            expect less.
        expectations: For the test, by suspect.
        options: The best three candidates.
    """

    kind: str
    says: str
    test: Test | None
    suspect: Suspect | None
    cost: float
    minutes: float
    bound: float
    method: str
    expectations: tuple[Expectation, ...] = ()
    cautions: tuple[str, ...] = ()
    options: tuple[Option, ...] = field(default=())
    why: str = ""


def propose(
    diagnosis: Diagnosis, standing: Standing, limits: Limits | None = None, skipped: Collection[Test] = ()
) -> Proposal:
    """Choose the next step from where the job stands; tests that could not be done are not proposed again."""
    limits = limits or Limits()
    harness = diagnosis.predictor.harness
    rows, shares = _living(diagnosis)
    maker = Candidates(diagnosis, rows)
    done = {i.test for i in diagnosis.evidence if isinstance(i, Reading)} | set(skipped)
    every = [c for c in maker.all() if c.test not in done]
    every = [c for c in every if allowed(c.test, harness, limits)]
    suspects = {s.repair: s for s in diagnosis.suspects}
    repairs = list(dict.fromkeys(diagnosis.hypotheses[i].repair for i in rows))
    label = np.array([repairs.index(diagnosis.hypotheses[i].repair) for i in rows] + [-1])
    prior = np.append(shares, max(diagnosis.undescribed, 1e-6))
    best = _screen(every, prior, label, standing, diagnosis)
    weights = prior[:-1] / prior[:-1].sum()
    checks = [_check(c, diagnosis, weights) for c in best]
    problem = Problem(prior, label, checks, [_repair(suspects[r], diagnosis) for r in repairs], GIVE_UP_MIN)
    choice = _preferred(choose(problem, standing, time_limit_s=0.25), best, maker)
    options = tuple(
        Option(
            best[o.index].test.says(harness) if o.kind == "check" else
            f"repair: {repairs[o.index]}" if o.kind == "repair" else "trace it by hand",
            o.minutes, o.cost,
            tuple(zip(_outcomes(o, best), o.outcomes, strict=False)),
        )
        for o in choice.options[:3]
    )
    common = {"minutes": choice.minutes, "bound": choice.lower_bound, "method": choice.method, "options": options}
    if choice.kind == "check":
        test = best[choice.index].test
        cost = minutes_of(test, standing, harness)
        return Proposal(
            "test", test.says(harness), test, None, cost, expectations=expectations(diagnosis, test),
            cautions=cautions_for(test, harness), why=_why(best[choice.index], prior, label), **common,  # type: ignore[arg-type]
        )
    if choice.kind == "repair":
        suspect = suspects[repairs[choice.index]]
        confirm = confirmation(diagnosis, suspect, done)
        if confirm is not None and not allowed(confirm, harness, limits):
            confirm = None
        expected = expectations(diagnosis, confirm) if confirm else ()
        cautions = (*(cautions_for(confirm, harness)[:-1] if confirm else ()), *repair_cautions())
        cost = choice.options[0].cost
        return Proposal(
            "repair", suspect.repair, confirm, suspect, cost, expectations=expected, cautions=cautions,
            why=f"{percent(suspect.share)} sure; trying it is cheaper than any further test", **common,  # type: ignore[arg-type]
        )
    return Proposal(
        "give up", _look_again(diagnosis) + "no fault that the harness file describes is worth more tests: check the "
        "harness file against the vehicle, then trace the circuit by hand", None, None, GIVE_UP_MIN, **common,  # type: ignore[arg-type]
    )


def _look_again(diagnosis: Diagnosis) -> str:
    """What would have to be wrong for the least bad suspect: worth a second look before giving up."""
    if not diagnosis.evidence or not diagnosis.suspects:
        return ""
    row = diagnosis.suspects[0].rows[0]
    wrong = np.flatnonzero(contradicted(diagnosis.loglik[:, row], diagnosis.beyond))
    if not 0 < len(wrong) <= 2:
        return ""
    said = "; ".join(say_evidence(diagnosis.evidence[int(e)], diagnosis) for e in wrong)
    return f"look again at this, which alone speaks against “{diagnosis.suspects[0].repair}”: {said}. If it stands, "


def expectations(diagnosis: Diagnosis, test: Test, count: int = 5) -> tuple[Expectation, ...]:
    """What each leading suspect predicts for a test, likeliest suspect first."""
    predictor, out = diagnosis.predictor, []
    leading = [s for s in diagnosis.suspects if s.share >= 0.005][:count] or list(diagnosis.suspects[:count])
    changes = [s.best.change for s in leading]
    if test.kind == "look":
        done = test.change(predictor.circuit)
        setup = predictor.setup(test.state, done)
        for s, change in zip(leading, changes, strict=True):
            panel = predictor.panel(setup, predictor.table([change], done))
            out.append(Expectation(s.repair, s.share, say_lamp(panel, predictor, test.lamp)))
    else:
        values = predictor.observed(test, changes)
        for s, value in zip(leading, values, strict=True):
            out.append(Expectation(s.repair, s.share, say_value(test.kind, float(value))))
    return tuple(out)


def confirmation(diagnosis: Diagnosis, suspect: Suspect, done: set[Test]) -> Test | None:
    """A direct measurement across the suspect, made before anything is dismantled; None where the repair
    is itself the quickest test (fitting a lamp or a fuse) or the suspect was measured already."""
    fault = suspect.best.faults[0]
    if fault.across is None or suspect.best.repair_min <= 3.0 or any("/" in n for n in fault.across):
        return None
    a, b = fault.across
    if any({t.plus, t.minus} == {a, b} for t in done):
        return None
    states = Candidates(diagnosis, [suspect.rows[0]]).work_states()
    values = [
        (abs(float(diagnosis.predictor.observed(Test("drop", s, a, b), [suspect.best.change])[0])), k, s)
        for k, s in enumerate(states)
    ]
    drop, _, state = max(values, key=lambda v: (round(v[0], 1), -v[1]))
    if np.isfinite(drop) and drop > 0.3:
        return Test("drop", state, a, b)
    return Test("ohms", states[0], a, b)


def _living(diagnosis: Diagnosis) -> tuple[list[int], Floats]:
    """Rows to plan with and their shares: the likeliest severities of each repair that matters, which
    between them carry the repair's whole share."""
    rows: list[int] = []
    shares: list[float] = []
    described, covered = float(diagnosis.share.sum()), 0.0
    for suspect in diagnosis.suspects[:_REPAIRS]:
        kept = list(suspect.rows[:_ROWS_A_REPAIR])
        own = diagnosis.share[kept]
        rows += kept
        shares += list(own * (suspect.share / own.sum()))
        covered += suspect.share
        if covered > _COVER * described:
            break
    return rows, np.array(shares)


def _screen(
    every: list[Candidate], prior: Floats, label: Ints, standing: Standing, diagnosis: Diagnosis
) -> list[Candidate]:
    """The candidates with most bits about the repair per minute, and the few with most bits at all."""
    harness = diagnosis.predictor.harness
    # Rounded, so that of equal looks the first (at a lamp complained of) stays first.
    gains = np.array([round(information_gain(prior[:-1], label[:-1], c.likelihood), 3) for c in every])
    if not len(every):
        return []
    minutes = np.array([minutes_of(c.test, standing, harness) for c in every])
    chosen = list(np.argsort(-gains / (minutes + 0.3), kind="stable")[: _CHECKS - 12])
    chosen += [i for i in np.argsort(-gains, kind="stable")[:12] if i not in chosen]
    # Looks at several lamps that tell the same are one test; the first (complained of, cheapest) stands
    # for them.
    kept: dict[tuple[str, bytes], Candidate] = {}
    for i in chosen:
        if gains[i] > _LEAST_BITS:
            c = every[int(i)]
            kept.setdefault((c.test.kind, np.round(c.likelihood * 8).tobytes()), c)
    return list(kept.values())


def _outcomes(o: PlanOption, best: list[Candidate]) -> tuple[str, ...]:
    return best[o.index].outcomes if o.kind == "check" else ("cured", "not cured")


def _preferred(choice: Choice, best: list[Candidate], maker: Candidates) -> Choice:
    """Of first steps that are as good as each other, the plainest: a look before a measurement, at a lamp
    that was complained of, in a state that lights few lamps."""
    if choice.kind != "check":
        return choice
    named, predictor = maker.affected_lamps(), maker.predictor

    def plainness(o: PlanOption) -> tuple[bool, int, int, float]:
        test = best[o.index].test
        lit = int((predictor.healthy(test.state).flux > -1).sum())
        rank = named.index(test.lamp) if test.lamp in named else len(named)
        return (test.kind != "look" or bool(test.done), rank, lit, o.minutes)

    near = [o for o in choice.options if o.kind == "check" and o.minutes <= choice.minutes * 1.012]
    near.sort(key=plainness)
    rest = [o for o in choice.options if o not in near]
    return replace(choice, index=near[0].index, minutes=near[0].minutes, options=(near[0], *near[1:], *rest))


def _check(c: Candidate, diagnosis: Diagnosis, weights: Floats) -> Check:
    harness = diagnosis.predictor.harness
    # What the file does not describe is taken to show what the described suspects show on average: no
    # test is chosen for telling it apart, since nobody knows how it would.
    mean = c.likelihood @ weights
    table = np.column_stack([c.likelihood, mean])
    table = table / table.sum(axis=0)

    def cost(where: Hashable) -> float:
        return minutes_of(c.test, cast(Standing, where), harness)

    def moves(where: Hashable) -> Hashable:
        return after_test(c.test, cast(Standing, where), harness)

    return Check(table, cost, moves, least=0.2)


def _repair(suspect: Suspect, diagnosis: Diagnosis) -> Repair:
    harness = diagnosis.predictor.harness
    nodes = list(dict.fromkeys(f.node for f in suspect.best.faults))

    def cost(where: Hashable) -> float:
        standing = cast(Standing, where)
        return suspect.best.repair_min + PROVE_MIN + sum(access_minutes(n, standing, harness) for n in nodes)

    def moves(where: Hashable) -> Hashable:
        standing = cast(Standing, where)
        for node in nodes:
            standing = opened(standing, node, harness)
        return standing

    return Repair(cost, moves, least=suspect.best.repair_min + PROVE_MIN)


def _why(c: Candidate, prior: Floats, label: Ints) -> str:
    gain = information_gain(prior[:-1], label[:-1], c.likelihood)
    split = c.likelihood @ (prior[:-1] / prior[:-1].sum())
    shown = ", ".join(f"{w} {percent(p)}" for w, p in zip(c.outcomes, split, strict=True) if p > 0.02)
    return f"expected: {shown}; worth {gain:.2f} bits about the repair"
