"""A lamp that burns now more and now less without ever going dark: it shares a bad earth with an indicator."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tracer.faults import find_fault
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.pulsing_lamps import pulsing
from tracer.observation.words.symptoms import parse_symptom


@pytest.fixture(scope="module")
def own() -> Investigator:
    return tool_on(MODELS / "pickup.yaml")


def test_it_is_called_by_its_bright_and_by_its_dim_phase_alike(own: Investigator) -> None:
    """The earth of a front unit is bad: the side lamp is as ever while the indicator is dark, and loses half its
    light and more (Ohm) while that draws 1.6 A through the same joint. Whoever is sent to look calls it dim as often
    as normal (judgement), or says that it flashes; what burns steadily is called by what it is."""
    earth = find_fault(own.faults, "eyelet bad: E1 from C4.6")
    state = own.harness.state({"lamp switch": "side", "indicator stalk": "left", "ignition": "on"})
    lamp = "left front side"
    rows = [Hypothesis((earth,), (earth.at(ohm),), 1.0) for ohm in (0.35, 2.0, 4.0)]
    table = own.predictor.table([h.change for h in rows])
    panel = own.predictor.looks([(own.predictor.setup(state), table)])[0]
    at, healthy = own.predictor.lamp_index[lamp], own.predictor.healthy(state)
    pulses = pulsing(panel, at, healthy)

    def called(word: str) -> np.ndarray:
        said = parse_symptom(f"{lamp} {word} when lamp switch side, indicator stalk left, ignition on", own.harness)
        return np.exp(own.loglik_of(rows, replace(said, asked=True)))

    normal, dim = called("normal"), called("dim")
    assert pulses.tolist() == [False, True, True]
    assert np.all(np.abs(normal - dim)[pulses] < 0.1) and np.all((normal + dim)[pulses] > 0.9)
    assert normal[0] > 0.9
    assert np.all(called("flashing")[pulses] > 0.5)
    assert not pulsing(panel, own.predictor.lamp_index["left front indicator"], healthy).any(), "it is to flash"
