"""The command that works the coming steps of a job out ahead, as a sheet to take along."""

from __future__ import annotations

from pathlib import Path

import click

from tracer.commands.output import finite, json_option, show
from tracer.errors import TracerError
from tracer.job.whole_file import need_free, write_output
from tracer.present.screen import Progress
from tracer.units import percent


@click.command("plan")
@click.argument("job", type=click.Path())
@click.option("-o", "--output", type=click.Path(), required=True, help="FILE.html: one file, needs no connection.")
@click.option("--depth", type=click.IntRange(1, 30), default=8, show_default=True, help="Steps in a row at most.")
@click.option("--minutes", type=click.FloatRange(0.01, 60), default=0.9, show_default=True, callback=finite,
              help="Minutes to work it out at most; what is likeliest comes first.")
@json_option
def plan_command(job: str, output: str, depth: int, minutes: float, as_json: bool) -> None:
    """The coming steps of JOB worked out ahead, for where there is no connection: a page that works on a phone in
    flight mode and prints as numbered boxes.

    What was answered on the phone comes back as one line: tracer reading JOB --from-plan "LINE"

    Example: tracer plan job.yaml -o plan.html
    """
    from tracer.job.job import Job
    from tracer.present.sheet.page import sheet_html
    from tracer.present.sheet.tree import grow

    if Path(output).suffix.lower() not in (".html", ".htm"):
        raise TracerError(f"“{output}” has no known ending", "write .html")
    need_free(output, [job])
    opened = Job(Path(job))
    need_free(output, [job, opened.harness_path])

    def progress(share: float, boxes: int) -> None:
        done = round(20 * share)
        Progress.note(f"[{'#' * done}{'.' * (20 - done)}] {percent(share)} of the cases, {boxes} boxes")

    sheet = grow(opened, depth, minutes, progress)
    write_output(output, sheet_html(opened, sheet), [job, opened.harness_path])
    show(
        as_json,
        lambda: {"written": output, "boxes": len(sheet.boxes), "covered": sheet.covered,
                 "minutes_by_sheet": sheet.by_sheet, "minutes_anew": sheet.anew, "ends_because": sheet.cut},
        lambda: f"written: {output}\n{len(sheet.boxes)} boxes lead to a repair in {percent(sheet.covered)} of the "
                f"cases{f' ({sheet.cut})' if sheet.cut else ''}\n"
                f"about {sheet.by_sheet:.0f} min to a proven repair by the sheet, {sheet.anew:.0f} min when each "
                f'step is thought of anew\nthe answers come back with: tracer reading {job} --from-plan "LINE"',
    )
