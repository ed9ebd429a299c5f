"""The next step of a job: which test or repair, why, and what each leading suspect would show."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import cast

import numpy as np

from tracer.circuit.model import Change, Floats, Ints
from tracer.harness.model import Harness
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.expected_results import Expectation, expectations
from tracer.inference.explanation import say_evidence
from tracer.inference.likelihood import contradicted
from tracer.observation.consistency import comes_and_goes
from tracer.observation.evidence import Evidence, Reading, Test, by_hand
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import confirmation, measured, shared_points
from tracer.planning.constraints import Limits, allowed
from tracer.planning.costs import GIVE_UP_MIN, PROVE_MIN, Standing, after_test, in_vain_minutes
from tracer.planning.engine import Check, Problem, Repair, choose, information_gain
from tracer.planning.engine import Option as PlanOption
from tracer.planning.engine.core import xlogx
from tracer.planning.first_steps import moved_first, not_again, preferred
from tracer.planning.outcomes import Candidate
from tracer.planning.told import told_of_repair
from tracer.safety.advice import Caution, Now, Step, cautions_of, of_test, of_tracing, steps_of
from tracer.safety.feeds import Shorts
from tracer.safety.permitted import forbidden
from tracer.units import percent

_REPAIRS = 24
_ROWS_A_REPAIR = 4
_COVER = 0.99
_CHECKS = 30
_PARTING_CHECKS = 28
_LEAST_PARTED = 0.002  # minutes saved a minute, below which parting two suspects is not planned for
_SAID_APART = 0.01  # share by which what a repair cures besides has to be said
_LEAST_BITS = 0.02  # a test that tells less only promises what the error model grants everything


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
        sure: Share of the cases that a proposed repair cures, as planned with; 0 for a test.
        expectations: For the test, by suspect.
        options: The best three candidates.
        cautions: What must be said before it, gravest first.
        steps: The lines of the test in order, from making it safe to putting back; `repair_steps`: of the repair.
        also: For a look, further lamps that are seen from the same place and tell something too; what they show is
            told as something seen.
    """

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
    options: tuple[Option, ...] = field(default=())
    why: str = ""
    also: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    repair_steps: tuple[Step, ...] = ()


def propose(
    diagnosis: Diagnosis, standing: Standing, limits: Limits | None = None, skipped: Collection[Test] = (),
    tried: Mapping[str, int] | None = None, said: frozenset[str] = frozenset(),
) -> Proposal:
    """Choose the next step from where the job stands; tests that could not be done are not proposed again.

    Args:
        tried: Repairs that were made and did not help, each with how much of the evidence stood then.
        said: Names of the safety rules whose cautions were shown in this job.
    """
    limits = limits or Limits()
    harness = diagnosis.predictor.harness
    rows, shares = _living(diagnosis)
    maker = Candidates(diagnosis, rows)
    living = maker.living
    done = _tests(diagnosis.evidence) | set(skipped)
    made = {_bare(t) for t in done}
    every = [c for c in maker.all() if _bare(c.test) not in made]
    # Who could not part a splice for one of its wires can for none.
    whole = {t.parted for t in skipped} - {""}
    every = [c for c in every if allowed(c.test, harness, limits) and c.test.parted not in whole]
    shorts, now = Shorts(diagnosis), Now(standing.state, standing.battery_off, said)
    every = [c for c in every if not forbidden(c.test, harness, shorts)]
    suspects = {s.repair: s for s in diagnosis.suspects}
    repairs, labels = cures(diagnosis, rows, tried or {})
    label = np.append(labels, -1)
    prior = np.append(shares, max(diagnosis.undescribed, 1e-6))
    mends = [_repair(suspects[r], diagnosis) for r in repairs]
    best = _screen(every, prior, label, standing, diagnosis, np.array([m.least for m in mends]))
    weights = prior[:-1] / prior[:-1].sum()
    checks = [_check(c, diagnosis, weights) for c in best]
    choice = choose(Problem(prior, label, checks, mends, GIVE_UP_MIN), standing, time_limit_s=0.25)
    if choice.kind == "give up" and _still_stands(diagnosis):
        # Something undescribed is likelier, but nobody can look for that: follow what still fits.
        choice = choose(Problem(prior[:-1], label[:-1], _without_last(checks), mends), standing, time_limit_s=0.25)
    before = {r: _tests(diagnosis.evidence[n:]) | set(skipped) for r, n in (tried or {}).items()}
    again = _unmeasured([suspects[r] for r in repairs], before, harness)
    choice = preferred(choice, best, living, prior, label)
    if comes_and_goes(diagnosis.evidence):
        choice = moved_first(choice, best, lambda own: choose(
            Problem(prior, label, [checks[k] for k in own], mends, GIVE_UP_MIN), standing, time_limit_s=0.05))
    choice = not_again(choice, again)
    options = tuple(
        Option(
            _says(best[o.index], harness) if o.kind == "check" else
            f"repair: {repairs[o.index]}" if o.kind == "repair" else "trace it by hand",
            o.minutes,
            # The price of a wrong part is no time at the vehicle.
            o.cost + (mends[o.index].finish if o.kind == "repair" else 0.0),
            tuple(zip(_outcomes(o, best), o.outcomes, strict=False)),
        )
        for o in choice.options[:3]
    )
    common = {"minutes": choice.minutes, "bound": choice.lower_bound, "method": choice.method, "options": options}
    if choice.kind == "check":
        chosen = best[choice.index]
        test, also = chosen.test, chosen.also
        facts = of_test(test, harness, now, shorts)
        return Proposal(
            "test", _says(chosen, harness), test, None, chosen.minutes(standing, harness),
            expectations=expectations(diagnosis, test, also=also), cautions=cautions_of(facts), steps=steps_of(facts),
            why=_why(chosen, prior, label), also=also, **common,  # type: ignore[arg-type]
        )
    if choice.kind == "repair":
        suspect = suspects[repairs[choice.index]]
        # Several faults that this repair is the first of count as well.
        held = max(suspect.share, float(shares[labels == choice.index].sum()))
        own, since = suspect.best, before.get(suspect.repair, done)
        confirm = confirmation(
            diagnosis.predictor, own.faults, own.change, living.work_states(), standing, since, 1 - held,
            shorts,
        )
        if confirm is not None and (
            not allowed(confirm, harness, limits) or confirm.parted in whole or forbidden(confirm, harness, shorts)
        ):
            confirm = None
        if confirm is None and choice.index in again:
            return _give_up(diagnosis, harness, now, shorts, common)
        expected = expectations(diagnosis, confirm) if confirm else ()
        told = told_of_repair(suspect, confirm, standing, now, shorts, harness)
        return Proposal(
            "repair", suspect.repair, confirm, suspect, options[0].cost, sure=held, expectations=expected,
            why=_sure(suspect, held, diagnosis, [
                diagnosis.hypotheses[r].repair for r, k in zip(rows, labels, strict=True) if k == choice.index
            ]), **told, **common,  # type: ignore[arg-type]
        )
    return _give_up(diagnosis, harness, now, shorts, common)


def _give_up(
    diagnosis: Diagnosis, harness: Harness, now: Now, shorts: Shorts, common: Mapping[str, object]
) -> Proposal:
    return Proposal(
        "give up", _look_again(diagnosis) + "no fault that the harness file describes is worth more tests: check the "
        "harness file against the vehicle, then trace the circuit by hand", None, None, GIVE_UP_MIN,
        cautions=cautions_of(of_tracing(harness, now, shorts)), **common,  # type: ignore[arg-type]
    )


def _unmeasured(suspects: Sequence[Suspect], before: Mapping[str, set[Test]], harness: Harness) -> set[int]:
    """Those of the suspects whose repair was made in vain and which were not measured since. `before`: repair → tests
    since it was made."""
    blurred = shared_points([s.best.faults for s in suspects], harness) if before else []
    return {
        k for k, s in enumerate(suspects)
        if s.repair in before and not measured(s.best.faults, [
            t for t in before[s.repair] if not t.row.battery_off or {t.plus, t.minus} not in blurred], harness)
    }


def _sure(suspect: Suspect, held: float, diagnosis: Diagnosis, cured: Collection[str]) -> str:
    """How sure a repair is, and what else it cures where that is counted as well."""
    said = f"{percent(suspect.share)} sure"
    if held - suspect.share >= _SAID_APART:
        others = [s.repair for s in diagnosis.suspects if s.repair in cured and s.repair != suspect.repair]
        said += f", {percent(held)} with what is mended on the way ({'; '.join(others[:2])})"
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


def _still_stands(diagnosis: Diagnosis) -> bool:
    """Whether nothing that was seen or measured speaks against the likeliest suspect. To have looked along a wire or
    moved it in vain excludes nothing."""
    if not diagnosis.suspects:
        return False
    row = diagnosis.suspects[0].rows[0]
    against = contradicted(diagnosis.loglik[:, row], diagnosis.random)
    return not any(against[e] for e, i in enumerate(diagnosis.evidence) if not by_hand(i))


def _without_last(checks: list[Check]) -> list[Check]:
    """The checks for a problem without its last hypothesis."""
    return [replace(c, likelihood=np.asarray(c.likelihood)[:, :-1]) for c in checks]


def _look_again(diagnosis: Diagnosis) -> str:
    """What would have to be wrong for the least bad suspect: worth a second look before giving up."""
    if not diagnosis.evidence or not diagnosis.suspects:
        return ""
    row = diagnosis.suspects[0].rows[0]
    wrong = np.flatnonzero(contradicted(diagnosis.loglik[:, row], diagnosis.random))
    if not 0 < len(wrong) <= 2:
        return ""
    said = "; ".join(say_evidence(diagnosis.evidence[int(e)], diagnosis) for e in wrong)
    return f"look again at this, which alone speaks against “{diagnosis.suspects[0].repair}”: {said}. If it stands, "


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


def cures(
    diagnosis: Diagnosis, rows: Sequence[int], tried: Collection[str] = ()
) -> tuple[list[str], Ints]:
    """Repairs to plan with, and which of them cures each row. Where two faults of one thing are the same to the
    current (a wire, and its leg in the splice), no test tells them apart and whoever opens one has the other in his
    hands: the likelier suspect's repair stands for both. Two things that are the same to the current (two wires of a
    splice, one of them rubbed through) are two repairs; the eye tells them apart. Several faults at once begin with
    the repair of the one that is likelier to stand alone and was not `tried`: it is right whether there is another or
    not, and nothing is renewed beside it before the lamps were looked at again."""
    alone = {s.repair: n for n, s in enumerate(diagnosis.suspects)}
    owners: dict[Change, list[tuple[set[str], str]]] = {}
    own: dict[int, str] = {}
    # The likelier fault of those that are the same to the current, not the likelier suspect: a splice that is led by
    # its corrosion does not stand for a wire that is broken.
    for i in sorted(rows, key=lambda i: -diagnosis.share[i]):
        h = diagnosis.hypotheses[i]
        members = list(dict.fromkeys(f.repair for f in h.faults))
        first = min(members, key=lambda r: (r in tried, alone.get(r, len(alone))))
        elements = {e for f in h.faults for e in f.elements}
        known = owners.setdefault(h.change, [])
        repair = next((r for things, r in known if things & elements), None)
        if repair is None:
            repair = first if first in alone else h.repair
            known.append((elements, repair))
        own[i] = repair
    repairs = list(dict.fromkeys(own[i] for i in rows))
    return repairs, np.array([repairs.index(own[i]) for i in rows])


def _screen(
    every: list[Candidate], prior: Floats, label: Ints, standing: Standing, diagnosis: Diagnosis, price: Floats
) -> list[Candidate]:
    """The candidates to plan with: those with most bits about the repair per minute, the few with most bits
    at all, and those that part the suspects which the ones before leave together; the later steps of a
    plan need these."""
    harness = diagnosis.predictor.harness
    if not len(every):
        return []
    start = np.cumsum([0, *(len(c.outcomes) for c in every)])[:-1]
    shown = _shown(every, prior[:-1], label[:-1])
    share = np.bincount(label[:-1], weights=prior[:-1]) / prior[:-1].sum()
    bits = _bits(shown, share, start)
    minutes = np.array([c.minutes(standing, harness) for c in every])
    first = [
        *np.argsort(-bits / (minutes + 0.3), kind="stable")[: _CHECKS - 12], *np.argsort(-bits, kind="stable")[:12]
    ]
    chosen = dict.fromkeys(int(i) for i in first if bits[i] > _LEAST_BITS)
    # Minutes lost by taking one suspect for another, by pairs, as far as the chosen tests leave them alike.
    alike = _alike(shown, start)
    one, two = np.triu_indices(len(share), 1)
    lost = np.minimum(price[one], price[two]) * np.minimum(share[one], share[two])
    lost = lost * alike[:, list(chosen)].min(axis=1, initial=1.0)
    parted = 1 - alike
    for _ in range(_PARTING_CHECKS):
        gain = lost @ parted / (minutes + 0.5)
        gain[list(chosen)] = 0.0
        # Of those that are as good but for the last digits, added up in one and the same order, the first.
        near = np.flatnonzero(gain >= gain.max() * (1 - 1e-9))
        best = int(near[((parted[:, near].T * lost).sum(axis=1) / (minutes[near] + 0.5)).argmax()])
        if gain[best] < _LEAST_PARTED:
            break
        chosen[best] = None
        lost = lost * alike[:, best]
    # Looks at several lamps that tell the same are one test; the first (complained of, cheapest) stands
    # for them.
    kept: dict[tuple[str, bytes], Candidate] = {}
    for i in chosen:
        c = every[i]
        kept.setdefault((c.test.kind, np.round(c.likelihood * 8).tobytes()), c)
    return list(kept.values())


def _shown(every: list[Candidate], prior: Floats, label: Ints) -> Floats:
    """(outcomes of all candidates, R) probabilities of what each repair's hypotheses show together."""
    table = np.vstack([c.likelihood for c in every])
    of = (label[:, None] == np.arange(label.max() + 1)) * prior[:, None]
    return np.asarray(table @ (of / of.sum(axis=0)))


def _alike(shown: Floats, start: Ints) -> Floats:
    """(pairs of repairs, candidates) share of the cases in which both of a pair show the same."""
    rows = np.ascontiguousarray(shown.T)
    pairs = [np.add.reduceat(np.minimum(own, rows[k:]), start, axis=1) for k, own in enumerate(rows, 1)]
    return np.concatenate(pairs)


def _bits(shown: Floats, share: Floats, start: Ints) -> Floats:
    """Bits that each candidate tells about the repair, rounded, so that of equal looks the first (at a lamp
    complained of) stays first."""
    joint = shown * share
    told = np.add.reduceat(xlogx(joint).sum(axis=1) - xlogx(joint.sum(axis=1)), start)
    return np.asarray(np.round(told - xlogx(share).sum(), 3))


def _outcomes(o: PlanOption, best: list[Candidate]) -> tuple[str, ...]:
    return best[o.index].outcomes if o.kind == "check" else ("cured", "not cured")


def _check(c: Candidate, diagnosis: Diagnosis, weights: Floats) -> Check:
    harness = diagnosis.predictor.harness
    # Nobody knows what an undescribed fault would show: half the time what the suspects show on average,
    # else anything. So a test that a suspect passes speaks for the suspect.
    other = 0.5 * (c.likelihood @ weights) + 0.5 / len(c.outcomes)
    table = np.column_stack([c.likelihood, other])
    table = table / table.sum(axis=0)

    def cost(where: Hashable) -> float:
        return c.minutes(cast(Standing, where), harness)

    def moves(where: Hashable) -> Hashable:
        return after_test(c.test, cast(Standing, where), harness)

    return Check(table, cost, moves, least=0.2)


def _repair(suspect: Suspect, diagnosis: Diagnosis) -> Repair:
    harness = diagnosis.predictor.harness
    places = dict(harness.place_of(f.node) for f in suspect.best.faults)
    # Charged with every attempt and given back when it was the right one: the price of a wrong part.
    in_vain = in_vain_minutes(suspect.best.faults)
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
