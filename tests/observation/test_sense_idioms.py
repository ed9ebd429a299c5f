"""What holds and what does not, in the words of the trade: "dead unless I brake", "all but the left", "the rest of
the dash", "not both at once" (all sentences invented; common practice, no source). Each is held to all that it says.
"""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tests.observation.test_spoken_strangers import heard
from tracer.errors import SymptomError
from tracer.harness.file.text import load_harness
from tracer.observation.words.sense_idioms import sense_plainly
from tracer.observation.words.symptoms import read_by_rules

UNDERSTOOD = (
    # What is excepted does the contrary, in the states in which the others were told.
    ("estate_1990s", "hazards OK apart from the n/s repeater",
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator normal; left repeater dark; right repeater normal when hazard switch on"),
    ("glass_fibre", "hazards all fine bar the offside front",
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator dark; left repeater normal; right repeater dark when hazard switch on"),
    ("trailer_7pin", "left side's dead except the indicator",
     "left lamp unit stop dark when brake pedal pressed / left lamp unit tail dark when side lights on / "
     "left lamp unit indicator normal when indicators left"),
    ("lorry_24v", "all markers out except the left rear",
     "left front marker dark; left rear marker normal; right front marker dark; right rear marker dark "
     "when lamp switch side"),
    ("estate_1990s", "brake lights fine except the middle one",
     "left rear stop normal; right rear stop normal; high stop lamp dark when brake pedal pressed"),
    ("estate_1990s", "hazards do everything but the left front",
     "left rear indicator normal; right rear indicator normal; left front indicator dark; right front "
     "indicator normal; left repeater dark; right repeater normal when hazard switch on"),
    ("glass_fibre", "hazards only flash three corners, near side front's dead",
     "left rear indicator normal; right rear indicator normal; left front indicator dark; right front "
     "indicator normal; left repeater dark; right repeater normal when hazard switch on"),
    ("estate_1990s", "left repeater is the only indicator that's not flashing",
     "left repeater does not flash; left rear indicator normal; left front indicator normal when "
     "indicator stalk left / right rear indicator normal; right front indicator normal; right repeater "
     "normal when indicator stalk right"),
    # The rest of some lamps, and not of all.
    ("saloon_1970s", "clock lamp out, rest of the dash lit",
     "clock lamp dark; speedometer lamp lit; fuel gauge lamp lit when lamp switch side"),
    ("estate_1990s", "nearside headlight dead on dip and main, everything else on that side is fine",
     "left headlamp dip dark when lamp switch head / left headlamp main dark when lamp switch head, dip "
     "switch main / left rear tail normal; left headlamp side normal when lamp switch side / left rear "
     "stop normal when brake pedal pressed / left rear indicator normal; left front indicator normal; "
     "left repeater normal when indicator stalk left / left rear reversing normal when gear reverse / "
     "left rear fog normal when lamp switch head, fog switch on"),
    ("estate_1990s", "repeaters dead both sides, the rest of the indicators grand",
     "left repeater dark; left rear indicator normal; left front indicator normal when indicator stalk "
     "left / right repeater dark; right rear indicator normal; right front indicator normal when "
     "indicator stalk right"),
    ("estate_1990s", "front left indicator out so the rest on that side go quick",
     "left front indicator dark; left rear indicator or left repeater lit, fast when indicator stalk left"),
    ("saloon_1970s", "all dead at the back, good at the front",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right "
     "rear tail dark; left number-plate lamp dark; right number-plate lamp dark; left front side normal; "
     "right front side normal when lamp switch side / left rear indicator dark; left front indicator "
     "normal when indicator stalk left / right rear indicator dark; right front indicator normal when "
     "indicator stalk right / left reversing lamp dark; right reversing lamp dark when gear reverse / "
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left"
     " headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("pickup", "two of the four dash lights are gone",
     "panel lamp 1 or panel lamp 2 or panel lamp 3 or panel lamp 4 dark when lamp switch side"),
    ("estate_1990s", "panel lamps all out bar one",
     "panel lamp 1 or panel lamp 2 or panel lamp 3 dark when lamp switch side"),
    # Unless.
    ("saloon_1970s", "left tail dead unless I bang it",
     "left rear tail sometimes dark, as it is moved when lamp switch side"),
    ("car_1950s", "left brake light doesn't work unless I indicate right",
     "left rear stop normal when brake pedal pressed, indicator stalk right / left rear stop dark when "
     "brake pedal pressed"),
    ("lorry_24v", "fog light won't go off unless I turn the headlamps off",
     "right rear fog lit when lamp switch head"),
    ("glass_fibre", "reversing light stays on unless it is in reverse",
     "reversing lamp lit when at rest / reversing lamp dark when gear reverse"),
    ("pickup", "no stop lights unless the parkers are on",
     "left rear stop normal; right rear stop normal when lamp switch side, brake pedal pressed / left "
     "rear stop dark; right rear stop dark when brake pedal pressed"),
    ("motorcycle_6v", "horn weak unless revved",
     "horn weak when horn button pressed / horn works when horn button pressed, engine running"),
    # Said of the one in the state in which it is said of the other.
    ("saloon_1970s", "right comes on with the brake, left doesn't",
     "right rear stop lit; left rear stop dark when brake pedal pressed"),
    ("pickup", "right tail comes on with the brake, left doesn't",
     "right rear tail lit; left rear tail dark when brake pedal pressed"),
    ("lorry_24v", "reversing bleeper sounds but no reverse light",
     "reversing buzzer works; left rear reversing dark when gear reverse"),
    ("glass_fibre", "brake lights very faint and the reversing lamp comes on too",
     "left rear stop faint; right rear stop faint; reversing lamp lit when brake pedal pressed"),
    ("estate_1990s", "fog warning light on dash but nothing at the back",
     "rear fog tell-tale normal; left rear fog dark; right rear fog dark when lamp switch head, fog "
     "switch on"),
    ("car_1950s", "when I indicate left with my foot on the brake both rear lamps flash",
     "left rear stop lit, flashing; right rear stop lit, flashing when brake pedal pressed, indicator "
     "stalk left"),
    ("motorcycle_6v", "indicators won't flash with the headlight on",
     "left front indicator does not flash; left rear indicator does not flash when lamp switch head, "
     "indicator switch left / right front indicator does not flash; right rear indicator does not flash "
     "when lamp switch head, indicator switch right"),
    ("saloon_1970s", "main beam warning light stays on with dipped",
     "main beam tell-tale lit when lamp switch head"),
    ("lorry_24v", "brake lights OK with lights off, with lights on they're dead",
     "left rear stop normal; right rear stop normal when brake pedal pressed / left rear stop dark; right"
     " rear stop dark when lamp switch side, brake pedal pressed"),
    ("saloon_led", "indicators flash alright with engine running, go mad with it off",
     "left rear indicator normal, flashing; left front indicator normal, flashing when indicator stalk "
     "left, engine running / right rear indicator normal, flashing; right front indicator normal, "
     "flashing when indicator stalk right, engine running / left rear indicator or left front indicator "
     "lit, fast when indicator stalk left / right rear indicator or right front indicator lit, fast when "
     "indicator stalk right"),
    ("glass_fibre", "hazards won't work with the lights on but they do with them off",
     "left rear indicator dark; right rear indicator dark; left front indicator dark; right front "
     "indicator dark; left repeater dark; right repeater dark when lamp switch side, hazard switch on / "
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator normal; left repeater normal; right repeater normal when hazard switch on"),
    ("pickup", "no dash lights when the headlights are on but they work on parkers",
     "panel lamp 1 dark; panel lamp 2 dark; panel lamp 3 dark; panel lamp 4 dark when lamp switch head / "
     "panel lamp 1 normal; panel lamp 2 normal; panel lamp 3 normal; panel lamp 4 normal when lamp switch"
     " side"),
    # Both, and not together; one in place of the other.
    ("motorcycle_6v", "brake light and tail light both work but not both at once",
     "rear lamp stop normal when brake lever pulled / rear lamp tail normal when lamp switch pilot / rear"
     " lamp stop or rear lamp tail dark when lamp switch pilot, brake lever pulled"),
    ("pickup", "left and right indicators do the opposite of each other",
     "right rear indicator lit; right front indicator lit; right repeater lit; left rear indicator dark; "
     "left front indicator dark; left repeater dark when indicator stalk left / left rear indicator lit; "
     "left front indicator lit; left repeater lit; right rear indicator dark; right front indicator dark;"
     " right repeater dark when indicator stalk right"),
    ("rear_end", "left side: tail and stop swapped round",
     "left rear stop lit; left rear tail dark when lamp switch side / left rear tail lit; left rear stop "
     "dark when brake pedal pressed"),
    ("pickup", "right blinker flashes both sides",
     "left rear indicator lit, flashing; right rear indicator lit, flashing; left front indicator lit, "
     "flashing; right front indicator lit, flashing when indicator stalk right"),
    ("tow_7pin", "trailer's left indicator flashes with the right on the car",
     "trailer left indicator lit, flashing when indicator stalk right"),
    # One side, end or beam, and the other.
    ("lorry_24v", "headlights ok on main but only the drivers side on dip",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / "
     "right headlamp dip normal when lamp switch head / left headlamp dip dark when lamp switch head"),
    ("pickup", "high beam only works on the left and the blue light's not coming on",
     "left headlamp main normal when lamp switch head, dip switch main / right headlamp main dark when "
     "lamp switch head, dip switch main / main beam tell-tale dark when lamp switch head, dip switch main"),
    ("tractor", "offside headlamp is weak on both beams, nearside is good",
     "right headlamp dip dim; left headlamp dip normal when lamp switch head / right headlamp main dim; "
     "left headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "left headlamp out on dip, right one out on main",
     "left headlamp dip dark when lamp switch head / right headlamp main dark when lamp switch head, dip "
     "switch main"),
    ("motorcycle_6v", "winkers flash at the front but stay on solid at the back",
     "left front indicator lit, flashing; left rear indicator lit, steady when indicator switch left / "
     "right front indicator lit, flashing; right rear indicator lit, steady when indicator switch right"),
    ("car_1950s", "indicator fine on left, on right it stays on without flashing",
     "left rear stop or left front indicator normal when indicator stalk left / right rear stop or right "
     "front indicator lit, steady when indicator stalk right"),
    ("saloon_1970s", "left back indicator stays lit, front left flashes very fast",
     "left rear indicator lit, steady; left front indicator lit, fast when indicator stalk left"),
    ("motorcycle_6v", "left front indicator out and the other left one's going like mad",
     "left front indicator dark; left rear indicator lit, fast when indicator switch left"),
    ("estate_1990s", "rear fog o/s out n/s ok, reverse n/s out o/s ok",
     "right rear fog dark; left rear fog normal when lamp switch head, fog switch on / left rear "
     "reversing dark; right rear reversing normal when gear reverse"),
    ("tow_7pin", "trailer plate light and right tail are dead, left tail is ok",
     "trailer plate lamp dark; trailer right tail dark; trailer left tail normal when lamp switch side"),
    ("tow_7pin", "trailer left indicator dead, car left one goes fast",
     "trailer left indicator dark; car left rear indicator lit, fast when indicator stalk left"),
    ("tow_7pin", "fog on the trailer lights but not on the car",
     "trailer right fog normal; car right rear fog dark when fog switch on"),
    ("glass_fibre", "left headlamp pod dead completely, right pod ok",
     "left headlamp dip dark; right headlamp dip normal when lamp switch head / left headlamp main dark; "
     "right headlamp main normal when lamp switch head, dip switch main"),
    ("motorcycle_6v", "front brake lever doesn't bring on the brake light but the pedal does",
     "rear lamp stop dark when brake lever pulled / rear lamp stop normal when brake pedal pressed"),
    ("motorcycle_6v", "brake light comes on with the back brake but the front lever does nothing",
     "rear lamp stop normal when brake pedal pressed / rear lamp stop dark when brake lever pulled"),
    ("lorry_24v", "no side markers down the near side, offside all good",
     "left front marker dark; left rear marker dark; right front marker normal; right rear marker normal "
     "when lamp switch side"),
    # And so on: what the second half leaves out.
    ("glass_fibre", "both rear lamps dim and the plate lamp, headlamps ok",
     "left rear tail dim; right rear tail dim; number-plate lamp dim when lamp switch side / left "
     "headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left "
     "headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("pickup", "no hazards no blinkers",
     "left rear indicator dark; right rear indicator dark; left front indicator dark; right front "
     "indicator dark; left repeater dark; right repeater dark when hazard switch on / left rear indicator"
     " dark; left front indicator dark; left repeater dark when indicator stalk left / right rear "
     "indicator dark; right front indicator dark; right repeater dark when indicator stalk right"),
    ("saloon_1970s", "main beam dead on the left only",
     "left headlamp main dark; right headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "left front indicator works the right rear one as well",
     "right rear indicator lit, flashing when indicator stalk left"),
    ("saloon_led", "left tail glows when the right indicator goes",
     "left rear tail faint when indicator stalk right"),
    ("estate_1990s", "right indicator's the only one that flashes",
     "right rear indicator or right front indicator or right repeater normal when indicator stalk right /"
     " left rear indicator dark; left front indicator dark; left repeater dark when indicator stalk left"),
    ("estate_1990s", "rear left: everything dead but the fog",
     "left rear tail dark when lamp switch side / left rear stop dark when brake pedal pressed / left "
     "rear indicator dark when indicator stalk left / left rear reversing dark when gear reverse / left "
     "rear fog normal when lamp switch head, fog switch on"),
    ("estate_1990s", "pressing the brake turns the reversing lights on",
     "left rear reversing lit; right rear reversing lit when brake pedal pressed"),
    ("saloon_1970s", "when braking with the lights on, both tails and both stops go very dim",
     "left rear tail faint or dim; right rear tail faint or dim; left rear stop faint or dim; right rear "
     "stop faint or dim when lamp switch side, brake pedal pressed"),
    ("lorry_24v", "work lamp works with the engine running, dead with it stopped",
     "work lamp normal when work switch on, engine running / work lamp dark when work switch on"),
    ("car_1950s", "panel light 1 out",
     "panel lamp 1 dark when lamp switch side"),
    ("tow_13pin", "left marker on the van flashes when I indicate left",
     "left marker lit, flashing when indicator stalk left"),
    # How, and when.
    ("pickup", "panel lamp 2 out, the others fine",
     "panel lamp 2 dark; panel lamp 1 normal; panel lamp 3 normal; panel lamp 4 normal when lamp switch "
     "side"),
    ("lorry_24v", "no tail lights with the headlamps on, fine on sidelights",
     "left rear tail dark; right rear tail dark when lamp switch head / left rear tail normal; right rear"
     " tail normal when lamp switch side"),
    ("motorcycle_6v", "the lever works the brake light, the pedal doesn't",
     "rear lamp stop normal when brake lever pulled / rear lamp stop dark when brake pedal pressed"),
    ("motorcycle_6v", "left winkers work, right ones light and stay lit",
     "left front indicator normal; left rear indicator normal when indicator switch left / right front "
     "indicator lit, steady; right rear indicator lit, steady when indicator switch right"),
    ("pickup", "blinkers blink once then stay on",
     "left rear indicator lit, steady; left front indicator lit, steady; left repeater lit, steady when "
     "indicator stalk left / right rear indicator lit, steady; right front indicator lit, steady; right "
     "repeater lit, steady when indicator stalk right"),
    ("estate_1990s", "handbrake light stays lit with the handbrake off",
     "handbrake tell-tale lit when at rest"),
    ("saloon_1970s", "brake lights were grand til I put the sidelights on, now neither of them comes up",
     "left rear stop normal; right rear stop normal when brake pedal pressed / left rear stop dark; right"
     " rear stop dark when lamp switch side, brake pedal pressed"),
    ("saloon_1970s", "interior light is on all the time whether the door is open or not",
     "interior lamp lit when at rest"),
    ("saloon_1970s", "interior light stays dimly lit",
     "interior lamp faint or dim when at rest"),
    ("saloon_led", "o/s brake light glows faintly with nothing on",
     "right rear stop faint when ignition off"),
    ("saloon_led", "all sidelights half as bright as they used to be",
     "left front side dim; right front side dim when lamp switch side"),
    ("saloon_led", "tail light left still glowing an hour after I parked it",
     "left rear tail faint when ignition off"),
    ("estate_1990s", "dash lights go out when I turn the dimmer down and don't come back",
     "panel lamp 1 dark; panel lamp 2 dark; panel lamp 3 dark when lamp switch side, panel dimmer low / "
     "panel lamp 1 lit; panel lamp 2 lit; panel lamp 3 lit when lamp switch side"),
    ("lorry_24v", "one tail is out, offside, and the plate light isnt great either",
     "right rear tail dark; number-plate lamp dark or faint or dim when lamp switch side"),
    ("motorcycle_6v", "speedo light flickers with the bars turned hard left",
     "speedometer lamp sometimes dark or faint or dim, as it is moved when lamp switch pilot"),
    ("tractor", "plough light nearside is flickering when I go over rough ground",
     "left rear work lamp sometimes dark or faint or dim, as it is moved when rear work switch on"),
    ("estate_1990s", "number plate lights only, no tails, no sides",
     "left number-plate lamp normal; right number-plate lamp normal; left rear tail dark; right rear tail"
     " dark; left headlamp side dark; right headlamp side dark when lamp switch side"),
    ("tractor", "beacon works but the work lights on the cab roof at the back won't",
     "left rear work lamp dark; right rear work lamp dark when rear work switch on"),
)


@pytest.mark.parametrize(("model", "said", "all_of_it"), UNDERSTOOD, ids=[s for _, s, _ in UNDERSTOOD])
def test_what_holds_and_what_does_not(model: str, said: str, all_of_it: str) -> None:
    assert heard(said, model) == all_of_it


@pytest.mark.parametrize(("model", "said", "offered"), [
    ("tow_7pin", "tails dead but stop works", (
        "car left rear tail dark, car right rear tail dark when lamp switch side. car left rear stop normal, car "
        "right rear stop normal when brake pedal pressed",
        "trailer left tail dark, trailer right tail dark when lamp switch side. trailer left stop normal, trailer "
        "right stop normal when brake pedal pressed")),
    ("estate_1990s", "reverse light works only if the headlights are on", (
        "left rear reversing normal when lamp switch head, gear reverse. left rear reversing dark when gear "
        "reverse",)),
    ("pickup", "headlights work one at a time, not both at once", (
        "left headlamp dip sometimes dark, right headlamp dip sometimes dark when lamp switch head",)),
    ("saloon_1970s", "each brake light works but not both at once", (
        "left rear stop sometimes dark, right rear stop sometimes dark when brake pedal pressed",)),
    ("saloon_1970s", "driver's door opens, no interior light, passenger door it works", (
        "interior lamp dark when door open",)),
    ("glass_fibre", "the two tell tales flash together", (
        "left tell-tale lit, flashing, right tell-tale lit, flashing when indicator stalk left",)),
    ("pickup", "one of the rego plate lights is out", (
        "left number-plate lamp dark when lamp switch side", "right number-plate lamp dark when lamp switch side")),
    ("tractor", "both rear lights go on and off with the indicators", (
        "left rear tail lit, flashing when indicator stalk left. right rear tail lit, flashing when indicator stalk "
        "right",)),
])
def test_a_choice_is_of_the_whole_sentence(model: str, said: str, offered: tuple[str, ...]) -> None:
    with pytest.raises(SymptomError) as asked:
        read_by_rules(said, load_harness(MODELS / f"{model}.yaml"))
    assert {*offered} <= {*asked.value.choices}


@pytest.mark.parametrize(("model", "said", "why"), [
    ("lorry_24v", "all the markers on the left are fine except the middle one", "except"),  # it has two
    ("pickup", "the left and right brake lights swap over", "burns together"),
    ("lorry_24v", "three markers out", "three"),  # which is not known
])
def test_what_cannot_be_settled_is_not_half_taken(model: str, said: str, why: str) -> None:
    with pytest.raises(SymptomError, match=why):
        read_by_rules(said, load_harness(MODELS / f"{model}.yaml"))


@pytest.mark.parametrize("said", [
    "“engine warm” does not say whether the engine runs or not",  # that is no "always"
    "the bar light is dead",
    "left tail works until I brake",
    "a sound like a relay",
    "two amps",
    "van lights ok but nothing on the trailer",
    "left stop works when I brake",
    "winkers work on the left but nowt on the right",
])
def test_what_is_no_such_turn_is_left_as_it_is(said: str) -> None:
    assert sense_plainly(said) == said
