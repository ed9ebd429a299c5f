"""Typing a harness on a page: findings at their lines, the healthy table, the drawing, the last good state.

A file is saved whole or not at all, and never over one that was changed since it was opened here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from threading import RLock
from typing import Any, Final

from flask import Response, abort, jsonify, render_template, request
from msgspec import Struct, field
from werkzeug.wrappers import Response as AnyResponse

from tracer.errors import DrawingError
from tracer.job.new_harness import read_text_file
from tracer.job.while_typing import Harness, Looked, completions, look_at
from tracer.job.whole_file import replace_whole
from tracer.page.folder import Folder
from tracer.present.drawing.draw import draw
from tracer.present.drawing.selection import view_of_harness

DRAWING_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'"
_MOST_OPEN: Final = 20


class _Good(Struct):
    """The last text of a file that had no errors, and what it describes."""

    text: str = ""
    harness: Harness | None = None
    mark: str = ""


class TypedFiles(Struct):
    """The views, over the harness files of one folder."""

    folder: Folder
    _good: dict[str, _Good] = field(default_factory=dict)
    _lock: RLock = field(default_factory=RLock)

    def rules(self) -> list[tuple[str, Callable[..., Any], list[str]]]:
        return [("/typing", self.typing, ["GET"]), ("/typing", self.typed, ["POST"]),
                ("/typing/drawing.svg", self.typing_drawing, ["GET"])]

    def typing(self) -> str | AnyResponse:
        """The file as it stands."""
        name, path = self._file(request.args.get("file", ""))
        text = read_text_file(path)
        return self._page(name, text, self._look(name, text), stamp=stamp_of(path), says="")

    def typed(self) -> str | AnyResponse | tuple[str | AnyResponse, int]:
        """Look at what is typed, save it, or go back to the last good state."""
        name, path = self._file(request.form.get("file", ""))
        text = request.form.get("text", "").replace("\r\n", "\n").replace("\r", "\n")
        stamp, what, status, says = request.form.get("stamp", ""), request.form.get("what", "look"), 200, ""
        if what == "good":
            text = self._good[name].text if name in self._good else text
        looked = self._look(name, text)
        if what == "save":
            with self._lock:
                if stamp_of(path) != stamp:
                    status = 409
                    says = ("The file was changed since you opened it here; nothing was saved. Copy your text, open "
                            "the file again and lay yours into it.")
                else:
                    crlf = b"\r\n" in path.read_bytes()
                    replace_whole(path.resolve(), (text.replace("\n", "\r\n") if crlf else text).encode("utf-8"))
                    stamp, says = stamp_of(path), _saved(looked)
        if request.headers.get("Accept") == "application/json":
            return self._data(name, looked, stamp, says), status
        return self._page(name, text, looked, stamp, says), status

    def typing_drawing(self) -> Response:
        """The whole circuit of the last good state."""
        name, _ = self._file(request.args.get("file", ""))
        good = self._good.get(name)
        if good is None or good.harness is None:
            abort(404, "Nothing to draw yet: the text has errors.")
        try:
            picture = draw(good.harness, view_of_harness(good.harness), "svg")
        except DrawingError as error:
            abort(404, str(error))
        answered = Response(picture, mimetype="image/svg+xml")
        answered.headers["Content-Security-Policy"] = DRAWING_POLICY
        return answered

    def _file(self, name: str) -> tuple[str, Path]:
        """A harness file, looked up among those that are there: a name never becomes a path."""
        known = self.folder.harnesses()
        if name not in known:
            abort(404)
        return name, known[name]

    def _look(self, name: str, text: str) -> Looked:
        looked = look_at(text, name)
        if looked.good:
            with self._lock:
                self._good[name] = _Good(text, looked.harness, hashlib.sha256(text.encode()).hexdigest()[:16])
                while len(self._good) > _MOST_OPEN:
                    self._good.pop(next(iter(self._good)))
        return looked

    def _page(self, name: str, text: str, looked: Looked, stamp: str, says: str) -> str:
        good = self._good.get(name, _Good())
        return render_template("typing.html", file=name, text=text, looked=looked, stamp=stamp, says=says,
                               good=good.mark, completions=completions(good.harness))

    def _data(self, name: str, looked: Looked, stamp: str, says: str) -> AnyResponse:
        good = self._good.get(name, _Good())
        return jsonify({
            "findings": looked.findings, "healthy": looked.healthy, "good": good.mark, "stamp": stamp, "says": says,
            "completions": completions(good.harness),
        })


def stamp_of(path: Path) -> str:
    """What stands in a file now, in few letters."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


def _saved(looked: Looked) -> str:
    errors = sum(f["severity"] == "error" for f in looked.findings)
    if not errors:
        return "Saved."
    return f"Saved with {errors} error{'s' * (errors != 1)}: jobs on this file cannot be opened until none is left."
