"""How wrong a base rate may be before another suspect comes first."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from tracer.inference.diagnosis import Diagnosis

_RIVALS = 12  # leading suspects that may come first instead
_WORTH_SAYING = 1000.0


class Margin(Struct, frozen=True):
    """If faults of `kind` were `factor` times as frequent as assumed, `then` would come first."""

    kind: str
    factor: float
    then: str

    def says(self) -> str:
        times = self.factor if self.factor >= 1 else 1 / self.factor
        how = f"{times:.2g} times as {'frequent' if self.factor >= 1 else 'rare'}"
        return f"if “{self.kind}” were {how} as assumed: {self.then}"


def rate_margins(diagnosis: Diagnosis, count: int = 5) -> tuple[Margin, ...]:
    """The nearest changes of one base rate that change the first suspect, nearest first.

    A suspect's weight is a sum over its hypotheses, of which those with a fault of the kind go with its base
    rate: weight = rest + factor · own. The first two lines that cross give the factor.
    """
    leading = diagnosis.suspects[:_RIVALS]
    if len(leading) < 2:
        return ()
    kinds = sorted({f.kind for s in leading for i in s.rows for f in diagnosis.hypotheses[i].faults})
    has = {i: {f.kind for f in diagnosis.hypotheses[i].faults} for s in leading for i in s.rows}
    found: list[Margin] = []
    for kind in kinds:
        own = np.array([sum(float(diagnosis.share[i]) for i in s.rows if kind in has[i]) for s in leading])
        rest = np.array([s.share for s in leading]) - own
        nearest: dict[bool, tuple[float, int]] = {}
        for k in range(1, len(leading)):
            slope = own[k] - own[0]
            factor = (rest[0] - rest[k]) / slope if slope != 0 else -1.0
            if factor <= 0 or not 1 / _WORTH_SAYING <= factor <= _WORTH_SAYING:
                continue
            rises = slope > 0
            if rises != (factor >= 1):  # it is behind now, so that it can only come up this way
                continue
            if rises not in nearest or abs(np.log(factor)) < abs(np.log(nearest[rises][0])):
                nearest[rises] = (factor, k)
        found += [Margin(kind, factor, leading[k].repair) for factor, k in nearest.values()]
    found.sort(key=lambda m: abs(float(np.log(m.factor))))
    return tuple(found[:count])
