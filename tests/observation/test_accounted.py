"""What was understood is held against the words that were said: each change that makes it tell something else is
seen, and what is not surely understood is asked back with the right sentence among those to choose from (all
sentences invented)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from msgspec.structs import replace

from tests.observation.test_spoken_strangers import own
from tests.observation.test_verdicts_apart import asked, heard
from tracer.harness.lamp_purposes import other_side
from tracer.observation.evidence import LampSeen, Symptom
from tracer.observation.words.accounted import Account, at_odds
from tracer.observation.words.headed import under_heading
from tracer.observation.words.scene_idioms import scene_plainly
from tracer.observation.words.sentences import lexicon_of
from tracer.observation.words.symptoms import read_by_rules

MODEL = "saloon_1970s"
# Each tells of every lamp by its own name, side and look.
SAID = (
    "left tail dead, left brake light works",
    "n/s tail is dim but the o/s tail is fine",
    "the right reversing light is out and the left reversing light is faint",
    "left stop out, right tail too bright",
    "offside dip is dead, offside main beam ok",
    "left rear indicator doesn't flash, left front indicator is fast",
    "right number plate light flickers, right tail ok",
    "left front sidelight dead when I brake",
    "right tail goes out when I brake",
    "left tail works until I brake",
)
_DARK, _NORMAL = frozenset({"dark"}), frozenset({"normal"})


def _changed(symptoms: tuple[Symptom, ...], n: int, k: int, seen: LampSeen | None) -> tuple[Symptom, ...]:
    looks = list(symptoms[n].seen)
    looks[k : k + 1] = [] if seen is None else [seen]
    left = (*symptoms[:n], replace(symptoms[n], seen=tuple(looks)), *symptoms[n + 1 :])
    return tuple(s for s in left if s.seen)


def _lamps(symptoms: tuple[Symptom, ...]) -> Iterator[tuple[int, int, LampSeen]]:
    for n, symptom in enumerate(symptoms):
        yield from ((n, k, seen) for k, seen in enumerate(symptom.seen) if isinstance(seen, LampSeen))


@pytest.fixture(scope="module", params=SAID)
def told(request: pytest.FixtureRequest) -> tuple[Account, tuple[Symptom, ...]]:
    healthy = own(MODEL)
    read = read_by_rules(request.param, healthy.harness, healthy)
    return Account(request.param, lexicon_of(healthy)), read.symptoms


def test_what_was_understood_rightly_stands(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    assert not account.left_open(symptoms)


def test_the_other_side_does_not_stand(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    both = {seen.lamp for _, _, seen in _lamps(symptoms)}
    for n, k, seen in _lamps(symptoms):
        if other_side(seen.lamp) not in both:
            assert account.left_open(_changed(symptoms, n, k, replace(seen, lamp=other_side(seen.lamp)))), seen.says()


def test_the_contrary_look_does_not_stand(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    one_each = len({seen.lamp for _, _, seen in _lamps(symptoms)}) == sum(1 for _ in _lamps(symptoms))
    for n, k, seen in _lamps(symptoms):
        if one_each:
            contrary = _NORMAL if "dark" in seen.words else _DARK
            told_otherwise = LampSeen(seen.lamp, contrary)
            assert account.left_open(_changed(symptoms, n, k, told_otherwise)), seen.says()


def test_what_is_left_out_is_missed(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    for n, k, seen in _lamps(symptoms):
        less = _changed(symptoms, n, k, None)
        if not any(seen.lamp == other.lamp for _, _, other in _lamps(less)):
            assert account.left_open(less), seen.says()


def test_a_lamp_that_nobody_named_is_seen(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    for lamp in ("clock lamp", "interior lamp"):
        more = replace(symptoms[0], seen=(*symptoms[0].seen, LampSeen(lamp, symptoms[0].seen[0].words)))  # type: ignore[union-attr]
        assert account.left_open((more, *symptoms[1:])), lamp


def test_what_is_left_without_the_unsaid_is_what_was_said(told: tuple[Account, tuple[Symptom, ...]]) -> None:
    account, symptoms = told
    more = replace(symptoms[0], seen=(*symptoms[0].seen, LampSeen("clock lamp", _DARK)))
    assert account.fitting((more, *symptoms[1:])) == symptoms


def test_a_state_of_which_nothing_was_said_is_seen() -> None:
    healthy = own(MODEL)
    account = Account("left tail dead", lexicon_of(healthy))
    dark = LampSeen("left rear tail", _DARK)
    side = {"lamp switch": "side"}
    assert not account.left_open((Symptom(healthy.state(side), (dark,)),))
    assert account.left_open((Symptom(healthy.state(side | {"gear": "reverse"}), (dark,)),))


def test_two_readings_are_at_odds_over_state_or_look() -> None:
    healthy = own(MODEL)
    side, braked = healthy.state({"lamp switch": "side"}), healthy.state({"brake pedal": "pressed"})
    one = (Symptom(side, (LampSeen("left rear tail", _DARK),)),)
    assert not at_odds(one, one)
    assert at_odds(one, (Symptom(side, (LampSeen("left rear tail", _NORMAL),)),))
    assert at_odds(one, (Symptom(side, (LampSeen("left rear tail", _DARK, sometimes=True),)),))
    assert at_odds(one, (Symptom(braked, (LampSeen("left rear tail", _DARK),)),))
    assert not at_odds(one, (Symptom(braked, (LampSeen("left rear stop", _DARK),)),))


ASKED = (
    # A denial that was taken for nothing.
    (MODEL, "no number plate lights either side and the o/s tail is faint",
     "left number-plate lamp dark, right number-plate lamp dark, right rear tail faint when lamp switch side"),
    # Lamps that nobody named.
    ("estate_1990s", "brake lamps at the sides out, high stop lamp fine",
     "left rear stop dark, right rear stop dark, high stop lamp normal when brake pedal pressed"),
    # Where each part has its own circumstance.
    ("pickup", "no lights at the back when the headlights are on, with the sidelights they work",
     "left rear tail dark, right rear tail dark when lamp switch head. left rear tail normal, right rear tail normal "
     "when lamp switch side"),
    # What is not known beside two looks that are.
    (MODEL, "both tails out, stops fine, already changed the switch thing",
     "left rear tail dark, right rear tail dark when lamp switch side. left rear stop normal, right rear stop normal "
     "when brake pedal pressed"),
)


@pytest.mark.parametrize(("model", "said", "meant"), ASKED)
def test_what_is_not_sure_is_asked_with_the_right_choice(model: str, said: str, meant: str) -> None:
    assert meant in asked(said, model)


NEVER = (
    ("estate_1990s", "handbrake lamp won't go out with the lever down"),  # which lever
    ("tow_7pin", "trailer fog on all the time, car's fog off"),  # not with the fog switch on
    ("estate_1990s", "hazards: right rear doesn't flash, others do"),  # the others with the hazards
    ("lorry_24v", "left front marker dim, right front marker quux"),  # a word that may be the look
)


@pytest.mark.parametrize(("model", "said"), NEVER)
def test_what_may_be_heard_wrongly_is_not_recorded(model: str, said: str) -> None:
    asked(said, model)


HEARD = (
    # Under a heading.
    ("pickup", "back end: tails weak, stops weak",
     "left rear tail dim; right rear tail dim when lamp switch side / left rear stop dim; right rear stop dim when "
     "brake pedal pressed"),
    ("tow_13pin", "caravan left side: stop is out, tail is dim",
     "caravan left stop dark when brake pedal pressed / caravan left tail dim when lamp switch side"),
    # In the passive, and of "it".
    ("lorry_24v", "work lamp goes out when reverse is selected",
     "work lamp dark when gear reverse, work switch on / work lamp lit when work switch on"),
    (MODEL, "left tail goes dim when the horn is sounded",
     "left rear tail dim when lamp switch side, horn button pressed / left rear tail normal when lamp switch side"),
    (MODEL, "horn works but the left tail goes dim when I press it",
     "horn works when horn button pressed / left rear tail dim when lamp switch side, horn button pressed / "
     "left rear "
     "tail normal when lamp switch side"),
    # How often, of one of two.
    (MODEL, "right stop lamp intermittent, left stop lamp ok",
     "right rear stop sometimes dark; left rear stop normal when brake pedal pressed"),
    # Of two things there is neither, and one that is the exception.
    (MODEL, "neither horn nor blower works",
     "horn does not work when horn button pressed / heater blower does not work when blower switch on"),
    ("lorry_24v", "left front marker and right rear marker out, remaining two ok",
     "left front marker dark; right rear marker dark; left rear marker normal; right front marker normal when lamp "
     "switch side"),
    # "Does not" denies what was said before, be it good or bad.
    (MODEL, "left tail flickers, right tail doesn't",
     "left rear tail sometimes dark or faint or dim; right rear tail normal when lamp switch side"),
    (MODEL, "left tail works, right tail doesn't",
     "left rear tail normal; right rear tail dark when lamp switch side"),
    (MODEL, "left stop dim, reversing lights as bright as ever",
     "left rear stop dim when brake pedal pressed / left reversing lamp normal; right reversing lamp normal "
     "when gear reverse"),
    # The words of a defect card.
    ("lorry_24v", "D/S dip beam unserviceable, P/S main beam satisfactory",
     "right headlamp dip dark when lamp switch head / left headlamp main normal when lamp switch head, dip "
     "switch main"),
    ("motorcycle_6v", "tail light but no brake light",
     "rear lamp tail normal when lamp switch pilot / rear lamp stop dark when brake lever pulled"),
    (MODEL, "left tail is dim, right tail the same",
     "left rear tail dim; right rear tail dim when lamp switch side"),
)


@pytest.mark.parametrize(("model", "said", "meant"), HEARD)
def test_is_understood_as_meant(model: str, said: str, meant: str) -> None:
    assert heard(said, model) == meant


@pytest.mark.parametrize("said", [
    "left rear: dead", "no brake lights: fuse fine", "left rear cluster: everything glows", "tails: left dim, "
    "right ok"])
def test_a_heading_of_one_part_or_of_parts_that_name_no_lamp_is_left(said: str) -> None:
    assert under_heading(said) == said


@pytest.mark.parametrize("said", [
    "left tail dim when the pedal is pressed", "dead when the lamp is wet",
    "left rear stop dark when brake pedal pressed", "rear lamp stop dark when brake lever pulled"])
def test_what_is_no_control_in_the_passive_is_left(said: str) -> None:
    assert scene_plainly(said) == said
