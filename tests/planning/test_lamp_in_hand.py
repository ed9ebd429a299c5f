"""A lamp is looked at in the hand before a new one goes in, where it may be something else."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.planning.confirmation import confirmation, lamp_in_hand
from tracer.planning.costs import Standing

HARNESS = load_harness(MODELS / "trailer_7pin.yaml")
STATE = HARNESS.state({"brake pedal": "pressed"})
DEAD = find_fault(list_faults(HARNESS), "filament open: left lamp unit stop")


def _asked(doubt: float, *done: Test) -> Test | None:
    return confirmation(Predictor(HARNESS), [DEAD], DEAD.variants[0].change, [STATE], Standing(STATE), done, doubt)


@pytest.mark.parametrize("doubt, asked", [(0.2, True), (0.02, True), (0.01, False)])
def test_it_is_measured_in_the_hand_where_the_doubt_is_worth_a_minute(doubt: float, asked: bool) -> None:
    """A lamp in vain counts an hour: a minute is worth its while down to a doubt of one in sixty."""
    test = _asked(doubt)
    assert (test is not None) == asked
    if test is not None:
        assert test.in_hand == "left lamp unit stop + left lamp unit tail" and test.kind == "ohms"


def test_once_and_in_whatever_state() -> None:
    glass = lamp_in_hand(DEAD, HARNESS, HARNESS.at_rest())
    assert glass is not None
    assert _asked(0.2, glass) is None


def test_nothing_else_is_measured_in_the_hand_and_no_led() -> None:
    wire = find_fault(list_faults(HARNESS), "wire open: S3 – left lamp unit.stop")
    assert lamp_in_hand(wire, HARNESS, STATE) is None
    led = load_harness(MODELS / "saloon_led.yaml")
    assert lamp_in_hand(find_fault(list_faults(led), "filament open: left rear stop"), led, led.at_rest()) is None
