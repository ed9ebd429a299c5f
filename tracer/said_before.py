"""What lamps were called before, by how bright each hypothesis makes them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tracer.circuit import Floats, Ints
from tracer.evidence import WORDS, Light

Masks = NDArray[np.uint8]  # sets of words: bit k is set if WORDS[k] is among them

_DARKEST, _BRIGHTEST = -3.0, 0.8  # log10 of flux; beyond these nobody sees a difference
_STEP = 0.1  # decades within which two lights are the same to the eye
_CELLS = round((_BRIGHTEST - _DARKEST) / _STEP) + 1


def mask_of(words: frozenset[str]) -> int:
    """A set of words as bits."""
    return sum(1 << k for k, w in enumerate(WORDS) if w in words)


class SaidBefore:
    """For each hypothesis, lamp and brightness the words that were used last; by daylight, in the dark and unsaid
    apart."""

    def __init__(self, rows: int, lamps: int) -> None:
        self._shape = rows, lamps, _CELLS
        self._words: dict[Light, Masks] = {}

    def recall(self, flux: Floats, active: Ints, light: Light) -> Masks | None:
        """(A, lamps) words used for a light like this one, 0 where there were none; None before anything was said.

        Args:
            flux: (A, lamps) log10 of flux relative to normal.
            active: (A,) the hypotheses' numbers.
        """
        if light not in self._words:
            return None
        cell, _ = _cells(flux)
        return np.asarray(self._words[light][active[:, None], np.arange(flux.shape[1])[None], cell])

    def note(self, flux: Floats, active: Ints, light: Light, lamps: Sequence[int], words: Sequence[int]) -> None:
        """Keeps what was said: `words` (bits) of each of the lamps."""
        if not len(lamps):
            return
        if light not in self._words:
            self._words[light] = np.zeros(self._shape, dtype=np.uint8)
        chosen = np.array(lamps, dtype=np.intp)
        # Into the nearer neighbouring cell as well, so that a light near the edge of one is found again.
        for cell in _cells(flux[:, chosen]):
            self._words[light][active[:, None], chosen[None], cell] = np.array(words, dtype=np.uint8)[None]


def _cells(flux: Floats) -> tuple[Ints, Ints]:
    """The cell of each flux, and the neighbouring cell that is nearer."""
    place = (np.clip(flux, _DARKEST, _BRIGHTEST) - _DARKEST) / _STEP
    cell = np.rint(place)
    beside = np.clip(cell + np.where(place < cell, -1, 1), 0, _CELLS - 1)
    return cell.astype(np.intp), beside.astype(np.intp)
