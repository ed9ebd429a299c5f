"""Photos, notes, the estimate of a job, and what a face asks it: what is kept, and when there is nothing to tell."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from tests.library import MODELS, Clock
from tests.small_vehicle import TEXT
from tracer.errors import JobFileError, ReadingError, UnknownNameError
from tracer.job.estimating import estimate_of
from tracer.job.job import Job
from tracer.job.new_harness import QUESTIONS, question_data
from tracer.job.photos import MOST_BYTES, add_note, add_photo, folder_of, need_thing, photos_of, scaled, things
from tracer.planning.estimate import AS_PLANNED


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml", clock=Clock())


def picture(width: int = 40, height: int = 20, kind: str = "PNG", **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "red").save(out, kind, **more)
    return out.getvalue()


# --- photos and notes


def test_a_photo_is_kept_upright_and_bare() -> None:
    """Turned by what the camera noted, which then is gone: place, time and name are nobody's business."""
    noted = Image.Exif()
    noted[0x0112], noted[0x010F] = 6, "Camera of somebody"  # lies on its side
    with Image.open(io.BytesIO(scaled(picture(40, 20, "JPEG", exif=noted)))) as kept:
        assert kept.format == "JPEG" and kept.size == (20, 40) and not kept.getexif()
    assert b"Camera" not in scaled(picture(40, 20, "JPEG", exif=noted))
    for kind in ("PNG", "WEBP", "GIF", "BMP", "TIFF"):
        with Image.open(io.BytesIO(scaled(picture(kind=kind)))) as kept:
            assert kept.size == (40, 20)


@pytest.mark.parametrize(("content", "message"), [
    (b"", "the photo is empty"), (b"no photo", "no photo that can be read"),
    (picture()[:40], "no photo that can be read"),
    (b"x" * (MOST_BYTES + 1), "larger than 25 MB"),
])
def test_what_is_no_photo_is_refused_and_nothing_is_recorded(content: bytes, message: str, job: Job) -> None:
    with pytest.raises(ReadingError, match=message):
        add_photo(job, content, "F1")
    assert not job.record.living and not folder_of(job.path).exists()


def test_a_photo_lies_beside_its_job_under_a_name_of_its_own(job: Job) -> None:
    first, second = (add_photo(job, picture(w), "F1", text) for w, text in ((40, " rust "), (50, " ")))
    assert (first.data["text"], first.data["at"], "text" in second.data) == ("rust", "F1", False)
    found = photos_of(job)
    assert [(p.at, p.text, p.number) for p in found] == [("F1", "", second.number), ("F1", "rust", first.number)]
    assert {p.file.parent for p in found} == {job.path.parent / "job.photos"} and found[0].key.startswith("job/")
    add_photo(job, picture(40), "F1")  # the same once more is one file
    assert len({p.file for p in photos_of(job)}) == 2 == len(list(folder_of(job.path).iterdir()))
    real = found[0].file
    moved = real.rename(real.with_suffix(".moved"))
    real.symlink_to(moved)
    assert real not in {p.file for p in photos_of(job)}, "no link is followed"


def test_a_note_stands_at_a_thing_or_at_the_vehicle(job: Job) -> None:
    assert add_note(job, " soft ", "S1").data == {"text": "soft", "at": "S1"}
    assert add_note(job, "tea", "").data == {"text": "tea"}
    with pytest.raises(ReadingError, match="there is no note yet"):
        add_note(job, " \n", "S1")
    with pytest.raises(UnknownNameError, match="there is no “S7” in this vehicle"):
        add_note(job, "soft", "S7")
    assert len(job.record.living) == 2


def test_a_thing_is_a_part_a_connector_a_splice_an_earth_a_lamp_or_a_terminal_of_one(job: Job) -> None:
    for name in ("F1", "S1", "E2", "tail", "F1.in", "", "light switch.15"):
        need_thing(job.harness, name)
    for name in ("F2", "F2.in", "light"):
        with pytest.raises(UnknownNameError):
            need_thing(job.harness, name)
    assert {"F1", "S1", "E1", "tail", "plate"} <= {*things(job.harness)}


# --- the estimate


def test_there_is_an_estimate_as_soon_as_something_was_seen_and_until_it_is_repaired(job: Job) -> None:
    with pytest.raises(JobFileError, match="nothing was seen yet"):
        estimate_of(job)
    job.symptom("tail dark, plate normal when ignition on, lights on")
    found = estimate_of(job)
    assert 0 < found.low < found.minutes < found.high
    assert found.parts[0][0] == "the lamp" and 0.5 < found.parts[0][1] <= 1
    assert found.minutes < job.next().minutes / AS_PLANNED
    assert estimate_of(job, job.next()) == estimate_of(job)
    job.repaired("1")
    with pytest.raises(JobFileError, match="what is left are the checks of the repair"):
        estimate_of(job)
    for check in job.proof.checks if job.proof else ():
        job.prove(check.number, "ok")
    assert job.closed
    with pytest.raises(JobFileError, match="this job is closed"):
        estimate_of(job)


# --- what is asked


def test_a_place_is_known_by_part_of_its_name(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml")
    for words in ("boot", "Fuse Box", "left rear corner"):
        job.need_place(words)
    with pytest.raises(UnknownNameError, match="no place “boott”"):
        job.need_place("boott")


def test_a_question_is_told_with_its_choices_and_when_it_is_asked() -> None:
    for question in QUESTIONS:
        told = question_data(question)
        assert (told["id"], told["part"], told["text"]) == (question.id, question.part, question.text)
        assert told["choices"] == dict(question.choices) and told["else"] == question.unasked
        assert {k: tuple(v) for k, v in told["asked_when"].items()} == dict(question.when)
        assert [(u["when"].keys(), u["answer"]) for u in told["usual"]] == [
            (when.keys(), answer) for when, answer in question.usual]
    assert any(question_data(q)["asked_when"] for q in QUESTIONS)
