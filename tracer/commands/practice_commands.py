"""The command that practises: asks and shows, no more."""

from __future__ import annotations

import secrets
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from tracer.commands.output import json_option
from tracer.errors import TracerError
from tracer.job.whole_file import kind_of_content
from tracer.present.screen import say, say_json

if TYPE_CHECKING:
    from tracer.practice.exercise import Exercise

_HELP: Final = """\
Type a test, as in `tracer reading`; the vehicle answers:
  volts C4.3 when brake pedal pressed        look left rear stop when brake pedal pressed
  ohms E2 to body                            inspect C2
  look when brake pedal pressed              all lamps at once
Or:
  mind WORDS        what is to be minded before the next step (“battery off”)
  suspects          what the tool thinks so far
  why               the reasons for the first of them
  hint              the test that tells most now (it is counted)
  draw FILE.svg     the affected circuit
  repair N | WORDS  by number in the list of suspects, or in its words
  give up           ends it and tells the answer
  quit              stop; `tracer practise JOB` goes on"""


@click.command("practise")
@click.argument("what", metavar="HARNESS|JOB", type=click.Path())
@click.option("--level", type=click.IntRange(1, 7), default=1, show_default=True,
              help="1 lamps, 2 contacts, earths, 3 back-feeds, 4 shorts, 5 two, 6 comes and goes, 7 wrong diagram.")
@click.option("--seed", type=click.IntRange(0), help="The same number hides the same fault.")
@click.option("--as", "learner", metavar="NAME", default="", help="Keep the progress under this name.")
@click.option("-o", "--job", "output", type=click.Path(), help="The job file; practice-N.yaml if not given.")
@click.option("--progress", "only_progress", is_flag=True, help="Only show the progress of --as NAME.")
@json_option
def practise_command(
    what: str, level: int, seed: int | None, learner: str, output: str | None, only_progress: bool, as_json: bool
) -> int:
    """Practise on a vehicle whose fault is hidden: ask, measure, repair; at the end, how it went.

    \b
    Examples:
      tracer practise harness_models/pickup.yaml --level 2 --as Ann
      tracer practise practice-1.yaml
    """
    from tracer.practice import learner as learners
    from tracer.practice.exercise import Exercise, free_path

    if only_progress:
        if not learner:
            raise click.UsageError("--progress needs --as NAME")
        for line in learners.progress(learner):
            say(line)
        return 0
    if learner:
        learners.file_of(learner)  # a name that cannot be kept is told at once
    if kind_of_content(what) == "job":
        exercise = Exercise(what)
    else:
        path = Path(output) if output else free_path(Path())
        exercise = Exercise.begin(path, what, level, secrets.randbelow(10**6) if seed is None else seed, learner)
    if as_json:
        say_json(_standing(exercise))
        return 0
    _greet(exercise)
    try:
        while not exercise.over:
            typed = _ask(exercise)
            if typed is None:
                say(f"Stopped; everything so far is kept. To go on: tracer practise {exercise.path}")
                return 0
            _do(exercise, typed)
    except KeyboardInterrupt:
        say(f"\nStopped; everything so far is kept. To go on: tracer practise {exercise.path}")
        return 130
    return _end(exercise)


def _standing(exercise: Exercise) -> dict[str, Any]:
    """Where it stands, for other programs; the answer only when it is over."""
    told = {"answer": list(exercise.answer), "repair": list(exercise.repairs_needed),
            "in_vain": list(exercise.parts_in_vain())} if exercise.over else {}
    return {
        "job": str(exercise.path), "level": exercise.seal.level, "complaint": exercise.job.complaint,
        "minutes": exercise.minutes, "tests": sum(e.kind == "reading" for e in exercise.job.record.living),
        "hints": len(exercise.seal.hints), "over": exercise.over, **told,
    }


def _greet(exercise: Exercise) -> None:
    say(f"{exercise.job.harness.title}: exercise of level {exercise.seal.level} ({exercise.path})")
    from tracer.present.job_words import say_event

    for event in exercise.job.record.living:
        if event.kind == "symptom":
            say(f"The customer says: {event.data.get('text', '') or say_event(exercise.job, event)}")
    say("Type a test, or ? for help.")


def _ask(exercise: Exercise) -> str | None:
    """A line; None at the end of the input."""
    say(f"[{exercise.minutes:.0f} min] > ", end="")
    try:
        line = input()
    except EOFError:
        say("")
        return None
    if not sys.stdin.isatty():
        say(line)
    return None if line.strip().casefold() in ("quit", "exit") else line.strip()


def _do(exercise: Exercise, typed: str) -> None:
    """One line of the learner; what is not understood is answered, and nothing is lost."""
    word, _, rest = typed.partition(" ")
    try:
        match word.casefold():
            case "":
                pass
            case "?" | "help":
                say(_HELP)
            case "mind" if rest:
                exercise.mind(rest)
                say("Noted.")
            case "suspects":
                for n, s in enumerate(exercise.job.suspects()[:8], 1):
                    say(f"{n:>2} {s.share:>6.1%}  {s.repair}")
            case "why":
                _why(exercise)
            case "hint":
                _hint(exercise)
            case "draw" if rest:
                _draw(exercise, rest)
            case "repair" if rest:
                _repair(exercise, rest)
            case "give" if rest.casefold() == "up":
                exercise.give_up()
            case "look" if rest.casefold().startswith(("when ", "with ")):
                _look(exercise, rest.partition(" ")[2])
            case _:
                done = exercise.ask(typed)
                say(f"  {done.asked}: {done.answer}")
                if done.recorded.remark:
                    say(f"  Note: {done.recorded.remark}")
    except TracerError as error:
        say(f"? {error.message}" + (f" ({error.hint})" if error.hint else ""))
        for choice in error.choices:
            say(f"    {choice}")


def _look(exercise: Exercise, state: str) -> None:
    shown, recorded = exercise.look(state)
    for lamp, look in shown:
        say(f"  {lamp}: {look}")
    say("  every other lamp: dark")
    if recorded.remark:
        say(f"  Note: {recorded.remark}")


def _why(exercise: Exercise) -> None:
    from tracer.present.job_words import why_lines

    for line in why_lines(exercise.job, 1, None, 80):
        say(line)


def _hint(exercise: Exercise) -> None:
    p = exercise.hint()
    say(f"  {p.says}" + (f" ({p.why})" if p.why else ""))


def _draw(exercise: Exercise, output: str) -> None:
    from tracer.job.whole_file import need_free, write_output
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_job

    kind = Path(output).suffix.lower().lstrip(".")
    if kind not in ("svg", "png", "pdf"):
        raise TracerError(f"“{output}” has no known ending", "write .svg, .png or .pdf")
    inputs = [exercise.path, exercise.job.harness_path]
    need_free(output, inputs)
    write_output(output, draw(exercise.job.harness, view_of_job(exercise.job), kind), inputs)  # type: ignore[arg-type]
    say(f"  written: {output}")


def _repair(exercise: Exercise, words: str) -> None:
    done = exercise.repair(words)
    if exercise.over:
        say(f"  {done.repair}: done, and every lamp does what it should.")
        return
    say(f"  {done.repair}: {'that was wrong too, but' if done.helped else 'done;'} still:")
    for line in done.left:
        say(f"    {line}")


def _end(exercise: Exercise) -> int:
    from tracer.practice import learner as learners
    from tracer.practice.debrief import debrief
    from tracer.practice.debrief_words import debrief_lines

    say("\nNow the tool's own plan on the same vehicle …")
    result = debrief(exercise)
    for line in (*debrief_lines(result), *learners.counted(exercise, result)):
        say(line)
    return 0 if result.found else 1
