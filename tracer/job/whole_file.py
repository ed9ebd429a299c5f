"""Files written as a whole or not at all, and what may not be written over.

The content goes to a file of its own beside the target, onto the disk, and only then takes the target's name: a full
disk or an interruption leaves what stood there before. Line ends and encoding are those of the bytes given, on every
system.
"""

from __future__ import annotations

import os
import re
import stat
import time as clock
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Final

from tracer.errors import TracerError

_HEAD_BYTES: Final = 65_536  # a job and a harness say what they are in their first lines
_JOB: Final = re.compile(rb"^(?:\xef\xbb\xbf)?[\"']?tracer job[\"']?[ \t]*:", re.MULTILINE)
_HARNESS: Final = re.compile(rb"^(?:\xef\xbb\xbf)?[\"']?(?:harness|overlay)[\"']?[ \t]*:", re.MULTILINE)
# A virus scanner or an indexer may hold a new file open for a moment on Windows (common practice, no source).
_WINDOWS: Final = os.name == "nt"
_TRIES: Final = 20
_BETWEEN_S: Final = 0.05


def replace_whole(target: Path, content: bytes) -> None:
    """Put `content` in the place of `target`, which is no link. A file left by an interruption goes first.

    Raises:
        OSError: It cannot be written; what stood there is as before.
    """
    beside = target.with_name(f".{target.name}.tmp")
    beside.unlink(missing_ok=True)
    try:
        with open(beside, "xb") as file:  # "x": a link prepared under this name is not followed
            with suppress(OSError):  # where there was no file before
                os.chmod(beside, stat.S_IMODE(os.stat(target).st_mode))
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _take_name(beside, target)
    finally:
        with suppress(OSError):
            beside.unlink()
    with suppress(OSError):  # the new file is in place; some systems cannot sync a folder
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _take_name(beside: Path, target: Path) -> None:
    for last in (*[False] * (_TRIES - 1), True):
        try:
            os.replace(beside, target)
            return
        except PermissionError:
            if last or not _WINDOWS:
                raise
            clock.sleep(_BETWEEN_S)


def kind_of_content(path: str | os.PathLike[str]) -> str | None:
    """What a file holds by its first lines: "job", "harness" (an overlay too), or None. Never waits: what is no plain
    file holds neither."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return None
        with open(path, "rb") as file:
            head = file.read(_HEAD_BYTES)
    except (OSError, ValueError):
        return None
    return "job" if _JOB.search(head) else "harness" if _HARNESS.search(head) else None


def write_output(
    path: str, content: str | bytes, inputs: Iterable[str | os.PathLike[str]] = (), may_be: str | None = None
) -> None:
    """Write what somebody asked for with -o, whole or not at all.

    Args:
        content: Text is written as UTF-8 with the line ends it has.
        inputs: Files that this was made from; none is written over, by whatever name it goes.
        may_be: A harness that may be exchanged all the same: its own path.

    Raises:
        TracerError: `path` is an input, holds a job or a harness, is no plain file, or cannot be written; what
            stood there is as before.
    """
    need_free(path, inputs, may_be)
    data = content.encode("utf-8", "surrogateescape") if isinstance(content, str) else content
    try:
        replace_whole(Path(os.path.realpath(path)), data)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise TracerError(f"{path} cannot be written: {reason.lower()}; nothing was changed") from None


def need_free(path: str, inputs: Iterable[str | os.PathLike[str]] = (), may_be: str | None = None) -> None:
    """Raises:
    TracerError: `write_output` would refuse this path; told before minutes are spent on the content.
    """
    if may_be is not None and _same(path, may_be):
        return
    for given in inputs:
        if _same(path, given):
            raise TracerError(f"{path} is what this is made from; nothing was changed", "give -o another name")
    try:
        mode = os.stat(path).st_mode
    except (OSError, ValueError):
        return
    if not stat.S_ISREG(mode):
        what = "a folder" if stat.S_ISDIR(mode) else "no plain file"
        raise TracerError(f"{path} is {what}; nothing was written", "give -o the name of a file")
    held = kind_of_content(path)
    if held is not None:
        raise TracerError(f"{path} holds a {held}; nothing was changed", "give -o another name, or delete it first")


def _same(one: str | os.PathLike[str], other: str | os.PathLike[str]) -> bool:
    try:
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return False
