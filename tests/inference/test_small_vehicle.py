"""A vehicle of two lamps, measured at every point: what is broken is told from all else that darkens a lamp."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.small_vehicle import ON, complaint, read, tool, with_fault
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Evidence
from tracer.observation.words.probes import parse_test

POINTS = ("battery.+", "ignition switch.30", "ignition switch.15", "F1.in", "F1.out", "light switch.15",
          "light switch.58", "S1", "tail.feed", "plate.feed", "E2", "E1")


@cache
def measured(fault: str, points: tuple[str, ...] = POINTS) -> Diagnosis:
    """The complaint, and volts at these points with everything on."""
    _, vehicle = with_fault(fault)
    tests = [parse_test(f"volts {point} when {ON}", tool().harness) for point in points]
    evidence: list[Evidence] = [complaint(vehicle), *(read(t, vehicle) for t in tests)]
    return tool().diagnose(evidence, pairs=False)


@pytest.mark.parametrize("fault", [
    "fuse blown: F1", "switch never makes: ignition switch 30-15", "switch never makes: light switch 15-58",
    "earth open: E2", "wire open: battery.+ – ignition switch.30", "wire open: ignition switch.15 – F1.in",
    "wire open: F1.out – light switch.15", "wire open: S1 – tail.feed",
    "filament open: plate", "battery low",
])
def test_measured_everywhere_the_broken_thing_leads(fault: str) -> None:
    """What lies between the last point with volts and the first without; a filament where all of its points have
    them."""
    name = next(f.name for f in tool().faults if f.name.startswith(fault))
    own, _ = with_fault(name)
    found = measured(name)
    assert found.suspects[0].repair == own.repair
    assert found.undescribed < 0.05
    assert sum(s.share for s in found.suspects) + found.undescribed == pytest.approx(1.0)
    assert np.all(np.asarray(found.share) >= 0)


def test_each_reading_narrows_what_is_left() -> None:
    """Volts before the fuse clear what lies before it; none behind it clear what lies behind."""
    name = "fuse blown: F1"

    def share(diagnosis: Diagnosis, words: str) -> float:
        return sum(s.share for s in diagnosis.suspects if words in s.repair)

    nothing, before, behind = (measured(name, p) for p in ((), ("F1.in",), ("F1.in", "F1.out")))
    assert share(nothing, "renew ignition switch") > 20 * share(before, "renew ignition switch")
    assert share(before, "renew light switch") > 20 * share(behind, "renew light switch")
    assert share(nothing, "F1") < share(before, "F1") < share(behind, "F1") > 0.8
