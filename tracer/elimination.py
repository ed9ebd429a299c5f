"""The inverse of a resistor network's nodal matrix, by taking its nodes out one by one.

A wiring harness is nearly a tree, so that nodes taken out in order of fewest neighbours leave hardly any
new branches behind (star–mesh transformation). Only sums, products and quotients of positive conductances
occur, nothing is ever subtracted: small conductances beside large ones keep all their digits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

import numpy as np

from tracer.circuit import Floats, Ints

_REMAINS_S = 1e-12

Neighbours = list[dict[int, float]]


def neighbours(nodes: int, branches: Iterable[tuple[Ints, Ints, Floats]]) -> Neighbours:
    """Conductance from every node to each of its neighbours; parallel branches are added up."""
    found: Neighbours = [{} for _ in range(nodes)]
    for ends_a, ends_b, conductances in branches:
        for a, b, g in zip(ends_a.tolist(), ends_b.tolist(), conductances.tolist(), strict=True):
            if a != b and g:
                found[a][b] = found[a].get(b, 0.0) + g
                found[b][a] = found[b].get(a, 0.0) + g
    return found


def without_remains(near: Neighbours) -> Neighbours:
    """The network less what rounding leaves of conductances that were taken away again."""
    return [{node: g for node, g in mine.items() if g > _REMAINS_S} for mine in near]


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


@dataclass(frozen=True)
class _Taken:
    """A node taken out: what its neighbours then took over of its current, and 1/Ω it had."""

    node: int
    others: list[int]
    shares: list[float]
    own: float


def _take_out(near: Neighbours, to_ground: Floats) -> list[_Taken]:
    """All nodes but node 0 in order of fewest neighbours; uses `near` up."""
    n = len(near)
    ground = to_ground.tolist()
    for node, g in near[0].items():
        ground[node] += g
        del near[node][0]
    near[0] = {}
    waiting = [(len(near[i]), i) for i in range(1, n)]
    heapify(waiting)
    gone = [False] * n
    taken: list[_Taken] = []
    while waiting:
        degree, node = heappop(waiting)
        mine = near[node]
        if gone[node] or degree != len(mine):
            continue
        gone[node] = True
        total = ground[node] + sum(mine.values())
        others = list(mine)
        shares = [g / total for g in mine.values()]
        for other in others:
            del near[other][node]
        for k, one in enumerate(others):
            g = mine[one]
            ground[one] += shares[k] * ground[node]
            theirs = near[one]
            for two, share in zip(others[k + 1:], shares[k + 1:], strict=True):
                joined = theirs.get(two, 0.0) + g * share
                theirs[two] = joined
                near[two][one] = joined
        for other in others:
            heappush(waiting, (len(near[other]), other))
        taken.append(_Taken(node, others, shares, 1 / total))
    return taken


def solved(near: Neighbours, to_ground: Floats, injected: Floats) -> Floats:
    """Node voltages (n,) of a network into whose nodes currents are injected, A; uses `near` up."""
    taken = _take_out(near, to_ground)
    current, v = injected.tolist(), [0.0] * len(near)
    for t in taken:
        for other, share in zip(t.others, t.shares, strict=True):
            current[other] += share * current[t.node]
    for t in reversed(taken):
        v[t.node] = current[t.node] * t.own + sum(s * v[o] for o, s in zip(t.others, t.shares, strict=True))
    return np.array(v)


def inverse(near: Neighbours, to_ground: Floats) -> Floats:
    """Inverse (n, n) of the nodal matrix with node 0 held at 0 V: row and column 0 are zero.

    Args:
        near: Conductances between nodes, S; used up.
        to_ground: (n,) further conductance of each node to node 0, S; above zero.
    """
    n = len(near)
    # Last out first in: row t of the result follows from rows already there.
    place = np.zeros(n, dtype=np.intp)
    z = np.zeros((n, n))
    for k, taken in enumerate(reversed(_take_out(near, to_ground)), 1):
        place[taken.node] = k
        own = taken.own
        if taken.others:
            rows = place[taken.others].tolist()
            row = z[rows[0], :k] * taken.shares[0]
            for r, share in zip(rows[1:], taken.shares[1:], strict=True):
                row += share * z[r, :k]
            z[k, :k] = row
            z[:k, k] = row
            own += sum(share * float(row[r]) for r, share in zip(rows, taken.shares, strict=True))
        z[k, k] = own
    return z.take(place, axis=0).take(place, axis=1)
