"""From counts to rates: the conjugate update against scipy, and what few and many jobs do."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from tests.library import MODELS
from tracer.faults import list_deviations, list_faults
from tracer.harness.base_rates import RATES, UNDESCRIBED, brought
from tracer.harness.file.text import load_harness
from tracer.inference.diagnosis import Suspect
from tracer.inference.hypotheses import Hypothesis
from tracer.memory.finds import Group, decade, equipment, group_of
from tracer.memory.posterior import (
    OTHER_AGE,
    OTHER_VEHICLE,
    PRIOR_JOBS,
    SIGHTINGS,
    UNDESCRIBED_JOBS,
    Bundle,
    Counts,
    Rates,
    most_moved,
    rates_for,
    shares,
    updated,
)
from tracer.present.memory_words import seen_words

CAR = Group("car", "1970s")
# Three kinds, to be worked out on paper: so many elements that by the shipped rates 72, 18 and 10 of 100 come.
EQUIPMENT = {k: n / brought(k) for k, n in (("filament open", 72.0), ("holder bad", 18.0), ("fuse blown", 10.0))}


@pytest.mark.parametrize(("a", "n", "expected"), [(2.0, 0, 0.3), (9.2, 7, 2.5), (3.0, 1, 0.01), (40.0, 130, 180.0)])
def test_the_update_is_bayes_rule_worked_out_by_scipy(a: float, n: int, expected: float) -> None:
    """Prior Gamma(a, a) times the chance of n Poisson finds of which θ · E are expected, integrated numerically."""

    def weight(theta: float) -> float:
        return float(stats.gamma.pdf(theta, a, scale=1 / a) * stats.poisson.pmf(n, theta * expected))

    whole = integrate.quad(weight, 0, np.inf, limit=400)[0]
    mean = integrate.quad(lambda t: t * weight(t), 0, np.inf, limit=400)[0] / whole
    square = integrate.quad(lambda t: t * t * weight(t), 0, np.inf, limit=400)[0] / whole
    shape, rate = updated(a, n, expected)
    assert shape / rate == pytest.approx(mean, rel=1e-6)
    assert stats.gamma(shape, scale=1 / rate).var() == pytest.approx(square - mean**2, rel=1e-4)


def test_on_one_equipment_it_is_the_mean_of_a_dirichlet_but_for_the_sightings() -> None:
    """With N jobs on equal vehicles E = N p, and (W p + n) / (W p + N p) is the Dirichlet's mean over p."""
    p, n, jobs = shares(EQUIPMENT), {"filament open": 20.0, "holder bad": 15.0, "fuse blown": 5.0}, 40
    alpha = np.array([PRIOR_JOBS * p[k] for k in p])
    mean = stats.dirichlet.mean(alpha + np.array([n[k] for k in p]))
    for kind, expected in zip(p, mean, strict=True):
        shape, rate = updated(PRIOR_JOBS * p[kind], n[kind], jobs * p[kind])
        assert p[kind] * shape / rate == pytest.approx(expected, rel=1e-12)


def test_rates_by_hand() -> None:
    """100 jobs on vehicles of this equipment: 72 dead filaments, 18 holders, 10 fuses expected; 50, 40 and 10 found.
    Filaments: (2 + 36 + 50) / (2 + 36 + 72) = 0.8; holders (2 + 9 + 40) / (2 + 9 + 18); fuses as expected."""
    counts = Counts((Bundle(CAR, 100, EQUIPMENT, {"filament open": 50, "holder bad": 40, "fuse blown": 10}),))
    rates = rates_for(counts, CAR, EQUIPMENT)
    assert (SIGHTINGS, PRIOR_JOBS) == (2.0, 50.0)
    assert rates.factor["filament open"] == pytest.approx(88 / 110)
    assert rates.factor["holder bad"] == pytest.approx(51 / 29)
    assert rates.factor["fuse blown"] == pytest.approx(1.0)
    assert rates.jobs == 100
    assert rates.seen["holder bad"] == 40
    assert [k for k, _ in most_moved(rates)] == ["holder bad", "filament open"]


def test_ten_jobs_move_little_and_three_hundred_much() -> None:
    """Holders three times as frequent as shipped, by the numbers that are then found on average."""
    def factor(jobs: int) -> float:
        found = {"filament open": 0.72, "holder bad": 3 * 0.18, "fuse blown": 0.1}
        finds = {k: x * jobs / 1.36 for k, x in found.items()}
        rates = rates_for(Counts((Bundle(CAR, jobs, EQUIPMENT, finds),)), CAR, EQUIPMENT)
        return rates.factor["holder bad"] / rates.factor["filament open"]

    assert factor(0) == pytest.approx(1.0)
    assert 1.1 < factor(10) < 1.4
    assert 2.2 < factor(300) < 3.0
    assert factor(100_000) == pytest.approx(3.0, rel=0.01)


def test_jobs_on_other_vehicles_count_less() -> None:
    def with_jobs_on(group: Group) -> float:
        bundle = Bundle(group, 60, EQUIPMENT, {"holder bad": 60})
        return rates_for(Counts((bundle,)), CAR, EQUIPMENT).factor["holder bad"]

    own, aged, other = map(with_jobs_on, (CAR, Group("car", "1990s"), Group("tractor", "1970s")))
    assert own > aged > other > 1
    for counted, found in ((1.0, own), (OTHER_AGE, aged), (OTHER_VEHICLE, other)):
        assert found == pytest.approx((11 + counted * 60) / (11 + counted * 60 * 0.18))


def test_what_no_vehicle_there_could_have_stays_as_shipped() -> None:
    counts = Counts((Bundle(CAR, 80, EQUIPMENT, {"filament open": 80}),))
    assert rates_for(counts, CAR, {**EQUIPMENT, "relay coil open": 3.0}).factor["relay coil open"] == 1.0


def test_without_jobs_nothing_moves() -> None:
    rates = rates_for(Counts(), CAR, EQUIPMENT)
    assert set(rates.factor.values()) == {1.0}
    assert rates.undescribed == UNDESCRIBED


def test_what_was_not_described_is_counted() -> None:
    """A Beta prior worth UNDESCRIBED_JOBS jobs, and its mean."""
    counts = Counts((Bundle(CAR, 90, EQUIPMENT, {"holder bad": 90}),), undescribed=10, given_up=3)
    beta = stats.beta(UNDESCRIBED * UNDESCRIBED_JOBS + 10, (1 - UNDESCRIBED) * UNDESCRIBED_JOBS + 90)
    rates = rates_for(counts, CAR, EQUIPMENT)
    assert rates.undescribed == pytest.approx(beta.mean())
    assert (rates.jobs, rates.given_up, rates.not_described) == (103, 3, 10)


def test_the_equipment_is_counted_by_the_shipped_rates() -> None:
    harness = load_harness(MODELS / "pickup.yaml")
    faults = list_faults(harness)
    counted, total = dict(equipment(faults)), sum(f.rate for f in faults)
    for kind, share in shares(counted).items():
        assert share == pytest.approx(sum(f.rate for f in faults if f.kind == kind) / total, rel=1e-5)
    assert math.fsum(shares(counted).values()) == pytest.approx(1)
    assert set(counted) <= set(RATES)


@pytest.mark.parametrize(("words", "found"), [
    ("Invented saloon of the 1970s", "1970s"), ("blue van, 1984, invented", "1980s"), ("built (2003)", "2000s"),
    ("XY 19 7401", ""), ("12 V", ""), ("", ""), ("1800 kg", ""), ("19700", ""),
])
def test_a_decade_is_read_from_a_year(words: str, found: str) -> None:
    assert decade(words) == found


def test_the_group_of_a_vehicle() -> None:
    saloon = load_harness(MODELS / "saloon_1970s.yaml")
    assert group_of(saloon) == Group("car", "1970s")
    assert group_of(saloon, "invented, first registered 1981") == Group("car", "1980s")
    assert group_of(load_harness(MODELS / "tow_7pin.yaml")).vehicle == "car+trailer"


def test_wiring_that_is_otherwise_is_no_fault_that_was_seen() -> None:
    """Of a fault beside a difference of the wiring it is said how often the fault was found: the other is none."""
    harness = load_harness(MODELS / "pickup.yaml")
    fault = next(f for f in list_faults(harness) if f.kind == "way open")
    other = next(f for f in list_deviations(harness) if not {*f.elements} & {*fault.elements})
    both = Hypothesis((fault, other), (fault.variants[0], other.variants[0]), 0.01)
    said = seen_words(Rates(jobs=12, seen={"way open": 3.0}), Suspect(both.repair, 0.9, (0,), both))
    assert said == "“way open” seen 3 times in 12 jobs here; the shipped rate holds"
