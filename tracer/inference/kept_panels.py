"""What lamps, fuses and relays do in a state, as arrays that are kept between commands.

Most rows look as the vehicle without a fault does: they are kept once.
"""

from __future__ import annotations

from collections import Counter
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tracer.cache import Arrays
from tracer.circuit.model import Bools, Ints
from tracer.observation.forward_model import Panel

_DARK_PHASE: Final = "least"  # left out where nothing flashes: there both phases are one array
_OTHERS: Final = "others"  # (N,) the rows that are not as the first of those kept


def as_arrays(panel: Panel) -> Arrays:
    others, usual = _others(panel)
    return _parts(panel.rows(np.append(usual, others))) | {_OTHERS: others}


def of_arrays(found: Arrays, rows: int) -> Panel:
    place = np.zeros(rows, dtype=np.intp)
    place[found[_OTHERS]] = np.arange(1, len(found[_OTHERS]) + 1)
    kept = {n: x for n, x in found.items() if n != _OTHERS}
    return Panel(**({_DARK_PHASE: kept["flux"]} | kept)).rows(place)


def fits(found: Arrays, like: Panel) -> bool:
    """Whether arrays can be a panel of the same rows, lamps, fuses, relays and loads as another."""
    wanted, others = {n: getattr(like, n) for n in like.__struct_fields__}, found[_OTHERS]
    names = found.keys() - {_OTHERS}
    if names not in (wanted.keys(), wanted.keys() - {_DARK_PHASE}) or others.ndim != 1 or others.dtype != np.intp:
        return False
    shaped = all(found[n].shape == (1 + len(others), *wanted[n].shape[1:]) and found[n].dtype == wanted[n].dtype
                 for n in names)
    rising = (np.diff(others) > 0).all() and (others >= 0).all() and (others < len(like.usable)).all()
    return bool(shaped and rising and np.isfinite(found["flux"][found["usable"]]).all())


def _parts(panel: Panel) -> dict[str, NDArray[Any]]:
    return {n: getattr(panel, n) for n in panel.__struct_fields__ if n != _DARK_PHASE or not panel.steady}


def _others(panel: Panel) -> tuple[Ints, int]:
    """The rows that are otherwise than most are, and one of those."""
    light = [row.tobytes() for row in panel.flux]
    usual = light.index(Counter(light).most_common(1)[0][0])
    same: Bools = np.ones(len(panel.flux), dtype=bool)
    for x in _parts(panel).values():
        as_usual = (x == x[usual]) | (x != x) & (x[usual] != x[usual])  # what is not a number is as another such
        same &= as_usual if x.ndim == 1 else as_usual.all(axis=1)
    return np.flatnonzero(~same), usual
