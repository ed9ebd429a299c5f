"""Newton's method on all nodes of many rows at once: slow, but it shares no shortcut with the faster ways."""

from __future__ import annotations

import numpy as np

from tracer.circuit.elimination import Order
from tracer.circuit.model import Bools, Floats
from tracer.circuit.network import LEAK_S, Network, Rows

LAST_STEP_V = 1e-6
_MOST_STEPS = 200
_FEW_STEPS = 14
_CYCLE = 12
_SECANTS = 4  # first steps of a cycle: they cannot diverge on a filament
_ENTRIES_AT_ONCE = 2_000_000


def solve_all_nodes(
    network: Network, order: Order, rows: Rows, start: Floats | None = None
) -> tuple[Floats, Bools]:
    """Node voltages (h, n), and whether they were found (h,).

    Args:
        order: One that has a place for every change.
        start: (h, n) a solution to be made more exact, in few steps.
    """
    n = len(network.injected)
    volts = np.zeros((len(rows), n)) if start is None else start.copy()
    done = np.zeros(len(rows), dtype=bool)
    at_once = max(_ENTRIES_AT_ONCE // (order.slots + n), 1)
    for first in range(0, len(rows), at_once):
        some = slice(first, first + at_once)
        done[some] = _solve(network, order, rows.rows(some), volts[some], start is not None)
    return volts, done


def _solve(network: Network, order: Order, rows: Rows, volts: Floats, nearly: bool) -> Bools:
    """Solve rows from `volts` (h, n) in place; whether each was found."""
    laws, pa, pb = network.laws, network.pa, network.pb
    ground = np.full(volts.shape[1], LEAK_S)
    fixed = np.repeat(order.added_up(network.branches)[:, None], len(rows), axis=1)
    np.add.at(fixed, (order.slot(rows.a, rows.b), np.arange(len(rows))[:, None]), rows.d)
    # The changes take the conductance of dead ports away, so it must be there.
    ports = order.slot(pa, pb)
    np.add.at(fixed, ports, (network.base_s - rows.base_s).T)
    injected = np.outer(network.injected, rows.emf) + network.meter[:, None]
    done = np.zeros(len(rows), dtype=bool)
    live = np.arange(len(rows))
    at = volts[:, pa] - volts[:, pb]  # of the ports, where their tangents are taken
    for step in [_SECANTS] * _FEW_STEPS if nearly else range(_MOST_STEPS):
        old, its = volts[live], rows.on[live]
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
