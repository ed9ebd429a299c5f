"""The one place where anything is printed: no control characters, and no stop at a sign that the terminal lacks.

Texts come from files and customers: an escape sequence in a complaint could otherwise clear the screen, fill the
clipboard or forge a link. Terminals that know few signs (cp1252, Latin-1) get the trade's signs spelt out.
"""

from __future__ import annotations

import codecs
import json
import os
import re
import sys
import threading
import time
from contextlib import suppress
from types import TracebackType
from typing import Any, ClassVar, Final, Self, TextIO

from tracer.present.text import UNSEEN, plain

_SPELT: Final = {
    "Ω": "ohm", "→": "->", "←": "<-", "…": "...", "–": "-", "—": "-", "“": '"', "”": '"', "‘": "'", "’": "'",
    "²": "2", "×": "x", "·": "-", "•": "-", "●": "*", "✓": "ok", "≥": ">=", "≤": "<=", "≈": "about ", "−": "-",
    "°": "deg ", "µ": "u", "±": "+-", "\u00a0": " ", "\ufffd": "?",
}
_HANDLER: Final = "tracer_spelt"
_USUAL_COLUMNS: Final = 80
_MOST_COLUMNS: Final = 100


def _spell(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_SPELT.get(c, "?") for c in error.object[error.start:error.end]), error.end


codecs.register_error(_HANDLER, _spell)


def width() -> int:
    """Columns to write in: as `shutil.get_terminal_size` finds them, whose module takes a hundredth of a command's
    start to read in."""
    with suppress(KeyError, ValueError):
        if (told := int(os.environ["COLUMNS"])) > 0:
            return min(told, _MOST_COLUMNS)
    if sys.__stdout__ is not None:
        with suppress(ValueError, OSError):  # closed, or no terminal
            return min(os.get_terminal_size(sys.__stdout__.fileno()).columns or _USUAL_COLUMNS, _MOST_COLUMNS)
    return _USUAL_COLUMNS


def prepare_streams() -> None:
    """Let standard input and output never stop at a character that the terminal lacks."""
    for stream, handler in ((sys.stdin, "replace"), (sys.stdout, _HANDLER), (sys.stderr, _HANDLER)):
        if hasattr(stream, "reconfigure"):  # not where somebody has put a stream of their own in its place
            stream.reconfigure(errors=handler)


def say(text: str, err: bool = False, end: str = "\n") -> None:
    """Print text on standard output, or standard error, at once."""
    Progress.over()
    stream = sys.stderr if err else sys.stdout
    if stream is None:  # a program without a console
        return
    stream.write(plain(text) + end)
    stream.flush()


def say_json(data: Any) -> None:
    """Print data as JSON, in UTF-8 where the stream is, else in ASCII: other programs read it either way."""
    Progress.over()
    stream: TextIO | None = sys.stdout
    encoding = codecs.lookup(getattr(stream, "encoding", None) or "utf-8").name
    text = json.dumps(data, indent=2, ensure_ascii=encoding != "utf-8")
    if stream is not None:
        stream.write(re.sub(UNSEEN, _escaped, text) + "\n")
        stream.flush()


def _escaped(match: re.Match[str]) -> str:
    return f"\\u{ord(match[0]):04x}"


class Progress:
    """While it is entered: after two seconds one line on standard error that counts the seconds. Only on a terminal,
    and gone with the first thing that is said."""

    AFTER_S: ClassVar[float] = 2.0
    _now: ClassVar[Progress | None] = None

    def __init__(self) -> None:
        self._said = ""
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def __enter__(self) -> Self:
        if sys.stderr is not None and sys.stderr.isatty():
            Progress._now = self
            self._thread = threading.Thread(target=self._count, daemon=True)
            self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None:
        self._end()

    @classmethod
    def note(cls, text: str) -> None:
        """How far it is: stands beside the seconds from the next one on."""
        if cls._now is not None:
            cls._now._said = text

    @classmethod
    def over(cls) -> None:
        """End the one that runs, if there is one."""
        if cls._now is not None:
            cls._now._end()

    def _count(self) -> None:
        start = time.monotonic()
        shown = ""
        while not self._stop.wait(1.0 if shown else self.AFTER_S):
            before = len(shown)
            said = f" {plain(self._said)}" if self._said else ""
            shown = f"working … {time.monotonic() - start:.0f} s{said} (Ctrl-C stops)"
            sys.stderr.write(f"\r{shown.ljust(before)}")
            sys.stderr.flush()
        if shown:
            sys.stderr.write(f"\r{' ' * len(shown)}\r")
            sys.stderr.flush()

    def _end(self) -> None:
        Progress._now = None
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
