"""What a repair mends besides the fault that it is named after.

Whoever renews a length of wire makes both its ends anew: its leg in a splice, its eyelet, its terminal. Whoever
remakes an earth point has every eyelet on it off and clean. The other way round nothing is mended: a wire that is
broken half-way stays so when its eyelet is cleaned. (Common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from tracer.faults.making import Fault

_LENGTHS: Final = frozenset({"wire open", "wire bad", "strap open", "strap bad"})
_ON_A_LENGTH: Final = _LENGTHS | {
    "splice leg open", "splice leg bad", "eyelet open", "eyelet bad", "terminal off", "terminal bad",
    "old repair open", "old repair bad", "earth cut",
}
_POINTS: Final = frozenset({"earth open", "earth bad"})
_ON_A_POINT: Final = _POINTS | {"eyelet open", "eyelet bad"}
# Kinds of which it is known which repairs hold which.
ORDERED: Final = _ON_A_LENGTH | _ON_A_POINT


def mended_by(faults: Iterable[Fault]) -> Mapping[str, tuple[str, ...]]:
    """Name of a fault → the repairs of these faults that mend it, its own first."""
    faults = list(faults)
    lengths = {f.elements[0]: f.repair for f in faults if f.kind in _LENGTHS}
    points = {f.node: f.repair for f in faults if f.kind in _POINTS}
    out = {}
    for f in faults:
        own = [f.repair]
        if f.kind in _ON_A_LENGTH and len(f.elements) == 1 and f.elements[0] in lengths:
            own.append(lengths[f.elements[0]])
        if f.kind in _ON_A_POINT and f.node in points:
            own.append(points[f.node])
        out[f.name] = tuple(dict.fromkeys(own))
    return out
