"""Rows that may have more than one resting state of their relays, to be settled from the state before.

A relay that holds on the healthy vehicle is taken to hold at first on a faulty one too. That is right unless what
hangs on its break contact is what keeps it from pulling in: with a short there, the coil never sees its pick-up
voltage when the switch is closed, though it would hold if something else had pulled it in. Such rows begin with all
relays at rest, as the vehicle does before anything is switched on. They are few: which ones is estimated on the
vehicle with its relays at rest, all lamps taken as resistances.

A coil may also hold itself by what somebody has put on its own make contact, though nothing would ever have pulled it
in: wires changed over at a flasher unit feed it through the contact of its tell-tale. Whatever is added at a contact
that holds on the healthy vehicle begins at rest as well.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tracer.circuit.change_table import ChangeTable, pinned_open, tabulate
from tracer.circuit.device_laws import warm_s
from tracer.circuit.model import NO_CHANGE, Bools, Circuit, Floats, Ints, Setup
from tracer.circuit.shared_networks import Asked, SharingSolver
from tracer.circuit.solution import Solution
from tracer.harness.devices import RelayContact

# A coil with less than this share of its pick-up voltage to spare, by the estimate, is in doubt.
_SPARE = 1.3
_LEAST_MOVED_V = 0.3
_LEAST_A, _ALIKE = 1e-3, 0.1


class _AtRest(Struct, frozen=True):
    """The healthy vehicle in one state with all relays held at rest.

    Attributes:
        volts: (n,) node voltages.
        z, u, m: Its resistances are z − u m uᵀ.
        coils: Ends (2, C) of the coils that break something and would pull in, the voltage (C,) that they see, and
            what they want.
    """

    volts: Floats
    g: Floats
    z: Floats
    u: Floats
    m: Floats
    coils: Ints
    coil_v: Floats
    pick_up_v: Floats


class RestingStates:
    """Tells which rows keep a coil from its pick-up voltage by what hangs on its break contact."""

    def __init__(self, circuit: Circuit, contacts: Sequence[RelayContact], solver: SharingSolver) -> None:
        self._circuit, self._solver = circuit, solver
        self._pick_up = {c.coil: c.pick_up_v for c in contacts if not c.makes}
        self._bodies = [circuit.node(n) for n in circuit.harness.bodies() if n in circuit.nodes]
        self._ends: dict[str, set[int]] = {}  # of the make contacts of each coil
        for c in contacts:
            if c.makes:
                self._ends.setdefault(c.coil, set()).update({circuit.node(c.a), circuit.node(c.b)} - {0})
        self._known: dict[tuple[Setup, frozenset[str]], _AtRest | None] = {}

    @property
    def any(self) -> bool:
        """Whether there is any relay."""
        return bool(self._pick_up or self._ends)

    def doubtful(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], pulled_v: Floats) -> Bools:
        """Rows (H,) in which one of the coils `pulled_in`, those that hold on the healthy vehicle, may not pull in
        when `setup` (a plain state) is switched on, though it would hold. `pulled_v` (n,) are the healthy vehicle's
        node voltages with these coils holding."""
        itself = self._holding_itself(table, pulled_in)
        breaking = pulled_in.intersection(self._pick_up)
        if not breaking or not len(table):
            return itself
        self.know([(setup, pulled_in)])
        rest = self._known[setup, breaking]
        if rest is None:
            return itself
        d = table.used_deltas(rest.g, pinned_open(self._circuit, setup), setup.done.gone, setup.state)
        row, a, b = table.used_ends()
        at_rest, holding = d * (rest.volts[a] - rest.volts[b]), d * (pulled_v[a] - pulled_v[b])
        # What does the same in both makes no second resting state.
        stirs = np.abs(at_rest - holding) > np.maximum(_LEAST_A, _ALIKE * np.abs(at_rest))
        row, d, a, b = row[stirs], d[stirs], a[stirs], b[stirs]
        ends = rest.u[a] - rest.u[b]
        ohm = rest.z[a, a] + rest.z[b, b] - rest.z[a, b] - rest.z[b, a] - ((ends @ rest.m) * ends).sum(axis=1)
        held = 1 + d * np.maximum(ohm, 0.0)
        amps = (rest.volts[a] - rest.volts[b]) * d / np.where(np.abs(held) < 1e-9, 1e-9, held)
        ca, cb = rest.coils
        to_coil = rest.z[a][:, ca] - rest.z[a][:, cb] - rest.z[b][:, ca] + rest.z[b][:, cb]
        to_coil -= (ends @ rest.m) @ (rest.u[ca] - rest.u[cb]).T
        moved = np.zeros((len(table), len(rest.coil_v)))
        np.add.at(moved, row, np.abs(amps[:, None] * to_coil))
        short = (rest.coil_v - moved < _SPARE * rest.pick_up_v) & (moved > _LEAST_MOVED_V)
        return np.asarray(short.any(axis=1) | itself)

    def _holding_itself(self, table: ChangeTable, pulled_in: frozenset[str]) -> Bools:
        """Rows (H,) with a path added at a make contact of one of these coils."""
        out = np.zeros(len(table), dtype=bool)
        ends = [n for coil in pulled_in for n in self._ends.get(coil, ())]
        added = np.flatnonzero(table.branch == -1)  # most rows add nothing
        if not ends or not len(added):
            return out
        is_end, is_body = np.zeros((2, len(self._circuit.nodes)), dtype=bool)
        is_end[ends], is_body[self._bodies] = True, True
        a, b = table.a.reshape(-1)[added], table.b.reshape(-1)[added]
        # What lies on the body feeds no coil.
        out[added[(is_end[a] | is_end[b]) & ~(is_body[a] | is_body[b])] // table.branch.shape[1]] = True
        return out

    def know(self, asked: Sequence[tuple[Setup, frozenset[str]]]) -> None:
        """Find what `doubtful` needs of several set-ups and the coils that hold there, which takes far less time
        together."""
        breaking = dict.fromkeys((setup, held.intersection(self._pick_up)) for setup, held in asked)
        new = [(setup, coils) for setup, coils in breaking if coils and (setup, coils) not in self._known]
        if new:
            sound = tabulate(self._circuit, [NO_CHANGE])
            alone = self._solver.solve_several([Asked(setup, sound) for setup, _ in new])
            for (setup, coils), solution in zip(new, alone, strict=True):
                self._known[setup, coils] = self._at_rest(setup, sorted(coils), solution)

    def _at_rest(self, setup: Setup, coils: Sequence[str], alone: Solution) -> _AtRest | None:
        """`alone`: the healthy vehicle there, all relays held at rest."""
        circuit = self._circuit
        if not alone.converged[0]:
            return None
        z, _, _, delta, a, b = self._solver.linear_like(setup, frozenset(), warm_s)
        u = z[:, a] - z[:, b]
        try:
            m = np.asarray(np.linalg.inv(np.diag(1 / delta) + u[a] - u[b]))
        except np.linalg.LinAlgError:
            return None
        of = [circuit.branch_index[c] for c in coils]
        ends = np.array([circuit.branch_ends[0][of], circuit.branch_ends[1][of]])
        volts = alone.volts[0]
        return _AtRest(volts, circuit.conductances(setup), z, u, m, ends, np.abs(volts[ends[0]] - volts[ends[1]]),
                       np.array([self._pick_up[c] for c in coils]))
