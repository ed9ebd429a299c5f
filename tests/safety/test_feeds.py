"""What the battery feeds without a fuse, and when such a feed lies on the body: a small vehicle, by hand."""

from __future__ import annotations

from functools import cache

import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tracer.circuit.model import AddedBranch, Change
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness
from tracer.observation.evidence import Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.safety.feeds import Feeds, Shorts

SMALL = """\
harness: A lamp behind the ignition, invented
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls:
  ignition: {positions: [off, on]}
  lights: [off, on]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  light switch: {kind: switch, control: lights, contacts: {on: [15-58]}}
  tail: {kind: lamp, lamp: R5W, earth at: E2}
earths: {E1: battery, E2: rear}
wires:
  - battery.- > E1
  - battery.+ > ignition switch.30
  - ignition switch.15 > F1.in
  - F1.out > light switch.15
  - light switch.58 > tail.feed
"""


@cache
def small() -> Harness:
    return read_harness(SMALL, "small")


def added(a: str, b: str, ohm: float = 0.05) -> Change:
    return Change(added=(AddedBranch(a, b, ohm),))


def test_a_feed_without_a_fuse_ends_at_the_open_switch_and_at_the_fuse() -> None:
    feeds = Feeds(small())
    off, on = (feeds.unfused(small().state({"ignition": p, "lights": "on"})) for p in ("off", "on"))
    assert "ignition switch.30" in off and "ignition switch.15" not in off and "F1.in" not in off
    assert {"ignition switch.30", "ignition switch.15", "F1.in"} <= on
    assert not {"F1.out", "light switch.15", "tail.feed"} & on


@pytest.mark.parametrize(("a", "b", "burns"), [
    ("F1.in", "body", True), ("body", "F1.in", True),
    ("F1.in", "E2", True),  # an earth point is the body
    ("F1.out", "body", False), ("body", "F1.out", False),  # its fuse blows
    ("F1.in", "ignition switch.30", False),  # two feeds: no current to the body
    ("E1", "E2", False),
])
def test_what_lies_between_an_unfused_feed_and_the_body_burns(a: str, b: str, burns: bool) -> None:
    on = small().state({"ignition": "on"})
    assert Feeds(small()).lies_on_body(added(a, b), on) is burns
    assert not Feeds(small()).lies_on_body(added(a, b, 10.0), on)  # 1.2 A: no more than a lamp
    if "F1.in" in (a, b):
        assert not Feeds(small()).lies_on_body(added(a, b), small().state({"ignition": "off"}))


def test_live_at_rest_is_what_no_switch_parts_from_the_battery() -> None:
    assert "ignition switch.30" in Feeds(small()).live_at_rest
    assert "ignition switch.15" not in Feeds(small()).live_at_rest


@cache
def shorts(*readings: tuple[str, str]) -> Shorts:
    """What is known of shorts on the pickup after readings."""
    tool = tool_on(MODELS / "pickup.yaml")
    evidence: list[Reading] = []
    for words, value in readings:
        test = parse_test(words, tool.harness)
        evidence.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return Shorts(replace(tool.diagnose([], pairs=False), evidence=tuple(evidence)))


FEED = "ohms battery.+ to body when lamp switch head"


def lights() -> float:
    """Ohms of the cold lamps that hang on the feed with the headlamps on."""
    tool = tool_on(MODELS / "pickup.yaml")
    return float(tool.predictor.observed(parse_test(FEED, tool.harness), [Change()])[0])


@pytest.mark.parametrize(("share", "shorted"), [(0.1, True), (0.31, True), (0.36, False), (1.0, False)])
def test_less_than_a_third_of_what_the_lamps_show_is_no_lamp(share: float, shorted: bool) -> None:
    """Cold filaments alone read below an ohm: only what is far less lies on the body."""
    assert lights() < 1.0
    found = shorts((FEED, f"{share * lights():.4f} ohm"))
    assert (found.measured == {"battery.+"}) == shorted == bool(found.measured)
    assert found.anywhere == shorted


def test_of_several_readings_at_one_point_the_last_counts() -> None:
    low, high = f"{0.1 * lights():.4f} ohm", f"{lights():.4f} ohm"
    turned = FEED.replace("battery.+ to body", "body to battery.+")
    assert shorts((FEED, high), (turned, low)).measured and not shorts((FEED, low), (turned, high)).measured


def test_high_ohms_and_what_both_ends_earthed_show_are_no_short() -> None:
    """5 Ω let 2.4 A through: a lamp. Two earths are on the body by what they are for."""
    assert not shorts(("ohms battery.+ to body", "5 ohm")).measured
    assert shorts(("ohms battery.+ to body", "2 ohm")).measured
    assert not shorts(("ohms E1 to E2", "0.1 ohm")).measured
