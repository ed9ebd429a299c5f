"""Two faults at once at severities between those of their grids, where the two have come near to the truth.

The estimate that finds pairs, and the grid that they are weighed on, know a few severities of each. Of an earth of
1.9 Ω beside a way of 0.6 Ω, both measured, no two of these fit both readings; water in the plug, which has no
degrees, fitted them as well. Around the best two severities of a pair all are tried that lie between the neighbours
of each.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats
from tracer.inference.finer_severities import Finer, points_around, severity_of, spread
from tracer.inference.hypotheses import Hypothesis

_NEAR = 14.0  # natural log behind the best, within which a pair is looked at more closely
_MOST_PAIRS = 3


def finer_pairs(rows: Sequence[Hypothesis], loglik: Floats) -> Finer:
    """The pairs that have come near to the best at more severities, and the rows that these stand for. `loglik` (H,)
    of all evidence."""
    if not len(rows):
        return Finer()
    level = np.log(np.maximum([h.prior for h in rows], 1e-300)) + loglik
    best: dict[tuple[str, ...], int] = {}
    for i in np.argsort(-level, kind="stable").tolist():
        if level[i] < level.max() - _NEAR or len(best) == _MOST_PAIRS:
            break
        if _graded(rows[i]):
            best.setdefault(_names(rows[i]), i)
    found = [(names, _around(rows[i])) for names, i in best.items()]
    new = {(names, h.variants[0].severity, h.variants[1].severity) for names, hs in found for h in hs}
    old = [i for i, h in enumerate(rows) if _names(h) in best and _graded(h)
           and (_names(h), h.variants[0].severity, h.variants[1].severity) in new]
    return Finer(tuple(old), tuple(h for _, hs in found for h in hs))


def _names(h: Hypothesis) -> tuple[str, ...]:
    return tuple(f.name for f in h.faults)


def _graded(h: Hypothesis) -> bool:
    """Whether it is two faults that both know degrees, and both are there all the time."""
    return (len(h.faults) == 2 and not h.deviations and not h.mended and h.awake == 1 and h.prior > 0
            and all(f.scale is not None and v.severity for f, v in zip(h.faults, h.variants, strict=True)))


def _around(h: Hypothesis) -> list[Hypothesis]:
    """A pair at all severities around its own; what each stands for of both scales is its share of the pair's whole
    prior."""
    weights, points = list[dict[float, float]](), list[list[float]]()
    whole = h.prior
    for f, v in zip(h.faults, h.variants, strict=True):
        best, weight = v.severity or 0.0, {x.severity: x.weight for x in f.variants if x.severity is not None}
        grid = sorted(weight)
        own = points_around(grid, best, f)
        every = sorted({*grid, *own})
        shares = spread(every, grid, np.array([weight[x] for x in grid]))
        weights.append(dict(zip(every, shares.tolist(), strict=True)))
        points.append(own)
        whole /= weight[best]
    return [
        replace(h, variants=(severity_of(h.faults[0], a), severity_of(h.faults[1], b)),
                prior=whole * weights[0][a] * weights[1][b])
        for a in points[0] for b in points[1]
    ]
