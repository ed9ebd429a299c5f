"""Which pairs of faults are thought of, and what a pair weighs: small tables of gains, by hand."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.faults import Fault, find_fault, list_faults
from tracer.harness.base_rates import AWAKE_SHARE, FURTHER_FAULTS
from tracer.harness.file.text import load_harness
from tracer.inference.hypotheses import Hypothesis, by_story, together, with_loose_contacts
from tracer.inference.multiple_faults import key_of, worth_keeping
from tracer.inference.pair_candidates import candidate_pairs, falling, pair_scores
from tracer.inference.search_bound import PAIR_MUST_GAIN, as_share
from tracer.inference.search_bound import gains as gains_of


@cache
def fault(name: str) -> Fault:
    return find_fault(list_faults(load_harness(MODELS / "rear_end.yaml")), name)


def single(name: str, prior: float = 0.01, variant: int = 0) -> Hypothesis:
    own = fault(name)
    return Hypothesis((own,), (own.variants[variant],), prior)


def test_the_largest_come_first_and_what_differs_by_rounding_keeps_its_order() -> None:
    score = np.array([1.0, 3.0, 2.0, 3.0 + 1e-9, -np.inf, 2.5])
    assert falling(score).tolist() == [1, 3, 5, 2, 0, 4]
    for most in range(1, 6):
        assert falling(score, most).tolist() == [1, 3, 5, 2, 0, 4][:most]
    assert falling(score, 99).tolist() == falling(score).tolist()


def test_where_only_one_changes_what_is_seen_its_prediction_stands_and_else_the_better() -> None:
    """Three things seen; the first fault changes the first two, the others as written. A change of less than a
    twentieth is none."""
    gain = np.array([[4.0, 0.0, -3.0, 0.04], [-2.0, 0.0, 5.0, 6.0], [0.0, 3.0, 1.0, 0.0]])
    assert pair_scores(gain, 0).tolist() == pytest.approx([4 - 2 + 0, 4 - 2 + 3, 4 + 5 + 1, 4.04 + 6 + 0])


def pairs(
    gain: list[list[float]], most: int = 99, dead: int | None = None, **more: list[float]
) -> list[tuple[int, int]]:
    table = np.array(gain)
    alive = np.arange(table.shape[1]) != (-1 if dead is None else dead)
    return candidate_pairs(table, np.array(more.get("log_prior", [0.0] * table.shape[1])),
                           more.get("fault", [*range(table.shape[1])]), alive, most)


def test_pairs_come_by_what_they_promise_with_their_priors() -> None:
    """Two things seen: the first two faults explain one each, the third a little of both."""
    gain = [[6.0, -1.0, 2.0], [-1.0, 6.0, 2.0]]
    assert pairs(gain) == [(0, 1), (0, 2), (1, 2)]
    assert pairs(gain, most=1) == [(0, 1)]
    assert pairs(gain, log_prior=[0.0, -9.0, 0.0])[0] == (0, 2)
    assert pairs(gain, dead=1) == [(0, 2)], "what was dropped is known of no pair"
    assert pairs([[1.0]]) == []
    assert candidate_pairs(np.zeros((0, 2)), np.zeros(2), [0, 1], np.ones(2, dtype=bool), 9) == []


def test_severities_of_one_fault_make_no_pair_and_two_pairs_of_the_same_faults_are_enough() -> None:
    gain = [[6.0, 5.0, 4.0, 0.0], [0.0, 0.0, 0.0, 6.0]]
    found = pairs(gain, fault=[7, 7, 7, 8])
    assert found == [(0, 3), (1, 3)]


# --- what a pair weighs


def test_two_faults_are_as_likely_as_both_priors_and_a_second_misfortune() -> None:
    one, two = single("earth open: E1", 0.02), single("wire open: S2 – left rear.stop", 0.05)
    both = together(one, two)
    assert both is not None and both.prior == pytest.approx(0.02 * 0.05 * FURTHER_FAULTS)
    twice = together(one, two, likelier=3.0)
    assert twice is not None and twice.prior == pytest.approx(3 * both.prior)
    three = together(both, single("earth open: E2", 0.1))
    assert three is not None and three.prior == pytest.approx(both.prior * 0.1 * FURTHER_FAULTS)
    assert both.change == one.change | two.change and both.awake == 1.0
    assert together(one, single("earth bad: E1")) is None, "two faults of one thing"
    assert both.repair == " and ".join(sorted((one.repair, two.repair)))
    assert both.repair_min == one.repair_min + two.repair_min
    loose = together(replace(one, awake=0.5), two)
    assert loose is not None and loose.awake == 0.5 and loose.says().startswith("comes and goes: ")


def test_one_repair_for_two_faults_is_made_once() -> None:
    one, two = single("wire open: S2 – left rear.stop"), single("wire to body: S2 – left rear.stop")
    same = Hypothesis((*one.faults, replace(two.faults[0], repair=one.repair)), (*one.variants, *two.variants), 0.1)
    assert same.repair == one.repair and same.repair_min == max(one.repair_min, two.repair_min)


def test_what_may_be_loose_is_split_into_what_stays_and_what_comes_and_goes() -> None:
    """Nothing is lost or won by it; a fuse that blew stays blown."""
    rows = [single("holder open: left rear stop holder contact", 0.3), single("fuse blown: F1", 0.7)]
    out = with_loose_contacts(rows)
    assert [h.awake for h in out] == [1.0, 1.0, AWAKE_SHARE] and out[2].faults == rows[0].faults
    assert sum(h.prior for h in out) == pytest.approx(1.0) and out[1].prior == 0.7
    assert out[2].prior == pytest.approx(0.3 * rows[0].faults[0].comes_and_goes)
    told = by_story(rows, {"holder open: left rear stop holder contact": 4.0})
    assert [h.prior for h in told] == pytest.approx([1.2, 0.7])


def test_a_pair_is_kept_where_it_explains_more_than_either_of_its_faults() -> None:
    """By 1.5 of the logarithm at least; against what comes and goes as against what stays."""
    one, two = single("earth open: E1"), single("wire open: S2 – left rear.stop")
    both = together(one, two)
    assert both is not None
    known = {key_of(one): -9.0, key_of(two): -5.0}
    for explained, kept in ((-5.0, []), (-5.0 + PAIR_MUST_GAIN - 0.01, []), (-5.0 + PAIR_MUST_GAIN + 0.01, [0])):
        assert worth_keeping([both], np.array([[explained]]), known) == kept
    assert worth_keeping([both], np.array([[-4.0], [-1.0]]), known) == [], "all that was seen counts"
    loose = replace(both, awake=0.5)
    assert worth_keeping([loose], np.array([[-4.0]]), known) == []
    assert worth_keeping([both], np.array([[-99.0]]), {}) == [0]
    other = Hypothesis(both.faults[::-1], both.variants[::-1], both.prior)
    assert key_of(other) == key_of(both) != key_of(loose)


def test_gains_are_put_where_they_belong_and_what_was_dropped_is_known_of_no_more() -> None:
    rows = [single("earth open: E1")] * 3
    gain, alive = gains_of(rows, [(np.arange(3), np.array([[1.0, 2.0, 3.0]]), 0.0),
                                  (np.array([0, 2]), np.array([[4.0, 5.0], [6.0, 7.0]]), 0.0)])
    assert gain.tolist() == [[1, 2, 3], [4, 0, 5], [6, 0, 7]] and alive.tolist() == [True, False, True]
    nothing, none = gains_of(rows, [])
    assert nothing.shape == (0, 3) and not none.any()


def test_a_weight_beside_all_the_evidence_is_a_share_of_both() -> None:
    """As much again as everything explains is a half; e times less is 1 / (1 + e)."""
    prior = np.array([0.3, 0.7])
    even = np.log(1 / 0.99)
    assert as_share(even - 5, prior, -5.0, 0.01) == pytest.approx(0.5)
    assert as_share(even - 6, prior, -5.0, 0.01) == pytest.approx(1 / (1 + np.e))
    assert as_share(-np.inf, prior, -5.0, 0.01) == pytest.approx(0.0, abs=1e-9)
