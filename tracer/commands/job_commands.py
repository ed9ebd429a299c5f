"""Commands on a job: open, symptom, suspects, next, reading, undo, differs, repaired."""

from __future__ import annotations

from typing import Any

import click

from tracer.candidates import Limits
from tracer.commands.output import json_option, percent, show, wrapped
from tracer.evidence import Test
from tracer.job import Job, Recorded
from tracer.next_test import Proposal
from tracer.proof import Proof
from tracer.reasons import Reason
from tracer.suspects import Suspect
from tracer.typed.readings import test_as_data, test_key
from tracer.units import minutes


def _job(path: str) -> Job:
    from pathlib import Path

    job = Job(Path(path))
    if job.harness_changed:
        click.echo(f"note: {job.record.header.harness} has changed since this job was opened", err=True)
    return job


@click.command("open")
@click.argument("job")
@click.option("--harness", required=True, help="The harness file of the vehicle.")
@click.option("--vehicle", default="", help="Which vehicle, as the customer's papers say.")
@click.option("--complaint", default="", help="The complaint in the customer's words.")
@json_option
def open_command(job: str, harness: str, vehicle: str, complaint: str, as_json: bool) -> None:
    """Start the job file JOB; refuses to overwrite.

    Example: tracer open job.yaml --harness harness_models/pickup.yaml --complaint "no reversing lamp"
    """
    made = Job.create(job, harness, vehicle, complaint)
    show(
        as_json,
        lambda: {"job": job, "harness": made.harness.title, "status": made.status()},
        lambda: (
            f"opened {job}: {made.harness.title}\n"
            f'next: tracer symptom {job} "LAMP LOOK when CONTROL POSITION"  (or: tracer guide {job})'
        ),
    )


def _recorded(result: Recorded, as_json: bool, job: Job) -> None:
    def text() -> str:
        lines = [wrapped(result.understood, f"recorded as {result.number}: ", "  ")]
        if result.remark:
            lines.append(wrapped(result.remark, "note: ", "  "))
        leading = [f"{s.repair} {percent(s.share)}" for s in job.suspects()[:3]]
        lines.append(wrapped("; ".join(leading), "now leading: ", "  "))
        return "\n".join(lines)

    show(
        as_json,
        lambda: {
            "number": result.number,
            "understood": result.understood,
            "remark": result.remark,
            "leading": [{"repair": s.repair, "share": s.share} for s in job.suspects()[:3]],
        },
        text,
    )


@click.command("symptom")
@click.argument("job")
@click.argument("text")
@json_option
def symptom_command(job: str, text: str, as_json: bool) -> None:
    """Record what was seen.

    \b
    Examples:
      tracer symptom job.yaml "rear left reversing lamp dark when ignition on, gear reverse"
      tracer symptom job.yaml "left rear tail dim, everything else normal when lights side and brake pressed"
    """
    opened = _job(job)
    _recorded(opened.symptom(text), as_json, opened)


@click.command("reading")
@click.argument("job")
@click.argument("test")
@click.argument("value")
@json_option
def reading_command(job: str, test: str, value: str, as_json: bool) -> None:
    """Record what a test showed: TEST is the short name of a proposed test, or the test in words.

    \b
    Examples:
      tracer reading job.yaml V-3f2a "11.9 V"
      tracer reading job.yaml "volt drop left rear.earth to body when gear reverse" "3.4 V"
      tracer reading job.yaml L-7bfa flashing
    """
    opened = _job(job)
    _recorded(opened.reading(test, value), as_json, opened)


@click.command("undo")
@click.argument("job")
@json_option
def undo_command(job: str, as_json: bool) -> None:
    """Take the last entry back; the record keeps it as withdrawn.

    Example: tracer undo job.yaml
    """
    opened = _job(job)
    taken = opened.undo()
    show(
        as_json,
        lambda: {"withdrawn": taken.number, "kind": taken.kind},
        lambda: f"withdrawn: entry {taken.number} ({taken.kind})",
    )


@click.command("differs")
@click.argument("job")
@click.argument("overlay")
@json_option
def differs_command(job: str, overlay: str, as_json: bool) -> None:
    """Record in JOB what differs on this vehicle from the harness file; OVERLAY has the same sections.

    Example: tracer differs job.yaml led_lamps.yaml
    """
    opened = _job(job)
    opened.overlay(overlay)
    show(as_json, lambda: {"recorded": overlay}, lambda: f"recorded what differs: {overlay}")


def suspect_data(rank: int, suspect: Suspect, why: Reason | None) -> dict[str, Any]:
    out: dict[str, Any] = {
        "rank": rank,
        "repair": suspect.repair,
        "share": suspect.share,
        "fault": suspect.best.says(),
        "faults": [f.name for f in suspect.best.faults],
        "repair_minutes": suspect.best.repair_min,
        "looks_the_same_as": list(suspect.alike),
    }
    if why is not None:
        out["evidence"] = [
            {"seen": f.seen, "predicted": f.predicted, "fits": f.fits, "explains": f.explains} for f in why.fits
        ]
        out["path"], out["back_feed"], out["elsewhere"] = why.path, list(why.back_feed), list(why.elsewhere)
    return out


@click.command("suspects")
@click.argument("job")
@click.option("--all", "whole", is_flag=True, help="Every suspect above one in a thousand.")
@click.option("--why", type=int, metavar="N", help="Reasons for suspect N only.")
@json_option
def suspects_command(job: str, whole: bool, why: int | None, as_json: bool) -> int:
    """The ranked causes of what was seen in JOB, each with its reason.

    Example: tracer suspects job.yaml
    """
    opened = _job(job)
    found = opened.diagnosis
    least = 0.001 if whole else 0.01
    ranked = [(n, s) for n, s in enumerate(found.suspects, 1) if s.share >= least or n <= 3]
    ranked = ranked if whole else ranked[:8]
    if why is not None:
        ranked = [(n, s) for n, s in enumerate(found.suspects, 1) if n == why]
        if not ranked:
            raise click.UsageError(f"no suspect {why}: there are {len(found.suspects)}")
    reasoned = 8 if as_json or why is not None else 3
    reasons = {n: opened.reason(s) for k, (n, s) in enumerate(ranked) if k < reasoned} if found.evidence else {}
    clashes = found.contradictions()

    def data() -> dict[str, Any]:
        return {
            "evidence_count": len(found.evidence),
            "undescribed_share": found.undescribed,
            "nothing_fits": found.nothing_fits,
            "contradictions": [list(c) for c in clashes],
            "not_searched": "faults beyond pairs; pairs in which neither fault explains anything seen",
            "suspects": [suspect_data(n, s, reasons.get(n)) for n, s in ranked],
        }

    def text() -> str:
        lines: list[str] = []
        if not found.evidence:
            lines.append("nothing recorded yet: these are the base rates")
        if clashes:
            lines.append("note: what was recorded contradicts itself (entries are kept; undo the wrong one)")
        if found.nothing_fits:
            lines.append(
                wrapped(
                    f"Nothing that the harness file describes explains this ({percent(found.undescribed)} for “not "
                    "described”). Least bad below, with what would have to be wrong for each."
                )
            )
        for n, s in ranked:
            lines.append(wrapped(s.repair, f"{n:>2}. {percent(s.share):>5}  "))
            if s.best.says():
                lines.append(wrapped(s.best.says(), "           "))
            first = _alike_before(s, ranked)
            if first is not None:
                words = f"looks the same as no. {first} in every vehicle state: only a measurement splits them"
                lines.append(wrapped(words, "           · ", "             "))
            elif n in reasons:
                lines += _reason_lines(reasons[n])
        lines.append(f"    {percent(found.undescribed):>5}  something the harness file does not describe")
        return "\n".join(lines)

    show(as_json, data, text)
    return 1 if found.nothing_fits and found.evidence else 0


def _alike_before(suspect: Suspect, ranked: list[tuple[int, Suspect]]) -> int | None:
    """The rank of a suspect further up that looks the same in every vehicle state."""
    for n, other in ranked:
        if other is suspect:
            return None
        if other.repair in suspect.alike:
            return n
    return None


def _reason_lines(why: Reason) -> list[str]:
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


def proposal_data(job: Job, p: Proposal) -> dict[str, Any]:
    out: dict[str, Any] = {
        "kind": p.kind,
        "says": p.says,
        "cost_minutes": p.cost,
        "expected_minutes": p.minutes,
        "bound_minutes": p.bound,
        "method": p.method,
        "why": p.why,
        "cautions": list(p.cautions),
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
    if p.test is not None:
        out["test"] = {"key": test_key(p.test), "says": p.test.says(job.harness), **test_as_data(p.test)}
    if p.suspect is not None:
        out["repair"] = p.suspect.repair
        out["share"] = p.suspect.share
    return out


@click.command("next")
@click.argument("job")
@click.option("--at", metavar="PLACE", help="Only what can be measured at this place.")
@click.option(
    "--with", "only", multiple=True, metavar="INSTRUMENT", help="Only with these (voltmeter, ohmmeter, test lamp)."
)
@click.option("--without", multiple=True, metavar="INSTRUMENT", help="Without this instrument; repeatable.")
@click.option("--alone", is_flag=True, help="Nobody to hold the pedal.")
@click.option("--engine-off", is_flag=True, help="Do not ask for the engine.")
@click.option("--explain", is_flag=True, help="The three best candidates with minutes and expected split.")
@json_option
def next_command(
    job: str,
    at: str | None,
    only: tuple[str, ...],
    without: tuple[str, ...],
    alone: bool,
    engine_off: bool,
    explain: bool,
    as_json: bool,
) -> None:
    """The next test or repair, what each leading suspect would show, and why.

    Example: tracer next job.yaml --alone --without "test lamp"
    """
    opened = _job(job)
    known = ("eyes", "voltmeter", "ohmmeter", "test lamp")
    for name in (*only, *without):
        if name not in known:
            raise click.UsageError(f"no instrument “{name}”: {', '.join(known)}")
    if at is not None:
        places = sorted({opened.harness.place_of(n)[0] for n in opened.investigator.predictor.circuit.nodes})
        if not any(at.casefold() in p.casefold() for p in places):
            from tracer.errors import UnknownNameError, did_you_mean

            raise UnknownNameError(f"no place “{at}”", did_you_mean(at, places))
    p = opened.next(Limits(at, frozenset(without), frozenset(only), alone, engine_off))

    def text() -> str:
        return "\n".join(proposal_lines(opened, p, explain, job))

    show(as_json, lambda: proposal_data(opened, p), text)


def proposal_lines(job: Job, p: Proposal, explain: bool, path: str) -> list[str]:
    """A proposal for people."""
    lines: list[str] = []
    if p.kind == "repair":
        lines.append(wrapped(p.says, "REPAIR: "))
        lines.append(wrapped(p.why, "  because: "))
        if p.test is not None:
            lines.append(wrapped(p.test.says(job.harness), f"  first confirm {test_key(p.test)}: ", "    "))
    elif p.kind == "test" and p.test is not None:
        lines.append(wrapped(p.says, f"TEST {test_key(p.test)}: ", "  "))
        lines += _probe_lines(job, p.test)
    else:
        lines.append(wrapped(p.says, "NO FURTHER TEST: ", "  "))
    if p.expectations:
        lines.append("  would show:")
        lines += [
            wrapped(e.shows.ljust(24) + f" {percent(e.share):>5}  {e.repair}", "    ", " " * 36)
            for e in p.expectations
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
            split = ", ".join(f"{w} {q:.0%}" for w, q in o.split if q >= 0.02)
            text = f"{o.says} — {minutes(o.cost)} now, {minutes(o.minutes)} in all; {split}"
            lines.append(wrapped(text, "    · ", "      "))
    lines += [wrapped(c, "  caution: ", "           ") for c in p.cautions]
    if p.test is not None:
        lines.append(f"  then: tracer reading {path} {test_key(p.test)} VALUE")
    elif p.kind == "repair":
        lines.append(f"  then: tracer repaired {path} 1")
    return lines


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
        lines.append(
            wrapped(f"{node} is at: {place}" + (f"; {', '.join(dict.fromkeys(wires))}" if wires else ""), "  ")
        )
    return lines


def proof_lines(job: Job, proof: Proof, path: str) -> list[str]:
    """The proof checks for people."""
    lines = ["Prove it; look in each of these states:"]
    for c in proof.checks:
        result = job.proof_results.get(c.number)
        mark = " " if result is None else "ok" if result.good else "BAD"
        looks = ", ".join(f"{lamp} {look}" for lamp, look in c.expected) or "every lamp dark"
        lines.append(
            wrapped(f"{job.harness.say_state(c.state)} ({c.because}): {looks}", f" {c.number}. [{mark:>2}] ", " " * 9)
        )
    lines.append(
        wrapped(
            f"Chance of a further fault: {proof.risk_before:.1%} before these checks, "
            f"{proof.risk_after:.1%} if all come out right."
        )
    )
    lines.append(f'then: tracer repaired {path} --proof 1=ok --proof "2=left rear tail dim" …')
    return lines


@click.command("repaired")
@click.argument("job")
@click.argument("what", required=False)
@click.option("--part", "parts", multiple=True, help="A part that was fitted; repeatable.")
@click.option("--minutes", "took", type=float, help="Minutes the repair took.")
@click.option(
    "--proof", "results", multiple=True, metavar="N=ok|N=WHAT WAS SEEN", help="Result of proof check N; repeatable."
)
@json_option
def repaired_command(
    job: str, what: str | None, parts: tuple[str, ...], took: float | None, results: tuple[str, ...], as_json: bool
) -> int:
    """Record the repair (a suspect's rank or words), list the proof checks, take their results.

    \b
    Examples:
      tracer repaired job.yaml 1 --part "ring terminal" --minutes 12
      tracer repaired job.yaml --proof 1=ok --proof 2=ok
    """
    opened = _job(job)
    if what is None and not results and opened.proof is None:
        raise click.UsageError("say what was repaired: a rank in the list of suspects, or words")
    if what is not None:
        opened.repaired(what, parts, took)
    for result in results:
        number, sign, found = result.partition("=")
        if not sign or not number.strip().isdigit() or not found.strip():
            raise click.UsageError(f"--proof “{result}”: write N=ok or N=WHAT WAS SEEN")
        opened.prove(int(number), found)
    proof = opened.proof
    assert proof is not None

    def data() -> dict[str, Any]:
        return {
            "repair": opened.repairs[-1].data["repair"],
            "status": opened.status(),
            "closed": opened.closed,
            "risk_before": proof.risk_before,
            "risk_after": proof.risk_after,
            "checks": [
                {
                    "number": c.number,
                    "state": dict(c.state.positions),
                    "because": c.because,
                    "expected": [{"lamp": lamp, "look": look} for lamp, look in c.expected],
                    "result": opened.proof_results[c.number].found if c.number in opened.proof_results else None,
                }
                for c in proof.checks
            ],
        }

    def text() -> str:
        head = [f"repair: {opened.repairs[-1].data['repair']}"]
        tail = [f"status: {opened.status()}"]
        return "\n".join(head + ([] if opened.closed else proof_lines(opened, proof, job)) + tail)

    show(as_json, data, text)
    return 0 if all(r.good for r in opened.proof_results.values()) else 1
