"""The ideal observer: knows the vehicle, how faults are drawn and how people speak, and weighs by Bayes.

Draws of every class at every place of the vehicle, several severities each, weighted as the bench draws them; each
has the exact likelihood of what was said. What has one most proper repair counts together. With few draws a place
may have none at the severity that the words speak of: then the ranking is worse than an ideal one (`--observer` 3000
and more makes that small; the ranks printed with fewer are a lower bound of what is possible).
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tests.bench.truth.circuit import Edit
from tests.bench.truth.faults import WEIGHTS, Fault, Key, Maker
from tests.bench.truth.further_faults import every, with_two
from tests.bench.truth.person import Event, Statement, events, likelihood
from tests.bench.truth.picture import Known, Walked, tolerances, walk_again, walk_round
from tests.bench.truth.two_faults import TWO

BY_DAY = 0.7
_VEHICLES = 10  # sound vehicles of the type, within its tolerances, that the faults are put in
# Draws for each place, where severity makes a difference.
_EACH = dict.fromkeys((
    "wire resistance", "way bad", "holder corroded", "splice leg bad", "earth point bad", "eyelet bad", "splice bad",
    "leak between ways", "rubbed to earth", "wires joined", "fuse clip bad", "bullet bad", "terminal bad",
    "holder full of crust", "holder shorted"), 2.0) | {
    TWO: 600.0, "battery flat": 25.0, "clamp bad": 12.0, "filaments bridged": 4.0, "switch bad": 3.0}


@dataclass(frozen=True)
class Draw:
    """One fault at one severity on one vehicle of the type, and what strikes of it by day and by night. `edit`: how
    that vehicle differs from the paper, the fault and all. `kind`: its class; `things` as of a fault."""

    weight: float
    cures: tuple[Key, ...]
    edit: Edit
    day: tuple[Event, ...]
    night: tuple[Event, ...]
    kind: str = ""
    things: tuple[tuple[Key, ...], ...] = ()


@dataclass
class Observer:
    """All draws of one type of vehicle."""

    known: Known
    draws: list[Draw]

    @classmethod
    def of(
        cls, known: Known, most: int, seed: int, weights: Mapping[str, float] = WEIGHTS,
        places: Mapping[str, Sequence[float]] | None = None, two: Maker | None = None,
    ) -> Observer:
        """`most` draws, but at least one for each place; the laws as in `further_faults.draw`."""
        rng = random.Random(seed)
        found = with_two(every(known.net, weights), two)
        total = sum(weights[k] for k in found)
        per_class = {k: max(most * weights[k] / total, len(own) * _EACH.get(k, 1.0)) for k, own in found.items()}
        draws: list[Draw] = []
        sound = [walk_round(known, tolerances(known.net, rng)) for _ in range(_VEHICLES)]
        for kind, own in found.items():
            chosen = _spread(range(len(own)), round(per_class[kind]), rng)
            times = Counter(chosen)
            for at in chosen:
                share = 1 / len(chosen)
                if places is not None and kind != TWO:
                    share = places[kind][at] / sum(places[kind]) / times[at]
                draw = _shown(known, rng.choice(sound), own[at](rng), weights[kind] * share)
                if draw is not None and (draw.day or draw.night):
                    draws.append(draw)
        return cls(known, draws)

    def ranking(self, said: Sequence[Statement]) -> list[tuple[tuple[Key, ...], float]]:
        """Repairs with their share, likeliest first; what each group of draws is cured by. Where two things are wrong
        each repair has the share: it has to be made."""
        share: dict[Key, float] = {}
        cures: dict[Key, tuple[Key, ...]] = {}
        for things, p in self.odds(said):
            for own in things:
                share[own[0]] = share.get(own[0], 0.0) + p
                cures[own[0]] = own
        return sorted(((cures[k], p) for k, p in share.items()), key=lambda x: -x[1])

    def odds(self, said: Sequence[Statement]) -> list[tuple[tuple[tuple[Key, ...], ...], float]]:
        """All that may be wrong, likeliest first: the right repairs of each thing, and the share; together one."""
        share: dict[tuple[Key, ...], float] = {}
        of: dict[tuple[Key, ...], tuple[tuple[Key, ...], ...]] = {}
        for d in self.draws:
            p = self._joint(d, said)
            if p > 0:
                things = tuple(sorted(d.things or (d.cures,)))
                proper = tuple(own[0] for own in things)
                share[proper] = share.get(proper, 0.0) + p
                of[proper] = things
        total = sum(share.values())
        return sorted(((of[k], p / total) for k, p in share.items()), key=lambda x: -x[1])

    def classes(self, said: Sequence[Statement]) -> dict[str, float]:
        """Share of each class of fault."""
        share: dict[str, float] = {}
        for d in self.draws:
            share[d.kind] = share.get(d.kind, 0.0) + self._joint(d, said)
        total = sum(share.values())
        return {k: p / total for k, p in share.items() if p > 1e-4 * total}

    def _joint(self, d: Draw, said: Sequence[Statement]) -> float:
        """Chance of a draw and of what was said of it."""
        return d.weight * (BY_DAY * likelihood(self.known, d.day, said) +
                           (1 - BY_DAY) * likelihood(self.known, d.night, said))

    def rank(self, said: Sequence[Statement], true: Sequence[Key]) -> int:
        """Place of the first repair that is right; 0 if none of the draws explains what was said."""
        for place, (cures, _) in enumerate(self.ranking(said), 1):
            if cures[0] in true:
                return place
        return 0


def _spread(own: Sequence[int], count: int, rng: random.Random) -> list[int]:
    """Every place as often as the others, as far as the count goes."""
    rounds, rest = divmod(count, len(own))
    return [*own] * rounds + rng.sample(list(own), rest)


def _shown(known: Known, sound: Walked, fault: Fault, weight: float) -> Draw | None:
    shown = walk_again(known, sound, fault.edit)
    if shown is None:
        return None
    day, night = (tuple(events(known, shown, when)) for when in ("day", "night"))
    return Draw(weight, fault.cures, sound.edit | fault.edit, day, night, fault.kind, fault.things)
