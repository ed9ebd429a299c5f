"""Changes as tables that are no wider than they need be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import Change, Ints, Setup
from tracer.observation.forward_model import Panel, Predictor

_WIDE: Final = 64  # changes in one of these


class Tables:
    """Changes (A,) of which it is asked what they show. A table is as wide as its widest row: the few that open
    hundreds of branches (an earth point of everything) have one of their own."""

    def __init__(self, predictor: Predictor, changes: Sequence[Change]) -> None:
        self._predictor, self._all = predictor, np.arange(len(changes), dtype=np.intp)
        wide = np.array([len(c.set_ohm) + len(c.added) > _WIDE for c in changes], dtype=bool)
        if wide.all() or not wide.any():
            self._parts = [(self._all, predictor.table(changes))]
        else:
            groups = np.flatnonzero(~wide), np.flatnonzero(wide)
            self._parts = [(some, predictor.table([changes[i] for i in some.tolist()])) for some in groups]

    def look(self, setup: Setup, active: Ints | None = None) -> Panel:
        """The lamps in a set-up, of all changes or of those that are `active`, rising."""
        active = self._all if active is None else active
        own = [np.flatnonzero(np.isin(active, some)) for some, _ in self._parts]
        panels = self._predictor.looks([
            (setup, table if len(at) == len(some) else table.rows(np.searchsorted(some, active[at])))
            for at, (some, table) in zip(own, self._parts, strict=True)
        ])
        if len(panels) == 1 or not len(own[0]):
            return panels[-1]
        place = np.zeros(len(active), dtype=np.intp)
        place[own[0]] = np.arange(len(own[0]))
        return panels[0].rows(place).with_rows(own[1], panels[1])
