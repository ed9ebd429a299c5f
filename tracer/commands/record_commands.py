"""Commands that draw, guide and report."""

from __future__ import annotations

from pathlib import Path

import click

from tracer.commands.output import json_option, parse_settings, show
from tracer.errors import DrawingError, TracerError
from tracer.job.values import Harness, VehicleState


def _is_job(path: str) -> bool:
    try:
        with Path(path).open(encoding="utf-8", errors="replace") as file:
            return any(line.startswith("tracer job:") for line in (file.readline() for _ in range(30)))
    except OSError:
        return False


@click.command("draw")
@click.argument("job_or_harness")
@click.option("-o", "--output", required=True, help="FILE.svg, FILE.png or FILE.pdf.")
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

    if _is_job(job_or_harness):
        job = Job(Path(job_or_harness))
        harness = job.harness
        view = view_of_job(job, state=state_of(harness), suspect=suspect, whole=whole)
    else:
        harness = load_harness(job_or_harness)
        if suspect is not None:
            raise TracerError("--suspect needs a job", "a harness has no suspects")
        view = view_of_harness(harness, state=state_of(harness))
    Path(output).write_bytes(draw(harness, view, kind))  # type: ignore[arg-type]
    show(as_json, lambda: {"written": output, "title": view.title}, lambda: f"written: {output}")


@click.command("guide")
@click.argument("job")
@click.option("--lines", is_flag=True, help="Plain line mode, for pipes.")
@json_option
def guide_command(job: str, lines: bool, as_json: bool) -> int:
    """The whole job as a conversation in the terminal; stops and resumes where you like.

    Example: tracer guide job.yaml
    """
    import json

    from tracer.guide import terminal_guide
    from tracer.job.job import Job

    opened = Job(Path(job))
    if as_json:  # a conversation has no JSON; where it stands has
        click.echo(json.dumps({"job": job, "status": opened.status(), "closed": opened.closed}, ensure_ascii=False))
        return 0
    return terminal_guide(opened, lines=lines)


@click.command("report")
@click.argument("job")
@click.option("-o", "--output", help="FILE.html or FILE.md; without it Markdown on standard output.")
@json_option
def report_command(job: str, output: str | None, as_json: bool) -> None:
    """The record of the job for the customer and the file: HTML (self-contained) or Markdown.

    Example: tracer report job.yaml -o report.html
    """
    from tracer.job.job import Job
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_job
    from tracer.present.report import report_data, report_html, report_markdown

    opened = Job(Path(job))
    if output is None:
        show(as_json, lambda: report_data(opened), lambda: report_markdown(opened))
        return
    if output.lower().endswith((".html", ".htm")):
        try:
            svg: str | None = draw(opened.harness, view_of_job(opened), "svg").decode("utf-8")
        except DrawingError as error:
            click.echo(f"note: no drawing in the report: {error}", err=True)
            svg = None
        text = report_html(opened, svg)
    elif output.lower().endswith((".md", ".markdown")):
        text = report_markdown(opened)
    else:
        raise TracerError(f"“{output}” has no known ending", "write .html or .md")
    Path(output).write_text(text, encoding="utf-8")
    show(as_json, lambda: {"written": output}, lambda: f"written: {output}")
