"""How lamps do, and which of them, in the words of strangers: "the brake doesn't make it brighter", "is the only one
working", "not the right" (all invented; common practice, no source). Each is held to all that it says.
"""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tests.observation.test_spoken_strangers import heard
from tracer.errors import SymptomError
from tracer.harness.file.text import load_harness
from tracer.observation.words.look_idioms import looks_plainly
from tracer.observation.words.symptoms import read_by_rules

UNDERSTOOD = (
    # How bright.
    ("bullets_1960s", "nearside tail fine until I put the brakes on, then it nearly goes out",
     "left rear tail normal when lighting switch side / left rear tail faint when lighting switch side, "
     "brake pedal pressed"),
    ("bullets_1960s", "on the o/s the brake doesn't make it brighter",
     "right rear stop dark when brake pedal pressed"),
    ("pickup", "left tail doesn't get any brighter when I brake", "left rear stop dark when brake pedal pressed"),
    ("pickup", "tail lights don't get brighter when I press the brake pedal",
     "left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("pickup", "the stop light on the right doesn't get any brighter than the tail",
     "right rear stop dim when brake pedal pressed"),
    ("rear_end", "pressing the brake makes the plate light glow", "number-plate lamp faint when brake pedal pressed"),
    ("rear_end", "brake lights weak both sides, tails strong",
     "left rear stop dim; right rear stop dim when brake pedal pressed / left rear tail normal; right rear tail "
     "normal when lamp switch side"),
    # Which do, and so which do not.
    ("estate_1990s", "I get the left rear fog but not the right",
     "left rear fog normal; right rear fog dark when lamp switch head, fog switch on"),
    ("pickup", "there's dip on the left but not on the right",
     "left headlamp dip normal; right headlamp dip dark when lamp switch head"),
    ("pickup", "I've got brake lights but no tail lights",
     "left rear stop normal; right rear stop normal when brake pedal pressed / left rear tail dark; right rear "
     "tail dark when lamp switch side"),
    ("tractor", "rear work light on the left is the only one working",
     "left rear work lamp normal; right rear work lamp dark when rear work switch on / left front work lamp "
     "dark; right front work lamp dark when front work switch on"),
    ("pickup", "hazards flash only on the left",
     "left rear indicator normal; left front indicator normal; left repeater normal when hazard switch on / "
     "right rear indicator dark; right front indicator dark; right repeater dark when hazard switch on"),
    ("motorcycle_6v", "pilot bulb works, headlight only on main",
     "headlamp pilot normal when lamp switch pilot / headlamp main normal when lamp switch head, dip switch main"
     " / headlamp dip dark when lamp switch head"),
    ("estate_1990s", "none of the indicators at the back work, fronts OK",
     "left rear indicator dark; left front indicator normal; left repeater normal when indicator stalk left / "
     "right rear indicator dark; right front indicator normal; right repeater normal when indicator stalk right"),
    ("pickup", "no dip on the left, right fine",
     "left headlamp dip dark; right headlamp dip normal when lamp switch head"),
    ("estate_1990s", "the third brake light doesn't come on, the outer ones do",
     "high stop lamp dark; left rear stop normal; right rear stop normal when brake pedal pressed"),
    ("pickup", "neither brake light works, tail lights do",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail normal; right rear "
     "tail normal when lamp switch side"),
    ("saloon_1970s", "can't get the left flasher to go at the front, back one's fine",
     "left front indicator dark; left rear indicator normal when indicator stalk left"),
    ("pickup", "indicators stopped, hazards still go",
     "left rear indicator dark; left front indicator dark; left repeater dark when indicator stalk left / right "
     "rear indicator dark; right front indicator dark; right repeater dark when indicator stalk right / left "
     "rear indicator normal; right rear indicator normal; left front indicator normal; right front indicator "
     "normal; left repeater normal; right repeater normal when hazard switch on"),
    ("tractor", "horn goes but no brake lights and no indicators",
     "horn works when horn button pressed / left rear stop dark; right rear stop dark when brake pedal pressed /"
     " left front indicator dark; left rear indicator dark when indicator stalk left / right front indicator "
     "dark; right rear indicator dark when indicator stalk right"),
    ("estate_1990s", "no dipped beam either side but flash main works",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; right "
     "headlamp main normal when lamp switch head, dip switch main"),
    ("car_1950s", "dip switch does nothing, always on main",
     "left headlamp main lit; right headlamp main lit; left headlamp dip dark; right headlamp dip dark "
     "when lamp switch head"),
    ("estate_1990s", "dash dimmer does nothing",
     "panel lamp 1 normal or bright; panel lamp 2 normal or bright; panel lamp 3 normal or bright when lamp "
     "switch side, panel dimmer low / panel lamp 1 normal; panel lamp 2 normal; panel lamp 3 normal when lamp "
     "switch side"),
    # All but some.
    ("pickup", "brake lights work but the left one doesn't",
     "left rear stop dark; right rear stop normal when brake pedal pressed"),
    ("pickup", "brake lights work but the left one is dim",
     "left rear stop dim; right rear stop normal when brake pedal pressed"),
    ("pickup", "hazards flash but not the left rear one",
     "left rear indicator dark; right rear indicator lit, flashing; left front indicator lit, flashing; right "
     "front indicator lit, flashing; left repeater lit, flashing; right repeater lit, flashing when hazard "
     "switch on"),
    ("pickup", "tails are fine but one on the left is out",
     "left rear tail dark; right rear tail normal when lamp switch side"),
    ("pickup", "tail lights work except the left",
     "left rear tail dark; right rear tail normal when lamp switch side"),
    ("saloon_1970s", "indicators dead except the right front",
     "left rear indicator dark; left front indicator dark when indicator stalk left / right rear indicator dark;"
     " right front indicator normal when indicator stalk right"),
    ("car_1950s", "left winker flashes at the back but not at the front",
     "left rear stop lit, flashing; left front indicator dark when indicator stalk left"),
    # One look, and another in another state.
    ("tow_7pin", "trailer's right brake light is dim, and when I indicate right it flashes",
     "trailer right stop dim when brake pedal pressed / trailer right stop lit, flashing when indicator stalk "
     "right"),
    ("saloon_1970s", "left tail lights up when I've got my foot on the brake but not with the lights on",
     "left rear tail lit when brake pedal pressed / left rear tail dark when lamp switch side"),
    ("saloon_1970s", "tail lights OK, when I brake, they go dim",
     "left rear tail normal; right rear tail normal when lamp switch side / left rear tail dim; right rear tail "
     "dim when lamp switch side, brake pedal pressed"),
    # Fuses by number in words.
    ("saloon_1970s", "fuses one and two blown", "fuse F1 blew; fuse F2 blew when at rest"),
    # Lit beside what is out, and not what the brake lights are.
    ("saloon_1970s", "clock light and fuel gauge light out, speedo's lit",
     "clock lamp dark; fuel gauge lamp dark; speedometer lamp lit when lamp switch side"),
    ("saloon_1970s", "left tail out, brake lights on",
     "left rear tail dark when lamp switch side / left rear stop lit; right rear stop lit when at rest"),
    ("estate_1990s", "brake lights only work with the ignition off",
     "left rear stop lit; right rear stop lit; high stop lamp lit when ignition off, brake pedal pressed / left "
     "rear stop dark; right rear stop dark; high stop lamp dark when brake pedal pressed"),
    ("estate_1990s", "brake lights come on with the ignition off",
     "left rear stop lit; right rear stop lit; high stop lamp lit when ignition off"),
    ("estate_1990s", "brake pad warning light on with the ignition off", "brake pad tell-tale lit when ignition off"),
    # What lights beside which.
    ("tow_13pin", "caravan left indicator flashes with the right one",
     "caravan left indicator lit, flashing when indicator stalk right"),
    ("tow_7pin", "trailer board right indicator and tail both flash together",
     "trailer right indicator lit, flashing when indicator stalk right / trailer right tail lit, flashing when "
     "lamp switch side, indicator stalk right"),
    ("tow_13pin", "no fog on the van but the car's got it",
     "caravan right fog dark; car right rear fog normal when fog switch on"),
    ("tow_13pin", "caravan road lights work but no interior light",
     "caravan left stop normal; caravan right stop normal when brake pedal pressed / caravan left tail normal; "
     "caravan right tail normal; left marker normal; right marker normal; left caravan plate lamp normal; right "
     "caravan plate lamp normal when lamp switch side / caravan left indicator normal when indicator stalk left "
     "/ caravan left reversing normal when gear reverse / caravan right indicator normal when indicator stalk "
     "right / caravan right fog normal when fog switch on / saloon lamp dark when saloon switch on"),
    ("trailer_7pin", "running lights out", "left lamp unit tail dark; right lamp unit tail dark when side lights on"),
    ("estate_1990s", "running lights out on the right side",
     "right headlamp side dark; right rear tail dark when lamp switch side"),
    ("saloon_1970s", "the green light on the dash doesn't flash when I indicate left but the lights outside do",
     "indicator tell-tale does not flash; left rear indicator normal; left front indicator normal when indicator"
     " stalk left"),
    ("estate_1990s", "fog lights work but the light on the dash doesn't",
     "left rear fog normal; right rear fog normal; rear fog tell-tale dark when lamp switch head, fog switch on"),
    ("lorry_24v", "fog lamp light on the dash but no fog lamp",
     "fog tell-tale lit; right rear fog dark when lamp switch head, fog switch on"),
    # Relays and loads: what is said of the lamps beside them.
    ("estate_1990s", "rear fogs won't come on, and there's no click from the relay",
     "left rear fog dark; right rear fog dark; rear fog relay does not click when lamp switch head, fog switch "
     "on"),
    ("estate_1990s", "the dipped beam relay clicks but no lights",
     "dipped beam relay clicks; left headlamp dip dark; right headlamp dip dark when lamp switch head"),
    ("estate_1990s", "fog relay clicks but no lights",
     "rear fog relay clicks; left rear fog dark; right rear fog dark when lamp switch head, fog switch on"),
    ("lorry_24v", "reversing bleeper doesn't sound, light comes on though",
     "reversing buzzer does not work; left rear reversing normal when gear reverse"),
    ("lorry_24v", "no bleeper but reversing lamp OK",
     "reversing buzzer does not work; left rear reversing normal when gear reverse"),
    ("tow_13pin", "fridge doesn't get cold", "refrigerator does not work when refrigerator switch on"),
    ("saloon_1970s", "fuse two goes as soon as I touch the brake", "fuse F2 blows at once when brake pedal pressed"),
    ("estate_1990s", "headlights cut out for a second then come back",
     "left headlamp dip sometimes dark; right headlamp dip sometimes dark when lamp switch head"),
    ("estate_1990s", "turn signal left front burned out", "left front indicator dark when indicator stalk left"),
    # Nothing there, all but one, and what cannot be got.
    ("tractor", "nothing at all from the back lamps, fronts are good",
     "left rear tail dark; right rear tail dark; number-plate lamp dark; left front side normal; right front "
     "side normal when lamp switch side / left rear stop dark; right rear stop dark when brake pedal pressed / "
     "left rear indicator dark when indicator stalk left / right rear indicator dark when indicator stalk right "
     "/ left rear work lamp dark; right rear work lamp dark when rear work switch on / left headlamp dip normal;"
     " right headlamp dip normal when lamp switch head"),
    ("pickup", "nothing at the back, fronts OK",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear tail "
     "dark; left number-plate lamp dark; right number-plate lamp dark; left front side normal; right front side "
     "normal when lamp switch side / left rear indicator dark when indicator stalk left / left rear reversing "
     "dark; right rear reversing dark when gear reverse / right rear indicator dark when indicator stalk right /"
     " left headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("pickup", "nothing out of the left headlamp", "left headlamp dip dark when lamp switch head"),
    ("pickup", "no light from the left headlamp, right is fine",
     "left headlamp dip dark; right headlamp dip normal when lamp switch head / right headlamp main normal when "
     "lamp switch head, dip switch main"),
    ("pickup", "nothing on the left tail", "left rear tail dark when lamp switch side"),
    ("estate_1990s", "offside rear all out bar the reversing light",
     "right rear tail dark when lamp switch side / right rear stop dark when brake pedal pressed / right rear "
     "indicator dark when indicator stalk right / right rear reversing normal when gear reverse / right rear fog"
     " dark when lamp switch head, fog switch on"),
    ("trailer_7pin", "left hand side of the trailer dead except the brake light",
     "left lamp unit stop normal when brake pedal pressed / left lamp unit tail dark when side lights on / left "
     "lamp unit indicator dark when indicators left"),
    ("saloon_1970s", "can't get main beam, dip is fine",
     "left headlamp main dark; right headlamp main dark when lamp switch head, dip switch main / left headlamp "
     "dip normal; right headlamp dip normal when lamp switch head"),
    ("pickup", "can't get full beam on the left", "left headlamp main dark when lamp switch head, dip switch main"),
    ("pickup", "tail lights go right out when I brake",
     "left rear tail dark; right rear tail dark when lamp switch side, brake pedal pressed / left rear tail lit;"
     " right rear tail lit when lamp switch side"),
    ("pickup", "lights dim right down every time I brake",
     "left rear tail dim; right rear tail dim; left front side dim; right front side dim when lamp switch side, "
     "brake pedal pressed / left headlamp dip dim; right headlamp dip dim when lamp switch head, brake pedal "
     "pressed / left rear tail normal; right rear tail normal; left front side normal; right front side normal "
     "when lamp switch side / left headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("motorcycle_6v", "headlamp gets brighter when I rev and dim at idle",
     "headlamp dip dim when lamp switch head / headlamp main normal when lamp switch head, dip switch main, "
     "engine running / headlamp dip normal when lamp switch head, engine running"),
    # The stops are lamps.
    ("rear_end", "both tails really dim, stops ok",
     "left rear tail faint or dim; right rear tail faint or dim when lamp switch side / left rear stop normal; "
     "right rear stop normal when brake pedal pressed"),
    ("pickup", "left tail dead, stops work",
     "left rear tail dark when lamp switch side / left rear stop normal; right rear stop normal when brake pedal "
     "pressed"),
    ("pickup", "tails ok, stops dead",
     "left rear tail normal; right rear tail normal when lamp switch side / left rear stop dark; right rear stop"
     " dark when brake pedal pressed"),
    ("pickup", "indicators fine but stops dead",
     "left rear indicator normal; left front indicator normal; left repeater normal when indicator stalk left / "
     "right rear indicator normal; right front indicator normal; right repeater normal when indicator stalk "
     "right / left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("pickup", "only one tail light and it's the left",
     "left rear tail normal when lamp switch side / right rear tail dark when lamp switch side"),
    ("pickup", "left tail is the only tail light working",
     "left rear tail normal when lamp switch side / right rear tail dark when lamp switch side"),
    ("rear_end", "left indicator flashes twice and stops dead",
     "left rear indicator sometimes dark when indicator stalk left"),
    # What is lost, and all at one end.
    ("pickup", "I lose the tail lights when the indicators are on",
     "left rear tail dark; right rear tail dark when lamp switch side, indicator stalk left / left rear tail "
     "dark; right rear tail dark when lamp switch side, indicator stalk right / left rear tail lit; right rear "
     "tail lit when lamp switch side"),
    ("pickup", "lose my brake lights when I put the headlights on",
     "left rear stop dark; right rear stop dark when lamp switch head, brake pedal pressed / left rear stop lit;"
     " right rear stop lit when brake pedal pressed"),
    ("pickup", "I've lost the left tail", "left rear tail dark when lamp switch side"),
    ("rear_end", "all dim on the right, all good on the left",
     "right rear stop dim; left rear stop normal when brake pedal pressed / right rear tail dim; left rear tail "
     "normal when lamp switch side / right rear indicator dim when indicator stalk right / left rear indicator "
     "normal when indicator stalk left"),
    ("pickup", "hi beam tell tale on all the time", "main beam tell-tale lit when at rest"),
    ("saloon_1970s", "lost the headlights, sides are fine",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left front side normal; right "
     "front side normal when lamp switch side"),
)


@pytest.mark.parametrize(("model", "said", "meant"), UNDERSTOOD, ids=[s for _, s, _ in UNDERSTOOD])
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


CHOSEN = (
    ("saloon_1970s", "high beam works, low beam only one side",
     ("left headlamp main normal, right headlamp main normal when lamp switch head, dip switch main. left "
      "headlamp dip "
      "dark when lamp switch head",
      "left headlamp main normal, right headlamp main normal when lamp switch head, dip switch main. right "
      "headlamp dip "
      "dark when lamp switch head")),
    ("saloon_1970s", "one of the brake lights is out but the tails are fine",
     ("left rear stop dark when brake pedal pressed. left rear tail normal, right rear tail normal when lamp switch "
      "side",)),
    ("car_1950s", "brake lights work but not while indicating", (
        "left rear stop normal, right rear stop normal when brake pedal pressed. left rear stop dark, right rear "
        "stop dark when brake pedal pressed, indicator stalk left. left rear stop dark, right rear stop dark when "
        "brake "
        "pedal pressed, indicator stalk right",
        "left rear stop normal, right rear stop normal when brake pedal pressed. left rear stop dark when indicator "
        "stalk left. right rear stop dark when indicator stalk right")),
    ("tow_7pin", "one of the trailer brake lights is out", ("trailer left stop dark when brake pedal pressed",)),
    ("pickup", "tail lights only on one side",
     ("left rear tail dark when lamp switch side", "right rear tail dark when lamp switch side")),
    ("bullets_1960s", "brakes on and the o/s one's no brighter", ("right rear stop dark when brake pedal pressed",)),
    ("pickup", "the brake doesn't make it brighter",
     ("left rear stop dark when brake pedal pressed", "right rear stop dark when brake pedal pressed")),
    ("saloon_1970s", "left tail, right dim", ("right rear tail dim when lamp switch side",)),
    ("saloon_1970s", "left tail dead, dip works on one side only", (
        "left rear tail dark when lamp switch side. right headlamp dip dark when lamp switch head",)),
    ("saloon_1970s", "left tail out, brake light dim on one side", (
        "left rear tail dark when lamp switch side. right rear stop dim when brake pedal pressed",)),
    ("saloon_1970s", "horn relay clicks but horn doesnt work", ("horn does not work when horn button pressed",)),
)


@pytest.mark.parametrize(("model", "said", "offered"), CHOSEN, ids=[s for _, s, _ in CHOSEN])
def test_what_is_left_open_is_asked_with_the_right_choice(model: str, said: str, offered: tuple[str, ...]) -> None:
    with pytest.raises(SymptomError) as asked:
        read_by_rules(said, load_harness(MODELS / f"{model}.yaml"))
    assert {*offered} <= {*asked.value.choices}


@pytest.mark.parametrize("said", [
    "headlamp relay's buzzing", "dipped beam relay chatters", "no click from the horn relay"])
def test_a_relay_that_is_not_there_is_not_taken_for_the_flasher_unit(said: str) -> None:
    with pytest.raises(SymptomError, match="this vehicle has no such relay"):
        read_by_rules(said, load_harness(MODELS / "saloon_1970s.yaml"))


@pytest.mark.parametrize("said", [
    "brake lights work but brake lights dead", "left tail works but the left tail is dead"])
def test_an_exception_is_of_some_and_no_contradiction_of_all(said: str) -> None:
    with pytest.raises(SymptomError):
        read_by_rules(said, load_harness(MODELS / "saloon_1970s.yaml"))


@pytest.mark.parametrize("said", [
    "I've got a dead left tail but no other trouble",  # that is no lamp that works
    "there's no light at the back but the front is fine",
    "I get a flickering left tail but not the right",
    "left tail gets brighter when I brake",
    "engine running, left tail dim",
    "left indicator flashes main beam",
    "left indicator flashes with the left one",  # as it should
    "fuse two amps too small",
    "the whole right tail lamp is dim",  # one lamp
    "left tail goes out when I brake",
    "dip switch works",
    "I can't get the left rear bulb out",
    "left works, right out",  # that one is out
    "the right dims",
    "I lost the bulb for the left tail",
    "it all dims on the right",
    "left brake light comes on when I brake, right doesn't",
    "left tail comes on, then stops dead",  # that it goes out
    "left indicator works, stops working when it rains",
    "wiper stops dead halfway",
    "the light on the dash is dim",
    "left tail works only when I hit it",
])
def test_what_is_no_such_turn_is_left_as_it_is(said: str) -> None:
    assert looks_plainly(said) == said


def test_what_is_said_of_the_car_is_not_said_of_its_trailer() -> None:
    """Nobody who says that the car is OK has looked at the trailer."""
    for said in ("car lights all OK, trailer has no brake lights", "car ok trailer brake lights dead"):
        heard_all = heard(said, "tow_7pin")
        assert "trailer left stop dark; trailer right stop dark" in heard_all
        assert "car left rear tail normal" in heard_all and "trailer left tail" not in heard_all
    assert "car left rear stop" not in heard("trailer OK", "tow_7pin")
    but_one = heard("nothing works on the trailer except the trailer left indicator", "tow_7pin")
    assert "trailer left indicator normal" in but_one and "trailer left tail dark" in but_one and "car" not in but_one


@pytest.mark.parametrize("said", [
    "right marker dead", "right marker light dead", "caravan right marker dead",
    "the caravan's offside marker light is dead"])
def test_a_lamp_by_its_name_may_be_called_a_light_of_its_vehicle(said: str) -> None:
    assert heard(said, "tow_13pin") == "right marker dark when lamp switch side"
