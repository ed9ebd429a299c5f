"""What the same reading gains when it is made again is added to what it gained before."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from tests.small_vehicle import ON, tool
from tracer.inference.weighing import Weighing
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom


def test_a_hundred_times_the_same_is_one_thing_said() -> None:
    """Of the hypotheses that are left; another value is another reading, and what was told stands by itself."""
    harness = tool().harness
    test, said = parse_test(f"volts at tail.feed when {ON}", harness), parse_symptom(f"tail dark when {ON}", harness)
    low, high = (Reading(test, parse_value(v, "volts")) for v in ("3 V", "12 V"))
    noted = cast("Weighing", SimpleNamespace(_parts=[], _part_of={}))
    items: list[tuple[Evidence, list[int], float]] = [
        (low, [0, 1, 2], 1.0), (said, [0, 1, 2], 5.0), (high, [0, 1, 2], 7.0), (said, [0, 2], 5.0),
        (low, [0, 2], 2.0), (low, [2], 4.0),
    ]
    for item, rows, gain in items:
        part: Any = np.array(rows), np.array([[gain + r for r in rows]]), -gain
        Weighing._note(noted, part, item)
    parts = [(rows.tolist(), gain.tolist(), usual) for rows, gain, usual in cast("Any", noted)._parts]
    assert parts == [([2], [[pytest.approx(3.0 + 4.0 + 6.0)]], -7.0), ([0, 1, 2], [[5.0, 6.0, 7.0]], -5.0),
                     ([0, 1, 2], [[7.0, 8.0, 9.0]], -7.0), ([0, 2], [[5.0, 7.0]], -5.0)]
