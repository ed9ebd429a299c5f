"""A predictor that keeps what it has solved, for benches in which one vehicle stands for many jobs.

What a set-up shows under a change does not depend on the job: the answers are the same as without it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import field

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import NO_CHANGE, Bools, Change, Floats, Ints, Setup
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Panel, Predictor

_TABLES = 40


class _Named(ChangeTable, frozen=True):
    """A table that knows which changes its rows are, by number."""

    ids: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def rows(self, chosen: Ints | Bools | slice) -> ChangeTable:
        plain = super().rows(chosen)
        return _Named(**_parts(plain), ids=self.ids[chosen])


def _parts(table: ChangeTable) -> dict[str, Any]:
    return {n: getattr(table, n) for n in ChangeTable.__struct_fields__}


class _Rows:
    """Which row of what is kept belongs to which change."""

    def __init__(self) -> None:
        self._at = np.full(0, -1, dtype=np.intp)
        self.count = 0

    def missing(self, ids: Ints) -> Ints:
        """Indices into `ids` of what is not kept yet, each change once; they are kept from now on."""
        if len(ids) and ids.max() >= len(self._at):
            self._at = np.append(self._at, np.full(int(ids.max()) + 1 - len(self._at), -1, dtype=np.intp))
        new, first = np.unique(ids, return_index=True)
        first = first[self._at[new] < 0]
        self._at[ids[first]] = self.count + np.arange(len(first))
        self.count += len(first)
        return first

    def of(self, ids: Ints) -> Ints:
        return self._at[ids]


class KeptPredictor(Predictor):
    """Solves each change in each set-up once."""

    def __init__(self, harness: Harness, supply_v: float | None = None) -> None:
        super().__init__(harness, supply_v)
        self._ids: dict[Change, int] = {}
        self._tables: dict[tuple[bytes, object], ChangeTable] = {}
        self._panels: dict[Setup, tuple[_Rows, Panel]] = {}
        self._values: dict[Test, tuple[_Rows, Floats]] = {}

    def _numbers(self, changes: Sequence[Change]) -> Ints:
        return np.array([self._ids.setdefault(c, len(self._ids)) for c in changes], dtype=np.intp)

    def table(self, changes: Sequence[Change], done: Change = NO_CHANGE) -> ChangeTable:
        ids = self._numbers(changes)
        key = ids.tobytes(), (done.swapped, done.renewed)
        if key not in self._tables:
            if len(self._tables) >= _TABLES:
                del self._tables[next(iter(self._tables))]
            self._tables[key] = _Named(**_parts(super().table(changes, done)), ids=ids)
        return self._tables[key]

    def panel(self, setup: Setup, table: ChangeTable) -> Panel:
        if not isinstance(table, _Named):
            return super().panel(setup, table)
        rows, kept = self._panels.get(setup, (_Rows(), None))
        first = rows.missing(table.ids)
        if len(first):
            new = super().panel(setup, table.rows(first))
            if kept is not None:
                new = Panel(*(np.concatenate([getattr(kept, n), getattr(new, n)]) for n in Panel.__struct_fields__))
            kept = new
            self._panels[setup] = rows, kept
        assert kept is not None
        return kept.rows(rows.of(table.ids))

    def observed(self, test: Test, changes: Sequence[Change]) -> Floats:
        ids = self._numbers(changes)
        rows, kept = self._values.get(test, (_Rows(), np.zeros(0)))
        first = rows.missing(ids)
        if len(first):
            kept = np.append(kept, super().observed(test, [changes[int(i)] for i in first]))
            self._values[test] = rows, kept
        return kept[rows.of(ids)]


class KeptInvestigator(Investigator):
    """An investigator on such a predictor."""

    def __init__(self, harness: Harness) -> None:
        super().__init__(harness)
        self.predictor = KeptPredictor(harness)
