"""Turns of phrase, and words that a word-for-word reading takes for something else (all invented; common practice, no
source: how tradesmen and owners speak). What is understood otherwise than it was meant is worse than what is not, so
each is held to everything it says."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tests.observation.test_spoken_strangers import heard
from tracer.errors import SymptomError
from tracer.harness.file.text import load_harness
from tracer.observation.words.idioms import said_plainly
from tracer.observation.words.symptoms import read_by_rules

BOTH_WAYS = ("left rear indicator dark; left front indicator dark when indicator stalk left / "
             "right rear indicator dark; right front indicator dark when indicator stalk right")

UNDERSTOOD = (
    # "It wants" is no position of a control.
    ("lorry_24v", "n/s/r indicator works when it wants",
     "left rear indicator sometimes dark when indicator stalk left"),
    ("saloon_1970s", "left tail works when it feels like it", "left rear tail sometimes dark when lamp switch side"),
    # "Back" is no place, "comes back" a lamp that is sound at times.
    ("saloon_1970s", "left tail goes out then comes back on its own",
     "left rear tail sometimes dark when lamp switch side"),
    ("saloon_1970s", "dip beam cuts out after ten minutes then comes back",
     "left headlamp dip sometimes dark; right headlamp dip sometimes dark when lamp switch head"),
    ("saloon_1970s", "left tail goes out after about 20 minutes",
     "left rear tail sometimes dark when lamp switch side"),
    # Steering moves a loom; it sets no control, and no indicator.
    ("motorcycle_6v", "lights go out when I turn the bars to the left",
     "headlamp dip sometimes dark, as it is moved when lamp switch head / headlamp pilot sometimes dark, as it is "
     "moved; rear lamp tail sometimes dark, as it is moved when lamp switch pilot"),
    ("saloon_1970s", "horn beeps on its own when turning the wheel", "horn sometimes works when at rest"),
    # With the foot pedal only: dead with the other.
    ("motorcycle_6v", "brake light only works from the foot pedal",
     "rear lamp stop normal when brake pedal pressed / rear lamp stop dark when brake lever pulled"),
    ("motorcycle_6v", "indicators work with engine running but not with it stopped",
     "left front indicator normal; left rear indicator normal when indicator switch left, engine running / right "
     "front indicator normal; right rear indicator normal when indicator switch right, engine running / left front "
     "indicator dark; left rear indicator dark when indicator switch left / right front indicator dark; right rear "
     "indicator dark when indicator switch right"),
    # "With it" is with what was told before.
    ("saloon_1970s", "left tail goes dim when I indicate left and flashes with it",
     "left rear tail dim, flashing when lamp switch side, indicator stalk left / left rear tail normal when lamp "
     "switch side"),
    # A side of the light switch; "on dip" is not "on".
    ("saloon_1970s", "main beam light on the dash stays on dim when lights are on dip",
     "main beam tell-tale dim when lamp switch head"),
    ("estate_1990s", "dash lights flicker when brake pressed",
     "panel lamp 1 sometimes faint or dim or normal; panel lamp 2 sometimes faint or dim or normal; panel lamp 3 "
     "sometimes faint or dim or normal when brake pedal pressed"),
    # What sounds goes off, and is heard.
    ("estate_1990s", "buzzer goes off with lights off", "lights-on buzzer works when at rest"),
    ("saloon_1970s", "horn goes off by itself", "horn works when at rest"),
    # "All bulbs" after lamps that were spoken of are theirs.
    ("saloon_1970s", "left indicators flash fast but all bulbs are working",
     "left rear indicator or left front indicator lit, fast; left rear indicator normal; left front indicator normal "
     "when indicator stalk left"),
    # To signal right lights nothing on the left.
    ("saloon_1970s", "indicators don't work when I signal right",
     "right rear indicator dark; right front indicator dark when indicator stalk right"),
    # "Stop" is what they do, "turn" what is done with the switch.
    ("saloon_1970s", "indicators stop when I turn the lights on",
     "left rear indicator dark; left front indicator dark when lamp switch side, indicator stalk left / right rear "
     "indicator dark; right front indicator dark when lamp switch side, indicator stalk right / left rear indicator "
     "lit; left front indicator lit when indicator stalk left / right rear indicator lit; right front indicator lit "
     "when indicator stalk right"),
    ("saloon_1970s", "speedo light out", "speedometer lamp dark when lamp switch side"),
    ("estate_1990s", "no lights at the back but fronts are ok",
     "left rear tail dark; right rear tail dark; left headlamp side normal; right headlamp side normal when lamp "
     "switch side / left headlamp dip normal; right headlamp dip normal when lamp switch head"),
    # That light is the one of the buzzer.
    ("lorry_24v", "reversing bleeper doesn't sound but light works",
     "reversing buzzer does not work; left rear reversing normal when gear reverse"),
    # Main beam was spoken of, though "headlight" alone is the dipped one.
    ("estate_1990s", "left headlight main beam not working",
     "left headlamp main dark when lamp switch head, dip switch main"),
    ("estate_1990s", "both dipped beams failed at the same time",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head"),
    # An exception is told after the rule.
    ("rear_end", "all the lights work but the brake lights are very dim",
     "left rear stop faint or dim; right rear stop faint or dim when brake pedal pressed / left rear tail "
     "normal; right "
     "rear tail normal; number-plate lamp normal when lamp switch side / left rear indicator normal when indicator "
     "stalk left / right rear indicator normal when indicator stalk right"),
    ("trailer_7pin", "nothing works on the trailer except the left indicator",
     "left lamp unit stop dark; right lamp unit stop dark when brake pedal pressed / left lamp unit tail dark; right "
     "lamp unit tail dark; plate lamp dark when side lights on / left lamp unit indicator normal when "
     "indicators left / "
     "right lamp unit indicator dark when indicators right / right lamp unit fog dark when fog switch on"),
    # A cluster is all of it; the fuse is that of what is wrong.
    ("rear_end", "right rear cluster completely dead",
     "right rear stop dark when brake pedal pressed / right rear tail dark when lamp switch side / right rear "
     "indicator "
     "dark when indicator stalk right"),
    ("estate_1990s", "brake lights dead, tail lights ok, fuse ok, bulbs ok",
     "left rear stop dark; right rear stop dark; high stop lamp dark; fuse F7 holds when brake pedal pressed / left "
     "rear tail normal; right rear tail normal when lamp switch side"),
    # How fast it flickers is its rate.
    ("estate_1990s", "right rear indicator flickers fast",
     "right rear indicator lit, fast when indicator stalk right"),
    ("estate_1990s", "wiggle the boot lid and the number plate lights come on",
     "left number-plate lamp sometimes dark, as it is moved; right number-plate lamp sometimes dark, as it is moved "
     "when lamp switch side"),
    ("saloon_1970s", "side lights very dim with engine off, ok with engine running",
     "left front side faint or dim; right front side faint or dim when lamp switch side / left front side normal; "
     "right front side normal when lamp switch side, engine running"),
    ("saloon_1970s", "with lights on and brakes on the tails go out",
     "left rear tail dark; right rear tail dark when lamp switch side, brake pedal pressed / left rear tail "
     "lit; right "
     "rear tail lit when lamp switch side"),
    ("motorcycle_6v", "horn makes the tail light dim", "rear lamp tail dim when lamp switch pilot, horn button "
     "pressed / rear lamp tail normal when lamp switch pilot"),
    ("tow_7pin", "caravan right indicator flashes the caravan tail lights",
     "trailer left tail lit, flashing; trailer right tail lit, flashing when indicator stalk right"),
    ("tow_13pin", "fridge not working while driving",
     "refrigerator does not work when refrigerator switch on, engine running"),
    ("estate_1990s", "left indicators do nothing, right ones fine",
     "left rear indicator dark; left front indicator dark; left repeater dark when indicator stalk left / right rear "
     "indicator normal; right front indicator normal; right repeater normal when indicator stalk right"),
    ("estate_1990s", "when I indicate left the left tail light goes dim with each flash",
     "left rear tail dim, flashing when lamp switch side, indicator stalk left / left rear tail normal when "
     "lamp switch "
     "side"),
    ("estate_1990s", "tailgate number plate light intermittent when opening and closing the boot",
     "left number-plate lamp sometimes dark, as it is moved; right number-plate lamp sometimes dark, as it is moved "
     "when lamp switch side"),
    ("estate_1990s", "left rear indicator works but the clicking is silent",
     "left rear indicator normal; flasher unit does not click when indicator stalk left"),
    ("saloon_1970s", "brake lights only work with side lights off",
     "left rear stop normal; right rear stop normal when brake pedal pressed / left rear stop dark; right rear stop "
     "dark when lamp switch side, brake pedal pressed"),
    ("saloon_1970s", "n/s headlamp dip and main both dead",
     "left headlamp dip dark when lamp switch head / left headlamp main dark when lamp switch head, dip switch main"),
    ("saloon_1970s", "blows fuse 3 as soon as sidelights go on", "fuse F3 blows at once when lamp switch side"),
    ("saloon_1970s", "passenger side tail light is out and so is the brake light on that side",
     "left rear tail dark when lamp switch side / left rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "right rear flasher works only if I hold the bulb",
     "right rear indicator sometimes dark, as it is moved when indicator stalk right"),
    # What glows all the time does so where nothing lights it.
    ("motorcycle_6v", "left flashers glow constantly when ignition on",
     "left front indicator faint; left rear indicator faint when at rest"),
    ("motorcycle_6v", "tail light glows constantly", "rear lamp tail faint when at rest"),
    ("tow_7pin", "rear fog on caravan wont go off", "trailer right fog lit when at rest"),
    # A lamp that flickers is switched on.
    ("lorry_24v", "work lamp flickers with engine running",
     "work lamp sometimes dark or faint or dim when work switch on, engine running"),
    ("lorry_24v", "o/s headlight out on dip, ok on full",
     "right headlamp dip dark when lamp switch head / right headlamp main normal when lamp switch head, dip "
     "switch main"),
    ("trailer_7pin", "left side light and number plate not working",
     "left lamp unit tail dark; plate lamp dark when side lights on"),
    ("saloon_1970s", "rear lights dead, front ok",
     "left rear tail dark; right rear tail dark; left front side normal; right front side normal when lamp "
     "switch side / "
     "left headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("saloon_1970s", "every time I hit the horn the left tail lamp dips",
     "left rear tail dim when lamp switch side, horn button pressed / left rear tail normal when lamp switch side"),
    ("saloon_1970s", "fuse 3 goes as soon as I start the engine", "fuse F3 blows at once when lamp switch side, "
     "engine running"),
    ("saloon_led", "left tail LED dead", "left rear tail dark when lamp switch side"),
    ("lorry_24v", "left rear marker stays lit after switching off", "left rear marker lit when at rest"),
    ("estate_1990s", "tail lights ok till you put foot on brake then left one goes out",
     "left rear tail normal; right rear tail normal when lamp switch side / left rear tail dark when lamp switch "
     "side, brake pedal pressed"),
    ("lorry_24v", "dips keep going off when hot",
     "left headlamp dip sometimes dark; right headlamp dip sometimes dark when lamp switch head"),
    ("car_1950s", "left dips out, right dips normal",
     "left headlamp dip dark; right headlamp dip normal when lamp switch head"),
    ("car_1950s", "sometimes the dips go out",
     "left headlamp dip sometimes dark; right headlamp dip sometimes dark when lamp switch head"),
    # The van is what the diagram calls the car.
    ("tow_7pin", "van indicators work", "car left rear indicator normal when indicator stalk left / car right rear "
                                        "indicator normal when indicator stalk right"),
)


@pytest.mark.parametrize(("model", "said", "meant"), UNDERSTOOD, ids=[s for _, s, _ in UNDERSTOOD])
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("said", "why", "choices"), [
    ("one headlight yellow, the other white", "leaves open which",
     ("left headlamp dip dim, right headlamp dip normal when lamp switch head",
      "right headlamp dip dim, left headlamp dip normal when lamp switch head")),
    ("new fuse blows straight away soon as I turn lights on", "leaves open which",
     ("fuse F4 blows at once when lamp switch side", "fuse F3 blows at once when lamp switch side")),
    ("fuse blew and now no side lights", "leaves open which",
     tuple(f"fuse {f} blew when lamp switch side. left front side dark, right front side dark when lamp switch side"
           for f in ("F3", "F4"))),
    ("beacon wont go", "“beacon” is no lamp, fuse or load of this vehicle", ()),
    ("battery goes flat overnight", "a battery that goes flat is no look of a lamp", ()),
    ("battery drains when parked", "a battery that goes flat is no look of a lamp", ()),
])
def test_is_asked_back(said: str, why: str, choices: tuple[str, ...]) -> None:
    with pytest.raises(SymptomError) as caught:
        read_by_rules(said, load_harness(MODELS / "saloon_1970s.yaml"))

    assert why in caught.value.message
    assert tuple(caught.value.choices)[: len(choices)] == choices


def test_a_fuse_that_blows_after_a_while_is_offered_and_read_back() -> None:
    """"After a while" is no "while" that begins a state."""
    with pytest.raises(SymptomError) as caught:
        read_by_rules("work light blows fuse after a few minutes", load_harness(MODELS / "tractor.yaml"))

    assert caught.value.choices == (
        "fuse F7 blows after a while when front work switch on",
        "fuse F8 blows after a while when rear work switch on")
    assert heard(caught.value.choices[0], "tractor") == "fuse F7 blows after a while when front work switch on"


@pytest.mark.parametrize("said", [
    "left rear stop dark when brake pedal pressed", "fuse F3 blows when lamp switch side", "works until I brake",
    "left tail out, everything else fine", "left stop fine, the other side dim", "as soon as I brake F2 blows",
    "turn signals on the left dead", "left rear stop sometimes dark, as it is moved",
])
def test_plain_words_stay_as_they_are(said: str) -> None:
    assert said_plainly(said) == said


def test_rain_is_no_main_beam() -> None:
    """One letter parts "rains" from "mains", and "till" from "still"; a first letter is seldom wrong."""
    assert "main" not in heard("F2 blows when it rains", "saloon_1970s")
