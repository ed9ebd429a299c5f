"""Resistor networks solved and inverted by taking their nodes out, a few hundred at a time.

A wiring harness is nearly a tree, so that nodes taken out in order of fewest neighbours leave hardly any
new branches behind (star–mesh transformation). Only sums, products and quotients of positive conductances
occur, nothing is ever subtracted: small conductances beside large ones keep all their digits.

The order depends on where branches are, not on what they conduct: `Order` finds it once, and many networks
with those branches are then solved at once, as arrays.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Bools, Floats, Ints, distinct

_REMAINS_S = 1e-12
_NONE: Ints = np.zeros(0, dtype=np.intp)
_FEW_ADDED = 8  # things that go into one place, added one by one
_FEW_NEIGHBOURS = 2  # nodes with no more are taken out as soon as may be: they leave at most one branch

Neighbours = list[list[int]]


def neighbours(nodes: int, branches: Iterable[tuple[Ints, Ints, Floats]]) -> Neighbours:
    """The nodes beside each node: those that something joins to it."""
    found: Neighbours = [[] for _ in range(nodes)]
    for ends_a, ends_b, conductances in branches:
        real = np.flatnonzero((conductances != 0) & (ends_a != ends_b))
        for a, b in zip(ends_a[real].tolist(), ends_b[real].tolist(), strict=True):
            found[a].append(b)
            found[b].append(a)
    return found


def islands(near: Neighbours, driven: Iterable[int]) -> tuple[Ints, Ints]:
    """Parts of a network that neither node 0 nor a `driven` node belongs to: the number of each node's
    part (n,), −1 for none, and one node of each."""
    fed = {0, *driven}
    island = np.full(len(near), -2, dtype=np.intp)
    tied: list[int] = []
    for start in (*fed, *range(len(near))):
        if island[start] != -2:
            continue
        number = -1 if start in fed else len(tied)
        if number >= 0:
            tied.append(start)
        waiting = [start]
        while waiting:
            node = waiting.pop()
            if island[node] == -2:
                island[node] = number
                waiting += [x for x in near[node] if island[x] == -2]
    return island, np.array(tied, dtype=np.intp)


class Group(Struct, frozen=True):
    """m nodes of k neighbours each, none beside another, that are taken out together.

    What they leave behind goes into `places` of the array that `Order.solve` works on. Into most places goes one
    thing or two: `few` picks the first thing for each place, then the second for those at the beginning that have as
    many, and so on. Those with many come after them: what `order` picks for each begins at `starts`.
    """

    node: Ints  # (m,)
    slots: Ints  # (m, k) of the branches to the neighbours
    other: Ints  # (m, k) the neighbours
    one: Ints  # columns of all pairs of neighbours
    two: Ints
    places: Ints
    few: tuple[Ints, ...]
    order: Ints
    starts: Ints

    def add_left(self, work: Floats, left: Floats) -> None:
        """Add what is left behind to the places in `work`."""
        first, *others = (left.take(x, axis=0) for x in self.few)
        if others:  # these among themselves, and then to the first: as numpy adds up a few numbers
            second = others[0]
            for more in others[1:]:
                second[:len(more)] += more
            first[:len(second)] += second
        work[self.places[:len(first)]] += first
        if len(self.starts):
            work[self.places[len(first):]] += np.add.reduceat(left.take(self.order, axis=0), self.starts, axis=0)


class Order:
    """The order in which the nodes of networks with branches at the same places are taken out.

    Conductances are kept as (slots, …): first those between two nodes, then `nodes` to the reference, node 0.
    """

    def __init__(self, nodes: int, joined: Iterable[tuple[int, int]]) -> None:
        """`joined` are the pairs of nodes that may be joined; that any may be to node 0 goes without saying."""
        self.nodes = nodes
        near: list[set[int]] = [set() for _ in range(nodes)]
        for a, b in joined:
            if a != b and a and b:
                near[a].add(b)
                near[b].add(a)
        alike = _alike(_taken_out(near))
        # Whatever joins two nodes, from the start or left behind, is there when the first of them is taken out.
        between = [(node[:, None], other) for node, other in alike if other.shape[1]]
        self._keys = distinct(np.concatenate([self._key(*x).ravel() for x in between])) if between else _NONE
        self.between = len(self._keys)
        self.slots = self.between + nodes
        self._groups = [self._group(node, other) for node, other in alike]

    def _key(self, a: Ints, b: Ints) -> Ints:
        return np.asarray(np.minimum(a, b) * self.nodes + np.maximum(a, b))

    def slot(self, a: Ints, b: Ints) -> Ints:
        """Where the conductance between a and b is kept; between a node and itself in the reference's own."""
        to_reference = np.where(a == b, 0, np.maximum(a, b)) + self.between
        if not self.between:
            return to_reference
        at = np.minimum(np.searchsorted(self._keys, self._key(a, b)), self.between - 1)
        return np.where((np.minimum(a, b) == 0) | (a == b), to_reference, at)

    def knows(self, a: Ints, b: Ints) -> Bools:
        """Whether a conductance between a and b has a place here."""
        known = (np.minimum(a, b) == 0) | (a == b)
        if self.between:
            keys = self._key(a, b)
            known |= self._keys[np.minimum(np.searchsorted(self._keys, keys), self.between - 1)] == keys
        return np.asarray(known)

    def added_up(self, branches: Iterable[tuple[Ints, Ints, Floats]]) -> Floats:
        """(slots,) conductances of a network of branches."""
        out = np.zeros(self.slots)
        for a, b, g in branches:
            np.add.at(out, self.slot(a, b), g)
        return out

    def _group(self, node: Ints, other: Ints) -> Group:
        one, two = np.triu_indices(other.shape[1], 1)
        joined = self.slot(other[:, one], other[:, two])
        places = np.concatenate([x.ravel() for x in (self.between + other, self.slots + other, joined)])
        order = np.argsort(places, kind="stable")
        unique, starts, count = np.unique(places[order], return_index=True, return_counts=True)
        by_count = np.argsort(np.where(count > _FEW_ADDED, 0, -count), kind="stable")
        unique, starts, count = unique[by_count], starts[by_count], count[by_count]
        parted = np.count_nonzero(count <= _FEW_ADDED)
        most = int(count[:parted].max(initial=1))
        few = tuple(order[starts[:parted][count[:parted] > k] + k] for k in range(most))
        many = count[parted:]
        first = np.cumsum(many) - many
        picked = np.repeat(starts[parted:] - first, many) + np.arange(many.sum())
        return Group(node, self.slot(node[:, None], other), other, one, two, unique, few, order[picked], first)

    def _take_out(self, work: Floats) -> list[tuple[Floats, Floats]]:
        """Shares (m, k, …) and 1/S (m, …) of each group; works in `work` (slots + nodes, …): conductances and
        the currents injected."""
        found = []
        tail = work.shape[1:]
        for group in self._groups:
            ground, current = (work.take(group.node + x, axis=0) for x in (self.between, self.slots))
            g = work.take(group.slots, axis=0)
            own = 1 / (ground + g.sum(axis=1))
            shares = g * own[:, None]
            found.append((shares, own))
            if not group.slots.shape[1]:
                continue
            left = np.concatenate([
                (shares * ground[:, None]).reshape(-1, *tail), (shares * current[:, None]).reshape(-1, *tail),
                (g.take(group.one, axis=1) * shares.take(group.two, axis=1)).reshape(-1, *tail),
            ])
            group.add_left(work, left)
        return found

    @cached_property
    def depth(self) -> Ints:
        """(n,) how many nodes a current at each passes at most after it, on its way out of the network."""
        depth = np.zeros(self.nodes, dtype=np.intp)
        for group in reversed(self._groups):
            depth[group.node] = depth[group.other].max(axis=1, initial=-1) + 1
        return depth

    @cached_property
    def followers(self) -> Ints:
        """(n, L) the nodes that a current at each passes, each in the column of its `depth`, itself among them;
        `nodes` where there is none. Those beside a node when it is taken out are each among the other's."""
        out = np.full((self.nodes, int(self.depth.max()) + 1), self.nodes, dtype=np.intp)
        for group in reversed(self._groups):
            if group.other.shape[1]:
                nearest = self.depth[group.other].argmax(axis=1)
                out[group.node] = out[group.other[np.arange(len(group.node)), nearest]]
            out[group.node, self.depth[group.node]] = group.node
        return out

    def taken_out(self, conductances: Floats, to_ground: Floats) -> list[tuple[Group, tuple[Floats, Floats]]]:
        """One network, the group that is taken out last first: of each node the share (m, k) of its current that
        goes to each neighbour, and (m,) 1/S. Arguments as for `inverse`."""
        work = np.concatenate([conductances, np.zeros(self.nodes)])
        work[self.between:self.slots] += to_ground
        found = self._take_out(work)
        return list(zip(reversed(self._groups), reversed(found), strict=True))

    def solve(self, conductances: Floats, to_ground: Floats, injected: Floats) -> Floats:
        """Node voltages (n, h) of h networks.

        Args:
            conductances: (slots, h), S. What rounding leaves of those that were taken away again is left out.
            to_ground: (n,) further conductance of each node to node 0, S; above zero.
            injected: (n, h) currents, A.
        """
        work = np.empty((self.slots + self.nodes, injected.shape[1]))  # row by row, however those given lie in memory
        work[:self.slots], work[self.slots:] = np.where(conductances > _REMAINS_S, conductances, 0.0), injected
        work[self.between:self.slots] += to_ground[:, None]
        v = np.zeros((self.nodes, *work.shape[1:]))
        found = self._take_out(work)
        for group, (shares, own) in zip(reversed(self._groups), reversed(found), strict=True):
            its = work.take(self.slots + group.node, axis=0) * own
            v[group.node] = its + (shares * v.take(group.other, axis=0)).sum(axis=1)
        return v

    def inverse(self, conductances: Floats, to_ground: Floats) -> Floats:
        """Inverse (n, n) of the nodal matrix with node 0 held at 0 V: row and column 0 are zero.

        Args:
            conductances: (slots,), S.
            to_ground: (n,) further conductance of each node to node 0, S; above zero.
        """
        # Last out first in: what belongs to a node follows from rows already there.
        place = np.zeros(self.nodes, dtype=np.intp)
        z = np.zeros((self.nodes, self.nodes))
        done = 1
        for group, (shares, own) in self.taken_out(conductances, to_ground):
            end = done + len(group.node)
            place[group.node] = np.arange(done, end)
            others = place[group.other]
            rows = np.zeros((len(group.node), done))
            for k in range(others.shape[1]):
                rows += shares[:, k, None] * z[others[:, k], :done]
            z[done:end, :done] = rows
            z[:done, done:end] = rows.T
            block = np.einsum("ik,jik->ij", shares, rows[:, others])
            z[done:end, done:end] = block + np.diag(own)
            done = end
        return z[np.ix_(place, place)]


def _taken_out(near: list[set[int]]) -> list[list[tuple[int, list[int]]]]:
    """All nodes but node 0 with the neighbours that they had left, in ascending order, level by level: no node
    of a level is beside another. Uses `near` up."""
    levels = []
    left = set(range(1, len(near)))
    few = {i for i in left if len(near[i]) <= _FEW_NEIGHBOURS}
    while left:
        if not few:
            most = min(len(near[i]) for i in left)
            few = {i for i in left if len(near[i]) == most}
        level: list[tuple[int, list[int]]] = []
        beside: set[int] = set()
        for _, node in sorted([(len(near[i]), i) for i in few]):
            if node not in beside:
                beside |= near[node]
                level.append((node, sorted(near[node])))
        for node, others in level:
            for one in others:
                near[one].discard(node)
                near[one].update(others)
                near[one].discard(one)
        left.difference_update(node for node, _ in level)
        few = {i for i in (few | beside) & left if len(near[i]) <= _FEW_NEIGHBOURS}
        levels.append(level)
    return levels


def _alike(levels: list[list[tuple[int, list[int]]]]) -> list[tuple[Ints, Ints]]:
    """Nodes (m,) of a level that have as many neighbours (m, k), together."""
    out = list[tuple[Ints, Ints]]()
    for level in levels:
        by: dict[int, list[tuple[int, list[int]]]] = {}
        for node, others in level:
            by.setdefault(len(others), []).append((node, others))
        for some in by.values():
            nodes = np.array([n for n, _ in some], dtype=np.intp)
            out.append((nodes, np.array([others for _, others in some], dtype=np.intp).reshape(len(nodes), -1)))
    return out
