"""Heat, smell, melted plastic and sparks as they are told (the sentences are invented)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tracer import Job
from tracer.errors import SymptomError
from tracer.harness.devices import FuseLink
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Reading
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.heat_places import placed
from tracer.observation.words.heat_said import heat_said
from tracer.observation.words.readings import parse_test, parse_value

PICKUP: HealthyStates = healthy_states(load_harness(MODELS / "pickup.yaml"))
SALOON: HealthyStates = healthy_states(load_harness(MODELS / "saloon_1970s.yaml"))

SAID = (
    ("offside rear lamp gets hot and smells of burning", "inspect right rear", "hot, smells burnt"),
    ("melted plastic round the left tail bulb", "inspect left rear", "melted"),
    ("sparks from the headlight switch when I turn the lights on", "inspect lamp switch",
     "sparks (when i turn the lights on)"),
    ("dip switch gets hot", "inspect dip switch", "hot"),
    ("light switch gets very warm", "inspect lamp switch", "hot"),
    ("stop light switch sparks", "inspect brake switch", "sparks"),
    ("plug C1 melted", "inspect C1", "melted"),
    ("fuse box melted round fuse 3", "inspect F3", "melted"),
    ("earth E2 gets hot", "inspect E2", "hot"),
    ("o/s tail light holder scorched", "inspect holder right rear stop + right rear tail", "scorched"),
    ("nearside headlight holder melted", "inspect holder left headlamp main + left headlamp dip", "melted"),
    ("indicator stalk smokes", "inspect indicator stalk", "burnt, it smoked"),
    ("the indicator stalk is burnt", "inspect indicator stalk", "burnt"),  # a lamp that is burnt is gone
    ("the brake switch is burnt", "inspect brake switch", "burnt"),
    ("left tail holder burnt", "inspect holder left rear stop + left rear tail", "burnt"),
)


@pytest.mark.parametrize(("said", "test", "found"), SAID)
def test_what_got_hot_is_found_there(said: str, test: str, found: str) -> None:
    told = heat_said(said, PICKUP.harness, PICKUP)
    assert told == (test, found)
    looked = parse_test(test, PICKUP.harness)
    assert parse_value(found, looked.kind, looked.lamp).found is True


@pytest.mark.parametrize("said", [
    "left tail dim when hot", "left headlight goes out when it gets hot", "left tail works fine when cold",
    "left tail burnt", "left tail bulb is burnt",
    "left tail burnt out", "left tail burning dimly", "F3 melted", "fuse 2 melts when I brake",
    "the holder is not hot", "no smell of burning", "left tail bright", "brake lights stay on",
])
def test_what_tells_of_no_heat_is_left_to_others(said: str) -> None:
    assert heat_said(said, PICKUP.harness, PICKUP) is None


@pytest.mark.parametrize(("said", "why"), [
    ("smell of burning when the headlights are on", "does not say what got hot"),
    ("smoke from behind the dash", "could be"),
    ("left rear bulb holder burnt", "could be the holder of"),
    ("the wire to the left rear lamp gets hot", "nothing of this vehicle"),
])
def test_where_is_asked_and_each_choice_is_understood(said: str, why: str) -> None:
    for own in (PICKUP, SALOON):
        with pytest.raises(SymptomError, match=why) as raised:
            heat_said(said, own.harness, own)
        assert raised.value.choices
        for choice in raised.value.choices:
            assert heat_said(choice, own.harness, own) is not None, choice


@pytest.mark.parametrize(("said", "first"), [
    # By what was switched on: its switch, then its fuses; by a place: what sits there and carries current, no lamp of
    # the instruments.
    ("there is a burning smell when the headlamps are on", "lamp switch smells burnt"),
    ("hot plastic smell when I brake", "brake switch smells burnt"),
    ("smell of melting plastic from behind the dash", "lamp switch smells burnt"),
    ("wires behind the dash get hot", "lamp switch is hot"),
    ("fuse box is hot", "F1 is hot"),
    ("smoke from the steering column", "ignition switch smokes"),
])
def test_the_likeliest_stands_first_and_each_is_understood(said: str, first: str) -> None:
    with pytest.raises(SymptomError) as raised:
        heat_said(said, PICKUP.harness, PICKUP)
    assert raised.value.choices[0] == first
    assert not any("panel lamp" in c for c in raised.value.choices)
    for choice in raised.value.choices:
        assert heat_said(choice, PICKUP.harness, PICKUP) is not None, choice


def test_what_was_in_the_hand_as_it_sparked_and_a_plug_at_a_lamp() -> None:
    estate = healthy_states(load_harness(MODELS / "estate_1990s.yaml"))
    with pytest.raises(SymptomError) as raised:
        heat_said("sparks when I plug in the left headlight", estate.harness, estate)
    assert raised.value.choices == ("C5 sparks", "left headlamp sparks")
    lorry = healthy_states(load_harness(MODELS / "lorry_24v.yaml"))
    with pytest.raises(SymptomError, match="nothing of this vehicle") as wire:
        heat_said("the wire to the work light is hot", lorry.harness, lorry)  # not the lamp
    assert wire.value.choices == ("work lamp is hot",)
    assert heat_said("fuse for the left dip melted its holder", estate.harness, estate) == ("inspect F3", "melted")
    tow, tractor = (healthy_states(load_harness(MODELS / f"{m}.yaml")) for m in ("tow_7pin", "tractor"))
    assert heat_said("7 pin plug is all green and melted", tow.harness, tow) == ("inspect X1", "melted")
    assert heat_said("melted pin in the trailer plug", tow.harness, tow) == ("inspect X1", "melted")
    assert heat_said("switch for the rear work lamp gets too hot to touch", tractor.harness, tractor) == (
        "inspect rear work switch", "hot")
    told = heat_said("plug on the back of the left headlamp melted", estate.harness, estate)
    assert told == ("inspect C5", "melted")


def test_heat_is_not_heard_in_the_place_of_a_look() -> None:
    """Nothing of a sentence is dropped: what tells of both is asked for one by one."""
    with pytest.raises(SymptomError, match="something else"):
        heat_said("left tail dim and the holder gets hot", PICKUP.harness, PICKUP)


def test_it_is_believed(tmp_path: Path) -> None:
    """A dim lamp whose holder is scorched: the holder, which drops volts under load and was one of many."""
    job = Job.create(tmp_path / "job.yaml", MODELS / "saloon_1970s.yaml", "")
    job.symptom("right tail light dim")
    before = job.shares
    told = job.symptom("o/s tail light holder scorched")
    assert "scorched" in told.understood
    assert isinstance(job.evidence[-1], Reading)
    repair = "clean the holder of right rear stop + right rear tail"
    assert job.shares[repair] > max(0.8, before[repair])
    assert job.suspects()[0].repair == repair
    job.undo()
    assert job.shares[repair] == pytest.approx(before[repair])


def test_of_what_sits_at_a_place_that_which_carries_most_comes_first() -> None:
    """The estate's fuse box: the fuses of 20 A before those of less, then the flasher unit and the relays; under the
    saloon's dash the switches, which part currents, before what only passes them. No lamp of the instruments."""
    estate = load_harness(MODELS / "estate_1990s.yaml")
    found = placed("fuse box", estate)
    fuses = [t.name for t in found if t.kind == "fuse"]
    amps = [d.rating_a for n in fuses for d in estate.parts[n].devices if isinstance(d, FuseLink)]
    assert len(amps) > 5 and amps == sorted(amps, reverse=True) and [t.name for t in found][:len(fuses)] == fuses
    assert {"flasher unit", "dipped beam relay"} <= {t.name for t in found[len(fuses):]}
    dash = [t.name for t in placed("dash", SALOON.harness)]
    kinds = [SALOON.harness.parts[n].kind for n in dash if n in SALOON.harness.parts]
    assert "switch" in kinds and kinds == sorted(kinds, key=lambda k: k != "switch")
    assert not any("gauge lamp" in n or "tell-tale" in n for n in dash)
