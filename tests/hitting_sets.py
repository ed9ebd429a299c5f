"""Minimal hitting sets: from "these cannot all be sound" to "these would explain it".

A conflict is a set of parts that cannot all be sound given what was seen; a diagnosis is a
smallest set of parts that meets every conflict (R. Reiter, "A theory of diagnosis from first
principles", Artificial Intelligence 32, 1987).
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable
from typing import TypeVar

T = TypeVar("T", bound=Hashable)


def minimal_sets(family: Iterable[Collection[T]]) -> list[frozenset[T]]:
    """The members of a family that have no other member as a subset; duplicates fall away.

    Args:
        family: Sets of any hashable elements.

    Returns:
        The minimal members, smallest first, in an order that does not depend on hashing.
    """
    kept: list[frozenset[T]] = []
    for candidate in sorted({frozenset(member) for member in family}, key=_order):
        if not any(member <= candidate for member in kept):
            kept.append(candidate)
    return kept


def minimal_hitting_sets(
    conflicts: Iterable[Collection[T]], *, max_size: int | None = None
) -> list[frozenset[T]]:
    """All minimal sets that share an element with every conflict.

    The conflicts are multiplied out one at a time and reduced to minimal sets after each (C. Berge,
    "Hypergraphs", 1989), so conflicts that contain other conflicts cannot lose a diagnosis, as they
    can in the tree search first published (R. Greiner, B. Smith, R. Wilkerson, "A correction to the
    algorithm in Reiter's theory of diagnosis", Artificial Intelligence 41, 1989).

    Args:
        conflicts: Sets of parts, in any order, minimal or not.
        max_size: Leave out larger hitting sets (all the smaller ones are still found).

    Returns:
        The sets, smallest first. One empty set when there is no conflict; nothing at all when some
        conflict is empty, because nothing meets an empty set.
    """
    found: list[frozenset[T]] = [frozenset()]
    for conflict in minimal_sets(conflicts):
        meets = [base for base in found if base & conflict]
        grown = [
            base | {element}
            for base in found
            if not base & conflict and (max_size is None or len(base) < max_size)
            for element in conflict
        ]
        found = minimal_sets(meets + grown)
    return found


def _order(members: frozenset[T]) -> tuple[int, list[str]]:
    return len(members), sorted(repr(element) for element in members)
