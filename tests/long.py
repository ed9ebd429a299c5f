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


def rest_long(values: Iterable[object], default: int = 1) -> list[ParameterSet]:
    """The values as parameters, all but the first `default` of them marked `long`."""
    return [pytest.param(v, marks=[pytest.mark.long] if n >= default else []) for n, v in enumerate(values)]
