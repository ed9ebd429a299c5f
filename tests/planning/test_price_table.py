"""The minutes that things take: working estimates (common practice, no source), but one is more than another."""

from __future__ import annotations

from tracer.observation.test_kinds import KINDS
from tracer.planning.costs import (
    ALONG_MIN,
    ALSO_MIN,
    BATTERY_MIN,
    CLEANED_IN_VAIN_MIN,
    ENGINE_MIN,
    GIVE_UP_MIN,
    HOLD_ALONE_MIN,
    IN_HAND_MIN,
    LOOK_MIN,
    PICK_UP_MIN,
    PROVE_MIN,
    TAPE_MIN,
    WRONG_PART_MIN,
)


def test_what_takes_more_hands_takes_more_minutes() -> None:
    """A word more to write down, another instrument, a note of its own, a look at a lamp that is out, a metre of
    loom, tape off a splice or a prop for a pedal, the battery's lead."""
    assert 0 < ALSO_MIN < PICK_UP_MIN < LOOK_MIN - KINDS["look"].minutes < LOOK_MIN
    assert LOOK_MIN - KINDS["look"].minutes < IN_HAND_MIN < ALONG_MIN < TAPE_MIN < BATTERY_MIN < CLEANED_IN_VAIN_MIN
    assert PROVE_MIN < HOLD_ALONE_MIN < BATTERY_MIN
    assert all(0 < row.minutes < BATTERY_MIN for row in KINDS.values()), "beside the way there"


def test_off_and_on_again_a_battery_takes_less_than_something_cleaned_in_vain() -> None:
    assert 2 * BATTERY_MIN < CLEANED_IN_VAIN_MIN < ENGINE_MIN < 10 < WRONG_PART_MIN


def test_a_test_of_two_minutes_is_worth_its_time_down_to_a_few_per_cent_of_doubt() -> None:
    """Against a part bought in vain; and tracing by hand takes as long as two such parts, not as ten."""
    assert 0.02 < 2 / WRONG_PART_MIN < 0.05 and 2 <= GIVE_UP_MIN / WRONG_PART_MIN <= 3
