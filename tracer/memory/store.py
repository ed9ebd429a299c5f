"""The file of a workshop's memory: one small SQLite database, readable by any program that reads these.

It holds a row for each job (under a digest that tells nothing of it), what was found, and the equipment of the
vehicles; no customer, no plate, no price, no time. Reading never changes it. What was forgotten stays known by its
digest alone, so that it does not come back with the next folder or with another workshop's file.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracer.cache import place_of_user
from tracer.errors import TracerError
from tracer.memory.finds import OUTCOMES, Find, Group, Learned, Outcome
from tracer.memory.posterior import Bundle, Counts

if TYPE_CHECKING:
    import sqlite3  # most commands on most machines have no memory to look into

MEMORY_VARIABLE: Final = "TRACER_MEMORY"
FORMAT: Final = 1
_MARK: Final = 0x7472636D  # application id: whose file it is
_WAIT_S: Final = 5.0
_TABLES: Final = (
    "CREATE TABLE jobs (id TEXT PRIMARY KEY, entries INTEGER NOT NULL, outcome TEXT NOT NULL, vehicle TEXT NOT NULL,"
    " age TEXT NOT NULL, equipment TEXT NOT NULL, environment TEXT NOT NULL)",
    "CREATE TABLE finds (job TEXT NOT NULL, kind TEXT NOT NULL, share REAL NOT NULL, part TEXT NOT NULL,"
    " place TEXT NOT NULL)",
    "CREATE INDEX finds_of_job ON finds (job)",
    "CREATE TABLE equipment (digest TEXT NOT NULL, kind TEXT NOT NULL, elements REAL NOT NULL,"
    " PRIMARY KEY (digest, kind))",
    "CREATE TABLE forgotten (id TEXT PRIMARY KEY)",
    "CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL)",
)


class MemoryFileError(TracerError):
    """The file of the memory cannot be read or written, or is no such file."""


def memory_path() -> Path | None:
    """Where this user's workshop keeps its memory; None if it keeps none."""
    return place_of_user(MEMORY_VARIABLE, "user_data_path", "memory.sqlite")


class Memory:
    """A memory file.

    Nothing is written before something is to be kept; every change is there as a whole or not at all.
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)

    @property
    def exists(self) -> bool:
        return self.path.is_file()

    def learn(self, jobs: list[Learned]) -> list[bool]:
        """Keep these jobs, all or none; for each whether it is new or more than what was known of it. Forgotten
        ones stay forgotten.

        Raises:
            MemoryFileError: The file cannot be written, or is no memory of this format.
        """
        with self._writing() as file:
            gone = {row[0] for row in file.execute("SELECT id FROM forgotten")}
            known = {j.id: j for j in _jobs(file)} if len(jobs) > 1 else {
                j.id: j for given in jobs for j in _jobs(file, given.id)}
            new = []
            for job in jobs:
                before = known.get(job.id)
                taken = job.id not in gone and (before is None or _order(before) < _order(job))
                if taken:
                    known[job.id] = job
                    _put(file, job)
                new.append(taken)
        return new

    def forget(self, job: str) -> bool:
        """Take a job out for good; whether it was there."""
        with self._writing() as file:
            there = file.execute("DELETE FROM jobs WHERE id = ?", (job,)).rowcount > 0
            file.execute("DELETE FROM finds WHERE job = ?", (job,))
            file.execute("INSERT OR IGNORE INTO forgotten VALUES (?)", (job,))
            _clear(file)
        return there

    def remember_again(self, job: str) -> bool:
        """Let a forgotten job be learned again; whether it was forgotten."""
        with self._writing() as file:
            return file.execute("DELETE FROM forgotten WHERE id = ?", (job,)).rowcount > 0

    def has_forgotten(self, job: str) -> bool:
        if not self.exists:
            return False
        with self._reading() as file:
            return file.execute("SELECT 1 FROM forgotten WHERE id = ?", (job,)).fetchone() is not None

    def merge(self, other: Memory) -> int:
        """Take over what another memory knows, never a job twice; how many jobs are new or more than before. What
        either has forgotten is forgotten. In whatever order files are merged, the same is known in the end.

        Raises:
            MemoryFileError: One of the files cannot be used; nothing was changed.
        """
        if not other.exists:
            raise MemoryFileError(f"{other.path} is not there")
        with other._reading() as file:
            jobs = list(_jobs(file))
            gone = [row[0] for row in file.execute("SELECT id FROM forgotten")]
        with self._writing() as file:
            for job in gone:
                file.execute("DELETE FROM jobs WHERE id = ?", (job,))
                file.execute("DELETE FROM finds WHERE job = ?", (job,))
                file.execute("INSERT OR IGNORE INTO forgotten VALUES (?)", (job,))
            mine = {row[0] for row in file.execute("SELECT id FROM forgotten")}
            known = {j.id: j for j in _jobs(file)}
            new = 0
            for job in jobs:
                before = known.get(job.id)
                if job.id not in mine and (before is None or _order(before) < _order(job)):
                    _put(file, job)
                    new += 1
            _clear(file)
        return new

    def export(self, path: str | Path) -> int:
        """Write the counts, without this workshop's settings, into a file of their own; how many jobs.

        Raises:
            MemoryFileError: There is something of that name, or one of the files cannot be used.
        """
        target = Path(path)
        if os.path.lexists(target):
            raise MemoryFileError(f"{target} exists already; nothing was changed", "give it another name")
        if not self.exists:
            raise MemoryFileError("nothing is learned yet, so that there is nothing to export")
        made = Memory(target)
        try:
            made.merge(self)
        except BaseException:
            target.unlink(missing_ok=True)
            raise
        return made.counts().jobs

    def counts(self, without: str = "") -> Counts:
        """All that is known, added up; `without` the job of this id.

        Raises:
            MemoryFileError: The file cannot be read, or is no memory of this format.
        """
        if not self.exists:
            return Counts()
        with self._reading() as file:
            equipment: dict[str, dict[str, float]] = {}
            for digest, kind, elements in file.execute("SELECT digest, kind, elements FROM equipment"):
                equipment.setdefault(digest, {})[str(kind)] = _number(elements, 1e9)
            jobs: dict[tuple[Group, str], int] = {}
            other = dict.fromkeys(OUTCOMES, 0)
            for vehicle, age, digest, outcome, n in file.execute(
                "SELECT vehicle, age, equipment, outcome, COUNT(*) FROM jobs WHERE id <> ? GROUP BY 1, 2, 3, 4",
                (without,),
            ):
                if outcome == "found":
                    jobs[Group(vehicle, age), digest] = n
                else:
                    other[outcome] = other.get(outcome, 0) + n
            finds: dict[tuple[Group, str], dict[str, float]] = {}
            for vehicle, age, digest, kind, n in file.execute(
                "SELECT j.vehicle, j.age, j.equipment, f.kind, SUM(f.share) FROM finds f JOIN jobs j ON j.id = f.job"
                " WHERE j.id <> ? AND j.outcome = 'found' GROUP BY 1, 2, 3, 4", (without,),
            ):
                finds.setdefault((Group(vehicle, age), digest), {})[str(kind)] = _number(n, 1e9)
        bundles = tuple(
            Bundle(group, n, equipment.get(digest, {}), finds.get((group, digest), {}))
            for (group, digest), n in sorted(jobs.items(), key=lambda x: (x[0][0].vehicle, x[0][0].age, x[0][1]))
        )
        return Counts(bundles, other["not described"], other["given up"])

    def jobs(self) -> list[Learned]:
        """Every job as it is kept, by its id."""
        if not self.exists:
            return []
        with self._reading() as file:
            return list(_jobs(file))

    @property
    def learns_when_closed(self) -> bool:
        """Whether a job is learned as soon as it closes."""
        if not self.exists:
            return False
        with self._reading() as file:
            found = file.execute("SELECT value FROM settings WHERE name = 'when closed'").fetchone()
            return found is not None and found[0] == "yes"

    def learn_when_closed(self, yes: bool) -> None:
        """Set whether a job is learned as soon as it closes."""
        with self._writing() as file:
            file.execute("INSERT OR REPLACE INTO settings VALUES ('when closed', ?)", ("yes" if yes else "no",))

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        import sqlite3

        with self._errors("read"):
            uri = self.path.resolve().as_uri() + "?mode=ro"
            with closing(sqlite3.connect(uri, uri=True, timeout=_WAIT_S)) as file:
                self._need_own(file)
                yield file

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        import sqlite3

        with self._errors("write"):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            fresh = not self.path.exists() or self.path.stat().st_size == 0
            if fresh:
                self.path.touch(mode=0o600)
            with closing(sqlite3.connect(self.path, timeout=_WAIT_S, isolation_level=None)) as file:
                file.execute("BEGIN IMMEDIATE")
                try:
                    if _is_empty(file):
                        for table in _TABLES:
                            file.execute(table)
                        file.execute(f"PRAGMA application_id = {_MARK}")
                        file.execute(f"PRAGMA user_version = {FORMAT}")
                    self._need_own(file)
                    yield file
                    file.execute("COMMIT")
                except BaseException:  # Ctrl-C too: what was there before is there again
                    if file.in_transaction:
                        file.execute("ROLLBACK")
                    raise

    def _need_own(self, file: sqlite3.Connection) -> None:
        """Raises:
        MemoryFileError: No memory, or one of a newer format.
        """
        mark, version = (int(file.execute(f"PRAGMA {p}").fetchone()[0]) for p in ("application_id", "user_version"))
        if mark != _MARK:
            raise MemoryFileError(f"{self.path} is no memory of a workshop; it was left as it is")
        if version > FORMAT:
            raise MemoryFileError(f"{self.path} was written by a newer tracer (format {version}); this one knows "
                                  f"format {FORMAT}: it was left as it is")

    @contextmanager
    def _errors(self, doing: str) -> Iterator[None]:
        import sqlite3

        try:
            yield
        except sqlite3.OperationalError as error:
            if "locked" in str(error):
                raise MemoryFileError(f"{self.path} is in use by another program; nothing was changed",
                                      "try again") from error
            raise MemoryFileError(f"cannot {doing} {self.path}: {error}") from error
        except (sqlite3.DatabaseError, ValueError, TypeError) as error:
            raise MemoryFileError(f"{self.path} is damaged ({error}); it was left as it is",
                                  "if it was a memory: put it aside under another name, and learn the folder of jobs "
                                  "again") from error
        except OSError as error:
            raise MemoryFileError(f"cannot {doing} {self.path}: {error.strerror or error}") from error


def _is_empty(file: sqlite3.Connection) -> bool:
    return int(file.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]) == 0


def _put(file: sqlite3.Connection, job: Learned) -> None:
    """Write one job in the place of what was known of it."""
    digest = job.digest  # of all its equipment, once for it and each of the rows
    file.execute("DELETE FROM finds WHERE job = ?", (job.id,))
    file.execute("INSERT OR REPLACE INTO jobs VALUES (?, ?, ?, ?, ?, ?, ?)", (
        job.id, job.entries, job.outcome, job.group.vehicle, job.group.age, digest, ", ".join(job.environment),
    ))
    file.executemany("INSERT INTO finds VALUES (?, ?, ?, ?, ?)",
                     [(job.id, f.kind, f.share, f.part, f.place) for f in job.finds])
    file.executemany("INSERT OR IGNORE INTO equipment VALUES (?, ?, ?)",
                     [(digest, kind, n) for kind, n in job.equipment])


def _clear(file: sqlite3.Connection) -> None:
    """Drop the equipment of vehicles of which no job is left."""
    file.execute("DELETE FROM equipment WHERE digest NOT IN (SELECT equipment FROM jobs)")


def _jobs(file: sqlite3.Connection, only: str | None = None) -> Iterator[Learned]:
    """The jobs of a file, or the one of this id, in the order of their ids.

    Raises:
        ValueError: One of them cannot be.
    """
    equipment: dict[str, list[tuple[str, float]]] = {}
    for digest, kind, n in file.execute("SELECT digest, kind, elements FROM equipment ORDER BY digest, kind"):
        equipment.setdefault(digest, []).append((str(kind), _number(n, 1e9)))
    where, given = ("", ()) if only is None else (" WHERE {} = ?", (only,))
    finds: dict[str, list[Find]] = {}
    for job, kind, share, part, place in file.execute(
        "SELECT job, kind, share, part, place FROM finds" + where.format("job"), given
    ):
        finds.setdefault(job, []).append(Find(str(kind), _number(share, 1.0), str(part), str(place)))
    for row in file.execute("SELECT id, entries, outcome, vehicle, age, equipment, environment FROM jobs"
                            + where.format("id") + " ORDER BY id", given):
        yield Learned(
            str(row[0]), int(row[1]), _outcome(row[2]), Group(str(row[3]), str(row[4])),
            tuple(sorted(finds.get(row[0], []))), tuple(filter(None, str(row[6]).split(", "))),
            tuple(equipment.get(row[5], [])),
        )


def _order(job: Learned) -> tuple[int, str]:
    """Of two states of one job the one with more entries counts; of equally long ones always the same one."""
    return job.entries, repr(job)


def _outcome(text: object) -> Outcome:
    for outcome in OUTCOMES:
        if text == outcome:
            return outcome
    raise ValueError(f"“{text}” is no outcome of a job")


def _number(value: object, most: float) -> float:
    if not isinstance(value, (int, float)) or not math.isfinite(value) or not 0 <= value <= most:
        raise ValueError(f"“{value}” cannot be")
    return float(value)
