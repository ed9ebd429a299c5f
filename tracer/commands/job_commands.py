"""Commands on a job: open, symptom, suspects, next, reading, undo, differs, repaired."""

from __future__ import annotations

import sys
from typing import Any

import click

from tracer.commands.entering import chosen, show_recorded
from tracer.commands.output import finite, json_option, show, wrapped
from tracer.errors import TracerError
from tracer.job.job import Job
from tracer.job.values import INSTRUMENTS, TRAFFIC, WORK, Limits, Proof, Story
from tracer.present.job_data import cautions_data, proposal_data, suspect_data
from tracer.present.memory_words import memory_data
from tracer.present.screen import say, width
from tracer.present.step_screen import memory_lines, proof_lines, proposal_lines
from tracer.present.suspects_screen import SHOWN, explained_lines, leading_line, ranked, suspects_lines
from tracer.present.text_lines import clip, sentence
from tracer.units import whole_number


def _job(path: str) -> Job:
    from pathlib import Path

    job = Job(Path(path))
    if job.harness_changed:
        say(f"note: {job.record.header.harness} has changed since this job was opened", err=True)
    if job.learned.note:
        say(f"note: {job.learned.note}", err=True)
    if job.other_names:
        say(f"note: {path} has another name too (a hard link); what is recorded here does not show there", err=True)
    return job


@click.command("open")
@click.argument("job", type=click.Path())
@click.argument("file", metavar="[HARNESS]", required=False)
@click.option("--harness", help="The harness file of the vehicle, if it is not put after JOB.")
@click.option("--same-vehicle-as", "earlier", metavar="JOB", help="An earlier job on this vehicle: in what it "
              "differs from the harness file comes along, and what was repaired, opened and noted.")
@click.option("--vehicle", default="", help="Which vehicle, as the customer's papers say.")
@click.option("--complaint", default="", help="The complaint in the customer's words.")
@click.option("--runs/--does-not-run", default=None, help="It cranks and runs as usual, or not.")
@click.option("--driven-here/--brought-here", default=None, help="It came under its own power, or not.")
@click.option("--work", multiple=True, type=click.Choice(WORK), help="What was done or fitted last; may be repeated.")
@click.option("--where", default="", help="Where that was done: a part, a connector or a place.")
@click.option("--since", default="", help="Since when it is so, in any words.")
@click.option("--always/--sometimes", default=None, help="Whether it shows always.")
@click.option("--traffic", type=click.Choice(TRAFFIC), help="The side of the road it is driven on, which says what "
              "is near side and off side; else as the harness file says, or keeps left.")
@json_option
def open_command(
    job: str, file: str | None, harness: str | None, earlier: str | None, vehicle: str, complaint: str,
    runs: bool | None, driven_here: bool | None, work: tuple[str, ...], where: str, since: str, always: bool | None,
    traffic: str | None, as_json: bool,
) -> None:
    """Start the job file JOB of the vehicle in the file HARNESS; refuses to overwrite.

    \b
    Examples:
      tracer open job.yaml harness_models/pickup.yaml
      tracer open job.yaml --harness harness_models/pickup.yaml --complaint "no reversing lamp"
      tracer open may.yaml --same-vehicle-as march.yaml --complaint "no brake lamps"
      tracer open job.yaml --harness harness_models/pickup.yaml --runs --work "lamp changed" --where "left rear"
    """
    from tracer.job.harnesses import check, folded

    if file and harness:
        raise click.UsageError(f"two harness files, “{file}” and “{harness}”: say one")
    harness = file or harness
    if harness is None and earlier is None:
        raise click.UsageError("say which vehicle: --harness FILE, or --same-vehicle-as JOB")
    story = Story(runs, driven_here, work, where, since, always)
    made = Job.create(job, harness, vehicle, complaint, same_vehicle_as=earlier, story=story,
                      traffic=traffic or "")
    for words in folded(f for f in check(made.harness) if f.severity == "error"):
        say(f"note: {words}", err=True)
    show(
        as_json,
        lambda: {"job": job, "harness": made.harness.title, "status": made.status(),
                 "differences": list(made.differences), "earlier_jobs": [e.as_data() for e in made.earlier_jobs]},
        lambda: (
            f"opened {job}: {made.harness.title}\n"
            + "".join(f"{line}\n" for line in memory_lines(made, width())) +
            f"next: tracer symptom {job} {sentence(complaint.strip() or 'LAMP LOOK when CONTROL POSITION')}"
            f"  (or: tracer guide {job})"
        ),
    )


@click.command("symptom")
@click.argument("job", type=click.Path())
@click.argument("text")
@json_option
def symptom_command(job: str, text: str, as_json: bool) -> None:
    """Record what was seen.

    \b
    Examples:
      tracer symptom job.yaml "rear left reversing lamp dark when ignition on, gear reverse"
      tracer symptom job.yaml "left rear tail dim, everything else normal when lights side and brake pressed"
      tracer symptom job.yaml "n/s brake light only glows"
    """
    opened = _job(job)
    try:
        recorded = opened.symptom(text)
    except TracerError as error:
        recorded = opened.symptom(chosen(error))
    show_recorded(recorded, as_json, opened)


# A reading may be negative ("-6.1 V"): what looks like an unknown option is a value here.
@click.command("reading", context_settings={"ignore_unknown_options": True})
@click.argument("job", type=click.Path())
@click.argument("test", required=False)
@click.argument("value", required=False)
@click.option("--from-plan", "line", metavar="LINE", help="What was answered on a sheet of `tracer plan`, as its one "
              "line; “-” reads it from standard input.")
@json_option
def reading_command(job: str, test: str | None, value: str | None, line: str | None, as_json: bool) -> None:
    """Record what a test showed: TEST is the short name of a proposed test, or the test in words.

    \b
    Examples:
      tracer reading job.yaml V-3f2a "11.9 V"
      tracer reading job.yaml "volt drop left rear.earth to body when gear reverse" "3.4 V"
      tracer reading job.yaml L-7bfa flashing
      tracer reading job.yaml --from-plan "TP1 4f2c9a1b77;r volts at E4 when gear reverse=3.4 V;5d03c1aa"
    """
    if line is None and (test is None or value is None):
        raise click.UsageError("say the test and what it showed, or --from-plan LINE")
    opened = _job(job)
    if line is None:
        assert test is not None and value is not None
        show_recorded(opened.reading(test, value), as_json, opened)
    elif test is not None:
        raise click.UsageError("with --from-plan no test is named beside it: put the whole line in quotes")
    else:
        _from_plan(opened, sys.stdin.read() if line == "-" else line, as_json)


def _from_plan(job: Job, line: str, as_json: bool) -> None:
    from tracer.present.sheet.line import record_line

    done = record_line(job, line)
    show(
        as_json,
        lambda: {"number": done.last, "recorded": list(done.said), "remarks": list(done.remarks),
                 "status": job.status()},
        lambda: "\n".join([*(wrapped(s, "recorded: ", "  ") for s in done.said),
                           *(wrapped(r, "note: ", "  ") for r in done.remarks), f"status: {job.status()}"]),
    )


@click.command("undo")
@click.argument("job", type=click.Path())
@json_option
def undo_command(job: str, as_json: bool) -> None:
    """Take the last entry back; the record keeps it as withdrawn.

    Example: tracer undo job.yaml
    """
    opened = _job(job)
    taken = opened.undo()
    what = str(taken.data.get("text") or taken.data.get("repair") or taken.data.get("found") or "")
    after = ""
    try:  # it is taken back already, whatever the rest of the record says of itself
        if taken.kind == "reading":
            what = opened.reading_words(taken)
        after = leading_line(opened, width())
    except TracerError as error:
        say(f"note: {error}", err=True)
    show(
        as_json,
        lambda: {"withdrawn": taken.number, "kind": taken.kind, "was": what},
        lambda: wrapped(f"{taken.kind}: {what}", f"withdrawn, entry {taken.number}: ", "  ")
        + (f"\n{after}" if after else ""),
    )


@click.command("differs")
@click.argument("job", type=click.Path())
@click.argument("overlay", required=False, type=click.Path())
@json_option
def differs_command(job: str, overlay: str | None, as_json: bool) -> None:
    """Record in JOB what differs on this vehicle from the harness file; without OVERLAY, list what differs.

    OVERLAY is a YAML file that begins with “overlay: what differs” and has the sections of a harness; what an
    entry does not write stays as it is, and “remove: [names]” takes away.

    Example: tracer differs job.yaml led_lamps.yaml
    """
    opened = _job(job)
    changed = opened.differences if overlay is None else opened.overlay(overlay)
    head = f"differs from {opened.record.header.harness}:" if overlay is None else f"recorded what differs: {overlay}"
    show(
        as_json,
        lambda: {"recorded": overlay, "differences": list(changed)},
        lambda: "\n".join([head, *(wrapped(c, "  · ", "    ") for c in changed or ["in nothing"])]),
    )


@click.command("suspects")
@click.argument("job", type=click.Path())
@click.option("--all", "whole", is_flag=True, help="Every suspect above one in a thousand.")
@click.option("--why", type=int, metavar="N", help="Reasons for suspect N only.")
@click.option("--triples", is_flag=True, help="Try three faults at once as well.")
@click.option("--explain", is_flag=True, help="All reasons, what was searched, and how wrong a base rate may be.")
@click.option("--estimate", is_flag=True, help="Minutes with a range, parts, and the dearest plausible case, before "
              "anything is begun.")
@json_option
def suspects_command(
    job: str, whole: bool, why: int | None, triples: bool, explain: bool, estimate: bool, as_json: bool
) -> int:
    """The ranked causes of what was seen in JOB, each with its reason.

    \b
    Examples:
      tracer suspects job.yaml
      tracer suspects job.yaml --estimate
    """
    opened = _job(job)
    if estimate:
        return _estimated(opened, as_json)
    found = opened.wide_diagnosis if triples else opened.diagnosis
    search = found.search
    shown = ranked(found, whole)
    if why is not None:
        shown = [(n, s) for n, s in enumerate(found.listed, 1) if n == why]
        if not shown:
            raise click.UsageError(f"no suspect {why}: there are {len(found.suspects)}")

    def data() -> dict[str, Any]:
        reasons = {n: opened.reason(s, found) for n, s in shown[:SHOWN]} if found.evidence else {}
        return {
            "evidence_count": len(found.evidence),
            "undescribed_share": found.undescribed,
            "nothing_fits": found.nothing_fits,
            "as_when_healthy": found.as_when_healthy,
            "contradictions": [list(c) for c in found.contradictions()],
            "searched": {"faults": search.faults, "pairs": search.pairs, "triples": search.triples},
            "left_out_at_most": search.left_out,
            "not_searched": "faults that show only together" + ("" if triples else "; three faults at once"),
            "base_rate_margins": [
                {"kind": m.kind, "factor": m.factor, "then_first": m.then} for m in opened.rate_margins(found)
            ] if found.evidence else [],
            "suspects": [suspect_data(n, s, reasons.get(n)) for n, s in shown],
        } | ({"memory": memory_data(opened.learned.rates)} if opened.learned.rates else {})

    def text() -> str:
        if explain or whole or triples or why is not None:
            return "\n".join(explained_lines(opened, found, shown, width(), why is not None, explain))
        return "\n".join(suspects_lines(opened, found, width()))

    show(as_json, data, text)
    return 1 if found.nothing_fits and found.evidence else 0


def _estimated(job: Job, as_json: bool) -> int:
    from tracer.job.estimating import estimate_of
    from tracer.present.estimate_words import estimate_data, estimate_lines

    found = estimate_of(job)
    show(as_json, lambda: {"estimate": estimate_data(found)}, lambda: "\n".join(estimate_lines(found, width())))
    return 0


@click.command("next")
@click.argument("job", type=click.Path())
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
    for name in (*only, *without):
        if name not in INSTRUMENTS:
            raise click.UsageError(f"no instrument “{name}”: {', '.join(INSTRUMENTS)}")
    if at is not None:
        opened.need_place(at)
    if opened.closed:
        show(as_json, lambda: {"kind": "closed", "says": opened.status()}, lambda: f"this job is {opened.status()}")
        return
    p = opened.next(Limits(at, frozenset(without), frozenset(only), alone, engine_off))

    def text() -> str:
        return "\n".join(proposal_lines(opened, p, explain, job, width()))

    show(as_json, lambda: proposal_data(opened, p), text)


def _proof_of(job: Job) -> Proof:
    """The checks of the repair that stands; says whether the workshop's memory took the job in."""
    if job.lesson:
        say(f"note: {job.lesson}", err=True)
    assert job.proof is not None
    return job.proof


@click.command("repaired")
@click.argument("job", type=click.Path())
@click.argument("what", required=False)
@click.option("--part", "parts", multiple=True, help="A part that was fitted; repeatable.")
@click.option("--minutes", "took", type=click.FloatRange(0, 10_000), callback=finite,
              help="Minutes the repair took.")
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
    proven: dict[int, str] = {}
    for result in results:
        number, sign, found = result.partition("=")
        check = whole_number(number)
        if not sign or check is None or not found.strip():
            raise click.UsageError(f"--proof “{clip(result, 60)}”: write N=ok or N=WHAT WAS SEEN")
        if check in proven:
            raise click.UsageError(f"--proof {check} is given twice")
        proven[check] = found
    if what is not None:
        closed = opened.closed
        opened.repaired(what, parts, took, proven)
        if closed:
            say("note: this job was closed; another repair opened it again", err=True)
    else:
        opened.prove_all(proven)
    proof = _proof_of(opened)

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
                    "measure": c.measured(opened.harness) or None,
                    "cautions": cautions_data(c.cautions),
                    "result": opened.proof_results[c.number].found if c.number in opened.proof_results else None,
                }
                for c in proof.checks
            ],
        }

    def text() -> str:
        head = [f"repair: {opened.repairs[-1].data['repair']}"]
        tail = [f"status: {opened.status()}"]
        return "\n".join(head + ([] if opened.closed else proof_lines(opened, proof, job, width())) + tail)

    show(as_json, data, text)
    return 0 if all(r.good for r in opened.proof_results.values()) else 1
