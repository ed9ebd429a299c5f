"""Complaints of what is no lamp, and of what goes with it: fuses, loads, relays, tell-tales by colour, batteries,
work that was tried (all sentences invented; common practice, no source: how owners and tradesmen speak)."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tests.observation.test_loads_and_bulbs_said import own
from tests.observation.test_spoken_strangers import heard
from tracer.errors import TracerError
from tracer.harness.file.text import read_harness
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.speech_colours import COLOURS, shines
from tracer.observation.words.speech_looks import say_at
from tracer.observation.words.symptoms import read_by_rules

FUSES = (
    # That it went again is the history of a fuse that keeps blowing.
    ("saloon_1970s", "fuse 3 went again last night", "fuse F3 blows when lamp switch side"),
    ("pickup", "F4 burns out whenever it rains", "fuse F4 sometimes blows when lamp switch head, dip switch main"),
    ("pickup", "blows the stop lamp fuse once you press the pedal", "fuse F1 blows when brake pedal pressed"),
    ("pickup", "replaced fuse F1, blew again straight away with the brake",
     "fuse F1 blows at once when brake pedal pressed"),
    ("tractor", "cust states #5 fuse blows when horn pressed", "fuse F5 blows when horn button pressed"),
    ("estate_1990s", "rear fog fuse pops the second I switch the rear fogs on",
     "fuse F10 blows at once when lamp switch head, fog switch on"),
    ("saloon_1970s", "put a new fuse in F2, lasted five minutes", "fuse F2 blows after a while when at rest"),
    ("motorcycle_6v", "ignition fuse blown, put a new one in, gone again", "fuse F2 blows when at rest"),
    ("lorry_24v", "F6 gone again, second one this week", "fuse F6 blows when at rest"),
    ("tow_7pin", "F3 blows only with the trailer on", "fuse F3 blows when brake pedal pressed"),
    ("estate_1990s", "F7 lets go as soon as the brakes go on", "fuse F7 blows at once when brake pedal pressed"),
    ("tractor", "changed fuse 5 twice, both blew when horn was pressed", "fuse F5 blows when horn button pressed"),
    ("pickup", "every time it rains the indicator fuse goes", "fuse F2 sometimes blows when at rest"),
    ("car_1950s", "cust reports horn fuse blows on lock", "fuse F1 sometimes blows when at rest"),
    ("lorry_24v", "5 amp? no the 8a fuse for the work light keeps blowing when i switch it on",
     "fuse F9 blows when work switch on"),
    ("pickup", "Left main beam fuse keeps going, 3 gone since Monday",
     "fuse F4 blows when lamp switch head, dip switch main"),
    ("estate_1990s", "dip beam fuse on the left has blown twice this month", "fuse F3 blows when lamp switch head"),
    # Found so, once.
    ("pickup", "the F2 fuse is toast", "fuse F2 blew when at rest"),
    ("saloon_1970s", "fuse 3 went", "fuse F3 blew when at rest"),
    # By what hangs on it, and by what is printed on it.
    ("saloon_1970s", "blower fuse keeps blowing", "fuse F2 blows when at rest"),
    ("saloon_1970s", "it's the 15 amp horn fuse that keeps going", "fuse F1 blows when at rest"),
    ("tractor", "hi mate, so basically the wiper fuse goes after ten minutes", "fuse F9 blows after a while when "
     "wiper switch on"),
)


@pytest.mark.parametrize(("model", "said", "meant"), FUSES)
def test_fuses(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("model", "said", "meant"), [
    ("pickup", "fuse F1 holds when I brake", "fuse F1 holds when brake pedal pressed"),  # no history of new ones
    ("glass_fibre", "hazard fuse ok", "fuse F1 holds when horn button pressed"),  # the "hazard and horn fuse"
    ("saloon_1970s", "left tail out again", "left rear tail dark when lamp switch side"),
])
def test_what_is_no_fuse_that_keeps_blowing(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize(("model", "said"), [
    ("saloon_1970s", "eats fuses"), ("saloon_1970s", "the 8 amp fuse blows"), ("saloon_1970s", "goes through fuses"),
])
def test_which_fuse_is_asked_with_each_that_fits(model: str, said: str) -> None:
    choices = asked(said, model).choices
    assert choices and all(" blows when " in c for c in choices)
    if "8 amp" in said:  # F1 and F2 have 15 A
        assert [c.split()[1] for c in choices] == ["F3", "F4"]


def test_a_fuse_marked_with_a_word_of_lamps_is_not_those_lamps() -> None:
    """A fuse named "STOP" is spoken of as a fuse; "stop lamps" are lamps."""
    text = (MODELS / "rear_end.yaml").read_text(encoding="utf-8").replace("F3", "STOP")
    healthy = healthy_states(read_harness(text))
    for said, meant in (("stop lights dead", "left rear stop dark; right rear stop dark"),
                        ("stop fuse blown", "fuse STOP blew")):
        (symptom,) = read_by_rules(said, healthy.harness, healthy).symptoms
        assert "; ".join(s.says() for s in symptom.seen) == meant


@pytest.mark.parametrize(("said", "model"), [
    ("work light blows fuse after a few minutes", "saloon_1970s"), ("work light relay clicks", "saloon_1970s"),
    ("work light relay does nothing odd", "estate_1990s"),
])
def test_the_fuse_or_relay_of_what_is_not_there_is_asked(said: str, model: str) -> None:
    assert asked(said, model)


def test_amperes_that_the_file_does_not_have_are_asked() -> None:
    error = asked("the 10a fuse for the work light keeps blowing", "lorry_24v")  # it has 8 A
    assert error.choices[0] == "fuse F9 blows when work switch on"


def test_a_fuse_that_holds_with_something_unplugged_is_not_one_that_holds() -> None:
    assert asked("F2 holds with the trailer unplugged", "saloon_1970s").choices == (
        "fuse F2 blows when brake pedal pressed",)


@pytest.mark.parametrize(("model", "said", "meant"), [
    ("saloon_1970s", "tail lamps on both sides are dead, fuses OK",
     "left rear tail dark; right rear tail dark; fuse F3 holds; fuse F4 holds when lamp switch side"),
    ("pickup", "both headlights dead, the fuses are fine",
     "left headlamp dip dark; right headlamp dip dark; fuse F6 holds; fuse F7 holds when lamp switch head"),
    ("rear_end", "no tail lights and no number plate light, fuses good",
     "left rear tail dark; right rear tail dark; number-plate lamp dark; fuse F1 holds; fuse F2 holds "
     "when lamp switch side"),
])
def test_fuses_that_are_fine_are_those_of_what_was_complained_of(model: str, said: str, meant: str) -> None:
    """Each of them, in the state in which that is dead."""
    assert heard(said, model) == meant


@pytest.mark.parametrize(("said", "meant"), [
    ("all the lamps on the left", ()), ("everything on the left", ()),
    ("the rest of the lamps on the left", ("stop", "indicator")),
])
def test_all_of_a_side_has_the_one_in_it_that_was_told_of_and_the_rest_has_not(
    said: str, meant: tuple[str, ...]
) -> None:
    """All of them that can shine then: with the lights on that is the tail lamp alone, of which it was said before.
    The rest of them cannot be that one, and is what is left."""
    told = heard(f"the left tail light is dim and {said} are dim with the side lights on", "rear_end")
    assert told.startswith("left rear tail dim") and told.endswith("when lamp switch side")
    assert all(x in told for x in meant) and bool(meant) == ("left rear stop" in told)


def test_that_no_fuse_has_blown_is_that_they_hold() -> None:
    assert all(" holds" in c for c in asked("no fuse blown, left tail dead", "saloon_1970s").choices)


RELAYS = (
    # Heard where its coil is fed, which nobody says.
    ("glass_fibre", "horn relay doesn't click", "horn relay does not click when horn button pressed"),
    ("glass_fibre", "horn relay clicks but horn doesnt work",
     "horn relay clicks; horn does not work when horn button pressed"),
    ("estate_1990s", "dipped beam relay chatters", "dipped beam relay buzzes when lamp switch head"),
    ("tow_13pin", "the fridge relay doesn't click when the engine's running",
     "refrigerator relay does not click when engine running"),
    # The flasher unit by its other names; "no lamps", "nothing" after it are the indicators.
    ("saloon_1970s", "flasher clicks but no lamps come on",
     "flasher unit clicks; left rear indicator dark; left front indicator dark when indicator stalk left / right "
     "rear indicator dark; right front indicator dark when indicator stalk right"),
    ("bullets_1960s", "flasher relay ticks but nothing flashes",
     "flasher unit clicks; left rear indicator does not flash when indicator switch left / right rear indicator does "
     "not flash when indicator switch right"),
    ("saloon_1970s", "can't hear the indicators ticking any more",
     "flasher unit does not click when indicator stalk left"),
    ("glass_fibre", "click from the horn relay but the horn stays quiet",
     "horn relay clicks; horn does not work when horn button pressed"),
    ("glass_fibre", "no click from the horn relay", "horn relay does not click when horn button pressed"),
    ("estate_1990s", "fog relay doesn't click", "rear fog relay does not click when lamp switch head, fog switch on"),
    ("lorry_24v", "ticking fast when I go left",
     "left front indicator or left repeater or left rear indicator lit, fast when indicator stalk left"),
    ("saloon_1970s", "no clicking from the indicators but they flash OK",
     "flasher unit does not click; left rear indicator normal, flashing; left front indicator normal, flashing when "
     "indicator stalk left / right rear indicator normal, flashing; right front indicator normal, flashing when "
     "indicator stalk right"),
)


@pytest.mark.parametrize(("model", "said", "meant"), RELAYS)
def test_relays(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


def test_a_relay_that_is_not_named_is_asked() -> None:
    assert asked("relay under the dash chatters", "estate_1990s").choices == (
        "dipped beam relay buzzes when lamp switch head",
        "rear fog relay buzzes when lamp switch head, fog switch on", "buzzer relay buzzes when ignition on")


def test_a_flasher_that_clicks_once_does_not_tick() -> None:
    assert asked("flasher unit clicks once and that's it", "motorcycle_6v").choices[0] == (
        "flasher unit does not click when indicator switch left")


def test_a_horn_that_only_clicks_is_neither_sounding_nor_known_to_be_dead() -> None:
    assert asked("horn just clicks", "glass_fibre").choices[:2] == (
        "horn does not work, horn relay clicks when horn button pressed", "horn weak when horn button pressed")


@pytest.mark.parametrize(("model", "said", "meant"), [
    ("saloon_1970s", "horn sounds when i turn the wheel", "horn sometimes works when at rest"),
    ("saloon_1970s", "horn only works when I turn the wheel",
     "horn sometimes does not work when horn button pressed"),
    ("saloon_1970s", "horn sticks on", "horn works when at rest"),
    ("glass_fibre", "horn goes off when I turn right", "horn sometimes works when at rest"),
    ("tractor", "wiper motor dead, fuse ok", "wiper does not work; fuse F9 holds when wiper switch on"),
    ("saloon_1970s", "horn doesn't turn off", "horn works when at rest"),
    ("saloon_1970s", "blower does not turn", "heater blower does not work when blower switch on"),
    ("saloon_1970s", "blower runs fine", "heater blower works when blower switch on"),
    ("saloon_1970s", "heater motor runs slow", "heater blower weak when blower switch on"),
    ("saloon_1970s", "blower motor won't run", "heater blower does not work when blower switch on"),
    ("saloon_1970s", "heater fan slows down when I turn the lights on",
     "heater blower weak when lamp switch side, blower switch on"),
    ("tractor", "wipers stop when I put the lights on",
     "wiper works when wiper switch on / wiper does not work when lamp switch side, wiper switch on"),
    ("lorry_24v", "buzer dead in reverse", "reversing buzzer does not work when gear reverse"),
    ("tractor", "horn doesnt wrok", "horn does not work when horn button pressed"),
    ("saloon_1970s", "horn is permanently blaring", "horn works when at rest"),
    ("tractor", "horn works but not when the lights are on",
     "horn works when horn button pressed / horn does not work when lamp switch side, horn button pressed"),
    ("saloon_1970s", "heater blower only runs with the lights on",
     "heater blower works when lamp switch side, blower switch on / heater blower does not work when blower switch "
     "on"),
    ("lorry_24v", "no beep in reverse", "reversing buzzer does not work when gear reverse"),
    ("saloon_1970s", "horn works all the time", "horn works when horn button pressed"),
    ("tow_13pin", "caravan fridge won't run with the engine on",
     "refrigerator does not work when refrigerator switch on, engine running"),
    ("estate_1990s", "light buzzer goes on and on with lights off", "lights-on buzzer works when at rest"),
    ("lorry_24v", "reverse alarm beeps all the time", "reversing buzzer works when at rest"),
    ("lorry_24v", "back up beeper won't beep", "reversing buzzer does not work when gear reverse"),
])
def test_loads(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


TELL_TALES = (
    ("saloon_1970s", "blue light on the dash doesn't come on but main beam works",
     "main beam tell-tale dark; left headlamp main normal; right headlamp main normal when lamp switch head, dip "
     "switch main"),
    ("motorcycle_6v", "blue light stays on", "main beam tell-tale lit when at rest"),
    ("saloon_1970s", "the green light on the dash is on all the time", "indicator tell-tale lit when at rest"),
    ("pickup", "green one on the dash flashes fast on the left",
     "indicator tell-tale lit, fast when indicator stalk left"),
    ("estate_1990s", "orange light for the rear fog doesn't come on",
     "rear fog tell-tale dark when lamp switch head, fog switch on"),
    ("estate_1990s", "amber fog light on the dash won't go out", "rear fog tell-tale lit when at rest"),
    ("glass_fibre", "left green arrow stays on", "left tell-tale lit when at rest"),
    ("glass_fibre", "both green arrows on the dash flash together when I indicate left",
     "left tell-tale lit, flashing; right tell-tale lit, flashing when indicator stalk left"),
)


@pytest.mark.parametrize(("model", "said", "meant"), TELL_TALES)
def test_tell_tales_by_colour(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


def test_which_of_two_of_a_colour_is_asked_and_what_has_it_is_said_back() -> None:
    assert asked("red brake light on the dash stays on", "estate_1990s").choices == (
        "handbrake tell-tale lit when ignition on", "brake pad tell-tale lit when ignition on")
    told = read_by_rules("blue light stays on", own("motorcycle_6v").harness, own("motorcycle_6v"))
    assert "the blue one is main beam tell-tale" in told.assumed


def test_a_tell_tale_that_comes_on_is_asked_when() -> None:
    assert asked("red handbrake light comes on over bumps", "estate_1990s").choices == (
        "handbrake tell-tale sometimes lit, as it is moved when ignition on",
        "handbrake tell-tale sometimes dark, as it is moved when handbrake on")
    assert asked("both green lights on the dash come on together", "glass_fibre").choices[0] == (
        "left tell-tale lit, flashing, right tell-tale lit, flashing when indicator stalk left")


@pytest.mark.parametrize(("lamp", "colour"), [
    ("main beam tell-tale", "blue"), ("indicator tell-tale", "green"), ("rear fog tell-tale", "yellow"),
    ("brake tell-tale", "red"), ("hazard tell-tale", "red"), ("charge tell-tale", "red"),
])
def test_each_has_its_colour(lamp: str, colour: str) -> None:
    """UN R121, its table of symbols and colours (memory)."""
    own_colours = {c for c in COLOURS if shines(lamp, c)} - {"amber", "orange"}
    assert own_colours == {colour}


@pytest.mark.parametrize("said", [
    "red lights at the back dead", "yellow lights at the front dead", "the green light on the left rear is dim",
    "left orange light at the back not flashing",
])
def test_a_colour_outside_is_no_tell_tale(said: str) -> None:
    try:
        found = heard(said, "pickup")
    except TracerError as error:
        found = " ".join(error.choices)
    assert "tell-tale" not in found


@pytest.mark.parametrize(("model", "said", "meant", "story"), [
    ("pickup", "left tail out, new bulbs, same", "left rear tail dark when lamp switch side", "lamp found good"),
    ("saloon_1970s", "left headlight dim, swapped the bulbs over, fault stayed",
     "left headlamp dip dim when lamp switch head", "lamp found good"),
    ("saloon_1970s", "n/s headlamp out, bulb swapped with o/s, no change",
     "left headlamp dip dark when lamp switch head", "lamp found good"),
    ("saloon_1970s", "left tail flickers ever since the panel beater had it",
     "left rear tail sometimes dark or faint or dim when lamp switch side", "body repair"),
    ("saloon_1970s", "right stop out, put in a new bulb, still nothing",
     "right rear stop dark when brake pedal pressed", "lamp found good"),
    ("estate_1990s", "n/s rear fog not on, holder cleaned, bulb new",
     "left rear fog dark when lamp switch head, fog switch on", "lamp found good"),
    ("saloon_1970s", "horn stopped working after a wash", "horn does not work when horn button pressed", "washed"),
    ("pickup", "rhs stop dead, bulb is good tested on battery", "right rear stop dark when brake pedal pressed",
     "lamp found good"),
    ("saloon_1970s", "fitted a tow bar last week and now the left tail is dead",
     "left rear tail dark when lamp switch side", "trailer socket"),
    ("saloon_1970s", "fitted new bulbs last week and now the left tail is dead",
     "left rear tail dark when lamp switch side", "lamp changed"),
    ("estate_1990s", "right fog dead, it's got a new bulb in",
     "right rear fog dark when lamp switch head, fog switch on", "lamp found good"),
])
def test_what_was_tried_in_vain(model: str, said: str, meant: str, story: str) -> None:
    assert heard(said, model) == meant
    assert story in read_by_rules(said, own(model).harness, own(model)).story.work


@pytest.mark.parametrize(("model", "said", "unused"), [
    # The bulb it was, so that no lamp was found good.
    ("saloon_1970s", "left indicator dead. swapped over and the fault moved", "swapped over, the fault moved"),
    ("tow_7pin", "had the trailer on, now the car left tail is out", "had the trailer on"),
    ("tow_7pin", "trailer stop lamps dead, trailer fine on another car", "trailer fine on another car"),
    ("tow_7pin", "fine without trailer, with it on fuse 3 goes when braking", "fine without trailer"),
    ("tow_7pin", "F3 blows only with the trailer on", "only with the trailer on"),
])
def test_what_no_story_knows_is_said_back(model: str, said: str, unused: str) -> None:
    told = read_by_rules(said, own(model).harness, own(model))
    assert unused in told.unused and not told.story.work


def test_what_a_trailer_did_elsewhere_is_not_taken_for_here() -> None:
    with pytest.raises(TracerError, match="not said what was seen"):
        read_by_rules("trailer fine on another car", own("tow_7pin").harness, own("tow_7pin"))


@pytest.mark.parametrize("said", [
    "battery's flat every morning", "battery goes flat overnight", "something is draining the battery",
])
def test_a_flat_battery_is_answered_with_what_may_burn_unseen(said: str) -> None:
    error = asked(said, "saloon_1970s")
    assert "no look of a lamp" in error.message
    assert error.choices and all(c.endswith("lit when ignition off") for c in error.choices)


def test_charging_is_answered_with_where_to_measure() -> None:
    assert "voltmeter at the battery" in str(asked("battery not charging", "saloon_1970s").hint)


@pytest.mark.parametrize(("said", "meant"), [
    ("lights flicker with the revs", "engine running"), ("lights get brighter as you rev it", "engine running"),
    ("lights dim when it's ticking over", "engine running"), ("lights dim with the engine off", "lamp switch side"),
])
def test_revs_and_idle(said: str, meant: str) -> None:
    assert all(state.endswith(meant) for state in heard(said, "rear_end").split(" / "))


def test_interior_lamps_and_doors() -> None:
    assert heard("light in the caravan is dim", "tow_13pin") == "saloon lamp dim when saloon switch on"
    assert heard("dome light stays on with the doors shut", "saloon_1970s") == "interior lamp lit when at rest"
    assert heard("inside light flickers when I slam the door", "saloon_1970s") == (
        "interior lamp sometimes dark or faint or dim, as it is moved when door open")


def test_a_load_with_a_look_in_its_name_can_be_chosen() -> None:
    """The estate's "lights-on buzzer": what is offered of it is read back as that."""
    choices = asked("lights on buzzer doesn't work when I open the door", "estate_1990s").choices
    assert choices[0] == "lights-on buzzer does not work when ignition off, lamp switch side"
    for choice in choices:
        assert "lights-on buzzer" in heard(choice, "estate_1990s")


def asked(said: str, model: str) -> TracerError:
    with pytest.raises(TracerError) as caught:
        read_by_rules(said, own(model).harness, own(model))
    return caught.value


@pytest.mark.parametrize(("said", "words", "took"), [
    ("went out yesterday", {"dark"}, 2), ("does not light", {"dark"}, 3), ("does not", {"dark"}, 2),
    ("does not , the", {"dark"}, 2), ("went", {"dark"}, 1), ("work fine", {"normal"}, 2),
    ("on", {"dim", "bright", "normal", "faint"}, 1), ("on and", {"dim", "bright", "normal", "faint"}, 1),
    ("went last week", None, 0), ("does not matter", None, 0), ("lights", None, 0), ("light", None, 0),
    ("on the left", None, 0), ("on both", None, 0), ("full beam", None, 0), ("low beams", None, 0),
    ("work lamp", None, 0), ("work lights", None, 0), ("the left one", None, 0),
])
def test_what_is_said_takes_its_words_and_what_names_a_lamp_takes_none(
    said: str, words: set[str] | None, took: int
) -> None:
    """The longest that fits; "full beam" and "work lamp" are names, "on the left" is a place, and what goes on is not
    over yet."""
    say, size = say_at(said.split(), 0)
    assert size == took and (None if say is None else say.words) == words
    assert say_at(["x", *said.split()], 1) == (say, size)
