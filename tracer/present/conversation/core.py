"""What comes next in a job, and what a reply does to it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from contextlib import suppress

from msgspec import Struct

from tracer.errors import JobFileError, TracerError
from tracer.harness.model import VehicleState
from tracer.job.job import Job
from tracer.job.what_if import WhatIf
from tracer.observation.evidence import LampSeen, Symptom
from tracer.observation.words.states import state_words
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.constraints import Limits
from tracer.planning.next_step import Proposal
from tracer.present.conversation.screens import (
    About,
    Checked,
    Closed,
    GiveUp,
    Line,
    Mend,
    Mended,
    NotDone,
    Prove,
    Read,
    Remark,
    Reply,
    Said,
    Screen,
    Seen,
    Step,
    TakeBack,
    Told,
)
from tracer.present.conversation.step import step_of, together, warned_of
from tracer.present.job_words import failed, say_event, set_up
from tracer.units import percent

_LIKELY = 0.01  # share from which a cause is counted


def screen_of(
    job: Job, limits: Limits | None = None, proposal: Proposal | None = None, passed: Collection[int] = (),
) -> Screen:
    """What comes next.

    Args:
        proposal: The step, where it was worked out before for the job as it stands.
        passed: Proof checks that are put off: they come last.

    Raises:
        TracerError: The job file cannot be written (a proposed test is noted in it).
    """
    if job.closed:
        last = job.repairs[-1].data
        return Closed(str(last.get("repair", "")), float(last.get("risk after") or 0.0))
    if not job.evidence and not job.repairs:
        return Seen(asks=not job.story.told)
    if proving(job):
        return _proof(job, passed)
    return screen_of_proposal(job, proposal or job.next(limits))


def screen_of_proposal(job: Job, p: Proposal) -> Step | Mend | GiveUp:
    """The screen of a step that was worked out for the job as it stands."""
    if p.test is not None:
        return step_of(job, p, p.test)
    return GiveUp(p.says, warned_of(p.cautions)) if p.kind == "give up" else _repair(job, p)


def proving(job: Job) -> bool:
    """Whether a repair stands whose checks are being made: no step is worked out then."""
    return job.proof is not None and not failed(job)


def _proof(job: Job, passed: Collection[int]) -> Prove:
    proof = job.proof
    assert proof is not None
    results = job.proof_results
    left = [c for c in proof.checks if c.number not in results]
    check = next((c for c in left if c.number not in passed), left[0])
    made = [c for c in proof.checks if c.number in results]
    now = made[-1].state if made else job.standing.state
    by_look: dict[str, list[str]] = {}
    every = [f.lamp for f in job.harness.lamps()]
    for lamp, look in check.expected:
        by_look.setdefault(look, []).append(lamp)
    return Prove(
        check, len(proof.checks), job.repairs[-1].number, str(job.repairs[-1].data.get("repair", "")),
        set_up(job.harness, now, check.state),
        tuple((look, (together(lamps, every),)) for look, lamps in by_look.items()),
        len(made), proof.risk_before, proof.risk_after, warned_of(check.cautions),
        tuple(s.text for s in check.steps if s.phase == "safe"),
        tuple(s.text for s in check.steps if s.phase == "back"), check.number in passed, len(left) > 1,
        check.measured(job.harness),
    )


def _repair(job: Job, p: Proposal) -> Mend:
    s, where, fault, others = p.suspect, dict[str, None](), "", tuple[str, ...]()
    if s is not None:
        where = dict.fromkeys(job.harness.place_of(f.node)[0] for f in s.best.defects if f.node)
        fault, others = s.best.says(), tuple(s.inseparable)
    lines = tuple(Line(s.text) for s in p.repair_steps)
    return Mend(p.says, p.why, fault, tuple(where), others, warned_of(p.cautions), lines, p.cost)


def answer(job: Job, reply: Reply, mark: str = "") -> Said:
    """Record a reply and say what it did.

    A reply names what it answers (the test, the check and its repair, the entry to be taken back), so that one that
    comes late, after somebody else went on, still says what it was meant to say or is refused.

    Args:
        mark: Made where the reply was given: what comes twice with one mark is recorded once.

    Raises:
        TracerError: Not understood or not possible; nothing was recorded.
    """
    if isinstance(reply, TakeBack):
        return _take_back(job, reply)
    weighs = not isinstance(reply, Remark | Mended | About) and getattr(reply, "result", "") != "ok"
    before = job.shares if weighs and not job.has_marked(mark) else {}
    with job.marking(mark):
        number, remark = _record(job, reply)
    after = job.shares if before else {}
    return Said(number, recorded(job, number), remark, changed(before, after) if after else "")


def _record(job: Job, reply: Reply) -> tuple[int, str]:
    """The number of the entry, and the remark on it."""
    match reply:
        case Told(text):
            done = job.symptom(text)
            return done.number, done.remark
        case Read(test, value, also):
            if not also:
                done = job.reading(test, value)
                return done.number, done.remark
            said = seen_words(job.find_test(test).state, dict(also))
            parse_symptom(said, job.harness)  # both are recorded or none
            done, more = job.reading(test, value), job.symptom(said)
            return done.number, "; ".join(filter(None, [done.remark, more.remark]))
        case NotDone(test):
            return job.reading(test, "skipped").number, ""
        case Mended(what, parts, minutes):
            job.repaired(what, parts, minutes)
            return job.repairs[-1].number, ""
        case Checked(number, of_repair, result):
            if not job.repairs or job.repairs[-1].number != of_repair:
                raise JobFileError("this check belongs to a repair that was taken back or followed by another",
                                   "go on with the check that is shown now")
            return job.prove(number, result).number, ""
        case About(story):
            job.tell(story)
            return job.record.events[-1].number, ""
        case Remark(text):
            job.note(text)
            return job.record.events[-1].number, ""
        case _:
            raise AssertionError(reply)


def _take_back(job: Job, reply: TakeBack) -> Said:
    last = last_own(job)
    if last != reply.number:
        raise JobFileError(f"entry {reply.number} is not the last one any more", "look at the record first")
    said: dict[int, str] = {}
    with suppress(TracerError):  # it can be taken back even where it is not understood any more
        said = {e.number: say_event(job, e).strip() for e in job.record.living[-2:]}
    taken = job.undo()
    before = [e for e in job.events() if e.number == taken.number - 1]
    if taken.kind == "symptom" and before and before[0].kind == "proof" and not before[0].withdrawn:
        taken = job.undo()  # the failed proof check that the symptom was written for
    return Said(0, f"Taken back: entry {said.get(taken.number, taken.number)}")


def last_own(job: Job) -> int:
    """The number of the last living entry that `undo` would take back; 0 if there is none."""
    return next((e.number for e in reversed(job.record.living) if e.kind not in ("proposed", "earlier job")), 0)


def recorded(job: Job, number: int) -> str:
    """The entry with this number, in words; "" if it is not there."""
    event = next((e for e in job.events() if e.number == number), None)
    return " ".join(say_event(job, event).split()[1:]) if event else ""


def changed(before: Mapping[str, float], after: Mapping[str, float]) -> str:
    """In one short line what a reply did: how many likely causes are left, and how sure the first is."""
    if not after:
        return ""
    left = [sum(share >= _LIKELY for share in side.values()) for side in (before, after)]
    first = max(after, key=lambda r: after[r])
    was, now = percent(before.get(first, 0.0)), percent(after[first])
    return f"likely causes {left[0]} → {left[1]}; first {was if was == now else f'{was} → {now}'}"


class Understood(Struct, frozen=True):
    """Words as they would be recorded: said back with what was assumed, of how many states of the vehicle they speak,
    and the first of these with its looks lamp by lamp."""

    says: str
    states: int
    state: VehicleState
    looks: Mapping[str, tuple[str, str, bool]]  # lamp → (brightness, flash, sometimes); "" where nothing was said


def understand(job: Job, text: str) -> Understood:
    """What would be recorded of what was seen; nothing is.

    Raises:
        TracerError: It cannot be understood; `choices` are the nearest ready sentences.
    """
    trial = WhatIf(job)  # so that it is taken here as it will be
    done = trial.symptom(text)
    told = [e.item for e in trial.entries if e.number == done.number and isinstance(e.item, Symptom)]
    looks = {
        s.lamp: (next(iter(s.words)) if len(s.words) == 1 else "", s.flash or "", s.sometimes)
        for s in (told[0].seen if told else ()) if isinstance(s, LampSeen)
    }
    says = f"{done.understood} ({done.remark})" if done.remark else done.understood
    return Understood(says, len(told), told[0].state if told else job.standing.state, looks)


def seen_words(state: VehicleState, looks: Mapping[str, str], others_normal: bool = False) -> str:
    """What was seen in a state, in the words that `Told` takes: lamp, fuse or relay → what it does.

    "normal" is a brightness here; in a sentence it would mean as it should be, dark as well.
    """
    said = [f"{name} {re.sub('^normal', 'lit normal', look)}" for name, look in looks.items()]
    said += ["everything else normal"] * others_normal
    return f"{', '.join(said)} when {state_words(state)}"
