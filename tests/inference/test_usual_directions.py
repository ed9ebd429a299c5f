"""What a back-feed is: a device that carries current the other way than on the sound vehicle."""

from __future__ import annotations

import pytest

from tests.library import MODELS, tool_on
from tracer.circuit.model import NO_CHANGE
from tracer.faults import find_fault
from tracer.inference.current_paths import flow
from tracer.inference.hypotheses import basic_states
from tracer.inference.usual_directions import usual_of

REAR_END = tool_on(MODELS / "rear_end.yaml")


@pytest.mark.parametrize("model", ["rear_end", "trailer_7pin", "motorcycle_6v"])
def test_on_the_sound_vehicle_nothing_flows_against_its_usual_direction(model: str) -> None:
    """But for the joints of earth points: over several of them what comes back parts in each state anew."""
    predictor = tool_on(MODELS / f"{model}.yaml").predictor
    for state in basic_states(predictor.harness):
        against = usual_of(predictor).against(flow(predictor, predictor.setup(state), NO_CHANGE))
        assert [name for name in against if not name.endswith("earth joint")] == []


def test_without_its_earth_a_unit_feeds_back_through_the_filament_that_is_off() -> None:
    """By the drawing: what comes through the left tail can only go on through the left stop filament, backwards
    to the splice of the stop lamps and through the right one, in its usual direction, to the other earth."""
    predictor, harness = REAR_END.predictor, REAR_END.harness
    cut = find_fault(REAR_END.faults, "terminal off: left rear.earth").variants[0].change
    found = flow(predictor, predictor.setup(harness.state({"lamp switch": "side"})), cut)
    against = usual_of(predictor).against(found)
    assert "left rear stop filament" in against
    assert not {f"{lamp} filament" for lamp in ("left rear tail", "right rear stop", "right rear tail")} & against
