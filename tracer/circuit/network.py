"""The linear network of one set-up, healthy, as the solver starts from it: inverted once, changed many times.

It holds each filament's cold conductance g0, so that a lamp behind an open switch is an ordinary node and not
a floating one. What still floats is tied to the reference by `LEAK_S` and reads 0 V.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct

from tracer.circuit.change_table import on_ports, pinned_open
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.elimination import Order, islands, neighbours
from tracer.circuit.held_together import CUT_OFF_LIMIT_A, HELD_A, HeldTogether
from tracer.circuit.low_rank import chosen_columns
from tracer.circuit.model import (
    LEAST_OHM,
    OHMMETER_OHM,
    OHMMETER_V,
    Bools,
    Circuit,
    Floats,
    Ints,
    Setup,
    conductance_of,
    distinct,
)
from tracer.circuit.node_responses import Responses

LEAK_S = 1e-9
# Parts that float in the healthy network are tied to the reference at one node by this, S, or else their
# resistances would be small differences of gigaohms. Changes that reach such a part take the tie away.
TIE_S = 0.01
_CHECKED_AT_ONCE = 128  # rows: what is worked with stays at hand
_KEPT_ORDERS = 24
_FEW_CHANGES = 32

_Ends = tuple[int, int]


class Rows(Struct, frozen=True):
    """What H rows change in a network.

    Attributes:
        d, a, b: (H, K) conductance changes and the nodes between which they are; those that take the conductance
            of dead ports away, and ties that go, are among them.
        on: (H, P) factor on each port's current.
        base_s: (H, P) the network's conductance of each port that lives.
        emf: (H,) factor on the batteries.
        meter: (H, 2) nodes between which an ohmmeter drives its current, −1 where there is none that the network does
            not have; its conductance is among the changes.
    """

    d: Floats
    a: Ints
    b: Ints
    on: Floats
    base_s: Floats
    emf: Floats
    meter: Ints

    def driven(self) -> tuple[Ints, Ints, Ints]:
        """Rows that have such an ohmmeter, and the nodes that its current goes into and comes out of."""
        rows = np.flatnonzero(self.meter[:, 0] >= 0)
        return rows, *self.meter[rows].T

    def __len__(self) -> int:
        return len(self.emf)

    def rows(self, chosen: Ints | slice) -> Rows:
        return Rows(*(getattr(self, n)[chosen] for n in self.__struct_fields__))


class Moves(Struct, frozen=True):
    """H rows as what they change in a network.

    Attributes:
        d, a, b: (H, K) conductance differences and the nodes between which they are.
        factor: (H, P) on each port's current.
        emf: (H,) factor on what the network's batteries supply.
        meter: (H, 2) nodes between which an ohmmeter is, −1 where there is none that the network does not have.
    """

    d: Floats
    a: Ints
    b: Ints
    factor: Floats
    emf: Floats
    meter: Ints

    def __len__(self) -> int:
        return len(self.emf)

    def rows(self, chosen: Ints | slice) -> Moves:
        return Moves(*(getattr(self, n)[chosen] for n in self.__struct_fields__))


class Network(Struct, frozen=True, dict=True):
    """The healthy network of one set-up."""

    order: Order
    more: frozenset[_Ends]  # between which the set-up itself has branches that the circuit has not
    g: Floats  # (B,) branch conductances
    branches: tuple[tuple[Ints, Ints, Floats], ...]  # all conductances, ties too, but not ports and leaks
    injected: Floats  # (n,) currents of the batteries at EMF factor 1
    meter: Floats  # (n,) current of the ohmmeter, which no battery's state changes
    pa: Ints
    pb: Ints
    laws: PortLaws
    port_on: Floats  # (P,) 0 where the set-up itself took the lamp out
    base_s: Floats  # (P,) conductance that each port has here
    pinned: Bools
    island: Ints  # (n,) number of the tied island that a node belongs to, −1 for none
    tied: Ints  # (islands,) the node by which each is tied to the reference

    @cached_property
    def z(self) -> Floats:
        """(n, n) inverse of the nodal matrix with ports and leaks, node 0 held at 0 V."""
        return self.inverse(self.base_s)

    def inverse(self, port_s: Floats) -> Floats:
        """The inverse (n, n) with other conductances (P,) of the ports."""
        return self.order.inverse(self._conductances(port_s), np.full(len(self.injected), LEAK_S))

    def responses(self, port_s: Floats) -> Responses:
        """What currents do with these conductances (P,) of the ports."""
        return Responses(self.order, self._conductances(port_s), np.full(len(self.injected), LEAK_S))

    def cold(self, emf: float) -> Floats:
        """Node voltages (n,) with all lamps cold."""
        into = self.injected * emf + self.meter
        ground = np.full(len(into), LEAK_S)
        return self.order.solve(self._conductances(self.base_s)[:, None], ground, into[:, None])[:, 0]

    def _conductances(self, port_s: Floats) -> Floats:
        return self.order.added_up([*self.branches, (self.pa, self.pb, port_s)])

    @cached_property
    def _meeting(self) -> tuple[Ints, Ints, Floats, Ints, Ints, Ints]:
        """Ends and conductances of all branches without the ports; the order that brings the ends of all of them,
        ports last, together by node; the nodes, and where each one's begin."""
        a, b, s = (np.concatenate(x) for x in zip(*self.branches, strict=True))
        ends = np.concatenate([a, self.pa, b, self.pb])
        order = np.argsort(ends, kind="stable")
        nodes, starts = np.unique(ends[order], return_index=True)
        return a, b, s, order, nodes, starts

    def without_dead(self, dead: Bools, delta: Floats, a: Ints, b: Ints) -> tuple[Floats, Ints, Ints]:
        """Changes (H, K) and those that take the base conductance of dead ports (H, P) away.

        Newton could take it away too, but where nothing else hangs on a dead lamp only as the
        difference of two nearly equal numbers.
        """
        order, taken = chosen_columns(dead)
        gone = np.where(taken, -self.base_s[order], 0.0)
        return np.hstack([delta, gone]), np.hstack([a, self.pa[order]]), np.hstack([b, self.pb[order]])

    def untied(self, delta: Floats, a: Ints, b: Ints) -> tuple[Floats, Ints, Ints]:
        """Changes (H, K), and one more for each island that a row's changes reach: its tie goes."""
        if not len(self.tied):
            return delta, a, b
        real = delta != 0
        reached = np.sort(np.hstack([np.where(real, self.island[x], -1) for x in (a, b)]), axis=1)
        first = (reached >= 0) & (np.diff(reached, axis=1, prepend=-1) != 0)
        ends = np.where(first, self.tied[reached], 0)
        return (
            np.hstack([delta, np.where(first, -TIE_S, 0.0)]), np.hstack([a, ends]),
            np.hstack([b, np.zeros_like(ends)]),
        )

    def rows(self, d: Floats, a: Ints, b: Ints, factor: Floats, emf: Floats, meter: Ints | None = None) -> Rows:
        """Rows of changes (H, K) to the branches, of factors (H, P of the circuit) on the currents of its ports,
        and on the batteries (H,); `meter` (H, 2) as in `Rows`, none where nobody has one."""
        meter = np.full((len(factor), 2), -1, dtype=np.intp) if meter is None else meter
        extra = len(self.pa) - factor.shape[1]
        factor = np.hstack([factor, np.ones((len(factor), extra))])  # test lamps are never faulty
        changes = self.untied(*self.without_dead(factor == 0, d, a, b))
        return Rows(*changes, factor * self.port_on, self.base_s * (factor != 0), emf, meter)

    def residual(self, volts: Floats, rows: Rows) -> Floats:
        """(H,) the largest breach of Kirchhoff's current law at any node of rows of voltages (H, n), A."""
        return self.breaches(volts, rows)[0]

    def breaches(self, volts: Floats, rows: Rows, carried: Floats | None = None) -> tuple[Floats, Floats]:
        """(H,) the same, and the most that any part lacks as a whole that strong branches hold together.

        `carried` (H, P): what the filaments are taken to carry, if not what their law says. A filament that
        strays from it by a tenth of a microampere moves its own ends by less than 0.1 mV, and nothing else.
        """
        at_node, of_part = np.empty((2, len(volts)))
        for first in range(0, len(volts), _CHECKED_AT_ONCE):
            part = slice(first, first + _CHECKED_AT_ONCE)
            here, its = volts[part], rows.rows(part)
            v = here[:, self.pa] - here[:, self.pb]
            if carried is None:
                i = self.laws.current_and_slope(v)[0] * its.on
            else:
                i, diodes = carried[part].copy(), np.flatnonzero(~self.laws.is_filament)
                law = self.laws.pick(diodes)
                i[:, diodes] = law.current_and_slope(v[:, diodes])[0] * its.on[:, diodes]
            i += (self.base_s - its.base_s) * v
            net = self._net(here, its, i)
            of_part[part] = self._lacking(net, its, v)
            at_node[part] = np.abs(net, out=net).max(axis=0)
        return at_node, of_part

    def _lacking(self, net: Floats, rows: Rows, port_v: Floats) -> Floats:
        """(H,) the most that any part lacks as a whole, where it matters with all that the ports hold together."""
        most = self._held_together.lacking(net, rows.d, rows.a, rows.b)
        far = np.flatnonzero((most > CUT_OFF_LIMIT_A) & (most < HELD_A))
        if len(far) and rows.d.shape[1] <= _FEW_CHANGES:
            its = rows.rows(far)
            port_s = self.laws.current_and_slope(port_v[far])[1] * its.on
            most[far] = self._held_together.joined_lacking(
                net[:, far], its.d, its.a, its.b, (self.pa, self.pb), port_s)
        return most

    @cached_property
    def _held_together(self) -> HeldTogether:
        return HeldTogether(len(self.injected), self.branches)

    def _net(self, volts: Floats, rows: Rows, port_i: Floats) -> Floats:
        """(n, H) what flows out of each node, A, of few rows, whose ports carry `port_i` (H, P) beyond their base
        conductances."""
        ends_a, ends_b, conductances, order, nodes, starts = self._meeting
        # One row a node from here on: what is gathered and added up lies together then.
        by_node = np.ascontiguousarray(volts.T)
        through = np.empty((2 * (len(ends_a) + len(self.pa)), len(volts)))
        there, back = through[:len(through) // 2], through[len(through) // 2:]
        np.subtract(by_node[ends_a], by_node[ends_b], out=there[:len(ends_a)])
        there[:len(ends_a)] *= conductances[:, None]
        there[len(ends_a):] = port_i.T
        np.negative(there, out=back)
        net: Floats = LEAK_S * by_node - self.injected[:, None] * rows.emf - self.meter[:, None]
        net[nodes] += np.add.reduceat(through[order], starts, axis=0)
        row = np.arange(len(volts))[:, None]
        flow = rows.d * (np.take_along_axis(volts, rows.a, 1) - np.take_along_axis(volts, rows.b, 1))
        np.add.at(net, (rows.a, row), flow)
        np.add.at(net, (rows.b, row), -flow)
        at, into, out_of = rows.driven()
        net[into, at] -= OHMMETER_V / OHMMETER_OHM
        net[out_of, at] += OHMMETER_V / OHMMETER_OHM
        net[0] = 0.0  # the reference takes whatever the rest leaves
        return net


class Networks:
    """Makes the networks of one circuit; keeps the orders in which their nodes are taken out."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._sources = [_ends(circuit, s.plus, s.minus) for s in circuit.sources]
        self._own = _pairs(circuit.branch_ends, circuit.port_ends, *self._sources)
        self._orders: dict[frozenset[_Ends], Order] = {}

    def order(self, more: frozenset[_Ends]) -> Order:
        """The order for networks that have further branches between these nodes: whatever switches do."""
        found = self._orders.pop(more, None) or Order(len(self.circuit.nodes), self._own | more)
        self._orders[more] = found  # as the last: the first is the one that was not asked for longest
        if len(self._orders) > _KEPT_ORDERS:
            self._orders.pop(next(iter(self._orders)))
        return found

    def order_with(self, network: Network, rows: Rows) -> Order:
        """The order of `network` if it has a place for all changes of the rows, else one that has."""
        if network.order.knows(rows.a, rows.b).all():
            return network.order
        # All, since a place that one order has for what its nodes leave behind another need not have.
        return self.order(network.more | _pairs((rows.a.ravel(), rows.b.ravel())) - self._own)

    def make(self, setup: Setup, pulled_in: frozenset[str]) -> Network:
        """The network of a set-up."""
        circuit, n = self.circuit, len(self.circuit.nodes)
        lamps = setup.done.lamps
        laws = PortLaws([*circuit.ports, *(t.law for t in lamps)])
        pa, pb = circuit.port_ends
        pa = np.append(pa, [circuit.node(t.a) for t in lamps]).astype(np.intp)
        pb = np.append(pb, [circuit.node(t.b) for t in lamps]).astype(np.intp)
        port_on = np.ones(len(laws))
        on_ports(circuit, setup.done, port_on)
        base_s = laws.base_s * port_on
        g = circuit.conductances(setup, pulled_in)
        injected, meter = np.zeros(n), np.zeros(n)
        running = setup.state.engine_running
        branches = [(*circuit.branch_ends, g)]
        for added in setup.done.added:
            branches.append(_branch(circuit, added.a, added.b, conductance_of(added.ohm)))
        sources = [(s.plus, s.minus, s.emf(running), s.ohm, injected) for s in circuit.sources]
        if setup.done.disconnected:
            sources = []
        if setup.done.ohmmeter:
            sources.append((*setup.done.ohmmeter, OHMMETER_V, OHMMETER_OHM, meter))
        driven = []
        for plus_name, minus_name, emf, ohm, into in sources:
            plus, minus = circuit.node(plus_name), circuit.node(minus_name)
            s = 1 / max(ohm, LEAST_OHM)
            branches.append(_branch(circuit, plus_name, minus_name, s))
            driven += [plus, minus]
            into[plus] += s * emf
            into[minus] -= s * emf
        ports = pa, pb, base_s
        island, tied = islands(neighbours(n, [*branches, ports]), driven)
        branches.append((tied, np.zeros_like(tied), np.full(len(tied), TIE_S)))
        more = _pairs(*((a, b) for a, b, _ in branches[1:]), (pa, pb)) - self._own
        order = self.order(more)
        return Network(order, more, g, tuple(branches), injected, meter, pa, pb, laws, port_on, base_s,
                       pinned_open(circuit, setup), island, tied)


def _pairs(*ends: tuple[Ints, Ints]) -> frozenset[_Ends]:
    """Nodes between which there are branches, the lower number first, the reference left out."""
    both = np.sort(np.concatenate([np.column_stack(x) for x in ends]), axis=1)
    joined = both[(both[:, 0] > 0) & (both[:, 0] != both[:, 1])]
    # Many rows change the same few pairs.
    size = int(joined.max(initial=0)) + 1
    a, b = np.divmod(distinct(joined @ [size, 1]), size)
    return frozenset(zip(a.tolist(), b.tolist(), strict=True))


def _ends(circuit: Circuit, a: str, b: str) -> tuple[Ints, Ints]:
    return np.array([circuit.node(a)]), np.array([circuit.node(b)])


def _branch(circuit: Circuit, a: str, b: str, s: float) -> tuple[Ints, Ints, Floats]:
    return *_ends(circuit, a, b), np.array([s])
