"""How long a fuse carries how much: the current-time limits of its kind, and what they say of a current.

Sources. Blade: ISO 8820-3 table of operating times (memory; the 1.6, 3.5 and 6 rows less sure than the others).
Glass: UL/CSA 248-14 as quoted on a fuse maker's page (carries its rating, opens at 1.35 within an hour and at
2 within 2 minutes). Ceramic fuses with pointed ends are taken as glass (no source). Old British glass fuses print
the current that blows them, and carry about half of it (common practice, no source).
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
import numpy.typing as npt

FuseKind = Literal["blade", "glass", "ceramic", "British glass"]
Floats = npt.NDArray[np.float64]

# (current as a multiple of the rating, least s, most s): at that current it opens between the two.
LIMITS: Final[dict[str, tuple[tuple[float, float, float], ...]]] = {
    "blade": (
        (1.35, 0.75, 600.0), (1.6, 0.25, 50.0), (2.0, 0.15, 5.0), (3.5, 0.04, 0.5), (6.0, 0.02, 0.1),
    ),
    "glass": ((1.35, 1.0, 3600.0), (2.0, 0.5, 120.0)),
}
# What it carries for good, as a multiple of its rating: 1.1 for 100 h (blade), the rating itself (glass).
CARRIES: Final[dict[str, float]] = {"blade": 1.10, "glass": 1.00}
PRINTED_IS_BLOWING: Final = 0.5


def carries_of(kind: str) -> float:
    """The multiple of what is printed on it that a fuse may carry for good: half where that is the current that blows
    it (British glass: 35 A blows, 17 A continuous; common practice, no source)."""
    return PRINTED_IS_BLOWING if kind == "British glass" else 1.0


def limits_of(kind: FuseKind) -> tuple[tuple[float, float, float], ...]:
    """The table of its kind, in multiples of the printed rating."""
    if kind == "British glass":
        return tuple((PRINTED_IS_BLOWING * x, low, high) for x, low, high in LIMITS["glass"])
    return LIMITS["glass" if kind == "ceramic" else kind]


def blows_at(kind: FuseKind) -> float:
    """The multiple of its rating that blows it while somebody watches: the table's least current."""
    return limits_of(kind)[0][0]


def blowing_time_s(kind: FuseKind, ratio: Floats | float) -> Floats:
    """The longest that a healthy fuse holds a current of `ratio` times its rating, s.

    Between the table's rows on straight lines of log time over log current; beyond the last row its time,
    which no fuse exceeds; infinite below the first, where the standard lets it hold for good.
    """
    table = limits_of(kind)
    x = np.log([row[0] for row in table])
    y = np.log([row[2] for row in table])
    ratio = np.asarray(ratio, dtype=np.float64)
    at = np.log(np.maximum(ratio, 1e-12))
    return np.asarray(np.where(ratio < table[0][0], np.inf, np.exp(np.interp(at, x, y))))


def say_time(seconds: float) -> str:
    """The time in words that a person can wait for: "at once", "within 5 s", "within 10 min"."""
    if seconds <= 0.5:
        return "at once"
    for step in (1, 2, 5, 10, 20, 30, 60):
        if seconds <= step * 1.0001:
            return f"within {step} s"
    for step in (2, 5, 10, 20, 30, 60):
        if seconds <= 60 * step * 1.0001:
            return f"within {step} min"
    return "after more than an hour"
