"""One word that tells two things ("only", "until", "the other stays on"), how often it is so, what moves it and since
when: of each class sentences of several people (all invented; common practice, no source), held to all they say.
"""

from __future__ import annotations

import pytest

from tests.observation.test_spoken_strangers import heard, own
from tracer.errors import TracerError
from tracer.observation.words.contrast_idioms import contrasts_plainly, each_and_both, one_and_the_other
from tracer.observation.words.often_idioms import often_plainly
from tracer.observation.words.symptoms import read_by_rules
from tracer.observation.words.turned import turned

_SIDE, _BRAKE, _REVERSE = "lamp switch side", "brake pedal pressed", "gear reverse"
_ONLY = "{0} rear tail dark when lamp switch side / {0} rear tail faint when gear reverse"
_BUMPS = "{} sometimes dark, as it is moved when {}"
_OUT = ("trailer left tail dark; trailer right tail dark; trailer plate lamp dark when lamp switch side, brake pedal "
        "pressed / trailer left tail lit; trailer right tail lit; trailer plate lamp lit when lamp switch side")
_STEADY = ("left rear indicator lit, steady; left front indicator lit, steady when indicator stalk left / right rear "
           "indicator lit, steady; right front indicator lit, steady when indicator stalk right")
_PULSE = ("left rear tail dim; right rear tail dim when lamp switch side, indicator stalk left / left rear tail dim; "
          "right rear tail dim when lamp switch side, indicator stalk right / left rear tail normal; right rear tail "
          "normal when lamp switch side")
_TWICE = "fuse F2 blows when brake pedal pressed / fuse F2 blows when gear reverse"
_MATE = ("left rear tail dark; right rear tail normal when lamp switch side, brake pedal pressed / right rear tail "
         "normal; left rear tail lit when lamp switch side")
_PAIR = "{} reversing lamp {}; {} rear tail sometimes faint or dim or normal when gear reverse"
_DIPS = "left headlamp dip dark; right headlamp dip dark when lamp switch head"
_LEFT_FAST = ("left rear indicator or left front indicator lit, fast when indicator stalk left / right rear "
    "indicator "
              "normal; right front indicator normal when indicator stalk right")
# What sits in the unit, and no lamp beside it.
_UNIT = ("right rear stop dark when brake pedal pressed / right rear tail dark when lamp switch side / right rear "
         "indicator dark when indicator stalk right")
SALOON = (
    # In reverse alone, and dark else.
    ("right rear light is out until I select reverse, then it glows faintly", _ONLY.format("right")),
    ("nothing from the right tail except a glow in reverse", _ONLY.format("right")),
    ("rear light on the right glows only in reverse, nothing with the lights on", _ONLY.format("right")),
    ("left tail out except when reversing",
     "left rear tail dark when lamp switch side / left rear tail lit when gear "
     "reverse"),
    # Its like on the other side, which stays on.
    ("braking puts the left tail out, right one stays on", _MATE),
    ("when I brake the left tail goes out but the right one stays lit", _MATE),
    ("one tail light goes out when I brake, the left, the other stays on", _MATE),
    # In each of two states.
    ("fuse 2 goes on braking and on reversing", _TWICE),
    ("F2 blows both when I brake and when I reverse", _TWICE),
    ("F2 blows if I brake or reverse", _TWICE),
    ("F2 blows with the brake on, and also in reverse", _TWICE),
    ("F2 blew when I braked, and again when I reversed",
     "fuse F2 blew when brake pedal pressed / fuse F2 blew when gear "
     "reverse"),
    ("F2 blows when I brake, not when I indicate",
     "fuse F2 blows when brake pedal pressed / fuse F2 holds when indicator "
     "stalk left"),
    # What a lamp does that stops.
    ("the right tail stops when I indicate",
     "right rear tail dark when lamp switch side, indicator stalk right / right rear tail lit when lamp switch side"),
    ("left front indicator stops on bumpy roads", _BUMPS.format("left front indicator", "indicator stalk left")),
    ("tail lights stop when I press the pedal",
     "left rear tail dark; right rear tail dark when lamp switch side, brake "
     "pedal pressed / left rear tail lit; right rear tail lit when lamp switch side"),
    ("left stop stops on", "left rear stop lit when at rest"),
    # How often.
    ("horn works one time in three", "horn sometimes does not work when horn button pressed"),
    ("hooter only sounds some of the time", "horn sometimes does not work when horn button pressed"),
    ("sometimes the horn works and sometimes it doesn't", "horn sometimes does not work when horn button pressed"),
    ("the horn packs up now and again", "horn sometimes does not work when horn button pressed"),
    ("right stop works every other press", "right rear stop sometimes dark when brake pedal pressed"),
    ("left tail is a bit temperamental", "left rear tail sometimes dark when lamp switch side"),
    # What shakes it.
    ("left tail comes and goes when it's bumpy", _BUMPS.format("left rear tail", _SIDE)),
    ("right stop comes and goes when we bounce about", _BUMPS.format("right rear stop", _BRAKE)),
    ("left tail comes and goes on a rutted lane", _BUMPS.format("left rear tail", _SIDE)),
    ("the left stop has to be tapped to work", _BUMPS.format("left rear stop", _BRAKE)),
    ("right headlamp has to be thumped before it works", _BUMPS.format("right headlamp dip", "lamp switch head")),
    ("left front indicator: a tap gets it going", _BUMPS.format("left front indicator", "indicator stalk left")),
    ("right stop needs a slap", _BUMPS.format("right rear stop", _BRAKE)),
    # Lit without end.
    ("stop lights lit the whole time", "left rear stop lit; right rear stop lit when at rest"),
    ("brake lights lit non-stop", "left rear stop lit; right rear stop lit when at rest"),
    # A whole unit.
    ("the whole right back light has gone", _UNIT), ("right rear light unit's dead, the lot", _UNIT),
    ("no lights in the right rear cluster", _UNIT),
    # They light and do not flash.
    ("they light but the indicators don't flash", _STEADY), ("instead of blinking, the winkers just stay on",
     _STEADY),
    ("they come on, the winkers, but no flashing", _STEADY), ("indicators come on but that's it, no flash", _STEADY),
    # They dim as the indicators flash.
    ("tails go down slightly with every blink of the indicators", _PULSE),
    ("every flash of the indicator makes the tail lights dip",
     _PULSE), ("back lights OK, but as I indicate they dip", _PULSE),
    ("tail lights brighten and dim with the flasher", _PULSE),
    # Two lamps in reverse.
    ("reversing, the right tail comes up dim and the reversing lamp there is poor",
     "right rear tail faint; right reversing lamp dim when gear reverse"),
    ("right tail glows in reverse with the right reversing light dim",
     "right rear tail faint; right reversing lamp dim when gear reverse"),
    ("backing up lights the right tail faintly and the right reversing light is weak",
     "right rear tail faint; right reversing lamp dim when gear reverse"),
    ("reversing light on left on, right tail flickering away", _PAIR.format("left", "lit", "right")),
    ("in reverse the right lamp's fine but the left tail flickers", _PAIR.format("right", "normal", "left")),
    ("reversing left on OK, right tail flickering", _PAIR.format("left", "normal", "right")),
    ("rev light left dim, tail left glows in rev", "left reversing lamp dim; left rear tail faint when gear reverse"),
    # Both beams of one kind.
    ("both sides out on dip", _DIPS), ("neither side works on dip", _DIPS), ("nothing on dip left or right", _DIPS),
    # What blows with a bang.
    ("I brake and bang goes the fuse", "fuse F2 blows when brake pedal pressed"),
    ("brake - pop - there goes the fuse", "fuse F2 blows when brake pedal pressed"),
    ("touch the brake and the fuse goes!", "fuse F2 blows when brake pedal pressed"),
    ("F2 only blows when I reverse", "fuse F2 blows, only with gear when gear reverse"),
    ("brake pedal makes the fuse pop", "fuse F2 blows when brake pedal pressed"),
    ("fuse blows as soon as I've pressed the brake", "fuse F2 blows at once when brake pedal pressed"),
    # How fast, on either side.
    ("left blinks fast right blinks normal", _LEFT_FAST),
    ("indicating left is too fast, right is normal", _LEFT_FAST),
    ("left signal flashes double quick, right signal normal", _LEFT_FAST),
    ("rapid flashing left, normal right", _LEFT_FAST),
    ("when signalling right the ticking is far too quick",
     "right rear indicator or right front indicator lit, fast when indicator stalk right"),
    ("indicators work, the tell-tale doesn't", "left rear indicator normal; left front indicator normal; indicator "
     "tell-tale dark when indicator stalk left / right rear indicator normal; right front indicator normal; "
     "indicator "
     "tell-tale dark when indicator stalk right"),
)
TOWED = (
    ("caravan lights fine until I brake, then they go out", _OUT),
    ("trailer lights are OK but go out when I brake", _OUT), ("trailer lights good till the brakes go on", _OUT),
    ("all the trailer lights work until I brake then out they go", _OUT),
    ("trailer lights work, then I brake and they die", _OUT),
    ("trailer lights all right until I touch the brake and then nothing", _OUT),
)
# What was done, as it is kept.
SINCE = (
    ("since the caravan socket was fitted it keeps blowing fuse 3", "the caravan socket was fitted"),
    ("it keeps blowing F3, towbar fitted last week", "a towbar was fitted last week"),
    ("F3 blows repeatedly since the crash repair", "the crash repair"),
    ("we had a towbar fitted and now F3 keeps blowing", "a towbar was fitted"),
    ("fuse 3 goes over and over since they fixed the left wing", "they fixed the left wing"),
    ("we fitted a radio, F3 blows over and over", "we fitted a radio"),
    ("F3 keeps going, new towbar last week", "a new towbar was fitted last week"),
    ("F3 keeps blowing, it started when the wing was repaired", "the wing was repaired"),
)
# Left open, and the choices.
ASKED = (
    ("right indicator only glows when I brake", (
        "right rear indicator or right front indicator faint when brake pedal pressed. right rear indicator dark, "
        "right "
        "front indicator dark when indicator stalk right",
        "right rear indicator or right front indicator faint when brake pedal pressed")),
    ("left stop only lights with the sidelights", (
        "left rear stop lit when lamp switch side. left rear stop dark when brake pedal pressed",
        "left rear stop normal when lamp switch side, brake pedal pressed. left rear stop dark when brake pedal "
        "pressed")),
    ("left tail goes out when I brake and when I indicate left", (
        "left rear tail dark when lamp switch side, brake pedal pressed. left rear tail lit when lamp switch side. "
        "left "
        "rear tail dark when lamp switch side, indicator stalk left",
        "left rear tail dark when lamp switch side, brake pedal pressed, indicator stalk left. left rear tail lit "
        "when "
        "lamp switch side")),
    ("F2 blows when braking and reversing", (
        "fuse F2 blows when brake pedal pressed. fuse F2 blows when gear reverse",
        "fuse F2 blows when brake pedal pressed, gear reverse")),
    ("fast tick one way, normal the other", (
        "left rear indicator or left front indicator lit, fast when indicator stalk left. right rear indicator "
        "normal, "
        "right front indicator normal when indicator stalk right",
        "right rear indicator or right front indicator lit, fast when indicator stalk right. left rear indicator "
        "normal, "
        "left front indicator normal when indicator stalk left")),
)


@pytest.mark.parametrize(("said", "meant"), SALOON, ids=[said for said, _ in SALOON])
def test_both_things_are_understood(said: str, meant: str) -> None:
    found = heard(said, "saloon_1970s")
    assert sorted(found.split(" / ")) == sorted(meant.split(" / "))


@pytest.mark.parametrize(("said", "meant"), TOWED, ids=[said for said, _ in TOWED])
def test_what_goes_out_was_lit_and_nothing_else_is_told(said: str, meant: str) -> None:
    assert heard(said, "tow_7pin") == meant


@pytest.mark.parametrize(("said", "since"), SINCE, ids=[said for said, _ in SINCE])
def test_the_work_before_is_kept(said: str, since: str) -> None:
    healthy = own("pickup")
    told = read_by_rules(said, healthy.harness, healthy)
    assert told.story.since == since
    assert [k.says() for s in told.symptoms for k in s.seen] == ["fuse F3 blows"]


@pytest.mark.parametrize(("said", "choices"), ASKED, ids=[said for said, _ in ASKED])
def test_what_is_left_open_is_asked_with_what_may_be_meant(said: str, choices: tuple[str, ...]) -> None:
    healthy = own("saloon_1970s")
    with pytest.raises(TracerError) as asked:
        read_by_rules(said, healthy.harness, healthy)
    assert asked.value.choices == choices


@pytest.mark.parametrize(("said", "side"), [
    ("only in reverse does the right tail glimmer", "right"),
    ("it's only when I reverse that the left tail glows", "left"),
    ("the only time the left tail glows is in reverse", "left"),
    ("right tail never glows except in reverse", "right"),
    ("left tail light lights up faintly only if I put it in reverse", "left"),
    ("right tail glows in reverse, not at any other time", "right"),
])
def test_what_glows_in_one_state_alone_may_be_dead_when_it_should_burn(said: str, side: str) -> None:
    """"At no other time" may say no more than that it does not glow else: it is asked."""
    healthy = own("saloon_1970s")
    with pytest.raises(TracerError) as asked:
        read_by_rules(said, healthy.harness, healthy)
    glows, dead = f"{side} rear tail faint when gear reverse", f"{side} rear tail dark when lamp switch side"
    assert {frozenset(c.split(". ")) for c in asked.value.choices} == {frozenset({glows, dead}), frozenset({glows})}


def test_a_question_quotes_what_was_typed() -> None:
    healthy = own("saloon_1970s")
    with pytest.raises(TracerError) as asked:
        read_by_rules("signaling left the gizmo is far too rapid", healthy.harness, healthy)
    assert "I signal" not in str(asked.value)


def test_other_sentences_stay_as_they_are() -> None:
    for said in ("left stop dim when I brake, right one ok", "left tail glows in reverse", "both stops dead",
                 "left and right stops dead", "F2 blows when I brake", "left indicator fast"):
        assert contrasts_plainly(said) == often_plainly(said) == said
        assert each_and_both(said) == one_and_the_other(said) == ()
    assert turned("left tail only glows in reverse") == "left tail dead. left tail glows in reverse"
