"""What is found hot speaks for what drops volts there under load (common practice, no source)."""

from __future__ import annotations

import numpy as np
import pytest

from tests.library import MODELS
from tracer.errors import ReadingError
from tracer.faults import Fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.harness.inspectable import Thing
from tracer.inference.heat import HOT_ELSEWHERE, HOT_OF_BAD, HOT_OF_PARTED, hot_chances, is_hot
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.words.readings import parse_value

HARNESS = load_harness(MODELS / "saloon_1970s.yaml")
FAULTS = list_faults(HARNESS)


def first(kind: str, owner: str = "") -> Fault:
    return next(f for f in FAULTS if f.kind == kind and f.node.startswith(owner))


def test_a_hot_plug_has_a_bad_contact_rather_than_an_open_one() -> None:
    """I²R: an open way carries no current and stays cold, unless it burnt itself apart; a lamp's filament elsewhere
    says nothing."""
    faults = [first("way bad", "C1."), first("way open", "C1."), first("way bad", "C2."), first("filament open")]
    own = [Hypothesis((f,), (f.variants[0],), 1.0) for f in faults]
    chances = hot_chances(own, Thing("connector", "C1"), HARNESS)
    np.testing.assert_allclose(chances, [HOT_OF_BAD, HOT_OF_PARTED, HOT_ELSEWHERE, HOT_ELSEWHERE])


def test_what_lies_inside_a_switch_is_felt_from_outside() -> None:
    bad = first("switch bad", "lamp switch")
    own = [Hypothesis((bad,), (bad.variants[0],), 1.0)]
    assert hot_chances(own, Thing("part", "lamp switch"), HARNESS)[0] == HOT_OF_BAD


@pytest.mark.parametrize("said", ["hot", "found: melted", "burnt", "smells of burning", "it sparks", "scorched",
                                  "brown from heat"])
def test_the_marks_of_heat_are_found(said: str) -> None:
    try:
        value = parse_value(said, "inspect")
    except ReadingError:
        pytest.fail(f"not understood: {said}")
    assert is_hot(value, Thing("connector", "C1"))
    # A lamp gets hot when it works, and burnt is what its filament is.
    assert not is_hot(value, Thing("lamp", "left rear stop"))


@pytest.mark.parametrize("said", ["found: rubbed through", "green", "nothing", "cold"])
def test_other_finds_are_not_heat(said: str) -> None:
    try:
        assert not is_hot(parse_value(said, "inspect"), Thing("connector", "C1"))
    except ReadingError:
        assert said == "cold"
