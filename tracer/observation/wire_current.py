"""What a clamp shows round a wire, under each hypothesis."""

from __future__ import annotations

import numpy as np

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import Change, Circuit, Floats, conductance_of
from tracer.circuit.settled import Settled
from tracer.harness.devices import Conductor


def wire_current(
    circuit: Circuit, plus: int, minus: int, settled: Settled, table: ChangeTable, done: Change
) -> Floats:
    """Current (H,) in the wire between two nodes, as each row has it. Where a row has put one end of the wire
    on another terminal, the clamp goes with the wire."""
    ends_a, ends_b = circuit.branch_ends
    ends = settled.solution.volts_at(np.array([plus, minus]))
    total = np.zeros(len(table))
    for i, d in enumerate(circuit.linear):
        if not isinstance(d, Conductor) or {int(ends_a[i]), int(ends_b[i])} != {plus, minus}:
            continue
        healthy_s = circuit.closed_s[i]
        g = np.full(len(table), healthy_s)
        for name, ohm in done.set_ohm:
            g[:] = conductance_of(ohm) if name == d.name else g
        row, column = np.nonzero(table.branch == i)
        g[row] = table.target_s[row, column]
        total += g * (ends[:, 0] - ends[:, 1])
        moved = (table.branch == -1) & np.isclose(table.target_s, healthy_s, rtol=1e-9) & (g == 0)[:, None]
        for row, column in zip(*np.nonzero(moved), strict=True):
            a, b = int(table.a[row, column]), int(table.b[row, column])
            if len({a, b} & {plus, minus}) == 1:
                v = settled.solution.volts[row]
                total[row] += healthy_s * ((v[a] - v[b]) if plus == a or minus == b else (v[b] - v[a]))
    return total
