"""Results that every command on a job would otherwise work out again, kept on disk between commands.

What is kept follows from the code, the harness and the question alone, and is found by all of them: it is never out
of date, and a job goes on the same with and without it. It may be deleted at any time.

What lies there is believed only if this user wrote it: the files stand in a folder that nobody else may enter, each
under a digest keyed with a secret of that folder, and whoever asks says what the arrays must look like. Anything odd
is worked out anew. Nothing else in the folder is touched, and no link is followed.
"""

from __future__ import annotations

import hashlib
import hmac
import math
import os
import re
import stat
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.json import decode, encode
from numpy.typing import NDArray

from tracer import __version__

FOLDER_VARIABLE = "TRACER_CACHE"
NOWHERE = "off"  # as its value: nothing is kept
_MOST_BYTES = 100_000_000
_MOST_BYTES_EACH: Final = 50_000_000
_ENDING: Final = ".kept"
_OWN_NAMES: Final = re.compile(r"[0-9a-f]{40}\.kept|\.[0-9a-f]{40}\.[0-9]+\.part")
_KEY: Final = "key"
_KEY_BYTES: Final = 32
_FIRST_LINE: Final = b"tracer kept 2\n"
_SIZE_BYTES: Final = 4
_KINDS: Final = "biufU"  # of arrays: truths, numbers, texts
_MAC_BYTES: Final = 32
_NO_LINK: Final[int] = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
ONLY_OWNER: Final = hasattr(os, "getuid")  # elsewhere the user's own folders are closed to others by the system

Arrays = Mapping[str, NDArray[Any]]


class Kept:
    """Keeps arrays by what they were worked out from."""

    def __init__(self, folder: Path | None = None, about: str = "") -> None:
        """Args:
        folder: Where they lie, in a folder of their own; nothing is kept without one.
        about: What all of them were worked out from beside the code: says which harness it is.
        """
        self._folder = None if folder is None else own_folder(folder)
        self._about = about

    def recall(
        self, what: str, key: object, work_out: Callable[[], Arrays],
        fits: Callable[[Arrays], bool] = lambda found: True,
    ) -> Arrays:
        """The arrays `what` for a `key` of plain values and records, worked out if they are not known yet. A
        folder that cannot be read or written is done without.

        Args:
            fits: Whether arrays found have the shapes and ranges that they must have; else they are worked out.
        """
        if self._folder is None:
            return work_out()
        words = "\n".join((code_mark(), self._about, what, said_of(key)))
        name = hashlib.sha256(words.encode()).hexdigest()[:40]
        secret = _secret(self._folder)
        if secret is None:
            return work_out()
        found = read_kept(self._folder, name, secret)
        if found is None or not _fitting(found, fits):
            found = work_out()
            write_kept(self._folder, name, secret, found)
        return found


def usual_folder() -> Path | None:
    """Where programs of this user keep what can be worked out again; None if it is not to be kept."""
    return place_of_user(FOLDER_VARIABLE, "user_cache_path")


def place_of_user(
    variable: str, kind: Literal["user_cache_path", "user_data_path"], below: str = ""
) -> Path | None:
    """What an environment variable names, else what lies `below` this user's own folder of that kind (a function of
    platformdirs); None where it is "off", or the user has no home."""
    wanted = os.environ.get(variable, "")
    if wanted:
        return None if wanted == NOWHERE else Path(wanted)
    import platformdirs

    try:
        path: Path = getattr(platformdirs, kind)("tracer", appauthor=False)
    except (OSError, RuntimeError):  # a user without a home
        return None
    return path / below if path.is_absolute() else None


def own_folder(folder: Path) -> Path:
    """The folder within `folder` in which alone anything is written or deleted."""
    return folder / (f"kept-{os.getuid()}" if ONLY_OWNER else "kept")


@cache
def code_mark() -> str:
    """Says which code works it out, that of this process: another one may come to another result."""
    files = [f"{__version__} {np.__version__} {sys.version}"]
    for folder, folders, names in os.walk(Path(__file__).parent):
        folders[:] = sorted(f for f in folders if f != "__pycache__")
        for name in sorted(n for n in names if n.endswith(".py")):
            told = os.stat(os.path.join(folder, name))
            files.append(f"{name} {told.st_size} {told.st_mtime_ns}")
    return "\n".join(files)


def said_of(value: object) -> str:
    """A value in words that are the same in every process: sets are put in order."""
    if isinstance(value, Struct):
        return f"{type(value).__name__}({', '.join(said_of(getattr(value, n)) for n in value.__struct_fields__)})"
    if isinstance(value, (set, frozenset)):
        return "{" + ", ".join(sorted(map(said_of, value))) + "}"
    if isinstance(value, (tuple, list)):
        return "(" + ", ".join(map(said_of, value)) + ")"
    if isinstance(value, Mapping):
        return "{" + ", ".join(sorted(f"{said_of(k)}: {said_of(v)}" for k, v in value.items())) + "}"
    if value is None or isinstance(value, (str, int, float)):
        return repr(value)
    raise TypeError(f"no words for {type(value).__name__}")


def _fitting(found: Arrays, fits: Callable[[Arrays], bool]) -> bool:
    try:
        return fits(found)
    except Exception:  # of whatever form it is, it is not the one asked for
        return False


def _secret(folder: Path) -> bytes | None:
    """The key of the digests of this folder, made with it; None if the folder cannot be had for this user alone."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        told = os.lstat(folder)
        if not stat.S_ISDIR(told.st_mode):
            return None
        path = folder / _KEY
        if ONLY_OWNER:
            if told.st_uid != os.getuid():
                return None
            if stat.S_IMODE(told.st_mode) & 0o077:  # others could look or write: what lies there counts no more
                folder.chmod(0o700)
                path.unlink(missing_ok=True)
        known = _bytes(path, _KEY_BYTES)
        if known is not None and len(known) == _KEY_BYTES:
            return known
        path.unlink(missing_ok=True)
        made = os.urandom(_KEY_BYTES)
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK, 0o600), "wb") as file:
            file.write(made)
        return made
    except OSError:
        return None


def _bytes(path: Path, most: int) -> bytes | None:
    """The content of a plain file of this user with no other name, or None."""
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):  # a pipe would be waited for where it cannot be opened without
            return None
        with open(os.open(path, os.O_RDONLY | _NO_LINK), "rb") as file:
            told = os.fstat(file.fileno())
            own = not ONLY_OWNER or (told.st_uid == os.getuid() and told.st_nlink == 1)
            if not stat.S_ISREG(told.st_mode) or not own or told.st_size > most:
                return None
            content = file.read(most + 1)
    except OSError:
        return None
    return content if len(content) <= most else None


def digest(secret: bytes, name: str, payload: bytes) -> bytes:
    """By which a file of this name is known to be this user's own."""
    return hmac.digest(secret, name.encode() + b"\n" + payload, "sha256")


def packed(arrays: Arrays) -> bytes:
    """Arrays as bytes: what each is as JSON, the length of that before it, and then what stands in them. The archives
    that numpy makes need another fiftieth of a step to be taken apart again."""
    turned: dict[str, Literal["C", "F"]] = {
        n: "F" if a.flags.f_contiguous and not a.flags.c_contiguous else "C" for n, a in arrays.items()
    }
    told = encode({n: (a.dtype.str, a.shape, turned[n]) for n, a in arrays.items()})
    parts = (a.tobytes(turned[n]) for n, a in arrays.items())
    return b"".join([len(told).to_bytes(_SIZE_BYTES, "little"), told, *parts])


def unpacked(payload: bytes) -> Arrays:
    """The same arrays again, in the order in memory that they had.

    Raises:
        Exception: It is nothing that `packed` made, for whatever reason.
    """
    end = _SIZE_BYTES + int.from_bytes(payload[:_SIZE_BYTES], "little")
    told = decode(payload[_SIZE_BYTES:end], type=dict[str, tuple[str, tuple[int, ...], Literal["C", "F"]]])
    out = {}
    for name, (kind, shape, turned) in told.items():
        dtype, count = np.dtype(kind), math.prod(shape)
        if dtype.kind not in _KINDS or min(shape, default=0) < 0:
            raise ValueError(f"no array that is kept: {kind} {shape}")
        its = payload[end:end + count * dtype.itemsize]  # no more than there are: a small file is no large array
        out[name] = np.frombuffer(its, dtype).reshape(shape, order=turned).copy("K")
        end += count * dtype.itemsize
    if end != len(payload):
        raise ValueError("more than the arrays told of")
    return out


def read_kept(folder: Path, name: str, secret: bytes) -> Arrays | None:
    """What lies under a name; None if nothing does that can be believed."""
    path = folder / (name + _ENDING)
    content = _bytes(path, _MOST_BYTES_EACH)
    start = len(_FIRST_LINE) + _MAC_BYTES
    if content is None or len(content) < start or not content.startswith(_FIRST_LINE):
        return None
    payload = content[start:]
    if not hmac.compare_digest(content[len(_FIRST_LINE):start], digest(secret, name, payload)):
        return None
    try:
        found = unpacked(payload)
        os.utime(path)  # what was not asked for longest goes first
    except Exception:  # damaged in whatever way: it is worked out again
        return None
    return found


def write_kept(folder: Path, name: str, secret: bytes, arrays: Arrays) -> None:
    """Lay arrays down under a name, whole or not at all; a folder that cannot be written is left alone."""
    if sum(a.nbytes for a in arrays.values()) > _MOST_BYTES_EACH:
        return  # it would not be read again
    payload = packed(arrays)
    beside = folder / f".{name}.{os.getpid()}.part"  # left behind, it goes in time
    try:
        _make_room(folder)
        beside.unlink(missing_ok=True)
        with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK, 0o600), "wb") as file:
            file.write(_FIRST_LINE + digest(secret, name, payload) + payload)
        os.replace(beside, folder / (name + _ENDING))
    except OSError:
        with suppress(OSError):
            beside.unlink()


def _make_room(folder: Path) -> None:
    """Delete what was not asked for longest, down to what may be kept; only files with names of one's own."""
    known = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if _OWN_NAMES.fullmatch(entry.name):
                known.append((entry.stat(follow_symlinks=False), Path(entry.path)))
    known.sort(key=lambda x: -x[0].st_mtime)
    total = 0
    for told, path in known:
        total += told.st_size
        if total > _MOST_BYTES and not stat.S_ISDIR(told.st_mode):
            path.unlink(missing_ok=True)
