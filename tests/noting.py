"""What stands in the place of something, and notes that it was called."""

from __future__ import annotations

from typing import TypeVar

T = TypeVar("T")
U = TypeVar("U")


def noting(into: list[T], what: T, then: U) -> U:
    """Note `what`, and give `then` back: in one expression, for a lambda."""
    into.append(what)
    return then
