"""A lamp known to be good held across a holder's terminals, and the test lamp in the place of a fuse.

Worked by hand on the invented trailer (12 V battery at 12.6 V; stop lamps 21 W, the test lamp 5 W at 13.5 V).
"""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer import load_harness
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, AddedBranch, Change
from tracer.errors import ReadingError
from tracer.harness.devices import FilamentLaw
from tracer.inference.explanation import say_lamp, say_value
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import test_from_data

HARNESS = load_harness(MODELS / "trailer_7pin.yaml")
PREDICTOR = Predictor(HARNESS)
KNOWN_GOOD = parse_test("known-good lamp at left lamp unit stop when brake pedal pressed", HARNESS)


def shows(test: Test, change: Change = NO_CHANGE) -> str:
    return say_value(test.kind, float(PREDICTOR.observed(test, [change])[0]))


def test_it_has_the_watts_that_belong_there() -> None:
    """A lamp of 21 W for the stop filament of a P21/5W, of 5 W for its tail filament (UN R37)."""
    for lamp, watts in (("stop", 21.0), ("tail", 5.0)):
        test = parse_test(f"known-good lamp at left lamp unit {lamp} when side lights on", HARNESS)
        law = test.change(PREDICTOR.circuit).lamps[0].law
        assert isinstance(law, FilamentLaw) and law.watts == watts
        assert (test.plus, test.minus) == (f"left lamp unit.{lamp}", "left lamp unit.earth")


@pytest.mark.parametrize(("wrong", "look"), [
    (NO_CHANGE, "normal"),
    (Change(dead=("left lamp unit stop filament",)), "normal"),  # it lights in the place of the broken one
    (Change(set_ohm=(("left lamp unit stop holder contact", OPEN_OHM),)), "normal"),  # held before the contact
    (Change(set_ohm=(("X1 way 6", OPEN_OHM),)), "dark"),  # no feed reaches the terminal
])
def test_a_known_good_lamp_tells_lamp_and_holder_from_wiring(wrong: Change, look: str) -> None:
    assert shows(KNOWN_GOOD, wrong) == look


@pytest.mark.parametrize(("wrong", "look"), [
    (Change(dead=("left lamp unit indicator filament",)), "normal"),  # the old one was broken
    (Change(set_ohm=(("left lamp unit indicator holder contact", OPEN_OHM),)), "dark"),  # the holder's contact is
    (Change(set_ohm=(("X1 way 1", OPEN_OHM),)), "dark"),
])
def test_a_known_good_lamp_put_in_tells_the_lamp_from_its_holder(wrong: Change, look: str) -> None:
    test = parse_test("look at left lamp unit indicator when indicators left with known-good lamp in left lamp unit "
                      "indicator", HARNESS)
    done = test.change(PREDICTOR.circuit)
    panel = PREDICTOR.panel(PREDICTOR.setup(test.state, done), PREDICTOR.table([wrong], done))
    assert say_lamp(panel, PREDICTOR, test.lamp).split(",")[0] == look


def test_a_lamp_in_the_place_of_the_fuse() -> None:
    """All off it stays dark. Two stop lamps of 21 W behind it are 4.2 Ω hot, far less cold, beside its own 36 Ω: it
    takes nearly all of the voltage and is as bright as on the battery, while they stay dark. A short does the same
    with everything off."""
    rest = parse_test("test lamp in place of F1 when everything off", HARNESS)
    braking = parse_test("test lamp in place of F1 when brake pedal pressed", HARNESS)
    short = Change(added=(AddedBranch("S1", HARNESS.reference, 0.1),))
    assert (shows(rest), shows(rest, short), shows(braking)) == ("dark", "normal", "normal")
    across = PREDICTOR.settled(
        PREDICTOR.setup(braking.state, braking.change(PREDICTOR.circuit)), PREDICTOR.table([NO_CHANGE]))
    lamp_v, emf_v = float(across.solution.port_v[0, -1]), PREDICTOR.emf
    assert 0.95 * emf_v < lamp_v < emf_v


@pytest.mark.parametrize(("text", "message"), [
    ("known-good lamp at S3 when brake pedal pressed", "“S3” is one point; a lamp hangs between two"),
    ("known-good lamp S3 to body when brake pedal pressed", "no lamp hangs on S3"),
    ("test lamp in place of S1 when brake pedal pressed", "“S1” is one point; a fuse sits between two"),
    ("test lamp in place of F1.in to S1 when brake pedal pressed", "no fuse sits between F1.in and S1"),
])
def test_wrong_points_are_refused(text: str, message: str) -> None:
    with pytest.raises(ReadingError) as error:
        parse_test(text, HARNESS)
    assert error.value.message == message


def test_a_record_of_points_where_no_lamp_hangs_is_refused() -> None:
    data = {"test": "known-good lamp", "state": {}, "plus": "S3", "minus": "S4"}
    with pytest.raises(ReadingError, match="no lamp hangs on S3"):
        test_from_data(data, HARNESS)
