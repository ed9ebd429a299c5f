"""What a set-up has settled to: a solution with its fuses and relays; which fuse is the first to blow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct, field

from tracer.circuit.model import Bools, Floats, Ints
from tracer.circuit.solution import Solution
from tracer.standards.fuses import FuseKind, blowing_time_s, blows_at


class Settled(Struct, frozen=True):
    """A solution with what it settled to.

    Attributes:
        solution: Rows as in the table.
        blown: (H, fuses) in the order of `Settler.fuses`.
        blow_s: (H, fuses) the longest each blown one held, s; infinite where it is whole.
        pulled_in: (H, coils) in the order of `Settler.coils`.
        restless: (H, coils) relays that found no resting state: they buzz.
        lead_blown: (H,) the fuse of a temporary lead has blown.
        between: By the number of a row whose relay buzzes, (port_v, watched_v) of the other state that it is in.
    """

    solution: Solution
    blown: Bools
    blow_s: Floats
    pulled_in: Bools
    restless: Bools
    lead_blown: Bools
    between: dict[int, tuple[Floats, Floats]] = field(default_factory=dict)

    @property
    def buzzing(self) -> Bools:
        """(H,) some relay buzzes."""
        return np.asarray(self.restless.any(axis=1))

    @property
    def usable(self) -> Bools:
        return self.solution.converged


def joined(parts: Sequence[tuple[Ints, Settled]]) -> Settled:
    """Rows of one set-up that began in different ways, each part with the rows that it has."""
    first = parts[0][1]
    if len(parts) == 1:
        return first
    count = sum(len(rows) for rows, _ in parts)

    def like(x: Floats | Bools) -> tuple[int, ...]:
        return (count, *x.shape[1:])

    s = first.solution
    out = Settled(
        Solution.empty(count, s.nodes, s.port_v.shape[1], s.watched_v.shape[1]), np.zeros(like(first.blown), bool),
        np.zeros(like(first.blow_s)), np.zeros(like(first.pulled_in), bool), np.zeros(like(first.restless), bool),
        np.zeros(count, bool),
    )
    for rows, part in parts:
        out.solution.put(rows, part.solution)
        for name in ("blown", "blow_s", "pulled_in", "restless", "lead_blown"):
            getattr(out, name)[rows] = getattr(part, name)
        out.between.update((int(rows[k]), v) for k, v in part.between.items())
    return out


def first_to_blow(ratio: Floats, kinds: Sequence[FuseKind]) -> Ints:
    """The fuse (H,) that holds shortest, of those that go at once the one with the most; where none blows the one
    that comes nearest to it.

    Args:
        ratio: (H, fuses) currents as multiples of what blows each; further ones are of temporary leads, blade fuses.
    """
    first = ratio.argmax(axis=1)
    several = np.flatnonzero((ratio > 1.0).sum(axis=1) > 1)
    if len(several):
        blade: FuseKind = "blade"
        every = [*kinds, *[blade] * (ratio.shape[1] - len(kinds))]
        held = np.column_stack([blowing_time_s(k, ratio[several, i] * blows_at(k)) for i, k in enumerate(every)])
        shortest = held <= held.min(axis=1, keepdims=True)
        first[several] = np.where(shortest, ratio[several], 0.0).argmax(axis=1)
    return np.asarray(first)
