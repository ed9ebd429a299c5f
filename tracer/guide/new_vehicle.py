"""The questions of a new vehicle in the terminal, one by one, each with a default. Nothing is reasoned here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from tracer.errors import TracerError
from tracer.guide.talk import Ask, Say
from tracer.job.new_harness import END_KINDS, Answers, Question, VagueEnd, kinds_of_ends, numbers_of, usual
from tracer.present.text_lines import clip, wrap

HELP: Final = (
    "A number, a word or its beginning answers. Enter takes what stands in [brackets] and counts as not known: the "
    "lines that follow from it are marked as not traced. Who knows that it is so types “=”.",
    "At every question:", "  =  what stands in [brackets], and it is known", "  ?  not known: the usual is taken",
    "  b  back to the question before", "  h  this help", "  d  stop; nothing is written",
)
KEYS: Final = "Enter: the usual, not known · = the usual, known · b back · d stop · h help"


class StoppedError(TracerError):
    """Somebody stopped before the last question."""


def ask_for_vehicle(ask: Ask, say: Say, width: int) -> tuple[Answers, int]:
    """Ask until everything is known or passed.

    Args:
        ask: Shows a prompt and returns what was typed.
        say: Shows one line.
        width: No line is longer.

    Returns:
        The answers, and how many questions were answered.

    Raises:
        StoppedError: Stopped; EOFError and KeyboardInterrupt of `ask` pass.
    """
    answers = Answers()
    order: list[str] = []
    part = ""
    for line in wrap("A vehicle in a few questions. " + KEYS, width):
        say(line)
    while (question := answers.due()) is not None:
        if question.part != part:
            part = question.part
            say("")
            say(f"— {part} —")
        typed = _ask_one(question, answers, ask, say, width)
        if typed is None:  # back
            if order:
                answers = answers.without(order.pop())
                part = ""
            continue
        answers = answers.with_answer(question.id, typed)
        order.append(question.id)
    return answers, len(order)


def _ask_one(question: Question, answers: Answers, ask: Ask, say: Say, width: int) -> str | None:
    """What was typed to one question, once it is understood; None: back."""
    default = usual(question, answers.known())
    for line in [*wrap(question.text, width), *_choices(question, width)]:
        say(line)
    while True:
        typed = "".join(c for c in ask(f"[{default}] > ") if c.isprintable()).strip()
        key = typed.casefold()
        if key in ("d", "quit", "exit"):
            raise StoppedError("stopped; nothing was written", "--answers FILE takes answers from a file")
        if key == "b":
            return None
        if key == "=":
            return default
        if key in ("h", "help"):
            for text in HELP:
                for line in wrap(text.strip(), width, "  " if text.startswith("  ") else ""):
                    say(line)
            continue
        try:
            answers.with_answer(question.id, typed)
        except TracerError as error:
            for line in wrap("? " + clip(str(error), 3 * width), width):
                say(line)
            continue
        return typed


def _choices(question: Question, width: int) -> list[str]:
    """The choices with their numbers; short ones on one line."""
    numbers = {c: f"{n} " for n, c in numbers_of(question).items()}
    numbered = [(numbers.get(c, "") + c, means) for c, means in question.choices.items()]
    one_line = "   ".join(c for c, _ in numbered)
    if numbered and not any(means for _, means in numbered) and len(one_line) + 2 <= width:
        return ["  " + one_line]
    told = [c + (f": {means}" if means else "") for c, means in numbered]
    return [line for text in told for line in wrap(text, width, "  ", "      ")]


def ask_for_ends(
    found: Sequence[VagueEnd], kinds: Mapping[str, str], said: Mapping[str, str], ask: Ask, say: Say
) -> dict[str, str]:
    """Ask what each end of a wire list is that has no terminal, with what its words say as the default.

    Raises:
        StoppedError: Stopped: nothing is to be written.
    """
    out = dict(kinds)
    open_ones = [e for e in found if e.name not in said]
    if open_ones:
        say(f"{len(open_ones)} ends of the list have no terminal. What is each? Enter takes the guess in [brackets].")
        say("  " + "   ".join(f"{n} {k}" for n, k in enumerate(END_KINDS, 1)))
    for e in open_ones:
        why = f", by {e.because}" if e.guess else ""
        while True:
            typed = ask(f"{e.name} (line {e.line}{why}) [{kinds[e.name] or '?'}] > ").strip().casefold()
            if typed in ("d", "quit", "exit"):
                raise StoppedError("stopped; nothing was written")
            kind = typed or kinds[e.name]
            if kind.isascii() and kind.isdigit() and 1 <= int(kind[:3]) <= len(END_KINDS):
                kind = list(END_KINDS)[int(kind) - 1]
            begins = [k for k in END_KINDS if kind and k.startswith(kind)]
            if len(begins) == 1 or kind in END_KINDS:
                out[e.name] = kind if kind in END_KINDS else begins[0]
                break
            say("? a number or one of " + ", ".join(END_KINDS))
    return kinds_of_ends(tuple(found), out)
