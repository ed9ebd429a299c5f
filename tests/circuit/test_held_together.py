"""What a part of a network lacks as a whole, and the rows of a vehicle with LED lamps that are looked at for it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.dense import Dense
from tracer.circuit.change_table import tabulate
from tracer.circuit.held_together import HeldTogether
from tracer.circuit.model import Setup, build_circuit
from tracer.circuit.solver import Solver
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness

MODELS = Path(__file__).parents[2] / "harness_models"
# Earth 0, and beside it a line 1 – 2 – 3 of joints of a milliohm that only a leak of a megohm holds; 4 is alone.
LINE = [(np.array([1, 2, 0]), np.array([2, 3, 1]), np.array([1000.0, 1000.0, 1e-6]))]
NOTHING = np.zeros((1, 0)), np.zeros((1, 0), dtype=np.intp), np.zeros((1, 0), dtype=np.intp)


def row(*changes: tuple[float, int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    d, a, b = (np.array([x]) for x in zip(*changes, strict=True))
    return d.astype(float), a, b


def net(*amps: float) -> np.ndarray:
    return np.array([amps]).T


@pytest.mark.parametrize(("amps", "changes", "lacks"), [
    ((0, 1e-8, -1e-8, 0, 0), NOTHING, 0.0),  # rounding across a joint
    ((0, 1e-8, -4e-9, 0, 0), NOTHING, 6e-9),
    ((0, 0, 0, 0, 3e-9), NOTHING, 3e-9),
    ((0, 1e-8, -1e-8, 0, 0), row((-1000.0, 1, 2)), 1e-8),  # the joint is open: neither side makes up for the other
    ((0, 1e-8, -3e-9, -7e-9, 0), row((-1000.0, 2, 1)), 1e-8),
    ((0, 1e-8, -1e-8, 0, 0), row((-1000.0, 2, 3)), 0.0),
])
def test_a_part_lacks_what_it_lacks_as_a_whole(
    amps: tuple[float, ...], changes: tuple[np.ndarray, np.ndarray, np.ndarray], lacks: float
) -> None:
    """By hand, from what flows out of each node."""
    found = HeldTogether(5, LINE).lacking(net(*amps), *changes)
    assert found == pytest.approx([lacks], abs=1e-15)


@pytest.mark.parametrize(("changes", "port_s", "lacks"), [
    (row((-1000.0, 1, 2), (0.0, 0, 0)), 0.0, 1e-8),
    (row((-1000.0, 1, 2), (10.0, 1, 3)), 0.0, 0.0),  # another path joins both sides again
    (row((-1000.0, 1, 2), (10.0, 4, 3)), 0.0, 1e-8),
    (row((-1000.0, 1, 2), (10.0, 0, 3)), 0.0, 1e-8),  # one side is earthed, the other is not
    (row((-1000.0, 1, 2), (0.0, 0, 0)), 0.1, 0.0),  # a lamp between both
])
def test_what_a_row_adds_and_lamps_hold_parts_together(
    changes: tuple[np.ndarray, np.ndarray, np.ndarray], port_s: float, lacks: float
) -> None:
    """The joint 1 – 2 open, a lamp from 1 to 3."""
    port = np.array([1]), np.array([3])
    found = HeldTogether(5, LINE).joined_lacking(
        net(0, 1e-8, -1e-8, 0, 0), *changes, port, np.array([[port_s]]))
    assert found == pytest.approx([lacks], abs=1e-15)


@pytest.mark.parametrize("positions", [{}, {"lamp switch": "side"}], ids=["as assumed", "side"])
def test_lines_that_hang_on_leaks_come_out_as_by_plain_equations(positions: dict[str, str]) -> None:
    """Every ninth variant of a fault of the saloon with LED lamps, no fuse blowing, to 0.4 mV: what the leak of an
    LED makes of the current that a row may lack."""
    harness = load_harness(MODELS / "saloon_led.yaml")
    circuit, setup = build_circuit(harness), Setup(harness.state(positions))
    faults = [(f.name, v.change) for f in list_faults(harness) for v in f.variants][::9]
    solution = Solver(circuit).solve(setup, tabulate(circuit, [c for _, c in faults]))
    assert len(faults) > 100 and solution.converged.all()
    off = {name: float(np.abs(Dense(circuit, setup, change).solve(solution.volts[k]) - solution.volts[k]).max())
           for k, (name, change) in enumerate(faults)}
    assert {name: volts for name, volts in off.items() if volts > 4e-4} == {}
