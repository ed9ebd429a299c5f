"""Each part of a sentence is told with its own circumstance; what one thing does to another, in its place or beside
it; words left out, put elsewhere or mistyped. And what is not surely understood is asked, with choices made of the
pieces of the sentence (all sentences invented)."""

from __future__ import annotations

import pytest

from tests.observation.test_verdicts_apart import asked, heard, own
from tracer.errors import SymptomError
from tracer.observation.words.sentences import lexicon_of
from tracer.observation.words.speech_circumstances import number_of, numbered, take_out, told_by
from tracer.observation.words.spelling import spelled_right
from tracer.observation.words.symptoms import read_by_rules

HEARD = (
    # Each clause with its own circumstance, before it or after it.
    ("pickup", "left tail dead with the lights on, right stop dim when I brake",
     "left rear tail dark when lamp switch side / right rear stop dim when brake pedal pressed"),
    ("pickup", "left tail goes out when I brake; right reversing light glows with the lights on",
     "left rear tail dark when lamp switch side, brake pedal pressed / left rear tail lit when lamp switch side / "
     "right rear reversing faint when lamp switch side"),
    ("saloon_1970s", "with the lights on left tail is dim, and when I indicate right the right tail flickers",
     "left rear tail dim when lamp switch side / right rear tail sometimes faint or dim or normal when "
     "indicator stalk right"),
    ("lorry_24v", "when I brake the fog light glows and when I indicate left the left tail dims",
     "right rear fog faint when brake pedal pressed / left rear tail dim when lamp switch side, indicator "
     "stalk left / left rear tail normal when lamp switch side"),
    ("rear_end", "left stop dead when I brake, tail on that side fine with the lights on",
     "left rear stop dark when brake pedal pressed / left rear tail normal when lamp switch side"),
    ("rear_end", "left tail comes on when braking and the right one when I indicate right",
     "left rear tail lit when brake pedal pressed / right rear tail lit when indicator stalk right"),
    ("rear_end", "left stop dim when I brake with the lights on, with the lights off it is fine",
     "left rear stop dim when lamp switch side, brake pedal pressed / left rear stop normal when brake pedal "
     "pressed"),
    ("estate_1990s", "hazards fine with the key off, indicators dead with it on",
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator normal; left repeater normal; right repeater normal when ignition off, hazard switch on / "
     "left rear indicator dark; left front indicator dark; left repeater dark when indicator stalk left / "
     "right rear indicator dark; right front indicator dark; right repeater dark when indicator stalk right"),
    # Of the same lamp, where nobody is named.
    ("estate_1990s", "left tail fine with the lights on but nothing when I brake",
     "left rear tail normal when lamp switch side / left rear tail dark when lamp switch side, brake pedal "
     "pressed"),
    ("saloon_1970s", "nearside headlamp works on main but nothing when you dip it",
     "left headlamp main normal when lamp switch head, dip switch main / left headlamp dip dark when lamp "
     "switch head"),
    ("car_1950s", "left stop light doesn't come on with brake but does with indicator",
     "left rear stop dark when brake pedal pressed / left rear stop lit when indicator stalk left"),
    # What one thing does to another, or in its place.
    ("saloon_1970s", "the brake pedal brings on the reversing lights",
     "left reversing lamp lit; right reversing lamp lit when brake pedal pressed"),
    ("saloon_1970s", "left indicator switch works the right side",
     "right rear indicator lit; right front indicator lit when indicator stalk left"),
    ("pickup", "left front indicator lights up instead of the right",
     "left front indicator lit when indicator stalk right / right front indicator dark when indicator stalk "
     "right"),
    ("tow_7pin", "when I brake the trailer's left indicator lights up instead of the stop",
     "trailer left indicator lit when brake pedal pressed / trailer left stop dark when brake pedal pressed"),
    ("trailer_7pin", "brakes on: only right lights up",
     "right lamp unit stop normal; left lamp unit stop dark when brake pedal pressed"),
    ("saloon_1970s", "left stop stays on until the lights are off",
     "left rear stop lit when lamp switch side"),
    ("saloon_led", "plate lamp left is dark until I turn headlights on",
     "left number-plate lamp normal when lamp switch head / left number-plate lamp dark when lamp switch side"),
    ("pickup", "neither tail works unless I brake",
     "left rear tail normal; right rear tail normal when lamp switch side, brake pedal pressed / left rear "
     "tail dark; right rear tail dark when lamp switch side"),
    ("lorry_24v", "when you brake the tail lights get dimmer and go back to normal when you let go",
     "left rear tail dim; right rear tail dim when lamp switch side, brake pedal pressed / left rear tail "
     "normal; right rear tail normal when lamp switch side"),
    ("pickup", "reversing lights stay on once its been in reverse",
     "left rear reversing lit; right rear reversing lit when at rest"),
    ("tractor", "headlights dim when work lamps on",
     "left headlamp dip dim; right headlamp dip dim when lamp switch head, front work switch on, rear work "
     "switch on"),
    # All of a place, and all but one of it.
    ("pickup", "near side rear light unit, only the tail works",
     "left rear stop dark when brake pedal pressed / left rear tail normal when lamp switch side / left rear "
     "indicator dark when indicator stalk left / left rear reversing dark when gear reverse"),
    ("trailer_7pin", "left unit completely dead, right unit good",
     "left lamp unit stop dark; right lamp unit stop normal when brake pedal pressed / left lamp unit tail "
     "dark; right lamp unit tail normal when side lights on / left lamp unit indicator dark when indicators "
     "left / right lamp unit indicator normal when indicators right / right lamp unit fog normal when fog "
     "switch on"),
    ("trailer_7pin", "nothing works on the trailer but the left indicator",
     "left lamp unit stop dark; right lamp unit stop dark when brake pedal pressed / left lamp unit tail "
     "dark; right lamp unit tail dark; plate lamp dark when side lights on / left lamp unit indicator normal "
     "when indicators left / right lamp unit indicator dark when indicators right / right lamp unit fog dark "
     "when fog switch on"),
    ("estate_1990s", "left tail dead, nothing on the right",
     "left rear tail dark; right rear tail dark when lamp switch side"),
    ("pickup", "left repeater flashes, nothing else on the left does",
     "left repeater lit, flashing; left rear indicator does not flash; left front indicator does not flash "
     "when indicator stalk left"),
    # Beside another vehicle.
    ("tow_7pin", "trailer stops weaker than the car ones",
     "trailer left stop dim; trailer right stop dim; car left rear stop normal; car right rear stop normal "
     "when brake pedal pressed"),
    ("tow_7pin", "car indicators ok, the trailer ones dont flash",
     "car left rear indicator normal; trailer left indicator does not flash when indicator stalk left / car "
     "right rear indicator normal; trailer right indicator does not flash when indicator stalk right"),
    ("tow_7pin", "car and trailer right indicators both fast",
     "car right rear indicator lit, fast; trailer right indicator lit, fast when indicator stalk right"),
    # Where words stand.
    ("pickup", "brake light right hand side not working",
     "right rear stop dark when brake pedal pressed"),
    ("saloon_led", "left brake dim right brake bright",
     "left rear stop dim; right rear stop bright when brake pedal pressed"),
    ("rear_end", "left stop is dead and the tail isn't either",
     "left rear stop dark when brake pedal pressed / left rear tail dark when lamp switch side"),
    ("pickup", "indicators one side only: right is ok, left is dead",
     "right rear indicator normal; right front indicator normal; right repeater normal when indicator stalk "
     "right / left rear indicator dark; left front indicator dark; left repeater dark when indicator stalk "
     "left"),
    ("pickup", "main beams ok, dips both out",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left "
     "headlamp dip dark; right headlamp dip dark when lamp switch head"),
    # How it does.
    ("motorcycle_6v", "left winkers don't blink, just light",
     "left front indicator lit, steady; left rear indicator lit, steady when indicator switch left"),
    ("estate_1990s", "repeater left hand side flashes by itself",
     "left repeater lit, flashing when at rest"),
    ("rear_end", "brake lights hardly brighter than tail lights",
     "left rear stop dim; right rear stop dim when brake pedal pressed"),
    ("tow_7pin", "trailer indicators flash the wrong sides",
     "trailer right indicator lit; trailer left indicator dark when indicator stalk left / trailer left "
     "indicator lit; trailer right indicator dark when indicator stalk right"),
    ("motorcycle_6v", "tail and headlight die when I brake",
     "rear lamp tail dark when lamp switch pilot, brake lever pulled / headlamp dip dark when lamp switch "
     "head, brake lever pulled / rear lamp tail lit when lamp switch pilot / headlamp dip lit when lamp "
     "switch head"),
    # Slips, and words that sound the same.
    ("pickup", "the bak left stop lite is ded",
     "left rear stop dark when brake pedal pressed"),
    ("rear_end", "left break light brigth, nothin on the right",
     "left rear stop bright; right rear stop dark when brake pedal pressed"),
)


@pytest.mark.parametrize(("model", "said", "meant"), HEARD)
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


ASKED = (
    # Whether what should be dark there was switched on.
    ("rear_end", "left stop dim with the side lights on",
     "left rear stop dim when lamp switch side, brake pedal pressed"),
    ("rear_end", "left stop dim with the side lights on", "left rear stop dim when lamp switch side"),
    ("pickup", "left indicators all work but very dim with the lights on",
     "left rear indicator dim, left front indicator dim, left repeater dim when lamp switch side, indicator stalk "
     "left"),
    ("tow_7pin", "all the trailer lights are dim when I indicate left",
     "trailer left tail dim, trailer right tail dim when lamp switch side, indicator stalk left"),
    # What the other does is not said.
    ("pickup", "left tail dim and stop bright, right the other way round",
     "left rear tail dim when lamp switch side. left rear stop bright when brake pedal pressed"),
    # Of a lamp that there is not, and of what there is.
    ("motorcycle_6v", "neutral light stays on, horn weak", "horn weak when horn button pressed"),
    ("tow_7pin", "brake pedal down: trailer tails brighten but stops dont come on",
     "trailer left tail normal or bright, trailer right tail normal or bright, trailer left stop dark, trailer right "
     "stop dark when brake pedal pressed"),
    ("saloon_led", "interior light dim, hardly a light when the door's open", "interior lamp dim when door open"),
    ("tow_13pin", "both markers out but not the tails",
     "left marker dark, right marker dark, caravan left tail normal, caravan right tail normal when lamp switch "
     "side"),
)


@pytest.mark.parametrize(("model", "said", "meant"), ASKED)
def test_what_is_not_sure_is_asked_with_the_right_choice(model: str, said: str, meant: str) -> None:
    assert meant in asked(said, model)


@pytest.mark.parametrize(("model", "said"), [
    ("rear_end", "brake light left side is only bright if lights are off"),  # and dim or dark with them
    ("estate_1990s", "left rear fog works with sidelights only"),
    ("pickup", "panel lights 1 and 2 dark, 3 and 4 ok"),  # of which one would be lost
])
def test_what_may_be_heard_wrongly_is_not_recorded(model: str, said: str) -> None:
    asked(said, model)


def test_no_lamp_is_dark_and_lit_at_once() -> None:
    with pytest.raises(SymptomError, match="cannot both be"):
        heard("left tail dead. left tail works", "pickup")


def test_what_is_mistyped_is_said_back() -> None:
    healthy = own("rear_end")
    told = read_by_rules("left tial dead", healthy.harness, healthy)

    assert "“tial” is tail" in told.remark() and told.symptoms[0].text == "left tial dead"


@pytest.mark.parametrize(("typed", "put"), [
    ("the lef tial is out", "the left tail is out"), ("blinkr fast", "blinker fast"),
    ("Nothin works", "nothing works"),
    ("let the tail be", "let the tail be"), ("white ones fine", "white ones fine"),
])
def test_slips_are_put_right_and_other_words_are_left(typed: str, put: str) -> None:
    assert spelled_right(typed, lexicon_of(own("rear_end")))[0] == put


def test_each_circumstance_stands_where_it_was_said() -> None:
    healthy = own("rear_end")
    left, scenes = take_out("left tail dim when i brake , right stop out with the side lights on", healthy)
    numbers = [n for n in map(number_of, left.split()) if n is not None]

    assert [scenes[n].said for n in numbers] == ["when i brake", "with the side lights on"]
    assert [told_by([scenes[n]], healthy).moves for n in numbers] == [
        [{"brake pedal": "pressed"}], [{"lamp switch": "side"}]]
    assert number_of(numbered(7).strip()) == 7
