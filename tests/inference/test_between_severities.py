"""A fault as bad as no point of its grid of severities: a reading across it is its severity.

The vehicle is the practice vehicle (the tool's own circuit), so that only the weighing is tried here.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tests.long import rest_long
from tracer.faults import find_fault
from tracer.inference.diagnosis import Suspect
from tracer.job.job import Job
from tracer.practice.simulated_vehicle import PracticeVehicle

# Two ways of a plug, what of their two nets is seen, and what is taken out so that no lamp joins them any more.
TOUCHING = {
    "ways joined: C2 ways 1 and 2": (
        "C2.1 to C2.2", ("left rear stop when lamp switch side", "right rear tail when brake pedal pressed"),
        "lamp left rear stop out, lamp right rear stop out",
    ),
    "ways joined: C3 ways 3 and 4": (
        "C3.3 to C3.4", ("right rear reversing when indicators right", "right rear indicator when gear reverse"),
        "lamp left rear reversing out, lamp right rear reversing out",
    ),
}


@pytest.mark.parametrize("ohm", rest_long([1.3, 5.9, 1.6]))
@pytest.mark.parametrize("name", TOUCHING)
def test_a_leak_leads_once_it_was_measured_between_its_ways(name: str, ohm: float, tmp_path: Path) -> None:
    """Lamps lit where none should be; then the ohmmeter between exactly these two ways, with nothing else left that
    joins them. What leads joins these two nets, and nothing speaks of a cause that the file does not describe."""
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")
    fault = find_fault(job.investigator.faults, name)
    vehicle = PracticeVehicle(job.harness, fault.at(ohm).change, 12.3, [fault])
    ways, looks, out = TOUCHING[name]
    for look in looks:
        lamp, _, state = look.partition(" when ")
        job.symptom(f"{lamp} {vehicle.answer(job.find_test(f'look {look}'))} when {state}")
    text = f"ohms {ways} with {out}"
    shown = vehicle.answer(job.find_test(text))
    assert float(shown.split()[0]) == pytest.approx(ohm + 0.2, abs=0.15), "leads and all: nothing beside the leak"
    assert "no leading suspect predicts" not in job.reading(text, shown).remark

    assert sum(s.share for s in job.suspects() if _touches(s)) > 0.9
    assert fault.repair in [s.repair for s in job.suspects()[:4]]
    assert job.diagnosis.undescribed < 0.02


def _touches(suspect: Suspect) -> bool:
    """Whether it is a path that does not belong there."""
    return bool(suspect.best.change.added)
