"""A look as a test at a lamp that looks no different than before: the same eye says the same word, and learns
nothing new. (`said_before` does the same among what was said of many lamps at once.)

How near a lamp stands to the border between two words, and where this person draws it, does not change from
one look to the next. Weighed as independent, ten looks at one dim lamp would bury the suspect that expects it
just short of dim.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from tracer.circuit import Floats, Ints
from tracer.evidence import LampSeen
from tracer.predictions import Panel

# Decades of light in which a judgement is remembered: about the softness of the border between dim and normal.
_SAME_LIGHT: Final = 0.1
_SAID_AGAIN: Final = 0.9  # share of judgements that are simply repeated (common practice, no source)
# A word that a suspect makes this unlikely was a slip if the suspect is right, and slips do not repeat themselves.
_SLIP: Final = 0.1
UNSEEN: Final = -2.8  # log10 of light below which a lamp is as good as dark


def light_of(panel: Panel, lamp: int) -> Floats:
    """(2, H) light of a lamp in both phases, as far as it can be seen."""
    return np.asarray(np.maximum(np.array([panel.flux[:, lamp], panel.least[:, lamp]]), UNSEEN))


def alike(one: LampSeen, two: LampSeen) -> bool:
    """Whether two looks say the same."""
    flashes = one.flash is None or two.flash is None or (one.flash == "steady") == (two.flash == "steady")
    return bool(one.words & two.words) and flashes


@dataclass(frozen=True)
class _Look:
    rows: Ints
    light: Floats
    repeated: Floats  # (H,) share of it that is not a slip
    seen: LampSeen


class LookedBefore:
    """The looks of a job so far, lamp by lamp, with the light that each hypothesis gave them."""

    def __init__(self) -> None:
        self._looks: dict[str, list[_Look]] = {}

    def add(self, seen: LampSeen, rows: Ints, light: Floats, loglik: Floats) -> None:
        """A look, with the light (2, H) that the hypotheses `rows` predicted and the ln probability (H,) of what
        was said."""
        if seen.sometimes or seen.doubtful:
            return
        p = np.exp(loglik)
        self._looks.setdefault(seen.lamp, []).append(_Look(rows, light, p**2 / (p**2 + _SLIP**2), seen))

    def repeats(self, lamp: str, rows: Ints, light: Floats) -> list[tuple[LampSeen, Floats]]:
        """Looks that a new one at `lamp` repeats, and the share (H,) of each hypothesis that it repeats; only the
        nearest look counts for each. `rows` must be among those of every look before."""
        looks = self._looks.get(lamp, [])
        if not looks:
            return []
        shares = []
        for look in looks:
            at = slice(None) if len(look.rows) == len(rows) else np.searchsorted(look.rows, rows)
            apart = np.abs(look.light[:, at] - light).max(axis=0)
            shares.append(_SAID_AGAIN * look.repeated[at] * np.exp(-0.5 * (apart / _SAME_LIGHT) ** 2))
        nearest = np.argmax(shares, axis=0)
        return [(look.seen, np.where(nearest == k, shares[k], 0.0)) for k, look in enumerate(looks)]

    def weigh(self, seen: LampSeen, rows: Ints, light: Floats, loglik: Floats) -> Floats:
        """ln probability (H,) of a look, given those before: `loglik` is that of the look alone."""
        again, same = np.zeros(len(loglik)), np.zeros(len(loglik))
        for before, share in self.repeats(seen.lamp, rows, light):
            again += share
            same += share * alike(before, seen)
        return np.asarray(np.log((1 - again) * np.exp(loglik) + same)) if again.any() else loglik
