"""After an exercise: what it took beside the tool's own plan, where the two parted, and what each test told."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.inference.diagnosis import Diagnosis
from tracer.job.history import Entry
from tracer.observation.evidence import Reading
from tracer.observation.words.reading_data import test_key
from tracer.practice.exercise import Exercise
from tracer.practice.plan_player import Played, play_plan
from tracer.safety.advice import cautions_of, of_test
from tracer.safety.permitted import forbidden

# Bits by which the list of causes moved, and what is said of that. (Judgement: common practice, no source.)
_TOLD: Final = ((0.1, "told nothing new"), (0.7, "told a little"), (2.0, "told much"), (np.inf, "all but settled it"))
_LEAST: Final = 1e-9
_SMALL_WORDS: Final = frozenset(["with", "from", "into", "before", "after", "under", "this", "that", "first", "last",
                                 "only"])


class Told(Struct, frozen=True):
    """One test of the learner's. `bits`: how far it moved the list of causes; `hinted`: the tool proposed it."""

    asked: str
    shown: str
    bits: float
    hinted: bool

    @property
    def says(self) -> str:
        return next(words for most, words in _TOLD if self.bits < most)


class Debrief(Struct, frozen=True):
    """How an exercise went.

    Attributes:
        answer, needed: What was hidden, and what would have put it right.
        found: Whether the vehicle was put right.
        minutes, starts, in_vain: Of the learner; `plan`: the same of the tool's own plan.
        tests: In order, with what each told.
        parted: Where the learner's way left the plan's, in words; "" where it did not.
        dangers: Tests that are never asked for as they were made.
        missed: Cautions of the tests that were not named before.
    """

    answer: tuple[str, ...]
    needed: tuple[str, ...]
    found: bool
    minutes: float
    starts: int
    in_vain: tuple[str, ...]
    hints: int
    tests: tuple[Told, ...]
    plan: Played
    parted: str
    dangers: tuple[str, ...]
    missed: tuple[str, ...]


def debrief(exercise: Exercise) -> Debrief:
    """Raises:
        TracerError: The exercise is not over.
    """
    answer = exercise.answer
    job = exercise.job
    plan = play_plan(job.harness_path, exercise.seal.level, exercise.seal.seed)
    entries = [e for e in job.entries if isinstance(e.item, Reading)]
    tests = tuple(_told(exercise, e) for e in entries)
    return Debrief(
        answer, exercise.repairs_needed, job.closed and not exercise.seal.given_up, exercise.minutes,
        job.engine_starts, exercise.parts_in_vain(), len(exercise.seal.hints), tests, plan, _parted(tests, plan),
        tuple(_dangers(exercise, entries)), tuple(dict.fromkeys(_missed(exercise, entries))),
    )


def _told(exercise: Exercise, entry: Entry) -> Told:
    item, job = entry.item, exercise.job
    assert isinstance(item, Reading)
    later = [e.number for e in job.record.living if e.number > entry.number]
    after = job.diagnosis_before(later[0]) if later else job.diagnosis
    proposed = {str(e.data.get("key", "")) for e in job.record.events if e.kind == "proposed"}
    hinted = bool(exercise.seal.hints) and test_key(item.test) in proposed
    moved = _bits(job.diagnosis_before(entry.number), after)
    return Told(item.test.says(job.harness), item.value.text, moved, hinted)


def _bits(before: Diagnosis, after: Diagnosis) -> float:
    """How far the shares of the causes moved: relative entropy of after to before, in bits."""
    was, now = _shares(before), _shares(after)
    moved = sum(p * np.log2(p / max(was.get(r, 0.0), _LEAST)) for r, p in now.items() if p > _LEAST)
    return max(float(moved), 0.0)


def _shares(d: Diagnosis) -> Mapping[str, float]:
    found = {s.repair: s.share for s in d.suspects}
    return {**found, "": max(d.undescribed, 0.0)}


def _parted(tests: tuple[Told, ...], plan: Played) -> str:
    """The first step at which the learner did something else."""
    for n, (own, step) in enumerate(zip(tests, plan.steps, strict=False), 1):
        if not step.startswith(f"{own.asked}: "):
            return f"at step {n} you chose: {own.asked} ({own.says}); the plan chose: {step}"
    if len(tests) > plan.tests:
        return f"after {plan.tests} tests the plan was sure enough to repair; you made {len(tests)}"
    return ""


def _dangers(exercise: Exercise, entries: list[Entry]) -> Iterator[str]:
    for e in entries:
        assert isinstance(e.item, Reading)
        reason = forbidden(e.item.test, exercise.job.harness)
        if reason:
            yield f"{e.item.test.says(exercise.job.harness)}: {reason}"


def _missed(exercise: Exercise, entries: list[Entry]) -> Iterator[str]:
    """Dangers and cautions that belong to a test, and of which no word was said before it."""
    every = [e.number for e in exercise.job.entries]
    for e in entries:
        assert isinstance(e.item, Reading)
        before = [words for asked, words in exercise.seal.minded if asked <= every.index(e.number)]
        minded = _words(" ".join(before))
        for c in cautions_of(of_test(e.item.test, exercise.job.harness)):
            if c.grade != "note" and not _words(f"{c.head} {c.text}") & minded:
                yield f"{c.grade}: {c.text}"


def _words(text: str) -> frozenset[str]:
    """The words of a sentence that carry its meaning."""
    return frozenset(w for w in re.findall(r"[a-z]{4,}", text.casefold()) if w not in _SMALL_WORDS)
