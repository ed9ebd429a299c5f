"""A look over this installation: what a question to somebody else should come with."""

from __future__ import annotations

import click

from tracer.commands.output import json_option, show
from tracer.present.installation import looked_over, looked_over_lines
from tracer.present.screen import width


@click.command("about")
@click.option("--folder", type=click.Path(), default=".", show_default=True,
              help="The folder of the jobs: may files be written there?")
@json_option
def about_command(folder: str, as_json: bool) -> int:
    """Versions, fonts, folders and models of this installation, to be sent along with a question.

    Nothing in it tells of a job, a customer or a vehicle. Exit status 1 if something stands in the way of working.

    Example: tracer about --folder jobs
    """
    found = looked_over(folder)
    show(as_json, lambda: found, lambda: "\n".join(looked_over_lines(found, width())))
    return 1 if found["in_the_way"] else 0
