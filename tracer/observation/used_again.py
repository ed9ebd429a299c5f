"""Memory of large arrays that is used again.

What is larger than 32 MB the C library asks the system for anew each time, and gives it back as soon as the array is
gone: to have its pages made takes longer than to fill them. A panel of tens of thousands of hypotheses is that large.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from threading import Lock

import numpy as np

from tracer.circuit.model import Floats

_LARGE = 32 * 2**20 // 8  # entries: of less the C library keeps the memory at hand itself
_KEPT = 2  # the light in both phases of a flasher


class UsedAgain:
    """Gives out large arrays, in the memory of earlier ones of which nobody has any part any more."""

    def __init__(self, large: int = _LARGE) -> None:
        self._large = large
        self._lock = Lock()
        self._whole: list[Floats] = []

    def empty(self, rows: int, columns: int) -> Floats:
        """(rows, columns) of whatever stands there."""
        size = rows * columns
        if size <= self._large:
            return np.empty((rows, columns))
        with self._lock:
            free = [k for k, count in enumerate(_references(self._whole)) if count == _UNUSED]
            fitting = [k for k in free if size <= self._whole[k].size <= 2 * size]
            if not fitting:
                for k in free[:1] if len(self._whole) == _KEPT else ():
                    del self._whole[k]
                self._whole = [*self._whole, np.empty(size)][-_KEPT:]
            return self._whole[fitting[0] if fitting else -1][:size].reshape(rows, columns)


def _references(arrays: Sequence[Floats]) -> list[int]:
    """How often something refers to each: a view does, and a view of a view, to the whole."""
    return [sys.getrefcount(x) for x in arrays]


_UNUSED = _references([np.empty(1)])[0]  # by nothing but the list that it is in, and the question itself
