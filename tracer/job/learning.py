"""What a job leaves in the workshop's memory, and what the memory says to a job.

A job is learned from its record alone: nothing is diagnosed, so that a folder of a thousand is read in seconds. What
cannot be learned says why in plain words.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field

from tracer.errors import TracerError
from tracer.faults import Fault, list_faults
from tracer.harness.file.nodes import read_text_file
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.job.earlier_jobs import EARLIER
from tracer.job.file import sealed_path
from tracer.job.kinds import read_known
from tracer.job.text import Event, JobRecord
from tracer.job.whole_file import kind_of_content
from tracer.memory.finds import Learned, Outcome, equipment, finds_of, group_of
from tracer.memory.posterior import Counts, Rates, most_moved, rates_for
from tracer.memory.store import MEMORY_VARIABLE, Memory, MemoryFileError, memory_path

__all__ = [
    "GIVEN_UP_DAYS",
    "MEMORY_VARIABLE",
    "Counts",
    "Lesson",
    "Memory",
    "MemoryFileError",
    "NothingLearnedError",
    "Rates",
    "Remembered",
    "Teacher",
    "job_files",
    "job_id",
    "learn_closed",
    "memory_path",
    "most_moved",
    "remembered",
]
GIVEN_UP_DAYS: Final = 90  # a job with symptoms and no repair counts as given up when nothing was added for so long
_AT_ONCE: Final = 50  # jobs kept in one go: an interruption loses no more than these, and they are only read again


class NothingLearnedError(TracerError):
    """A job of which nothing is learned, and why."""


class Lesson(Struct, frozen=True):
    """What became of one job file: `became` is "learned", "known" (already), "twice" (the same job under another
    name, `why` says which), "forgotten" (it stays so) or "passed over" (`why` says it)."""

    path: Path
    became: str
    why: str = ""


def job_id(record: JobRecord) -> str:
    """Of a job, however its file is called and however it goes on: a digest of its harness file as it was when the
    job was opened, and of its first entry, with its time. Tells nothing of either."""
    said: list[Any] = [record.header.fingerprint]
    said += [[e.time.isoformat(), e.kind, dict(e.data)] for e in record.events[:1]]
    return hashlib.sha256(json.dumps(said, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:32]


def job_files(places: Sequence[str | Path]) -> Iterator[Path]:
    """The job files that are named, and those in the folders that are named, with what lies below these.

    Raises:
        TracerError: One of the places is not there.
    """
    for place in places:
        path = Path(place)
        if path.is_dir():
            for folder, folders, names in os.walk(path):
                folders[:] = sorted(f for f in folders if not f.startswith("."))
                found = (Path(folder) / n for n in sorted(names) if n.lower().endswith((".yaml", ".yml")))
                yield from (p for p in found if kind_of_content(p) == "job")
        elif path.exists():
            yield path
        else:
            raise TracerError(f"{path} is not there", "name a folder of jobs, or job files")


class Teacher(Struct):
    """Takes jobs into a memory.

    Attributes:
        now: To tell a job that was given up from one that is worked on.
    """

    memory: Memory
    now: datetime
    _wiring: dict[tuple[str, str, str], tuple[Harness, tuple[Fault, ...], tuple[tuple[str, float], ...]]] = field(
        default_factory=dict)

    def learn(self, paths: Iterator[Path], named: bool = False) -> Iterator[Lesson]:
        """What became of each file, as it is read. `named`: files that somebody named himself, of which those that
        were forgotten are learned again.

        Raises:
            MemoryFileError: The memory cannot be used.
        """
        first: dict[str, Path] = {}
        waiting: list[tuple[Path, Learned]] = []
        try:
            for path in paths:
                try:
                    job = self.lesson_of(path)
                except TracerError as error:
                    yield Lesson(path, "passed over", error.message)
                    continue
                if job.id in first:
                    yield Lesson(path, "twice", f"is the same job as {first[job.id].name}: it counts once")
                first.setdefault(job.id, path)
                if named and self.memory.has_forgotten(job.id):
                    self.memory.remember_again(job.id)
                waiting.append((path, job))
                if len(waiting) >= _AT_ONCE:
                    yield from self._keep(waiting, first)
            yield from self._keep(waiting, first)
        finally:  # Ctrl-C: what was read so far is kept
            self._keep(waiting, first)

    def _keep(self, waiting: list[tuple[Path, Learned]], first: Mapping[str, Path]) -> list[Lesson]:
        if not waiting:
            return []
        taken = self.memory.learn([job for _, job in waiting])
        lessons = []
        for (path, job), new in zip(waiting, taken, strict=True):
            if new:
                lessons.append(Lesson(path, "learned", job.outcome))
            elif first.get(job.id) == path:
                gone = self.memory.has_forgotten(job.id)
                lessons.append(Lesson(path, "forgotten" if gone else "known"))
        waiting.clear()
        return lessons

    def lesson_of(self, path: Path) -> Learned:
        """What a job file teaches.

        Raises:
            NothingLearnedError: Nothing, and why.
            TracerError: The file cannot be read.
        """
        record = read_known(path)
        if sealed_path(path).is_file():
            raise NothingLearnedError("it is an exercise: its fault was drawn, not met")
        outcome, repairs = _end(record, self.now)
        if outcome is None:
            raise NothingLearnedError(_not_over(record))
        harness, faults, parts = self._of(path, record)
        return learned_from(record, outcome, repairs, harness, faults, parts)

    def _of(
        self, path: Path, record: JobRecord
    ) -> tuple[Harness, tuple[Fault, ...], tuple[tuple[str, float], ...]]:
        """The vehicle's wiring, its faults and its equipment; read once for all jobs on it."""
        file = Path(os.path.realpath(path)).parent / record.header.harness
        if not file.is_file():
            raise NothingLearnedError(f"its harness is gone: {record.header.harness}")
        overlays = [(str(e.data["text"]), str(e.data.get("name", ""))) for e in record.living if e.kind == "overlay"]
        key = str(file.resolve()), f"{file.stat().st_size} {file.stat().st_mtime_ns}", json.dumps(overlays)
        if key not in self._wiring:
            harness = read_harness(read_text_file(file), str(file), overlays) if overlays else load_harness(file)
            faults = list_faults(harness)
            self._wiring[key] = harness, faults, equipment(faults)
        return self._wiring[key]


def learned_from(
    record: JobRecord, outcome: Outcome, repairs: Sequence[Event], harness: Harness, faults: Sequence[Fault],
    parts: tuple[tuple[str, float], ...],
) -> Learned:
    """What the record of a job that is over leaves: kinds, parts and places, nothing of whose vehicle it was."""
    finds = tuple(
        find for repair in repairs
        for find in finds_of(str(repair.data.get("repair", "")), faults, harness, _weighed(repair))
    )
    if outcome == "found" and not finds:
        outcome = "not described"
    told = [e for e in record.living if e.kind == "story"]
    work = told[-1].data.get("work", []) if told else []
    return Learned(
        job_id(record), len(record.events), outcome, group_of(harness, record.header.vehicle),
        tuple(sorted(finds)), tuple(map(str, work)) if isinstance(work, list) else (), parts,
    )


def _weighed(repair: Event) -> Mapping[str, float]:
    """How the kinds of fault that this repair is for stood when it was made."""
    kinds = repair.data.get("kinds")
    if not isinstance(kinds, Mapping):
        return {}
    return {str(k): float(v) for k, v in kinds.items() if isinstance(v, (int, float)) and 0 < v <= 1}


def _end(record: JobRecord, now: datetime) -> tuple[Outcome | None, list[Event]]:
    """How a job ended, with the repairs that count: the one that was proven. None: it is not over."""
    repairs = [e for e in record.living if e.kind == "repaired"]
    if not repairs:
        seen = [e for e in record.living if e.kind in ("symptom", "reading")]
        last = max((e.time for e in record.events), default=now)
        return ("given up" if seen and now - last > timedelta(days=GIVEN_UP_DAYS) else None), []
    return ("found" if _proven(record, repairs[-1]) else None), repairs[-1:]


def _proven(record: JobRecord, repair: Event) -> bool:
    """Whether every proof check of a repair came out as expected, the latest result of each."""
    checks = record.checks_of(repair)
    return bool(checks) and all(checks.values())


def _not_over(record: JobRecord) -> str:
    """Why a job is not learned."""
    if not any(e.kind != EARLIER for e in record.living):
        return "nothing is recorded in it yet"
    repaired = any(e.kind == "repaired" for e in record.living)
    return "repaired, but not proven: only what was proven is learned" if repaired else "still open"


def learn_closed(path: Path) -> str:
    """Take in a job that has just closed, where the workshop wishes that; what is to be said of it, "" for nothing.
    Never in the way of the job: whatever goes wrong is said."""
    where = memory_path()
    if where is None or not where.is_file():
        return ""
    memory = Memory(where)
    try:
        if not memory.learns_when_closed:
            return ""
        memory.learn([Teacher(memory, datetime.now(UTC)).lesson_of(path)])
    except NothingLearnedError:
        return ""
    except TracerError as error:
        return f"this job was not learned: {error}"
    return "learned by this workshop’s memory"


class Remembered(Struct, frozen=True):
    """What the workshop's memory says of a vehicle: its rates, None where there is no memory, nothing in it or it
    cannot be read, and what is to be said of that."""

    rates: Rates | None = None
    note: str = ""


def remembered(record: JobRecord, harness: Harness) -> Remembered:
    """What the workshop's memory says of a vehicle, from all jobs but this very one."""
    where = memory_path()
    if where is None or not where.is_file():
        return Remembered()
    try:
        counts = Memory(where).counts(without=job_id(record))
    except TracerError as error:
        return Remembered(None, f"the workshop’s memory is not used, the shipped base rates are: {error}")
    if not counts.jobs:
        return Remembered()
    parts = dict(equipment(list_faults(harness)))
    return Remembered(rates_for(counts, group_of(harness, record.header.vehicle), parts))
