"""What would be if: a copy of a job in memory that takes answers as the job does, and never writes them down.

What was answered on such a copy can be recorded in the job afterwards, all of it or nothing, as long as the job still
stands where the copy was made.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Final

from tracer.cache import Kept
from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.job.kinds import MARKED
from tracer.job.log import Log, NewEntry
from tracer.job.text import Event, JobRecord, clean
from tracer.job.vehicle import Vehicle, fingerprint_of
from tracer.observation.evidence import Test
from tracer.observation.words.reading_data import test_as_data, test_key

_COUNTS_NOT: Final = ("proposed", "note", "photo")  # entries that change nothing of what comes next


class _NotKept(Vehicle):
    """The same vehicle, for what may never be: nothing of it is kept between commands."""

    def __init__(self, vehicle: Vehicle) -> None:
        self.path, self.overlays = vehicle.path, vehicle.overlays
        self.harness, self.fingerprint = vehicle.harness, vehicle.fingerprint

    @property
    def kept(self) -> Kept:
        return Kept()


class _InMemory(Log):
    """The record of a job to which is added in memory alone."""

    def __init__(self, log: Log) -> None:
        self.path, self._clock, self._mark = log.path, log.clock, ""
        self.record, self.vehicle, self.harness_changed = log.record, _NotKept(log.vehicle), log.harness_changed

    def append(self, entries: Sequence[NewEntry]) -> tuple[Event, ...]:
        """Never written; marks matter to nobody here."""
        first = self.record.events[-1].number + 1 if self.record.events else 1
        events = tuple(clean(Event(n, self._clock(), *e)) for n, e in enumerate(entries, first))
        self.record = JobRecord(self.record.header, (*self.record.events, *events))
        return events

    def undo(self) -> Event:
        """Not here: whoever wants it otherwise begins another copy.

        Raises:
            JobFileError: Always.
        """
        raise JobFileError("a copy of a job takes nothing back", "make another copy")


class WhatIf(Job):
    """A job that is recorded in memory alone. It shares what was worked out of the vehicle with the job it began
    from."""

    def __init__(self, job: Job) -> None:
        self._log = _InMemory(job._log)
        self._understood = job._understood.branch(self._log.vehicle)
        self._began = len(job.record.events)

    def repaired_in_vain(self, what: str) -> None:
        """A repair after which the first check of it showed what was seen before."""
        seen = next(e for e in reversed(self.record.living) if e.kind == "symptom")
        self._append(("repaired", {"repair": what, "parts": []}), *self._still_as_before(seen))

    def still_as_before(self) -> None:
        """The first check of the repair that was just recorded showed what was seen before."""
        seen = next(e for e in reversed(self.record.living) if e.kind == "symptom")
        self._append(*self._still_as_before(seen))

    @staticmethod
    def _still_as_before(seen: Event) -> list[NewEntry]:
        data = {k: v for k, v in seen.data.items() if k != MARKED}
        return [("proof", {"check": 1, "good": False, "found": "still as before"}), ("symptom", data)]

    def was_proposed(self, test: Test) -> None:
        """Note a test as proposed here."""
        if test_key(test) not in self.proposed:
            self._append(("proposed", {"key": test_key(test), "test": test_as_data(test)}))

    @property
    def added(self) -> list[NewEntry]:
        """What was recorded here, as kinds and data."""
        return [(e.kind, e.data) for e in self.record.events[self._began :]]


def state_mark(job: Job) -> str:
    """Ten signs that stand for this job and where it stands: others as soon as an entry that counts is added or taken
    back, or the harness file is another."""
    header = job.record.header
    told = [
        [e.number, e.time.isoformat(), e.kind, dict(e.data)]
        for e in job.record.living if e.kind not in _COUNTS_NOT
    ]
    said = json.dumps(
        [header.harness, header.vehicle, header.complaint, fingerprint_of(job.harness_path), told], sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()[:10]


def take_over(job: Job, tried: WhatIf, mark: str) -> tuple[Event, ...]:
    """Record in the job what was recorded on a copy of it, all of it or nothing.

    Args:
        mark: That its entries carry, so that it is known when it comes again.

    Raises:
        JobFileError: The job file cannot be written.
    """
    with job.marking(mark):
        return job.add(tried.added)
