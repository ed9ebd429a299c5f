"""Which pieces of evidence tell something new, and which readings are weighed as one.

What was said again word for word tells nothing new. A meter that is put on again tells something each time, but after
the first few times the same again: from then on readings alike are weighed as one that was made so many times. The
battery's voltage, which they share, is summed out over all of them at once, which comes to the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats, Ints
from tracer.observation.consistency import first_said
from tracer.observation.evidence import Evidence, Reading, by_hand

_EACH_BY_ITSELF: Final = 24


class Fresh:
    """What is weighed of some evidence.

    Attributes:
        told: The pieces that are weighed, in order.
        places: Where they stand in the evidence.
        times: (N,) how many pieces each stands for.
    """

    def __init__(self, evidence: Sequence[Evidence], since: Mapping[str, int]) -> None:
        """`since`: repair made in vain → how much of the evidence stood then. That nothing has changed by it is
        new."""
        self.places: list[int] = []
        self._of: Ints = np.full(len(evidence), -1)  # which of them stands for a piece of evidence, −1 for none
        times, first = list[int](), 0
        for end in sorted({*since.values(), len(evidence)}):
            alike: dict[Evidence, list[int]] = {}
            for e in (first + k for k in first_said(evidence[first:end])):
                item = evidence[e]
                own = alike.setdefault(item, []) if _counted(item) else []
                if len(own) < _EACH_BY_ITSELF:
                    own.append(len(times))
                    self.places.append(e)
                    times.append(0)
                times[own[-1]] += 1
                self._of[e] = own[-1]
            first = end
        self.times: Ints = np.array(times, dtype=np.intp)
        self.told = [_taken(evidence[e], t) for e, t in zip(self.places, times, strict=True)]

    def spread(self, part: Floats) -> Floats:
        """What was weighed (N,), piece by piece of all the evidence (E,): of readings weighed as one to each its
        part, to what told nothing new probability one beside what was said before."""
        return np.append(part / self.times, 0.0)[self._of]

    def spread_rows(self, part: Floats) -> Floats | ByPiece:
        """The same of (N, H)."""
        if len(self.places) == len(self._of):
            return part
        each = np.vstack([part / self.times[:, None], np.zeros((1, part.shape[1]))])
        found = ByPiece(each, self._of)
        return found if self.times.max(initial=1) > 1 else found[:]


class ByPiece:
    """(E, H) numbers, of which many rows are the same: each is there once. Read as an array of numpy is.

    Attributes:
        each: (N, H) the different rows.
        of: (E,) which of them is a piece's own; −1 for the last.
    """

    def __init__(self, each: Floats, of: Ints) -> None:
        self.each, self.of = each, of
        self.shape = (len(of), each.shape[1])

    def __len__(self) -> int:
        return len(self.of)

    def __getitem__(self, key: Any) -> Any:
        rows, *columns = key if isinstance(key, tuple) else (key,)
        if not columns:
            return self.each[self.of[rows]]
        if isinstance(rows, slice):
            return self.each[:, columns[0]][self.of[rows]]
        return self.each[self.of[rows], columns[0]]

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> Floats:
        return np.asarray(self.each[self.of], dtype=dtype)

    def once(self, pieces: Ints) -> Ints:
        """One for each different row of some pieces."""
        return np.asarray(pieces[np.unique(self.of[pieces], return_index=True)[1]])

    def sum(self, axis: int) -> Floats:
        """(H,) of all pieces, `axis` 0."""
        assert axis == 0
        times = np.bincount(self.of % len(self.each), minlength=len(self.each))
        return np.asarray((times[:, None] * self.each).sum(axis=0))


def _counted(item: Evidence) -> bool:
    """Whether the same again is the same once more: of what a meter shows."""
    return isinstance(item, Reading) and not item.test.row.of_lamps and not by_hand(item)


def _taken(item: Evidence, times: int) -> Evidence:
    return replace(item, times=times) if isinstance(item, Reading) and times > 1 else item


def times_of(item: Evidence) -> int:
    """How many pieces of evidence one stands for."""
    return item.times if isinstance(item, Reading) else 1
