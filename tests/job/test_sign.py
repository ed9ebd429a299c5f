"""Whether the leads were the other way round: nothing lies beyond the body, unless the battery's earth is off."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.job.job import Job


def _job(tmp_path: Path, model: str, *said: str) -> Job:
    job = Job.create(tmp_path / "job.yaml", MODELS / f"{model}.yaml")
    for text in said:
        job.symptom(text)
    return job


def _kept(job: Job) -> float:
    item = job.evidence[-1]
    return float(item.value.low)  # type: ignore[union-attr]


def test_with_the_battery_earth_off_it_lies_below_the_body(tmp_path: Path) -> None:
    """Car and caravan: nothing works, and E1, where the battery is earthed, is 12.6 V below the body that the lamps
    pull up. By the drawing."""
    dead = ("car left rear tail dark, car right rear tail dark, caravan left tail dark, caravan right tail dark, "
            "left caravan plate lamp dark when lamp switch side")
    stops = "car left rear stop dark, car right rear stop dark when brake pedal pressed"
    job = _job(tmp_path, "tow_13pin", dead, stops)
    recorded = job.reading("volts at E1 when lamp switch side", "-12.6 V")
    assert _kept(job) == -12.6
    assert "other way round" not in recorded.remark and "no leading suspect" not in recorded.remark


@pytest.mark.parametrize("typed, kept", [("-12.3 V", 12.3), ("12.3 V", 12.3)])
def test_at_a_feed_the_leads_were_exchanged(typed: str, kept: float, tmp_path: Path) -> None:
    job = _job(tmp_path, "tow_13pin", "car left rear tail dark when lamp switch side")
    recorded = job.reading("volts at car left rear.tail when lamp switch side", typed)
    assert _kept(job) == kept
    assert ("other way round" in recorded.remark) == typed.startswith("-")
