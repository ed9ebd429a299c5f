"""The memory of large panels is used again, and only when nobody has any part of it."""

from __future__ import annotations

import numpy as np

from tracer.observation.used_again import UsedAgain


def test_a_part_that_somebody_holds_is_left_alone() -> None:
    """A view of a view of the first array is enough, whatever is asked for after it."""
    memory = UsedAgain(large=10)
    first = memory.empty(4, 5)
    first[:] = 1.0
    part = first[1:][:, 2]
    del first
    for _ in range(5):
        memory.empty(4, 5)[:] = 2.0
    assert (part == 1.0).all()


def test_what_nobody_holds_is_given_out_again() -> None:
    memory = UsedAgain(large=10)
    one, two = memory.empty(4, 5), memory.empty(4, 5)
    where = {x.__array_interface__["data"][0] for x in (one, two)}
    assert len(where) == 2
    del one, two
    again = [memory.empty(3, 5), memory.empty(5, 4)]
    assert {x.__array_interface__["data"][0] for x in again} == where
    assert [x.shape for x in again] == [(3, 5), (5, 4)]


def test_another_size_gets_memory_of_its_own_and_no_more_is_kept_than_for_both_phases() -> None:
    memory = UsedAgain(large=10)
    held = [memory.empty(n, 5) for n in (4, 40, 400)]
    for n, x in enumerate(held):
        x[:] = n
    assert [float(x.max()) for x in held] == [0.0, 1.0, 2.0]
    assert len(memory._whole) == 2


def test_small_arrays_are_just_arrays() -> None:
    memory = UsedAgain(large=10)
    assert memory.empty(2, 5).base is None
    assert memory.empty(2, 5).dtype == np.float64
