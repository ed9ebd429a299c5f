"""Which two faults together could explain what neither explains alone: candidates for exact simulation.

Simulating every pair is out of reach (a thousand faults make half a million pairs), and pairs of the best
single faults are not enough: half of a true pair may be contradicted by all that the other half does. So
pairs are scored from the single faults' own predictions, observation by observation: where only one fault
changes what is seen, its prediction stands; where both do, the better of the two is assumed.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_CHANGES = 0.05  # ln likelihood by which a fault must differ from the healthy vehicle to count as changing it
_EXPLAINS = 1.0  # … and must gain to count as explaining it
_SEEDS_OF_ALL = 40  # faults that are best overall, tried with every other one
_SEEDS_A_PIECE = 6  # faults that explain one observation best, likewise
_MOST_SEEDS = 140
_PARTNERS = 32  # of one seed
_SEVERITIES = 2  # of one pair of faults


def pair_scores(gain: Floats, seed: int) -> Floats:
    """ln likelihood ratio (H,) against the healthy vehicle of `seed` together with every fault, estimated.

    Args:
        gain: (P, H) ln likelihood of each observation under each fault, less that of the healthy vehicle.
        seed: Column of the fault that is paired.
    """
    mine = gain[:, seed, None]
    both = (np.abs(mine) > _CHANGES) & (np.abs(gain) > _CHANGES)
    return np.asarray(np.where(both, np.maximum(mine, gain), mine + gain).sum(axis=0))


def candidate_pairs(
    gain: Floats, log_prior: Floats, fault: Sequence[Hashable], alive: NDArray[np.bool_], most: int
) -> list[tuple[int, int]]:
    """The pairs that promise most, best first.

    Args:
        gain: (P, H) as in `pair_scores`.
        log_prior: (H,).
        fault: H labels; severities of one fault share theirs and make no pair.
        alive: (H,) rows whose gains are known for every observation.
        most: How many pairs to return.

    Returns:
        Pairs (i, j) with i < j.
    """
    if not len(gain) or not alive.any():
        return []
    code = {name: k for k, name in enumerate(dict.fromkeys(fault))}
    label = np.array([code[name] for name in fault])
    weight = np.where(alive, log_prior, -np.inf)
    overall = weight + gain.sum(axis=0)
    seeds = dict.fromkeys(int(i) for i in _first_of_each(overall, label, _SEEDS_OF_ALL))
    order = falling(gain[:, alive].max(axis=1))  # what needs explaining most comes first
    for p in order:
        worth = np.where(gain[p] > _EXPLAINS, weight + gain[p], -np.inf)
        # As a partner a fault may be contradicted elsewhere, but the less the better.
        seeds.update(dict.fromkeys(int(i) for i in _first_of_each(worth, label, _SEEDS_A_PIECE)))
        if len(seeds) >= _MOST_SEEDS:
            break
    best: dict[tuple[int, int], float] = {}
    partners = np.flatnonzero(alive)
    own, known = label[partners], np.ascontiguousarray(gain[:, partners])
    for seed in list(seeds)[:_MOST_SEEDS]:
        promised = weight[partners] + weight[seed] + pair_scores(known, int(np.searchsorted(partners, seed)))
        score = np.where(own == label[seed], -np.inf, promised)
        for k in falling(score, _PARTNERS):
            if np.isfinite(score[k]):
                other = int(partners[k])
                best[min(seed, other), max(seed, other)] = float(score[k])
    taken: dict[tuple[int, int], int] = {}
    out: list[tuple[int, int]] = []
    for i, j in sorted(best, key=lambda pair: -round(best[pair], 6)):
        key = (min(label[i], label[j]), max(label[i], label[j]))
        taken[key] = taken.get(key, 0) + 1
        if taken[key] <= _SEVERITIES:
            out.append((i, j))
        if len(out) == most:
            break
    return out


def falling(score: Floats, most: int | None = None) -> Ints:
    """Largest first, the first `most` of them; what differs only by rounding keeps its order, so that the choice is
    the same everywhere."""
    down = -np.round(score, 6)
    if most is None or most >= len(down):
        return np.argsort(down, kind="stable")
    among = np.flatnonzero(down <= np.partition(down, most - 1)[most - 1])  # sooner than sorting all
    return np.asarray(among[np.argsort(down[among], kind="stable")[:most]])


def _first_of_each(score: Floats, label: Ints, count: int) -> list[int]:
    """The best columns by score, one for each label."""
    found: dict[int, int] = {}
    known = np.flatnonzero(np.isfinite(score))
    for i in known[falling(score[known], 12 * count)].tolist():
        if len(found) == count:
            break
        found.setdefault(int(label[i]), i)
    return list(found.values())
