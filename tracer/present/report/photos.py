"""The photos of a job as blocks of its report."""

from __future__ import annotations

from base64 import b64encode

from tracer.job.job import Job
from tracer.job.photos import photos_of
from tracer.present.report.words import Block, Heading, Picture


def photo_blocks(job: Job) -> list[Block]:
    """A heading and every photo of this job, in the order in which they were taken; nothing if there is none."""
    own = [p for p in reversed(photos_of(job)) if p.number]
    out: list[Block] = [Heading("Photos")] if own else []
    for p in own:
        caption = ", ".join(filter(None, [p.at, p.text, f"{p.time:%Y-%m-%d %H:%M}"]))
        out.append(Picture(caption, f"data:image/jpeg;base64,{b64encode(p.file.read_bytes()).decode()}", p.key))
    return out
