"""Newton's method on all nodes of many rows at once: slow, but it shares no shortcut with the faster ways."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tracer.circuit.elimination import Order
from tracer.circuit.model import OHMMETER_OHM, OHMMETER_V, Bools, Floats
from tracer.circuit.network import LEAK_S, Network, Rows

LAST_STEP_V = 1e-6
_MOST_STEPS = 200
_FEW_STEPS = 14
_CYCLE = 12
_SECANTS = 4  # first steps of a cycle: they cannot diverge on a filament
_ENTRIES_AT_ONCE = 400_000


class Part(Struct, frozen=True):
    """Rows of one network, and (h, n) solutions to be made more exact, in few steps; none where they are to be solved
    from nothing."""

    network: Network
    rows: Rows
    start: Floats | None = None

    def some(self, chosen: slice) -> Part:
        return Part(self.network, self.rows.rows(chosen), None if self.start is None else self.start[chosen])


def solve_all_nodes(network: Network, order: Order, rows: Rows, start: Floats | None = None) -> tuple[Floats, Bools]:
    """Node voltages (h, n), and whether they were found (h,); `order`: one that has a place for every change."""
    return solve_together(order, [Part(network, rows, start)])[0]


def solve_together(order: Order, parts: Sequence[Part]) -> list[tuple[Floats, Bools]]:
    """The same for rows of several networks with the same ports, all with solutions to begin from or all without.
    Each row goes its own way: whatever is solved with it, it comes out the same digit for digit."""
    n = len(parts[0].network.injected)
    out = [
        (np.zeros((len(p.rows), n)) if p.start is None else p.start.copy(), np.zeros(len(p.rows), dtype=bool))
        for p in parts
    ]
    at_once = max(_ENTRIES_AT_ONCE // (order.slots + n), 1)
    waiting: list[tuple[int, slice]] = []
    room = at_once
    for k, part in enumerate(parts):
        for first in range(0, len(part.rows), at_once):
            some = slice(first, min(first + at_once, len(part.rows)))
            if some.stop - first > room:
                _fill(order, parts, waiting, out)
                waiting, room = [], at_once
            waiting.append((k, some))
            room -= some.stop - first
    _fill(order, parts, waiting, out)
    return out


def _fill(
    order: Order, parts: Sequence[Part], pieces: Sequence[tuple[int, slice]], out: Sequence[tuple[Floats, Bools]]
) -> None:
    """Solve pieces of parts together and put what was found where it belongs."""
    if not pieces:
        return
    volts = np.concatenate([out[k][0][some] for k, some in pieces])
    done = _solve(order, [parts[k].some(some) for k, some in pieces], volts)
    first = 0
    for k, some in pieces:
        end = first + some.stop - some.start
        out[k][0][some], out[k][1][some] = volts[first:end], done[first:end]
        first = end


def _linear(order: Order, part: Part) -> tuple[Floats, Floats]:
    """Conductances (slots, h) and injected currents (n, h) of rows without what their ports do."""
    network, rows = part.network, part.rows
    fixed = np.repeat(order.added_up(network.branches)[:, None], len(rows), axis=1)
    np.add.at(fixed, (order.slot(rows.a, rows.b), np.arange(len(rows))[:, None]), rows.d)
    # The changes take the conductance of dead ports away, so it must be there.
    np.add.at(fixed, order.slot(network.pa, network.pb), (network.base_s - rows.base_s).T)
    injected = np.outer(network.injected, rows.emf) + network.meter[:, None]
    at, into, out_of = rows.driven()
    injected[into, at] += OHMMETER_V / OHMMETER_OHM
    injected[out_of, at] -= OHMMETER_V / OHMMETER_OHM
    return fixed, injected


def _solve(order: Order, parts: Sequence[Part], volts: Floats) -> Bools:
    """Solve rows from `volts` (h, n) in place; whether each was found."""
    network, nearly = parts[0].network, parts[0].start is not None
    laws, pa, pb = network.laws, network.pa, network.pb
    ground = np.full(volts.shape[1], LEAK_S)
    linear = [_linear(order, part) for part in parts]
    fixed, injected = (np.concatenate(x, axis=1) for x in zip(*linear, strict=True))
    on, ports = np.concatenate([part.rows.on for part in parts]), order.slot(pa, pb)
    done = np.zeros(len(volts), dtype=bool)
    live = np.arange(len(volts))
    at = volts[:, pa] - volts[:, pb]  # of the ports, where their tangents are taken
    for step in [_SECANTS] * _FEW_STEPS if nearly else range(_MOST_STEPS):
        old, its = volts[live], on[live]
        v = at[live]
        i, slope = laws.current_and_slope(v)
        g = laws.secant(v, i, slope) if step % _CYCLE < _SECANTS else slope
        conductances, into = fixed[:, live], injected[:, live]
        np.add.at(conductances, ports, (g * its).T)
        rest = ((i - g * v) * its).T
        np.add.at(into, pa, -rest)
        np.add.at(into, pb, rest)
        change = np.clip(order.solve(conductances, ground, into).T - old, -5.0, 5.0)
        new = volts[live] = old + change
        at[live] = laws.reached(v, new[:, pa] - new[:, pb])
        if step % _CYCLE < _SECANTS:
            continue
        settled = np.maximum(np.abs(change).max(axis=1), np.abs(at[live] - v).max(axis=1, initial=0.0)) < LAST_STEP_V
        done[live[settled]] = True
        live = live[~settled]
        if not len(live):
            break
    return done
