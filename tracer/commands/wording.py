"""Suspects, proposals and proof checks in words and as data, for the commands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tracer.commands.output import wrapped
from tracer.harness.model import Harness
from tracer.harness.terminal_words import say_terminal
from tracer.inference.diagnosis import Suspect
from tracer.inference.expected_results import by_outcome
from tracer.inference.explanation import Reason
from tracer.job.job import Job
from tracer.observation.evidence import BY_HAND, Test
from tracer.observation.words.readings import test_as_data, test_key
from tracer.observation.words.states import state_words
from tracer.planning.next_step import Proposal
from tracer.planning.repair_proof import Proof
from tracer.safety.lines import above, afterwards, as_data, in_order, notes
from tracer.safety.order import Step
from tracer.safety.rules import Caution
from tracer.units import minutes, percent


def suspect_data(rank: int, suspect: Suspect, why: Reason | None) -> dict[str, Any]:
    out: dict[str, Any] = {
        "rank": rank,
        "repair": suspect.repair,
        "share": suspect.share,
        "fault": suspect.best.says(),
        "faults": [f.name for f in suspect.best.faults],
        "repair_minutes": suspect.best.repair_min,
        "looks_the_same_as": list(suspect.alike),
        "no_test_splits_it_from": list(suspect.inseparable),
        "split_by": [
            {"from": s.repair, "plus": s.test.plus, "minus": s.test.minus, "state": dict(s.test.state.positions),
             "volts": s.own_v, "volts_if_other": s.other_v}
            for s in suspect.splits
        ],
    }
    if why is not None:
        out["evidence"] = [
            {"seen": f.seen, "predicted": f.predicted, "fits": f.fits, "explains": f.explains} for f in why.fits
        ]
        out["path"], out["back_feed"], out["elsewhere"] = why.path, list(why.back_feed), list(why.elsewhere)
    return out


def alike_before(suspect: Suspect, ranked: list[tuple[int, Suspect]]) -> int | None:
    """The rank of a suspect further up that looks the same in every vehicle state."""
    for n, other in ranked:
        if other is suspect:
            return None
        if other.repair in suspect.alike:
            return n
    return None


def share_with(suspect: Suspect, suspects: Sequence[Suspect]) -> tuple[float, list[str]]:
    """Share of a suspect with those that no test splits from it, and their repairs."""
    others = [s for s in suspects if s.repair in suspect.inseparable]
    return suspect.share + sum(s.share for s in others), [s.repair for s in others]


def split_words(suspect: Suspect, first: str, harness: Harness) -> str:
    """The reading that tells a suspect from the one whose repair is `first`."""
    for s in suspect.splits:
        if s.repair == first:
            at, state = say_terminal(harness, s.test.plus), harness.say_state(s.test.state)
            return f"{at} against the body reads {abs(s.own_v):.1f} V, not {abs(s.other_v):.1f} V ({state})"
    return "only a measurement, or a look at them, splits them"


def reason_lines(why: Reason) -> list[str]:
    lines = []
    for fit in why.fits:
        sign = "explains" if fit.fits and fit.explains else "agrees" if fit.fits else "CONTRADICTS"
        text = f"{sign}: {fit.seen}" + ("" if fit.fits else f" — predicts {fit.predicted}")
        lines.append(wrapped(text, "           · ", "             "))
    if why.path:
        lines.append(wrapped("current: " + why.path, "           · ", "             "))
    if why.elsewhere:
        lines.append(wrapped("would also be seen: " + "; ".join(why.elsewhere), "           · ", "             "))
    return lines


def leading_line(job: Job) -> str:
    """The first three suspects; if none of them explains what was seen, that first."""
    leading = "; ".join(f"{s.repair} {percent(s.share)}" for s in job.suspects()[:3])
    if job.diagnosis.nothing_fits:
        unknown = percent(job.diagnosis.undescribed)
        leading = f"“not described by the harness file” {unknown}; least bad of what is: {leading}"
    return wrapped(leading, "now leading: ", "  ")


def proposal_data(job: Job, p: Proposal) -> dict[str, Any]:
    out: dict[str, Any] = {
        "kind": p.kind,
        "says": p.says,
        "cost_minutes": p.cost,
        "expected_minutes": p.minutes,
        "bound_minutes": p.bound,
        "method": p.method,
        "why": p.why,
        "cautions": as_data(p.cautions),
        "steps": [{"phase": s.phase, "text": s.text} for s in (*p.steps, *p.repair_steps)],
        "expectations": [{"repair": e.repair, "share": e.share, "shows": e.shows} for e in p.expectations],
        "options": [
            {
                "says": o.says,
                "expected_minutes": o.minutes,
                "cost_minutes": o.cost,
                "outcomes": [{"shows": w, "probability": q} for w, q in o.split],
            }
            for o in p.options
        ],
    }
    if p.also:
        out["also"] = list(p.also)
    if p.test is not None:
        out["test"] = {"key": test_key(p.test), "says": p.test.says(job.harness), **test_as_data(p.test)}
    if p.suspect is not None:
        out["repair"] = p.suspect.repair
        out["share"] = p.suspect.share
    return out


def proposal_lines(job: Job, p: Proposal, explain: bool, path: str) -> list[str]:
    """A proposal for people."""
    lines = caution_lines(p.cautions)
    if p.kind == "repair":
        lines.append(wrapped(p.says, "REPAIR: "))
        lines.append(wrapped(p.why, "  because: "))
        if p.test is not None:
            lines.append(wrapped(step_words(p), f"  first confirm {test_key(p.test)}: ", "    "))
        lines += order_lines(p.repair_steps)
    elif p.kind == "test" and p.test is not None:
        lines.append(wrapped(step_words(p), f"TEST {test_key(p.test)}: ", "  "))
        lines += _probe_lines(job, p.test)
    else:
        lines.append(wrapped(p.says, "NO FURTHER TEST: ", "  "))
    if p.expectations:
        lines.append("  would show:")
        lines += [
            wrapped(o.shows.ljust(24) + f" {percent(o.share):>5}  {'; '.join(o.repairs)}", "    ", " " * 36)
            for o in by_outcome(p.expectations)
        ]
    lines.append(
        f"  takes {minutes(p.cost)}; about {minutes(p.minutes)} to a proven repair "
        f"(no plan can expect less than {minutes(p.bound)})"
    )
    if p.kind == "test" and p.why:
        lines.append(wrapped(p.why, "  why: ", "       "))
    if explain:
        lines.append("  best candidates:")
        for o in p.options:
            split = ", ".join(f"{w} {percent(q)}" for w, q in o.split if q >= 0.02)
            text = f"{o.says} — {minutes(o.cost)} now, {minutes(o.minutes)} in all; {split}"
            lines.append(wrapped(text, "    · ", "      "))
    if afterwards(p.steps):
        lines.append(wrapped(afterwards(p.steps), "  afterwards: ", "    "))
    lines += [wrapped(n, "  note: ", "    ") for n in notes(p.cautions)]
    if p.test is not None:
        value = {"inspect": "found|nothing", "wiggle": '"changes|does not"'}.get(p.test.kind, "VALUE")
        lines.append(f"  then: tracer reading {path} {test_key(p.test)} {value}")
        if p.also:
            usual = ", ".join(f"{lamp} {look}" for lamp, look in job.usual_looks(p.test.state, p.also))
            lines.append("  and, if they look as they should:")
            lines.append(f'  tracer symptom {path} "{usual} when {state_words(p.test.state)}"')
    elif p.kind == "repair":
        lines.append(f"  then: tracer repaired {path} 1")
    return lines


def caution_lines(cautions: Sequence[Caution]) -> list[str]:
    """Dangers and cautions, to be read before the step."""
    return [wrapped(text, first, "  ") for first, text in above(cautions)]


def step_words(p: Proposal) -> str:
    """The test of a proposal in the order in which it is done."""
    also = f" From there also at: {', '.join(p.also)}." if p.also else ""
    return in_order(p.steps) + also


def order_lines(steps: Sequence[Step]) -> list[str]:
    """What comes before a repair, and after it."""
    first = " ".join(s.text for s in steps if s.phase == "safe")
    said = (("  before: ", first), ("  afterwards: ", afterwards(steps)))
    return [wrapped(text, lead, "    ") for lead, text in said if text]


def _probe_lines(job: Job, test: Test) -> list[str]:
    """Where to put the probes: terminal, place, wire colour and size."""
    lines = []
    for node in (test.plus, test.minus):
        if not node or node in job.harness.bodies():
            continue
        wires = [
            f"{s.colour or 'wire'} {s.section_mm2:g} mm²"
            for w in job.harness.wires
            for s in w.segments
            if node in (s.a, s.b)
        ]
        place, _ = job.harness.place_of(node)
        said = test.thing(job.harness).name if "/" in node and test.kind in BY_HAND else node
        lines.append(
            wrapped(f"{said} is at: {place}" + (f"; {', '.join(dict.fromkeys(wires))}" if wires else ""), "  ")
        )
    return lines


def memory_lines(job: Job) -> list[str]:
    """What is known of the vehicle from earlier jobs."""
    lines = [wrapped(d, "  differs from the harness file: ", "    ") for d in job.differences]
    for e in job.earlier_jobs:
        lines.append(wrapped(f"{e.complaint or 'no complaint noted'} — {e.status}", f"  {e.started[:10]} {e.file}: ",
                             "    "))
        lines += [wrapped(r, "    repaired: ", "      ") for r in e.repairs]
        lines += [wrapped(n, "    note: ", "      ") for n in e.notes]
        if e.opened:
            lines.append(wrapped("; ".join(e.opened), "    opened then: ", "      "))
    return lines


def proof_lines(job: Job, proof: Proof, path: str) -> list[str]:
    """The proof checks for people."""
    lines = ["Prove it; look in each of these states:"]
    for c in proof.checks:
        result = job.proof_results.get(c.number)
        mark = " " if result is None else "ok" if result.good else "BAD"
        looks = ", ".join(f"{lamp} {look}" for lamp, look in c.expected) or "every lamp dark"
        lines += [wrapped(text, f"    {first}", "         ") for first, text in above(c.cautions)]
        lines += [wrapped(s.text, "    ", "         ") for s in c.steps if s.phase == "safe"]
        lines.append(
            wrapped(f"{job.harness.say_state(c.state)} ({c.because}): {looks}", f" {c.number}. [{mark:>2}] ", " " * 9)
        )
    lines.append(
        wrapped(
            f"Chance of a further fault: {percent(proof.risk_before)} before these checks, "
            f"{percent(proof.risk_after)} if all come out right."
        )
    )
    lines.append(f'then: tracer repaired {path} --proof 1=ok --proof "2=left rear tail dim" …')
    return lines
