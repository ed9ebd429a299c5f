"""Severities are a continuum: any of them can be asked for, and the grid is a sample of it."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from tracer.circuit.model import AddedBranch, Change
from tracer.errors import TracerError
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.observation.forward_model import Predictor

PICKUP = load_harness(Path(__file__).parents[2] / "harness_models" / "pickup.yaml")
FAULTS = list_faults(PICKUP)
# Thousands of places on a vehicle: two points of each are simulated from the start, any other is asked for.
FEW = {"wire to body", "wires joined", "added joint", "holder shorted"}


def test_the_grid_is_a_sample_of_the_scale() -> None:
    scaled = [f for f in FAULTS if f.scale is not None]

    assert len(scaled) > 300
    for f in scaled:
        assert f.scale is not None
        for v in f.variants:
            assert v.severity is not None
            assert f.scale.low <= v.severity <= f.scale.high
            assert f.at(v.severity).change == v.change


def test_no_severity_lies_further_than_a_decade_from_its_neighbour() -> None:
    """Resistances of joints and leaks, but for those of which there are very many, and for the last step of a joint
    (200 Ω to 3 kΩ: a meter reads both as nearly open under a lamp's load, and no lamp shows a difference)."""
    for f in FAULTS:
        if f.scale is not None and f.scale.unit == "Ω" and f.kind != "battery terminal bad":
            points = [v.severity for v in f.variants if v.severity is not None]
            steps = [b / a for a, b in pairwise(points)]
            if f.kind in FEW:
                assert max(steps) <= 40.01
                continue
            assert len(points) >= 3
            assert max(steps[:-1] if points[-1] == 3000 else steps) <= 10.01, f.name


@pytest.mark.parametrize("ohm", [1.3, 1.6, 5.9])
def test_a_leak_of_any_size_between_two_ways(ohm: float) -> None:
    """Ways 1 (tail) and 2 (stop) of C2: the stop feed drives all ten lamps of the side-light circuit through the
    leak, and nothing else hangs there: what they carry together is the volts between the two feeds over the leak's
    ohms."""
    wet = find_fault(FAULTS, "ways joined: C2 ways 1 and 2")
    found = wet.at(ohm)
    (path,) = found.change.added
    assert path == AddedBranch("C2.1", "C2.2", ohm, "C2")
    p = Predictor(PICKUP)
    setup = p.setup(PICKUP.state({"brake pedal": "pressed"}))
    settled = p.settler.solve(setup, p.table([found.change]))
    volts = settled.solution.volts[0]
    across = volts[p.circuit.node("C2.2")] - volts[p.circuit.node("C2.1")]
    fed = {"tail", "side", "plate", "panel"}
    lamps = [f for f in p.circuit.ports if any(w in f.name for w in fed) and "tell-tale" not in f.name]
    carried = sum(abs(float(settled.solution.port_i[0, p.circuit.port_index[f.name]])) for f in lamps)

    assert len(lamps) == 10
    assert across / ohm == pytest.approx(carried, rel=0.01)


def test_a_wrong_lamp_of_any_watts_and_a_battery_of_any_charge() -> None:
    assert find_fault(FAULTS, "wrong lamp: left rear indicator").at(10.0).says == "a 10 W lamp"
    low = find_fault(FAULTS, "battery low: battery").at(0.9)
    assert (low.change.emf_factor, low.says) == (0.9, "at 90% of its voltage")


def test_a_battery_that_gives_way_shows_it_under_load_alone() -> None:
    """0.92 of its 12.6 V and 0.06 Ω more inside it: what its leads carry away is what is missing at its poles, over
    its own resistance and the 0.06 Ω. With everything off nothing is missing; with the battery off nothing is
    there."""
    weak = find_fault(FAULTS, "battery low: battery, 0.06 Ω inside").at(0.92).change
    p = Predictor(PICKUP)
    source, nodes = p.circuit.sources[0], p.circuit.nodes
    plus, minus = (p.circuit.node(x) for x in (source.plus, source.minus))
    leads = [d for w in PICKUP.wires for d in w.segments if source.plus in (d.a, d.b)]
    missing = []
    for state in (PICKUP.at_rest(), PICKUP.state({"lamp switch": "head", "gear": "reverse"})):
        volts = p.settler.solve(p.setup(state), p.table([weak])).solution.volts[0]
        at = dict(zip(nodes, volts.tolist(), strict=True))
        away = sum(abs(at[d.a] - at[d.b]) / d.ohm for d in leads)
        missing.append(0.92 * source.volts - float(volts[plus] - volts[minus]))
        assert missing[-1] == pytest.approx(away * (source.ohm + 0.06), rel=1e-3, abs=1e-4)
    assert missing[0] < 0.05 and missing[1] > 0.5
    off = p.setup(PICKUP.at_rest(), Change(disconnected=True))
    assert abs(p.settler.solve(off, p.table([weak])).solution.volts[0]).max() < 1e-6


def test_what_has_no_degrees_says_so() -> None:
    with pytest.raises(TracerError, match="knows no degrees"):
        find_fault(FAULTS, "filament open: left rear tail").at(1.0)
    with pytest.raises(TracerError, match="cannot be"):
        find_fault(FAULTS, "way bad: C2 way 1").at(-1.0)
    with pytest.raises(TracerError, match="cannot be"):
        find_fault(FAULTS, "way bad: C2 way 1").at(math.nan)
