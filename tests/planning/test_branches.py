"""The answers that are gone on from: every one can be typed, none is missing, and each means what it says."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tests.shared import investigator_for
from tracer.circuit.model import NO_CHANGE
from tracer.harness.file.text import load_harness
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test, Value
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.branches import Branch, branches_of
from tracer.planning.outcomes import borders_between, reading_outcomes

BOTH_DARK = "left rear stop dark, left rear tail dark when lamp switch side, brake pedal pressed"


@cache
def found(said: str = BOTH_DARK) -> Diagnosis:
    own = investigator_for(load_harness(MODELS / "rear_end.yaml"))
    return own.diagnose([parse_symptom(said, own.harness)], pairs=False)


def test_of(words: str) -> Test:
    return parse_test(words, found().predictor.harness)


test_of.__test__ = False  # type: ignore[attr-defined]  # not a test for pytest


def branches(words: str) -> tuple[Branch, ...]:
    return branches_of(found(), test_of(words))


def holds(branch: Branch, test: Test, shown: float) -> bool:
    """Whether what a job understands by a branch holds a value that a meter shows."""
    value: Value = parse_value(branch.value, test.kind)
    return value.low - 1e-9 <= shown <= value.high + 1e-9


NUMBERS = (
    "volts left rear.earth when brake pedal pressed",
    "volt drop left rear.stop to left rear.earth when brake pedal pressed",
    "volt drop left rear.earth to left rear.stop when brake pedal pressed",  # the leads the other way round
    "volt drop left rear.earth to E1 when brake pedal pressed",
    "ohms left rear.earth to E1",
    "amps S2 to left rear.stop when brake pedal pressed",
)


@pytest.mark.parametrize("words", NUMBERS)
def test_ranges_follow_on_each_other_and_hold_what_the_suspects_predict(words: str) -> None:
    """Also below nothing, with the leads the other way round. Only a range too unlikely to go on from may lack."""
    test, own = test_of(words), branches(words)
    assert len(own) >= 2
    assert [b.low for b in own] == sorted(b.low for b in own)
    for one, two in pairwise(own):
        assert one.high <= two.low
    assert 0.98 < sum(b.share for b in own) <= 1 + 1e-9
    diagnosis = found()
    rows = [r for s in diagnosis.suspects[:24] for r in s.rows[:4]]
    shares = diagnosis.share[rows] / diagnosis.share[rows].sum()
    shown = diagnosis.predictor.observed(test, [diagnosis.hypotheses[r].change for r in rows] + [NO_CHANGE])
    held = np.zeros(len(own))
    for value, share in zip(shown[:-1].tolist(), shares.tolist(), strict=True):
        inside = [k for k, b in enumerate(own) if b.low < value <= b.high]
        assert len(inside) == 1 or share < 0.002
        if inside:
            held[inside[0]] += share
            assert holds(own[inside[0]], test, min(abs(value), 1e6) if test.row.log_scale else value)
    assert [b.share for b in own] == pytest.approx(held, abs=0.04)  # but for the sound vehicle


def test_with_the_leads_the_other_way_round_the_ranges_are_mirrored() -> None:
    one, other = (branches(w) for w in NUMBERS[1:3])
    assert [b.share for b in other] == pytest.approx([b.share for b in reversed(one)], abs=0.01)
    assert [b.low for b in other[1:]] == pytest.approx([-b.high for b in reversed(one[:-1])])
    lowest = parse_value(other[0].value, "drop")
    assert lowest.high == pytest.approx(other[0].high) and lowest.high < 0  # "below" would be said of the size


def test_a_broken_filament_is_said_to_be_open() -> None:
    """Left stop lamp dark: in the hand it has half an ohm or is open; a meter's last digit tells no large resistance
    from open, but a few ohms it does."""
    dark = found("left rear stop dark when brake pedal pressed")
    harness = dark.predictor.harness
    bulb = harness.lamp("left rear stop")
    held = Test("ohms", harness.state({}), bulb.a, bulb.b, done=(Intervention("take out lamp", bulb.bulb),))
    below, above = branches_of(dark, held)
    assert below.value.startswith("below") and below.value.endswith("Ω") and above.value == "open"
    assert below.high == above.low
    earth = [b.value.split()[0] for b in branches("ohms left rear.earth to body")]
    assert earth[0] == "below" and earth[-1] == "above"


def test_words_stand_likeliest_first_and_sum_to_one() -> None:
    for words in (f"{test} when brake pedal pressed" for test in ("look left rear stop", "test lamp left rear.stop")):
        own = branches(words)
        assert [b.share for b in own] == sorted((b.share for b in own), reverse=True)
        assert 0.98 < sum(b.share for b in own) <= 1 + 1e-9
        assert all(b.low == -np.inf and b.high == np.inf for b in own)
        assert all(parse_value(b.value, test_of(words).kind, test_of(words).lamp).seen for b in own)
    assert branches("look left rear stop when brake pedal pressed")[0].value == "dark"  # as it was told
    searched = branches("inspect left rear.earth to E1")
    assert {b.value for b in searched} == {"found", "nothing"} and sum(b.share for b in searched) == pytest.approx(1)


@pytest.mark.parametrize("also", [("right rear stop",), ("left rear tail", "right rear stop")])
def test_lamps_seen_together_are_told_each_by_itself(also: Sequence[str]) -> None:
    """The look at the first is the answer, the others are told beside it; all looks of a lamp together are as likely
    as that lamp's own."""
    test = test_of("look left rear stop when brake pedal pressed")
    both, alone = branches_of(found(), test, also), branches_of(found(), test)
    assert all([lamp for lamp, _ in b.also] == list(also) for b in both)
    assert all(parse_value(look, "look", lamp).seen for b in both for lamp, look in b.also)
    assert [b.share for b in both] == sorted((b.share for b in both), reverse=True)
    together = {b.value: 0.0 for b in both}
    for b in both:
        together[b.value] += b.share
    own = {b.value: b.share for b in alone}
    assert together["dark"] == pytest.approx(own["dark"], abs=0.1)


def test_what_nobody_predicts_apart_has_no_branches() -> None:
    """Both tail lamps are dark whatever is wrong with the stop lamps: their feed has no volts anyhow."""
    assert branches("volts left rear.tail when lamp switch off") == ()


# --- Where one range ends and the next begins ------------------------------------------------------------


def test_a_border_lies_half_way_where_two_readings_are_told_apart() -> None:
    """More than two sigma of the less certain one between them."""
    sigma = np.array([1.0, 1.0, 1.0])
    assert borders_between(np.array([0.0, 4.0, 4.5]), sigma).tolist() == [2.0]
    assert borders_between(np.array([4.5, 0.0, 9.0]), sigma).tolist() == [2.25, 6.75]
    assert borders_between(np.array([0.0, 2.1]), np.array([1.0, 1.0])).tolist() == [1.05]
    assert borders_between(np.array([0.0, 1.9]), np.array([1.0, 1.0])).size == 0
    assert borders_between(np.array([0.0, 4.0]), np.array([0.1, 2.5])).size == 0
    assert borders_between(np.array([0.0, 4.0]), np.array([2.5, 0.1])).size == 0


def test_of_many_gaps_the_widest_are_borders() -> None:
    """Six ranges at most; the gaps of 1, 2, … 7 V lose the two smallest."""
    values = np.cumsum([0.0, 1, 2, 3, 4, 5, 6, 7])
    borders = borders_between(values, np.full(8, 0.1))
    assert borders.tolist() == [4.5, 8.0, 12.5, 18.0, 24.5]
    assert borders_between(values[::-1], np.full(8, 0.1)).tolist() == borders.tolist()


def test_a_reading_falls_where_it_is_predicted_and_rarely_anywhere() -> None:
    """Three clusters: each word for its own, and what strays is spread over all three alike."""
    mu, sigma = np.array([0.0, 6.0, 12.0]), np.full(3, 0.2)
    words, table = reading_outcomes(mu, sigma, ohms=False)
    assert words == ("below 3 V", "3 to 9 V", "above 9 V")
    assert table.sum(axis=0) == pytest.approx(1.0)
    assert np.diag(table) == pytest.approx(1 - 2 / 3 * 0.005, abs=1e-4)
    assert table[0, 2] == pytest.approx(table[1, 0], rel=1e-3) == pytest.approx(0.005 / 3, rel=1e-3)
    shifted = reading_outcomes(np.array([0.0, 2.9, 6.0]), np.array([0.2, 1.4, 0.2]), ohms=False)[1]
    assert shifted.shape[0] == 3 and shifted[0, 1] > 0.1 > shifted[0, 2]


def test_unlikely_answers_are_not_gone_on_from() -> None:
    """What less than one of five hundred cases leads to."""
    assert all(b.share >= 0.002 for words in NUMBERS for b in branches(words))
    sure = replace(found(), undescribed=0.9)
    own = branches_of(sure, test_of(NUMBERS[0]))
    # The sound vehicle counts as much as nobody knows: the range that holds its reading has nine tenths.
    sound = float(sure.predictor.observed(test_of(NUMBERS[0]), [NO_CHANGE])[0])
    assert next(b.share for b in own if b.low < sound <= b.high) > 0.9
