"""The battery's voltage: a charged one's is the vehicle's own, a flat one is something to be found."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.job.job import Job

PICKUP = MODELS / "pickup.yaml"


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", PICKUP)


def test_a_drop_with_one_probe_at_the_battery_is_not_its_voltage(job: Job) -> None:
    """0.02 V from the battery to the splice next to it: a sound wire, and current still reaches the lamp."""
    job.symptom("left rear reversing lamp dim, everything else normal when gear reverse")
    before = job.suspects()[0].repair
    job.reading("volt drop battery.+ to S1 when gear reverse", "0.02 V")
    assert job.supply_v is None
    assert job.suspects()[0].repair == before
    assert job.next().says


@pytest.mark.parametrize(("test", "value", "supply"), [
    ("volt drop battery.+ to battery.- when everything off", "12.3 V", 12.3),
    ("volts battery.+ when lamp switch side", "11.9 V", 11.9),
    ("volt drop battery.+ to battery.- when everything off", "9.9 V", None),
    ("volts battery.+ when lamp switch side", "11.2 to 12.4 V", None),
    ("volts battery.+ when lamp switch side", "could not", None),
    ("volts S1 when lamp switch side", "12.3 V", None),
])
def test_what_counts_as_the_voltage_of_a_charged_battery(
    job: Job, test: str, value: str, supply: float | None
) -> None:
    job.reading(test, value)
    assert job.supply_v == (pytest.approx(supply) if supply else None)


def test_a_charging_voltage_is_taken_back_to_that_at_rest(job: Job) -> None:
    """Nobody's battery has 14 V with the engine stopped: what the generator makes of it says how it stands."""
    job.reading("volt drop battery.+ to battery.- when engine running", "14.0 V")
    assert job.supply_v is not None and 12.0 < job.supply_v < 13.0


def test_a_flat_battery_that_was_measured_is_found(job: Job) -> None:
    """Dim lamps in two circuits, and 9.95 V from pole to pole with two lamps lit: nothing healthy does that."""
    job.symptom("left tail lamp dim, right tail lamp dim when lamp switch side")
    job.symptom("left rear reversing lamp dim, right rear reversing lamp dim when gear reverse")
    job.reading("volt drop battery.+ to battery.- when lamp switch side", "9.95 V")
    assert not job.diagnosis.as_when_healthy
    assert job.suspects()[0].repair == "charge or renew battery"
    job.reading("volt drop battery.+ to battery.- when everything off", "10.1 V")
    first, second = job.suspects()[:2]
    assert first.repair == "charge or renew battery" and first.share > 0.6 and first.share > 3 * second.share
