"""The tell-tale of a unit that counts its lamps, where some are missing: it stays dark, or flashes with the rest."""

from __future__ import annotations

from functools import reduce

import numpy as np

from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, Change
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.inference.counted_lamps import FLASHES_ALONG, either_way
from tracer.observation.forward_model import Predictor

HARNESS = load_harness(MODELS / "estate_1990s.yaml")
TOOL = Predictor(HARNESS)
FAULTS = list_faults(HARNESS)
TELL_TALE = TOOL.lamp_index["indicator tell-tale"]


def without(*bulbs: str) -> Change:
    """The vehicle with these filaments open."""
    blown = [find_fault(FAULTS, f"filament open: {b}").variants[0].change for b in bulbs]
    return reduce(Change.__or__, blown, NO_CHANGE)


def chance_lit(control: str, position: str, *changes: Change, lamp: int = TELL_TALE) -> list[float]:
    """Of each vehicle: the chance that the lamp lights up at all with the flasher."""
    state = HARNESS.state({control: position})
    panel = TOOL.panel(TOOL.setup(state), TOOL.table(changes))
    ways = either_way(panel, TOOL.healthy(state), TOOL, lamp)
    assert sum(chance for chance, _ in ways) == 1.0
    return sum((chance * (own.flux[:, lamp] > -1.0) for chance, own in ways), np.zeros(len(changes))).tolist()


def test_with_one_lamp_missing_it_flashes_along_in_some_units() -> None:
    """47 W are asked for. Without one of 21 W 0.55 of it is left, without any lamp nothing."""
    left = "left front indicator", "left rear indicator"
    assert chance_lit("indicator stalk", "left", NO_CHANGE, without(left[0]), without(*left, "left repeater")) == [
        1.0, FLASHES_ALONG, 0.0]
    assert chance_lit("indicator stalk", "off", NO_CHANGE) == [0.0]


def test_with_nothing_but_the_repeaters_of_both_sides_the_unit_still_works() -> None:
    """Two of 5 W, 0.2 of the load: they flash, and so may the tell-tale."""
    main = [f"{side} {end} indicator" for side in ("left", "right") for end in ("front", "rear")]
    assert chance_lit("hazard switch", "on", without(*main)) == [FLASHES_ALONG]


def test_other_lamps_do_what_the_circuit_says() -> None:
    lamp = TOOL.lamp_index["left front indicator"]
    assert chance_lit("indicator stalk", "left", NO_CHANGE, without("left front indicator"), lamp=lamp) == [1.0, 0.0]
