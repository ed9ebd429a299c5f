"""Changes as tables that are no wider than they need be."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracer.circuit.model import Bools, Change, Ints, Setup
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

    def codes(
        self, setup: Setup, code: Callable[[Panel], NDArray[np.int16]]
    ) -> tuple[NDArray[np.int16], Bools]:
        """(A, lamps) what a `code` makes of the lamps in a set-up, and (A, fuses) which fuses are blown: all that is
        kept of panels that would not fit into memory where hundreds of lamps are alike."""
        predictor, count = self._predictor, len(self._all)
        lamps, blown = (np.empty((count, len(x)), dtype=t) for x, t in
                        ((predictor.lamps, np.int16), (predictor.fuses, bool)))
        for some, table in self._parts:
            alike = predictor.settler.twins.alike(setup, table)
            panel = predictor.looks([(setup, table if alike is None else table.rows(alike.first))])[0]
            its = code(panel)
            lamps[some] = its if alike is None else alike.of_ports(its, predictor.lamp_of)
            blown[some] = panel.blown if alike is None else alike.of_fuses(panel.blown)
        return lamps, blown

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
