"""What is said of one lamp in words that nobody here knows is no word of its neighbour (all sentences invented).

The verdict of the other part must never stand for it: it is asked back, and every ready sentence says of the other
part what was said of it.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.library import MODELS
from tests.long import each_with_one_of
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.symptoms import read_by_rules


@cache
def own(model: str) -> HealthyStates:
    return healthy_states(load_harness(MODELS / f"{model}.yaml"))


def heard(said: str, model: str = "estate_1990s") -> str:
    """All that was understood, state by state."""
    healthy, base = own(model), own(model).harness.state({})
    out = []
    for s in read_by_rules(said, healthy.harness, healthy).symptoms:
        moved = ", ".join(f"{c} {p}" for c, p in s.state.positions if p != base[c])
        out.append(f"{'; '.join(x.says() for x in s.seen)} when {moved or 'at rest'}")
    return " / ".join(out)


def asked(said: str, model: str = "estate_1990s") -> tuple[str, ...]:
    """The ready sentences with which it is asked back."""
    with pytest.raises(TracerError) as caught:
        read_by_rules(said, own(model).harness, own(model))
    return caught.value.choices


STRANGE = ("bananas", "wibbling about", "doing a disco", "having a fit", "on the blink", "like a wet weekend",
           "funny", "has gone walkabout", "playing up", "not itself", "doing my head in", "flibberty",
           "gone doolally", "gone a bit doolally")
# One lamp, the other, what the other does; what every ready sentence must say of the other.
PAIRS = (
    ("left tail", "the right tail", "is dead", "right rear tail dark"),
    ("left rear indicator", "the left front one", "is dead", "left front indicator dark"),
    ("offside rear indicator", "front one", "doesn't work", "right front indicator dark"),
    ("left tail", "the left stop", "works fine", "left rear stop normal"),
    ("n/s headlight", "the o/s", "is dim", "right headlamp dip dim"),
    ("brake lights", "the tail lights", "are out", "left rear tail dark, right rear tail dark"),
)


@pytest.mark.parametrize(("strange", "joint"), each_with_one_of(STRANGE, [" and ", " but ", ", "]))
@pytest.mark.parametrize(("one", "other", "does", "must"), PAIRS)
def test_the_verdict_of_the_next_part_does_not_spread_back(
    strange: str, one: str, other: str, does: str, must: str, joint: str
) -> None:
    choices = asked(f"{one} {strange}{joint}{other} {does}")

    assert choices and all(must in c for c in choices)
    assert len({c.replace(must, "") for c in choices}) == len(choices)


@pytest.mark.parametrize(("strange", "joint"), each_with_one_of(STRANGE, [" and the ", " but the ", ", "]))
@pytest.mark.parametrize(("other", "one"), [
    ("right tail dead", "left one"), ("left front indicator dead", "left rear one"), ("left stop works", "left tail"),
])
def test_nor_does_that_of_the_part_before(strange: str, other: str, one: str, joint: str) -> None:
    with pytest.raises(TracerError):
        read_by_rules(f"{other}{joint}{one} {strange}", own("estate_1990s").harness, own("estate_1990s"))


def test_but_joins_no_lamps() -> None:
    assert all("right rear tail dark" in c for c in asked("left tail but the right is dead"))


CLAPPERS = ("like the clappers", "going like the clappers", "ten to the dozen", "going ten to the dozen", "going mad",
            "double time", "racing", "like mad", "twice the speed", "way too fast")


@pytest.mark.parametrize("fast", CLAPPERS)
@pytest.mark.parametrize(("said", "meant"), [
    ("offside front indicator {} and the back one's not working",
     "right front indicator lit, fast; right rear indicator dark when indicator stalk right"),
    ("back one's not working and the offside front indicator {}",
     "right rear indicator dark; right front indicator lit, fast when indicator stalk right"),
    ("offside rear indicator is not working and the front {}",
     "right rear indicator dark; right front indicator lit, fast when indicator stalk right"),
    ("left rear indicator dead but the front {}",
     "left rear indicator dark; left front indicator lit, fast when indicator stalk left"),
])
def test_idioms_of_speed(said: str, meant: str, fast: str) -> None:
    assert heard(said.format(fast)) == meant


def test_what_never_flashes_does_not_flash_fast() -> None:
    assert asked("left stop going like the clappers")[0] == "left rear stop dark when brake pedal pressed"


def test_a_flasher_that_ticks_fast_is_a_rate_and_no_click() -> None:
    choices = asked("flasher unit ticking like the clappers")
    assert len(choices) == 3 and all("lit, fast" in c for c in choices)


@pytest.mark.parametrize(("said", "meant"), [
    ("left tail knackered and the right one's fine",
     "left rear tail dark; right rear tail normal when lamp switch side"),
    ("left tail's given up the ghost, right fine",
     "left rear tail dark; right rear tail normal when lamp switch side"),
    ("n/s/r indicator shot, o/s/r fine",
     "left rear indicator dark when indicator stalk left / right rear indicator normal when indicator stalk right"),
    ("left tail like a candle and the right one fine",
     "left rear tail faint or dim; right rear tail normal when lamp switch side"),
    ("left headlight kaput and the right dim",
     "left headlamp dip dark; right headlamp dip dim when lamp switch head"),
    ("left tail is playing up, it flickers", "left rear tail sometimes dark or faint or dim when lamp switch side"),
    ("the left one is dead and right stop fine",
     "left rear stop dark; right rear stop normal when brake pedal pressed"),
    ("left headlight's flickering", "left headlamp dip sometimes dark or faint or dim when lamp switch head"),
    ("left indicator fast and the back one dead",
     "left rear indicator or left front indicator or left repeater lit, fast; left rear indicator dark when "
     "indicator stalk left"),
    ("left tail gone, right gone dim", "left rear tail dark; right rear tail dim when lamp switch side"),
    ("the brake lights are gone completely now",
     "left rear stop dark; right rear stop dark; high stop lamp dark when brake pedal pressed"),
])
def test_words_of_the_trade_for_what_is_broken(said: str, meant: str) -> None:
    assert heard(said) == meant
