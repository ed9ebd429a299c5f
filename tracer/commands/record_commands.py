"""Commands that draw, guide and report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from tracer.commands.output import json_option, parse_settings, show
from tracer.errors import DrawingError, TracerError
from tracer.job.values import Harness, VehicleState
from tracer.job.whole_file import kind_of_content, need_free, write_output
from tracer.present.screen import say, say_json

if TYPE_CHECKING:
    from tracer.job.job import Job

_REPORTS: Final = ("", ".html", ".htm", ".md", ".markdown")


@click.command("draw")
@click.argument("job_or_harness", type=click.Path())
@click.option("-o", "--output", type=click.Path(), required=True, help="FILE.svg, FILE.png or FILE.pdf.")
@click.option("--all", "whole", is_flag=True, help="The whole harness.")
@click.option(
    "--set", "settings", multiple=True, metavar="CONTROL=POSITION", help="Show the live path in this state."
)
@click.option("--state", "words", help="The same in words, as in a symptom: “gear reverse, lights side”.")
@click.option("--suspect", type=int, metavar="N", help="The current path of suspect N.")
@json_option
def draw_command(
    job_or_harness: str, output: str, whole: bool, settings: tuple[str, ...], words: str | None,
    suspect: int | None, as_json: bool,
) -> None:
    """Draw the affected sub-circuit of a job, or a harness.

    \b
    Examples:
      tracer draw job.yaml -o circuit.svg --suspect 1
      tracer draw harness_models/pickup.yaml -o reverse.pdf --state "gear reverse"
    """
    from tracer.job.harnesses import load_harness
    from tracer.job.job import Job
    from tracer.job.typed import parse_state
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_harness, view_of_job

    kind = Path(output).suffix.lower().lstrip(".")
    if kind not in ("svg", "png", "pdf"):
        raise DrawingError(f"“{output}” has no known ending", "write .svg, .png or .pdf")
    positions = parse_settings(settings)
    if positions and words:
        raise click.UsageError("give the vehicle state by --set or by --state, not by both")

    def state_of(harness: Harness) -> VehicleState | None:
        if words:
            return parse_state(words, harness)
        return harness.state(positions) if positions else None

    need_free(output, [job_or_harness])
    if kind_of_content(job_or_harness) == "job":
        job = Job(Path(job_or_harness))
        harness = job.harness
        need_free(output, [job_or_harness, job.harness_path])
        view = view_of_job(job, state=state_of(harness), suspect=suspect, whole=whole)
    else:
        harness = load_harness(job_or_harness)
        if suspect is not None:
            raise TracerError("--suspect needs a job", "a harness has no suspects")
        view = view_of_harness(harness, state=state_of(harness))
    write_output(output, draw(harness, view, kind), [job_or_harness])  # type: ignore[arg-type]
    show(as_json, lambda: {"written": output, "title": view.title}, lambda: f"written: {output}")


@click.command("guide")
@click.argument("job", type=click.Path())
@click.option("--lines", is_flag=True, help="Plain line mode, for pipes.")
@json_option
def guide_command(job: str, lines: bool, as_json: bool) -> int:
    """The whole job as a conversation in the terminal; stops and resumes where you like.

    Example: tracer guide job.yaml
    """
    from tracer.guide import terminal_guide
    from tracer.job.job import Job

    opened = Job(Path(job))
    if as_json:  # a conversation has no JSON; where it stands has
        say_json({"job": job, "status": opened.status(), "closed": opened.closed})
        return 0
    return terminal_guide(opened, lines=lines)


@click.command("report")
@click.argument("job", type=click.Path())
@click.option("-o", "--output", type=click.Path(),
              help="FILE.html or FILE.md; without it Markdown on standard output.")
@click.option("--photos", is_flag=True, help="With the photos of the job.")
@json_option
def report_command(job: str, output: str | None, photos: bool, as_json: bool) -> int:
    """The record of the job for the customer and the file: HTML (self-contained) or Markdown.

    Where the harness file no longer fits the job, the entries are given as they were recorded, with status 1.

    Example: tracer report job.yaml -o report.html
    """
    from tracer.job.job import Job
    from tracer.present.report import bare_report, report_data, report_html, report_markdown

    if output is not None:
        need_free(output, [job])
    note, kind = "", "" if output is None else Path(output).suffix.lower()
    if kind not in _REPORTS:
        raise TracerError(f"“{output}” has no known ending", "write .html or .md")
    try:
        opened = Job(Path(job))
        if output is not None:
            need_free(output, [job, opened.harness_path])
        if output is None and as_json:
            show(True, lambda: report_data(opened), str)
            return 0
        text = (report_html(opened, _drawing(opened), photos) if kind.startswith(".h")
                else report_markdown(opened, photos))
    except TracerError as error:
        bare = bare_report(job, str(error), as_html=kind.startswith(".h"))
        if bare is None or (output is None and as_json):
            raise
        text, note = bare, f"note: only the bare record is given, since not all of it is understood: {error}"
    if output is None:
        say(text)
    else:
        write_output(output, text, [job])
        show(as_json, lambda: {"written": output}, lambda: f"written: {output}")
    if note:
        say(note, err=True)
    return 1 if note else 0


def _drawing(job: Job) -> str | None:
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_job

    try:
        return draw(job.harness, view_of_job(job), "svg").decode("utf-8")
    except DrawingError as error:
        say(f"note: no drawing in the report: {error}", err=True)
        return None
