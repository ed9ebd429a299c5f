"""What somebody does with a control or with the hand, in whatever form it is told, and what else an outsider's
sentences turned on: "the moment the brake goes down", "give it a knock and it works", "never any other time", "not a
single light" (all sentences invented; common practice, no source). Each is held to all that it says.
"""

from __future__ import annotations

import pytest

from tests.observation.test_spoken_strangers import heard, own
from tracer.errors import SymptomError
from tracer.observation.words.act_idioms import acts_plainly
from tracer.observation.words.sentences import lexicon_of
from tracer.observation.words.spelling import spelled_right
from tracer.observation.words.symptoms import read_by_rules

UNDERSTOOD = (
    # What is done with a control, in whatever form it is told.
    ("saloon_1970s", "stepping on the brake makes the n/s front indicator glow",
     "left front indicator faint when brake pedal pressed"),
    ("saloon_1970s", "selecting reverse takes out fuse 2",
     "fuse F2 blows when gear reverse"),
    ("saloon_1970s", "selecting reverse blows F2 straight off",
     "fuse F2 blows at once when gear reverse"),
    ("saloon_1970s", "stick it in reverse and F2 goes",
     "fuse F2 blows when gear reverse"),
    ("saloon_1970s", "select reverse: the right tail glows and the right reversing lamp is dull",
     "right rear tail faint; right reversing lamp dim when gear reverse"),
    ("saloon_1970s", "right tail glows whenever we're in reverse",
     "right rear tail faint when gear reverse"),
    ("saloon_1970s", "tails go out as the brake goes down",
     "left rear tail dark; right rear tail dark when lamp switch side, brake pedal pressed / left rear "
     "tail lit; right rear tail lit when lamp switch side"),
    ("saloon_1970s", "brake goes on, tails go off",
     "left rear tail dark; right rear tail dark when lamp switch side, brake pedal pressed / left rear "
     "tail lit; right rear tail lit when lamp switch side"),
    ("saloon_1970s", "braking puts the tails out",
     "left rear tail dark; right rear tail dark when lamp switch side, brake pedal pressed / left rear "
     "tail lit; right rear tail lit when lamp switch side"),
    ("saloon_1970s", "flick to main and the left headlamp goes out",
     "left headlamp main dark when lamp switch head, dip switch main / left headlamp dip lit when lamp "
     "switch head"),
    ("saloon_1970s", "put the sides on and the left stop comes up",
     "left rear stop lit when lamp switch side"),
    ("estate_1990s", "signalling left it flashes double speed",
     "left rear indicator or left front indicator or left repeater lit, fast when indicator stalk left"),
    ("saloon_1970s", "nearside door doesn't bring the interior light on",
     "interior lamp dark when door open"),
    ("saloon_1970s", "push the horn button and nothing",
     "horn does not work when horn button pressed"),
    ("saloon_1970s", "horn button pressed, silence",
     "horn does not work when horn button pressed"),
    # What is done with the hand.
    ("saloon_1970s", "give the left tail a knock and it comes on",
     "left rear tail sometimes dark, as it is moved when lamp switch side"),
    ("saloon_1970s", "tapping the right tail brings it back",
     "right rear tail sometimes dark, as it is moved when lamp switch side"),
    ("saloon_1970s", "right brake light needs a thump to work",
     "right rear stop sometimes dark, as it is moved when brake pedal pressed"),
    ("saloon_1970s", "right tail lamp comes on with a thump",
     "right rear tail sometimes dark, as it is moved when lamp switch side"),
    ("saloon_1970s", "have to thump the right tail to get it to light",
     "right rear tail sometimes dark, as it is moved when lamp switch side"),
    # That it is so then, and never else.
    ("saloon_1970s", "the only time the left tail does anything is in reverse, and then it just glows",
     "left rear tail faint when gear reverse / left rear tail dark when lamp switch side"),
    ("saloon_1970s", "left tail won't light unless I reverse and then it glimmers",
     "left rear tail dark when lamp switch side / left rear tail faint when gear reverse"),
    ("saloon_1970s", "left tail dead, glows in reverse though",
     "left rear tail dark when lamp switch side / left rear tail faint when gear reverse"),
    ("saloon_1970s", "F2 holds until I brake",
     "fuse F2 blows when brake pedal pressed"),
    # A side alone is that of the lamp that was switched on.
    ("saloon_1970s", "when I switch to full beam the offside goes dark",
     "right headlamp main dark when lamp switch head, dip switch main"),
    ("saloon_1970s", "left goes out on main beam",
     "left headlamp main dark when lamp switch head, dip switch main / left headlamp dip lit when lamp "
     "switch head"),
    ("saloon_1970s", "nothing on dip, main OK",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main"),
    # What the indicators do in time, and how fast they go.
    ("saloon_1970s", "tails dip when I indicate",
     "left rear tail dim; right rear tail dim when lamp switch side, indicator stalk left / left rear tail "
     "dim; right rear tail dim when lamp switch side, indicator stalk right / left rear tail normal; right "
     "rear tail normal when lamp switch side"),
    ("saloon_1970s", "back lights fade with every flash of the indicators",
     "left rear tail dim; right rear tail dim when lamp switch side, indicator stalk left / left rear tail "
     "dim; right rear tail dim when lamp switch side, indicator stalk right / left rear tail normal; right "
     "rear tail normal when lamp switch side"),
    ("saloon_1970s", "left blinks fast, right blinks normal",
     "left rear indicator or left front indicator lit, fast when indicator stalk left / right rear "
     "indicator normal, flashing; right front indicator normal, flashing when indicator stalk right"),
    ("estate_1990s", "hazards ok, but indicating left is quick",
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator normal; left repeater normal; right repeater normal when hazard switch on / left rear "
     "indicator or left front indicator or left repeater lit, fast when indicator stalk left"),
    ("saloon_1970s", "indicators stop on, no blinking",
     "left rear indicator lit, steady; left front indicator lit, steady when indicator stalk left / right "
     "rear indicator lit, steady; right front indicator lit, steady when indicator stalk right"),
    # None at all, and what is still there.
    ("saloon_1970s", "there isn't a single light working at the rear",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear "
     "tail dark; left number-plate lamp dark; right number-plate lamp dark when lamp switch side / left "
     "rear indicator dark when indicator stalk left / right rear indicator dark when indicator stalk right "
     "/ left reversing lamp dark; right reversing lamp dark when gear reverse"),
    ("saloon_1970s", "fronts fine, not one light at the back works",
     "left front side normal; right front side normal; left rear tail dark; right rear tail dark; left "
     "number-plate lamp dark; right number-plate lamp dark when lamp switch side / left headlamp dip "
     "normal; right headlamp dip normal when lamp switch head / left rear stop dark; right rear stop dark "
     "when brake pedal pressed / left rear indicator dark when indicator stalk left / right rear indicator "
     "dark when indicator stalk right / left reversing lamp dark; right reversing lamp dark when gear "
     "reverse"),
    ("saloon_1970s", "no lights of any sort at the rear end",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear "
     "tail dark; left number-plate lamp dark; right number-plate lamp dark when lamp switch side / left "
     "rear indicator dark when indicator stalk left / right rear indicator dark when indicator stalk right "
     "/ left reversing lamp dark; right reversing lamp dark when gear reverse"),
    ("saloon_1970s", "no dipped beam on either side, still have main",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "car hasn't got a horn",
     "horn does not work when horn button pressed"),
    ("tow_7pin", "trailer has no tail lights but the car has",
     "trailer left tail dark; trailer right tail dark; car left rear tail normal; car right rear tail "
     "normal when lamp switch side"),
    ("tow_7pin", "trailer stop lights dead, car has both",
     "trailer left stop dark; trailer right stop dark; car left rear stop normal; car right rear stop "
     "normal when brake pedal pressed"),
    # A unit, a heading, and lists without commas.
    ("tow_13pin", "caravan left cluster all dead",
     "caravan left stop dark when brake pedal pressed / caravan left tail dark when lamp switch side / "
     "caravan left indicator dark when indicator stalk left / caravan left reversing dark when gear "
     "reverse"),
    ("tow_7pin", "trailer right side: nothing works",
     "trailer right stop dark when brake pedal pressed / trailer right tail dark when lamp switch side / "
     "trailer right indicator dark when indicator stalk right / trailer right fog dark when fog switch on"),
    ("saloon_1970s", "right rear tail, stop, indicator: all dead",
     "right rear tail dark when lamp switch side / right rear stop dark when brake pedal pressed / right "
     "rear indicator dark when indicator stalk right"),
    ("saloon_1970s", "no tail, stop or indicator at the right rear",
     "right rear tail dark when lamp switch side / right rear stop dark when brake pedal pressed / right "
     "rear indicator dark when indicator stalk right"),
    ("saloon_1970s", "left stop right tail dead",
     "left rear stop dark when brake pedal pressed / right rear tail dark when lamp switch side"),
    ("saloon_1970s", "left rear tail stop and indicator dead",
     "left rear tail dark when lamp switch side / left rear stop dark when brake pedal pressed / left rear "
     "indicator dark when indicator stalk left"),
    ("saloon_1970s", "head, side and tail lights fine, right stop poor",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left "
     "headlamp dip normal; right headlamp dip normal when lamp switch head / left front side normal; right "
     "front side normal; left rear tail normal; right rear tail normal when lamp switch side / right rear "
     "stop dim when brake pedal pressed"),
    ("saloon_1970s", "stop lamps: nothing either side",
     "left rear stop dark; right rear stop dark when brake pedal pressed"),
    # What is excepted, and how that does.
    ("rear_end", "everything works but the right stop, which is dim",
     "left rear stop normal; right rear stop dim when brake pedal pressed / left rear tail normal; right "
     "rear tail normal; number-plate lamp normal when lamp switch side / left rear indicator normal when "
     "indicator stalk left / right rear indicator normal when indicator stalk right"),
    ("rear_end", "no problems with the lights bar a dim stop on the right",
     "left rear stop normal; right rear stop dim when brake pedal pressed / left rear tail normal; right "
     "rear tail normal; number-plate lamp normal when lamp switch side / left rear indicator normal when "
     "indicator stalk left / right rear indicator normal when indicator stalk right"),
    # The engine, by whatever it is called.
    ("pickup", "headlights dim until the engine's running",
     "left headlamp dip dim; right headlamp dip dim when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main, engine running / left headlamp "
     "dip normal; right headlamp dip normal when lamp switch head, engine running"),
    ("pickup", "headlights weak with the engine stopped, bright when it's going",
     "left headlamp dip dim; right headlamp dip dim when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main, engine running / left headlamp "
     "dip normal; right headlamp dip normal when lamp switch head, engine running"),
    # Work that was done, and since when.
    ("pickup", "after the tow bar went on F3 started blowing",
     "fuse F3 blows when lamp switch side"),
    ("pickup", "had the wing welded and F3 has blown ever since",
     "fuse F3 blew when at rest"),
    ("pickup", "left headlight has gone dim since the bumper was off",
     "left headlamp dip dim when lamp switch head"),
    ("pickup", "F3 was fine until the tow bar was fitted, now it blows",
     "fuse F3 blows when lamp switch side"),
    ("saloon_1970s", "ever since LEDs went in the winkers don't flash",
     "left rear indicator does not flash; left front indicator does not flash when indicator stalk left / "
     "right rear indicator does not flash; right front indicator does not flash when indicator stalk right"),
    # A list of lamps, and what is done before the comma.
    ("saloon_1970s", "brake and tail lights dead",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear "
     "tail dark when lamp switch side"),
    ("saloon_1970s", "brake and the left tail goes dim",
     "left rear tail dim when lamp switch side, brake pedal pressed / left rear tail normal when lamp "
     "switch side"),
    ("saloon_1970s", "the reverse and brake lights don't work",
     "left reversing lamp dark; right reversing lamp dark when gear reverse / left rear stop dark; right "
     "rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "the tails are on, then I brake and they're off",
     "left rear tail normal; right rear tail normal when lamp switch side / left rear tail dark; right "
     "rear tail dark when lamp switch side, brake pedal pressed"),
    ("tow_7pin", "brakes on, trailer lights off",
     "trailer left tail dark; trailer right tail dark; trailer plate lamp dark when lamp switch side, "
     "brake pedal pressed / trailer left tail lit; trailer right tail lit; trailer plate lamp lit when "
     "lamp switch side"),
    ("saloon_1970s", "dipped out left and right, main OK",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "no dip either side but main's there",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; "
     "right headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "nearside rear: no tail light",
     "left rear tail dark when lamp switch side"),
    ("estate_1990s", "rear clusters both dead",
     "left rear tail dark; right rear tail dark when lamp switch side / left rear stop dark; right rear "
     "stop dark when brake pedal pressed / left rear indicator dark when indicator stalk left / left rear "
     "reversing dark; right rear reversing dark when gear reverse / left rear fog dark; right rear fog "
     "dark when lamp switch head, fog switch on / right rear indicator dark when indicator stalk right"),
    # A side that belongs to a door, or to the lamp that is lit, or to what was signalled.
    ("saloon_1970s", "left stop glows when the right tail light is on",
     "left rear stop faint when lamp switch side"),
    ("saloon_1970s", "interior lamp off with the left door open",
     "interior lamp dark when door open"),
    ("saloon_1970s", "left door doesn't operate the interior light",
     "interior lamp dark when door open"),
    ("saloon_1970s", "winkers stay lit when I signal right",
     "right rear indicator lit, steady; right front indicator lit, steady when indicator stalk right"),
    ("saloon_1970s", "tails go dim whenever I indicate left or right",
     "left rear tail dim; right rear tail dim when lamp switch side, indicator stalk left / left rear tail "
     "dim; right rear tail dim when lamp switch side, indicator stalk right / left rear tail normal; right "
     "rear tail normal when lamp switch side"),
    ("saloon_1970s", "indicators OK right, fast left",
     "right rear indicator normal; right front indicator normal when indicator stalk right / left rear "
     "indicator or left front indicator lit, fast when indicator stalk left"),
    # What stays on, and what does not.
    ("saloon_1970s", "brake lights never go out",
     "left rear stop lit; right rear stop lit when at rest"),
    ("saloon_1970s", "brake lights come on and stay on",
     "left rear stop lit; right rear stop lit when at rest"),
    ("saloon_1970s", "right stop won't stay on over cobbles",
     "right rear stop sometimes dark, as it is moved when brake pedal pressed"),
    ("saloon_1970s", "bumps make the left tail flicker",
     "left rear tail sometimes dark or faint or dim, as it is moved when lamp switch side"),
    # The foot is elsewhere.
    ("saloon_1970s", "brake lights on with nobody touching the pedal",
     "left rear stop lit; right rear stop lit when at rest"),
    ("saloon_1970s", "brake lights lit all the while",
     "left rear stop lit; right rear stop lit when at rest"),
)

ASKED = (
    ("tow_13pin", "caravan cluster all dead",  # of the left or of the right, and no marker nor plate lamp
     "caravan right stop dark when brake pedal pressed. caravan right tail dark when lamp switch side. "
     "caravan right indicator dark when indicator stalk right. caravan right fog dark when fog switch on"),
    ("saloon_1970s", "right reversing light fine, left tail flickers",
     "right reversing lamp normal, left rear tail sometimes faint or dim or normal when gear reverse"),
    ("saloon_1970s", "right reversing light fine, left tail flickers",
     "right reversing lamp normal when gear reverse. left rear tail sometimes dark or faint or dim when "
     "lamp switch side"),
    ("saloon_1970s", "left reversing lamp dull in reverse, left tail glows",
     "left reversing lamp dim, left rear tail faint when gear reverse"),
    ("pickup", "Left tail out. Other one fine, stop light good.",
     "left rear tail dark, right rear tail normal when lamp switch side. left rear stop normal when brake "
     "pedal pressed"),
    ("saloon_1970s", "tail lights pulsate in time with the indicators",
     "left rear tail lit, flashing, right rear tail lit, flashing when lamp switch side, indicator stalk "
     "left. left rear tail lit, flashing, right rear tail lit, flashing when lamp switch side, indicator "
     "stalk right"),
    ("tow_7pin", "trailer lights out when I brake",  # that burned before, or of the brake
     "trailer left tail dark, trailer right tail dark, trailer plate lamp dark when lamp switch side, brake pedal "
     "pressed"),
    ("tow_7pin", "trailer lights out when I brake",
     "trailer left stop dark, trailer right stop dark when brake pedal pressed"),
    ("motorcycle_6v", "headlamp dip dim at idle, bright when revved",  # of which the file knows one speed
     "headlamp dip dim when lamp switch head, engine running"),
)


@pytest.mark.parametrize(("model", "said", "meant"), UNDERSTOOD, ids=[said for _, said, _ in UNDERSTOOD])
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("model", "said", "offered"), ASKED)
def test_what_is_left_open_is_asked_with_the_right_choice(model: str, said: str, offered: str) -> None:
    with pytest.raises(SymptomError) as asked:
        read_by_rules(said, own(model).harness, own(model))
    assert offered in asked.value.choices[:3]


@pytest.mark.parametrize("said", [
    "brake and tail lights dead",  # a list of lamps
    "tail, brake and indicator all out on the left",
    "reverse and tail lights dim",
    "left tail cuts out when I hit a bump",  # the road does that
    "dim when I touch the brake",
    "brake light is on",
])
def test_what_is_no_act_is_left_as_it_is(said: str) -> None:
    assert acts_plainly(said) == said


@pytest.mark.parametrize(("typed", "put"), [
    ("teh left tail dosn't light", "the left tail doesn't light"),
    ("the left one dno't work", "the left one don't work"),
    ("niether plate lamp lights", "neither plate lamp lights"),
    ("leftrear stop out", "left rear stop out"),
    ("left tail gives a glow", "left tail gives a glow"),  # a word that there is
    ("putting the lights on", "putting the lights on"),
    ("when I drive", "when I drive"),
])
def test_little_words_are_put_right_and_other_words_are_left(typed: str, put: str) -> None:
    assert spelled_right(typed, lexicon_of(own("rear_end")))[0] == put


@pytest.mark.parametrize("typed", ["|0", "left |\ue005 dead"])
def test_the_sign_that_stands_for_a_circumstance_may_be_typed(typed: str) -> None:
    with pytest.raises(SymptomError):
        read_by_rules(typed, own("rear_end").harness, own("rear_end"))
