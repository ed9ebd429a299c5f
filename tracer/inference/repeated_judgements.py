"""What lamps were called before, by how bright each hypothesis makes them.

How near a lamp stands to the border between two words, and where this person draws it, does not change from one look
to the next: weighed as independent, ten looks at one dim lamp would bury the suspect that expects it just short of
dim. `eyes.Eye` says how far the same light is called the same again; this is what it was called, in symptoms and in
looks made as tests.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tracer.circuit.model import Floats, Ints
from tracer.observation.evidence import WORDS, Light

Masks = NDArray[np.uint8]  # sets of words: bit k is set if WORDS[k] is among them

_DARKEST, _BRIGHTEST = -3.0, 0.8  # log10 of flux; beyond these nobody sees a difference
_STEP = 0.1  # decades within which two lights are the same to the eye
_CELLS = round((_BRIGHTEST - _DARKEST) / _STEP) + 1


def mask_of(words: frozenset[str]) -> int:
    """A set of words as bits."""
    return sum(1 << k for k, w in enumerate(WORDS) if w in words)


class Cells(Struct, frozen=True):
    """Where lights stand, (A, lamps): worked out for the lamps that are spoken of, who are few."""

    flux: Floats

    def of(self, lamps: Ints) -> tuple[Ints, Ints]:
        """(A, chosen) the cell of each light of some lamps, and the neighbouring one nearer to it."""
        place = (np.clip(self.flux[:, lamps], _DARKEST, _BRIGHTEST) - _DARKEST) / _STEP
        cell = np.rint(place)
        beside = np.clip(cell + np.where(place < cell, -1, 1), 0, _CELLS - 1)
        return cell.astype(np.intp), beside.astype(np.intp)


def cells_of(flux: Floats) -> Cells:
    """The cells of log10 flux (A, lamps) relative to normal."""
    return Cells(flux)


class SaidBefore:
    """For each hypothesis, lamp and brightness the words that were used last; by daylight, in the dark and unsaid
    apart."""

    def __init__(self, rows: int, lamps: int) -> None:
        self._count, self._lamps, self._rows = rows * lamps * _CELLS, lamps, rows
        self._words: dict[Light, Masks] = {}
        self._noted: dict[Light, set[int]] = {}  # lamps of which there are any

    def recall(self, cells: Cells, active: Ints, light: Light) -> Masks | None:
        """(A, lamps) words used for a light like this one, 0 where there were none; None before anything was said.

        Args:
            cells: Where the lamps stand under the hypotheses.
            active: (A,) the hypotheses' numbers.
        """
        if light not in self._words:
            return None
        lamps = np.array(sorted(self._noted[light]), dtype=np.intp)
        out = np.zeros((len(active), self._lamps), dtype=np.uint8)
        out[:, lamps] = self._words[light][self._first(active, lamps) + cells.of(lamps)[0]]
        return out

    def note(self, cells: Cells, active: Ints, light: Light, lamps: Sequence[int], words: Sequence[int]) -> None:
        """Keeps what was said: `words` (bits) of each of the lamps."""
        if not len(lamps):
            return
        if light not in self._words:
            self._words[light] = np.zeros(self._count, dtype=np.uint8)
        chosen, said = np.array(lamps, dtype=np.intp), np.array(words, dtype=np.uint8)[None]
        self._noted.setdefault(light, set()).update(lamps)
        first, (cell, beside) = self._first(active, chosen), cells.of(chosen)
        # Into the nearer neighbouring cell as well, so that a light near the edge of one is found again.
        self._words[light][first + cell] = said
        self._words[light][first + beside] = said

    def _first(self, active: Ints, lamps: Ints) -> Ints:
        """Where the cells of each hypothesis and lamp begin: those of a lamp side by side, since few are spoken of
        and memory that nothing was written to costs nothing."""
        return np.asarray((lamps[None] * self._rows + active[:, None]) * _CELLS)
