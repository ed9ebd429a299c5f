"""The record of a job whose entries cannot all be understood: what was written, as it was written.

A harness file may have lost what the job speaks of, or be lost itself; the record of what was seen, measured and
repaired must be printed all the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from tracer.errors import TracerError
from tracer.job import file as job_file
from tracer.job.text import WITHDRAWN, Event, JobRecord
from tracer.present.report.markdown import as_markdown
from tracer.present.report.page import as_html as html_page
from tracer.present.report.words import Block, Card, Facts, Heading, Paragraph, when

_TITLE: Final = "Job record, entries as recorded"
_BRIEF: Final = ("text", "state", "repair", "parts", "minutes")
_MOST: Final = 2_000  # characters of one value


def bare_report(path: str | Path, why: str, as_html: bool = False) -> str | None:
    """The entries of a job as they stand in its file, in Markdown or HTML.

    Args:
        why: What hinders the whole report.

    Returns:
        None if the file cannot be read as a job at all.
    """
    try:
        record = job_file.read(path)
    except TracerError:
        return None
    title = record.header.vehicle.strip() or Path(path).name
    blocks = _blocks(record, why)
    return html_page(title, _TITLE, blocks, None) if as_html else as_markdown(title, _TITLE, blocks)


def _blocks(record: JobRecord, why: str) -> list[Block]:
    head = record.header
    facts = Facts((("Complaint as given", head.complaint or "none recorded"), ("Harness file", head.harness)))
    told = (
        f"Not all of this job is understood: {why} So nothing is concluded from it here; below is what was recorded."
    )
    shown = [e for e in record.events if e.kind not in ("proposed", WITHDRAWN)]
    cards: list[Block] = [
        Card(f"{e.number}: {e.kind}, {when(e.time.isoformat())}", (Facts(_rows(e)),), e.withdrawn) for e in shown
    ]
    return [facts, Paragraph(told, "warning"), Heading("Entries"), *(cards or [Paragraph("none")])]


def _rows(event: Event) -> tuple[tuple[str, str], ...]:
    """What an entry says: in the words typed, where there are any, else all that is recorded."""
    brief = event.kind == "repaired" or (event.kind == "symptom" and "text" in event.data)
    return tuple((k, _said(v)) for k, v in event.data.items() if not brief or k in _BRIEF)


def _said(value: Any) -> str:
    if isinstance(value, Mapping):
        said = ", ".join(f"{k} {_said(v)}" for k, v in value.items())
    elif isinstance(value, list):
        said = "; ".join(map(_said, value))
    else:
        said = "–" if value is None else ("yes" if value else "no") if isinstance(value, bool) else str(value)
    return said if len(said) <= _MOST else said[: _MOST - 1] + "…"
