"""A lamp of other watts than its holder is for shines by its power (own calculation: all filaments alike)."""

from __future__ import annotations

import math

import pytest

from tests.library import MODELS, tool_on
from tracer.faults import find_fault

TOOL = tool_on(MODELS / "rear_end.yaml")


@pytest.mark.parametrize(("fault", "lamp", "watts", "own"), [
    ("wrong lamp: left rear indicator", "left rear indicator", 5, 21),
    ("wrong lamp: number-plate lamp", "number-plate lamp", 21, 5),  # C5W
    ("wrong lamp: number-plate lamp", "number-plate lamp", 10, 5),
])
def test_a_lamp_of_more_watts_is_brighter_and_one_of_fewer_dimmer(
    fault: str, lamp: str, watts: int, own: int
) -> None:
    predictor, found = TOOL.predictor, find_fault(TOOL.faults, fault)
    other = next(v for v in found.variants if v.says == f"a {watts} W lamp")
    state = TOOL.harness.state({"lamp switch": "side", "indicator stalk": "left"})
    panel = predictor.panel(predictor.setup(state), predictor.table([other.change]))
    at = predictor.lamp_index[lamp]
    gained = float(panel.flux[0, at] - predictor.healthy(state).flux[0, at])
    assert gained == pytest.approx(math.log10(watts / own), abs=0.1)  # a holder for 5 W loses a little to 21 W
