"""The job file: one job kept as a log of events, in YAML that a person can read and edit.

Events are only ever added at the end; taking one back adds an event that says so. What stands in
the file already is kept byte for byte. A write goes to a temporary file beside the job file, which
then takes its place, so that an interruption leaves either the old file or the new one. Writers
take turns by a lock on `.<name>.lock` in the same folder; readers need none.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from tracer.errors import JobFileError
from tracer.job.text import (
    MAX_BYTES,
    WITHDRAWN,
    Event,
    JobHeader,
    JobRecord,
    checked,
    checked_at_end,
    clean,
    margin_at_end,
    new_content,
    parse,
    with_entries,
)
from tracer.job.whole_file import replace_whole

LOCK_WAIT_S = 10.0


def sealed_path(path: str | Path) -> Path:
    """Where an exercise keeps what is wrong with its vehicle; a job of a vehicle that was really there has none."""
    job = Path(path)
    return job.with_name(job.name + ".sealed")


def create(path: str | Path, header: JobHeader, events: Iterable[Event] = ()) -> JobRecord:
    """Start a job file, and return what it says.

    Raises:
        JobFileError: The path is taken, something cannot be recorded, or the file cannot be written.
    """
    real, shown = Path(os.path.realpath(path)), os.fspath(path)
    given = [clean(e) for e in events]
    content = new_content(header, given)
    record = checked(content, shown, header, given)
    with _locked(real, shown):
        if os.path.lexists(path):
            raise JobFileError(f"{shown} exists already; nothing was changed", "give the job another name")
        _write(real, content, shown)
    return record


def read(path: str | Path) -> JobRecord:
    """Read a job file.

    Raises:
        JobFileError: Not there, not readable, empty, too big, or written by a newer format.
        ProblemsError: Something in it is wrong: every problem found, with line and column.
    """
    return parse(_bytes(Path(path), os.fspath(path)), os.fspath(path))


def append(path: str | Path, kind: str, data: Mapping[str, Any], now: datetime) -> Event:
    """Add an event at the end, and return it as recorded.

    `data` is what JSON can hold, without the keys number, time and kind; `now` has a zone and is
    recorded in whole seconds.

    Raises:
        JobFileError: As for `read`; or the event cannot be recorded, or the file not locked or
            written. Nothing was changed then.
        ProblemsError: Something in the file is wrong; nothing was changed.
    """
    return append_all(path, [(kind, data)], now)[0]


def append_all(
    path: str | Path, entries: Sequence[tuple[str, Mapping[str, Any]]], now: datetime
) -> tuple[Event, ...]:
    """Add several events (kind, data) in one write, so that all of them are there or none; errors as `append`."""
    added = _add(path, now, lambda record: entries).events
    return added[len(added) - len(entries):]


def withdraw(path: str | Path, now: datetime, number: int | None = None) -> Event:
    """Take back the last living event, or the one with this number. Nothing is erased.

    Returns:
        The event taken back (not the entry that says so), with `withdrawn` set.

    Raises:
        JobFileError: As for `append`; or there is no such event that could be taken back.
        ProblemsError: Something in the file is wrong; nothing was changed.
    """

    def entry(record: JobRecord) -> Sequence[tuple[str, Mapping[str, Any]]]:
        found = [e for e in record.living if number in (None, e.number)]
        if not found:
            what = f"entry {number} is not there, or is taken back already, or takes another back itself"
            raise JobFileError(f"{path}: {'nothing is left to take back' if number is None else what}")
        return [(WITHDRAWN, {"entry": found[-1].number})]

    *events, last = _add(path, now, entry).events
    return next(e for e in events if e.number == last.data["entry"])


def _add(
    path: str | Path, now: datetime, what: Callable[[JobRecord], Sequence[tuple[str, Mapping[str, Any]]]]
) -> JobRecord:
    real, shown = Path(os.path.realpath(path)), os.fspath(path)  # a link stays a link
    _bytes(real, shown)  # a wrong path is told before a lock file is left beside it
    if not os.access(real, os.W_OK):
        raise JobFileError(f"cannot write {shown}: the file is read-only; nothing was changed")
    with _locked(real, shown):
        old = _bytes(real, shown)
        before, margin = parse(old, shown), margin_at_end(old, shown)
        first = before.events[-1].number + 1 if before.events else 1
        events = [clean(Event(n, now, *entry)) for n, entry in enumerate(what(before), first)]
        new = with_entries(old, margin, events)
        after = checked_at_end(old, new, shown, events)
        _write(real, new, shown)
        return after


@contextmanager
def _os_errors(doing: str, shown: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise JobFileError(f"cannot {doing} {shown}: {error.strerror or error}; nothing was changed") from error


@contextmanager
def _locked(real: Path, shown: str) -> Iterator[None]:
    """Take turns with other programs; the lock goes with the program that holds it, however that ends."""
    from filelock import FileLock, Timeout  # takes as long to import as all the rest of a command's start

    if not os.path.isdir(real.parent):
        raise JobFileError(f"cannot write {shown}: there is no folder {real.parent}; nothing was changed")
    path = real.with_name(f".{real.name}.lock")
    with _os_errors("lock", shown):
        # Whatever else was put in its place is left alone: behind a link may be a file of somebody's.
        if os.path.lexists(path) and not stat.S_ISREG(os.lstat(path).st_mode):
            raise JobFileError(f"cannot lock {shown}: {path.name} beside it is no plain file; nothing was changed",
                               "delete it: it is made anew")
        lock = FileLock(path, timeout=LOCK_WAIT_S, poll_interval=0.01)
        try:
            lock.acquire()
        except Timeout:
            raise JobFileError(f"{shown} is in use by another program; nothing was changed", "try again") from None
    try:
        yield
    finally:
        lock.release()


def other_names(path: str | Path) -> int:
    """How many other names (hard links) the file has: what is written under this one they do not follow."""
    try:
        return max(os.stat(path).st_nlink - 1, 0)
    except OSError:
        return 0


def _write(real: Path, content: bytes, shown: str) -> None:
    """Replace the file, under the lock."""
    with _os_errors("write", shown):
        replace_whole(real, content)


def _bytes(real: Path, shown: str) -> bytes:
    if not os.path.isfile(real):
        what = "is a folder or a device, not a job file" if os.path.exists(real) else "is not there"
        folder = "" if os.path.isdir(real.parent) else f": there is no folder {real.parent}"
        raise JobFileError(f"{shown} {what}{folder}")
    with _os_errors("read", shown), open(real, "rb") as file:
        return file.read(MAX_BYTES + 1)
