"""The next step and the proof in words: what to do, where, and what each likely cause would show."""

from __future__ import annotations

from tracer.inference.expected_results import by_outcome
from tracer.job.job import Job
from tracer.observation.evidence import Test
from tracer.observation.words.reading_data import test_key
from tracer.observation.words.states import state_words
from tracer.planning.next_step import Proposal
from tracer.planning.repair_proof import Proof
from tracer.present.job_words import caution_lines, note_lines, test_steps
from tracer.present.text_lines import clip, wrap
from tracer.units import minutes, percent

_OUTCOMES = 4  # shown at the vehicle
_CAUSES = 3  # columns of a look at several lamps


def proposal_lines(job: Job, p: Proposal, explain: bool, path: str, width: int) -> list[str]:
    """A proposal for people: at most 20 lines of 80, the rest by `explain`."""
    lines = caution_lines(p.cautions, width)
    if p.kind == "repair":
        lines += wrap(p.says, width, "REPAIR: ", "  ")
        lines += wrap(p.why, width, "  because: ", "    ")
        if p.test is not None:
            lines.append(f"First confirm, {test_key(p.test)}:")
    elif p.kind == "test" and p.test is not None:
        lines.append(f"TEST {test_key(p.test)}, {minutes(p.cost)}:")
    else:
        lines += wrap(p.says, width, "NO FURTHER TEST: ", "  ")
    if p.test is not None:
        for n, step in enumerate(test_steps(job, p.test), 1):
            lines += wrap(step, width, f" {n}. ")
    if p.repair_steps and p.test is not None:
        lines.append("Then the repair:")
    for n, told in enumerate(p.repair_steps, 1):
        lines += wrap(told.text, width, f" {n}. ")
    lines += _looks_table(p, width) if p.also else _outcomes(p, width, len(p.expectations) if explain else _OUTCOMES)
    lines.append(f"About {minutes(p.minutes)} to a proven repair (at best about {minutes(p.bound)})")
    if explain:
        lines += _explained(p, width)
    return lines + _then(job, p, path) + note_lines(p.cautions, width)


def _outcomes(p: Proposal, width: int, count: int) -> list[str]:
    """One line for each thing that may show, and the causes that it would speak for."""
    if not p.expectations:
        return []
    found, lines = by_outcome(p.expectations), ["Would show:"]
    for o in found[:count]:
        head = f"  {o.shows:<10} {percent(o.share):>5}  "
        said = wrap("; ".join(o.repairs), width, head, " " * len(head))
        lines += said if len(said) <= 2 else [said[0], clip(f"{said[1]} …", width)]
    return lines + ([f"  … and {len(found) - count} more: --explain"] if len(found) > count else [])


def _looks_table(p: Proposal, width: int) -> list[str]:
    """A look at several lamps: a row for each lamp, a column for each likely cause."""
    causes = [e for e in p.expectations if e.looks][:_CAUSES]
    if not causes:
        return []
    names = [lamp for lamp, _ in causes[0].looks]
    first = max(len(n) for n in names) + 4
    heads = [f"cause {k}" for k in range(1, len(causes) + 1)]
    cells = [[dict(e.looks)[n] for e in causes] for n in names]
    widths = [max(len(h), *(len(row[k]) for row in cells)) + 2 for k, h in enumerate(heads)]
    lines = ["Would show:".ljust(first) + "".join(h.ljust(w) for h, w in zip(heads, widths, strict=True))]
    for n, row in zip(names, cells, strict=True):
        lines.append(f"  {n}".ljust(first) + "".join(c.ljust(w) for c, w in zip(row, widths, strict=True)))
    lines = [clip(line.rstrip(), width) for line in lines]
    for k, e in enumerate(causes, 1):
        lines += [clip(x, width) for x in wrap(e.repair, width, f"  cause {k} {percent(e.share):>5}  ", " " * 17)[:1]]
    return lines


def _explained(p: Proposal, width: int) -> list[str]:
    """Why this step, and the best candidates beside it."""
    lines = wrap(p.why, width, "  why: ", "       ") if p.kind == "test" and p.why else []
    lines.append("  best candidates:")
    for o in p.options:
        likely = sorted((x for x in o.split if x[1] >= 0.02), key=lambda x: -x[1])
        split = "; ".join(f"{w} {percent(q)}" for w, q in likely[:_OUTCOMES])
        more = f"; {len(likely) - _OUTCOMES} more outcomes" if len(likely) > _OUTCOMES else ""
        text = f"{o.says} — {minutes(o.cost)} now, {minutes(o.minutes)} in all; {split}{more}"
        lines += wrap(text, width, "    · ", "      ")
    return lines


def _then(job: Job, p: Proposal, path: str) -> list[str]:
    """The commands that take the answer."""
    if p.test is not None:
        lines = [f"then: tracer reading {path} {test_key(p.test)} {p.test.row.answer}"]
        return lines + (_told_with(job, p.test, p.also, path) if p.also else [])
    return [f"then: tracer repaired {path} 1"] if p.kind == "repair" else []


def _told_with(job: Job, test: Test, also: tuple[str, ...], path: str) -> list[str]:
    """How the lamps seen from the same place are told, if they look as they should."""
    usual = ", ".join(f"{lamp} {look}" for lamp, look in job.usual_looks(test.state, also))
    return [f'and: tracer symptom {path} "{usual} when {_short(job, test)}"']


def _short(job: Job, test: Test) -> str:
    """The state of a test by the controls that do not stand as assumed."""
    moved = [f"{c} {p}" for c, p in test.state.positions if p != job.harness.controls[c].assumed]
    return ", ".join(moved + ["engine running"] * test.state.engine_running) or state_words(test.state)


def memory_lines(job: Job, width: int) -> list[str]:
    """What is known of the vehicle from earlier jobs."""
    lines = [x for d in job.differences for x in wrap(d, width, "  differs from the harness file: ", "    ")]
    for e in job.earlier_jobs:
        said = f"{e.complaint or 'no complaint noted'} — {e.status}"
        lines += wrap(said, width, f"  {e.started[:10]} {e.file}: ", "    ")
        for text, first in (
            *((r, "    repaired: ") for r in e.repairs), *((n, "    note: ") for n in e.notes),
            *((("; ".join(e.opened), "    opened then: "),) if e.opened else ()),
        ):
            lines += wrap(text, width, first, "      ")
    return lines


def proof_lines(job: Job, proof: Proof, path: str, width: int) -> list[str]:
    """The proof checks for people."""
    lines = ["Check the repair. In each setting, look at:"]
    for c in proof.checks:
        result = job.proof_results.get(c.number)
        mark = " " if result is None else "ok" if result.good else "BAD"
        looks = ", ".join(f"{lamp} {look}" for lamp, look in c.expected) or "every lamp dark"
        lines += caution_lines(c.cautions, width)
        lines += [line for s in c.steps if s.phase == "safe" for line in wrap(s.text, width)]
        said = c.measured(job.harness) or f"{job.harness.say_state(c.state)} ({c.because}): {looks}"
        lines += wrap(said, width, f" {c.number}. [{mark:>2}] ", " " * 9)
    lines += wrap(
        f"Chance of a further fault: {percent(proof.risk_before)} before these checks, "
        f"{percent(proof.risk_after)} if all come out right.", width,
    )
    lines.append(f'then: tracer repaired {path} --proof 1=ok --proof "2=left rear tail dim" …')
    return lines
