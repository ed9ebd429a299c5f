"""What the folder holds: jobs and harness files by name, and the jobs that are open here."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from threading import RLock
from typing import Final

from msgspec import Struct, field

from tracer.errors import JobFileError, TracerError
from tracer.job import file as job_file
from tracer.job.job import Job
from tracer.job.text import JobRecord
from tracer.job.values import Limits, Proposal, Story
from tracer.job.whole_file import write_output
from tracer.page.ahead import Ahead

_HEAD: Final = 4000  # bytes in which a file says what it is
_REFRESH_S: Final = 0.5
_MOST_OPEN: Final = 20


class OpenJob(Struct):
    """A job with its lock, its proposal for what stands, and what was remarked on entries made here."""

    job: Job
    lock: RLock = field(default_factory=RLock)
    remarks: dict[int, tuple[str, str]] = field(default_factory=dict)  # number of the entry → remark, what it changed
    looked_at: float = 0.0
    _planned: dict[object, Proposal] = field(default_factory=dict)
    _ahead: Ahead | None = None
    _worked_ahead: bool = False

    @property
    def stand(self) -> int:
        """Grows with every entry that somebody made."""
        return max((e.number for e in self.job.events() if e.kind != "proposed"), default=0)

    def forget(self) -> None:
        """The harness is another: what was worked out counts no more."""
        self._planned.clear()
        self._ahead = None

    def work_ahead(self) -> None:
        """Work out beside the requests what the first step will need; once, however many devices look."""
        if not self._worked_ahead:
            self._worked_ahead, self._ahead = True, Ahead(self.job.path)

    def take_ahead(self, wait: bool = False) -> None:
        """Use what was worked out ahead; with `wait`, also what is still being worked out."""
        if self._ahead is not None and self._ahead.give(self.job, wait):
            self._ahead = None

    def proposal(self, limits: Limits | None = None) -> Proposal:
        """The next step, worked out once for what stands."""
        key = self.stand, limits
        if key not in self._planned:
            self.take_ahead(wait=True)
            self._planned = {k: p for k, p in self._planned.items() if isinstance(k, tuple) and k[0] == self.stand}
            self._planned[key] = self.job.next(limits)
        return self._planned[key]


class Listed(Struct, frozen=True):
    """A job of the folder as far as its file says without reasoning; `broken`: why it cannot be opened."""

    name: str
    vehicle: str = ""
    complaint: str = ""
    status: str = ""
    closed: bool = False
    last: str = ""
    broken: str = ""


class Folder:
    """The jobs of one folder. A name is looked up among what is there; it never becomes a path."""

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()
        self._open: dict[str, OpenJob] = {}
        self._lock = RLock()

    def jobs(self) -> dict[str, Path]:
        """Job files by their name without ending, the latest changed first."""
        found = [p for p in self._yaml(self.path) if _head(p).startswith("tracer job:")]
        return {p.stem: p for p in sorted(found, key=_changed, reverse=True)}

    def harnesses(self) -> dict[str, Path]:
        """Harness files of the folder and of the folders in it, by name; and those of its jobs."""
        found: dict[str, Path] = {}
        inner = sorted(d for d in self.path.iterdir() if d.is_dir() and not d.name.startswith("."))
        for place in (self.path, *inner):
            for p in self._yaml(place):
                if _head(p).startswith("harness:"):
                    found.setdefault(str(p.relative_to(self.path)), p)
        known = {p.resolve() for p in found.values()}
        for path in self.jobs().values():
            said = re.search(r"^harness: *[\"']?([^\"'\n]+)", _head(path), re.MULTILINE)
            harness = (path.parent / said[1].strip()).resolve() if said else path
            if harness.is_file() and harness not in known and _head(harness).startswith("harness:"):
                known.add(harness)
                found.setdefault(harness.name, harness)
        return found

    @staticmethod
    def _yaml(place: Path) -> list[Path]:
        return sorted(p for p in place.glob("*.yaml") if p.is_file() and not p.name.startswith("."))

    def listed(self) -> list[Listed]:
        """Every job of the folder, open ones first."""
        out = []
        for name, path in self.jobs().items():
            try:
                out.append(_listed(name, job_file.read(self.path / path.name)))
            except TracerError as error:
                out.append(Listed(name, broken=str(error)))
        return sorted(out, key=lambda j: (j.closed, bool(j.broken)))

    @contextmanager
    def job(self, name: str) -> Iterator[OpenJob]:
        """The job of that name, as its file stands, for one request at a time.

        Raises:
            KeyError: The folder has no such job.
            TracerError: It cannot be read.
        """
        with self._lock:
            path = self.jobs()[name]
            opened = self._open.get(name)
            if opened is None:
                opened = self._open[name] = OpenJob(Job(path))
                while len(self._open) > _MOST_OPEN:
                    self._open.pop(next(iter(self._open)))
        with opened.lock:
            if time.monotonic() - opened.looked_at > _REFRESH_S and not opened.job.refresh():
                opened.job = Job(path)
                opened.forget()
            opened.looked_at = time.monotonic()
            yield opened

    def add_harness(self, title: str, text: str) -> str:
        """Write a new harness under a name made from its title; returns that name.

        Raises:
            TracerError: It cannot be written.
        """
        for name in _names(title, "vehicle"):
            if not os.path.lexists(self.path / f"{name}.yaml"):
                write_output(str(self.path / f"{name}.yaml"), text)
                return f"{name}.yaml"
        raise TracerError("too many files of this name", "give the vehicle another name")

    def start(
        self, harness: str, vehicle: str, complaint: str, before: str = "", story: Story | None = None,
        traffic: str = "",
    ) -> str:
        """Start a job under a name made from the vehicle's; returns that name. `before`: an earlier job on it.

        Raises:
            KeyError: The folder has no such harness or job.
            TracerError: It cannot be started.
        """
        path, earlier = self.harnesses()[harness] if harness else None, self.jobs()[before] if before else None
        for name in _names(vehicle or complaint, "job"):
            if not (self.path / f"{name}.yaml").exists():
                Job.create(self.path / f"{name}.yaml", path, vehicle, complaint, same_vehicle_as=earlier,
                           story=story, traffic=traffic)
                return name
        raise JobFileError("too many jobs of this name", "give the vehicle another name")


def _names(said: str, otherwise: str) -> Iterator[str]:
    """Names for a new file by what it is called, the first the plainest."""
    stem = "-".join(re.findall("[a-z0-9]+", (said or otherwise).casefold()))[:40].strip("-") or otherwise
    yield stem
    yield from (f"{stem}-{n}" for n in range(2, 1000))


def _listed(name: str, record: JobRecord) -> Listed:
    """Where a job stands by its entries alone; nothing is weighed for it."""
    living = record.living
    repair = next((e for e in reversed(living) if e.kind == "repaired"), None)
    status, closed = "open", False
    if repair is not None:
        checks = record.checks_of(repair)
        left = [n for n, good in checks.items() if good is None]
        closed = all(checks.values())
        status = ("closed: repaired and proven" if closed else "open again: a check of the repair failed"
                  if False in checks.values() else f"repaired, {len(left)} of {len(checks)} checks left")
    elif not any(e.kind in ("symptom", "reading") for e in living):
        status = "nothing told yet"
    last = f"{record.events[-1].time:%d %b %H:%M}" if record.events else ""
    return Listed(name, record.header.vehicle, record.header.complaint, status, closed, last)


def _head(path: Path) -> str:
    """The beginning of a file without comments and blank lines."""
    try:
        with path.open("rb") as file:
            lines = file.read(_HEAD).decode("utf-8-sig", "replace").splitlines()
    except OSError:
        return ""
    return "\n".join(line for line in lines if line.strip() and not line.startswith(("#", "---", "%")))


def _changed(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def limits_of(form: Mapping[str, str], without: list[str]) -> Limits | None:
    """Limits as ticked on a page; None if none was."""
    alone, engine_off, at = bool(form.get("alone")), bool(form.get("engine_off")), form.get("at") or None
    if not (alone or engine_off or at or without):
        return None
    return Limits(at, frozenset(without), frozenset(), alone, engine_off)
