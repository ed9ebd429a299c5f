"""In which states a lamp is meant when a sentence names none."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import HealthyStates, healthy_states

MODELS = Path(__file__).parents[2] / "harness_models"


@pytest.fixture(scope="module", params=["pickup", "glass_fibre"])
def states(request: pytest.FixtureRequest) -> HealthyStates:
    return healthy_states(load_harness(MODELS / f"{request.param}.yaml"))


def test_a_lamp_is_meant_where_it_lights_with_the_fewest_controls_moved(states: HealthyStates) -> None:
    """Several states where one control does it (a tell-tale that both sides light), one alone where it takes more."""
    counts = set()
    for lamp in states.harness.lamps():
        own = states.own(lamp.lamp)
        moved = {len(states.moves(s)) for s in own}
        assert own and len(moved) == 1, lamp.lamp
        assert all(lamp.lamp in states.on(s) for s in own)
        assert len(own) == 1 or moved == {1}, lamp.lamp
        counts |= moved
    assert {1, 2} <= counts, "lamps of one control and of two"


def test_the_states_of_a_lamp_do_different_things(states: HealthyStates) -> None:
    """None does all that another does, and more."""
    for lamp in states.harness.lamps():
        own = states.own(lamp.lamp)
        assert not any(states.on(a) <= states.on(b) for a in own for b in own if a is not b), lamp.lamp
