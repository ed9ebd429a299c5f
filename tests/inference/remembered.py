"""A memory of one diagnosis in arrays, for tests that change them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tracer.cache import Arrays, Kept


class NotBelievedError(Exception):
    """The arrays were not taken for the answer, and all would be worked out anew: a test need not wait for that."""


class Remembered(Kept):
    """Remembers these arrays whatever is asked; without any it keeps those that are worked out.

    Raises:
        NotBelievedError: They were not believed.
    """

    def __init__(self, arrays: Arrays | None = None) -> None:
        super().__init__()
        self.arrays: Arrays = arrays or {}

    def recall(
        self, what: str, key: object, work_out: Callable[[], Arrays],
        fits: Callable[[Arrays], bool] = lambda found: True,
    ) -> Arrays:
        if not self.arrays:
            self.arrays = work_out()
        elif not _fitting(self.arrays, fits):
            raise NotBelievedError
        return self.arrays


def _fitting(arrays: Mapping[str, object], fits: Callable[..., bool]) -> bool:
    try:
        return fits(arrays)
    except (ValueError, IndexError):  # as what is kept does with arrays of any other form
        return False
