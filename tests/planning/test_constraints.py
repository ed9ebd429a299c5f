"""What somebody can do from where he stands: each limit takes away what it names, and nothing else."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from tests.shared import investigator_for
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Test
from tracer.observation.test_kinds import EYES, INSTRUMENTS
from tracer.observation.words.readings import parse_test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import confirmation
from tracer.planning.constraints import Limits, allowed
from tracer.planning.costs import Standing
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living

HARNESS = load_harness(Path(__file__).parents[2] / "harness_models" / "pickup.yaml")
EARTH, SWITCH = (HARNESS.place_of(n)[0] for n in ("E4", "lamp switch.56"))


def made(words: str) -> Test:
    return parse_test(words, HARNESS)


# One test with each instrument that the vehicle offers, all at rest or with a control that stays where it is put.
AT_REST = (
    "look left rear tail when lamp switch side", "volts left rear.tail when lamp switch side",
    "ohms E4 to body", "test lamp left rear.tail when lamp switch side", "inspect E4",
)


@pytest.mark.parametrize("words", AT_REST)
def test_without_a_limit_everything_may_be_done(words: str) -> None:
    assert allowed(made(words), HARNESS, Limits())


def test_at_a_place_only_what_has_its_points_there() -> None:
    """The body is everywhere; of two points both have to lie there."""
    assert EARTH != SWITCH
    at_earth = made("volts E4 when lamp switch side")
    between = made("volt drop lamp switch.56 to E4 when lamp switch head")
    assert allowed(at_earth, HARNESS, Limits(at=EARTH))
    assert allowed(at_earth, HARNESS, Limits(at=EARTH[1:-1].upper())), "part of its name will do, in any case"
    assert not allowed(at_earth, HARNESS, Limits(at=SWITCH))
    assert not allowed(between, HARNESS, Limits(at=EARTH)) and not allowed(between, HARNESS, Limits(at=SWITCH))
    assert not allowed(made("look left rear tail when lamp switch side"), HARNESS, Limits(at=EARTH)), "no point there"


def test_an_instrument_that_is_not_at_hand_is_not_asked_for() -> None:
    for words in AT_REST:
        test = made(words)
        assert not allowed(test, HARNESS, Limits(without=frozenset({test.instrument})))
        others = frozenset(INSTRUMENTS) - {test.instrument}
        assert allowed(test, HARNESS, Limits(without=others))
        assert allowed(test, HARNESS, Limits(only=frozenset({test.instrument})))


def test_with_one_instrument_only_the_eyes_stay() -> None:
    for words in AT_REST:
        test = made(words)
        assert allowed(test, HARNESS, Limits(only=frozenset({"clamp meter"}))) == (test.instrument == EYES)


def test_who_is_alone_cannot_hold_a_pedal_and_a_probe() -> None:
    """A look needs no hand; a lamp out of its holder has no pedal."""
    limits = Limits(alone=True)
    assert not allowed(made("volts left rear.stop when brake pedal pressed"), HARNESS, limits)
    assert allowed(made("volts left rear.stop when brake pedal pressed"), HARNESS, Limits())
    assert allowed(made("volts left rear.stop when brake pedal released"), HARNESS, limits)
    assert allowed(made("look left rear stop when brake pedal pressed"), HARNESS, limits)


def test_who_is_alone_measures_an_earth_where_no_pedal_has_to_be_held() -> None:
    """Complained of is a lamp with the brake pressed; its earth carries the tail lamp as well, and
    the switch of that stays where it is put (common practice, no source)."""
    own = investigator_for(HARNESS)
    found = own.diagnose([parse_symptom("left rear stop dim when brake pressed", HARNESS)], pairs=False)
    rows, _ = rows_to_plan_with(found)
    earth = next(f for f in own.faults if f.name == "earth open: E4")
    held, free = (
        [c.test for c in Candidates(found, rows, alone).all() if allowed(c.test, HARNESS, Limits(alone=True))
         and c.test.kind in ("volts", "drop") and c.test.state != HARNESS.at_rest()]  # the battery's own voltage
        for alone in (False, True)
    )
    assert not held and free
    assert all(t.state["brake pedal"] == "released" for t in free)
    states = Living(found, rows, alone=True).work_states()
    may = partial(allowed, harness=HARNESS, limits=Limits(alone=True))
    test = confirmation(own.predictor, [earth], earth.variants[0].change, states, Standing(states[0]), (), may=may)
    assert test is not None and may(test) and test.kind == "drop" and "E4" in (test.plus, test.minus)


def test_with_the_engine_off_nothing_asks_for_it() -> None:
    running, off = (made(f"volts left rear.tail when lamp switch side{x}") for x in (", engine running", ""))
    assert allowed(off, HARNESS, Limits(engine_off=True)) and allowed(running, HARNESS, Limits())
    assert not allowed(running, HARNESS, Limits(engine_off=True))
