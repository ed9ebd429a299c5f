"""Complaints heard by likeness: meanings on vehicles, cues of sentences, examples, and what is recorded or asked.

All sentences are invented; what trade words mean is common practice, no source.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from tests.bench.fit_readings import fitted
from tests.bench.judged import judge_of
from tests.bench.make_examples import EXAMPLES, TOLD, examples_of, lexicon, told_in
from tracer.errors import SymptomError, TracerError
from tracer.observation.evidence import FuseSeen, Symptom
from tracer.observation.words.likened.cues import cues_of
from tracer.observation.words.likened.decided import FOREIGN
from tracer.observation.words.likened.examples import Example, Examples, known_examples
from tracer.observation.words.likened.meaning import clauses_of, slotted, told_of
from tracer.observation.words.likened.on_vehicle import OnVehicle
from tracer.observation.words.likened.traits import Fact, alike, facts_of, faults_of
from tracer.observation.words.likened.weighed import readings
from tracer.observation.words.likened.weights import WEIGHTS
from tracer.observation.words.sentences import symptoms_written
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.symptoms import parse_symptom, read_by_rules, understand

SALOON = lexicon("saloon_1970s")
_SAMPLE = 60

MEANT = (
    ("saloon_1970s", "left tail = dark @ own", "left rear tail dark when lamp switch side"),
    ("saloon_1970s", "right stop = dim @ own", "right rear stop dim when brake pedal pressed"),
    ("saloon_1970s", "left tail = faint @ reverse", "left rear tail faint when gear reverse"),
    ("saloon_1970s", "right main = dark @ own", "right headlamp main dark when lamp switch head, dip switch main"),
    ("saloon_1970s", "left headlamp = dim @ own", "left headlamp dip dim when lamp switch head"),
    ("saloon_1970s", "left stop = lit @ side", "left rear stop lit when lamp switch side"),
    ("saloon_1970s", "horn = dark @ own", "horn does not work when horn button pressed"),
    ("saloon_1970s", "fuse-F2 = blows @ brake", "fuse F2 blows when brake pedal pressed"),
    ("saloon_1970s", "interior = dark @ own", "interior lamp dark when door open"),
    ("estate_1990s", "highstop = dark @ own", "high stop lamp dark when brake pedal pressed"),
    ("motorcycle_6v", "stop = lit @ off", "rear lamp stop lit when ignition on"),
    ("tow_7pin", "trailer left tail = dark @ side+brake",
     "trailer left tail dark when lamp switch side, brake pedal pressed"),
    ("tow_7pin", "car left stop = dark @ own", "car left rear stop dark when brake pedal pressed"),
)


def taken_or_offered(by: Callable[..., Understood], text: str, words: Lexicon) -> list[tuple[Symptom, ...]]:
    """What a sentence was understood to say, else what was offered to choose from."""
    try:
        return [by(text, words.harness, words.healthy).symptoms]
    except TracerError as error:
        return [symptoms_written(c, words.harness) for c in error.choices]


@pytest.mark.parametrize(("model", "meaning", "written"), MEANT)
def test_a_meaning_says_of_a_vehicle_what_its_own_words_say(model: str, meaning: str, written: str) -> None:
    words = lexicon(model)

    (told,) = OnVehicle(words).symptoms(meaning)

    expected = parse_symptom(written, words.harness)
    assert (told.state, told.seen) == (expected.state, expected.seen)


@pytest.mark.parametrize("meaning", ["left tail dark", "= dark @ own", "left = dark @ own"])
def test_what_is_no_meaning_is_refused(meaning: str) -> None:
    with pytest.raises(ValueError, match=r"WHO|no lamp"):
        clauses_of(meaning)


@pytest.mark.parametrize("meaning", ["left fog = dark @ own", "fuse-F99 = blows @ brake", "tail = dark @ hazard"])
def test_what_a_vehicle_does_not_have_says_nothing(meaning: str) -> None:
    assert OnVehicle(SALOON).symptoms(meaning) == ()


def test_an_implied_clause_says_nothing() -> None:
    here = OnVehicle(SALOON)

    assert here.symptoms("left tail = dark @ side+brake ; ? left tail = normal @ own") == here.symptoms(
        "left tail = dark @ side+brake")


def test_a_fuse_that_is_not_named_is_that_of_what_is_switched_on() -> None:
    (told,) = OnVehicle(SALOON).symptoms("fuse = blows @ brake")

    states = SALOON.healthy.own("left rear stop")
    assert told.seen == (FuseSeen(SALOON.healthy.fuses_of("left rear stop", states[0])[-1], True),)


@pytest.mark.parametrize(("text", "traffic", "sides", "functions"), [
    ("N/S tail out", "", ("left",), ("tail",)),
    ("N/S tail out", "keeps right", ("right",), ("tail",)),
    ("driver's side brake light and passenger indicator", "", ("right", "left"), ("stop", "indicator")),
    ("main beam all right, dip dead left and right", "", (), ("main", "dip")),
    ("high level brake light on, horn dead, fog OK", "", (), ("highstop", "horn", "fog")),
    ("little arrow on the dash does nothing", "", (), ("telltale-indicator",)),
    ("reg plate lights out", "", (), ("plate",)),
    ("back-up lamp dim", "", (), ("reversing",)),
    ("brakes squeal when I brake", "", (), ()),
])
def test_cues(text: str, traffic: str, sides: tuple[str, ...], functions: tuple[str, ...]) -> None:
    found = cues_of(text, traffic)

    assert (found.sides, found.functions) == (sides, functions)


def test_a_fuse_is_named_by_its_number() -> None:
    assert [cues_of(t).fuse for t in ("F3 blows", "fuse no. 04 pops", "the fuse pops")] == ["F3", "F4", ""]


def test_sides_of_a_meaning_stand_in_the_order_in_which_they_are_named() -> None:
    meaning = "right tail = dark @ own ; left tail = normal @ own"

    kept = slotted(meaning, ("right", "left"))

    assert kept == "A tail = dark @ own ; B tail = normal @ own"
    assert told_of(kept, ("right",), {}, "", (False, False)) == meaning
    assert told_of(kept, ("left",), {"tail": "stop"}, "", (False, False)) == (
        "left stop = dark @ own ; right stop = normal @ own")
    assert told_of(kept, (), {}, "", (False, False)) is None
    assert slotted(meaning, ()) is None


def test_an_example_of_the_car_is_told_of_the_trailer() -> None:
    assert told_of("both tail = dark @ own", (), {}, "", (False, True)) == "trailer both tail = dark @ own"
    assert told_of("trailer both tail = dark @ own", (), {}, "", (True, False)) == "both tail = dark @ own"


@pytest.mark.parametrize(("one", "other"), [
    ("left tail kicks the bucket whenever it drizzles", "right tail kicks the bucket whenever it drizzles"),
    ("the left winker is on its last legs", "the right winker is on its last legs"),
])
def test_the_other_side_is_understood_as_the_other_side(one: str, other: str) -> None:
    exchanged = str.maketrans({"l": "r", "r": "l"})

    left, right = (known_examples().liked(cues_of(t)) for t in (one, other))

    def sides(meaning: str) -> str:
        return "".join(w[0] for w in meaning.split() if w in ("left", "right"))

    assert [k.share for k in left] == pytest.approx([k.share for k in right])
    assert [sides(k.meaning).translate(exchanged) for k in left] == [sides(k.meaning) for k in right]


def test_a_sentence_is_most_like_itself_and_a_rare_word_tells_more_than_a_common_one() -> None:
    known = Examples([Example("tail = dark @ own", ("the", "#tail", "be", "dead")),
                      Example("tail = dim @ own", ("the", "#tail", "be", "feeble")),
                      Example("stop = dark @ own", ("the", "#stop", "be", "dead"))])

    (likeness, first), *others = known.nearest(cues_of("the tail light be feeble"))

    assert first.meaning == "tail = dim @ own"
    assert likeness == pytest.approx(1.0)
    assert all(less < 0.9 for less, _ in others)
    assert known.unknown(cues_of("the tail light be wobbly")) == 1


def test_the_examples_are_those_of_the_sentences_that_were_told() -> None:
    """A sample of the sentences: making all again takes seconds (`tests/bench/make_examples.py`)."""
    lines = EXAMPLES.read_text(encoding="utf-8").splitlines()
    told = [t for path in sorted(TOLD.glob("*.txt")) for t in told_in(path)]
    rng = random.Random(7)

    made = [*examples_of(rng.sample(told, _SAMPLE))]

    assert {f"{e.meaning}\t{' '.join(e.words)}" for e in made} <= {*lines}
    assert len(made) >= 0.9 * _SAMPLE
    assert 0.9 * len(told) <= len(lines) <= len(told) + 1


def test_every_meaning_that_was_told_can_be_read() -> None:
    for path in sorted(TOLD.glob("*.txt")):
        for told in told_in(path):
            assert clauses_of(told.meaning), told


def test_a_meaning_is_judged_right_of_itself_and_wrong_of_the_other_side() -> None:
    judge, here = judge_of(SALOON), OnVehicle(SALOON)
    symptoms = here.symptoms("left tail = dark @ own")

    assert judge.judged(symptoms, "left tail = dark @ own").right
    for wrong in ("right tail = dark @ own", "left tail = dim @ own", "left stop = dark @ own",
                  "left tail = dark @ reverse", "both tail = dark @ own"):
        assert not judge.judged(symptoms, wrong).right, wrong


def test_complaints_that_tell_much_the_same_are_alike() -> None:
    here = OnVehicle(SALOON)

    def faults(meaning: str) -> frozenset[Fact]:
        return faults_of(facts_of(here.symptoms(meaning), SALOON))

    both, left = faults("both tail = dark @ own"), faults("left tail = dark @ own ; right tail = normal @ own")
    assert alike(both, both) == 1.0
    assert alike(both, left) == 0.5
    assert alike(left, faults("left tail = dim @ own")) == 0.0


def test_weights_are_fitted_to_what_was_meant() -> None:
    """Of two traits, the one that goes with what was meant weighs for it and the other against it."""
    from tests.bench.fit_readings import Case
    from tests.bench.make_examples import Told
    from tracer.observation.words.likened.traits import Source
    from tracer.observation.words.likened.weighed import Reading

    told = Told("saloon_1970s", "", "tail = dark @ own")
    found = [Reading((), Source(), {"good": 1.0}), Reading((), Source(), {"bad": 1.0})]

    weights = fitted([Case(told, found, [True, False])] * 20)

    assert weights["good"] > 1.0 > -1.0 > weights["bad"]


@pytest.mark.parametrize(("text", "meaning"), [
    ("the left tail lamp is pushing up daisies", "left tail = dark @ own"),
    ("have to give the wing a clout to get the right stop lamp going", "right stop = sometimes-dark @ own/moved"),
    ("clouting the wing brings the left brake light back", "left stop = sometimes-dark @ own/moved"),
    ("the lights of the caravan vanish as I hit the brakes", "trailer everything = dark @ side+brake"),
    ("popped into reverse and there goes the left tail with a bit of a glow", "left tail = faint @ reverse"),
    ("right side signals going nineteen to the dozen", "right indicator = fast @ own"),
])
def test_what_nobody_wrote_a_rule_for_is_understood_or_offered(text: str, meaning: str) -> None:
    words = lexicon("tow_13pin" if "caravan" in text else "saloon_1970s")

    assert any(judge_of(words).judged(f, meaning).right for f in taken_or_offered(understand, text, words))


@pytest.mark.parametrize("text", ["right brake light goes out when I put the lights on, left is fine",
                                  "left tail only glows when I put reverse in", "all right markers dead"])
def test_what_the_rules_read_is_among_the_choices(text: str) -> None:
    words = lexicon("lorry_24v" if "marker" in text else "saloon_1970s")
    read, found = (taken_or_offered(by, text, words) for by in (read_by_rules, understand))

    known = [facts_of(f, words) for f in found]
    assert all(facts_of(r, words) in known for r in read[:1])


def test_what_others_mean_otherwise_is_not_recorded() -> None:
    """The rules take it for the stop lamp; who says so of one that glows means the indicator as often."""
    with pytest.raises(SymptomError, match="it may be meant in other ways") as caught:
        understand("left rear glows when I brake", SALOON.harness, SALOON.healthy)

    assert caught.value.choices[:2] == ("left rear stop faint when brake pedal pressed",
                                        "left rear indicator faint when brake pedal pressed")


def test_that_all_but_what_is_named_is_well_is_not_lost() -> None:
    with pytest.raises(SymptomError) as caught:
        understand("everything works fine apart from the right stop light, it is dull", SALOON.harness)

    assert any("right rear stop dim" in c and "everything else normal" in c for c in caught.value.choices)
    assert caught.value.message.startswith("“everything works fine apart from")  # and not as it was reworded


def test_a_meaning_keeps_no_control_of_one_kind_of_lamp() -> None:
    assert slotted("both tail = dark @ side+brake", ()) == "both tail = dark @ own+brake"
    assert slotted("both stop = lit @ side", ()) == "both stop = lit @ side"


@pytest.mark.parametrize("text", ["left rear tail dark", "left rear stop dim, right rear stop dim"])
def test_what_is_told_in_the_own_words_of_the_harness_is_recorded(text: str) -> None:
    assert ", ".join(k.says() for s in understand(text, SALOON.harness).symptoms for k in s.seen) == text


@pytest.mark.parametrize("text", ["hello", "engine won't start", "thanks mate", "rear fog light out"])
def test_what_tells_of_no_lamp_that_is_here_gets_no_guesses(text: str) -> None:
    with pytest.raises(TracerError) as caught:
        understand(text, SALOON.harness, SALOON.healthy)

    assert caught.value.choices == ()


@pytest.mark.parametrize(("text", "foreign"), [
    ("left tail wibbles about", True), ("left tail", True), ("left tail out when brake sideways", True),
    ("brake light out", False), ("left rear light out", False), ("left indicator stays on", False),
])
def test_the_rules_say_which_words_they_do_not_know(text: str, foreign: bool) -> None:
    """By what they say it is told apart whether something is open or foreign to them."""
    with pytest.raises(TracerError) as caught:
        read_by_rules(text, SALOON.harness, SALOON.healthy)

    assert bool(FOREIGN.search(caught.value.message)) is foreign


def test_what_no_meaning_can_say_is_left_to_the_rules() -> None:
    here = OnVehicle(SALOON)
    told = [read_by_rules(text, SALOON.harness, SALOON.healthy).symptoms
            for text in ("left tail out", "F2 holds when I brake", "flasher doesn't click")]

    assert [here.sayable(t) for t in told] == [True, False, False]


def test_the_likely_shares_sum_to_one_and_come_in_order() -> None:
    read = read_by_rules("left tail out", SALOON.harness, SALOON.healthy).symptoms

    found = readings("left tail out", SALOON, read, ())

    assert sum(r.likely for r in found) == pytest.approx(1.0)
    assert [r.likely for r in found] == sorted((r.likely for r in found), reverse=True)
    assert all(r.sure >= r.likely - 1e-12 for r in found)
    assert {name for r in found for name in r.traits} <= {*WEIGHTS}
