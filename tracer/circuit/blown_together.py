"""Rows in which the same fuse has blown, solved from the network in which it is blown.

Behind a fuse that blows everything goes out. From the network in which it is whole each row would have to bring every
lamp there to rest anew, the same ones in the same way; a network without the fuse has them at rest already.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import OPEN_OHM, Circuit, Ints, Setup, distinct
from tracer.circuit.port_newton import MOST_STRONG
from tracer.circuit.shared_networks import Asked, SharingSolver
from tracer.circuit.solution import Solution

_WORTH_A_NETWORK, _FEW = 100, 8  # rows; few where hundreds of lamps go out, which no tangent leads to


def solved(solver: SharingSolver, fuses: Sequence[str], asked: Sequence[Asked]) -> list[Solution]:
    """What `solver.solve_several` finds, rows in which one of the `fuses` is blown with a network of their own where
    there are many of them."""
    parts, places = list[Asked](), list[tuple[int, Ints]]()
    for k, one in enumerate(asked):
        for name, rows in _parts(solver.circuit, fuses, one):
            whole = len(rows) == len(one.table)
            setup = one.setup if name is None else _without(one.setup, name)
            parts.append(replace(one, setup=setup, table=one.table if whole else one.table.rows(rows)))
            places.append((k, rows))
    found = solver.solve_several(parts)
    if len(parts) == len(asked):
        return found
    out = [_empty(solver.circuit, found, one, k, places) for k, one in enumerate(asked)]
    for (k, rows), part in zip(places, found, strict=True):
        out[k].put(rows, part)
    return out


def _parts(circuit: Circuit, fuses: Sequence[str], one: Asked) -> list[tuple[str | None, Ints]]:
    """The rows that go together, and the fuse that is blown in them."""
    left = np.ones(len(one.table), dtype=bool)
    parts: list[tuple[str | None, Ints]] = []
    least = _FEW if len(circuit.ports) > MOST_STRONG * max(len(fuses), 1) else _WORTH_A_NETWORK
    if len(left) >= least and one.table.branch.shape[1]:
        row, branch = _opened(one.table)
        for name in fuses:
            gone = row[branch == circuit.branch_index[name]]
            gone = distinct(gone[left[gone]])
            if len(gone) >= least:
                parts.append((name, gone))
                left[gone] = False
    return [*parts, (None, np.flatnonzero(left))] if left.any() or not parts else parts


def _opened(table: ChangeTable) -> tuple[Ints, Ints]:
    """The rows in which a branch is open, and which it is: looked for once for all fuses."""
    row, branch, target_s = table.set_branches
    opened = target_s == 0
    return row[opened], branch[opened]


def _without(setup: Setup, fuse: str) -> Setup:
    others = tuple(x for x in setup.done.set_ohm if x[0] != fuse)
    return replace(setup, done=replace(setup.done, set_ohm=(*others, (fuse, OPEN_OHM))))


def _empty(
    circuit: Circuit, found: Sequence[Solution], one: Asked, k: int, places: Sequence[tuple[int, Ints]]
) -> Solution:
    like = next(part for part, (owner, _) in zip(found, places, strict=True) if owner == k)
    return Solution.empty(len(one.table), len(circuit.nodes), like.port_v.shape[1], like.watched_v.shape[1])
