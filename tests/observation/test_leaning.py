"""Sentences that lean on the one before, and which of two lamps it is told of when it is so. The sentences are made
here from parts; what each means follows from the parts it was made of."""

from __future__ import annotations

from itertools import product

import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import LampSeen
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.symptoms import read_by_rules

_PICKUP = load_harness(MODELS / "pickup.yaml")
_OWN = healthy_states(_PICKUP)
# what somebody calls it → when he sees it, the lamp, what is switched on
_STOP = "brake light", "when I brake", "stop", {"brake pedal": "pressed"}
_TAIL = "tail light", "with the lights on", "tail", {"lamp switch": "side"}
_REVERSE = "reversing light", "in reverse", "reversing", {"gear": "reverse"}
Told = set[tuple[str, str, tuple[tuple[str, str], ...]]]


def heard(text: str) -> Told:
    """Lamp, word and what is switched on, of all that was understood."""
    return {(k.lamp, "/".join(sorted(k.words)), tuple(_OWN.moves(s.state).items()))
            for s in read_by_rules(text, _PICKUP, _OWN).symptoms for k in s.seen if isinstance(k, LampSeen)}


def told(*parts: tuple[str, str, dict[str, str]]) -> Told:
    return {(f"{side_and_lamp.replace(' ', ' rear ', 1)}", word, tuple(moves.items()))
            for side_and_lamp, word, moves in parts}


@pytest.mark.parametrize("end", [", ", ". ", "; ", " but ", " and "])
@pytest.mark.parametrize("other", ["the other one is fine", "right one ok", "right works", "the other side works",
                                   "o/s ok"])
def test_the_other_side_is_of_the_lamp_before(end: str, other: str) -> None:
    """However the two parts are joined, and whether or not it was said when."""
    for (called, when, lamp, moves), said in product((_STOP, _TAIL, _REVERSE), ("", "when")):
        text = f"left {called} dim{' ' + when if said else ''}{end}{other}"
        assert heard(text) == told((f"left {lamp}", "dim", moves), (f"right {lamp}", "normal", moves)), text


@pytest.mark.parametrize("end", [", ", ". ", "; "])
def test_another_lamp_is_of_the_side_before(end: str) -> None:
    for side in ("left", "right"):
        assert heard(f"{side} reversing light dead{end}tail light dim{end}stop light ok") == told(
            (f"{side} reversing", "dark", _REVERSE[3]), (f"{side} tail", "dim", _TAIL[3]),
            (f"{side} stop", "normal", _STOP[3]))


@pytest.mark.parametrize("text", [
    "left brake light dim, so is the tail light", "left brake light dim and so is the tail",
    "left brake light and tail light dim", "brake light and tail light on the left dim",
])
def test_two_of_one_side_do_alike(text: str) -> None:
    assert heard(text) == told(("left stop", "dim", _STOP[3]), ("left tail", "dim", _TAIL[3]))


def test_neither_does_the_tail() -> None:
    assert heard("left stop lamp does not light, neither does the tail") == told(
        ("left stop", "dark", _STOP[3]), ("left tail", "dark", _TAIL[3]))


@pytest.mark.parametrize("text", [
    "only the left brake light works", "only the left brake light works when I brake",
    "brake lights only work on the left when I press the pedal",
])
def test_only_one_side_works_and_the_other_is_dead(text: str) -> None:
    assert heard(text) == told(("left stop", "normal", _STOP[3]), ("right stop", "dark", _STOP[3]))


@pytest.mark.parametrize("text", [
    "left tail light dim, right reversing light won't come on in reverse",
    "right reversing light won't come on in reverse and left tail light is dim",
])
def test_when_it_is_so_belongs_to_the_lamp_beside_it(text: str) -> None:
    """That a tail lamp is weak was not told of the car in reverse with its lights off."""
    assert heard(text) == told(("left tail", "dim", _TAIL[3]), ("right reversing", "dark", _REVERSE[3]))


def test_what_is_missing_is_told_without_what_makes_the_other_glow() -> None:
    assert heard("no reversing light on the right; left one glows with the sidelights on") == told(
        ("right reversing", "dark", _REVERSE[3]), ("left reversing", "faint", _TAIL[3]))


def test_the_other_one_is_one_lamp() -> None:
    """Not all others: of those nothing was said."""
    symptoms = read_by_rules("left tail dead, the other one works with sidelights on", _PICKUP, _OWN).symptoms

    assert not any(s.others_normal for s in symptoms)
    assert any(s.others_normal for s in read_by_rules(
        "left tail dead, all the others work with sidelights on", _PICKUP, _OWN).symptoms)


@pytest.mark.parametrize("text", [
    "rear left of the van: no tail no brake light", "rear left: no tail, no brake light",
    "left rear: no tail no stop",
])
def test_a_heading_places_all_that_is_missing(text: str) -> None:
    assert heard(text) == told(("left tail", "dark", _TAIL[3]), ("left stop", "dark", _STOP[3]))


def test_what_the_one_side_does_and_the_other_does_not() -> None:
    """Of what goes out, as of what flickers: the other is as it should be."""
    found = heard("left tail light goes out when I brake, right one does not")

    assert {(lamp, word) for lamp, word, _ in found} == {
        ("left rear tail", "dark"), ("left rear tail", "bright/dim/faint/normal"), ("right rear tail", "normal")}


def test_none_of_a_lamp_called_by_its_own_name() -> None:
    towing = load_harness(MODELS / "tow_13pin.yaml")

    [symptom] = read_by_rules("no caravan left tail", towing, healthy_states(towing)).symptoms
    assert [k.says() for k in symptom.seen] == ["caravan left tail dark"]


def test_a_tell_tale_that_stays_lit_with_no_flash_is_steady() -> None:
    symptoms = read_by_rules("indicator light on the dash stays lit no flash", _PICKUP, _OWN).symptoms

    assert {k.flash for s in symptoms for k in s.seen if isinstance(k, LampSeen)} == {"steady"}
