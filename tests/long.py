"""What is left out unless asked for: parameters that repeat on the largest models, or with further samples, a law
that others of the same test hold. `sh tests/run -m "long or not long"` runs all."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

LARGE = frozenset({"estate_1990s", "lorry_24v", "saloon_led", "generated"})


def large_long(models: Iterable[str | Path], large: frozenset[str] = LARGE) -> list[ParameterSet]:
    """The models (names, file names or paths) as parameters, the largest of them marked `long`."""
    return [pytest.param(m, marks=[pytest.mark.long] if Path(m).stem in large else []) for m in models]


def in_turn(models: Iterable[str | Path], turn: int, large: frozenset[str] = LARGE) -> list[ParameterSet]:
    """The models as parameters, of which every second one of those that are not large is left for `long` as well:
    another half with each `turn`, so that each law is held on several models and each model by several laws."""
    small = [m for m in models if Path(m).stem not in large]
    kept = small[turn % 2::2] or small
    return [pytest.param(m, marks=[] if m in kept else [pytest.mark.long]) for m in models]


def rest_long(values: Iterable[object], default: int = 1) -> list[ParameterSet]:
    """The values as parameters, all but the first `default` of them marked `long`."""
    return [pytest.param(v, marks=[pytest.mark.long] if n >= default else []) for n, v in enumerate(values)]
