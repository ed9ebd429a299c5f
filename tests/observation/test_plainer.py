"""Turns of phrase that are put into plain words before anything is read: by what they say, whatever the words.

The tables are common practice, no source: how tradesmen and owners speak. Each sentence is made of its parts, so that
what it means follows from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import pytest

from tests.library import MODELS
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.asides import without_asides
from tracer.observation.words.plainer import plainer
from tracer.observation.words.symptoms import read_by_rules, written_as

_OWN = {model: healthy_states(load_harness(MODELS / f"{model}.yaml"))
        for model in ("saloon_1970s", "estate_1990s", "motorcycle_6v", "tow_7pin", "lorry_24v")}


def meant(said: str, model: str = "saloon_1970s") -> set[str]:
    own = _OWN[model]
    return {written_as(s, own.harness) for s in read_by_rules(said, own.harness, own).symptoms}


def choices(said: str, model: str = "saloon_1970s") -> list[set[str]]:
    own = _OWN[model]
    with pytest.raises(TracerError) as asked:
        read_by_rules(said, own.harness, own)
    return [set(c.split(". ")) for c in asked.value.choices]


_WHENS = {
    "gear reverse": (
        "when I'm backing up", "if she is going backwards", "upon engaging reverse", "when shifted into reverse",
        "with the van in reverse", "when the lad selects reverse", "every time you drop it in reverse",
        "when I pop it in reverse"),
    "brake pedal pressed": (
        "when I put my foot down on the brake", "when the pedal goes down", "each time the driver applies the brakes",
        "when slowing down", "when you stand on the brake pedal", "while I am braking"),
    "indicator stalk left": (
        "when the stalk is pushed to the left", "when I flick the stalk left", "while you're signalling left",
        "when I put the indicator to the left", "with the left indicator going"),
}
_ACTS = [(when, state) for state, whens in _WHENS.items() for when in whens]


@pytest.mark.parametrize(("when", "state"), _ACTS, ids=[when for when, _ in _ACTS])
def test_a_run_of_small_words_is_when_the_control_is_so(when: str, state: str) -> None:
    """Said last, first, and first with a comma: a plate lamp that glows where it should be dark."""
    glows = {f"left number-plate lamp faint when {state}"}
    for said in (f"left number plate light glows {when}", f"{when} the left number plate light glows",
                 f"{when}, the left number plate light glows"):
        assert meant(said) == glows, said


@pytest.mark.parametrize("said", ["left rear stop dim when brake pedal pressed", "left rear tail dark when gear "
 "reverse",
                                  "left rear indicator dim when indicator stalk left"])
def test_a_control_by_its_own_name_is_left_as_it_is(said: str) -> None:
    assert plainer(said) == said


@pytest.mark.parametrize("said", [
    "when gearbox reverse", "left tail dark with the brake pedal up", "brake light out when I use the brake lever",
    "left tail dim when the reverse light is on", "F2 blows when braking and reversing", "right tail comes on in "
     "reverse",
    "brake lights on until the brakes are released"])
def test_what_follows_may_make_it_another_thing(said: str) -> None:
    """Of a lever, a lamp or two controls, or the contrary: nothing is put in other words."""
    assert plainer(said) == said


@pytest.mark.parametrize("foot", [
    "foot nowhere near the pedal", "not touching the brake", "even with my foot off the brake", "foot well off the "
     "pedal",
    "nobody touching the brakes", "even when I take my foot off"])
def test_a_foot_that_is_off_is_the_brake_released(foot: str) -> None:
    assert meant(f"right stop light comes on with the sidelights, {foot}") == {"right rear stop lit when lamp "
     "switch side"}


@pytest.mark.parametrize("back", [
    "comes back when I let go", "and it comes back on when I release the pedal", "back on again with the brake off",
    "fine again when I let off"])
def test_what_comes_back_without_it_says_no_more_than_that_it_goes_out(back: str) -> None:
    assert meant(f"left tail goes out when I brake, {back}") == meant("left tail goes out when I brake")


_GLOWS = ("shows a dull glow", "gives off a faint glow", "has a bit of a glow to it", "sort of glows", "glows dull "
 "red",
          "half glows", "gives a dim red glow", "lights up a tiny bit", "only just glows")


@pytest.mark.parametrize("glows", _GLOWS)
def test_a_glow_in_a_noun_or_with_its_colour_is_that_it_glows(glows: str) -> None:
    assert meant(f"right tail light {glows} when I brake") == {"right rear tail faint when brake pedal pressed"}


def test_there_is_a_glow_in_something() -> None:
    assert meant("braking brings up a glow in the left rear winker") == {"left rear indicator faint when brake "
     "pedal pressed"}
    assert meant("there's a faint glow from the right tail in reverse") == {"right rear tail faint when gear reverse"}


_SIDE, _OTHER = ("on the left", "on the n/s", "to the left"), (
    "right is fine", "but they're OK on the right", "right ones normal", "o/s at the proper rate", "fine on the "
     "right")


@pytest.mark.parametrize(("rate", "side", "other"), [*product(("race", "go mad", "flash too fast"), _SIDE, _OTHER)])
def test_the_other_side_of_a_rate_is_that_of_its_indicators(rate: str, side: str, other: str) -> None:
    assert meant(f"flashers {rate} {side}, {other}") == {
        "left rear indicator or left front indicator lit, fast when indicator stalk left",
        "right rear indicator normal, right front indicator normal when indicator stalk right"}


def test_the_other_way_of_a_fuse_and_of_a_tell_tale() -> None:
    assert meant("F2 blows when I indicate left, right is fine") == {
        "fuse F2 blows when indicator stalk left", "fuse F2 holds when indicator stalk right"}
    assert meant("no green arrow when I signal right, left is ok") == {
        "indicator tell-tale dark when indicator stalk right", "indicator tell-tale normal when indicator stalk left"}


@pytest.mark.parametrize("both", ["both sides the same", "left and right", "on both sides", "both of them",
 "n/s and o/s"])
def test_both_alike_adds_nothing_to_what_is_told_of_several(both: str) -> None:
    assert meant(f"tail lights dim, {both}") == meant("tail lights dim")
    assert meant(f"dipped beam dead, {both}") == meant("both dipped beams dead")


def test_a_third_lamp_is_not_left_out_by_both() -> None:
    """"Left and right" beside the high one are two of three."""
    assert meant("brake lights dead left and right, high one works", "estate_1990s") == {
        "left rear stop dark, right rear stop dark, high stop lamp normal when brake pedal pressed"}


_STEADY = {f"{side} rear indicator lit, steady, {side} front indicator lit, steady when indicator stalk {side}"
           for side in ("left", "right")}


@pytest.mark.parametrize("said", [
    "neither side flashes, the bulbs come on though", "no blinking, the winkers burn all the time", "indicators "
     "light but won't wink",
    "turn signals are lighting but they are not flashing", "I get a steady light instead of a flash from the "
     "indicators",
    "flashers come on and stay on"])
def test_lit_and_not_flashing_in_any_order(said: str) -> None:
    assert meant(said) == _STEADY


def test_one_side_that_does_not_flash_tells_nothing_of_the_other() -> None:
    assert all("left" in s for s in meant("left indicators just stay on, not flashing"))
    told = meant("left winkers stay on without flashing, right ones flash")
    assert {"steady" in s for s in told if "stalk right" in s} == {False}


@pytest.mark.parametrize(("said", "is_meant"), [
    ("number two fuse keeps popping", "fuse F2 blows when ignition on"),
    ("fuse number three blows with the lights on", "fuse F3 blows when lamp switch side"),
    ("F2 blows when I brake, holds otherwise", "fuse F2 blows when brake pedal pressed"),
    ("the fuse holds up until I brake then it goes", "fuse F2 blows when brake pedal pressed"),
    ("can't brake without blowing the fuse", "fuse F2 blows when brake pedal pressed"),
    ("bang goes F2 when I brake", "fuse F2 blows when brake pedal pressed"),
    ("I keep having to change F3", "fuse F3 blows when lamp switch side"),
])
def test_fuses(said: str, is_meant: str) -> None:
    assert meant(said) == {is_meant}


@pytest.mark.parametrize("since", ["after the new radio went in", "since the new radio went in", "after fitting a "
 "new radio"])
def test_since_what_work_a_fuse_blows_is_kept(since: str) -> None:
    own = _OWN["saloon_1970s"]
    told = read_by_rules(f"F3 keeps blowing {since}", own.harness, own)
    assert "radio" in told.story.since
    assert [k.says() for s in told.symptoms for k in s.seen] == ["fuse F3 blows"]


@pytest.mark.parametrize("said", [
    "I press the horn and get nothing", "nothing when I push the horn", "no horn when I press the button",
     "nothing from the horn",
    "hit the horn, not a peep", "nothing when I press the horn, not even a click", "audible warning device "
     "inoperative"])
def test_a_horn_that_gives_nothing_is_no_lamp_that_is_dark(said: str) -> None:
    assert meant(said) == {"horn does not work when horn button pressed"}


@pytest.mark.parametrize("said", [
    "everything's dull with the engine stopped, brightens up when she's running", "all lights dim engine off, fine "
     "with some revs",
    "engine off and all me lights are weak, start her up they're fine"])
def test_dim_without_the_engine_and_well_with_it_is_told_of_all_in_both(said: str) -> None:
    told = meant(said)
    assert "left rear stop dim, right rear stop dim when brake pedal pressed" in told
    assert "left rear stop normal, right rear stop normal when brake pedal pressed, engine running" in told
    assert {" dim" in s for s in told if "engine running" not in s} == {True}


def test_what_sits_in_a_cluster_is_dead_with_it_and_no_lamp_beside_it() -> None:
    unit = {f"left rear {lamp} dark when {state}" for lamp, state in (
        ("stop", "brake pedal pressed"), ("tail", "lamp switch side"), ("indicator", "indicator stalk left"))}
    for said in ("whole left rear cluster dead", "nothing working in the n/s rear cluster", "the entire left rear "
     "lamp unit is dead",
                 "the whole taillight assembly on the left is out"):
        assert meant(said) == unit, said
    assert meant("everything at the left rear is dead") == unit | {"left reversing lamp dark when gear reverse"}


@pytest.mark.parametrize("said", ["no rear lights", "no rear lights work", "no back lights whatsoever"])
def test_no_rear_lights_are_the_tail_lamps_or_all_that_is_there(said: str) -> None:
    everything = meant("everything at the rear is dead")
    tails = {"left rear tail dark, right rear tail dark when lamp switch side"}
    if "whatsoever" in said:
        assert meant(said) == everything
    else:
        assert choices(said) == [tails, everything]


@pytest.mark.parametrize(("said", "dropped"), [
    ("Unit 12: left tail out", "Unit 12"), ("left tail out, customer stopped by the police", "customer stopped by "
     "the police"),
    ("left tail out, so probably a bad earth", "so probably a bad earth"), ("failed its MOT on left tail light out",
     "failed its MOT on"),
    ("left tail out, battery is flat every morning", "battery is flat every morning"), ("left tail out driver "
     "reports", "driver reports"),
])
def test_an_aside_is_said_back_as_not_used(said: str, dropped: str) -> None:
    own = _OWN["saloon_1970s"]
    told = read_by_rules(said, own.harness, own)
    assert meant(said) == {"left rear tail dark when lamp switch side"}
    assert dropped in told.unused


def test_whose_lamp_it_is_counts_where_something_is_towed() -> None:
    assert without_asides("left tail out on the car", tows=False)[0] == "left tail out"
    assert without_asides("left tail out on the car", tows=True)[0] == "left tail out on the car"


def test_trailer_and_car_each_as_told() -> None:
    """The car's stay on in the state in which the trailer's go out, which is one with the lights on."""
    assert meant("trailer tails die when I brake, the car's stay on", "tow_7pin") == {
        "trailer left tail dark, trailer right tail dark when lamp switch side, brake pedal pressed",
        "trailer left tail lit, trailer right tail lit when lamp switch side",
        "car left rear tail normal, car right rear tail normal when lamp switch side, brake pedal pressed"}
    assert meant("car and trailer brake lights all dead", "tow_7pin") == {
        "car left rear stop dark, car right rear stop dark, trailer left stop dark, trailer right stop dark when "
        "brake pedal pressed"}


@pytest.mark.parametrize("said", ["no brake light off the foot pedal, hand lever works it", "no brake light on the "
 "back brake, front brake is fine"])
def test_which_of_two_brakes(said: str) -> None:
    assert meant(said, "motorcycle_6v") == {"rear lamp stop dark when brake pedal pressed", "rear lamp stop normal "
     "when brake lever pulled"}


@pytest.mark.parametrize("tapped", [
    "if I tap the right tail it comes on", "when tapped the right tail works", "right tail goes out, comes back "
     "when I hit it",
    "got to bang the corner to get the right tail on", "give the lens a smack and the right tail comes back, then "
     "goes again"])
def test_what_is_done_with_the_hand(tapped: str) -> None:
    assert meant(tapped) == {"right rear tail sometimes dark, as it is moved when lamp switch side"}


@pytest.mark.parametrize(("said", "right"), [
    ("back light on the left glows when I put it in reverse", "left rear tail faint when gear reverse"),
    ("n/s/r glows in reverse", "left rear tail faint when gear reverse"),
    ("tail lights pulse with the left flashers", "left rear tail dim, right rear tail dim when lamp switch side, "
     "indicator stalk left"),
])
def test_what_may_be_one_of_several_is_asked_with_it_among_the_choices(said: str, right: str) -> None:
    """A lamp behind a lens that should be clear there; lit lamps that grow dim, or dark ones that flash."""
    assert {right} in choices(said)


def _parts(said: Sequence[str], right: str) -> None:
    assert {right} in choices(", ".join(said)), said


@pytest.mark.parametrize("talk", ["my nephew wired the gubbins", "drove home by the canal", "it went frood at the "
 "weekend"])
def test_talk_that_is_not_understood_leaves_the_complaint_to_choose(talk: str) -> None:
    _parts(("left stop dim when I brake", talk), "left rear stop dim when brake pedal pressed")


@pytest.mark.parametrize(("typed", "meant_by_it"), [
    ("left tail works when I thuump it", "left tail works when I thump it"), ("left tail goes out ovver bumps",
     "left tail goes out over bumps"),
    ("everything at the baack is dead", "everything at the back is dead"), ("left stop is dead when Im braking",
     "left stop is dead when I'm braking"),
    ("brake lights are on all the tine", "brake lights are on all the time"), ("left headligt dim, it is week",
     "left headlight dim, it is weak"),
])
def test_slips_in_ordinary_words(typed: str, meant_by_it: str) -> None:
    """A letter struck twice is surer than another: "baack" is back, and not black."""
    assert meant(typed) == meant(meant_by_it)


def test_a_weak_light_that_comes_on_shines_where_none_should() -> None:
    """"Comes on dim" tells of light, and so not of a lamp that was switched on for that."""
    (told,) = meant("right rear indicator comes up dim when I brake")
    assert told in {f"right rear indicator {weak} when brake pedal pressed" for weak in ("dim", "faint")}


def test_glows_all_the_time_is_told_of_rest() -> None:
    assert meant("left stop glows all the time very faintly") == {"left rear stop faint when ignition on"}


def test_words_that_name_no_lamp_add_no_look_of_one() -> None:
    """"Always both" after a complaint is told of the same: no choice has another look of them."""
    out = {"left rear tail dark, right rear tail dark when lamp switch side, brake pedal pressed",
           "left rear tail lit, right rear tail lit when lamp switch side"}
    assert out in choices("tail lights go out when I brake, always both")


@pytest.mark.parametrize("praise", ["sparkling like new", "a treat to see", "belting along"])
def test_what_stands_beside_a_fault_in_strange_words_is_well_by_the_first_choice(praise: str) -> None:
    first = choices(f"left stop dim, the other one {praise}")[0]
    assert first == {"left rear stop dim, right rear stop normal when brake pedal pressed"}


def test_one_that_lights_beside_a_mate_that_does_not_was_switched_on() -> None:
    assert meant("right reversing lamp lights, left one doesn't") == {
        "right reversing lamp normal, left reversing lamp dark when gear reverse"}
    assert meant("left tail comes on, the other one doesn't") == {
        "left rear tail normal, right rear tail dark when lamp switch side"}


def test_what_flickers_after_both_reversing_lamps_is_asked_as_after_one() -> None:
    there, apart, *_ = choices("right reverse lamp lights, left one doesn't and left tail flickers")
    assert there == {"right reversing lamp normal, left reversing lamp dark, left rear tail sometimes faint or dim "
     "or "
                     "normal when gear reverse"}
    assert "left rear tail sometimes dark or faint or dim when lamp switch side" in apart


def test_dark_otherwise_may_be_with_no_light_switched_on() -> None:
    assert {"left rear tail faint when gear reverse"} in choices("left tail glows in reverse, dark otherwise")
