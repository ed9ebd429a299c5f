"""The page of one thing of the vehicle: what is known of it, its photos and notes, and new ones."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final
from urllib.parse import urlencode

from flask import Response, abort, request
from werkzeug.wrappers import Response as AnyResponse

from tracer.errors import ReadingError, UnknownNameError
from tracer.job.photos import MOST_BYTES, add_note, add_photo, photo_file
from tracer.page.shared import Pages
from tracer.present.conversation.thing import thing_of

_FORM: Final = 200_000  # bytes of what stands beside a photo


class ThingPages:
    """The views of things and photos, over the pages of the folder."""

    def __init__(self, pages: Pages) -> None:
        self.pages = pages

    def rules(self) -> list[tuple[str, Callable[..., Any], list[str]]]:
        return [
            ("/job/<name>/at", self.at, ["GET"]), ("/job/<name>/at", self.keep, ["POST"]),
            ("/job/<name>/photo/<of>/<file>", self.photo, ["GET"]),
        ]

    def at(self, name: str) -> str:
        with self.pages.opened(name) as opened:
            thing = thing_of(opened.job, request.args.get("point", ""))
            return self.pages.page("thing.html", opened, name, thing=thing)

    def keep(self, name: str) -> AnyResponse:
        """A photo, a note, or both; what comes twice with one mark is kept once."""
        request.max_content_length = MOST_BYTES + _FORM
        request.max_form_memory_size = _FORM  # more than is read at once, else a large file counts as a field
        form, file = request.form, request.files.get("photo")
        content = file.read(MOST_BYTES + 1) if file is not None and file.filename else b""
        text, point, mark = form.get("text", "").strip()[:500], form.get("point", ""), form.get("mark", "")[:40]
        if not content and not text:
            raise ReadingError("there is nothing to keep yet", "take a photo, or write a note")
        with self.pages.opened(name) as opened, opened.job.marking(mark):
            kept = add_photo(opened.job, content, point, text) if content else add_note(opened.job, text, point)
            return self.pages.go(f"/job/{name}/at?{urlencode({'point': point, 'said': kept.number})}")

    def photo(self, name: str, of: str, file: str) -> Response:
        with self.pages.opened(name) as opened:
            try:
                content = photo_file(opened.job, f"{of}/{file}").read_bytes()
            except UnknownNameError:
                abort(404)
        return Response(content, mimetype="image/jpeg")

