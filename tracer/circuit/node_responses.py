"""What currents do to a network whose nodes were taken out one after another, for any of its nodes.

With G the share of a current drawn at one node that passes another when that is taken out, and 1/S what is left of
the network there, the inverse of the nodal matrix is Z = G (1/S) Gᵀ. Of a network that is nearly a tree each node
passes its current on to a dozen others or so, always the same few on the way out: these *followers* are all that is
kept, so that nobody pays for n² numbers of which most are never asked for. Only products of positive numbers are
summed up: the resistance between two nodes keeps all its digits however far both are from the reference.
"""

from __future__ import annotations

import numpy as np

from tracer.circuit.elimination import Order
from tracer.circuit.model import Floats, Ints


class Responses:
    """Voltages that currents make in one network, node 0 held at 0 V."""

    def __init__(self, order: Order, conductances: Floats, to_ground: Floats) -> None:
        """
        Args:
            conductances: (slots,) in the places of `order`, S.
            to_ground: (n,) further conductance of each node to node 0, S; above zero.
        """
        self._followers = order.followers  # (n, L), n for none
        self._taken = order.taken_out(conductances, to_ground)
        n, depth = self._followers.shape
        passed, own = np.zeros((n, depth)), np.zeros(n + 1)
        for group, (shares, ohm) in self._taken:
            own[group.node] = ohm
            for k in range(group.other.shape[1]):
                passed[group.node] += shares[:, k, None] * passed[group.other[:, k]]
            passed[group.node, order.depth[group.node]] = 1.0
        ohms = own[self._followers]
        self._volts: Floats = passed * ohms  # (n, L) that a current at each node makes at its followers as such
        self._roots: Floats = passed * np.sqrt(ohms)

    def volts(self, a: Ints, b: Ints, amps: Floats) -> Floats:
        """(n, m) voltages that currents (m, K) put in at nodes a and taken out at nodes b make."""
        columns = np.arange(len(a))[:, None]
        v = np.zeros((len(self._followers) + 1, len(a)))
        for k in range(a.shape[1]):
            for nodes, into in ((a[:, k], amps[:, k]), (b[:, k], -amps[:, k])):
                v[self._followers[nodes], columns] += into[:, None] * self._volts[nodes]
        for group, (shares, _) in self._taken:
            for k in range(group.other.shape[1]):
                v[group.node] += shares[:, k, None] * v[group.other[:, k]]
        return v[:-1]

    def across(self, a: Ints, b: Ints) -> Floats:
        """(h, K, K) voltage from a to b of each pair of nodes (h, K) by a current through each other one."""
        of_a, of_b, same = self._roots[a], self._roots[b], self._followers[a] == self._followers[b]
        first = of_a - np.where(same, of_b, 0.0)
        second = np.where(same, 0.0, -of_b)
        if a.shape[1] == 1:
            both = (np.einsum("hkt,hkt->hk", x, x) for x in (first, second))
            return np.asarray(sum(both))[:, :, None]
        out = np.zeros((*a.shape, a.shape[1]))
        one, two = np.triu_indices(a.shape[1])
        for x, of_x in ((a, first), (b, second)):
            for y, of_y in ((a, first), (b, second)):
                meet = self._followers[x[:, one]] == self._followers[y[:, two]]
                out[:, one, two] += np.einsum("hpt,hpt->hp", of_x[:, one] * meet, of_y[:, two])
        out[:, two, one] = out[:, one, two]
        return out

    def at(self, nodes: Ints, a: Ints, b: Ints) -> Floats:
        """(h, N, K) voltage at each of (h, N) nodes by a current from b to a of (h, K)."""
        here, its = self._followers[nodes][:, :, None], self._roots[nodes][:, :, None]
        by_a, by_b = (
            np.einsum("hnkt,hnkt->hnk", (here == self._followers[x][:, None]) * its,
                      np.broadcast_to(self._roots[x][:, None], (*nodes.shape, *self._roots[x].shape[1:])))
            for x in (a, b)
        )
        return np.asarray(by_a - by_b)
