"""Results that every command on a job would otherwise work out again, kept on disk between commands.

What is kept follows from the code, the harness and the question alone, and is found by all of them: it is never out
of date, and a job goes on the same with and without it. It may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracer import __version__

FOLDER_VARIABLE = "TRACER_CACHE"
NOWHERE = "off"  # as its value: nothing is kept
_MOST_BYTES = 100_000_000
_ENDING = ".npz"

Arrays = Mapping[str, NDArray[Any]]


class Kept:
    """Keeps arrays by what they were worked out from."""

    def __init__(self, folder: Path | None = None, about: str = "") -> None:
        """Args:
        folder: Where they lie; nothing is kept without one.
        about: What all of them were worked out from beside the code: says which harness it is.
        """
        self._folder, self._about = folder, about

    def recall(self, what: str, key: object, work_out: Callable[[], Arrays]) -> Arrays:
        """The arrays `what` for a `key` of plain values and dataclasses, worked out if they are not known yet. A
        folder that cannot be read or written is done without."""
        if self._folder is None:
            return work_out()
        words = "\n".join((_code(), self._about, what, _said(key)))
        path = self._folder / (hashlib.sha256(words.encode()).hexdigest()[:40] + _ENDING)
        found = _read(path)
        if found is None:
            found = work_out()
            _write(path, found)
        return found


def usual_folder() -> Path | None:
    """Where programs of this user keep what can be worked out again; None if it is not to be kept."""
    wanted = os.environ.get(FOLDER_VARIABLE, "")
    if wanted:
        return None if wanted == NOWHERE else Path(wanted)
    home = {"win32": os.environ.get("LOCALAPPDATA", ""), "darwin": "~/Library/Caches"}.get(
        sys.platform, os.environ.get("XDG_CACHE_HOME", "") or "~/.cache"
    )
    path = os.path.expanduser(home)
    return Path(path) / "tracer" if os.path.isabs(path) else None


def _code() -> str:
    """Says which code would work it out: another one may come to another result."""
    files = [f"{__version__} {np.__version__} {sys.version}"]
    for folder, folders, names in os.walk(Path(__file__).parent):
        folders[:] = sorted(f for f in folders if f != "__pycache__")
        for name in sorted(n for n in names if n.endswith(".py")):
            told = os.stat(os.path.join(folder, name))
            files.append(f"{name} {told.st_size} {told.st_mtime_ns}")
    return "\n".join(files)


def _said(value: object) -> str:
    """A value in words that are the same in every process: sets are put in order."""
    if is_dataclass(value) and not isinstance(value, type):
        return f"{type(value).__name__}({', '.join(_said(getattr(value, f.name)) for f in fields(value))})"
    if isinstance(value, (set, frozenset)):
        return "{" + ", ".join(sorted(map(_said, value))) + "}"
    if isinstance(value, (tuple, list)):
        return "(" + ", ".join(map(_said, value)) + ")"
    if isinstance(value, Mapping):
        return "{" + ", ".join(sorted(f"{_said(k)}: {_said(v)}" for k, v in value.items())) + "}"
    if value is None or isinstance(value, (str, int, float)):
        return repr(value)
    raise TypeError(f"no words for {type(value).__name__}")


def _read(path: Path) -> Arrays | None:
    try:
        with np.load(path, allow_pickle=False) as file:
            found = {name: file[name] for name in file.files}
        os.utime(path)  # what was not asked for longest goes first
    except Exception:  # damaged in whatever way: it is worked out again
        return None
    return found


def _write(path: Path, arrays: Arrays) -> None:
    beside = path.with_name(f".{path.stem}.{os.getpid()}{_ENDING}")  # left behind, it goes in time
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _make_room(path.parent)
        with open(beside, "wb") as file:
            np.savez(file, **dict[str, Any](arrays))
        os.replace(beside, path)
    except OSError:
        with suppress(OSError):
            beside.unlink()


def _make_room(folder: Path) -> None:
    """Delete what was not asked for longest, down to what may be kept."""
    known = sorted(((p.stat(), p) for p in folder.glob(f"*{_ENDING}")), key=lambda x: -x[0].st_mtime)
    total = 0
    for told, path in known:
        total += told.st_size
        if total > _MOST_BYTES:
            path.unlink(missing_ok=True)
