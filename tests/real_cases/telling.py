"""What a published case holds: what was told and measured, the cause, and how a suspect is held against it."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Sequence
from dataclasses import astuple, dataclass, field
from pathlib import Path

from filelock import FileLock

from tests.shared import unremarked
from tracer import Job
from tracer.cache import FOLDER_VARIABLE
from tracer.inference.diagnosis import Suspect

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Told:
    """A statement. `typed`: in words that name lamps and controls as the harness file does, None where there are no
    such words for it; `spoken`: as the person would say it."""

    typed: str | None
    spoken: str


@dataclass(frozen=True)
class Read:
    """A test and what it showed, both as typed, and as the person would say it."""

    test: str
    value: str
    spoken: str


@dataclass(frozen=True)
class Repaired:
    """A repair that was made on the way."""

    repair: str


Step = Told | Read | Repaired


@dataclass(frozen=True)
class RealCase:
    """One published case.

    Attributes:
        page: The page where it was published.
        grade: A: the writer says that the repair cured it. B: the cause was found and seen. G: a defect met again and
            again, in general words. C: a practitioner's answer, not confirmed.
        given: What the source says of the wiring and the fault.
        invented: What was made up beside the harness's ordinary surroundings.
        seen: What was told before anything was measured.
        measured: What was measured or tried after that, in order.
        accepted: Patterns for the whole of a fault's repair, or of its name. A suspect is accepted if each of its
            faults fits one of them.
        every: Patterns of which each must be met by a fault of the suspect, for causes that are two faults at once.
        accepted_after: As `accepted`, once all is measured; where empty, `accepted` stays.
    """

    id: str
    page: str
    grade: str
    given: str
    invented: str
    seen: tuple[Step, ...]
    accepted: tuple[str, ...]
    measured: tuple[Step, ...] = ()
    every: tuple[str, ...] = ()
    accepted_after: tuple[str, ...] = field(default=())

    @property
    def harness_path(self) -> Path:
        return HERE / f"{self.id}.yaml"

    @property
    def was_measured(self) -> bool:
        """Something was measured or tried that can be typed."""
        return any(not isinstance(s, Told) or s.typed is not None for s in self.measured)


@dataclass(frozen=True)
class Standing:
    """Where the cause stands among the suspects. `rank` is None if it is not among them; `alone` is the rank of its
    repair if those of one search do not stand together."""

    rank: int | None
    share: float
    leader: str
    leader_share: float
    alone: int | None = None


def tell(job: Job, steps: Sequence[Step]) -> None:
    """Record the steps in a job; what cannot be typed is left out."""
    for step in steps:
        if isinstance(step, Read):
            with unremarked():
                job.reading(step.test, step.value)
        elif isinstance(step, Repaired):
            job.repaired(step.repair)
        elif step.typed is not None:
            job.symptom(step.typed)


def standing(job: Job, accepted: Sequence[str], every: Sequence[str] = ()) -> Standing:
    """The place of the first accepted suspect, as the list shows them: repairs that are one search stand together, at
    the place of their likeliest. `alone` is its place if each repair stood for itself. The share is that of all
    accepted together."""
    suspects, shown = job.suspects(), job.diagnosis.searches
    right = [_right(s, accepted, every) for s in suspects]
    found = {s.repair for s, hit in zip(suspects, right, strict=True) if hit}
    rank = next((n for n, s in enumerate(shown, 1) if found & {s.repair, *s.along}), None)
    alone = next((n for n, hit in enumerate(right, 1) if hit), None)
    share = sum(s.share for s, hit in zip(suspects, right, strict=True) if hit)
    return Standing(rank, share, shown[0].search or shown[0].repair, shown[0].search_share, alone)


def _right(suspect: Suspect, accepted: Sequence[str], every: Sequence[str]) -> bool:
    names = [(f.repair, f.name) for f in suspect.best.faults]
    return all(_fits(n, accepted) for n in names) and all(any(_fits(n, [e]) for n in names) for e in every)


def _fits(names: tuple[str, str], patterns: Sequence[str]) -> bool:
    return any(re.fullmatch(p, n) for p in patterns for n in names)


def played_once(case: RealCase, folder: Path) -> tuple[Standing, Standing]:
    """As `play`; workers and tests take over from one another what was played in this run, whose folder of kept
    results is new."""
    shared = Path(os.environ[FOLDER_VARIABLE]) / "real_cases"
    shared.mkdir(exist_ok=True)
    kept = shared / f"{case.id}.json"
    with FileLock(f"{kept}.lock"):
        if not kept.exists():
            kept.write_text(json.dumps([astuple(s) for s in play(case, folder)]), encoding="utf-8")
    first, after = (Standing(*told) for told in json.loads(kept.read_text(encoding="utf-8")))
    return first, after


def play(case: RealCase, folder: Path) -> tuple[Standing, Standing]:
    """Where the cause stands from what was seen alone, and after what was measured."""
    job = Job.create(folder / f"{case.id}.yaml", case.harness_path, f"case {case.id}")
    tell(job, case.seen)
    first = standing(job, case.accepted, case.every)
    if not case.measured:
        return first, first
    tell(job, case.measured)
    return first, standing(job, case.accepted_after or case.accepted, case.every)
