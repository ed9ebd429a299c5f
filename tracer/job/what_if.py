"""What would be if: a copy of a job in memory that takes answers as the job does, and never writes them down.

What was answered on such a copy can be recorded in the job afterwards, all of it or nothing, as long as the job still
stands where the copy was made.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any, Final

from tracer.cache import Kept
from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.job.kinds import MARKED
from tracer.job.text import Event, JobRecord, clean
from tracer.observation.evidence import Test
from tracer.observation.words.readings import test_as_data, test_key

_COUNTS_NOT: Final = ("proposed", "note", "photo")  # entries that change nothing of what comes next


class WhatIf(Job):
    """A job that is recorded in memory alone. It shares what was worked out of the vehicle with the job it began
    from."""

    def __init__(self, job: Job) -> None:
        self.path, self._clock, self._mark = job.path, job._clock, ""
        self.record = job.record
        self.harness_path, self.harness, self.harness_changed = job.harness_path, job.harness, job.harness_changed
        self._fingerprint = job._fingerprint
        self._began = len(job.record.events)
        known = job._remembered
        self._remembered = replace(
            known, entries=dict(known.entries), proposed=dict(known.proposed), diagnoses=dict(known.diagnoses),
            proofs=dict(known.proofs),
        )
        self.__dict__["investigator"] = job.investigator

    @property
    def _kept(self) -> Kept:
        return Kept()  # what may never be is not kept

    def repaired_in_vain(self, what: str) -> None:
        """A repair after which the first check of it showed what was seen before."""
        seen = next(e for e in reversed(self.record.living) if e.kind == "symptom")
        self._append_all([("repaired", {"repair": what, "parts": []}), *self._still_as_before(seen)])

    def still_as_before(self) -> None:
        """The first check of the repair that was just recorded showed what was seen before."""
        seen = next(e for e in reversed(self.record.living) if e.kind == "symptom")
        self._append_all(self._still_as_before(seen))

    @staticmethod
    def _still_as_before(seen: Event) -> list[tuple[str, Mapping[str, Any]]]:
        data = {k: v for k, v in seen.data.items() if k != MARKED}
        return [("proof", {"check": 1, "good": False, "found": "still as before"}), ("symptom", data)]

    def was_proposed(self, test: Test) -> None:
        """Note a test as proposed here."""
        key = test_key(test)
        if key not in self._proposed:
            self._append("proposed", {"key": key, "test": test_as_data(test)})

    @property
    def added(self) -> list[tuple[str, Mapping[str, Any]]]:
        """What was recorded here, as kinds and data."""
        return [(e.kind, e.data) for e in self.record.events[self._began :]]

    def _append_all(self, entries: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[Event, ...]:
        first = self.record.events[-1].number + 1 if self.record.events else 1
        events = tuple(clean(Event(n, self._clock(), *e)) for n, e in enumerate(entries, first))
        self.record = JobRecord(self.record.header, (*self.record.events, *events))
        kept = self.__dict__.get("investigator")
        for name, value in vars(Job).items():
            if isinstance(value, cached_property):
                self.__dict__.pop(name, None)
        if kept is not None and kept.supply_v == self.supply_v:
            self.__dict__["investigator"] = kept
        return events

    def undo(self) -> Event:
        """Not here: whoever wants it otherwise begins another copy.

        Raises:
            JobFileError: Always.
        """
        raise JobFileError("a copy of a job takes nothing back", "make another copy")


def state_mark(job: Job) -> str:
    """Ten signs that stand for this job and where it stands: others as soon as an entry that counts is added or taken
    back, or the harness file is another."""
    header = job.record.header
    told = [
        [e.number, e.time.isoformat(), e.kind, dict(e.data)]
        for e in job.record.living if e.kind not in _COUNTS_NOT
    ]
    harness = hashlib.sha256(job.harness_path.read_bytes()).hexdigest()
    said = json.dumps([header.harness, header.vehicle, header.complaint, harness, told], sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()[:10]


def take_over(job: Job, tried: WhatIf, mark: str) -> tuple[Event, ...]:
    """Record in the job what was recorded on a copy of it, all of it or nothing.

    Args:
        mark: That its entries carry, so that it is known when it comes again.

    Raises:
        JobFileError: The job file cannot be written.
    """
    with job.marking(mark):
        return job._append_all(tried.added)
