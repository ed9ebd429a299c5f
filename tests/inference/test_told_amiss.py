"""Told as wrong, and just as it should be: of a lamp that was named for another, or in a state told for another.

By hand, on the small vehicle with two rear units of stop and tail (N statements can be made of it): "right stop dark"
with the lights on and the brake released, where it should be dark.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.inference.test_ranking_inference import LAMPS
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.statement_model import BESIDE, OTHER_STATE, REST
from tracer.inference.told_amiss import as_told
from tracer.inference.word_model import CARELESS_SHARE, CARELESS_SLIP
from tracer.observation.evidence import LampSeen, Symptom
from tracer.observation.words.symptom_data import symptom_as_data, symptom_from_data
from tracer.observation.words.symptoms import parse_symptom

DARK = frozenset({"dark"})


@cache
def own() -> Investigator:
    return Investigator(read_harness(LAMPS, "two lamps"))


def said(text: str) -> Symptom:
    return parse_symptom(text, own().harness)


def chance(fault: str, *told: Symptom) -> float:
    """Of the last of what was told, under a fault, less what a careless person says of anything."""
    heard = as_told(told, own().sayable)
    h = next(h for h in own().singles if h.faults[0].name == fault)
    p = float(np.exp(own().weigh([h], heard)[-1, 0]))
    return (p - CARELESS_SHARE * CARELESS_SLIP / own().sayable.count) / (1 - CARELESS_SHARE * CARELESS_SLIP)


WRONG = "right stop dark when lights on"


def test_the_lamp_beside_it_was_meant_by_hand() -> None:
    """The right tail is dark where it should be lit: the one lamp beside the one that was named, ε_beside."""
    assert chance("filament open: right tail", said(WRONG)) == pytest.approx(BESIDE, rel=0.02)


def test_another_state_was_meant_by_hand() -> None:
    """The right stop lamp is dead, which the brake has to show. Of the basic states one lights it, with the brake
    alone; that the lights were on is then one of all states that could be told: ε_state / S, and ε_rest / N."""
    expected = OTHER_STATE / len(own().sayable.states) + REST / own().sayable.count
    assert chance("filament open: right stop", said(WRONG)) == pytest.approx(expected, rel=0.02)


def test_the_brake_goes_without_saying_by_hand() -> None:
    """Told of no state at all, that one lights it is all that is missing: ε_state."""
    assert chance("filament open: right stop", said("right stop dark when lights off")) == pytest.approx(
        OTHER_STATE, rel=0.02)


def test_no_one_slip_leads_there_by_hand() -> None:
    """The left stop lamp should be dark there as well, and the left tail is neither beside nor its like: what is told
    then is one of the N statements that have nothing behind them."""
    for fault in ("filament open: left stop", "filament open: left tail"):
        assert chance(fault, said(WRONG)) == pytest.approx(REST / own().sayable.count, rel=0.05)


def test_it_tells_which_lamp_it_was() -> None:
    found = own().diagnose([said(WRONG)])
    lamps = {s.repair: s.share for s in found.suspects if s.repair.startswith("new lamp")}
    assert "right" in found.suspects[0].repair
    assert max((share for repair, share in lamps.items() if "left" in repair), default=0.0) < 0.02


@pytest.mark.parametrize("told", [
    ("right stop fine when lights on",),
    ("right stop OK when lights on",),
    ("right stop lit when lights off", WRONG),  # the same lamp, elsewhere: there it is told to be right
    ("left stop lit when lights on", WRONG),  # beside what is wrong in that state
    ("left tail dark, right stop dark when lights on",),
])
def test_what_is_told_to_be_well_is_no_complaint(told: tuple[str, ...]) -> None:
    heard = as_told([said(t) for t in told], own().sayable)
    assert not any(isinstance(s, LampSeen) and s.amiss for e in heard if isinstance(e, Symptom) for s in e.seen)


def test_an_answer_is_no_complaint() -> None:
    asked = Symptom(own().harness.state({"lights": "on"}), (LampSeen("right stop", DARK),), asked=True)
    assert as_told([asked], own().sayable) == [asked]


@pytest.mark.parametrize(("text", "fine"), [(WRONG, False), ("right stop fine when lights on", True)])
def test_whether_it_was_said_to_be_well_is_kept_in_the_job(text: str, fine: bool) -> None:
    kept = symptom_from_data(symptom_as_data(said(text)), own().harness)
    assert [s.fine for s in kept.seen if isinstance(s, LampSeen)] == [fine]
    assert kept == said(text)
