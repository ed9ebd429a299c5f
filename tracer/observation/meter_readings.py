"""What instruments show to many hypotheses at once, where the set-ups of tests are solved together."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from tracer.circuit.change_table import ChangeTable, tabulate
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import (
    NO_CHANGE,
    OHMMETER_LEADS_OHM,
    OHMMETER_OHM,
    OHMMETER_V,
    Bools,
    Change,
    Circuit,
    Floats,
    Ints,
    Setup,
)
from tracer.circuit.settled import Settled
from tracer.harness.model import VehicleState
from tracer.observation.evidence import Test
from tracer.observation.wire_current import wire_current

_FEW_ROWS = 15  # are solved sooner than it is found which of them need not be
# An ohmmeter that drives a milliampere through nothing reads a megohm within a thousandth for this, A.
_UNREAD_A = 1e-9

Asked = tuple[Test, Setup, ChangeTable]


def asked_of(
    tests: Sequence[Test], changes: Sequence[Change], circuit: Circuit,
    setup: Callable[[VehicleState, Change], Setup], table: Callable[[Sequence[Change], Change], ChangeTable],
) -> list[Asked]:
    """Tests with their set-ups and what is changed in each, made by `setup` and `table`."""
    usual, asked = table(changes, NO_CHANGE), list[Asked]()
    for test in tests:
        done = test.change(circuit)
        its = table(changes, done) if done.remakes else usual
        asked.append((test, setup(test.state, done), its))
    return asked


def read(settler: Settler, asked: Sequence[Asked]) -> list[tuple[Floats, Bools]]:
    """What the instrument of each test shows, (H,) each, as `Predictor.observed` has it, and whether the current of
    an ohmmeter flows through a flasher unit."""
    return read_beside(settler, asked, ())[0]


def read_beside(
    settler: Settler, asked: Sequence[Asked], others: Sequence[tuple[Setup, ChangeTable]]
) -> tuple[list[tuple[Floats, Bools]], list[Settled]]:
    """The same, and other set-ups that are settled together with those of the tests: relays move and fuses blow in
    as many passes."""
    rows = _stirred(settler, asked)
    parts = [(t, s, x if some is None else x.rows(some)) for (t, s, x), some in zip(asked, rows, strict=True)]
    every = settler.solve_several([*((setup, part) for _, setup, part in parts), *others])
    solved, settled_others = every[:len(parts)], every[len(parts):]
    sound, out = tabulate(settler.circuit, [NO_CHANGE]), []
    for (test, setup, part), settled, some, (*_, table) in zip(parts, solved, rows, asked, strict=True):
        shown = _shown(settler.circuit, test, settled, setup, part)
        flows = _through_flasher(settler.circuit, test, settled, part)
        if some is not None:
            healthy = settler.healthy(setup)
            whole = np.repeat(_shown(settler.circuit, test, healthy, setup, sound), len(table))
            through = np.repeat(_through_flasher(settler.circuit, test, healthy, sound), len(table))
            whole[some], through[some] = shown, flows
            shown, flows = whole, through
        out.append((shown, flows))
    return out, settled_others


def _through_flasher(circuit: Circuit, test: Test, settled: Settled, table: ChangeTable) -> Bools:
    """(H,) whether the current of an ohmmeter flows through a flasher unit's contact."""
    out = np.zeros(len(table), dtype=bool)
    for i in circuit.flasher_contacts if test.row.model == "resistance" else ():
        g = np.full(len(table), circuit.closed_s[i])
        row, column = np.nonzero(table.branch == i)
        g[row] = table.target_s[row, column]
        out |= np.abs(settled.solution.watched_v[:, circuit.watch_index[circuit.linear[i].name]]) * g > _UNREAD_A
    return out


def _stirred(settler: Settler, asked: Sequence[Asked]) -> list[Ints | None]:
    """For each test the rows in which its instrument may show anything else than on the healthy vehicle; none where
    all are to be solved. An ohmmeter's reading goes by the current that it drives: where none flows through what a
    row changes, both of its ends stay where they are."""
    ohms = [test.row.model == "resistance" and len(table) > _FEW_ROWS for test, _, table in asked]
    settler.know(setup for (_, setup, _), use in zip(asked, ohms, strict=True) if use)
    return [
        np.flatnonzero(settler.disturbed(setup, table, _UNREAD_A)) if use else None
        for (_, setup, table), use in zip(asked, ohms, strict=True)
    ]


def _shown(circuit: Circuit, test: Test, settled: Settled, setup: Setup, table: ChangeTable) -> Floats:
    """What the instrument shows where a test's set-up is solved."""
    model = test.row.model
    if model == "light across":
        assert setup.done.lamps, f"a test of kind “{test.kind}” connects no lamp: its row says so in `change`"
        v = settled.solution.port_v[:, -1:]
        return PortLaws([setup.done.lamps[0].law]).log_light(v)[:, 0]
    plus, minus = circuit.node(test.plus), circuit.node(test.minus)
    volts = settled.solution.volts_at(np.array([plus, minus]))
    across: Floats = volts[:, 0] - volts[:, 1]
    if model == "resistance":
        left = np.maximum(OHMMETER_V - across, 1e-9)
        ohm = across / (left / OHMMETER_OHM)
        return np.asarray(np.where(ohm > 5e6, np.inf, ohm + OHMMETER_LEADS_OHM))
    if model == "wire current":
        flow = np.abs(wire_current(circuit, plus, minus, settled, table, setup.done))
        return np.where(settled.usable, flow, np.nan)
    return np.where(settled.usable, across, np.nan)
