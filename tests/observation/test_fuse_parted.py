"""A fuse tried with a plug apart, as it is told; the sentences are written as a tradesman would (common practice, no
source)."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import FuseSeen, Symptom
from tracer.observation.words.fuse_parted import parted_fuse
from tracer.observation.words.probes import parse_test

HARNESS = load_harness(MODELS / "saloon_1970s.yaml")
TOLD = [Symptom(HARNESS.state({"brake pedal": "pressed"}), (FuseSeen("F2", True),))]


@pytest.mark.parametrize(("said", "shows"), [
    ("F2 holds with C1 unplugged", "lit"),
    ("fuse F2 holds with C1 apart.", "lit"),
    ("it holds when I unplug C1", "lit"),
    ("the fuse still holds with plug C1 disconnected", "lit"),
    ("F2 still blows with C1 unplugged", "out"),
    ("F2 blows again when C1 is pulled", "out"),
])
def test_a_fuse_with_a_plug_apart_is_a_test(said: str, shows: str) -> None:
    """With a new fuse in, a test lamp behind it is lit as long as it holds, in the state in which it blew."""
    found = parted_fuse(said, HARNESS, TOLD, lambda fuse: None)
    assert found is not None and found[1] == shows
    test = parse_test(found[0], HARNESS)
    assert test.plus == "F2.out" and test.state["brake pedal"] == "pressed"
    assert {(d.action, d.target) for d in test.done} == {("unplug", "C1"), ("new fuse", "F2")}


@pytest.mark.parametrize("said", ["F2 holds", "F2 blows when brake pressed", "left tail goes out with C1 unplugged",
                                  "F2 holds with the trailer unplugged"])
def test_other_sentences_are_left_to_the_reader_of_sentences(said: str) -> None:
    assert parted_fuse(said, HARNESS, TOLD, lambda fuse: None) is None


def test_a_fuse_of_which_nothing_was_said_is_tried_where_something_hangs_on_it() -> None:
    side = HARNESS.state({"lamp switch": "side"})
    found = parted_fuse("F3 holds with C1 unplugged", HARNESS, TOLD, lambda fuse: side if fuse == "F3" else None)
    assert found is not None and parse_test(found[0], HARNESS).state == side
