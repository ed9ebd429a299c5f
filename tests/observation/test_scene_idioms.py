"""When it is so, what was done, and what was taken back, as strangers tell it on job cards or by phone (all
invented; common practice, no source). Each is held to all that it says.
"""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tests.observation.test_spoken_strangers import heard
from tracer.errors import SymptomError
from tracer.harness.file.text import load_harness
from tracer.observation.words.corrected import corrected
from tracer.observation.words.scene_idioms import scene_plainly
from tracer.observation.words.symptoms import read_by_rules

UNDERSTOOD = (
    # What was done, told as a sentence of its own before what it does.
    ("saloon_1970s", "I press the brake and both the tails go dim",
     "left rear tail dim; right rear tail dim when lamp switch side, brake pedal pressed / left rear tail "
     "normal; right rear tail normal when lamp switch side"),
    ("pickup", "reverse in, both the stop lights come on an' all",
     "left rear stop lit; right rear stop lit when gear reverse"),
    ("glass_fibre", "indicator left and the whole rear pulses",
     "left rear tail or left rear stop or right rear tail or right rear stop or right rear indicator or "
     "reversing lamp or number-plate lamp lit, flashing when indicator stalk left"),
    ("pickup", "nearside cluster all goes dim when I brake and indicate left",
     "left rear tail dim; left front side dim when lamp switch side, brake pedal pressed, indicator stalk left /"
     " left headlamp main dim when lamp switch head, dip switch main, brake pedal pressed, indicator stalk left "
     "/ left headlamp dip dim when lamp switch head, brake pedal pressed, indicator stalk left / left rear tail "
     "normal; left front side normal when lamp switch side / left headlamp main normal when lamp switch head, "
     "dip switch main / left headlamp dip normal when lamp switch head"),
    ("tow_7pin", "unplug the trailer and the car's left tail works again",
     "car left rear tail dark when lamp switch side"),
    # Where the account of the work ends and the complaint begins.
    ("saloon_1970s", "since I fitted the radio the clock lamp is out", "clock lamp dark when lamp switch side"),
    ("tow_13pin", "since the new tow bar the left winker on the van won't go",
     "caravan left indicator dark when indicator stalk left"),
    ("pickup", "ever since I had the car painted the left tail flickers",
     "left rear tail sometimes dark or faint or dim when lamp switch side"),
    ("pickup", "since it was put on the ramp the left tail is out", "left rear tail dark when lamp switch side"),
    ("saloon_1970s", "left tail out since I fitted the radio, clock lamp fine",
     "left rear tail dark; clock lamp normal when lamp switch side"),
    ("pickup", "brake lights dead since the MOT and no tail lights",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear tail "
     "dark when lamp switch side"),
    ("pickup", "left tail works, since the wash the right one is dead",
     "left rear tail normal; right rear tail dark when lamp switch side"),
    ("estate_1990s", "after I changed the bulb the left headlight works on main but there's no dip",
     "left headlamp main normal when lamp switch head, dip switch main / left headlamp dip dark when lamp switch"
     " head"),
    ("estate_1990s", "had the tailgate off for paint, now the plate lights are dead",
     "left number-plate lamp dark; right number-plate lamp dark when lamp switch side"),
    ("bullets_1960s",
     "pulled the bullets apart and put them back, now the plate lamp works but the left tail doesn't",
     "number-plate lamp normal; left rear tail dark when lighting switch side"),
    # Which position it was in.
    ("saloon_1970s", "sidelights fine, as soon as I put the headlamps on the left one goes out",
     "left front side normal; right front side normal when lamp switch side / left front side dark when lamp "
     "switch head"),
    ("estate_1990s", "lights on the tailgate go off when I open it",
     "high stop lamp sometimes dark, as it is moved when brake pedal pressed / left number-plate lamp sometimes "
     "dark, as it is moved; right number-plate lamp sometimes dark, as it is moved when lamp switch side"),
    ("lorry_24v", "work lamp stays on with the switch off", "work lamp lit when at rest"),
    ("saloon_1970s", "the horn toots whenever I go round a corner", "horn sometimes works when at rest"),
    ("saloon_led", "the LEDs at the back glow very faintly with everything off",
     "left rear tail faint; right rear tail faint when ignition off"),
    ("pickup", "stop lamps dead with the side lights on",
     "left rear stop dark; right rear stop dark when lamp switch side, brake pedal pressed"),
    ("rear_end", "brake on, left is fine, right no light at all",
     "left rear stop normal; right rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "the indicators tick like mad when I go left",
     "left rear indicator or left front indicator lit, fast when indicator stalk left"),
    ("saloon_led", "the left LED brake lamp flickers when the engine runs",
     "left rear stop sometimes dark or faint or dim when brake pedal pressed, engine running"),
    ("saloon_1970s", "stop lamps sometimes stay on",
     "left rear stop sometimes lit; right rear stop sometimes lit when at rest"),
    ("saloon_1970s", "brake lights come on by themselves over bumps",
     "left rear stop sometimes lit, as it is moved; right rear stop sometimes lit, as it is moved when at rest"),
    ("estate_1990s", "left indicators work on hazards but not on the stalk",
     "left rear indicator normal; left front indicator normal when hazard switch on / left rear indicator dark; "
     "left front indicator dark; left repeater dark when indicator stalk left"),
    ("motorcycle_6v", "front brake doesn't work the stop light but the foot one does",
     "rear lamp stop dark when brake lever pulled / rear lamp stop normal when brake pedal pressed"),
    ("motorcycle_6v", "brake light comes on with the back brake only",
     "rear lamp stop normal when brake pedal pressed / rear lamp stop dark when brake lever pulled"),
    # What somebody took back.
    ("saloon_1970s", "the offside one at the back doesn't blink, sorry I mean the nearside",
     "left rear indicator does not flash when indicator stalk left"),
    ("pickup", "the right indicator, no hang on, the left one, flashes twice and stops",
     "left rear indicator or left front indicator or left repeater sometimes dark when indicator stalk left"),
    ("pickup", "right stop, no, left stop is dead", "left rear stop dark when brake pedal pressed"),
    ("pickup", "nearside tail, I mean brake light, is out", "left rear stop dark when brake pedal pressed"),
    ("pickup", "front left indicator no sorry back right doesn't flash",
     "right rear indicator does not flash when indicator stalk right"),
    ("estate_1990s", "near side front fog... sorry rear fog isn't working",
     "left rear fog dark when lamp switch head, fog switch on"),
    # What one thing does to all the others.
    ("rear_end", "when I put the side lights on everything else goes dim",
     "left rear tail dim; right rear tail dim; number-plate lamp dim when lamp switch side"),
    ("rear_end", "the stop lights make everything else dim",
     "left rear tail dim; right rear tail dim; number-plate lamp dim when lamp switch side, brake pedal pressed "
     "/ left rear tail normal; right rear tail normal; number-plate lamp normal when lamp switch side"),
    ("saloon_1970s", "turning on the heater blower makes all the other lights go dim",
     "left rear tail dim; right rear tail dim; left number-plate lamp dim; right number-plate lamp dim; left "
     "front side dim; right front side dim; speedometer lamp dim; fuel gauge lamp dim; clock lamp dim when lamp "
     "switch side, blower switch on / left headlamp main dim; right headlamp main dim when lamp switch head, dip"
     " switch main, blower switch on / left headlamp dip dim; right headlamp dip dim when lamp switch head, "
     "blower switch on / left rear tail normal; right rear tail normal; left number-plate lamp normal; right "
     "number-plate lamp normal; left front side normal; right front side normal; speedometer lamp normal; fuel "
     "gauge lamp normal; clock lamp normal when lamp switch side / left headlamp main normal; right headlamp "
     "main normal when lamp switch head, dip switch main / left headlamp dip normal; right headlamp dip normal "
     "when lamp switch head"),
    ("tractor", "putting the plough lamp on dims everything else",
     "left headlamp main dim; right headlamp main dim when lamp switch head, dip switch main, rear work switch "
     "on / left headlamp dip dim; right headlamp dip dim when lamp switch head, rear work switch on / left front"
     " side dim; right front side dim; left rear tail dim; right rear tail dim; number-plate lamp dim; panel "
     "lamp 1 dim; panel lamp 2 dim when lamp switch side, rear work switch on / left headlamp main normal; right"
     " headlamp main normal when lamp switch head, dip switch main / left headlamp dip normal; right headlamp "
     "dip normal when lamp switch head / left front side normal; right front side normal; left rear tail normal;"
     " right rear tail normal; number-plate lamp normal; panel lamp 1 normal; panel lamp 2 normal when lamp "
     "switch side"),
)


@pytest.mark.parametrize(("model", "said", "meant"), UNDERSTOOD, ids=[s for _, s, _ in UNDERSTOOD])
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("said", "work", "since"), [
    ("since I fitted the radio the clock lamp is out", ("radio",), "i fitted the radio"),
    ("left tail out since I fitted the radio, clock lamp fine", ("radio",), "i fitted the radio"),
    ("ever since I had the car painted the left tail flickers", ("body repair",), "i had the car painted"),
])
def test_the_work_is_told_and_nothing_of_the_lamp_with_it(said: str, work: tuple[str, ...], since: str) -> None:
    """A complaint taken into the story would be lost, and would make work of a lamp that is only named."""
    story = read_by_rules(said, load_harness(MODELS / "saloon_1970s.yaml")).story

    assert (story.work, story.since) == (work, since)


@pytest.mark.parametrize(("model", "said", "offered"), [
    ("pickup", "with hazards on the right ones stay dark", "right rear indicator dark when hazard switch on"),
    ("tow_7pin", "with the trailer on, the indicators flash fast, without it they're normal",
     "car left rear indicator lit, fast when indicator stalk left. car right rear indicator lit, fast when indicator "
     "stalk right"),
    ("pickup", "tapped the left rear lamp and it came back to life",
     "left rear tail sometimes dark, as it is moved when lamp switch side"),
    ("rear_end", "indicators and brake lights come on together on the right",
     "right rear stop lit when indicator stalk right"),
    ("rear_end", "indicators and brake lights come on together on the right",
     "right rear indicator lit when brake pedal pressed"),
])
def test_what_is_left_open_is_asked_with_the_right_choice(model: str, said: str, offered: str) -> None:
    with pytest.raises(SymptomError) as asked:
        read_by_rules(said, load_harness(MODELS / f"{model}.yaml"))
    assert offered in asked.value.choices


@pytest.mark.parametrize("said", ["trailer fine on another car",
                                  "swapped the trailer bulbs left for right and the fault stayed where it was"])
def test_who_tells_only_what_was_tried_is_told_to_say_how_the_lamps_do(said: str) -> None:
    with pytest.raises(SymptomError, match="not said what was seen") as asked:
        read_by_rules(said, load_harness(MODELS / "tow_7pin.yaml"))
    assert "how the lamps do" in str(asked.value.hint) and not asked.value.choices


@pytest.mark.parametrize("said", [
    "I press the brake and nothing happens",  # tells no lamp
    "left tail works, brake and tail fine",
    "when I stop and brake lights come on",
    "with the hazards on the dash light is dim",
    "since the rear bumper was replaced",
    "left tail out since the wash",
    "since the garage fitted the left tail",  # what was fitted
    "boot lamp stays on with the lid shut",
    "horn works when I turn left",
    "trailer on the left is dim",
])
def test_what_is_no_such_scene_is_left_as_it_is(said: str) -> None:
    assert scene_plainly(said) == said


@pytest.mark.parametrize("said", [
    "no brake lights, no tail lights",
    "left tail out, no stop either",
    "left tail is out, sorry to bother you",  # nothing is put in its place
    "left tail dim and the right stop dead, no sorry, left stop",  # of which of the two sides
    "the left one is dim, I mean the plate lamp",  # no lamp was named before
    "wait, left tail is out",
    "left tail works, no light on the right",
])
def test_what_takes_nothing_back_is_left_as_it_is(said: str) -> None:
    assert corrected(said) == said


def test_the_van_is_the_caravan_only_where_one_is_towed_by_a_car() -> None:
    """Who tows a caravan calls it so; with a trailer behind, the van is what tows."""
    assert heard("van's brake lights dim", "tow_13pin").startswith("caravan left stop dim")
    assert heard("van brake lights dim", "tow_7pin").startswith("car left rear stop dim")


def test_a_lamp_is_dead_in_a_position_only_as_it_should_burn_there() -> None:
    """"Dead with the side lights on" is no healthy look; "dark when the brake is released" is what was written."""
    assert heard("stop lamps out with the side lights on") == (
        "left rear stop dark; right rear stop dark when lamp switch side, brake pedal pressed")
    assert heard("left rear stop dark when lamp switch side") == "left rear stop dark when lamp switch side"
    assert heard("brake lights out when the brake is "
                 "released") == "left rear stop dark; right rear stop dark when at rest"


def test_what_is_dim_where_nothing_burns_was_switched_on() -> None:
    """The fridge lights no lamp; a glow is told as one, and what is written out is meant as it stands."""
    assert heard("car tail lights dim with the fridge on", "tow_13pin").startswith(
        "car left rear tail dim; car right rear tail dim when lamp switch side, refrigerator switch on")
    assert heard("left tail glows with the blower on", "saloon_1970s") == "left rear tail faint when blower switch on"
    assert heard("left tail dim with everything off", "saloon_1970s") == "left rear tail dim when ignition off"
    written = "left rear tail dim when blower switch on"
    assert heard(written, "saloon_1970s") == written
