"""From counts to rates: a Gamma prior on how many times as frequent a kind is here, updated by Poisson counts.

For each kind of fault k the factor θ on its shipped rate has the prior Gamma(a, a), mean one, with

    a = SIGHTINGS + PRIOR_JOBS · p,

p being the share of k on the vehicle at hand by the shipped rates: these are worth PRIOR_JOBS jobs, and of no kind
less than SIGHTINGS finds. n finds of k on vehicles whose equipment let expect E of them give Gamma(a + n, a + E), of
which the mean (a + n) / (a + E) is used. (Conjugate update: A. Gelman and others, Bayesian Data Analysis, 3rd ed.,
section 2.6.) With E = N · p it is the mean of a Dirichlet prior of PRIOR_JOBS jobs, for vehicles of any equipment.

Jobs on other vehicles count less (power prior: J. G. Ibrahim, M.-H. Chen, Statistical Science 15, 2000), so that a
group of few jobs leans on all the others. (Both sources from memory.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from tracer.harness.base_rates import RATES, UNDESCRIBED, brought
from tracer.memory.finds import Group

# What the shipped rates are worth. (Judgement; chosen so that of workshops with the shipped rates, or with rates that
# differ threefold by kind, hardly one in a hundred is served worse after ten jobs than before.)
PRIOR_JOBS: Final = 50.0
SIGHTINGS: Final = 2.0
# The share kept for what the harness file does not describe: a repair in words of its own may have been one of a
# described fault, so that it takes more of them. (Judgement.)
UNDESCRIBED_JOBS: Final = 300.0
# What a job counts on a vehicle of the same kind and another age, and on another kind of vehicle. (Judgement.)
OTHER_AGE: Final = 0.7
OTHER_VEHICLE: Final = 0.4


class Bundle(Struct, frozen=True):
    """Jobs of one group on vehicles of one equipment (kind → elements), and what was found on them (kind → finds)."""

    group: Group
    jobs: int
    equipment: Mapping[str, float]
    finds: Mapping[str, float]


class Counts(Struct, frozen=True):
    """All that a memory holds, added up."""

    bundles: tuple[Bundle, ...] = ()
    undescribed: int = 0
    given_up: int = 0

    @property
    def found(self) -> int:
        """Jobs in which something was found that the harness describes."""
        return sum(b.jobs for b in self.bundles)

    @property
    def jobs(self) -> int:
        return self.found + self.undescribed + self.given_up

    def seen(self, kind: str) -> float:
        """How often a kind was found."""
        return sum(b.finds.get(kind, 0.0) for b in self.bundles)


class Rates(Struct, frozen=True):
    """What a workshop's memory says of one vehicle.

    Attributes:
        factor: Kind of fault → how many times the shipped rate it has.
        undescribed: Share kept for what the harness file does not describe.
        jobs: Jobs behind it; `given_up` and `not_described` of them.
        seen: Kind → finds in all of them; `alike`: of them, on vehicles of the same group.
    """

    factor: Mapping[str, float] = field(default_factory=dict)
    undescribed: float = UNDESCRIBED
    jobs: int = 0
    given_up: int = 0
    not_described: int = 0
    seen: Mapping[str, float] = field(default_factory=dict)
    alike: Mapping[str, float] = field(default_factory=dict)


def prior(share: float) -> float:
    """Shape and rate of the Gamma prior of a kind that has this share of the faults of a vehicle."""
    return SIGHTINGS + PRIOR_JOBS * share


def updated(a: float, finds: float, expected: float) -> tuple[float, float]:
    """Shape and rate of the posterior: Gamma(a + n, a + E)."""
    return a + finds, a + expected


def shares(equipment: Mapping[str, float]) -> dict[str, float]:
    """Kind → its share of all faults of a vehicle by the shipped rates; sums to one."""
    rates = {k: brought(k) * n for k, n in equipment.items() if k in RATES}
    total = sum(rates.values())
    return {k: r / total for k, r in rates.items()} if total > 0 else {}


def weight(one: Group, other: Group) -> float:
    """What a job on a vehicle of the group `other` counts for one of the group `one`."""
    if one.vehicle != other.vehicle:
        return OTHER_VEHICLE
    return 1.0 if one.age == other.age else OTHER_AGE


def rates_for(counts: Counts, group: Group, equipment: Mapping[str, float]) -> Rates:
    """The rates for one vehicle: plain numbers, none of them a distribution any more."""
    finds: dict[str, float] = {}
    expected: dict[str, float] = {}
    seen: dict[str, float] = {}
    alike: dict[str, float] = {}
    for bundle in counts.bundles:
        counted = weight(group, bundle.group)
        for kind, share in shares(bundle.equipment).items():
            expected[kind] = expected.get(kind, 0.0) + counted * bundle.jobs * share
        for kind, n in bundle.finds.items():
            finds[kind] = finds.get(kind, 0.0) + counted * n
            seen[kind] = seen.get(kind, 0.0) + n
            if bundle.group == group:
                alike[kind] = alike.get(kind, 0.0) + n
    factor = {}
    for kind, share in shares(equipment).items():
        shape, rate = updated(prior(share), finds.get(kind, 0.0), expected.get(kind, 0.0))
        factor[kind] = shape / rate
    known = counts.found + counts.undescribed
    unknown = (UNDESCRIBED * UNDESCRIBED_JOBS + counts.undescribed) / (UNDESCRIBED_JOBS + known)
    return Rates(factor, unknown, counts.jobs, counts.given_up, counts.undescribed, seen, alike)


def most_moved(rates: Rates, least: float = 1.05) -> Sequence[tuple[str, float]]:
    """Kinds whose rate moved by more than a factor of `least`, the farthest first."""
    moved = [(k, f) for k, f in rates.factor.items() if max(f, 1 / f) > least]
    return sorted(moved, key=lambda x: (-max(x[1], 1 / x[1]), x[0]))
