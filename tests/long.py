"""What is left out unless asked for: parameters that repeat on the largest models, or with further samples, a law
that others of the same test hold. `sh tests/run -m "long or not long"` runs all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

LARGE = frozenset({"estate_1990s", "lorry_24v", "saloon_led", "generated"})
_asked = {"all": False}


def ask(marks: str) -> None:
    """What `-m` was given, before any test is read."""
    _asked["all"] = marks != "not long"


def examples(default: int, of_all: int) -> int:
    """How many examples a property is tried on: the second number where the long parameters are asked for."""
    return of_all if _asked["all"] else default


def large_long(models: Iterable[str | Path], large: frozenset[str] = LARGE) -> list[ParameterSet]:
    """The models (names, file names or paths) as parameters, the largest of them marked `long`."""
    return [pytest.param(m, marks=[pytest.mark.long] if Path(m).stem in large else []) for m in models]


def in_turn(models: Iterable[str | Path], turn: int, large: frozenset[str] = LARGE) -> list[ParameterSet]:
    """The models as parameters, of which two in three of those that are not large are left for `long` as well:
    another third with each `turn`, so that each law is held on several models and each model by several laws. The
    turn stands beside the law, so that what is run is the same every time."""
    every = list(models)
    small = [m for m in every if Path(m).stem not in large] or every[:1]
    kept = small[turn % 3::3] or small[-1:]
    return [pytest.param(m, marks=[] if m in kept else [pytest.mark.long]) for m in every]


def rest_long(values: Iterable[object], default: int = 1) -> list[ParameterSet]:
    """The values as parameters, all but the first `default` of them marked `long`."""
    return [pytest.param(v, marks=[pytest.mark.long] if n >= default else []) for n, v in enumerate(values)]


def each_with_one_of(values: Sequence[object], others: Sequence[object]) -> list[ParameterSet]:
    """Every value with every other as parameters, of which each value keeps one, in turn, and the rest are `long`:
    where both are held by themselves, and hardly anything goes by how they meet."""
    return [pytest.param(v, o, marks=[] if n % len(others) == k else [pytest.mark.long])
            for n, v in enumerate(values) for k, o in enumerate(others)]
