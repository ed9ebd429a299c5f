"""What a plan is made of: checks, repairs, problems, choices, and the numbers that bound them.

Hypotheses are indices 0..H-1; each is cured by one repair (its label) or, labelled -1, by none the plan
knows. A check shows one of a few outcomes and is worth making once: a second reading at the same spot
repeats the errors of the first. A repair attempt ends the job or shows that it was not the one. Costs
are minutes and may depend on a context, any hashable "where the job stands", which actions move.
Bad arguments raise ValueError.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Hashable, Sequence
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Cost = float | Callable[[Hashable], float]
Move = Callable[[Hashable], Hashable]
Kind = Literal["check", "repair", "give up"]


class Check(Struct, frozen=True, eq=False):
    """A test. likelihood: (O, H), column h the probabilities of the outcomes under h (sum 1).

    cost: minutes, or a function of the context. moves: the context afterwards (None: unchanged).
    least: minutes no context goes below, for the lower bound; 0 is assumed for a function without it.
    """

    likelihood: Array
    cost: Cost
    moves: Move | None = None
    least: float | None = None


class Repair(Struct, frozen=True):
    """A repair attempt; repair number r cures the hypotheses labelled r.

    cost: minutes paid at every attempt (fields as in `Check`). finish: minutes more when it is the
    right one, e.g. mending after an inspection that cost `cost`.
    """

    cost: Cost
    moves: Move | None = None
    least: float | None = None
    finish: float = 0.0


class Problem(Struct, frozen=True, eq=False):
    """prior: (H,) weights. label: (H,) number of the curing repair, -1 for none.

    give_up_cost: minutes at which the job ends whatever the fault (handed on, or traced by hand);
    needed when a label is -1. trials: False if a repair may only be tried when no other is in
    question, or nothing can tell them apart any more (pure test sequencing).
    """

    prior: Array
    label: Ints
    checks: Sequence[Check]
    repairs: Sequence[Repair]
    give_up_cost: float | None = None
    trials: bool = True

    def __post_init__(self) -> None:
        prior, label = np.asarray(self.prior), np.asarray(self.label)
        if prior.ndim != 1 or prior.shape != label.shape or not np.all(prior >= 0) or not prior.sum() > 0:
            raise ValueError("prior and label must be (H,), prior >= 0 and not all zero")
        if np.any(label < -1) or np.any(label >= len(self.repairs)):
            raise ValueError("labels must be -1 or the number of a repair")
        if np.any(prior[label == -1] > 0) and self.give_up_cost is None:
            raise ValueError("hypotheses no repair cures need a give_up_cost")
        for check in self.checks:
            table = np.asarray(check.likelihood)
            if table.ndim != 2 or table.shape[1] != prior.size or not np.all(table >= 0):
                raise ValueError("likelihood must be (O, H) and >= 0")
            if not np.allclose(table.sum(axis=0), 1.0, atol=1e-6):
                raise ValueError("each column of a likelihood must sum to one")


class Option(Struct, frozen=True):
    """One first action: what, expected minutes from now to the end of the job if it is taken, its own
    minutes, and the probabilities of its outcomes (a repair: cured, not cured)."""

    kind: Kind
    index: int
    minutes: float
    cost: float
    outcomes: tuple[float, ...]


class TooLargeError(ValueError):
    """The exact method met its limit on the number of states."""


def entropy_bits(probability: ArrayLike) -> float:
    """Entropy in bits of weights >= 0, which are scaled to sum to one."""
    p = np.asarray(probability, dtype=float)
    return float(-xlogx(p / p.sum()).sum())


def huffman_length(probability: ArrayLike, arity: int = 2) -> float:
    """Mean word length of the best code with `arity` symbols (D. A. Huffman, Proc. IRE 40, 1952): with
    noiseless checks of that many outcomes no plan needs fewer on average to tell the items apart."""
    heap = [float(p) for p in np.asarray(probability, dtype=float) if p > 0]
    whole, total = sum(heap), 0.0
    while len(heap) > 1 and (len(heap) - 1) % (arity - 1):
        heap.append(0.0)
    heapq.heapify(heap)
    while len(heap) > 1:
        joined = sum(heapq.heappop(heap) for _ in range(arity))
        total += joined
        heapq.heappush(heap, joined)
    return total / whole


def information_gain(belief: ArrayLike, label: ArrayLike, likelihood: ArrayLike) -> float:
    """Bits a check with (O, H) outcome probabilities is expected to tell about the (H,) labels."""
    b, table = np.asarray(belief, dtype=float), np.asarray(likelihood, dtype=float)
    names, which = np.unique(np.asarray(label), return_inverse=True)
    joint = (np.eye(names.size)[which] * (b / b.sum())[:, None]).T @ table.T
    return float(xlogx(joint).sum() - xlogx(joint.sum(axis=0)).sum() - xlogx(joint.sum(axis=1)).sum())


def repairs_in_turn(
    probability: ArrayLike, cost: ArrayLike, finish: ArrayLike = 0.0
) -> tuple[float, tuple[int, ...]]:
    """Expected minutes and order when repairs are tried by falling p/c, the optimum without checks.

    Source: J. B. Kadane, H. A. Simon, "Optimal strategies for a class of constrained sequential
    problems", Annals of Statistics 5, 1977. `finish` minutes are added for the right one (inspect
    and repair: D. Heckerman, J. S. Breese, K. Rommelse, Comm. ACM 38(3), 1995). All arguments (R,).
    """
    p, c = np.asarray(probability, dtype=float)[:, None], np.asarray(cost, dtype=float)[:, None]
    f = np.broadcast_to(np.asarray(finish, dtype=float), p.shape[:1])[:, None]
    minutes, order = ladder(p, c, f, np.zeros(1), None)
    return float(minutes[0] / p.sum()), tuple(int(r) for r in order[:, 0])


def xlogx(p: Array) -> Array:
    """p log2 p, elementwise, 0 at 0."""
    return np.asarray(p * np.log2(np.maximum(p, 1e-300)), dtype=float)


def ladder(p: Array, cost: Array, finish: Array, beyond: Array, give_up: float | None) -> tuple[Array, Ints]:
    """Minutes (N,) of repairs in p/c order for N beliefs at once, all (R, N) or broadcastable, and the
    order (R, N). `beyond` (N,) is what no repair cures. Masses need not sum to one: minutes scale."""
    cost, finish = np.broadcast_to(cost, p.shape), np.broadcast_to(finish, p.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        order = np.argsort(np.where(p > 0, cost / p, np.inf), axis=0, kind="stable")
    ps, cs, fs = (np.take_along_axis(a, order, axis=0) for a in (p, np.where(p > 0, cost, 0.0), finish))
    return climbed(ps, cs, fs, beyond, give_up), order


def climbed(p: Array, cost: Array, finish: Array, beyond: Array, give_up: float | None) -> Array:
    """Minutes (N,) of repairs in the order of the rows, all (R, N)."""
    mass, minutes = beyond.copy(), beyond * (give_up or 0.0)
    finished = p * finish
    for k in range(p.shape[0] - 1, -1, -1):
        mass += p[k]
        minutes += finished[k]
        minutes += cost[k] * mass
        if give_up is not None:
            np.minimum(minutes, give_up * mass, out=minutes)
    return minutes
