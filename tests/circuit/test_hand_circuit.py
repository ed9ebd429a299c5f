"""The worked rear-lamp circuit: every row of the table, confirmed by ngspice when it was made.

The circuit and its values are the project's own hand calculation (`hand_worked/lamp_circuit.md`),
with the filament law I = min(I0 (V/12)^0.55, V/Rcold), Rcold a twelfth of hot.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.circuits import circuit_of
from tracer.circuit.change_table import tabulate
from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Setup
from tracer.circuit.solver import Solver
from tracer.harness.devices import Conductor, Device, Filament, FilamentLaw, Source, SwitchContact
from tracer.harness.model import VehicleState

TABLE = Path(__file__).parents[1] / "hand_worked" / "lamp_circuit.md"
COLUMNS = ["R tail", "R stop", "R rev", "R ind", "L tail", "L stop", "L rev", "R front ind"]
FEEDS = ["side", "stop", "rev", "ind R", "ind L"]
STATES = {
    "reverse": ["rev"], "stop": ["stop"], "side lights": ["side"], "right indicator (lit phase)": ["ind R"],
    "side lights + stop": ["side", "stop"], "side lights + right indicator (lit phase)": ["side", "ind R"],
}


def law(watts: float) -> FilamentLaw:
    return FilamentLaw(watts / 12, 12.0, 0.55, 12.0, math.inf, watts)


def devices() -> Iterator[Device]:
    yield Source("battery", "B", "body", 12.4, 1e-6)
    for feed in FEEDS:
        yield SwitchContact(f"sw {feed}", "B", feed, feed, frozenset({"on"}), 0.05)

    def lamp(name: str, a: str, b: str, watts: float) -> Filament:
        return Filament(name, a, b, name, name, law(watts))

    for side in "RL":
        unit = f"{side} unit"
        for name, feed, watts in (("tail", "side", 5), ("stop", "stop", 21), ("rev", "rev", 21)):
            yield Conductor(f"{side} {name} feed", feed, f"{side} {name} +", 0.05)
            yield lamp(f"{side} {name}", f"{side} {name} +", unit, watts)
        yield Conductor(f"{side} ind feed", f"ind {side}", f"{side} ind +", 1e-4)
        yield lamp(f"{side} ind", f"{side} ind +", unit, 21)
        yield Conductor(f"{side} earth", unit, "body", 0.01)
        yield lamp(f"{side} front ind", f"ind {side}", "body", 21)
        yield lamp(f"{side} repeater", f"ind {side}", "body", 5)
        yield Conductor(f"{side} front side feed", "side", f"{side} fs +", 0.05)
        yield lamp(f"{side} front side", f"{side} fs +", "body", 5)
        yield lamp(f"{side} plate", "side", "body", 5)
        yield lamp(f"{side} panel 1", "side", "body", 2.2)
        yield lamp(f"{side} panel 2", "side", "body", 2.2)
    yield lamp("tell-tale", "ind R", "ind L", 2.2)


CROSSED = Change(
    set_ohm=(("R rev feed", OPEN_OHM), ("R ind feed", OPEN_OHM)),
    added=(AddedBranch("rev", "R ind +", 0.05), AddedBranch("ind R", "R rev +", 1e-4)),
)
FAULTS = {
    "healthy": Change(),
    "earth of right rear unit open": Change(set_ohm=(("R earth", OPEN_OHM),)),
    "the same earth 10 Ω": Change(set_ohm=(("R earth", 10.0),)),
    "the same earth 2 Ω": Change(set_ohm=(("R earth", 2.0),)),
    "right tail/stop filaments bridged, 0.2 Ω": Change(added=(AddedBranch("R tail +", "R stop +", 0.2),)),
    "indicator and reversing ways crossed at right rear": CROSSED,
}


def rows() -> Iterator[tuple[str, str, list[float]]]:
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        cells = [c.strip() for c in line.strip("|").split("|")]
        if len(cells) == 10 and re.fullmatch(r"[\d.]+", cells[2]):
            yield cells[0], cells[1], [float(c) for c in cells[2:]]


CIRCUIT = circuit_of(list(devices()), {f: ["off", "on"] for f in FEEDS})
SOLVER = Solver(CIRCUIT)


def test_the_table_is_whole() -> None:
    """Six states under each of six conditions."""
    assert len(list(rows())) == 36


@pytest.mark.parametrize(("fault", "state", "expected"), list(rows()))
def test_every_row(fault: str, state: str, expected: list[float]) -> None:
    """Each lamp voltage within 0.05 V of the worked table (the table is given to 0.01 V)."""
    positions = tuple((f, "on" if f in STATES[state] else "off") for f in FEEDS)
    solution = SOLVER.solve(Setup(VehicleState(positions)), tabulate(CIRCUIT, [FAULTS[fault]]))
    found = [abs(float(solution.port_v[0, CIRCUIT.port_index[c]])) for c in COLUMNS]

    assert solution.converged.all()
    assert solution.residual_a.max() < 1e-6
    assert np.abs(np.array(found) - expected).max() < 0.05, dict(zip(COLUMNS, found, strict=True))
