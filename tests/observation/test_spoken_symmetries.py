"""Laws of sentences that hold whatever they say: left and right exchanged, the state said first or last, one word for
another that means the same, two lamps named or both at once. And, put together by hand, what each of them says."""

from __future__ import annotations

import re
from functools import cache
from itertools import product

import pytest

from tests.library import MODELS, tool_on
from tracer.errors import SymptomError
from tracer.observation.evidence import LIT, LampSeen
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.symptoms import read_by_rules

TOOL = tool_on(MODELS / "rear_end.yaml")
Said = frozenset[tuple[str, frozenset[str], str | None, bool, tuple[tuple[str, str], ...]]]

# Who, told for the left side or both, and the lamps that are meant.
WHO = {
    "the left stop lamp": ("left rear stop",), "left rear stop": ("left rear stop",),
    "the left brake light": ("left rear stop",), "both stop lamps": ("left rear stop", "right rear stop"),
    "the stop lamps": ("left rear stop", "right rear stop"),
    "the left stop lamp and the right stop lamp": ("left rear stop", "right rear stop"),
    "the left tail lamp": ("left rear tail",), "left rear tail": ("left rear tail",),
    "both tail lights": ("left rear tail", "right rear tail"), "the left indicator": ("left rear indicator",),
}
# What is said of a lamp in the state in which it should shine, and whether only now and then.
LOOKS: dict[str, tuple[frozenset[str], bool]] = {
    "is dark": (frozenset({"dark"}), False), "is dim": (frozenset({"dim"}), False),
    "is faint": (frozenset({"faint"}), False), "glows": (frozenset({"faint"}), False),
    "is too bright": (frozenset({"bright"}), False), "flickers": (frozenset({"dark", "faint", "dim"}), True),
    "comes on": (LIT, False), "lights up": (LIT, False), "is fine": (frozenset({"normal"}), False),
    "works": (frozenset({"normal"}), False), "is out": (frozenset({"dark"}), False),
    "does not work": (frozenset({"dark"}), False),
}
WHEN = {
    "when the brake pedal is pressed": {"brake pedal": "pressed"}, "with the side lights on": {"lamp switch": "side"},
    "when I press the brake": {"brake pedal": "pressed"},
}


@cache
def healthy() -> HealthyStates:
    return healthy_states(TOOL.harness, TOOL.predictor)


@cache
def heard(text: str) -> Said:
    return frozenset(
        (s.lamp, s.words, s.flash, s.sometimes, tuple(x.state.positions))
        for x in read_by_rules(text, TOOL.harness, healthy()).symptoms for s in x.seen if isinstance(s, LampSeen))


def told_or_asked(text: str) -> frozenset[Said]:
    """What is understood, or each of the ready sentences with which it is asked back."""
    try:
        return frozenset({heard(text)})
    except SymptomError as error:
        assert error.choices
        return frozenset(map(heard, error.choices))


def mirrored(text: str) -> str:
    return re.sub(r"\b(left|right)\b", lambda m: "right" if m[1] == "left" else "left", text)


def turned(said: Said) -> Said:
    return frozenset((mirrored(lamp), words, flash, some, tuple((c, mirrored(p)) for c, p in state))
                     for lamp, words, flash, some, state in said)


SENTENCES = [f"{who} {look} {when}" for k, (who, look, when) in enumerate(product(WHO, LOOKS, WHEN)) if k % 4 == 0]


@pytest.mark.parametrize("sentence", SENTENCES[::2])
def test_left_and_right_are_told_apart_by_nothing_else(sentence: str) -> None:
    assert told_or_asked(mirrored(sentence)) == frozenset(map(turned, told_or_asked(sentence)))


def in_its_own_state(sentence: str) -> bool:
    """Whether one lamp is told of in the state in which it should shine. Of others people say "works" or "dark" and
    mean this or that."""
    stop = "stop" in sentence or "brake light" in sentence
    return ("brake" in sentence.replace("brake light", "")) == stop and " lamps" not in sentence and (
        " lights is" not in sentence and " and " not in sentence and "indicator" not in sentence)


@pytest.mark.parametrize("sentence", [s for s in SENTENCES if in_its_own_state(s)])
def test_when_may_be_said_first(sentence: str) -> None:
    """And in capitals, with a full stop, or with more spaces."""
    at = max(sentence.rfind(" when "), sentence.rfind(" with "))
    who, when = sentence[:at], sentence[at + 1:]
    assert heard(f"{when}, {who}") == heard(sentence)
    assert heard(f"  {sentence[0].upper()}{sentence[1:]} . ".replace(" is ", "  is ")) == heard(sentence)


def test_what_is_said_is_said_of_the_lamps_that_are_meant() -> None:
    """In the state that is told."""
    count = 0
    for who, look, when in product(WHO, LOOKS, WHEN):
        sentence = f"{who} {look} {when}"
        if not in_its_own_state(sentence):
            continue
        lamps, (words, sometimes) = WHO[who], LOOKS[look]
        state = TOOL.harness.state(WHEN[when])
        assert {(lamp, w, some) for lamp, w, _, some, _ in heard(sentence)} == {
            (lamp, words, sometimes) for lamp in lamps}, sentence
        assert {at for *_, at in heard(sentence)} == {tuple(state.positions)}, sentence
        count += 1
    assert count > 50


@pytest.mark.parametrize(("one", "other"), [
    ("both stop lamps are dark when I brake", "the left stop lamp and the right stop lamp are dark when I brake"),
    ("the stop lamps are dim when I brake", "left rear stop dim, right rear stop dim when brake pedal pressed"),
    ("neither tail lamp works with the side lights on", "both tail lamps are dark with the side lights on"),
    ("the brake lights do not work", "the stop lamps do not work"),
    ("the brake lights are out", "the stop lights are out"),
    ("the left tail light is out", "the n/s tail lamp is out"),
    ("the right tail light is dim", "the o/s tail light is dim"),
    ("no stop lamps when I brake", "the stop lamps are dark when I brake"),
    ("the left tail lamp doesn't work", "the left tail lamp does not work"),
    ("the left tail lamp won't come on", "the left tail lamp is dead"),
])
def test_two_ways_to_say_the_same(one: str, other: str) -> None:
    assert heard(one) == heard(other) and heard(one)


@pytest.mark.parametrize(("first", "second"), [
    ("left rear stop dark when brake pedal pressed", "right rear tail dim when lamp switch side"),
    ("the left tail lamp is dim with the side lights on", "both stop lamps are dark when I brake"),
])
def test_of_two_sentences_each_says_its_own(first: str, second: str) -> None:
    assert heard(f"{first}. {second}") == heard(first) | heard(second) == heard(f"{second}. {first}")
