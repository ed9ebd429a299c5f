"""A diagnosis kept as arrays: what is whole is believed, so that nothing is weighed twice; what cannot be is not."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.inference.remembered import NotBelievedError, Remembered
from tests.library import MODELS, evidence_from, reading_on, tool_on
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.diagnosis_cache import diagnosed
from tracer.observation.evidence import Evidence

TOOL = tool_on(MODELS / "rear_end.yaml")
NOW = "when brake pedal pressed"
FAULTS = len(TOOL.faults)


def evidence() -> list[Evidence]:
    """Two contacts are bad, and both were measured: rows for both at severities that are on no grid."""
    read = (("left rear.earth", "4.7 V"), ("left rear.stop", "8.0 V"), ("E1", "4.69 V"))
    return [*evidence_from(TOOL.harness, f"left rear stop faint, right rear stop dim {NOW}"),
            reading_on(TOOL.harness, f"volt drop C1.3 to C1.3' {NOW}", "4.25 V"),
            *(reading_on(TOOL.harness, f"volts at {node} {NOW}", shown) for node, shown in read)]


@cache
def kept() -> tuple[Diagnosis, dict[str, Any]]:
    """The diagnosis, and its arrays."""
    first = Remembered()
    found = diagnosed(TOOL, evidence(), {}, False, first)
    assert len(first.arrays["both"]) and len(first.arrays["finer"]) and len(first.arrays["members"])
    return found, dict(first.arrays)


def believed(**changed: np.ndarray) -> bool:
    """Whether arrays are taken for the diagnosis with these in the place of their own."""
    try:
        diagnosed(TOOL, evidence(), {}, False, Remembered(kept()[1] | changed))
    except NotBelievedError:
        return False
    return True


def put(name: str, column: int, value: float) -> dict[str, np.ndarray]:
    """The first row of an array with another number."""
    changed = kept()[1][name].copy()
    changed[0, column] = value
    return {name: changed}


def test_what_is_whole_is_believed_and_the_same() -> None:
    found = diagnosed(TOOL, evidence(), {}, False, Remembered(kept()[1]))
    assert found.suspects == kept()[0].suspects
    assert found.hypotheses == kept()[0].hypotheses and np.array_equal(found.share, kept()[0].share)


@pytest.mark.parametrize("name", ["healthy", "beyond", "random"])
def test_what_is_known_of_each_piece_of_evidence_is_known_of_all(name: str) -> None:
    assert not believed(**{name: kept()[1][name][:-1]})


def test_with_nothing_known_of_what_was_left_unsaid_it_is_believed_and_with_half_of_it_not() -> None:
    unsaid = kept()[1]["unsaid"]
    assert believed(unsaid=np.zeros(0)) and not believed(unsaid=unsaid[: len(unsaid) // 2])


FALSE: dict[str, Callable[[], dict[str, np.ndarray]]] = {
    "a prior below zero": lambda: put("both", 4, -0.1), "a prior above one": lambda: put("both", 4, 1.1),
    "more than always there": lambda: put("both", 5, 1.1), "a fault beyond the list": lambda: put("both", 2, FAULTS),
    "a fault before the list": lambda: put("both", 0, -1.0), "no such severity": lambda: put("both", 1, 1e12),
    "of the other none either": lambda: put("both", 3, -1.0), "one severity beyond": lambda: put("finer", 1, 1e12),
    "a share of it below zero": lambda: put("finer", 2, -0.1), "one beyond the list": lambda: put("finer", 0, FAULTS),
    "beside it one beyond the list": lambda: put("beside", 0, len(TOOL.singles)),
    "beside it one before it": lambda: put("beside", 0, -2),
    "one of several beyond the list": lambda: put("members", 0, len(TOOL.singles)),
    "one of several before it": lambda: put("members", 0, -2),
    "a chance of several above one": lambda: put("several", 0, 1.1),
    "a line more": lambda: {"both": np.vstack([kept()[1]["both"]] * 2)},
}


@pytest.mark.parametrize("name", FALSE)
def test_what_cannot_be_is_weighed_anew(name: str) -> None:
    assert not believed(**FALSE[name]())


def test_the_first_and_the_last_of_each_list_can_be() -> None:
    """At a severity that it has."""
    scales = [(k, f.scale) for k, f in enumerate(TOOL.faults) if f.scale is not None]
    for k, scale in (scales[0], scales[-1]):
        for severity in (scale.low, scale.high):
            changed = kept()[1]["both"].copy()
            changed[0, :2] = k, severity
            changed[0, 4:] = 0.0, 1.0
            assert believed(both=changed)
    assert believed(**put("members", 0, 0)) and believed(**put("members", 0, len(TOOL.singles) - 1))
