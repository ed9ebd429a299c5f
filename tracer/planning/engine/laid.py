"""Beliefs laid end to end in flat arrays, and sums over parts of them.

Most beliefs of a plan are small: a few hypotheses of a few repairs. What is done to one of them costs less than the
calls to do it, so all beliefs that are wanted at a time are laid end to end.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from tracer.planning.engine.core import Array, Ints
from tracer.planning.engine.nodes import Node


class Laid(NamedTuple):
    """Beliefs end to end: hypotheses and their probabilities, where each belief begins, and its length."""

    alive: Ints
    belief: Array
    begins: Ints
    lengths: Ints


def lay(nodes: Sequence[Node]) -> Laid:
    """Lay the beliefs of one or more nodes end to end."""
    lengths = np.array([node.alive.size for node in nodes])
    alive, belief = (np.concatenate(parts) for parts in zip(*[(n.alive, n.belief) for n in nodes], strict=True))
    return Laid(alive, belief, np.cumsum(lengths) - lengths, lengths)


def runs(key: Ints) -> Ints:
    """Where the runs of equal numbers begin."""
    new = np.ones(key.size, dtype=bool)
    np.not_equal(key[1:], key[:-1], out=new[1:])
    return np.flatnonzero(new)


def add_rows(rows: Array, begins: Ints, counts: Ints, found: Array, spare: Array, at: Ints | None = None) -> None:
    """Put the sums of runs of rows, the longest runs first, into `found`. The rows of a run are those from `begins`
    on, or where `at` says that these went. `spare` is memory to work in, as large as `found`. (Several times quicker
    than `np.add.reduceat`, which goes column by column.)"""
    np.take(rows, begins if at is None else at[begins], axis=0, out=found, mode="clip")
    longer = begins.size - np.bincount(counts).cumsum()
    for k in range(1, int(counts[0])):
        more = begins[:longer[k]] + k
        part = spare[:more.size]
        np.take(rows, more if at is None else at[more], axis=0, out=part, mode="clip")
        found[:more.size] += part
