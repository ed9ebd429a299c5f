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
@click.option("--for", "reader", type=click.Choice(["file", "customer"]), default="file", show_default=True,
              help="The full record, or one page for the customer.")
@click.option("--head", type=click.Path(exists=True, dir_okay=False), help="The workshop's own head, a text file.")
@click.option("--rate", metavar="AMOUNT", help="What an hour costs, such as “60 €”.")
@click.option("--price", "prices", multiple=True, metavar="PART=AMOUNT", help="Price of a part fitted; repeatable.")
@click.option("--photos", is_flag=True, help="With the photos of the job, in the full record.")
@click.option("--tax", default="", help="The line about taxes, in your own words.")
@json_option
def report_command(
    job: str, output: str | None, reader: str, head: str | None, rate: str | None, prices: tuple[str, ...], tax: str,
    photos: bool, as_json: bool,
) -> int:
    """The record of the job for the file, or one page for the customer: HTML (self-contained) or Markdown.

    Where the harness file no longer fits the job, the entries are given as they were recorded, with status 1.

    \b
    Examples:
      tracer report job.yaml -o report.html
      tracer report job.yaml --for customer --head workshop.txt --rate "60 €" -o page.html
    """
    if reader == "customer":
        if photos:
            raise click.UsageError("--photos belongs to the full record")
        return _for_customer(job, output, head, (rate, prices, tax), as_json)
    if head or rate is not None or prices or tax:
        raise click.UsageError("--head, --rate, --price and --tax belong to --for customer")
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


def _for_customer(
    job: str, output: str | None, head: str | None, asked: tuple[str | None, tuple[str, ...], str], as_json: bool
) -> int:
    """One page for the customer. What cannot be understood of the job is an error here: a page for somebody else says
    nothing that is not known."""
    from tracer.job.harnesses import read_text_file
    from tracer.job.job import Job
    from tracer.present.report import bill, customer_data, customer_html, customer_markdown

    kind = "" if output is None else Path(output).suffix.lower()
    if kind not in _REPORTS:
        raise TracerError(f"“{output}” has no known ending", "write .html or .md")
    own = [job] if head is None else [job, head]
    if output is not None:
        need_free(output, own)
    prices, opened = bill(*asked), Job(Path(job))
    words = "" if head is None else read_text_file(head)
    if output is None:
        show(as_json, lambda: customer_data(opened, prices, words), lambda: customer_markdown(opened, prices, words))
        return 0
    page = customer_html if kind.startswith(".h") else customer_markdown
    write_output(output, page(opened, prices, words), [*own, opened.harness_path])
    show(as_json, lambda: {"written": output}, lambda: f"written: {output}")
    return 0


def _drawing(job: Job) -> str | None:
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_job

    try:
        return draw(job.harness, view_of_job(job), "svg").decode("utf-8")
    except DrawingError as error:
        say(f"note: no drawing in the report: {error}", err=True)
        return None
