"""Vehicles by answers: at random, and a few chosen so that together they have every answer to every question."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from itertools import combinations

from tracer.patterns.answers import Answers
from tracer.patterns.questions import QUESTIONS, holds


def at_random(seed: int) -> Answers:
    """Every question that comes is answered by one of its choices."""
    rng, answers = random.Random(seed), Answers()
    while (question := answers.due()) is not None:
        chosen = rng.choice(list(question.choices)) if question.choices else f"Invented vehicle {seed}"
        answers = answers.with_answer(question.id, chosen)
    return answers


def pairs_of(answers: Answers) -> set[tuple[tuple[str, str], tuple[str, str]]]:
    """Every two answers that meet in a vehicle, of the questions that it was asked."""
    known = answers.known()
    asked = [(q.id, known[q.id]) for q in QUESTIONS if q.choices and holds(q.when, known)]
    return set(combinations(asked, 2))


@cache
def chosen(count: int, among: int = 300) -> tuple[Answers, ...]:
    """Vehicles at random of which each brings the most answers, and pairs of answers, that were not met before."""
    pool = {seed: pairs_of(at_random(seed)) for seed in range(among)}
    met: set[tuple[tuple[str, str], tuple[str, str]]] = set()
    single: set[tuple[str, str]] = set()
    out = []
    for _ in range(count):
        best = max(pool, key=lambda seed: (1000 * len({a for p in pool[seed] for a in p} - single)
                                           + len(pool[seed] - met)))
        met |= pool[best]
        single |= {a for p in pool.pop(best) for a in p}
        out.append(at_random(best))
    return tuple(out)


def answers_met(vehicles: tuple[Answers, ...]) -> Iterator[tuple[str, str]]:
    for answers in vehicles:
        known = answers.known()
        yield from ((q.id, known[q.id]) for q in QUESTIONS if holds(q.when, known))
