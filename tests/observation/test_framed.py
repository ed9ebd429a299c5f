"""What stands around a complaint changes nothing of it."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.framed import unframed
from tracer.observation.words.symptoms import understand

_PICKUP = load_harness(MODELS / "pickup.yaml")
_OWN = healthy_states(_PICKUP)


@pytest.mark.parametrize("frame", [
    "hi, {}", "good morning, {} any ideas?", "just noticed {}", "MOT failed: {}, please check", "{} - thanks",
    "hello there, I noticed that {}. can you have a look?", "why is {}", "{}, any ideas? thanks",
])
@pytest.mark.parametrize("said", ["my left brake light dim", "the right tail lamp not working with the lights on"])
def test_the_same_is_heard_and_the_text_kept(frame: str, said: str) -> None:
    told = understand(frame.format(said), _PICKUP, _OWN)

    assert [(s.state, s.seen) for s in told.symptoms] == [
        (s.state, s.seen) for s in understand(said, _PICKUP, _OWN).symptoms]
    assert {s.text for s in told.symptoms} == {frame.format(said)}


@pytest.mark.parametrize("verb", ["work", "come on", "light up"])
def test_why_it_does_not(verb: str) -> None:
    assert unframed(f"why won't my left tail light {verb}?") == f"my left tail light won't {verb}"
    assert unframed(f"why doesn't the horn {verb}") == f"the horn doesn't {verb}"


@pytest.mark.parametrize(
    "text", ["left stop dim", "hi beam dead", "thanks", "why", "what is wrong with the left tail"])
def test_what_has_no_frame_stays(text: str) -> None:
    assert unframed(text) == text
