"""The estimate: ends of a plan that sum to one, quantiles worked out by scipy, and a job by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.costs import Standing
from tracer.planning.estimate import End, estimate, minutes_within, plan_ends
from tracer.planning.next_step import propose


def test_the_range_is_that_of_the_mixture_by_scipy() -> None:
    ends = [End(0.7, 8.0, 0), End(0.2, 20.0, 1), End(0.1, 90.0, -1)]
    low, mean, high = minutes_within(ends, 1.1, 0.3)

    def below(x: float) -> float:
        return float(sum(e.mass * stats.lognorm.cdf(x, 0.3, scale=1.1 * e.minutes) for e in ends))

    assert low == pytest.approx(optimize.brentq(lambda x: below(x) - 0.1, 0.1, 500), rel=1e-4)
    assert high == pytest.approx(optimize.brentq(lambda x: below(x) - 0.9, 0.1, 500), rel=1e-4)
    assert mean == pytest.approx(sum(e.mass * stats.lognorm.mean(0.3, scale=1.1 * e.minutes) for e in ends))


def test_a_dead_lamp_is_a_short_job_and_its_dearest_case_is_not() -> None:
    """One stop lamp dark: more than half the time its bulb, a few minutes; else it is wiring, which takes longer.
    What is bought is as likely as the repairs that take it."""
    harness = load_harness(MODELS / "rear_end.yaml")
    symptom = parse_symptom("left rear stop dark, right rear stop normal when brake pedal pressed", harness)
    diagnosis, standing = Investigator(harness).diagnose([symptom]), Standing(symptom.state)
    planned = propose(diagnosis, standing).planned
    assert planned is not None
    ends = list(plan_ends(planned, diagnosis, standing))
    assert sum(e.mass for e in ends) == pytest.approx(1, abs=1e-6)
    assert min(e.minutes for e in ends) > 0
    by_repair = np.bincount([e.repair + 1 for e in ends], [e.mass for e in ends])
    shares = {s.repair: s.share for s in diagnosis.suspects}
    first = planned.repairs.index(diagnosis.suspects[0].repair)
    assert by_repair[first + 1] == pytest.approx(shares[planned.repairs[first]], abs=0.03)
    found = estimate(planned, diagnosis, standing)
    assert found.low < found.minutes < found.high
    assert found.parts[0][0] == "the lamp"
    lamps = sum(share for repair, share in shares.items() if repair.startswith("new lamp"))
    assert 0.5 < found.parts[0][1] == pytest.approx(lamps, abs=0.02)
    assert found.dearest is not None
    assert found.dearest.share >= 0.05
    assert 0 <= found.given_up < 0.1
