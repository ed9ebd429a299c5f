"""Small matrices are solved on one core."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from threadpoolctl import ThreadpoolController


@cache
def _libraries() -> ThreadpoolController:
    """To find them means to look through all that the process has loaded."""
    return ThreadpoolController()


@contextmanager
def one_core() -> Iterator[None]:
    """Matrices of a few hundred rows are several times slower when handed round between cores."""
    with _libraries().limit(limits=1, user_api="blas"):
        yield
