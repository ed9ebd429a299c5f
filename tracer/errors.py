"""Every error the package raises on purpose.

The command line turns a `TracerError` into a message on standard error and exit status 2;
anything else that escapes is a bug.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from msgspec import Struct


class Mark(Struct, frozen=True):
    """Where something was written: file, line and column (both counted from 1)."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Problem(Struct, frozen=True):
    """One thing wrong in a file: what, where, and what would be right."""

    message: str
    hint: str | None = None
    file: str | None = None
    line: int | None = None
    column: int | None = None

    @classmethod
    def at(cls, mark: Mark | None, message: str, hint: str | None = None) -> Problem:
        if mark is None:
            return cls(message, hint)
        return cls(message, hint, mark.file, mark.line, mark.column)

    def __str__(self) -> str:
        where = ":".join(str(x) for x in (self.file, self.line, self.column) if x is not None)
        text = f"{where}: {self.message}" if where else self.message
        return f"{text} ({self.hint})" if self.hint else text


class TracerError(Exception):
    """Root of the package's errors: a one-line message and, where there is one, a hint.

    `choices` are ready words, nearest first, each of which would have been understood: a terminal numbers them, a
    page makes buttons of them.
    """

    def __init__(self, message: str, hint: str | None = None, choices: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.choices = choices

    def __str__(self) -> str:
        return f"{self.message} ({self.hint})" if self.hint else self.message


class ProblemsError(TracerError):
    """One or several problems found in a file, reported together."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class UnitError(TracerError):
    """A quantity that cannot be read: wrong number, unit missing or of the wrong kind."""


class UnknownNameError(TracerError):
    """A lamp, part, terminal, control, position or place that the harness does not have."""


class SymptomError(TracerError):
    """A symptom that cannot be understood."""


class ReadingError(TracerError):
    """A reading that cannot be understood."""


class SolverError(TracerError):
    """A circuit that could not be solved."""


class JobFileError(TracerError):
    """A job file that cannot be read, written or locked."""


class DrawingError(TracerError):
    """A drawing that cannot be made."""


_COMPARED: Final = 60  # characters of a name, and
_CLOSER: Final = 12  # names, that are compared letter by letter: it takes the square of the first


def nearest(word: str, known: Iterable[str], count: int = 3) -> list[str]:
    """The known names closest in spelling to `word`, best first."""
    from difflib import get_close_matches  # seldom needed

    by_lower = {k.lower(): k for k in known}
    said = word.lower()[:_COMPARED]
    letters = [(c, said.count(c)) for c in set(said)]

    def shared(name: str) -> float:
        """The most that the names can be alike: the share of letters that both have, in whatever order."""
        name = name[:_COMPARED]
        return 2 * sum(min(name.count(c), n) for c, n in letters) / (len(name) + len(said) or 1)

    likely = sorted(by_lower, key=shared, reverse=True)[:_CLOSER]
    by_start: dict[str, str] = {}
    for name in likely:
        by_start.setdefault(name[:_COMPARED], by_lower[name])
    return [by_start[c] for c in get_close_matches(said, list(by_start), n=count, cutoff=0.5)]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint for an unknown name: the nearest ones, else the whole (short) list."""
    known = list(known)
    close = nearest(word, known)
    if close:
        return "did you mean " + " or ".join(f"“{c}”" for c in close) + "?"
    shown = ", ".join(known[:12]) + (", …" if len(known) > 12 else "")
    return f"known: {shown}" if known else "there are none"
