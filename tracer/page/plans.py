"""The plan on a sheet from the page: worked out beside the other requests, then taken along as one file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Lock, Thread
from typing import Any

from flask import Response, abort, redirect, request
from msgspec import Struct, field
from werkzeug.wrappers import Response as AnyResponse

from tracer.errors import ReadingError, TracerError
from tracer.job.job import Job
from tracer.job.what_if import state_mark
from tracer.page.shared import Pages
from tracer.present.sheet.line import record_line
from tracer.present.sheet.page import policy, sheet_html
from tracer.present.sheet.tree import Sheet, grow
from tracer.present.text_lines import plural

_MOST_KEPT = 10


class Making(Struct):
    """A plan that is being worked out, or is ready (`html`), or failed (`error`)."""

    share: float = 0.0
    boxes: int = 0
    sheet: Sheet | None = None
    html: str = ""
    error: str = ""

    @property
    def running(self) -> bool:
        return not self.html and not self.error


class Plans(Struct):
    """The plans made since the server was started, the latest of each job; one is made at a time."""

    _made: dict[str, Making] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)
    _one: Lock = field(default_factory=Lock)

    def of(self, name: str) -> Making | None:
        return self._made.get(name)

    def begin(self, name: str, path: Path) -> None:
        """Begin one, unless it is being made."""
        with self._lock:
            now = self._made.get(name)
            if now is not None and now.running:
                return
            self._made.pop(name, None)
            making = self._made[name] = Making()
            for old in [n for n, m in self._made.items() if not m.running][: len(self._made) - _MOST_KEPT]:
                del self._made[old]
        Thread(target=self._make, args=(making, path), name="plan", daemon=True).start()

    def _make(self, making: Making, path: Path) -> None:
        def progress(share: float, boxes: int) -> None:
            making.share, making.boxes = share, boxes

        with self._one:
            try:
                job = Job(path)  # its own, so that nobody waits for it
                making.sheet = grow(job, progress=progress)
                making.html = sheet_html(job, making.sheet)
            except TracerError as error:
                making.error = str(error)
            except Exception:
                making.error = "the plan could not be worked out; the job is as it was"
                raise


class PlanPages:
    """The views of the plan, over the pages of the folder."""

    def __init__(self, pages: Pages) -> None:
        self.pages, self.plans = pages, Plans()

    def rules(self) -> list[tuple[str, Callable[..., Any], list[str]]]:
        return [
            ("/job/<name>/plan", self.plan, ["GET"]), ("/job/<name>/plan", self.make, ["POST"]),
            ("/job/<name>/plan.html", self.plan_file, ["GET"]), ("/job/<name>/line", self.line, ["POST"]),
        ]

    def plan(self, name: str) -> str:
        with self.pages.opened(name) as opened:
            made = self.plans.of(name)
            stale = made is not None and made.sheet is not None and made.sheet.mark != state_mark(opened.job)
            return self.pages.page("plan.html", opened, name, made=made, stale=stale)

    def make(self, name: str) -> AnyResponse:
        with self.pages.opened(name) as opened:
            self.plans.begin(name, opened.job.path)
        return redirect(f"/job/{name}/plan", 303)

    def plan_file(self, name: str) -> Response:
        made = self.plans.of(name)
        if made is None or not made.html:
            abort(404)
        answered = Response(made.html, mimetype="text/html")
        answered.headers["Content-Security-Policy"] = policy()
        if "keep" in request.args:
            answered.headers.set("Content-Disposition", "attachment", filename=f"plan-{name}.html")
        return answered

    def line(self, name: str) -> AnyResponse:
        text = request.form.get("line", "").strip()
        if not text:
            raise ReadingError("there is no line yet", "copy it at the end of the sheet, and paste it here")
        with self.pages.opened(name) as opened:
            done = record_line(opened.job, text)
            told = f"{plural(len(done.said), 'answer')} of the sheet recorded"
            opened.remarks[done.last] = "; ".join(done.remarks), told
            return self.pages.go(f"/job/{name}?said={done.last}")
