"""What currents do to a network whose nodes were taken out one after another, for any of its nodes.

With G the share of a current drawn at one node that passes another when that is taken out, and 1/S what is left of
the network there, the inverse of the nodal matrix is Z = G (1/S) Gᵀ. Of a network that is nearly a tree each node
passes its current on to a dozen others or so, always the same few on the way out: these *followers* are all that is
kept, so that nobody pays for n² numbers of which most are never asked for. Only products of positive numbers are
summed up: the resistance between two nodes keeps all its digits however far both are from the reference.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from tracer.circuit.elimination import Order
from tracer.circuit.model import Floats, Ints

_MOST_KINDS = 4  # places in the table of pairs for each one that is asked for
_QUICKLY_REACHED = 30_000  # entries
_ALL_KEPT = 400  # nodes: of a larger network what is asked for is worked out each time


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

    def of_each(self, nodes: Ints) -> Floats:
        """(n, m) voltages at all nodes by 1 A put in at each of `nodes` (m,) and taken out at node 0."""
        return self._all[:, nodes] if self.all_kept else self._of_each(nodes)

    @property
    def all_kept(self) -> bool:
        """Whether what `of_each` is asked for is known for all nodes from the first time on."""
        return len(self._followers) <= _ALL_KEPT

    @cached_property
    def _all(self) -> Floats:
        return self._of_each(np.arange(len(self._followers)))

    def _of_each(self, nodes: Ints) -> Floats:
        column = nodes[:, None]
        return self.volts(column, np.zeros_like(column), np.ones(column.shape))

    def across(self, a: Ints, b: Ints) -> Floats:
        """(h, K, K) voltage from a to b of each pair of nodes (h, K) by a current through each other one."""
        if a.shape[1] == 1:
            both = (np.einsum("hkt,hkt->hk", x, x) for x in self._shares(a, b))
            return np.asarray(sum(both))[:, :, None]
        one, two = np.triu_indices(a.shape[1])
        # Rows of one set-up share most of their changes: what is the same in many is worked out once.
        size = len(self._followers)
        kinds, which = np.unique(a * size + b, return_inverse=True)
        which = which.reshape(a.shape)
        pairs = which[:, one] * len(kinds) + which[:, two]
        out = np.empty((*a.shape, a.shape[1]))
        out[:, one, two] = out[:, two, one] = _once(
            pairs, len(kinds), lambda p, q: self._between(kinds // size, kinds % size, p, q))
        return out

    def _shares(self, a: Ints, b: Ints) -> tuple[Floats, Floats]:
        """(…, L) roots of what a current from a to b does at the followers of both nodes: at those of a, with what b
        has of the same taken off, and at those of b alone."""
        of_a, of_b, same = self._roots[a], self._roots[b], self._followers[a] == self._followers[b]
        return of_a - np.where(same, of_b, 0.0), np.where(same, 0.0, -of_b)

    def _between(self, a: Ints, b: Ints, p: Ints, q: Ints) -> Floats:
        """(m,) voltage across the p-th (m,) of some pairs of nodes by a current through the q-th."""
        first, second = self._shares(a, b)
        ends = (self._followers[a], first), (self._followers[b], second)
        out = np.zeros(len(p))
        at_once = max(_QUICKLY_REACHED // self._roots.shape[1], 1)
        for start in range(0, len(p), at_once):
            some = slice(start, start + at_once)
            for x, of_x in ends:
                for y, of_y in ends:
                    meet = x[p[some]] == y[q[some]]
                    out[some] += np.einsum("mt,mt->m", of_x[p[some]] * meet, of_y[q[some]])
        return out

    def at(self, nodes: Ints, a: Ints, b: Ints) -> Floats:
        """(h, N, K) voltage at each of (h, N) nodes by a current from b to a of (h, K)."""
        known, which = np.unique(np.concatenate([x.ravel() for x in (nodes, a, b)]), return_inverse=True)
        at, of_a, of_b = (
            part.reshape(x.shape) for part, x in zip(np.split(which, np.cumsum([nodes.size, a.size])), (nodes, a, b),
                                                     strict=True))
        pairs = np.stack([at[:, :, None] * len(known) + x[:, None] for x in (of_a, of_b)])
        by_a, by_b = _once(pairs, len(known), lambda p, q: self._meeting(known, p, q))
        return np.asarray(by_a - by_b)

    def _meeting(self, nodes: Ints, p: Ints, q: Ints) -> Floats:
        """(m,) voltage at the p-th (m,) of some nodes by a current into the q-th."""
        followers, roots = self._followers[nodes], self._roots[nodes]
        out = np.empty(len(p))
        at_once = max(_QUICKLY_REACHED // roots.shape[1], 1)
        for start in range(0, len(p), at_once):
            x, y = p[start:start + at_once], q[start:start + at_once]
            out[start:start + at_once] = np.einsum("mt,mt->m", (followers[x] == followers[y]) * roots[x], roots[y])
        return out


def _once(pairs: Ints, kinds: int, work_out: Callable[[Ints, Ints], Floats]) -> Floats:
    """What belongs to `pairs` (any shape) of two of some `kinds`, first · kinds + second; if many are the same, each
    is worked out once."""
    asked = pairs.ravel()
    if kinds**2 >= _MOST_KINDS * asked.size:
        return work_out(*np.divmod(asked, kinds)).reshape(pairs.shape)
    mask = np.zeros(kinds**2, dtype=bool)
    mask[asked] = True
    different = np.flatnonzero(mask)
    table = np.empty(kinds**2)
    table[different] = work_out(*np.divmod(different, kinds))
    return np.asarray(table[pairs])
