"""The grid of severities made finer where a fault has come near to the truth.

A leak of 6 Ω is neither one of 5 nor one of 25: with lamps near the border of "dark" one of them is called so, the
other not, look after look. What leads is weighed once more at severities between those of its grid, so that the
likelihood is summed over the whole range; readings are judged more sharply then, too, since the steps are smaller.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import Floats
from tracer.faults import Fault, Variant
from tracer.inference.hypotheses import Hypothesis

_NEAR = 16.0  # natural log behind the best, within which a fault is looked at more closely
_MOST_FAULTS = 14
# A reading that lies between what two severities of a grid show is judged as wide as they are apart: of a short that
# shows 0 or 11.5 V, each 0.00 V costs ln(11.5 / 0.05) too much. So many faults that would be near but for that are
# looked at as well.
_COARSE, _MOST_COARSE = 5.5, 4
_STEP = 1.5  # from one severity to the next, as a factor
_MOST_BETWEEN = 6
_BEYOND = 1.7  # past an end of the grid, as a factor


class Finer(Struct, frozen=True):
    """Rows to be weighed instead of others.

    Attributes:
        old: Numbers of the rows whose prior went over to them.
        rows: Severities of a fault stand in order, one fault after the other.
    """

    old: tuple[int, ...] = ()
    rows: tuple[Hypothesis, ...] = ()


def finer(rows: Sequence[Hypothesis], loglik: Floats, readings: int = 0) -> Finer:
    """The faults that have come near to the best, alone or beside deviations of the wiring, at more severities.
    `loglik` (H,) of all evidence, in which there are so many `readings` of a meter."""
    if not len(rows):
        return Finer()
    prior = np.array([h.prior for h in rows])
    level = np.log(np.maximum(prior, 1e-300)) + loglik
    near = np.flatnonzero(level > level.max() - _NEAR - _COARSE * readings)
    names = {_names(rows[i]) for i in near.tolist() if rows[i].one_defect}
    groups = sorted(_groups(rows, names).values(), key=lambda g: -float(level[g].max()))
    count = sum(float(level[g].max()) > level.max() - _NEAR for g in groups)
    best = groups[: min(count, _MOST_FAULTS)] + groups[count : count + _MOST_COARSE]
    old = [i for g in best for i in g]
    return Finer(tuple(old), tuple(h for g in best for h in _spread([rows[i] for i in g], level[g])))


def _names(h: Hypothesis) -> tuple[str, ...]:
    return tuple(f.name for f in h.faults)


def _groups(
    rows: Sequence[Hypothesis], names: set[tuple[str, ...]]
) -> dict[tuple[tuple[str, ...], float], list[int]]:
    """The rows of each fault that has a scale, each set of deviations beside it and those that come and go apart.
    Where a short has left its fuse blown the lamps do not say how bad it is: that row stays as it is, beside those in
    which the fuse is whole."""
    found: dict[tuple[tuple[str, ...], float], list[int]] = {}
    for i, h in enumerate(rows):
        own = _names(h)
        if not h.one_defect or h.mended or own not in names or h.faults[0].scale is None:
            continue  # deviations of the wiring have no scale
        if h.variants[0].severity is not None:
            found.setdefault((own, h.awake), []).append(i)
    return {k: g for k, g in found.items() if len(g) > 1}


def _spread(rows: Sequence[Hypothesis], level: Floats) -> list[Hypothesis]:
    """One fault at its own severities and at others around the one that fits best, their priors together as
    before."""
    fault = rows[0].faults[0]
    assert fault.scale is not None
    own = {h.variants[0].severity or 0.0: h for h in rows}
    grid = sorted(own)
    points = sorted({*grid, *points_around(grid, rows[int(np.argmax(level))].variants[0].severity or 0.0, fault)})
    weight = spread(points, grid, np.array([own[x].prior for x in grid]))
    out = []
    for x, prior in zip(points, weight.tolist(), strict=True):
        out.append(replace(rows[0], variants=(severity_of(fault, x), *rows[0].variants[1:]), prior=prior))
    return out


def points_around(grid: Sequence[float], best: float, fault: Fault) -> list[float]:
    """Severities from the one before one of a grid to the one after it, beyond the ends of the grid as well."""
    assert fault.scale is not None
    k = list(grid).index(best)
    near = [j for j in (k - 1, k) if 0 <= j < len(grid) - 1]
    found = {best, *(x for j in near for x in (grid[j], grid[j + 1], *_between(grid[j], grid[j + 1])))}
    found |= {grid[0] / _BEYOND} if k == 0 else set()
    found |= {grid[-1] * _BEYOND} if k == len(grid) - 1 else set()
    return sorted(x for x in found if fault.scale.low <= x <= fault.scale.high)


def spread(points: Sequence[float], grid: Sequence[float], weight: Floats) -> Floats:
    """What each point has of what the points of a grid had, together as much."""
    if len(grid) < 2:
        return np.full(len(points), weight.sum() / len(points))
    out = np.interp(np.log(points), np.log(grid), weight / _widths(grid)) * _widths(points)
    return np.asarray(out * weight.sum() / out.sum())


def severity_of(fault: Fault, severity: float) -> Variant:
    """A fault that has a scale at a severity, in the words of its grid where it is one of that."""
    own = next((v for v in fault.variants if v.severity == severity), None)
    return replace(own) if own is not None else fault.at(severity)


def _between(low: float, high: float) -> list[float]:
    count = min(max(math.ceil(math.log(high / low) / math.log(_STEP)) - 1, 1), _MOST_BETWEEN)
    return [low * (high / low) ** (k / (count + 1)) for k in range(1, count + 1)]


def _widths(points: Sequence[float]) -> Floats:
    """How much of the scale, on which factors count alike, each point stands for."""
    x = np.log(points)
    edges = np.concatenate([[1.5 * x[0] - 0.5 * x[1]], (x[1:] + x[:-1]) / 2, [1.5 * x[-1] - 0.5 * x[-2]]])
    return np.asarray(np.diff(edges), dtype=np.float64)
