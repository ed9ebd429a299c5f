"""The command that begins a harness: by questions, alike another, from a wire list, or as a commented starter."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from tracer.commands.output import json_option, show
from tracer.errors import TracerError
from tracer.job.whole_file import write_output
from tracer.present.screen import say, say_json, width


@click.command("new", short_help="Begin a harness: by questions, alike a model, from a wire list.")
@click.argument("file", type=click.Path(), required=False)
@click.option("--title", default="My vehicle (invented)", show_default=True)
@click.option("--system", type=click.Choice(["6 V", "12 V", "24 V"]), default="12 V", show_default=True)
@click.option("--earth", type=click.Choice(["negative", "positive"]), default="negative", show_default=True)
@click.option("--what", type=click.Choice(["rear", "trailer", "vehicle-end"]),
              help="A commented starter of one end of a vehicle; rear, where nobody can be asked.")
@click.option("--answers", "answers_file", metavar="FILE",
              help="Answers to the questions from a file: no terminal is needed.")
@click.option("--questions", is_flag=True, help="Print the questions, as a file of answers to fill in, or as JSON.")
@click.option("--like", metavar="MODEL", help="Begin with a model that comes along (saloon_1970s, …) or with another "
              "harness file; everything counts as not traced.")
@click.option("--other-side", is_flag=True, help="With --like: made for the other side of the road.")
@click.option("--wires", "listed", metavar="LIST.csv", help="Begin with a wire list instead of an example.")
@click.option("--end", "ends", multiple=True, metavar="NAME=KIND",
              help="With --wires: what an end without a terminal is (lamp, fuse, …); repeatable. “*” stands for "
              "all that are not guessed.")
@click.option("--colours", type=click.Choice(["IEC 60757", "BS AU 7"]),
              help="The colour code of the wire list, or the one to put the model into.")
@json_option
def new_command(
    file: str | None, title: str, system: str, earth: str, what: str | None, answers_file: str | None,
    questions: bool, like: str | None, other_side: bool, listed: str | None, ends: tuple[str, ...],
    colours: str | None, as_json: bool,
) -> int:
    """Begin a harness in FILE; refuses to overwrite.

    On a terminal it asks for the vehicle, at most 40 short questions, and writes it by patterns of the trade; what
    nobody knew counts as not traced. With --wires it has all wires of the list and all parts that they name.

    \b
    Examples:
      tracer new estate.yaml
      tracer new van.yaml --like saloon_1970s --colours "IEC 60757" --other-side
      tracer new --questions > answers.yaml
      tracer new estate.yaml --answers answers.yaml
    """
    if questions:
        _print_questions(as_json)
        return 0
    _one_way({"--like": like, "--wires": listed, "--answers": answers_file, "--what": what})
    if other_side and like is None:
        raise click.UsageError("--other-side goes with --like MODEL")
    if ends and listed is None:
        raise click.UsageError("--end goes with --wires LIST.csv")
    if file is None:
        raise click.UsageError("the name of the new file is missing, e.g. tracer new van.yaml")
    if os.path.lexists(file):
        raise TracerError(f"{file} exists already; nothing was changed", "give the harness another name")
    inputs: list[str] = []
    unread: tuple[str, ...] = ()
    more, found = "", list[dict[str, Any]]()
    if like is not None:
        text = _like(like, colours, other_side)
    elif listed is not None:
        from tracer.job.new_harness import harness_from_list, read_text_file

        rows = read_text_file(listed)
        kinds, found = _kinds_of_ends(rows, listed, ends, as_json)
        if not all(kinds.values()):
            say_json({"written": None, "ends": found})
            return 1
        text, unread = harness_from_list(rows, listed, title, system, earth, colours, kinds)
    elif answers_file is not None:
        text, inputs = _from_answers(answers_file), [answers_file]
    elif what is None and not as_json and sys.stdin is not None and sys.stdin.isatty():
        text, more = _by_questions()
    else:
        from tracer.job.harnesses import starter_text

        text = starter_text(title=title, system=system, earth=earth, what=what or "rear")
    write_output(file, text, inputs)
    if unread:
        from tracer.commands.harness_commands import say_unread

        say_unread(unread)
    show(as_json, lambda: {"written": file, **({"ends": found} if found else {})},
         lambda: f"{more}written: {file}\nnext: {_then(file, bool(more or like or answers_file))}")
    return 0


def _then(file: str, whole: bool) -> str:
    """What can be done with it; a harness that is `whole` can be worked with as it is."""
    if not whole:
        return f"edit it, then  tracer check {file}"
    return (f"tracer open job.yaml --harness {file}\n"
            f"It is whole as it is. What differs can be changed, then  tracer check {file}")


def _one_way(given: Mapping[str, str | None]) -> None:
    ways = [option for option, value in given.items() if value is not None]
    if len(ways) > 1:
        raise click.UsageError(f"begin in one way: {' or '.join(ways)}, not with both")


def _print_questions(as_json: bool) -> None:
    from tracer.job.new_harness import QUESTIONS, answers_text, question_data

    if as_json:
        say_json([question_data(q) for q in QUESTIONS])
    else:
        say(answers_text().rstrip("\n"))


def _like(like: str, colours: str | None, mirrored: bool) -> str:
    """The text of a model, or of any harness file, made one's own."""
    from tracer.job.new_harness import alike, model_names, model_text, read_text_file

    plain = Path(like).name.removesuffix(".yaml")
    if like.removesuffix(".yaml") not in model_names() and Path(like).is_file():
        return alike(read_text_file(like), like, colours, mirrored)
    return alike(model_text(like), f"the model {plain}", colours, mirrored)


def _kinds_of_ends(
    rows: str, listed: str, ends: tuple[str, ...], as_json: bool
) -> tuple[dict[str, str], list[dict[str, Any]]]:
    """What each end without a terminal is, said, guessed or asked, and the same as data. As JSON nobody is asked:
    what is not known is left empty."""
    from tracer.commands.output import parse_settings
    from tracer.job.new_harness import END_KINDS, kinds_of_ends, vague_ends

    found = vague_ends(rows, listed)
    said = dict(parse_settings(ends, "--end", "left tail=lamp", "NAME=KIND"))
    kinds = kinds_of_ends(found, said)
    if as_json:
        data = [{"name": e.name, "line": e.line, "rows": e.rows, "guess": e.guess or None, "because": e.because,
                 "kind": kinds[e.name] or None, "choices": list(END_KINDS)} for e in found]
        return kinds, data
    if found and sys.stdin is not None and sys.stdin.isatty():
        from tracer.guide import terminal_ask
        from tracer.guide.new_vehicle import ask_for_ends

        return ask_for_ends(found, kinds, said, terminal_ask, say), []
    for e in found:
        if kinds[e.name]:
            how = "said" if e.name in said else f"guessed, by {e.because}" if e.guess else "as said of the rest"
            say(f"{e.name} (line {e.line}): {kinds[e.name]} ({how})", err=True)
    unknown = [f"“{e.name}” (line {e.line})" for e in found if not kinds[e.name]]
    if unknown:
        raise TracerError(
            f"{listed}: nothing says what {', '.join(unknown[:12])}{' …' * (len(unknown) > 12)} "
            f"{'is' if len(unknown) == 1 else 'are'}",
            f"say it, like --end {next(repr(f'{e.name}=splice') for e in found if not kinds[e.name])}, or "
            f"--end '*=splice' for all of them; kinds: {', '.join(END_KINDS)}")
    return kinds, []


def _from_answers(answers_file: str) -> str:
    from tracer.job.new_harness import harness_from_answers, read_answers, read_text_file

    return harness_from_answers(read_answers(read_text_file(answers_file), answers_file))


def _by_questions() -> tuple[str, str]:
    """The harness that somebody at the terminal describes, and what to say of it."""
    from tracer.guide import terminal_ask
    from tracer.guide.new_vehicle import ask_for_vehicle
    from tracer.job.new_harness import harness_from_answers

    answers, count = ask_for_vehicle(terminal_ask, say, width())
    made: Any = harness_from_answers(answers)
    known = len(answers.said)
    return made, f"\n{count} questions, {known} answered, {count - known} left to what is usual\n"
