"""What is known of one vehicle goes from job to job: in what it differs, what was repaired and opened."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tracer.commands import main
from tracer.errors import ProblemsError, TracerError
from tracer.harness.file.text import load_harness
from tracer.job.job import Job
from tracer.present.report import report_data, report_html, report_markdown

MODEL = Path(__file__).parents[2] / "harness_models" / "rear_end.yaml"
LED = """\
overlay: LED stop and tail lamps, trailer socket
parts:
  left rear: {lamps: {stop + tail: LED 3/0.5 W}}
connectors:
  C9: {ways: 7, place: tow bar}
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An earlier job on the vehicle (invented), with a difference, a note and a repair in it."""
    tmp_path = tmp_path_factory.mktemp("march")
    shutil.copy(MODEL, tmp_path)
    (tmp_path / "led.yaml").write_text(LED, encoding="utf-8")
    job = Job.create(tmp_path / "march.yaml", tmp_path / MODEL.name, "Invented rear end", "no tail lamp")
    job.overlay(tmp_path / "led.yaml")
    job.symptom("left rear tail dark when lights side")
    job.reading("volts at C1.1 when lights side", "12.0 V")
    job.note("eyelet painted over")
    job.repaired("1", ["ring terminal"], 12)
    return tmp_path


@pytest.fixture
def march(made: Path, tmp_path: Path) -> Job:
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return Job(tmp_path / "march.yaml")


def test_an_overlay_changes_only_what_it_writes(march: Job) -> None:
    filed, vehicle = load_harness(march.harness_path).parts["left rear"], march.harness.parts["left rear"]

    assert (vehicle.kind, vehicle.place, vehicle.also) == (filed.kind, filed.place, filed.also)
    assert {f.lamp for f in vehicle.lamps} == {f.lamp for f in filed.lamps}
    assert march.differences == (
        "left rear stop: LED 3 W instead of filament 21 W", "left rear tail: LED 0.5 W instead of filament 5 W",
        "connector added: C9, tow bar",
    )


def test_the_next_job_on_the_vehicle_begins_with_what_is_known(march: Job, tmp_path: Path) -> None:
    may = Job.create(tmp_path / "may.yaml", complaint="no stop lamps", same_vehicle_as=march.path)

    assert may.harness == march.harness
    assert may.vehicle == "Invented rear end"
    assert may.differences == march.differences
    assert not may.entries  # what was seen then is not evidence now
    assert not may.standing.opened  # the trim is on again
    (earlier,) = may.earlier_jobs
    assert (earlier.file, earlier.complaint, earlier.notes) == ("march.yaml", "no tail lamp",
                                                               ("eyelet painted over",))
    assert earlier.repairs == (f"{march.repairs[0].data['repair']} (fitted: ring terminal)",)
    assert earlier.opened == tuple(sorted(march.standing.opened)) != ()

    june = Job.create(tmp_path / "june.yaml", same_vehicle_as=may.path)
    assert [e.file for e in june.earlier_jobs] == ["march.yaml", "may.yaml"]
    with pytest.raises(TracerError, match="nothing to take back"):
        Job.create(tmp_path / "other.yaml", MODEL).undo()


def test_the_report_says_in_what_the_vehicle_differs(march: Job, tmp_path: Path) -> None:
    may = Job.create(tmp_path / "may.yaml", same_vehicle_as=march.path)
    data = report_data(may)["differences"]

    assert data["in_words"] == list(march.differences)
    assert data["earlier_jobs"][0]["repairs"] == [f"{march.repairs[0].data['repair']} (fitted: ring terminal)"]
    for text in (report_html(may).replace("\u00a0", " "), report_markdown(may)):
        assert "left rear stop: LED 3 W instead of filament 21 W" in text
        assert "eyelet painted over" in text


def test_an_overlay_taken_back_does_not_come_along(march: Job, tmp_path: Path) -> None:
    for _ in range(5):
        march.undo()

    assert Job.create(tmp_path / "may.yaml", same_vehicle_as=march.path).differences == ()


def test_the_new_job_must_fit_its_harness(march: Job, tmp_path: Path) -> None:
    trailer = MODEL.with_name("trailer_7pin.yaml")

    with pytest.raises(ProblemsError, match="the harness has no part “left rear” that this could change"):
        Job.create(tmp_path / "may.yaml", trailer, same_vehicle_as=march.path)
    assert not (tmp_path / "may.yaml").exists()


def test_the_commands_say_what_is_known(march: Job, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for args, said in (
        (["open", str(tmp_path / "may.yaml"), "--same-vehicle-as", str(march.path)], "repaired: "),
        (["differs", str(tmp_path / "may.yaml")], "left rear stop: LED 3 W instead of filament 21 W"),
    ):
        with pytest.raises(SystemExit) as left:
            main(args)
        assert left.value.code == 0
        assert said in capsys.readouterr().out
    with pytest.raises(SystemExit) as left:
        main(["open", str(tmp_path / "july.yaml")])
    assert left.value.code == 2
    assert "--same-vehicle-as JOB" in capsys.readouterr().err
