"""What is kept of a diagnosis and of the states to look in, damaged in every way that an array can be: nothing is
believed that cannot be, and nothing else is weighed twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.inference.remembered import Remembered
from tests.small_vehicle import ON, complaint, read, tool, with_fault
from tracer.cache import Arrays, Kept
from tracer.faults import find_fault
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.hypotheses import basic_states, by_change
from tracer.inference.shown import SolvedBefore
from tracer.observation.evidence import Evidence
from tracer.observation.story import NO_STORY, Story
from tracer.observation.words.probes import parse_test
from tracer.planning.uncovering import uncovering
from tracer.practice.simulated_vehicle import PracticeVehicle

Fits = Callable[[Arrays], bool]
REFUSED = (KeyError, TypeError, ValueError, IndexError)  # as what is kept takes them


class Asked(Kept):
    """Keeps nothing, and notes what was worked out and by what it would be believed."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, tuple[Arrays, Fits]] = {}

    def recall(
        self, what: str, key: object, work_out: Callable[[], Arrays], fits: Fits = lambda found: True,
    ) -> Arrays:
        arrays = work_out()
        self.found[what] = arrays, fits
        return arrays


@cache
def kept() -> tuple[Arrays, Fits]:
    """Of a bad earth point and a bad splice that were both measured, after a repair in vain: every array has rows."""
    earth, splice = (find_fault(tool().faults, name).variants[2] for name in ("earth bad: E2", "splice bad: S1"))
    vehicle = PracticeVehicle(tool().harness, earth.change | splice.change)
    said: list[Evidence] = [complaint(vehicle)]
    said += [read(parse_test(f"{w} when {ON}", tool().harness), vehicle) for w in (
        "volts E2", "volt drop F1.out to S1", "volts tail.feed")]
    repair, asked = tool().faults[0].repair, Asked()
    diagnosed(tool(), said, {repair: 0.03}, True, asked, NO_STORY, {repair: 2})
    arrays, fits = asked.found["diagnosis"]
    assert all(len(a) for name, a in arrays.items() if name != "alike") and not len(arrays["alike"])
    return arrays, fits


def believed(**changed: np.ndarray[Any, Any]) -> bool:
    arrays, fits = kept()
    try:
        return fits({**arrays, **changed})
    except REFUSED:
        return False


def misshapen(a: np.ndarray[Any, Any]) -> Iterator[np.ndarray[Any, Any]]:
    """The same numbers in another form, or of another kind."""
    yield from (a[None], a[..., None], a.reshape(-1)[0], a.astype(str))
    yield a.astype(float) if a.dtype.kind == "i" else a.astype(np.intp)
    if a.ndim == 2:
        yield from (a[:, :-1], np.hstack([a, a[:, -1:]]), a[:, :0])


@pytest.mark.parametrize("name", [
    "finer", "beside", "both", "coarse", "mended", "left", "healthy", "beyond", "random", "unsaid", "loglik", "share",
    "members", "several", "once",
])
def test_an_array_has_the_form_that_it_was_kept_in(name: str) -> None:
    """As many rows, as many columns, whole numbers where places are meant. What stands for chances may be whole
    numbers where they are looked at one by one."""
    own, chances = kept()[0][name], {"several", "left", "once", "finer", "both"}
    assert believed() and believed(**{name: own.copy()})
    for other in misshapen(own):
        if name == "mended" and other.ndim == 2 and other.shape[1] != own.shape[1] and other.shape[1]:
            continue  # as many repairs as were made
        if not (name in chances and other.dtype.kind == "i"):
            assert not believed(**{name: other}), (other.dtype, other.shape)
    if name == "coarse":
        assert believed(coarse=own[:-1]) and believed(coarse=own[:0]), "as many as there are"
        return
    assert name == "unsaid" or not believed(**{name: own[:0]})
    assert not believed(**{name: own[:-1]}) and not believed(**{name: np.concatenate([own, own[-1:]])})


FAULTS, SINGLES = len(tool().faults), len(tool().singles)
# Array → for each of its columns what it may say: the least and the most; None: no border on that side.
MAY: Mapping[str, list[tuple[float | None, float | None]]] = {
    "beside": [(-1, SINGLES - 1)] * 2, "coarse": [(0, SINGLES - 1)], "several": [(0, 1)] * 2, "left": [(0, 1)] * 2,
    "members": [(-1, SINGLES - 1)] * 3, "mended": [(0, SINGLES - 1), (-1, FAULTS - 1)],
    "finer": [(0, FAULTS - 1), (0, 1e9), (0, 1), (0, 1)],
    "both": [(0, FAULTS - 1), (0, 1e9), (0, FAULTS - 1), (0, 1e9), (0, 1), (0, 1)],
    "healthy": [(None, 0)], "beyond": [(None, 0)], "random": [(None, 0)], "unsaid": [(None, 0)],
}


@pytest.mark.parametrize("name", MAY)
def test_every_number_lies_where_it_can(name: str) -> None:
    """In the first row and in the last: just beyond its border it is not believed, on it it is, unless it names a
    fault with other degrees."""
    own = kept()[0][name]
    flat = own.reshape(len(own), -1)
    whole = own.dtype.kind == "i" or name in ("finer", "both")
    assert flat.shape[1] == len(MAY[name])
    for column, borders in enumerate(MAY[name]):
        for border, beyond in zip(borders, (-1, 1), strict=True):
            for row in (0, len(own) - 1) if border is not None else ():
                assert border is not None
                by = 1 if whole and (own.dtype.kind == "i" or column % 2 == 0) and border not in (0, 1) else 0.001
                by = 1 if own.dtype.kind == "i" else by
                for value, good in ((border + beyond * by, False), (border, True)):
                    changed = flat.copy()
                    changed[row, column] = value
                    degree = name in ("finer", "both") and column < (2 if name == "finer" else 4)
                    if good and degree:
                        continue
                    assert believed(**{name: changed.reshape(own.shape)}) == good, (column, row, value)


def test_shares_are_shares_and_together_one() -> None:
    share, once = kept()[0]["share"], kept()[0]["once"]
    for row in (0, len(share) - 1):
        for by in (-1.1 * share[row] - 1e-5, 1e-4, -1e-4, np.nan):
            changed = share.copy()
            changed[row] += by
            assert not believed(share=changed)
    two = share.copy()
    two[:2] += [-1.0, 1.0]
    assert not believed(share=two), "one of them below nought, and together one all the same"
    for undescribed in (once[0] + 1e-4, once[0] - 1e-4, np.nan):
        assert not believed(once=np.array([undescribed, *once[1:]]))
    assert not believed(share=share * 0, once=np.array([1.0 + 1e-3, *once[1:]]))
    assert not believed(share=share * 2, once=np.array([1 - 2 * share.sum(), *once[1:]])), "less than nobody knows"
    assert believed(share=share * 0, once=np.array([1.0, *once[1:]]))
    assert believed(once=np.array([once[0], 5.0, 3.0])), "how many pairs there were is only told"
    loglik = kept()[0]["loglik"].copy()
    for value, good in ((0.0, True), (-5.0, True), (0.1, True), (np.nan, False), (-np.inf, True)):
        loglik[-1, -1] = value
        assert believed(loglik=loglik) == good, f"a density may be {value}"


def test_a_degree_is_one_that_the_fault_can_have() -> None:
    scales = {k: f.scale for k, f in enumerate(tool().faults)}
    none = next(k for k, s in scales.items() if s is None)
    for name, pairs in (("finer", [0]), ("both", [0, 2])):
        own = kept()[0][name]
        for column in pairs:
            scale = scales[int(own[0, column])]
            assert scale is not None
            for degree, good in ((scale.low, True), (scale.high, True), (scale.low / 1.01, False),
                                 (scale.high * 1.01, False), (np.nan, False)):
                changed = own.copy()
                changed[0, column + 1] = degree
                assert believed(**{name: changed}) == good, (name, column, degree)
            changed[0, column:column + 2] = none, 1.0
            assert not believed(**{name: changed}), "a fault that has no degrees"


def test_pieces_of_evidence_that_stand_for_several_name_rows_that_are_there() -> None:
    """One row of numbers for each piece that was new; −1 for one that tells nothing."""
    loglik = kept()[0]["loglik"]
    told = len(loglik)
    for alike, rows, good in (
        ([0, 1, 2, 3], told, True), ([0, 0, 0, 1], 2, True), ([-1, 0, -1, 0], 1, True), ([0, 1, 2, 4], told, False),
        ([0, 1, 2, -2], told, False), ([0, 1, 2], told, False), ([0, 1, 2, 3, 3], told, False),
        ([0, 0, 0, 1], 1, False),
    ):
        assert believed(loglik=loglik[:rows], alike=np.array(alike)) == good, alike
    assert not believed(alike=np.arange(told).astype(float)) and not believed(alike=np.arange(told)[None])
    assert not believed(loglik=loglik[:, :-1], alike=np.arange(told))
    assert not believed(loglik=loglik[..., None], alike=np.arange(told))


def test_what_only_sometimes_shows_is_found_again_with_what_comes_and_goes() -> None:
    """Whether somebody saw it come and go, or said so of the whole."""
    told: list[Evidence] = [complaint(with_fault("earth bad: E2")[1])]
    for story in (Story(always=False), Story(always=True), NO_STORY):
        asked = Asked()
        first = diagnosed(tool(), told, {}, False, asked, story)
        again = diagnosed(tool(), told, {}, False, Remembered(asked.found["diagnosis"][0]), story)
        assert again.hypotheses == first.hypotheses and again.suspects == first.suspects
        assert any(h.awake < 1 for h in first.hypotheses) == (story.always is False)


# --- the states to look in


@cache
def states_kept() -> tuple[Arrays, Fits, int]:
    asked, states = Asked(), basic_states(tool().harness)
    uncovering(Investigator(tool().harness, kept=asked), [], states)
    return *asked.found["uncovering states"], len(states)


@pytest.mark.parametrize(("name", "value", "good"), [
    ("chosen", [0], True), ("chosen", [], True), ("chosen", ["last"], True), ("chosen", ["beyond"], False),
    ("chosen", [-1], False), ("chosen", [[0]], False), ("chosen", [0.0], False), ("left", [0.0], True),
    ("left", [-1e-9], False), ("left", [0.9], False), ("left", [0], False), ("left", [np.nan], False),
    ("left", [0.0, 0.0], False), ("left", [], False), ("left", 0.0, False),
])
def test_states_to_look_in_are_those_of_the_vehicle(name: str, value: Any, good: bool) -> None:
    """And what they leave hidden is a chance, no larger than that of a second fault at all."""
    arrays, fits, count = states_kept()
    assert fits(arrays)
    if value in (["last"], ["beyond"]):
        value = [count - 1 if value == ["last"] else count]
    whole = np.array(value).dtype.kind == "i" or (name == "chosen" and value == [])
    array = np.array(value, dtype=np.intp if whole else float)
    try:
        found = fits({**arrays, name: array})
    except REFUSED:
        found = False
    assert found == good


# --- what an instrument shows on all single faults


def test_what_was_read_on_every_fault_has_the_form_that_it_was_kept_in() -> None:
    """A number for each fault, once or as the flasher unit stands either way, and nothing else."""
    asked, changes = Asked(), by_change(tool().singles)[0]
    test = parse_test(f"volts tail.feed when {ON}", tool().harness)
    own = SolvedBefore(tool().predictor, changes, asked).readings(test, lambda: np.zeros((1, len(changes))))
    fits = asked.found["all single faults, measured"][1]
    assert own.shape == (1, len(changes)) and fits({"shown": own}) and fits({"shown": np.vstack([own, own])})
    for other in (*misshapen(own), np.vstack([own] * 3), own[:0], own[:, :0], own[:, :-1].astype(bool),
                  own.astype(int), own.astype(complex), own.astype(object), own > 0):
        assert not fits({"shown": other}), (other.dtype, other.shape)
