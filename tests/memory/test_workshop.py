"""A made-up workshop whose true rates differ threefold by kind from ours, and one whose rates are ours.

`bench_memory.py` prints the same for more of them. The oracle ranks by the true rates; the measure is the log-loss of
the first ranking.
"""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest

from tests.bench.bench_memory import Shop, workshop
from tests.library import MODELS


@cache
def _shop() -> Shop:
    return Shop(MODELS / "rear_end.yaml")


@cache
def _losses(seed: int, as_ours: bool) -> tuple[float, float, float, float]:
    """Of 100 new jobs: by the shipped rates, after 10 jobs, after 300, by the true rates."""
    shop, dice = _shop(), random.Random(seed)
    true = {} if as_ours else workshop(shop.kinds, dice)
    old, new = ([shop.draw(true, dice) for _ in range(n)] for n in (300, 100))
    few, many = (shop.loss(new, *shop.learned(old[:n])) for n in (10, 300))
    return shop.loss(new, {}), few, many, shop.loss(new, true)


def test_three_hundred_jobs_bring_at_least_half_of_what_the_true_rates_would() -> None:
    shipped, _, many, true = np.mean([_losses(seed, False) for seed in (100, 101, 102)], axis=0)
    assert shipped > true
    assert shipped - many >= 0.5 * (shipped - true)


@pytest.mark.parametrize(("seed", "as_ours"), [(100, False), (101, False), (102, False), (106, True), (107, True)])
def test_ten_jobs_never_make_it_worse_by_more_than_a_hundredth(seed: int, as_ours: bool) -> None:
    shipped, few, _, _ = _losses(seed, as_ours)
    assert few <= 1.01 * shipped
