"""What the battery feeds without a fuse, and when such a feed lies on the body: a small vehicle, by hand."""

from __future__ import annotations

from functools import cache

import pytest

from tracer.circuit.model import AddedBranch, Change
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness
from tracer.safety.feeds import Feeds

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
