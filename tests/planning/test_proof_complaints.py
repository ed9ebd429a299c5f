"""What is looked at again after a repair: whatever somebody saw to be wrong, in its own state, and nothing else."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.shared import investigator_for
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.inference.diagnose import Investigator
from tracer.observation.evidence import Compared, Evidence, FuseSeen, LampSeen, LoadSeen, Reading, Symptom
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.proof_reading import Remeasured, to_measure_again
from tracer.planning.repair_proof import plan_proof


@cache
def own(model: str = "rear_end") -> Investigator:
    return investigator_for(load_harness(Path(MODELS) / f"{model}.yaml"))


def said(text: str, model: str = "rear_end") -> Symptom:
    return parse_symptom(text, own(model).harness)


def read(text: str, value: str) -> Reading:
    test = parse_test(text, own().harness)
    return Reading(test, parse_value(value, test.kind, test.lamp))


def complaints(*items: Evidence, model: str = "rear_end") -> list[dict[str, str]]:
    """The states in which a complaint is looked for, first of all."""
    proof = plan_proof(own(model), items)
    because = [c.because for c in proof.checks]
    assert because == sorted(because, key=lambda b: b != "the complaint")
    assert [c.number for c in proof.checks] == list(range(1, len(proof.checks) + 1))
    assert 0 <= proof.risk_after <= proof.risk_before
    return [dict(c.state.positions) for c in proof.checks if c.because == "the complaint"]


SOUND = ("left rear stop normal when brake pedal pressed", "left rear stop dark when brake pedal released",
         "left rear indicator flashing when indicator stalk left")


def test_what_looks_as_on_a_sound_vehicle_is_no_complaint() -> None:
    assert complaints(*map(said, SOUND)) == []


@pytest.mark.parametrize("text", [
    "left rear stop dim when brake pedal pressed",
    "left rear stop lit when brake pedal released",
    "left rear indicator lit steadily when indicator stalk left",
    "left rear indicator flashing fast when indicator stalk left",
    "left rear indicator flashing slowly when indicator stalk left",
])
def test_a_lamp_that_is_not_as_on_a_sound_vehicle_is_a_complaint(text: str) -> None:
    item = said(text)
    assert complaints(item) == [dict(item.state.positions)]


def test_each_state_in_which_something_was_wrong_is_looked_at_once() -> None:
    first = said("left rear stop dark when brake pedal pressed")
    second = said("left rear tail dim when lamp switch side")
    sound = said("right rear indicator flashing when indicator stalk right")
    assert complaints(first, sound, second, first) == [dict(first.state.positions), dict(second.state.positions)]


def test_a_look_that_was_asked_for_counts_and_one_with_something_undone_does_not() -> None:
    look = "look left rear stop when brake pedal pressed"
    assert len(complaints(read(look, "dark"))) == 1 and complaints(read(look, "normal")) == []
    # A lamp that the test connects is none of the vehicle's.
    assert complaints(read("test lamp left rear.stop when brake pedal pressed", "dark"),
                      read("volts left rear.stop when brake pedal pressed", "0 V")) == []


def test_fuses_that_blow_and_lamps_unlike_each_other_are_complaints() -> None:
    states = [own().harness.state({"brake pedal": "pressed", "lamp switch": x}) for x in ("off", "side")]
    sound = (FuseSeen("F3", False), Compared("left rear stop", "right rear stop", "alike"),
             LampSeen("left rear stop", frozenset({"normal", "bright"})))
    assert complaints(Symptom(states[0], sound)) == []
    blows, dimmer = FuseSeen("F3", True), Compared("left rear stop", "right rear stop", "dimmer")
    assert len(complaints(Symptom(states[0], (blows,)), Symptom(states[1], (dimmer,)))) == 2


def test_a_horn_that_works_when_it_is_pressed_is_no_complaint() -> None:
    """Nor one that is silent when it is not; one that sometimes works is."""
    harness = own("motorcycle_6v").harness
    pressed, rest = harness.state({"ignition": "on", "horn button": "pressed"}), harness.state({"ignition": "on"})

    def wrong(*seen: tuple[VehicleState, bool, bool]) -> int:
        items = [Symptom(state, (LoadSeen("horn", works, sometimes),)) for state, works, sometimes in seen]
        return len(complaints(*items, model="motorcycle_6v"))

    assert wrong((pressed, True, False), (rest, False, False)) == 0
    assert wrong((pressed, False, False), (rest, True, False)) == 2
    assert wrong((pressed, True, True)) == 1


def test_what_is_expected_are_the_lamps_that_light_on_a_sound_vehicle() -> None:
    proof = plan_proof(own(), [said("left rear stop dark when brake pedal pressed")])
    assert {lamp for lamp, _ in proof.checks[0].expected} == {"left rear stop", "right rear stop"}
    assert {look for _, look in proof.checks[0].expected} == {"normal"}


# --- The reading that is made again ----------------------------------------------------------------------

DIM = "left rear stop dim when brake pedal pressed"
DROP = "volt drop left rear.earth to E1 when brake pedal pressed"
VOLTS = "volts left rear.stop when brake pedal pressed"


def again(*readings: Reading, complaint: str = DIM) -> Remeasured | None:
    seen = said(complaint) if complaint else None
    items: list[Evidence] = [*([seen] if seen else []), *readings]
    return to_measure_again(own(), items, [seen] if seen else [])


def test_the_reading_furthest_from_right_is_made_again() -> None:
    """3 V lost in an earth wire that should lose next to nothing are further off than 9 V at a lamp that should have
    twelve or so; the order in which they were made says nothing."""
    drop, volts = read(DROP, "3.0 V"), read(VOLTS, "10.5 V")
    for readings in ((drop, volts), (volts, drop)):
        found = again(*readings)
        assert found is not None and found.test == drop.test
        assert 0 <= found.low <= abs(found.sound) <= found.high < 1.5


def test_what_a_sound_vehicle_shows_or_was_right_last_is_not_made_again() -> None:
    assert again() is None and again(read(DROP, "0.02 V")) is None
    assert again(read(DROP, "3.0 V"), read(DROP, "0.02 V")) is None  # the last reading of a test counts
    assert again(read(DROP, "0.02 V"), read(DROP, "3.0 V")) is not None
    assert again(read(DROP, "could not do it")) is None
    assert again(read(DROP, "0.1 to 3 V wiggling")) is None
    assert again(read("ohms left rear.earth to E1", "200 Ω")) is None  # no voltage


def test_where_the_eye_is_sure_no_meter_is_needed() -> None:
    """A lamp that was dark and lights says it all; one that was dim, or unlike another, does not."""
    drop = read(DROP, "3.0 V")
    assert again(drop, complaint="left rear stop dark when brake pedal pressed") is None
    assert again(drop, complaint="") is not None  # nobody looked: the reading is all there is
    state = own().harness.state({"brake pedal": "pressed"})
    unlike = Symptom(state, (Compared("left rear stop", "right rear stop", "dimmer"),))
    assert to_measure_again(own(), [unlike, drop], [unlike]) is not None


def test_a_reading_made_again_is_right_within_its_ends_whichever_way_the_leads_are() -> None:
    found = again(read(DROP, "3.0 V"))
    assert found is not None
    inside, outside = (found.low + found.high) / 2, found.high + 0.5
    assert found.seen_instead(f"{inside:.3f} V") is None and found.seen_instead(f"-{inside:.3f} V") is None
    instead = found.seen_instead(f"{outside:.3f} V")
    assert instead is not None and instead.test == found.test
    partly = found.seen_instead(f"{inside:.3f} to {outside:.3f} V")
    assert partly is not None
    supply = again(read(VOLTS, "6.0 V"))
    assert supply is not None and supply.seen_instead("6.0 V") is not None
    assert supply.seen_instead(f"{abs(supply.sound):.2f} V") is None
    assert supply.seen_instead(f"{supply.low - 0.3:.2f} V") is not None
