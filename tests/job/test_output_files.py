"""What is written with -o: whole or not at all, over nothing that somebody may want to keep, and with the reason."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.errors import TracerError
from tracer.job.job import Job
from tracer.job.whole_file import kind_of_content, need_free, replace_whole, write_output

HARNESS = "harness: Van\nsystem: 12 V negative earth\n"


def test_what_is_written_stands_there_byte_for_byte_and_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "out.md"
    write_output(str(path), "Zündung\r\n")
    assert path.read_bytes() == "Zündung\r\n".encode()
    write_output(str(path), b"\x00\n")
    assert path.read_bytes() == b"\x00\n" and os.listdir(tmp_path) == ["out.md"]


def test_what_stood_there_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "out"
    path.write_text("before")
    path.chmod(0o640)
    replace_whole(path, b"after")
    assert path.read_text() == "after" and path.stat().st_mode & 0o777 == 0o640


def test_why_it_cannot_be_written_is_told_in_the_words_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(TracerError, match="cannot be written: no such file or directory; nothing was changed"):
        write_output(str(tmp_path / "nowhere" / "out"), "text")
    with pytest.raises(TracerError, match=r"cannot be written: .*null"):
        write_output("a\0b", "text")


def test_no_input_no_job_and_no_harness_is_written_over(tmp_path: Path) -> None:
    source, link, job, harness = (tmp_path / n for n in ("in.csv", "link.csv", "a.job", "van.yaml"))
    source.write_text("a,b\n")
    link.symlink_to(source)
    job.write_text("tracer job: 1\n")
    harness.write_text(HARNESS)
    for path, inputs, message in (
        (source, [source], "is what this is made from"), (link, [source], "is what this is made from"),
        (job, [], "holds a job"), (harness, [], "holds a harness"), (tmp_path, [], "is a folder"),
    ):
        for tried in (need_free, lambda p, i: write_output(p, "lost", i)):
            with pytest.raises(TracerError, match=message):
                tried(str(path), inputs)
    assert source.read_text() == "a,b\n" and harness.read_text() == HARNESS
    need_free(str(tmp_path / "new"), [source])
    need_free(str(source), [job])


def test_a_harness_may_be_exchanged_for_itself_alone(tmp_path: Path) -> None:
    own, other = tmp_path / "van.yaml", tmp_path / "car.yaml"
    own.write_text(HARNESS)
    other.write_text(HARNESS)
    write_output(str(own), "harness: New\n", [own], may_be=str(own))
    assert own.read_text() == "harness: New\n"
    with pytest.raises(TracerError, match="holds a harness"):
        write_output(str(other), "harness: New\n", may_be=str(own))


@pytest.mark.parametrize(("content", "kind"), [
    ("tracer job: 1\n", "job"), ("# a job\n'tracer job': 1\n", "job"), ("\ufefftracer job: 1\n", "job"),
    (HARNESS, "harness"), ("overlay: of the van\n", "harness"), ("my harness: old\n", None), ("", None),
    ("a tracer job: 1\n", None),
])
def test_what_a_file_holds_is_told_by_its_first_lines(content: str, kind: str | None, tmp_path: Path) -> None:
    path = tmp_path / "it"
    path.write_text(content, encoding="utf-8")
    assert kind_of_content(path) == kind


def test_a_file_that_is_none_holds_nothing_and_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert kind_of_content(tmp_path / "pipe") is None and kind_of_content(tmp_path / "gone") is None
    with pytest.raises(TracerError, match="is no plain file"):
        need_free(str(tmp_path / "pipe"))


# --- what a job finds again


def test_a_short_name_that_was_not_proposed_is_told_as_that_and_words_are_read(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml")
    with pytest.raises(TracerError, match="no test “L-99” was proposed in this job"):
        job.find_test("L-99")
    for said in ("nonsense", "C1"):
        with pytest.raises(TracerError) as caught:
            job.find_test(said)
        assert "was proposed" not in str(caught.value)
    test = job.find_test("volts C1.1 when lamp switch side")
    assert test.kind == "volts" and test.plus == "C1.1"


def test_faults_are_predicted_once_for_each_battery(tmp_path: Path) -> None:
    """All predictions rest on its voltage: another one is another vehicle, the same one is not."""
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml")
    before = job.investigator
    job.note("seen")
    assert job.investigator is before and before.supply_v is None
    job.reading("volts battery.+ when everything off", "12.1 V")
    assert job.supply_v == pytest.approx(12.1) == job.investigator.supply_v
    assert job.investigator is not before and job.investigator is job.investigator
