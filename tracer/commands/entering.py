"""What the commands that take an entry have in common: what was recorded, and what was meant where it was not."""

from __future__ import annotations

import sys

import click

from tracer.commands.output import show, wrapped
from tracer.errors import TracerError
from tracer.job.job import Job, Recorded
from tracer.present.screen import say, width
from tracer.present.suspects_screen import leading_line


def show_recorded(result: Recorded, as_json: bool, job: Job) -> None:
    """Say back what was recorded, and who leads now."""
    def text() -> str:
        lines = [wrapped(result.understood, f"recorded as {result.number}: ", "  ")]
        if result.remark:
            lines.append(wrapped(result.remark, "note: ", "  "))
        lines.append(leading_line(job, width()))
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


def chosen(error: TracerError) -> str:
    """The ready sentence that the person at the terminal picks in place of the one that was not understood.

    Raises:
        TracerError: The same one, where there is nobody to pick or none is right.
    """
    if not error.choices or not sys.stdin.isatty():
        raise error
    say(f"not recorded: {error}", err=True)
    for number, choice in enumerate(error.choices, 1):
        say(f"  {number}. {choice}", err=True)
    picked: int = click.prompt("which (0: none)", type=click.IntRange(0, len(error.choices)), err=True)
    if picked == 0:
        raise TracerError("nothing recorded", "say it in other words")
    return error.choices[picked - 1]
