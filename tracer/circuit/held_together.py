"""Where a breach of Kirchhoff's law is more than rounding.

A node voltage has some fifteen digits, and across a joint of a milliohm the last of them is a current of nanoamperes:
too much at one end of the joint, and as much too little at the other. Nothing moves by it. What counts is what a part
of the network lacks as a whole, if nothing but a leak holds it: a nanoampere through a megohm is a millivolt.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import Floats, Ints

STRONG_S = 0.1
CUT_OFF_LIMIT_A = 4e-10  # 0.4 mV on a line that nothing but a leak of 1 MΩ holds
_HOLDING_S = 0.02  # across which `HELD_A` is a microvolt
HELD_A = 2e-8


class HeldTogether:
    """The parts of a network that branches of more than `STRONG_S` hold together, each as a tree of such branches:
    what hangs on any one of them is a piece of one walk through the tree."""

    def __init__(self, nodes: int, branches: Sequence[tuple[Ints, Ints, Floats]]) -> None:
        near: list[list[int]] = [[] for _ in range(nodes)]
        for ends_a, ends_b, conductances in branches:
            strong = np.flatnonzero((conductances > STRONG_S) & (ends_a != ends_b))
            for a, b in zip(ends_a[strong].tolist(), ends_b[strong].tolist(), strict=True):
                near[a].append(b)
                near[b].append(a)
        above, walk, roots = [-1] * nodes, list[int](), list[int]()
        seen = bytearray(nodes)
        for root in range(nodes):
            if seen[root]:
                continue
            roots.append(root)
            waiting = [(root, -1)]
            while waiting:
                node, from_node = waiting.pop()
                if seen[node]:
                    continue
                seen[node] = 1
                above[node] = from_node
                walk.append(node)
                waiting += [(x, node) for x in near[node] if not seen[x]]
        size = [1] * nodes
        for node in reversed(walk):
            if above[node] >= 0:
                size[above[node]] += size[node]
        self._walk, self._above = np.array(walk, dtype=np.intp), np.array(above, dtype=np.intp)
        self._first = np.empty(nodes, dtype=np.intp)
        self._first[self._walk] = np.arange(nodes)
        self._end = self._first + np.array(size, dtype=np.intp)
        self._others = np.array(roots[1:], dtype=np.intp)  # the reference takes whatever the rest leaves
        self._others_first = self._first[self._others]
        self._root = np.empty(nodes, dtype=np.intp)
        starts = np.append(0, self._others_first) if nodes else self._others
        self._root[self._walk] = np.repeat(roots, np.diff(np.append(starts, nodes)))

    def lacking(self, net: Floats, d: Floats, a: Ints, b: Ints) -> Floats:
        """(H,) the most that any part lacks as a whole, A, of rows in which the currents out of each node add up to
        `net` (n, H), 0 at node 0. Where a row takes conductance away (`d` (H, K), below 0, between nodes a and b),
        what is on either side of it is a part of its own."""
        so_far, below = self._so_far(net), self._below(d, a, b)
        whole = so_far[self._end[self._others]] - so_far[self._others_first]
        most = np.abs(whole).max(axis=0, initial=0.0)
        row, column = np.nonzero(below >= 0)
        if len(row):
            node = below[row, column]
            np.maximum.at(most, row, np.abs(so_far[self._end[node], row] - so_far[self._first[node], row]))
        return np.asarray(most)

    def joined_lacking(
        self, net: Floats, d: Floats, a: Ints, b: Ints, port: tuple[Ints, Ints], port_s: Floats
    ) -> Floats:
        """The same where what a row adds, and its `port`s, whose slopes are `port_s` (H, P), hold parts together as
        well: takes longer."""
        rows = np.arange(len(d))[:, None]
        so_far, below = self._so_far(net), self._below(d, a, b)
        for k in range(1, below.shape[1]):  # each piece once
            below[(below[:, k, None] == below[:, :k]).any(axis=1), k] = -1
        lacks = np.zeros((len(d), len(net)))
        roots = np.append(self._others, 0)
        lacks[:, roots] = (so_far[self._end[roots]] - so_far[self._first[roots]]).T
        row, column = np.nonzero(below >= 0)
        node = below[row, column]
        its = so_far[self._end[node], row] - so_far[self._first[node], row]
        lacks[row, node] += its
        around = self._piece(np.where(below >= 0, self._above[below], 0), below)[row, column]
        np.subtract.at(lacks, (row, around), its)
        held = np.hstack([d > _HOLDING_S, port_s > _HOLDING_S])
        one, two = (self._piece(np.hstack([x, np.broadcast_to(y, port_s.shape)]), below)
                    for x, y in ((a, port[0]), (b, port[1])))
        at, column = np.nonzero(held & (one != two))
        one, two = one[at, column], two[at, column]
        group = np.tile(np.arange(len(net)), (len(d), 1))
        while True:  # of what is joined all get the least number; that of the reference is the least of all
            least = np.minimum(group[at, one], group[at, two])
            if (least == group[at, one]).all() and (least == group[at, two]).all():
                break
            np.minimum.at(group, (at, one), least)
            np.minimum.at(group, (at, two), least)
        together = np.zeros(lacks.shape)
        np.add.at(together, (rows, group), lacks)
        return np.asarray(np.abs(together[:, 1:]).max(axis=1, initial=0.0))

    def _so_far(self, net: Floats) -> Floats:
        """(n + 1, H) the sums of what is lacking along the walk."""
        out = np.zeros((len(net) + 1, net.shape[1]))
        np.cumsum(net[self._walk], axis=0, out=out[1:])
        return out

    def _below(self, d: Floats, a: Ints, b: Ints) -> Ints:
        """(H, K) the node of which everything is parted from the rest of its tree, −1 where nothing is."""
        below = np.where(self._above[a] == b, a, np.where(self._above[b] == a, b, -1))
        return np.where(d < 0, below, -1)

    def _piece(self, nodes: Ints, below: Ints) -> Ints:
        """(H, X) the node that stands for the piece in which each of the `nodes` (H, X) is, where rows part what is
        `below` (H, K) from the rest."""
        piece, first = self._root[nodes], self._first[nodes]
        begins = np.full(nodes.shape, -1)
        for k in range(below.shape[1]):
            node = below[:, k, None]
            inside = (node >= 0) & (self._first[node] <= first) & (first < self._end[node])
            inside &= self._first[node] > begins
            piece, begins = np.where(inside, node, piece), np.where(inside, self._first[node], begins)
        return piece
