"""The tool's own plan on the same hidden fault, through the same exercise: what the learner is measured against."""

from __future__ import annotations

import tempfile
from pathlib import Path

from msgspec import Struct

from tracer.observation.words.reading_data import test_key
from tracer.practice.exercise import Exercise

_MOST_STEPS = 40


class Played(Struct, frozen=True):
    """How the plan went. `steps`: what was done, in words, in order; `tests`: how many of them were tests."""

    found: bool
    minutes: float
    tests: int
    starts: int
    in_vain: tuple[str, ...]
    steps: tuple[str, ...]


def play_plan(harness: Path, level: int, seed: int) -> Played:
    """Work an exercise as the tool proposes each step, from the same complaint, in a folder that is thrown away.

    Raises:
        TracerError: As `Exercise.begin`.
    """
    with tempfile.TemporaryDirectory() as folder:
        exercise = Exercise.begin(Path(folder) / "plan.yaml", harness, level, seed)
        steps, tests = list[str](), 0
        for _ in range(_MOST_STEPS):
            proposal = exercise.job.next()
            if proposal.test is not None:
                done = exercise.ask(test_key(proposal.test))
                steps.append(f"{done.asked}: {done.answer}")
                tests += 1
            elif proposal.kind == "repair" and proposal.suspect is not None:
                steps.append(exercise.repair(proposal.suspect.repair).repair)
            else:
                break
            if exercise.over:
                break
        found = exercise.over
        if not found:
            exercise.give_up()
        starts, in_vain = exercise.job.engine_starts, exercise.parts_in_vain()
        return Played(found, exercise.minutes, tests, starts, in_vain, tuple(steps))
