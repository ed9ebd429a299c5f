"""A job file that is open: what stands in it, what is added to it, and what others add meanwhile."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tracer.errors import JobFileError
from tracer.job import file as job_file
from tracer.job.earlier_jobs import EARLIER
from tracer.job.kinds import MARKED, read_known
from tracer.job.text import Event, JobRecord
from tracer.job.vehicle import Overlay, Vehicle

Clock = Callable[[], datetime]
NewEntry = tuple[str, Mapping[str, Any]]  # its kind and what it says


def now() -> datetime:
    """The time written beside an event: this machine's clock with its zone."""
    return datetime.now(UTC).astimezone()


class Log:
    """The record of one job and the vehicle it speaks of, as they were read last. What is added is read back.

    Attributes:
        path: Of the job file.
        record: What stands in it.
        vehicle: Its harness with the overlays recorded.
        harness_changed: Whether the harness file is another than when the job was started.
    """

    def __init__(self, path: Path, clock: Clock) -> None:
        """Raises:
            TracerError: The job or its harness cannot be read.
        """
        self.path, self._clock, self._mark = path, clock, ""
        self.record: JobRecord = read_known(path)
        harness = Path(os.path.realpath(path)).parent / self.record.header.harness
        if not harness.is_file():
            raise JobFileError(
                f"the harness of this job is not there: {self.record.header.harness}",
                "put it back, or correct the line “harness:” in the job file",
            )
        self.vehicle = Vehicle(harness, self.overlays)
        self.harness_changed = self.vehicle.fingerprint != self.record.header.fingerprint

    @property
    def clock(self) -> Clock:
        """Gives the time of new entries."""
        return self._clock

    @property
    def overlays(self) -> list[Overlay]:
        """What was recorded to differ on this vehicle."""
        return [e.data for e in self.record.living if e.kind == "overlay"]

    def append(self, entries: Sequence[NewEntry]) -> tuple[Event, ...]:
        """All of them are recorded or none; what carries the mark of now stands already.

        Raises:
            TracerError: As `file.append`; nothing was changed.
        """
        if not entries:
            return ()
        if self._mark:
            known = {e.kind: e for e in self.record.events if e.data.get(MARKED) == self._mark}
            if all(kind in known for kind, _ in entries):
                return tuple(known[kind] for kind, _ in entries)
            entries = [(kind, data if kind == "proposed" else {**data, MARKED: self._mark}) for kind, data in entries]
        events = job_file.append_all(self.path, entries, self._clock())
        self._read()
        return events

    def undo(self) -> Event:
        """Take back the last entry (proposals and notes of the tool itself are passed over)."""
        own = [e for e in self.record.living if e.kind not in ("proposed", EARLIER)]
        if not own:
            raise JobFileError("nothing to take back", "no entry of yours stands in this job")
        taken = job_file.withdraw(self.path, self._clock(), own[-1].number)
        self._read()
        return taken

    @contextmanager
    def marking(self, mark: str) -> Iterator[None]:
        """What is added meanwhile carries a mark made by whoever sent it; "" marks nothing."""
        self._mark = mark
        try:
            yield
        finally:
            self._mark = ""

    def has_marked(self, mark: str) -> bool:
        """Whether an entry carries this mark, also one that was taken back."""
        return bool(mark) and any(e.data.get(MARKED) == mark for e in self.record.events)

    def refresh(self) -> bool:
        """Read what others have recorded meanwhile; False if the harness file is another now.

        Raises:
            TracerError: The job file cannot be read any more.
        """
        if not self.vehicle.stands:
            return False
        if job_file.read(self.path).events != self.record.events:
            self._read()
        return True

    def _read(self) -> None:
        self.record = read_known(self.path)
        self.vehicle = self.vehicle.as_of(self.overlays)
