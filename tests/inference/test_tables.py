"""The tables of judgement: what stands in them is judgement, but a chance is a chance, and what is said beside a
figure holds of it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracer.harness.base_rates import RATES
from tracer.inference import seldom_seen, silence, statement_model, unmodelled_cause, visual_inspection, word_model
from tracer.inference.heat import HOT_ELSEWHERE, HOT_OF_BAD, HOT_OF_PARTED
from tracer.inference.repeated_judgements import mask_of
from tracer.inference.story_weights import DOES_NOT_RUN, STARTER_SERVED, WORK_MAKES
from tracer.inference.visual_inspection import (
    FALSE_FIND,
    FOUND_UNDESCRIBED,
    MOVES_ELSE,
    MOVES_LASTING,
    MOVES_LOOSE,
    MOVES_UNDESCRIBED,
    MOVES_WORKED,
    VISIBLE,
)
from tracer.inference.word_model import (
    CARELESS_SHARE,
    CARELESS_SLIP,
    COMPLAINT_SLIP,
    DOUBT_SLIP,
    SAME_AGAIN,
    SHIFT_WEIGHTS,
    SHIFTS,
    UNSHIFTED,
    WORD_SLIP,
    at_random,
    known_again,
    likely_word,
    meant,
    word_probability,
)
from tracer.observation.evidence import WORDS
from tracer.observation.story import FOUND_GOOD

# --- what is found by looking


def test_what_is_there_is_found_more_often_than_what_is_not() -> None:
    """A look that finds something speaks for what it found; and of sound old things no more than one in ten looks
    bad."""
    for kind, (things, share) in VISIBLE.items():
        assert kind in RATES and things and 0.3 <= share <= 0.9, kind
        assert all(share > 2 * FALSE_FIND[thing] for thing in things), kind
    assert all(0 < p <= 0.1 for p in FALSE_FIND.values())
    assert max(FALSE_FIND.values()) < FOUND_UNDESCRIBED < min(share for _, share in VISIBLE.values())


@pytest.mark.parametrize("thing", [
    "wire", "splice", "splice leg", "earth", "eyelet", "mounting", "terminal", "strap",
])
def test_what_is_parted_is_seen_as_well_as_what_is_bad(thing: str) -> None:
    parted = VISIBLE.get(f"{thing} open") or VISIBLE[f"{thing} off"]
    assert parted[1] >= VISIBLE[f"{thing} bad"][1] and parted[0] == VISIBLE[f"{thing} bad"][0]


def test_what_is_moved_and_what_is_hot_speaks_for_what_is_loose_or_bad() -> None:
    assert 0 < MOVES_ELSE < MOVES_LASTING < MOVES_UNDESCRIBED < MOVES_LOOSE < MOVES_WORKED < 1
    assert 0 < HOT_ELSEWHERE < HOT_OF_PARTED < HOT_OF_BAD < 1
    assert 0 < visual_inspection.OF_LOOSE < 1


# --- what the story says


def test_a_story_makes_faults_likelier_by_no_more_than_ten_times() -> None:
    """Nobody has counted. What was tried and found good is ruled out by ten at least; what comes apart by work is
    likelier for it than what goes bad by it."""
    for work, row in WORK_MAKES.items():
        for kind, factor in row.items():
            assert kind in RATES and (2 <= factor <= 10 or (factor <= 0.1 and work in (FOUND_GOOD, "lamp changed")))
        if work not in ("stood for years", "lamp changed", FOUND_GOOD):
            for thing in ("earth", "mounting", "splice"):
                if f"{thing} bad" in row:
                    assert row[f"{thing} open"] > row[f"{thing} bad"]
    assert all(f <= 3 for f in WORK_MAKES["stood for years"].values()), "time alone singles nothing out"
    assert max(WORK_MAKES[FOUND_GOOD].values()) <= 0.1 and 0 < STARTER_SERVED <= 0.1 and 2 <= DOES_NOT_RUN <= 10


# --- words


def word(flux: float, *words: str, light: str = "") -> float:
    return float(word_probability(np.array(math.log10(flux)), frozenset(words), 0.0, light))  # type: ignore[arg-type]


def test_each_border_lies_where_it_is_said_to_lie() -> None:
    """On it a light is called the one word as often as the other: a glow at 3 % by day, 0.06 % in the dark; faint up
    to 6 %, dim up to half of the light, bright from 1.45 on."""
    for border, light in ((0.03, "day"), (0.0006, "dark")):
        assert word(border, "dark", light=light) == pytest.approx(0.5, abs=0.15)
    assert word(0.003, "dark") == pytest.approx(0.5 * (0.5 + word(0.003, "dark", light="day")), abs=0.01)
    for border, below in ((0.06, ("dark", "faint")), (0.5, ("dark", "faint", "dim")),
                          (1.45, ("dark", "faint", "dim", "normal"))):
        assert word(border, *below) == pytest.approx(0.5, abs=0.01)
    assert word(0.5 / 1.3, "dim") > 0.9 < word(0.5 * 1.3, "normal") and word(1.45 * 1.3, "bright") > 0.95
    assert 0.6 < word(0.06 / 2, "faint", "dark") < 0.95 and 0.6 < word(0.12, "dim") < 0.95
    assert [likely_word(math.log10(x)) for x in (1e-4, 0.01, 0.2, 1.0, 2.0)] == list(WORDS)


def test_one_standard_deviation_of_each_judgement() -> None:
    """At a border moved by its softness: Φ(1) = 0.841."""
    for border, soft, below in ((0.06, 0.24, 2), (0.5, 0.06, 3), (1.45, 0.05, 4)):
        assert word(border * 10**soft, *WORDS[below:]) == pytest.approx(0.841, abs=0.01)
        assert word(border / 10**soft, *WORDS[:below]) == pytest.approx(0.841, abs=0.01)
    assert word(0.0006 * 10**0.34, *WORDS[1:], light="dark") == pytest.approx(0.841, abs=0.01)


def test_the_eyes_of_a_job_differ_by_a_tenth_of_a_decade() -> None:
    """Three points as likely as each other, of that standard deviation; the middle one is nobody's bias."""
    assert sum(SHIFT_WEIGHTS) == pytest.approx(1) and len(SHIFTS) == len(SHIFT_WEIGHTS)
    assert sum(w * s for w, s in zip(SHIFT_WEIGHTS, SHIFTS, strict=True)) == pytest.approx(0)
    spread = sum(w * s**2 for w, s in zip(SHIFT_WEIGHTS, SHIFTS, strict=True))
    assert math.sqrt(spread) == pytest.approx(0.1, abs=1e-3) and SHIFTS[UNSHIFTED] == 0


def test_the_usual_light_is_known_again() -> None:
    """A quarter more is taken for it six times in ten, half of it one time in ninety; in black night nobody knows."""
    apart = [float(known_again(np.array(x), 0.0)) for x in (0.0, math.log10(1.25), math.log10(0.5))]
    assert apart == pytest.approx([1.0, 0.62, 1 / 90], rel=0.05)
    assert float(known_again(np.array(-9.0), -4.0)) == 1.0 > 0.01 > float(known_again(np.array(-4.0), -3.6))


def test_slips_are_rarer_the_more_it_takes_to_make_them() -> None:
    """Of complaints rarer than of any look; of a careless person's words one in ten, of "perhaps" three."""
    assert 0 < COMPLAINT_SLIP < WORD_SLIP < 0.05 < CARELESS_SLIP == 0.1 < DOUBT_SLIP == 0.3
    assert CARELESS_SHARE == 0.03 and SAME_AGAIN == 0.9
    assert word_model.GLOW_BORDER_IN_THE_DARK < 0.003 < word_model.GLOW_BORDER_BY_DAY
    lit, dark = (np.array([1 << WORDS.index(w)]) for w in ("normal", "dark"))
    one = np.uint8(mask_of(frozenset({"dim"})))
    assert [float(at_random(one, usual)[0]) for usual in (lit, dark)] == pytest.approx([1 / 5, 1 / 4])
    assert meant(frozenset({"bright"}), -9.0) == {"bright", "normal"} and meant(frozenset({"dim"}), -9.0) == {"dim"}
    assert meant(frozenset({"bright"}), 0.0) == {"bright"}


# --- complaints


def test_nine_complaints_in_ten_are_told_as_they_were_seen() -> None:
    own = statement_model
    slips = own.NEAR_WORD + own.OTHER_SIDE + own.BESIDE + own.OTHER_STATE
    assert 0.05 < slips < 0.1 > own.OTHER_FUSE + own.OTHER_STATE and own.DOUBTS * (slips + own.REST) < 0.5
    assert math.isclose(own.FUSE_TOLD + own.OTHER_FUSE + own.OTHER_STATE, 1)
    assert 0 < own.REST < min(own.NEAR_WORD, own.OTHER_SIDE, own.BESIDE, own.OTHER_STATE, own.OTHER_FUSE)
    assert own.FUSE_IMAGINED < own.BLOWN_EARLIER < own.LIGHT_IMAGINED < own.LENS_NAME < 0.5
    chances = [p for _, p in own.LIT_SAID]
    assert chances == sorted(chances, reverse=True) and chances[0] == 1 and chances[-1] > 0


def test_what_strikes_more_is_left_unsaid_less_often() -> None:
    own = silence
    assert 0 < own.DEAD_DENIED < own.MOST_SILENCE < own.DEAD_UNMENTIONED <= own.ONE_SIDE < seldom_seen.ALONE < 0.5
    assert 0 < seldom_seen.SELDOM_SEEN < seldom_seen.LESSER < seldom_seen.ALONE
    assert seldom_seen.SELDOM_SEEN < own.SHONE_EARLIER < own.MET_EARLIER < own.UNMENTIONED < 0.5 == own.GOES_ON
    assert unmodelled_cause.TOUCHED_WEIGHTS.sum() == pytest.approx(1)
    touched = unmodelled_cause.TOUCHED.tolist()
    assert touched == sorted(touched, reverse=True) and touched[0] == 1
    assert 0 < unmodelled_cause.ELSE_COMPLAINED < 0.05 and unmodelled_cause.AT_ODDS.tolist() == [1.0, 0.3]
