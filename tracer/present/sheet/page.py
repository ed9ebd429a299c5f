"""A sheet as one self-contained page: boxes to print, on a phone one box at a time with its answers kept there."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from functools import cache
from importlib.resources import files
from typing import Final

from msgspec import Struct

from tracer.job.job import Job
from tracer.present.conversation.screens import Mend, Step
from tracer.present.html import templates
from tracer.present.sheet.line import HEAD, check_field, escaped, read_field
from tracer.present.sheet.tree import Box, Sheet, Way

MOST_BYTES: Final = 500_000


class Answer(Struct, frozen=True):
    """One way out as it is shown. `field`: what it adds to the line; `to`: number of the box, 0 where the sheet
    ends; `end`: what is said there; `low`, `high`: ends of a range, "" where it is open."""

    says: str
    share: float | None
    field: str
    to: int
    end: str
    low: str = ""
    high: str = ""


@cache
def _script() -> str:
    return (files("tracer.present") / "templates" / "sheet.js").read_text(encoding="utf-8")


@cache
def policy() -> str:
    """The content policy of the page: its own script and nothing else."""
    allowed = b64encode(hashlib.sha256(_script().encode()).digest()).decode()
    return (f"default-src 'none'; script-src 'sha256-{allowed}'; style-src 'unsafe-inline'; base-uri 'none'; "
            "form-action 'none'")


def sheet_html(job: Job, sheet: Sheet) -> str:
    """The page."""
    return templates().get_template("sheet.html").render(
        vehicle=job.vehicle or job.path.stem, complaint=job.complaint, sheet=sheet, script=_script(), policy=policy(),
        head=f"{HEAD} {sheet.mark}", boxes=[(b, answers_of(b), prefix_of(b)) for b in sheet.boxes],
        file=job.path.name,
    )


def prefix_of(box: Box) -> str:
    """What a typed number is put behind in the line; "" where none is typed."""
    return f"r {escaped(box.test)}=" if isinstance(box.screen, Step) and box.screen.unit else ""


def answers_of(box: Box) -> list[Answer]:
    """The ways out of a box, in order."""
    out = [_answer(box, way) for way in box.ways]
    if isinstance(box.screen, Mend):
        out.insert(1, Answer("repaired; a check shows something else, or is not made", None,
                             f"m {escaped(box.screen.what)}", 0, "Record at the bench what the check showed."))
    elif isinstance(box.screen, Step):
        out.append(Answer("something else", None, "", 0, "Ask the tool again with what was seen or measured here."))
    return out


def _answer(box: Box, way: Way) -> Answer:
    to = way.to.number if way.to is not None else 0
    end = "" if to else "The sheet ends here: ask the tool again."
    if isinstance(box.screen, Mend):
        repair = f"m {escaped(box.screen.what)}"
        if way.kind == "cured":
            checks = "".join(f";{check_field(c.check)}" for c in box.checks)
            says = "repaired, and every check as it must be" if box.checks else "repaired, and all is right"
            end = "Repaired and proven." if box.checks else "Repaired. Make the checks that the tool then asks for."
            return Answer(says, way.share, repair + checks, 0, end)
        return Answer("repaired, and still as before", way.share, f"{repair};n", to, end)
    if way.kind == "not done":
        return Answer(way.says, None, f"x {escaped(box.test)}", to, end)
    low, high = (f"{x:g}" if abs(x) < float("inf") else "" for x in (way.low, way.high))
    return Answer(way.says, way.share, read_field(box.test, way.value, way.also), to, end, low, high)
