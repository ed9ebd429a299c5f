"""Beliefs as nodes, and the steps between them."""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

from tracer.planning.engine.core import Array, Ints, Kind


class Step(NamedTuple):
    """An action taken in a node: its minutes, minutes of ends that are not followed further times their
    probability, and the nodes it may lead to with their probabilities (what is missing to one
    ended the job)."""

    kind: Kind
    index: int  # type: ignore[assignment]  # hides tuple.index, which nothing here calls
    cost: float
    done: float
    branches: list[tuple[float, Node]]
    outcomes: tuple[float, ...]


class Node:
    """A belief (normalised) over the hypotheses still alive, in a context, with the noisy checks already made.

    Attributes:
        share: Of each repair alive, and of what no repair cures: −1.
        single: One repair (or "none the plan knows") is left.
        at_least: Minutes that repairs in turn do not stay below.
        guess: Minutes of measuring on at the usual pace and then the right repair.
        owed: Table cells looked at for its greedy step that were not charged yet.
        greedy: The greedy step, once `weighed`; None if nothing tells anything.
        minutes: Expected of the greedy rule, once known to the end; `second`: of a rollout from here on; `followed`:
            when every step is chosen by rollout.
    """

    in_turn: tuple[float, tuple[int, ...]] | None = None
    owed, weighed = 0, False
    greedy: Step | None = None
    minutes: float | None = None
    second: float | None = None
    followed: float | None = None

    def __init__(
        self, alive: Ints, belief: Array, context: Hashable, used: int, share: dict[int, float],
        at_least: float, guess: float,
    ) -> None:
        self.alive, self.belief, self.context, self.used = alive, belief, context, used
        self.share, self.at_least, self.guess = share, at_least, guess
        self.single = len(share) <= 1
