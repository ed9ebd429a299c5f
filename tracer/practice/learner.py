"""A learner's progress: one line an exercise, in a file of the learner's own."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from filelock import FileLock, Timeout

from tracer.cache import place_of_user
from tracer.errors import TracerError
from tracer.job.whole_file import replace_whole
from tracer.practice.debrief import Debrief
from tracer.practice.exercise import Exercise
from tracer.practice.hidden_faults import LEVELS

FOLDER_VARIABLE: Final = "TRACER_LEARNERS"
_NAME: Final = re.compile(r"[\w][\w .'-]{0,39}")
_WAIT_S: Final = 5.0
_MOST_BYTES: Final = 10_000_000


def file_of(name: str) -> Path:
    """Where the progress of a learner stands.

    Raises:
        TracerError: The name cannot be that of a file, or there is no folder for it.
    """
    name = " ".join(name.split())
    if not _NAME.fullmatch(name):
        raise TracerError(f"“{name[:40]}” cannot be kept as a name", "letters, digits, spaces, . ' - and at most 40")
    folder = place_of_user(FOLDER_VARIABLE, "user_data_path", "learners")
    if folder is None:
        raise TracerError("there is no folder to keep progress in",
                          f"set {FOLDER_VARIABLE} to a folder that can be written")
    return folder / f"{name.casefold()}.jsonl"


def note(name: str, vehicle: str, level: int, result: Debrief, now: datetime | None = None) -> None:
    """Add an exercise to a learner's progress; two at once wait for each other.

    Raises:
        TracerError: The file cannot be written; the exercise itself is not touched by that.
    """
    path = file_of(name)
    line = json.dumps({
        "time": (now or datetime.now(UTC).astimezone()).isoformat(timespec="seconds"), "vehicle": vehicle,
        "level": level, "found": result.found, "minutes": round(result.minutes, 1),
        "plan minutes": round(result.plan.minutes, 1), "tests": len(result.tests), "hints": result.hints,
        "parts in vain": len(result.in_vain), "dangers": len(result.dangers),
    }, ensure_ascii=False)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(f"{path}.lock", timeout=_WAIT_S):
            before = path.read_bytes() if path.is_file() else b""
            replace_whole(path, before + line.encode("utf-8") + b"\n")
    except Timeout:
        raise TracerError(f"{path.name} is in use by another program", "try again") from None
    except OSError as error:
        raise TracerError(f"the progress of {name} cannot be kept: {error.strerror or error}",
                          f"set {FOLDER_VARIABLE} to a folder that can be written") from None


def counted(exercise: Exercise, result: Debrief) -> tuple[str, ...]:
    """The learner's progress with this exercise in it, counted once; nothing for whoever gave no name."""
    seal = exercise.seal
    if not seal.learner:
        return ()
    if not seal.told:
        note(seal.learner, exercise.job.harness.title, seal.level, result)
        exercise.count()
    return progress(seal.learner)


def progress(name: str) -> tuple[str, ...]:
    """What a learner has done so far, a line a level; damaged lines are passed over and counted."""
    path = file_of(name)
    rows, damaged = list[Mapping[str, Any]](), 0
    if path.is_file() and path.stat().st_size <= _MOST_BYTES:
        for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
            try:
                row = json.loads(line)
                found, minutes, plan = bool(row["found"]), float(row["minutes"]), float(row["plan minutes"])
                rows.append({"level": int(row["level"]), "found": found, "minutes": minutes, "plan": plan})
            except (ValueError, KeyError, TypeError):
                damaged += 1
    said = []
    for level, what in LEVELS.items():
        own = [r for r in rows if r["level"] == level]
        if own:
            right = [r for r in own if r["found"]]
            times = sum(r["minutes"] for r in right) / max(sum(r["plan"] for r in right), 1e-9)
            beside = f", {times:.1f} times the minutes of the tool's own plan" if right else ""
            said.append(f"level {level} ({what}): {len(right)} of {len(own)} found{beside}")
    if damaged:
        said.append(f"{damaged} lines of {path.name} cannot be read and are left out")
    return tuple(said) or (f"{name}: no exercise finished yet",)
