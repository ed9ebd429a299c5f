"""The record of a job for the customer and the file: data, HTML and Markdown."""

from __future__ import annotations

from tracer.job.job import Job
from tracer.present.report.bare import bare_report
from tracer.present.report.customer import Bill, bill, customer_data, customer_html, customer_markdown
from tracer.present.report.data import report_data
from tracer.present.report.markdown import as_markdown
from tracer.present.report.page import as_html
from tracer.present.report.photos import photo_blocks
from tracer.present.report.words import report_blocks

__all__ = [
    "Bill", "bare_report", "bill", "customer_data", "customer_html", "customer_markdown", "report_data",
    "report_html", "report_markdown",
]

_KIND = "Job record"


def report_html(job: Job, drawing_svg: str | None = None, photos: bool = False) -> str:
    """One page that needs nothing but itself: prints on A4, reads on a phone, runs no script.

    Args:
        job: The job; it is not changed.
        drawing_svg: The drawing of the affected circuit (`draw(job.harness, view_of_job(job), "svg")`), shown inline.
        photos: With the photos of the job in it.

    Raises:
        DrawingError: The drawing is not plain SVG.
    """
    data = report_data(job)
    return as_html(_title(job), _KIND, [*report_blocks(data), *(photo_blocks(job) if photos else ())], drawing_svg)


def report_markdown(job: Job, photos: bool = False) -> str:
    """The same record as Markdown, without the drawing; photos by the names of their files."""
    blocks = [*report_blocks(report_data(job)), *(photo_blocks(job) if photos else ())]
    return as_markdown(_title(job), _KIND, blocks)


def _title(job: Job) -> str:
    return job.vehicle.strip() or job.harness.title
