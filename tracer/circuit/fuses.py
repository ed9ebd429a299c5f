"""The fuses of a circuit and of temporary leads: which carries too much, and which of several blows first."""

from __future__ import annotations

import numpy as np

from tracer.circuit.change_table import ChangeTable, found, numbers
from tracer.circuit.model import AddedBranch, Bools, Circuit, Floats, Ints, Setup, conductance_of
from tracer.circuit.settled import first_to_blow
from tracer.circuit.solution import Solution
from tracer.harness.devices import FuseLink
from tracer.standards.fuses import blows_at

_NEAR = 0.99  # of what blows a fuse


class Fuses:
    """Fuse links, as arrays.

    Attributes:
        links: In the order of the circuit; `branch`: where they stand among its branches.
        limit_a: (fuses,) what blows each in the end, A.
        cold_s: (fuses,) their conductances, S.
    """

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self.links = [d for d in circuit.linear if isinstance(d, FuseLink)]
        self.branch = np.array([circuit.branch_index[f.name] for f in self.links], dtype=np.intp)
        self._fuse_of = numbers(circuit, (f.name for f in self.links))
        self._fuse_watch = np.array([circuit.watch_index[f.name] for f in self.links], dtype=np.intp)
        self.limit_a = np.array([blows_at(f.kind) * f.rating_a for f in self.links])
        self.cold_s = np.array([conductance_of(f.cold_ohm()) for f in self.links])

    def overloaded(self, solution: Solution, table: ChangeTable, setup: Setup) -> tuple[Ints, Floats, Bools]:
        """The fuse (H,) that blows first or comes nearest to it, its current in A (H,) and whether it blows (H,).
        Those of temporary leads come after those of the vehicle."""
        leads = with_fuse(setup)
        if not self.links and not leads:
            none = np.zeros(len(table))
            return none.astype(np.intp), none, none.astype(bool)
        fuse_s, limit = self.cold_s.copy(), self.limit_a
        for name, ohm in setup.done.set_ohm:
            if (fuse := int(self._fuse_of[self._circuit.branch_index[name]])) >= 0:
                fuse_s[fuse] = conductance_of(ohm)
        across = solution.watched_v.take(self._fuse_watch, axis=1)
        np.abs(across, out=across)
        row, changed, column = found(self._fuse_of, table)
        # Most rows can be told by the voltage alone.
        near = (across * fuse_s > _NEAR * limit).any(axis=1)
        near[row] = near[table.other_ratings] = True
        near |= bool(leads)
        rows = np.flatnonzero(near)
        amps = across[rows] * fuse_s
        place = np.cumsum(near)[row] - 1
        amps[place, changed] = across[row, changed] * table.target_s[row, column]
        ratio = amps / (limit * table.rating[rows])
        for lead in leads:
            ends = np.array([self._circuit.node(lead.a), self._circuit.node(lead.b)])
            taken = np.where((table.branch == -1) & (table.a == ends[0]) & (table.b == ends[1]), table.target_s, 0.0)
            carries = conductance_of(lead.ohm) + np.minimum(taken, 0.0).sum(axis=1)
            through = np.abs(np.diff(solution.volts_at(ends), axis=1)[:, 0]) * carries
            limit = np.append(limit, blows_at("blade") * lead.fuse_a)
            ratio = np.column_stack([ratio, through / limit[-1]])
        worst, most = np.zeros(len(table), dtype=np.intp), np.zeros(len(table))
        worst[rows] = first_to_blow(ratio, [f.kind for f in self.links]) if len(rows) else 0
        most[rows] = ratio[np.arange(len(rows)), worst[rows]]
        return worst, most * limit[worst], (most > 1.0) & solution.converged


def with_fuse(setup: Setup) -> list[AddedBranch]:
    """Temporary leads with a fuse."""
    return [x for x in setup.done.added if x.fuse_a]
