"""What is measured in the hand depends on nothing but the thing itself."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, OHMMETER_LEADS_OHM, Change
from tracer.faults import list_faults
from tracer.harness.devices import FilamentLaw, FuseLink
from tracer.harness.file.text import load_harness
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.planning.removed_part import ohms_in_hand


def test_a_lamp_reads_its_cold_resistance_whatever_is_wrong_elsewhere() -> None:
    """A filament takes its cold resistance at the milliampere of an ohmmeter; the leads add theirs. One that is
    burnt through reads open; bad contacts of its holder stay behind in the vehicle."""
    harness = load_harness(MODELS / "rear_end.yaml")
    lamp = next(f for f in harness.lamps() if f.lamp == "left rear indicator")
    assert isinstance(lamp.law, FilamentLaw)
    part = next(p.name for p in harness.parts.values() if lamp in p.lamps)
    test = Test("ohms", harness.state({}), lamp.a, lamp.b, done=(Intervention("take out lamp", lamp.bulb),))
    contact = next(d.name for d in harness.parts[part].devices if d.name == f"{lamp.bulb} holder contact")
    rows = [NO_CHANGE, Change(dead=(lamp.name,)), Change(set_ohm=((contact, 5.0),)), Change(emf_factor=0.9)]
    (ohm,) = ohms_in_hand(harness, rows, {test: part})
    good = lamp.law.cold_ohm + OHMMETER_LEADS_OHM
    assert ohm[[0, 2, 3]] == pytest.approx(good, rel=2e-4)
    assert np.isinf(ohm[1])


@pytest.mark.parametrize("model", ["motorcycle_6v", "pickup"])
def test_it_reads_as_when_the_whole_vehicle_is_solved(model: str) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    predictor = Predictor(harness)
    changes = list(dict.fromkeys(v.change for f in list_faults(harness)[::9] for v in f.variants[-1:]))
    every: dict[Test, str] = {}
    for part in list(harness.parts.values())[::4]:
        tests = [((f, g), Intervention("take out lamp", x.bulb)) for x in part.lamps for f, g in pairwise((x.a, x.b))]
        tests += [((d.a, d.b), Intervention("pull fuse", part.name)) for d in part.devices if isinstance(d, FuseLink)]
        for (a, b), done in tests:
            every[Test("ohms", harness.state({}), a, b, done=(done,))] = part.name
    compared = 0
    for test, here in zip(every, ohms_in_hand(harness, changes, every), strict=True):
        there = predictor.observed(test, changes)
        assert np.array_equal(here > 1e5, there > 1e5)
        known = here < 1e5
        assert here[known] == pytest.approx(there[known], abs=2e-4)
        compared += int(known.sum())
    assert compared > 100
