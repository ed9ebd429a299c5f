"""What weighs evidence on a vehicle, one for all tests of a worker that ask of it.

What every complaint on a vehicle needs (its faults, which fuses their shorts blow, what all of them show in each
state) is solved once a worker then, and not once a test; a job takes over what was worked out ahead in the same way.
Nobody may change such an investigator: a test that does makes one of its own.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from threading import current_thread, main_thread

import pytest

from tracer.cache import Kept, usual_folder
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.job import recording, understanding

_MOST = 20  # the least used of more is made anew


class Shared:
    """Stands for `Investigator`, and gives the one that was made for the same vehicle before.

    Not where a test keeps what is worked out in another folder than all of them, or nowhere: it is about just that.
    Nor in threads of a page, since nothing says that two of them may use one.
    """

    def __init__(self) -> None:
        self.folder: Path | None = None  # that of all tests
        self._made: list[tuple[Hashable, Harness, Investigator]] = []  # the last used comes last

    def __call__(
        self, harness: Harness, supply_v: float | None = None, kept: Kept | None = None,
        factor: Mapping[str, float] | None = None, undescribed: float = UNDESCRIBED,
    ) -> Investigator:
        own = usual_folder() != self.folder or current_thread() is not main_thread()
        if own or self.folder is None:
            return Investigator(harness, supply_v, kept, factor, undescribed)
        key = supply_v, tuple(sorted((factor or {}).items())), undescribed
        for at, (its, wiring, found) in enumerate(self._made):
            if its == key and wiring == harness:
                self._made.append(self._made.pop(at))
                return found
        self._made.append((key, harness, Investigator(harness, supply_v, kept, factor, undescribed)))
        del self._made[:-_MOST]
        return self._made[-1][2]


investigator_for = Shared()


@contextmanager
def unremarked() -> Iterator[None]:
    """What is read is recorded and nothing is said of it: whether it was to be expected, and whether a short would
    have made it dangerous, takes a diagnosis before each reading. For what a test begins with, and only where all
    that matters is what was read."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(understanding.Understanding, "diagnosis", None)
        patch.setattr(recording, "unexpected", lambda *_: "")
        patch.setattr(recording, "is_live", lambda _: False)
        yield
