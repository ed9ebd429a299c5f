"""The ranked causes in words: one screen at the vehicle, and all that is known of them on request."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.harness.model import Harness
from tracer.harness.terminal_words import say_terminal
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.explanation import Reason, would_be_wrong
from tracer.inference.rate_sensitivity import rate_margins
from tracer.inference.story_weights import say_weights
from tracer.job.job import Job
from tracer.present.memory_words import memory_words, seen_words
from tracer.present.text_lines import clip, quoted, sentence, wrap
from tracer.units import percent

Ranked = Sequence[tuple[int, Suspect]]
SHOWN = 8
REASONED = 3
LEAST_SHARE = 0.01
_POINT = ("           · ", "             ")
_WEIGHTS = 12
_LIKELY = 0.3  # share from which on a difference of the wiring is told
_LINES = 20  # one screen at the vehicle


def ranked(found: Diagnosis, whole: bool = False) -> list[tuple[int, Suspect]]:
    """The suspects worth a line, with their numbers; `whole` down to one in a thousand. What stands with one further
    up (`Diagnosis.listed`) has no line of its own."""
    least, out, standing = 0.001 if whole else LEAST_SHARE, list[tuple[int, Suspect]](), set[str]()
    for n, s in enumerate(found.listed, 1):
        if s.repair in standing:
            continue
        share, others = found.standing_together(s)
        standing |= {*others}
        if share >= least or n <= REASONED:
            out.append((n, s))
    return out if whole else out[:SHOWN]


def leading_line(job: Job, width: int = 80) -> str:
    """The first three suspects; if none of them explains what was seen, that first."""
    found = job.diagnosis
    first = [(s.search or s.repair, found.standing_together(s)[0]) for _, s in ranked(found)[:3]]
    leading = "; ".join(f"{said} {percent(share)}" for said, share in first)
    if job.diagnosis.nothing_fits:
        unknown = percent(job.diagnosis.undescribed)
        leading = f"“not described by the harness file” {unknown}; least bad of what is: {leading}"
    return "\n".join(wrap(leading, width, "most likely so far: ", "  "))


def suspects_lines(job: Job, found: Diagnosis, width: int) -> list[str]:
    """One screen: where the job stands, each suspect with its share, why the first one, how to learn more."""
    lines = _notes(job, found, width)
    shown = ranked(found)
    body: list[str] = []
    for n, s in shown:
        first = alike_before(s, shown)
        whole, others = found.standing_together(s)
        repair = s.search or " or ".join([s.repair, *others])
        body += wrap(repair, width, f"{n:>2}. {percent(whole):>5}  ", " " * 11)[:2]
        if s.search:
            body += [clip(line, width) for line in wrap(places_words(s), width, " " * 11)[:2]]
        if s is shown[0][1] and found.evidence:
            body += _why_first(job, found, s, width)
        elif first is not None:
            told = split_words(s, found.listed[first - 1].repair, job.harness)
            body += [clip(line, width) for line in wrap(f"looks like no. {first}, but {told}", width, " " * 11)[:2]]
        elif found.evidence and (slips := would_be_wrong(found, s)):
            body.append(clip(wrap(f"fits only if this is wrong: {'; '.join(slips)}", width, " " * 11)[0], width))
    tail = [f"    {percent(found.undescribed):>5}  something the harness file does not describe"]
    if found.evidence:
        tail.append("more: --explain (all reasons, what was searched), --why N, --all")
    room = _LINES - len(lines) - len(tail)
    if len(body) > room:
        kept = body[: room - 1]
        while kept and not kept[-1].lstrip()[:1].isdigit() and not kept[-1].startswith(" " * 11):
            kept.pop()
        body = [*kept, "           … and more: --all"]
    return [*lines, *body, *tail]


def _why_first(job: Job, found: Diagnosis, suspect: Suspect, width: int) -> list[str]:
    """What is wrong, what of the evidence it explains and what not, and the stray way of the current."""
    why = job.reason(suspect, found)
    lines = wrap(suspect.best.says(), width, " " * 11)[:2] if suspect.best.says() else []
    against = [f for f in why.fits if not f.fits]
    explained = [f for f in why.fits if f.fits and f.explains]
    if against:
        said = "; ".join(f.seen for f in against)
        lines += [clip(x, width) for x in wrap(f"fits only if this is wrong: {said}", width, " " * 11)[:2]]
    elif explained:
        said = "; ".join(f.seen for f in explained)
        lines += [clip(x, width) for x in wrap(f"explains {said}", width, " " * 11)[:2]]
    if why.back_feed:
        lines += wrap(f"current comes back through {', '.join(why.back_feed)}", width, " " * 11)[:1]
    return lines


def _notes(job: Job, found: Diagnosis, width: int) -> list[str]:
    """What has to be known before the list is read."""
    lines = [f"this job is {job.status()}; what led before:"] if job.closed else []
    if not found.evidence:
        lines.append("nothing recorded yet: these are the base rates")
        if job.complaint:
            lines += wrap("The complaint is weighed once it is recorded as something seen: tracer symptom "
                          f"{quoted(str(job.path))} {sentence(job.complaint)}", width, "", "  ")
    if found.contradictions():
        lines.append("note: what was recorded contradicts itself (entries are kept; undo the wrong one)")
    wired = [f"{says} ({percent(share)})" for says, share in found.deviating.items() if share >= _LIKELY]
    if wired:
        lines += wrap(f"wiring otherwise than the file says: {'; '.join(wired)}", width, "", "  ")
    if found.as_when_healthy:
        lines += wrap(
            "A healthy vehicle does all of that, by this harness file: no failed part is needed to explain it. "
            "If it was not meant to, the wiring itself has a sneak path (tracer check --sneak shows it).", width,
        )
    if found.nothing_fits:
        lines += wrap(
            f"Nothing that the harness file describes explains this ({percent(found.undescribed)} for “not "
            "described”). Least bad below, with what would have to be wrong for each.", width,
        )
    return lines


def explained_lines(
    job: Job, found: Diagnosis, shown: Ranked, width: int, one: bool = False, margins: bool = False
) -> list[str]:
    """Every reason of the suspects `shown`; `one`: somebody asked for just these. `margins`: how wrong a base rate
    may be."""
    lines = _notes(job, found, width)
    reasoned = SHOWN if one else REASONED
    reasons = {n: job.reason(s, found) for n, s in shown[:reasoned]} if found.evidence else {}
    for n, s in shown:
        first = alike_before(s, shown)
        whole, others = found.standing_together(s)
        lines += wrap(s.search or s.repair, width, f"{n:>2}. {percent(whole):>5}  ")
        if s.search:
            lines += wrap(places_words(s), width, " " * 11)
        elif others:
            words = f"or {' or '.join(others)}: no electrical test can tell them apart; do what is cheaper first"
            lines += wrap(words, width, " " * 11)
        if s.best.says():
            lines += wrap(s.best.says(), width, " " * 11)
        if (margins or one) and job.learned.rates is not None:
            lines += wrap(seen_words(job.learned.rates, s), width, *_POINT)
        if first is not None:
            told = split_words(s, found.listed[first - 1].repair, job.harness)
            lines += wrap(f"looks the same as no. {first} in every vehicle state: {told}", width, *_POINT)
        elif n in reasons:
            lines += reason_lines(reasons[n], width)
        if found.nothing_fits and n in reasons:
            wrong = would_be_wrong(found, s)
            alone = "it fits only if this observation is wrong" if len(wrong) == 1 else "would all have to be wrong"
            lines += wrap(f"{alone}: {'; '.join(wrong)}", width, *_POINT)
    lines.append(f"    {percent(found.undescribed):>5}  something the harness file does not describe")
    if found.evidence:
        lines += wrap(found.search.says(), width, " " * 11)
    if margins and job.story.told:
        lines += wrap(f"told of the vehicle: {job.story.says()}", width, "", "  ")
        weighed = say_weights(job.story, job.investigator.faults, job.harness)[:_WEIGHTS]
        lines += wrap(f"base rates by that (judgement): {', '.join(weighed)}", width, "  ", "    ") if weighed else []
    if margins and job.learned.rates is not None:
        lines += wrap(f"the workshop’s memory: {memory_words(job.learned.rates)}", width, "", "  ")
    if margins and found.evidence:
        lines.append("how wrong a base rate may be before another suspect comes first:")
        every = [line for m in rate_margins(found) for line in wrap(m.says(), width, "  ", "    ")]
        lines += every or ["  no rate alone, within a thousand times"]
    return lines


def alike_before(suspect: Suspect, ranked: Ranked) -> int | None:
    """The rank of a suspect further up that looks the same in every vehicle state."""
    for n, other in ranked:
        if other is suspect:
            return None
        if other.repair in suspect.alike:
            return n
    return None


def places_words(suspect: Suspect) -> str:
    """The places of a search, the likeliest first."""
    return f"{suspect.repair}; or {'; '.join(suspect.along)}"


def split_words(suspect: Suspect, first: str, harness: Harness) -> str:
    """The reading that tells a suspect from the one whose repair is `first`."""
    for s in suspect.splits:
        if s.repair == first:
            at, state = say_terminal(harness, s.test.plus), harness.say_state(s.test.state)
            return f"{at} against the body reads {abs(s.own_v):.1f} V, not {abs(s.other_v):.1f} V ({state})"
    return "only a measurement, or a look at them, splits them"


def reason_lines(why: Reason, width: int) -> list[str]:
    """All that speaks for and against a suspect."""
    lines: list[str] = []
    for fit in why.fits:
        sign = "explains" if fit.fits and fit.explains else "agrees" if fit.fits else "CONTRADICTS"
        text = f"{sign}: {fit.seen}" + ("" if fit.fits else f" — predicts {fit.predicted}")
        lines += wrap(text, width, *_POINT)
    if why.path:
        lines += wrap("current: " + why.path, width, *_POINT)
    if why.elsewhere:
        lines += wrap("would also be seen: " + "; ".join(why.elsewhere), width, *_POINT)
    return lines
