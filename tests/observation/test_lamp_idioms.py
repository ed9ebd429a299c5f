"""Turns of phrase about lamps: sides, corners and beams, what one does to another, and one in the other's place (all
invented; common practice, no source: how tradesmen, owners and job cards put it). Each is held to all that it says.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tests.observation.test_spoken_strangers import heard
from tracer.errors import SymptomError
from tracer.faults import find_fault
from tracer.harness.file.text import load_harness
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.pulsing_lamps import by_phases
from tracer.observation.evidence import Test
from tracer.observation.words.lamp_idioms import lamps_plainly
from tracer.observation.words.symptoms import read_by_rules

UNDERSTOOD = (
    # Both beams, all lamps of a side and not the side lamps, a corner.
    ("pickup", "left headlight out on both beams",
     "left headlamp dip dark when lamp switch head / left headlamp main dark when lamp switch head, dip switch "
     "main"),
    ("saloon_1970s", "offside headlamp dim on both main and dip",
     "right headlamp dip dim when lamp switch head / right headlamp main dim when lamp switch head, dip switch "
     "main"),
    ("saloon_1970s", "n/s headlight, both beams out",
     "left headlamp dip dark when lamp switch head / left headlamp main dark when lamp switch head, dip switch "
     "main"),
    ("pickup", "all the right hand side lights out at the back",
     "right rear stop dark when brake pedal pressed / right rear tail dark when lamp switch side / right rear "
     "indicator dark when indicator stalk right / right rear reversing dark when gear reverse"),
    ("saloon_1970s", "nothing on the right front corner works",
     "right front side dark when lamp switch side / right front indicator dark when indicator stalk right / "
     "right headlamp main dark when lamp switch head, dip switch main / right headlamp dip dark when lamp switch"
     " head"),
    ("saloon_1970s", "headlights fine, no sidelights front or back",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left "
     "headlamp dip normal; right headlamp dip normal when lamp switch head / left front side dark; right front "
     "side dark; left rear tail dark; right rear tail dark when lamp switch side"),
    # What it does until something else is switched on, and what that does to it.
    ("pickup", "left tail light goes bright when I brake and the stop stays off",
     "left rear tail bright; left rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "brake lights work but go off when the indicator is on",
     "left rear stop normal; right rear stop normal when brake pedal pressed / left rear stop dark; right rear "
     "stop dark when brake pedal pressed, indicator stalk left / left rear stop dark; right rear stop dark when "
     "brake pedal pressed, indicator stalk right"),
    ("saloon_1970s", "with the lights on and my foot on the brake the left tail goes dim",
     "left rear tail dim when lamp switch side, brake pedal pressed / left rear tail normal when lamp switch "
     "side"),
    ("saloon_1970s", "pressing the brake dims the tail lights",
     "left rear tail dim; right rear tail dim when lamp switch side, brake pedal pressed / left rear tail "
     "normal; right rear tail normal when lamp switch side"),
    ("saloon_1970s", "the left indicator kills the left tail",
     "left rear tail dark when lamp switch side, indicator stalk left / left rear tail lit when lamp switch side"),
    ("saloon_1970s", "when the brake lights are on the left indicator doesn't flash",
     "left rear indicator or left front indicator does not flash when brake pedal pressed, indicator stalk left"),
    ("glass_fibre", "nsr tail goes out whenever I signal left and the stop on that side is only a glow",
     "left rear tail dark; left rear stop faint when lamp switch side, indicator stalk left / left rear tail lit"
     " when lamp switch side"),
    ("saloon_1970s", "reverse lights stay on in every gear",
     "left reversing lamp lit; right reversing lamp lit when at rest"),
    ("saloon_1970s", "reversing lamps won't go off even when it's not in reverse",
     "left reversing lamp lit; right reversing lamp lit when at rest"),
    ("estate_1990s", "right indicators don't flash on right turn but do on hazard",
     "right rear indicator does not flash; right front indicator does not flash; right repeater does not flash "
     "when indicator stalk right / right rear indicator lit, flashing; right front indicator lit, flashing when "
     "hazard switch on"),
    ("pickup", "stop lights won't work unless the lights are on",
     "left rear stop normal; right rear stop normal when lamp switch side, brake pedal pressed / left rear stop "
     "dark; right rear stop dark when brake pedal pressed"),
    ("pickup", "headlamps go off when I use main",
     "left headlamp main dark; right headlamp main dark when lamp switch head, dip switch main / left headlamp "
     "dip lit; right headlamp dip lit when lamp switch head"),
    ("pickup", "neither reversing lamp works but both come on dim with the tail lamps",
     "left rear reversing dark; right rear reversing dark when gear reverse / left rear reversing dim; right "
     "rear reversing dim when lamp switch side"),
    ("pickup", "tail lamp left is out and when I brake, it lights",
     "left rear tail dark when lamp switch side / left rear tail lit when brake pedal pressed"),
    # With the indicators: those of its own side.
    ("pickup", "left rear: tail and indicator pulse together",
     "left rear tail lit, flashing when lamp switch side, indicator stalk left / left rear indicator lit, "
     "flashing when indicator stalk left"),
    ("pickup", "indicator left: both sides flash",
     "left rear indicator lit, flashing; right rear indicator lit, flashing; left front indicator lit, flashing;"
     " right front indicator lit, flashing; left repeater lit, flashing; right repeater lit, flashing when "
     "indicator stalk left"),
    ("saloon_1970s", "indicators flash once and then stay on",
     "left rear indicator lit, steady; left front indicator lit, steady when indicator stalk left / right rear "
     "indicator lit, steady; right front indicator lit, steady when indicator stalk right"),
    # Which of several.
    ("estate_1990s", "third brake light out, two others ok",
     "high stop lamp dark; left rear stop normal; right rear stop normal when brake pedal pressed"),
    ("pickup", "only the left brake light works",
     "left rear stop normal when brake pedal pressed / right rear stop dark when brake pedal pressed"),
    ("pickup", "only left brake light works and the right comes on with the tail",
     "left rear stop normal when brake pedal pressed / right rear stop lit when lamp switch side"),
    ("pickup", "main beam on right only, dip both ok",
     "right headlamp main normal when lamp switch head, dip switch main / left headlamp main dark when lamp "
     "switch head, dip switch main / left headlamp dip normal; right headlamp dip normal when lamp switch head"),
    ("lorry_24v", "o/s rear indicator dead, marker on that side fine",
     "right rear indicator dark when indicator stalk right / right front marker or right rear marker normal when"
     " lamp switch side"),
    ("saloon_1970s", "back lights out, numberplate too",
     "left rear tail dark; right rear tail dark; left number-plate lamp dark; right number-plate lamp dark when "
     "lamp switch side"),
    ("pickup", "left number plate lamp out right one dim",
     "left number-plate lamp dark; right number-plate lamp dim when lamp switch side"),
    ("pickup", "right front side and tail out", "right front side dark; right rear tail dark when lamp switch side"),
    ("lorry_24v", "left hand tail lamp and marker lamps not working",
     "left rear tail dark; left front marker dark; left rear marker dark when lamp switch side"),
    ("tow_7pin", "trailer left stop, tail and fog dead",
     "trailer left stop dark when brake pedal pressed / trailer left tail dark when lamp switch side / trailer "
     "right fog dark when fog switch on"),
    ("tow_7pin", "trailer brake lights don't work, car's fine",
     "trailer left stop dark; trailer right stop dark; car left rear stop normal; car right rear stop normal "
     "when brake pedal pressed"),
    ("pickup", "no reversing lights but the fuse is fine",
     "left rear reversing dark; right rear reversing dark when gear reverse / fuse F1 holds when at rest"),
    # Which control does it.
    ("motorcycle_6v", "rear brake pedal doesn't put the brake light on but the lever does",
     "rear lamp stop dark when brake pedal pressed / rear lamp stop normal when brake lever pulled"),
    ("motorcycle_6v", "brake light stays on after I let go of the front lever", "rear lamp stop lit when at rest"),
    ("saloon_1970s", "brake pedal doesn't bring the stop lamps on",
     "left rear stop dark; right rear stop dark when brake pedal pressed"),
    # One in the other's place, and as bright as another.
    ("pickup", "left rear stop and tail are crossed",
     "left rear tail lit; left rear stop dark when brake pedal pressed / left rear stop lit; left rear tail dark"
     " when lamp switch side"),
    ("saloon_1970s", "indicators crossed over",
     "right rear indicator lit; right front indicator lit; left rear indicator dark; left front indicator dark "
     "when indicator stalk left / left rear indicator lit; left front indicator lit; right rear indicator dark; "
     "right front indicator dark when indicator stalk right"),
    ("tow_7pin", "trailer left indicator and right tail are mixed up",
     "trailer right tail lit; trailer left indicator dark when indicator stalk left / trailer left indicator "
     "lit; trailer right tail dark when lamp switch side"),
    ("pickup", "Reversing the truck, the left tail lamp lights instead of the reversing lamp on that side",
     "left rear tail lit; left rear reversing dark when gear reverse"),
    ("pickup", "left tail is as bright as a stop light", "left rear tail bright when lamp switch side"),
    ("pickup", "brake light on the left looks like a tail light", "left rear stop dim when brake pedal pressed"),
    # In the headlamp, and all of it.
    ("estate_1990s", "left side light in headlamp dead", "left headlamp side dark when lamp switch side"),
    ("estate_1990s", "the little light in the left headlamp doesn't work",
     "left headlamp side dark when lamp switch side"),
    ("estate_1990s", "left headlamp unit: nothing works",
     "left headlamp dip dark when lamp switch head / left headlamp main dark when lamp switch head, dip switch "
     "main"),
    # The stop lamp in the middle, alone or excepted.
    ("estate_1990s", "only the top brake light comes on",
     "high stop lamp normal; left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("estate_1990s", "brake lights out except the middle one",
     "high stop lamp normal; left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("estate_1990s", "reversing light left side only works",
     "left rear reversing normal when gear reverse / right rear reversing dark when gear reverse"),
    ("estate_1990s", "left indicator fast, front left dead",
     "left rear indicator or left front indicator or left repeater lit, fast; left front indicator dark when "
     "indicator stalk left"),
    ("estate_1990s", "hazard lights don't flash, indicators do",
     "left rear indicator does not flash; right rear indicator does not flash; left front indicator does not "
     "flash; right front indicator does not flash; left repeater does not flash; right repeater does not flash "
     "when hazard switch on / left rear indicator normal; left front indicator normal; left repeater normal when"
     " indicator stalk left / right rear indicator normal; right front indicator normal; right repeater normal "
     "when indicator stalk right"),
    # Held against the other side: no position of the indicators.
    ("lorry_24v", "left dipped beam very weak compared with the right",
     "left headlamp dip dim; left headlamp dip dimmer than right headlamp dip when lamp switch head"),
    ("lorry_24v", "off side tail lamp dimmer with the brakes on",
     "right rear tail dim when lamp switch side, brake pedal pressed / right rear tail normal when lamp switch "
     "side"),
    ("lorry_24v", "left rear indicator stays lit when it should flash",
     "left rear indicator lit, steady when indicator stalk left"),
    ("lorry_24v", "brake light on the offside comes on when nearside indicator is used",
     "right rear stop lit when indicator stalk left"),
    ("lorry_24v", "left stop lamp dead as is the tail",
     "left rear stop dark when brake pedal pressed / left rear tail dark when lamp switch side"),
    ("estate_1990s", "turning on the fogs makes the left tail go off",
     "left rear tail dark when lamp switch head, fog switch on / left rear tail lit when lamp switch head"),
    ("car_1950s", "when I brake the left indicator won't flash",
     "left rear stop or left front indicator does not flash when brake pedal pressed, indicator stalk left"),
    # A lamp and what sounds.
    ("motorcycle_6v", "horn and brake light both dead",
     "horn does not work when horn button pressed / rear lamp stop dark when brake lever pulled"),
    ("motorcycle_6v", "brake light and horn dead",
     "rear lamp stop dark when brake lever pulled / horn does not work when horn button pressed"),
    ("motorcycle_6v", "brake light doesn't work with front lever", "rear lamp stop dark when brake lever pulled"),
    ("motorcycle_6v", "headlight dims at idle", "headlamp dip dim when lamp switch head, engine running"),
    ("motorcycle_6v", "blinkers stay on solid when the engine idles",
     "left front indicator lit, steady; left rear indicator lit, steady when indicator switch left, engine "
     "running / right front indicator lit, steady; right rear indicator lit, steady when indicator switch right,"
     " engine running"),
    # By the position of the switch.
    ("saloon_1970s", "no dip, only main",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head / left headlamp main normal; right "
     "headlamp main normal when lamp switch head, dip switch main"),
    ("saloon_1970s", "lights work on side but not on head",
     "left front side normal; right front side normal when lamp switch side / left headlamp dip dark; right "
     "headlamp dip dark when lamp switch head"),
    ("saloon_1970s", "head position does nothing",
     "left headlamp dip dark; right headlamp dip dark when lamp switch head"),
    ("saloon_1970s", "when I go to headlights the sidelights go out",
     "left front side dark; right front side dark when lamp switch head / left front side lit; right front side "
     "lit when lamp switch side"),
    ("saloon_1970s", "on dip only the left one burns",
     "left headlamp dip normal when lamp switch head / right headlamp dip dark when lamp switch head"),
    ("saloon_1970s", "left headlamp burns on dip but not on main",
     "left headlamp dip normal when lamp switch head / left headlamp main dark when lamp switch head, dip switch"
     " main"),
    # All of a lamp, a place after two names, and what goes dim with what is switched on.
    ("pickup", "left rear lamp completely dead",
     "left rear stop dark when brake pedal pressed / left rear tail dark when lamp switch side / left rear "
     "indicator dark when indicator stalk left / left rear reversing dark when gear reverse"),
    ("pickup", "tail and stop on the right dead",
     "right rear tail dark when lamp switch side / right rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "everything goes dim when I put the lights on",
     "left rear tail dim; right rear tail dim; left number-plate lamp dim; right number-plate lamp dim; left "
     "front side dim; right front side dim; speedometer lamp dim; fuel gauge lamp dim; clock lamp dim when lamp "
     "switch side"),
    ("saloon_1970s", "left indicator works at the front only",
     "left front indicator normal when indicator stalk left / left rear indicator dark when indicator stalk left"),
    ("saloon_1970s", "number plate lamp out and the left tail with it",
     "left number-plate lamp dark; right number-plate lamp dark; left rear tail dark when lamp switch side"),
    # Words that mean another thing beside others.
    ("pickup", "blinker on the right side not blinking, just lit",
     "right rear indicator or right front indicator or right repeater lit, steady when indicator stalk right"),
    ("glass_fibre", "every light at the back glows when I brake",
     "left rear tail or left rear indicator or right rear tail or right rear indicator or reversing lamp or "
     "number-plate lamp faint when brake pedal pressed"),
    ("estate_1990s", "when the boot is open the number plate lights go off",
     "left number-plate lamp sometimes dark, as it is moved; right number-plate lamp sometimes dark, as it is "
     "moved when lamp switch side"),
    # As a job card has it.
    ("saloon_1970s", "LR tail out", "left rear tail dark when lamp switch side"),
    ("saloon_1970s", "RR stop lamp u/s", "right rear stop dark when brake pedal pressed"),
    ("saloon_1970s", "LHF indicator inop", "left front indicator dark when indicator stalk left"),
    ("saloon_1970s", "l front side n/w", "left front side dark when lamp switch side"),
    ("saloon_1970s", "check stop lamps - r/h not working", "right rear stop dark when brake pedal pressed"),
)


@pytest.mark.parametrize(("model", "said", "means"), UNDERSTOOD, ids=[f"{m}: {s[:60]}" for m, s, _ in UNDERSTOOD])
def test_turn_of_phrase(model: str, said: str, means: str) -> None:
    assert heard(said, model) == means


# As published cases would be told: what was seen is the source's, named in the table of the real cases; the words are
# ours, and the harness around it is invented.
TOLD = (
    ("R15", "stop lamps glow very faintly with the pedal up",
     "left rear stop faint; right rear stop faint when at rest"),
    ("R31", "only main beam, no dip",
     "left headlamp main normal; right headlamp main normal; left inner headlamp normal; right inner headlamp "
     "normal when lamp switch head, dip switch main / left headlamp dip dark; right headlamp dip dark when lamp "
     "switch head"),
    ("R33", "right rear indicator works again for a while if I wiggle it",
     "right rear indicator sometimes dark, as it is moved when indicator switch right"),
    ("R03", "front turn signals flash slowly and weakly with the headlights on, fine with the headlights off",
     "left front indicator dim, slow when lamp switch head, indicator stalk left / right front indicator dim, "
     "slow when lamp switch head, indicator stalk right / left front indicator normal when indicator stalk left "
     "/ right front indicator normal when indicator stalk right"),
    ("R11", "signal left: both stop lamps flash dimly with it",
     "left rear stop dim, flashing; right rear stop dim, flashing when indicator stalk left"),
    ("R29", "right indicator at double rate, right rear one dark",
     "right rear indicator or right front indicator or right repeater lit, fast; right rear indicator dark when "
     "indicator stalk right"),
    ("R35", "all indicators flash with the hazard switch but none with the indicator switch",
     "left front indicator normal; right front indicator normal; left rear indicator normal; right rear "
     "indicator normal when hazard switch on / left front indicator dark; left rear indicator dark when "
     "indicator switch left / right front indicator dark; right rear indicator dark when indicator switch right"),
    ("R39", "front side lamps sometimes work, sometimes not",
     "left front side sometimes dark; right front side sometimes dark when lamp switch side"),
    ("C07", "indicators stop flashing when hazard switch is pulled",
     "left front indicator does not flash; left rear indicator does not flash when indicator stalk left, hazard "
     "switch on / right front indicator does not flash; right rear indicator does not flash when indicator stalk"
     " right, hazard switch on"),
    ("C11", "all rear lamps on the trailer flash with either turn signal",
     "trailer left tail or trailer right stop or trailer right tail or trailer left marker or trailer right "
     "marker lit, flashing when indicator stalk left / trailer left stop or trailer left tail or trailer right "
     "tail or trailer left marker or trailer right marker lit, flashing when indicator stalk right"),
)


@pytest.mark.parametrize(("case", "said", "means"), TOLD, ids=[f"{c}: {s[:60]}" for c, s, _ in TOLD])
def test_published_case_in_the_words_of_who_had_it(case: str, said: str, means: str) -> None:
    assert heard(said, f"../tests/real_cases/{case}") == means


CHOSEN = (
    ("tractor", "only one headlight", "left headlamp dip dark when lamp switch head"),
    ("tractor", "I've only got one headlight working", "right headlamp dip dark when lamp switch head"),
    ("saloon_1970s", "stop and tail lights are mixed up",
     "right rear tail lit, right rear stop dark when brake pedal pressed. right rear stop lit, right rear tail dark "
     "when lamp switch side"),
    ("saloon_1970s", "right indicator lights up the brake light instead",
     "right rear stop lit when indicator stalk right. right rear indicator or right front indicator dark when "
     "indicator stalk right"),
    # What is said of other lamps is in every choice.
    ("../tests/real_cases/R43", "right rear lamp dark and right plate lamp dark",
     "right rear tail dark, right plate lamp dark when lamp switch side"),
    ("saloon_1970s", "indicator fast and the right tail is out",
     "right rear indicator or right front indicator lit, fast when indicator stalk right. right rear tail dark when "
     "lamp switch side"),
    ("lorry_24v", "left dip is dim with the right", "left headlamp dip dim when lamp switch head"),
    ("lorry_24v", "nearside rear lamp unit goes mad when you brake", "left rear stop dark when brake pedal pressed"),
    ("car_1950s", "one headlamp goes out when I dip", "left headlamp dip dark when lamp switch head"),
)


@pytest.mark.parametrize(("model", "said", "offered"), CHOSEN)
def test_what_is_left_open_is_asked_with_the_right_choice(model: str, said: str, offered: str) -> None:
    with pytest.raises(SymptomError) as asked:
        read_by_rules(said, load_harness(MODELS / f"{model}.yaml"))
    assert offered in asked.value.choices


@pytest.mark.parametrize("model", ["saloon_1970s", "estate_1990s"])
def test_lamps_in_each_others_place_that_are_not_there_are_said_so(model: str) -> None:
    with pytest.raises(SymptomError, match="this vehicle has no “trailer left indicator”"):
        read_by_rules("trailer left indicator and right tail are mixed up", load_harness(MODELS / f"{model}.yaml"))


@pytest.mark.parametrize("said", [
    "left tail out and the number plate is dim too",  # has a look of its own
    "left rear side light dim",  # one, and a side lamp
    "when the brake lights are on it works",
    "left stop out on that side of the road, right fine, left tail fine on that side",
    "the brake switch works",
    "left tail goes out when I signal left",
])
def test_what_is_no_such_turn_is_left_as_it_is(said: str) -> None:
    assert lamps_plainly(said).replace(" on the left", " on that side") == said


def test_who_comes_with_a_lamp_that_goes_out_in_time_may_say_that_it_goes_out() -> None:
    """The earth of the left rear unit of the plastic car is open (by hand below): with the side lamps on its tail
    filament has 12.4 V while the indicator is dark, and about 3.4 V while it should burn. So a driver says "the tail
    goes out when I signal left", or that it flashes. He is held to both phases, not to the brighter one."""
    own = tool_on(MODELS / "glass_fibre.yaml")
    state = own.harness.state({"lamp switch": "side", "indicator stalk": "left", "ignition": "on"})
    earth = find_fault(own.faults, "wire open: left rear.earth – G4")
    rows = [Hypothesis((), (), 1.0), Hypothesis((earth,), earth.variants[:1], 1.0)]
    panel = own.predictor.looks([(own.predictor.setup(state), own.predictor.table([h.change for h in rows]))])[0]
    healthy, lamp = own.predictor.healthy(state), own.predictor.lamp_index["left rear tail"]
    dim = by_phases(panel, lamp, healthy, lambda flux: (flux < -1.0).astype(float), unasked=True)
    assert dim.tolist() == [0.0, 1.0], "by whichever phase he comes with"
    asked = by_phases(panel, lamp, None, lambda flux: (flux < -1.0).astype(float))
    assert np.all(asked == 0.0), "without a sound vehicle to hold against, the brighter phase counts"


def test_what_the_tail_lamp_has_while_its_unit_has_no_earth() -> None:
    """By hand. Tail (from 12.35 V) and indicator (from 12.1 V) have only the stop filaments to go on through, the
    unit's own and the other side's, one after the other to earth, with g V at the unit's earth. Filaments by
    I = I0 (V / V0)^0.55, at V0 = 13.5 V 5 W and 25 W (UN R37: R5W, P21W objective values; the exponent as in rerating
    tables of lamp makers): 0.370 A and 1.852 A. With g = 9.0 V: 0.370 (3.35 / 13.5)^0.55 = 0.172 A and
    1.852 (3.1 / 13.5)^0.55 = 0.825 A come together, 1.852 (4.5 / 13.5)^0.55 = 1.012 A goes on; at 8.95 V
    it is 0.173 + 0.832 = 1.005 against 1.009. The wires between take the last hundredths."""
    own = tool_on(MODELS / "glass_fibre.yaml")
    earth = find_fault(own.faults, "wire open: left rear.earth – G4").variants[0].change
    state = own.harness.state({"lamp switch": "side", "indicator stalk": "left", "ignition": "on"})
    at_earth = own.predictor.observed(Test("volts", state, "left rear.earth", own.harness.reference), [earth])
    assert at_earth[0] == pytest.approx(8.95, abs=0.1)
    assert (12.35 - at_earth[0]) == pytest.approx(3.4, abs=0.1)
