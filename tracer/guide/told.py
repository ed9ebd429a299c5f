"""What can be told at any point: something seen or measured, a note, what is at hand, a repair, a sheet's line."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.errors import UnknownNameError
from tracer.guide.seen import compose
from tracer.guide.sitting import Sitting
from tracer.guide.talk import minutes, numbers
from tracer.job.typed import INSTRUMENTS, example_sentence, parse_test, parse_value, state_words
from tracer.job.values import Limits, Test, VehicleState
from tracer.present.conversation.screens import Mended, Read, Remark, Told
from tracer.present.job_words import unit_of
from tracer.present.sheet.line import record_line
from tracer.present.text_lines import plural
from tracer.units import percent

_KINDS = (
    "something seen, by numbers", "something seen, in own words", "something measured", "a note",
    "what is at hand here: no voltmeter, alone, engine stays off", "it is repaired already",
    "the line of a sheet (tracer plan)",
)


def other(sitting: Sitting) -> None:
    """Ask what it is, and for it."""
    match sitting.talk.choose("What is it?", _KINDS, 1):
        case 1:
            by_numbers(sitting)
        case 2:
            own_words(sitting)
        case 3:
            _measured(sitting)
        case 4:
            sitting.reply(Remark(sitting.talk.text("Note")))
        case 5:
            _at_hand(sitting)
        case 6:
            repaired(sitting, "")
        case _:
            _from_sheet(sitting)


def by_numbers(sitting: Sitting) -> None:
    """Something seen, put together by numbers."""
    sitting.record(Told(compose(sitting.talk, sitting.job.harness)))


def own_words(sitting: Sitting) -> None:
    """Something seen, in own words."""
    sitting.talk.write(f"Such as: {example_sentence(sitting.job.harness)}")
    sitting.talk.question("What was seen", lambda typed: sitting.record(Told(typed)))


def seen_with(sitting: Sitting, state: VehicleState, lamps: Sequence[str]) -> None:
    """What the lamps showed that are seen together with the one of the test."""
    usual = ", ".join(f"{lamp} {look}" for lamp, look in sitting.job.usual_looks(state, lamps))
    options = [f"as they should: {usual}", "not all of them", "did not look"]
    answer = sitting.talk.choose("And the lamps seen from there?", options, 1)
    if answer != 3:
        text = f"{usual} when {state_words(state)}"
        sitting.record(Told(text if answer == 1 else compose(sitting.talk, sitting.job.harness, state)))


def repaired(sitting: Sitting, what: str) -> None:
    """Record a repair, with what was fitted and how long it took."""
    talk = sitting.talk
    what = what or talk.text("What was repaired?")
    parts = talk.text("Parts fitted, with commas between?", "none")
    took = talk.question("Minutes the repair took?", minutes, "not noted")
    listed = [] if parts == "none" else [part.strip() for part in parts.split(",") if part.strip()]
    sitting.reply(Mended(what, tuple(listed), took))
    sitting.passed.clear()
    proof = sitting.job.proof
    assert proof is not None
    talk.write(
        f"Recorded. Now {plural(len(proof.checks), 'proof check')}: chance of a further fault "
        f"{percent(proof.risk_before)} before, {percent(proof.risk_after)} if all come out right."
    )


def _measured(sitting: Sitting) -> None:
    talk, job = sitting.talk, sitting.job
    talk.write("Say the test in words, such as: volts at C2.3 when gear reverse")
    talk.write("volt drop A to B when …, ohms A to B, amps A to B when …, "
               "test lamp at A when …, look left rear tail when …, inspect A to B, inspect C2, "
               "wiggle C2 and watch left rear tail when …, crimp left rear.stop when …",
               first="  or: ")

    def understand(typed: str) -> tuple[str, Test]:
        try:
            return typed, job.find_test(typed)
        except UnknownNameError:
            return typed, parse_test(typed, job.harness)

    words, test = talk.question("Test", understand)
    unit = unit_of(test)

    def value(typed: str) -> None:
        text = f"{typed} {unit}" if unit and typed[-1:].isdigit() else typed
        parse_value(text, test.kind, test.lamp, bool(test.in_hand))
        sitting.record(Read(words, text))

    question = test.row.asks if test.row.by_hand else "How did it look (in words)?"
    talk.question(f"Reading in {unit}?" if unit else question, value)


def _at_hand(sitting: Sitting) -> None:
    options = ["alone, nobody for the pedal", "the engine stays off", *(f"no {i}" for i in INSTRUMENTS[1:])]

    def understand(typed: str) -> set[int]:
        return set() if typed == "all as usual" else set(numbers(typed, len(options)))

    shown = [f"  {n} {o}" for n, o in enumerate(options, 1)]
    chosen = sitting.talk.question("Numbers, e.g. 1 or 1 3", understand, "all as usual", shown)
    without = frozenset(i for n, i in enumerate(INSTRUMENTS[1:], 3) if n in chosen)
    sitting.limits = Limits(None, without, frozenset(), 1 in chosen, 2 in chosen)
    sitting.talk.write("Steps are chosen for that, in this sitting.")


def _from_sheet(sitting: Sitting) -> None:
    def understand(typed: str) -> None:
        done = record_line(sitting.job, typed)
        sitting.talk.write(*(f"Recorded: {s}" for s in done.said))
        sitting.talk.write(*done.remarks, first="Note: ")

    sitting.talk.question("The line", understand)
