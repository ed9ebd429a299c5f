"""Solved rows of one set-up. Ports and watched branches are there at once; node voltages, which few ask
for, are added up when asked for."""

from __future__ import annotations

from functools import cached_property
from typing import Protocol

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from tracer.circuit.model import Bools, Floats, Ints, distinct

_ROWS_AT_ONCE = 512


class NodeVolts(Protocol):
    """Node voltages of some rows."""

    def at(self, rows: Ints, nodes: Ints) -> Floats:
        """(rows, nodes) against the reference node, V."""


class GivenVolts(Struct, frozen=True):
    """Node voltages (h, n) that were worked out in full."""

    volts: Floats

    def at(self, rows: Ints, nodes: Ints) -> Floats:
        return self.volts[np.ix_(rows, nodes)]


class Solution(Struct, dict=True):
    """Solved rows of one set-up; rows as in the table, nodes and ports as in the circuit.

    Attributes:
        port_v: (H, ports + test lamps) voltage a → b.
        port_i: (H, ports + test lamps) current a → b, A.
        watched_v: (H, watched) voltage a → b across the branches `Circuit.watched`.
        residual_a: (H,) largest breach of Kirchhoff's current law at any node, A.
        converged: (H,) rows that may be used.
    """

    port_v: Floats
    port_i: Floats
    watched_v: Floats
    residual_a: Floats
    converged: Bools
    nodes: int
    _sources: list[NodeVolts] = field(default_factory=list)
    _source: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    _row: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    @classmethod
    def empty(cls, rows: int, nodes: int, ports: int, watched: int) -> Solution:
        """Rows still to be put."""
        return cls(
            np.empty((rows, ports)), np.empty((rows, ports)), np.empty((rows, watched)), np.zeros(rows),
            np.zeros(rows, dtype=bool), nodes, [], np.full(rows, -1, dtype=np.intp), np.zeros(rows, dtype=np.intp),
        )

    def put(self, rows: Ints, part: Solution) -> None:
        """Replace some rows by those of another solution of the same circuit."""
        for name in ("port_v", "port_i", "watched_v", "residual_a", "converged"):
            getattr(self, name)[rows] = getattr(part, name)
        self._source[rows] = part._source + len(self._sources)
        self._row[rows] = part._row
        self._sources += part._sources
        self.__dict__.pop("volts", None)

    def put_volts(self, rows: Ints, volts: NodeVolts) -> None:
        """Give some rows the same node voltages, worked out already."""
        self._source[rows], self._row[rows] = len(self._sources), np.arange(len(rows))
        self._sources.append(volts)

    def rows(self, chosen: slice) -> Solution:
        """Some of the rows."""
        return Solution(
            self.port_v[chosen], self.port_i[chosen], self.watched_v[chosen], self.residual_a[chosen],
            self.converged[chosen], self.nodes, [*self._sources], self._source[chosen], self._row[chosen],
        )

    def with_ports(self, chosen: Ints) -> Solution:
        """The same with some of the ports alone."""
        return replace(self, port_v=self.port_v[:, chosen], port_i=self.port_i[:, chosen])

    def with_volts(self, volts: NodeVolts) -> Solution:
        """This solution with the node voltages of its rows, in order."""
        self._sources, self._row = [volts], np.arange(len(self.converged))
        self._source = np.zeros(len(self.converged), dtype=np.intp)
        return self

    def volts_at(self, nodes: Ints, rows: Ints | None = None) -> Floats:
        """(H, nodes) voltages of chosen nodes against the reference node; of chosen rows if any are named."""
        rows = np.arange(len(self.converged)) if rows is None else rows
        out, origin = np.zeros((len(rows), len(nodes))), self._source[rows]
        for k in distinct(origin):
            its = np.flatnonzero(origin == k)
            for first in range(0, len(its), _ROWS_AT_ONCE):
                some = its[first:first + _ROWS_AT_ONCE]
                out[some] = self._sources[k].at(self._row[rows[some]], nodes)
        return out

    @cached_property
    def volts(self) -> Floats:
        """(H, n) voltages of all nodes against the reference node."""
        return self.volts_at(np.arange(self.nodes))
