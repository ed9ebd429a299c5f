"""Outcomes of a test as they are told: tied together where nobody could tell them apart."""

from __future__ import annotations

import numpy as np
import pytest

from tests.library import MODELS, evidence_from, tool_on
from tracer.inference.expected_results import Expectation, by_outcome, expectations, unexpected
from tracer.inference.likelihood import undescribed_seen
from tracer.observation.evidence import FuseSeen, LampSeen, LensSeen, Reading
from tracer.observation.words.probes import parse_test

TOOL = tool_on(MODELS / "rear_end.yaml")
PRESSED = TOOL.harness.state({"brake pedal": "pressed"})


def outcomes(*shows: str) -> list[tuple[str, ...]]:
    """Which of them are one outcome, by their numbers."""
    expected = [Expectation(str(k), 0.5 - 0.01 * k, s) for k, s in enumerate(shows)]
    return [o.repairs for o in by_outcome(expected)]


@pytest.mark.parametrize(("one", "two", "alike"), [
    ("dark", "dark", True), ("dark", "dim", False), ("12 V", "12.2 V", True), ("12 V", "12.3 V", True),
    ("12 V", "12.5 V", False), ("0.1 V", "0.3 V", True), ("0 V", "0.3 V", False), ("12 V", "12 A", False),
    ("0 V", "0 Ω", False), ("-12 V", "12 V", False), ("-12 V", "-12.2 V", True), ("12 V", "lit", False),
    ("lit", "12 V", False),
])
def test_values_within_what_a_meter_and_a_battery_leave_open_are_one_outcome(one: str, two: str, alike: bool) -> None:
    """3 % of the value and 0.2 at least; what is measured in another unit is another thing."""
    assert (len(outcomes(one, two)) == 1) == alike == (len(outcomes(two, one)) == 1)


def test_the_likeliest_outcome_comes_first_with_all_that_show_it() -> None:
    """Two at 0.3 together are likelier than one at 0.4."""
    expected = [Expectation("a", 0.4, "dark"), Expectation("b", 0.3, "12 V"), Expectation("c", 0.3, "12.1 V")]
    first, second = by_outcome(expected)
    assert (first.shows, first.repairs, second.shows, second.repairs) == ("12 V", ("b", "c"), "dark", ("a",))
    assert (first.share, second.share) == pytest.approx((0.6, 0.4))


def test_each_leading_suspect_says_what_it_expects() -> None:
    found = TOOL.diagnose(evidence_from(TOOL.harness, "left rear stop dark when brake pedal pressed"), pairs=False)
    test = parse_test("volts left rear.stop when brake pedal pressed", TOOL.harness)
    told = expectations(found, test, count=3)
    assert [e.repair for e in told] == [s.repair for s in found.suspects[:3]] and all(not e.looks for e in told)
    look = parse_test("look left rear stop when brake pedal pressed", TOOL.harness)
    assert [e.shows for e in expectations(found, look, 2)] == ["dark", "dark"]
    several = expectations(found, look, 2, also=("left rear tail",))
    assert several[0].shows == "left rear stop dark, left rear tail dark"
    assert several[0].looks == (("left rear stop", "dark"), ("left rear tail", "dark"))


def test_a_reading_that_a_leading_suspect_predicts_is_not_remarked_upon() -> None:
    found = TOOL.diagnose(evidence_from(TOOL.harness, "left rear stop dark when brake pedal pressed"), pairs=False)

    def remark(point: str, value: str) -> str:
        (reading,) = evidence_from(TOOL.harness, (f"volts {point} when brake pedal pressed", value))
        assert isinstance(reading, Reading)
        return unexpected(reading, found, TOOL)

    assert remark("left rear.stop", "12.2 V") == "" == remark("left rear.stop", "0 V")
    assert remark("right rear.indicator", "12.2 V").startswith("no leading suspect predicts this (")


def test_of_one_light_that_may_be_any_of_several_lamps_one_is_so() -> None:
    """Any word as likely as any other for each: that none is so is left out, 1 − (1 − p)(1 − q)."""
    looks = tuple(LampSeen(n, frozenset({"dark"})) for n in ("left rear stop", "left rear indicator"))
    p, q = (np.exp(undescribed_seen(x, PRESSED, TOOL.predictor)) for x in looks)
    both = undescribed_seen(LensSeen(looks), PRESSED, TOOL.predictor)
    assert np.exp(both) == pytest.approx(p + q - p * q) and max(p, q) < np.exp(both) < 1
    assert np.exp(undescribed_seen(FuseSeen("F1", True), PRESSED, TOOL.predictor)) == pytest.approx(0.5)
    for seen in (LampSeen("left rear stop", frozenset({"dark"}), flash="steady"),
                 LampSeen("left rear stop", frozenset({"dark"}), sometimes=True)):
        assert np.exp(undescribed_seen(seen, PRESSED, TOOL.predictor)) == pytest.approx(p / 2)
