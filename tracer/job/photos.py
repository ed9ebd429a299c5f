"""Photos of a job: taken in from anywhere, kept small and without where they were taken, in a folder beside the job.

A photo's entry names the thing it shows: a part, a connector, a splice, an earth point, a terminal or a lamp.
Whatever is read from a job file is looked up in the job's own folder of photos by a name of our own making, never as
a path.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from msgspec import Struct

from tracer.errors import JobFileError, ReadingError, TracerError, UnknownNameError, did_you_mean
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.job import file as job_file
from tracer.job.job import Job
from tracer.job.text import Event, JobRecord
from tracer.job.whole_file import replace_whole

PHOTO: Final = "photo"  # the kind of entry
MOST_BYTES: Final = 25_000_000  # of a file that is taken in
_MOST_PIXELS: Final = 120_000_000  # of the picture in it: the largest sensors of phones are 108 and 200 MP
_SIDE: Final = 1600  # px of the longer side as kept
_QUALITY: Final = 82
_FORMATS: Final = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF", "MPO")
_NAME: Final = re.compile(r"[0-9a-f]{16}\.jpg")
_HINT: Final = "take it anew as JPEG or PNG; nothing else was changed"


class Photo(Struct, frozen=True):
    """A photo of this job or of an earlier one on the vehicle.

    Attributes:
        file: Where it lies.
        at: The thing it shows; "" for the whole vehicle.
        text: What was written to it.
        time: Of its entry.
        number: Of its entry in this job; 0 if it is of an earlier one.
    """

    file: Path
    at: str
    text: str
    time: datetime
    number: int = 0

    @property
    def key(self) -> str:
        """Its name among the photos of a job."""
        return f"{self.file.parent.stem}/{self.file.name}"


class Noted(Struct, frozen=True):
    """A note at a thing; `earlier`: of an earlier job on the vehicle."""

    text: str
    at: str
    time: datetime
    earlier: bool


def folder_of(job_path: Path) -> Path:
    """Where the photos of a job lie."""
    return job_path.with_name(f"{job_path.stem}.photos")


def add_photo(job: Job, content: bytes, at: str = "", text: str = "") -> Event:
    """Keep a photo and record it.

    Args:
        content: The file as it was taken.
        at: The thing it shows, by its name in the harness.
        text: What is to be said of it.

    Raises:
        TracerError: It is no photo, too big, shows a thing that is not there, or cannot be written; nothing was
            recorded.
    """
    need_thing(job.harness, at)
    small = scaled(content)
    name = f"{hashlib.sha256(small).hexdigest()[:16]}.jpg"
    folder = folder_of(job.path)
    try:
        folder.mkdir(exist_ok=True)
        replace_whole(folder / name, small)
    except OSError as error:
        raise JobFileError(f"the photo cannot be kept: {error.strerror or error}", "nothing was recorded") from error
    data: dict[str, Any] = {"file": name, "at": at}
    if text.strip():
        data["text"] = text.strip()
    return job.add([(PHOTO, data)])[0]


def add_note(job: Job, text: str, at: str) -> Event:
    """Record a note at a thing; errors as `add_photo`."""
    need_thing(job.harness, at)
    if not text.strip():
        raise ReadingError("there is no note yet", "write it first")
    return job.add([("note", {"text": text.strip(), "at": at} if at else {"text": text.strip()})])[0]


def photos_of(job: Job) -> tuple[Photo, ...]:
    """The photos of a job, the latest first, then those of earlier jobs on the vehicle that lie in the same folder.
    Whose file is gone is left out."""
    found = []
    for path, record in _records(job):
        for e in reversed(record.living):
            name = str(e.data.get("file", ""))
            file = folder_of(path) / name
            if e.kind == PHOTO and _NAME.fullmatch(name) and _is_file(file):
                found.append(Photo(file, str(e.data.get("at", "")), str(e.data.get("text", "")), e.time,
                                   e.number if path == job.path else 0))
    return tuple({p.key: p for p in reversed(found)}.values())[::-1]


def notes_of(job: Job) -> tuple[Noted, ...]:
    """Notes that were made at a thing, in this job and in earlier ones, the latest first."""
    return tuple(
        Noted(str(e.data.get("text", "")), str(e.data["at"]), e.time, path != job.path)
        for path, record in _records(job) for e in reversed(record.living) if e.kind == "note" and e.data.get("at")
    )


def photo_file(job: Job, key: str) -> Path:
    """The file of a photo.

    Raises:
        UnknownNameError: The job has no such photo.
    """
    found = next((p.file for p in photos_of(job) if p.key == key), None)
    if found is None:
        raise UnknownNameError("there is no such photo in this job")
    return found


def _records(job: Job) -> Iterator[tuple[Path, JobRecord]]:
    """This job and the earlier ones on its vehicle that lie beside it."""
    yield job.path, job.record
    for earlier in reversed(job.earlier_jobs):
        path = job.path.with_name(earlier.file) if earlier.file and Path(earlier.file).name == earlier.file else None
        if path is not None and path != job.path and path.is_file():
            with suppress(TracerError):
                yield path, job_file.read(path)


def about(thing: str, at: str) -> bool:
    """Whether what was kept at `at` belongs to a thing: itself, a terminal of it, or what it is a terminal of."""
    return bool(at) and (at == thing or _owner(at) == thing or at == _owner(thing))


def need_thing(harness: Harness, name: str) -> None:
    """Raises:
        UnknownNameError: The harness has no part, connector, splice, earth point, terminal or lamp of that name.
    """
    known = things(harness)
    if name and name not in known and _owner(name) not in known:
        raise UnknownNameError(f"there is no “{name}” in this vehicle", did_you_mean(name, known))


def things(harness: Harness) -> Sequence[str]:
    """Names of all that a photo or a note can be of, without terminals."""
    tables = (harness.parts, harness.connectors, harness.splices, harness.earths)
    return [*(n for t in tables for n in t), *(f.lamp for f in harness.lamps())]


def scaled(content: bytes) -> bytes:
    """A photo as JPEG: upright, at most 1600 px a side, with nothing of what the camera wrote into it (place, time,
    name).

    Raises:
        ReadingError: It is none, or too big.
    """
    from PIL import Image, ImageOps  # slow to import

    if len(content) > MOST_BYTES:
        raise ReadingError(f"this photo is larger than {MOST_BYTES // 1_000_000} MB", "take it smaller")
    if not content:
        raise ReadingError("the photo is empty", "choose it again")
    try:
        with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                raise ReadingError(f"this photo has more than {_MOST_PIXELS // 1_000_000} million pixels",
                                   "take it smaller")
            picture.draft("RGB", (_SIDE, _SIDE))
            upright = ImageOps.exif_transpose(picture).convert("RGB")
            upright.thumbnail((_SIDE, _SIDE))
            bare = Image.new("RGB", upright.size)
            bare.paste(upright)
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=_QUALITY)
    except ReadingError:
        raise
    except Image.DecompressionBombError:
        raise ReadingError("this photo has too many pixels", "take it smaller") from None
    except Exception as error:  # a reader of pictures can fail in any way on what is none
        raise ReadingError("this file is no photo that can be read", _HINT) from error
    return out.getvalue()


def _owner(name: str) -> str:
    return node_of(name).owner


def _is_file(path: Path) -> bool:
    return path.is_file() and not path.is_symlink() and not path.parent.is_symlink()
