"""Sentences by a stranger's habits: trade words, wrong spelling, two clauses, work told beside it (all invented).

What is understood otherwise than it was meant is worse than what is not, so each is held to everything it says.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.library import MODELS
from tests.long import large_long
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness, read_harness
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.symptoms import read_by_rules


@cache
def own(model: str) -> HealthyStates:
    return healthy_states(load_harness(MODELS / f"{model}.yaml"))


def heard(said: str, model: str = "pickup") -> str:
    """All that was understood, state by state."""
    healthy, base = own(model), own(model).harness.state({})
    out = []
    for s in read_by_rules(said, healthy.harness, healthy).symptoms:
        moved = [f"{c} {p}" for c, p in s.state.positions if p != base[c]]
        moved += ["engine running"] * s.state.engine_running
        looks = [x.says() for x in s.seen] + ["everything else normal"] * s.others_normal
        only = "".join(f", only with {c}" for c in s.only)
        out.append(f"{'; '.join(looks)}{only} when {', '.join(moved) or 'at rest'}")
    return " / ".join(out)


UNDERSTOOD = (
    ("N/S/R indicator dead",
     "left rear indicator dark when indicator stalk left"),
    ("os tail lite dead",
     "right rear tail dark when lamp switch side"),
    ("os brake lite not working but the tail is fine",
     "right rear stop dark when brake pedal pressed / right rear tail normal when lamp switch side"),
    ("n/s tail intermittant, o/s fine",
     "left rear tail sometimes dark; right rear tail normal when lamp switch side"),
    ("left tail works, right doesnt",
     "left rear tail normal; right rear tail dark when lamp switch side"),
    ("left reverse light out, right is good",
     "left rear reversing dark; right rear reversing normal when gear reverse"),
    ("left tail works until I brake",
     "left rear tail normal when lamp switch side / left rear tail dark when lamp switch side, brake pedal "
     "pressed"),
    ("left tail light goes out when I brake, works otherwise",
     "left rear tail normal when lamp switch side / left rear tail dark when lamp switch side, brake pedal "
     "pressed"),
    ("left rear stop dark when brake pressed, everything else normal",
     "left rear stop dark; everything else normal when brake pedal pressed"),
    ("no dip on the left, main beam OK both sides",
     "left headlamp dip dark when lamp switch head / left headlamp main normal; right headlamp main normal when "
     "lamp switch head, dip switch main"),
    ("no tail light on the left, brake light works",
     "left rear tail dark when lamp switch side / left rear stop normal when brake pedal pressed"),
    ("no brake or tail lights",
     "left rear stop dark; right rear stop dark when brake pedal pressed / left rear tail dark; right rear tail "
     "dark when lamp switch side"),
    ("tail lights OK, no brake lights either side",
     "left rear tail normal; right rear tail normal when lamp switch side / left rear stop dark; right rear stop "
     "dark when brake pedal pressed"),
    ("both tails out but the brake lights work",
     "left rear tail dark; right rear tail dark when lamp switch side / left rear stop normal; right rear stop "
     "normal when brake pedal pressed"),
    ("hazards work but indicators dont",
     "left rear indicator normal; right rear indicator normal; left front indicator normal; right front "
     "indicator normal; left repeater normal; right repeater normal when hazard switch on / left rear indicator "
     "dark; left front indicator dark; left repeater dark when indicator stalk left / right rear indicator dark; "
     "right front indicator dark; right repeater dark when indicator stalk right"),
    ("hazards dont work at all",
     "left rear indicator dark; right rear indicator dark; left front indicator dark; right front indicator "
     "dark; left repeater dark; right repeater dark when hazard switch on"),
    ("left flasher ticks twice as fast as the right",
     "left rear indicator or left front indicator or left repeater lit, fast when indicator stalk left"),
    ("offside front winker wont flash",
     "right front indicator does not flash when indicator stalk right"),
    ("indicators come on but dont blink",
     "left rear indicator lit, steady; left front indicator lit, steady; left repeater lit, steady when "
     "indicator stalk left / right rear indicator lit, steady; right front indicator lit, steady; right repeater "
     "lit, steady when indicator stalk right"),
    ("brake lights work only with the lights on",
     "left rear stop normal; right rear stop normal when lamp switch side, brake pedal pressed / left rear stop "
     "dark; right rear stop dark when brake pedal pressed"),
    ("brake lights work with the lights on",
     "left rear stop normal; right rear stop normal when lamp switch side, brake pedal pressed"),
    ("brake light on the left goes dim when I switch the lights on",
     "left rear stop dim when lamp switch side, brake pedal pressed / left rear stop normal when brake pedal "
     "pressed"),
    ("the left rear lights up very faintly when braking",
     "left rear stop faint when brake pedal pressed"),
    ("when I press the brake both indicators light up at the back",
     "left rear indicator lit; right rear indicator lit when brake pedal pressed"),
    ("rear number plate light on all the time",
     "left number-plate lamp lit; right number-plate lamp lit when at rest"),
    ("nearside brake light stays on, offside OK",
     "left rear stop lit when at rest / right rear stop normal when brake pedal pressed"),
    ("brake lights stuck on",
     "left rear stop lit; right rear stop lit when at rest"),
    ("lights go bright when I rev it",
     "left rear tail bright; right rear tail bright; left front side bright; right front side bright when lamp "
     "switch side, engine running / left headlamp dip bright; right headlamp dip bright when lamp switch head, "
     "engine running"),
    ("headlamps go dim at tickover",
     "left headlamp dip dim; right headlamp dip dim when lamp switch head, engine running"),
    ("headlights dim when I brake",
     "left headlamp dip dim; right headlamp dip dim when lamp switch head, brake pedal pressed"),
    ("headlights flicker when I go over bumps",
     "left headlamp dip sometimes dark or faint or dim, as it is moved; right headlamp dip sometimes dark or "
     "faint or dim, as it is moved when lamp switch head"),
    ("left side light only works when I hit it",
     "left front side sometimes dark, as it is moved when lamp switch side"),
    ("fuse number 3 blows",
     "fuse F3 blows when lamp switch side"),
    ("fuse 1 keeps poping when I brake",
     "fuse F1 blows when brake pedal pressed"),
    ("fuse no. 1 blows when I put it in reverse",
     "fuse F1 blows when gear reverse"),
    ("no brake lights, checked the bulbs",
     "left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("left headlight out, new bulb fitted no change",
     "left headlamp dip dark when lamp switch head"),
    ("right brake light dead, changed the bulb, no difference",
     "right rear stop dark when brake pedal pressed"),
    ("main beam warning light not coming on",
     "main beam tell-tale dark when lamp switch head, dip switch main"),
    ("back left brake light isnt working",
     "left rear stop dark when brake pedal pressed"),
    ("the right hand indicator at the rear doesnt come on",
     "right rear indicator dark when indicator stalk right"),
    ("sidelights work, headlights dead",
     "left front side normal; right front side normal when lamp switch side / left headlamp dip dark; right "
     "headlamp dip dark when lamp switch head"),
    ("tail lights dead, brakes fine",
     "left rear tail dark; right rear tail dark when lamp switch side / left rear stop normal; right rear stop "
     "normal when brake pedal pressed"),
    ("both rear indicators dead, fronts flash fast",
     "left rear indicator dark; left front indicator or left repeater lit, fast when indicator stalk left / "
     "right rear indicator dark; right front indicator or right repeater lit, fast when indicator stalk right"),
    ("left brake light only works with the lights off",
     "left rear stop normal when brake pedal pressed / left rear stop dark when lamp switch side, brake pedal "
     "pressed"),
    ("left tail dark when the lights are on, the brake lights are fine",
     "left rear tail dark when lamp switch side / left rear stop normal; right rear stop normal when brake pedal "
     "pressed"),
    ("left tail flickers when the tailgate is slammed",
     "left rear tail sometimes dark or faint or dim, as it is moved when lamp switch side"),
    ("passenger side headlight out",
     "left headlamp dip dark when lamp switch head"),
    ("winkers work on the left but nowt on the right",
     "left rear indicator normal; left front indicator normal; left repeater normal when indicator stalk left / "
     "right rear indicator dark; right front indicator dark; right repeater dark when indicator stalk right"),
    ("hazards flash the left side only",
     "left rear indicator normal; left front indicator normal; left repeater normal when hazard switch on / right "
     "rear indicator dark; right front indicator dark; right repeater dark when hazard switch on"),
    ("dip beam only on the o/s",
     "right headlamp dip normal when lamp switch head / left headlamp dip dark when lamp switch head"),
    ("both head lamps only work on full beam",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left headlamp "
     "dip dark; right headlamp dip dark when lamp switch head"),
    ("tailights dont work but number plate lights do",
     "left rear tail dark; right rear tail dark; left number-plate lamp normal; right number-plate lamp normal when "
     "lamp switch side"),
    ("when I switch on the headlights the left tail goes out",
     "left rear tail dark when lamp switch head / left rear tail lit when lamp switch side"),
    ("left headlight goes out when I switch to full beam",
     "left headlamp main dark when lamp switch head, dip switch main / left headlamp dip lit when lamp switch head"),
    ("right rear indicator blinks dimly when I press the brake and the lights are on",
     "right rear indicator dim, flashing when lamp switch side, brake pedal pressed, indicator stalk right"),
    ("n/s tail light dimmer than the offside one",
     "left rear tail dim; left rear tail dimmer than right rear tail when lamp switch side"),
    ("left rear brake light half as bright as right",
     "left rear stop dim; left rear stop dimmer than right rear stop when brake pedal pressed"),
    ("left headlight glows dimly when right indicator is flashing",
     "left headlamp main or left headlamp dip dim when indicator stalk right"),
    ("brake lights permanently on even with pedal up",
     "left rear stop lit; right rear stop lit when at rest"),
    ("left indicator makes the sidelights flash",
     "left front side lit, flashing; right front side lit, flashing when indicator stalk left"),
    ("fuse F4 keeps going every few days",
     "fuse F4 sometimes blows when lamp switch head, dip switch main"),
)
# On models that have what they speak of.
ELSEWHERE = (
    ("saloon_1970s", "heater blower stops when I put the headlights on",
     "heater blower works when blower switch on / heater blower does not work when lamp switch head, blower switch "
     "on"),
    ("saloon_1970s", "brake lights work with ignition off but not on",
     "left rear stop lit; right rear stop lit when ignition off, brake pedal pressed / left rear stop dark; right "
     "rear stop dark when brake pedal pressed"),
    ("glass_fibre", "horn blows when I turn the lights on", "horn works when lamp switch side"),
    ("motorcycle_6v", "horn wont honk", "horn does not work when horn button pressed"),
    ("motorcycle_6v", "brake light works with the front brake but not the foot brake",
     "rear lamp stop normal when brake lever pulled / rear lamp stop dark when brake pedal pressed"),
    ("car_1950s", "trafficators dead both sides",
     "left rear stop dark; left front indicator dark when indicator stalk left / right rear stop dark; right front "
     "indicator dark when indicator stalk right"),
    ("car_1950s", "semaphores dead both sides",
     "left rear stop dark; left front indicator dark when indicator stalk left / right rear stop dark; right front "
     "indicator dark when indicator stalk right"),
    ("lorry_24v", "n/s marker lights out front and rear",
     "left front marker dark; left rear marker dark when lamp switch side"),
    ("tractor", "near side work light at the back dead", "left rear work lamp dark when rear work switch on"),
    ("tractor", "rear work lamps go off when i use the wipers",
     "left rear work lamp dark; right rear work lamp dark when rear work switch on, wiper switch on / left rear work "
     "lamp lit; right rear work lamp lit when rear work switch on"),
    ("tow_13pin", "caravan left tail dead, right fine",
     "caravan left tail dark; caravan right tail normal when lamp switch side"),
    ("tow_13pin", "fridge doesn't work when towing", "refrigerator does not work when refrigerator switch on"),
    ("lorry_24v", "all the markers down the nearside are out",
     "left front marker dark; left rear marker dark when lamp switch side"),
    ("estate_1990s", "high level brake light out, the other two ok",
     "high stop lamp dark; left rear stop normal; right rear stop normal when brake pedal pressed"),
    ("saloon_1970s", "interior lamp stays on with the door shut", "interior lamp lit when at rest"),
    ("lorry_24v", "no lights down the left hand side",
     "left front side dark; left front marker dark; left rear marker dark; left rear tail dark when lamp switch "
     "side"),
    ("saloon_1970s", "the reversing lights only work with the side lights on",
     "left reversing lamp normal; right reversing lamp normal when lamp switch side, gear reverse / left reversing "
     "lamp dark; right reversing lamp dark when gear reverse"),
    ("pickup", "left tail will only come on when I brake",
     "left rear tail normal when lamp switch side, brake pedal pressed / left rear tail dark when lamp switch side"),
    ("motorcycle_6v", "brake light only works with the front brake",
     "rear lamp stop normal when brake lever pulled / rear lamp stop dark when brake pedal pressed"),
    ("motorcycle_6v", "brake light works only when I use the brake pedal",
     "rear lamp stop normal when brake pedal pressed / rear lamp stop dark when brake lever pulled"),
    ("tractor", "horn only works with the lights on",
     "horn works when lamp switch side, horn button pressed / horn does not work when horn button pressed"),
    ("saloon_1970s", "both sidelights dim, brighten when engine is revved",
     "left front side dim; right front side dim when lamp switch side / left front side normal; right front side "
     "normal when lamp switch side, engine running"),
)


@pytest.mark.parametrize(("model", "said", "meant"), ELSEWHERE)
def test_on_a_vehicle_that_has_it(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("said", "meant"), UNDERSTOOD)
def test_it_is_understood_as_it_was_meant(said: str, meant: str) -> None:
    assert heard(said) == meant


@pytest.mark.parametrize("model", large_long(["estate_1990s", "lorry_24v", "saloon_1970s"]))
@pytest.mark.parametrize("said", [s for s, meant in UNDERSTOOD if "fuse" not in s and "hazard" not in s])
def test_on_other_vehicles_it_means_the_same(said: str, model: str) -> None:
    """The looks are the same, lamp for lamp, of the lamps that both have; where it is not understood, it is asked."""
    try:
        there = heard(said, model)
    except TracerError as error:
        assert error.choices or "has no" in str(error) or "do not have" in str(error), error
        return
    words = {"dark", "faint", "dim", "normal", "bright", "lit", "fast", "steady", "sometimes"}
    assert {w.strip(",;") for w in there.split()} & words == {w.strip(",;") for w in heard(said).split()} & words


@pytest.mark.parametrize("said", [
    "fuse 49 blows", "side lights and number plate out on one side", "left rear lamp flashes when I indicate right",
    "left tail tested dead", "headlight flasher does nothing", "repeaters don't flash on the left, front and rear ok",
    "left stoplight and left indicator come on together when braking", "indicators wont cancel",
    "rear lights go funny when I indicate left", "left rear lights play up when braking",
    "one headlamp brighter than the other on dip",
])
def test_rather_not_understood_than_wrongly(said: str) -> None:
    for model in ("pickup", "estate_1990s", "saloon_1970s"):
        with pytest.raises(TracerError):
            heard(said, model)


def test_it_is_asked_which_side_lamp_flashes_with_which_indicator() -> None:
    with pytest.raises(TracerError) as error:
        heard("sidelights flash when I use the indicators", "saloon_1970s")
    assert error.value.choices[:2] == (
        "left front side lit, flashing when indicator stalk left. right front side lit, flashing when indicator "
        "stalk right", "left front side lit, flashing, right front side lit, flashing when indicator stalk left. "
        "left front side lit, flashing, right front side lit, flashing when indicator stalk right")


def test_a_fuse_is_the_one_with_that_number() -> None:
    """On the pick-up a panel lamp has the number 2 as well, and hangs on another fuse."""
    assert heard("fuse 2 keeps popping").startswith("fuse F2 blows")


def test_what_was_done_is_said_back() -> None:
    healthy = own("pickup")
    told = read_by_rules("no brake lights, checked the bulbs", healthy.harness, healthy)
    assert "of the vehicle: before it: lamp found good at rear stop" in told.remark()


@pytest.mark.parametrize(("said", "model", "meant"), [
    # What only makes the next word stronger.
    ("indicators flash dead slow", "saloon_1970s", "slow"),
    ("left tail is bloody dim", "saloon_1970s", "left rear tail dim"),
    ("left tail dead", "saloon_1970s", "left rear tail dark"),
    # A buzzer is heard, as a horn is.
    ("reversing buzzer doesn't sound", "lorry_24v", "reversing buzzer does not work"),
    ("no buzzer in reverse", "lorry_24v", "reversing buzzer does not work"),
    ("the bleeper goes all the time", "lorry_24v", "reversing buzzer works"),
    ("buzzer never stops", "lorry_24v", "reversing buzzer works"),
    ("buzzer sounds with the lights off", "estate_1990s", "lights-on buzzer works"),
    ("no horn", "saloon_1970s", "horn does not work"),
    # What a lamp is called by its switch.
    ("plough lamp dark", "tractor", "left rear work lamp dark; right rear work lamp dark"),
    ("plough lamp doesn't work", "tractor", "left rear work lamp dark; right rear work lamp dark"),
    # A side alone, after a lamp in the middle.
    ("high level works, left and right don't", "estate_1990s",
     "high stop lamp normal; left rear stop dark; right rear stop dark"),
    ("high level brake light works, the other two don't", "estate_1990s",
     "high stop lamp normal; left rear stop dark; right rear stop dark"),
    # Whoever turns the dimmer down and sees no difference.
    ("Dash lights don't dim", "estate_1990s",
     "panel lamp 1 normal or bright; panel lamp 2 normal or bright; panel lamp 3 normal or bright"),
])
def test_everyday_speech_of_a_stranger(said: str, model: str, meant: str) -> None:
    assert meant in heard(said, model)


@pytest.mark.parametrize(("said", "model", "what"), [
    ("the buzzer doesn't sound", "saloon_1970s", "“buzzer” is not known here"),
    ("dash lights don't dim", "saloon_1970s", "is no position of a control of this vehicle"),
])
def test_what_the_vehicle_has_not_is_named(said: str, model: str, what: str) -> None:
    """Nor is it taken for another word that is one letter away ("buzzes")."""
    with pytest.raises(TracerError, match=what):
        heard(said, model)


@pytest.mark.parametrize(("said", "meant"), [
    # By whom it is told.
    ("my dad says the left tail light is out", "left rear tail dark when lamp switch side"),
    ("customer reckons that both brake lights are dead",
     "left rear stop dark; right rear stop dark when brake pedal pressed"),
    ("driver says left tail goes dim when he brakes",
     "left rear tail dim when lamp switch side, brake pedal pressed / left rear tail normal when lamp switch side"),
    # One beam alone.
    ("only main beam works",
     "left headlamp main normal; right headlamp main normal when lamp switch head, dip switch main / left headlamp "
     "dip dark; right headlamp dip dark when lamp switch head"),
    # A whole corner.
    ("the left side of the back is dead",
     "left rear stop dark when brake pedal pressed / left rear tail dark when lamp switch side / left rear indicator "
     "dark when indicator stalk left / left reversing lamp dark when gear reverse"),
    ("left rear: everything glows when indicating right",
     "left rear stop or left rear tail or left rear indicator or left reversing lamp faint when indicator stalk "
     "right"),
    ("left tail intermitant since it was pressure washed", "left rear tail sometimes dark when lamp switch side"),
    ("horn sounds on its own", "horn works when at rest"),
])
def test_who_says_it_and_how_much_of_it(said: str, meant: str) -> None:
    assert heard(said, "saloon_1970s") == meant


@pytest.mark.parametrize("said", ["one headlight out", "one of the brake lights is out", "one tail light dim"])
def test_one_of_them_leaves_open_which(said: str) -> None:
    """It was taken for all of them."""
    with pytest.raises(TracerError, match="leaves open which") as error:
        heard(said, "saloon_1970s")
    assert error.value.choices and all(c.count("left") + c.count("right") == 1 for c in error.value.choices)


def test_lights_on_is_said_of_the_control_that_is_called_so() -> None:
    """Not of another whose name has the word, and whose position is called on."""
    text = (MODELS / "rear_end.yaml").read_text(encoding="utf-8").replace(
        "  indicator stalk: [off, left, right]\n", "  indicator stalk: [off, left, right]\n"
        "  bench light switch: {positions: [off, on]}\n")
    told = read_by_rules("left stop goes dim with the lights on", read_harness(text, "bench"))
    assert all(s.state["bench light switch"] == "off" for s in told.symptoms)
    assert any(s.state["lamp switch"] == "side" for s in told.symptoms)
