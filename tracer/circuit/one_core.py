"""Small matrices are solved on one core."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

# What the libraries that multiply matrices for numpy ask when it is loaded.
ASKED_AT_START: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")


@cache
def _libraries() -> ThreadpoolController:
    """To find them means to look through all that the process has loaded."""
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


@contextmanager
def one_core() -> Iterator[None]:
    """Matrices of a few hundred rows are several times slower when handed round between cores."""
    if all(os.environ.get(name) == "1" for name in ASKED_AT_START):  # as a command starts them
        yield
        return
    with _libraries().limit(limits=1, user_api="blas"):
        yield
