"""The vehicle's story as it is told, put together and kept."""

from __future__ import annotations

import pytest

from tracer.errors import SymptomError
from tracer.observation.story import NO_STORY, Story


def test_a_story_of_another_form_is_refused_key_by_key() -> None:
    told = {"runs": True, "driven_here": False, "always": False, "where": "rear", "since": "May", "work": ["radio"]}
    story = Story.from_data(told)
    assert story == Story(True, False, ("radio",), "rear", "May", False) and story.as_data() == told
    assert Story.from_data({}) == Story() and Story().as_data() == {}
    for key, wrong in (("runs", 1), ("driven_here", "no"), ("always", "yes"), ("where", ["rear"]), ("since", 3),
                       ("work", "radio"), ("work", [1])):
        with pytest.raises(SymptomError, match="a story is not told as one"):
            Story.from_data({**told, key: wrong})


def test_what_is_told_later_counts_and_what_was_done_adds_up() -> None:
    first = Story(True, None, ("radio",), "dash", "May", None)
    later = Story(None, False, ("washed", "radio"), "", "June", False)
    assert first.and_then(later) == Story(True, False, ("radio", "washed"), "dash", "June", False)
    assert first.and_then(NO_STORY) == first == NO_STORY.and_then(first)
    assert first.told and not NO_STORY.told


@pytest.mark.parametrize(("story", "alive"), [
    (Story(runs=True), True), (Story(driven_here=True), True), (Story(runs=False, driven_here=True), True),
    (Story(runs=False), False), (NO_STORY, False),
])
def test_what_runs_or_came_by_itself_has_a_battery_that_serves_the_starter(story: Story, alive: bool) -> None:
    assert story.alive == alive


def test_a_story_is_said_in_the_order_in_which_it_is_asked() -> None:
    assert Story(False, True, ("radio", "washed"), "dash", "May", True).says() == (
        "does not crank or run well; was driven here; before it: radio and washed at dash; since May; always")
    assert Story(True, False, ("radio",), always=False).says() == (
        "cranks and runs as usual; was brought here; before it: radio; sometimes")
    assert NO_STORY.says() == ""
