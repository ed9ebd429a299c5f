"""What is recorded of readings and repairs, copies in memory, photos, and what stands where in a job file."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from tests.library import MODELS, Clock
from tracer.errors import JobFileError, ReadingError, UnknownNameError
from tracer.job.earlier_jobs import EARLIER, Earlier, carried
from tracer.job.job import Job
from tracer.job.photos import about, add_photo, notes_of, photo_file, photos_of, scaled
from tracer.job.text import place_of
from tracer.job.what_if import WhatIf, state_mark, take_over
from tracer.observation.evidence import Reading, Symptom
from tracer.observation.words.readings import parse_test

REAR_END, MOTORCYCLE = MODELS / "rear_end.yaml", MODELS / "motorcycle_6v.yaml"
DARK = "left rear stop dark when brake pedal pressed"


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", REAR_END, "Invented car", "no stop light", Clock())


def reading(job: Job) -> Reading:
    found = job.history.entries[-1].item
    assert isinstance(found, Reading)
    return found


# --- Which way round the leads were ----------------------------------------------------------------------


@pytest.mark.parametrize(("test", "typed", "kept"), [
    ("volts left rear.tail when lamp switch side", "-12.3 V", 12.3),  # nothing lies below the body
    ("volts left rear.tail when lamp switch side", "12.3 V", 12.3),
    ("volts left rear.tail when lamp switch side", "-0.4 V", -0.4),  # but an earth strap while the engine charges
    ("volts left rear.tail when lamp switch side", "-1.00 V", -1.0),
    ("volts left rear.tail when lamp switch side", "-1.10 V", 1.1),
    ("volt drop left rear.tail to left rear.earth when lamp switch side", "-12.3 V", -12.3),  # either may be higher
])
def test_a_voltage_against_the_body_has_the_sign_that_it_can_have(
    job: Job, test: str, typed: str, kept: float,
) -> None:
    said = job.reading(test, typed)
    assert reading(job).value.low == pytest.approx(kept) == reading(job).value.high
    assert ("leads were the other way round" in said.remark) == (typed.startswith("-1") and kept > 0)


@pytest.mark.parametrize(("typed", "kept"), [
    ("6.1 V", -6.1), ("-6.1 V", -6.1), ("+6.1 V", 6.1), ("0 V", 0.0), ("-3.0 V", -3.0),
])
def test_on_a_vehicle_with_its_positive_pole_earthed_everything_lies_below_the_body(
    tmp_path: Path, typed: str, kept: float,
) -> None:
    """Unless somebody writes the plus."""
    job = Job.create(tmp_path / "job.yaml", MODELS / "car_1950s.yaml", clock=Clock())
    assert job.harness.positive_earth
    lamp = job.harness.lamps()[0]
    part = next(p for p in job.harness.parts.values() if lamp in p.lamps)
    terminal = next(t for t in part.terminals if t != "earth")
    said = job.reading(f"volts {part.name}.{terminal} when everything off", typed)
    assert reading(job).value.low == pytest.approx(kept)
    assert ("positive-earth" in said.remark) == (typed == "6.1 V")


def test_what_could_not_be_done_is_recorded_as_that(job: Job) -> None:
    said = job.reading("volts left rear.tail when lamp switch side", "could not do it")
    assert said.understood.endswith("not done") and reading(job).value.told_nothing and not job.evidence


def test_a_lead_that_is_not_fitted_blows_no_fuse(job: Job) -> None:
    with pytest.raises(ReadingError, match="no temporary lead"):
        job.reading("look left rear stop when brake pedal pressed", "the lead's fuse blew")
    assert not job.events()


# --- Repairs ---------------------------------------------------------------------------------------------


def test_a_suspect_is_named_by_its_number_among_those_that_are_listed(job: Job) -> None:
    job.symptom(DARK)
    listed = [s.repair for s in job.diagnosis.listed]
    for number in ("0", str(len(listed) + 1), "99999999999999999999"):
        with pytest.raises(UnknownNameError, match="no suspect"):
            job.repaired(number)
    with pytest.raises(ReadingError, match="say what was repaired"):
        job.repaired("  ")
    assert not job.history.repairs
    share = job.diagnosis.listed[1].share
    job.repaired(" 2 ", minutes=7, parts=["a crimp"])
    made = job.history.repairs[-1].data
    assert made["repair"] == listed[1] and made["minutes"] == 7 and made["parts"] == ["a crimp"]
    assert made["share"] == pytest.approx(share, abs=1e-4)
    assert sum(made["kinds"].values()) == pytest.approx(1.0, abs=1e-3) and min(made["kinds"].values()) > 0
    assert 0 <= made["risk after"] < made["risk before"] < 1
    assert [c["number"] for c in made["checks"]] == list(range(1, len(made["checks"]) + 1))
    with pytest.raises(ReadingError, match="the ranks have moved"):
        job.repaired("1")  # nothing was seen since
    with pytest.raises(UnknownNameError, match="no proof check 99"):
        job.prove(99, "ok")
    job.prove(1, "left rear stop dark")
    assert [e.kind for e in job.record.living[-2:]] == ["proof", "symptom"]
    assert job.record.living[-2].data["good"] is False
    seen = job.history.entries[-1].item
    assert isinstance(seen, Symptom) and dict(seen.state.positions) == dict(job.proof.checks[0].state.positions)  # type: ignore[union-attr]
    job.repaired("1")
    assert len(job.history.repairs) == 2
    job.repaired("something of my own")
    assert "share" not in job.history.repairs[-1].data and "minutes" not in job.history.repairs[-1].data


# --- The record ------------------------------------------------------------------------------------------


def test_a_harness_that_is_another_than_when_the_job_began_is_told(job: Job, tmp_path: Path) -> None:
    assert not job.harness_changed
    text = REAR_END.read_text(encoding="utf-8")
    (tmp_path / "other.yaml").write_text(text, encoding="utf-8")
    moved = Job.create(tmp_path / "b.yaml", tmp_path / "other.yaml", clock=Clock())
    assert not moved.harness_changed
    (tmp_path / "other.yaml").write_text(text.replace("Invented rear end", "Another rear end"), encoding="utf-8")
    assert Job(tmp_path / "b.yaml").harness_changed


def test_what_is_taken_back_is_the_last_that_somebody_said(job: Job) -> None:
    """Proposals, and what came along from an earlier job, are the tool's own."""
    with pytest.raises(JobFileError, match="nothing to take back"):
        job.undo()
    job.note("first")
    job.add([("proposed", {"key": "X-1", "test": {"test": "look", "state": {}, "lamp": "left rear stop"}})])
    assert job.undo().data["text"] == "first"
    with pytest.raises(JobFileError, match="nothing to take back"):
        job.undo()


def test_what_comes_twice_under_one_mark_is_recorded_once(job: Job) -> None:
    for mark, notes in (("a", 1), ("a", 1), ("b", 2), ("", 3), ("", 4)):
        with job.marking(mark):
            job.note("tea")
        assert sum(e.kind == "note" for e in job.record.living) == notes
    job.note("after")
    assert [e.data.get("sent as") for e in job.record.living] == ["a", "b", None, None, None]


def test_an_earlier_job_hands_on_repairs_notes_and_what_differs(job: Job) -> None:
    older = EARLIER, Earlier("old.yaml", "2025-01-01", "c", "closed", ("a",), (), ()).as_data()
    job.add([older, ("note", {"text": "rust"}), ("repaired", {"repair": "new lamp", "parts": ["P21W", "grease"]}),
             ("repaired", {"repair": "clean E1", "parts": []})])
    overlay = replace(job.record.living[-1], kind="overlay", data={"name": "x", "text": "y"})
    kept = carried([*job.record.living, overlay], "job.yaml", "dark", "open", ["dash"])
    assert [kind for kind, _ in kept] == [EARLIER, EARLIER, "overlay"]
    own = Earlier.of(kept[1][1])
    assert own.repairs == ("new lamp (fitted: P21W, grease)", "clean E1") and own.notes == ("rust",)
    assert (own.file, own.complaint, own.status, own.opened) == ("job.yaml", "dark", "open", ("dash",))
    assert own.started == job.record.living[0].time.isoformat(timespec="minutes")
    assert Earlier.of(kept[0][1]).file == "old.yaml"


def test_each_key_of_an_entry_has_its_place(job: Job) -> None:
    """Line and column as an editor counts them, from 1; of a list the item; what is not there where it belongs."""
    job.reading("volts left rear.tail when lamp switch side", "12.3 V")
    job.note("tea")
    lines = job.path.read_text(encoding="utf-8").splitlines()

    def at(number: int, *where: str | int) -> str:
        mark = place_of(job.path, "job.yaml", number, where)
        assert mark is not None and mark.file == "job.yaml"
        return lines[mark.line - 1][mark.column - 1:]

    assert at(1).startswith("number: 1") and at(2).startswith("number: 2")
    assert at(1, "kind") == "kind: reading" and at(2, "text") == "text: tea"
    assert at(1, "value", "low") == "low: 12.3"
    assert at(1, "test", "plus").startswith("plus:")
    assert at(1, "value", "nothing") == "value:"
    assert place_of(job.path, "job.yaml", 3, ()) is None
    job.symptom("left rear stop dark, right rear stop dark when brake pedal pressed")
    lines = job.path.read_text(encoding="utf-8").splitlines()
    assert at(3, "seen", 1).startswith("lamp: right rear stop")
    assert at(3, "seen", 0, "words") == "words:"


# --- Copies in memory ------------------------------------------------------------------------------------


def test_a_copy_takes_what_was_seen_last_for_a_repair_in_vain(job: Job) -> None:
    job.symptom("left rear tail dark when lamp switch side")
    job.symptom(DARK)
    job.note("tea")
    tried = WhatIf(job)
    tried.repaired_in_vain("clean E1")
    assert [kind for kind, _ in tried.added] == ["repaired", "proof", "symptom"]
    assert tried.added[1][1]["good"] is False and tried.added[1][1]["check"] == 1
    assert tried.added[2][1] == job.record.living[1].data
    assert len(tried.evidence) == 3 and tried.history.tried == {"clean E1": 2}
    tried.still_as_before()
    assert [kind for kind, _ in tried.added[3:]] == ["proof", "symptom"]
    assert tried.added[4][1] == tried.added[2][1]
    assert [e.number for e in tried.record.events] == list(range(1, 9))
    assert len(job.record.events) == 3 and len(Job(job.path).record.events) == 3
    with pytest.raises(JobFileError):
        tried.undo()


def test_a_test_is_noted_as_proposed_once(job: Job) -> None:
    tried, test = WhatIf(job), parse_test("look left rear stop when brake pedal pressed", job.harness)
    tried.was_proposed(test)
    tried.was_proposed(test)
    assert [kind for kind, _ in tried.added] == ["proposed"]
    assert [*tried.proposed.values()] == [test]


def test_what_counts_changes_the_mark_of_where_a_job_stands_and_what_is_noted_does_not(job: Job) -> None:
    first = state_mark(job)
    job.note("tea")
    assert state_mark(job) == first
    job.symptom(DARK)
    second = state_mark(job)
    assert second != first and state_mark(Job(job.path)) == second
    job.undo()
    assert state_mark(job) == first


def test_a_copy_is_taken_over_once(job: Job) -> None:
    tried = WhatIf(job)
    tried.symptom("left rear tail dark when lamp switch side")
    tried.note("tea")
    taken = take_over(job, tried, "m")
    assert [e.kind for e in taken] == ["symptom", "note"] and len(job.record.living) == 2
    take_over(job, tried, "m")
    assert len(job.record.living) == 2


# --- Photos ----------------------------------------------------------------------------------------------


def picture(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.new("1", (width, height)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
def test_a_photo_of_too_many_pixels_is_refused_however_long_or_high() -> None:
    """The largest sensors of phones have 108 million pixels; 12,000 × 11,000 are 132."""
    for size in ((12_000, 11_000), (11_000, 12_000)):
        with pytest.raises(ReadingError, match="pixels"):
            scaled(picture(*size))
    with Image.open(io.BytesIO(scaled(picture(6_000, 300)))) as kept:
        assert kept.size == (1600, 80)
    with Image.open(io.BytesIO(scaled(picture(300, 200)))) as kept:
        assert kept.size == (300, 200)


def test_photos_and_notes_of_an_earlier_job_are_told_as_that(job: Job, tmp_path: Path) -> None:
    add_photo(job, picture(30, 20), "E1", "rust")
    job.add([("note", {"text": "soft", "at": "C1"}), ("note", {"text": "of nothing"})])
    later = Job.create(tmp_path / "later.yaml", clock=Clock("2026-04-01T09:00:00+01:00"), same_vehicle_as=job.path)
    add_photo(later, picture(40, 20), "E2", "clean")
    later.add([("note", {"text": "firm", "at": "C1"})])
    assert [(p.at, p.number > 0) for p in photos_of(later)] == [("E2", True), ("E1", False)]
    assert [(n.text, n.earlier) for n in notes_of(later)] == [("firm", False), ("soft", True)]
    assert [(n.text, n.earlier) for n in notes_of(job)] == [("soft", False)]
    assert photos_of(job)[0].number == 1
    assert [photo_file(later, p.key) for p in photos_of(later)] == [p.file for p in photos_of(later)]
    with pytest.raises(UnknownNameError, match="no such photo"):
        photo_file(job, photos_of(later)[0].key)  # that of a later job
    assert [e.number for e in later.events()] == list(range(1, len(later.events()) + 1))  # with what was handed on
    photos_of(later)[0].file.unlink()
    assert [p.at for p in photos_of(later)] == ["E1"]  # whose file is gone is left out


@pytest.mark.parametrize(("thing", "at", "belongs"), [
    ("left rear", "left rear", True), ("left rear", "left rear.earth", True), ("left rear.earth", "left rear", True),
    ("left rear", "right rear", False), ("left rear.earth", "right rear.earth", False), ("left rear", "", False),
    ("left rear.earth", "left rear.tail", False),  # another terminal of the same part
])
def test_what_was_kept_at_a_terminal_belongs_to_its_part_and_the_other_way_round(
    thing: str, at: str, belongs: bool,
) -> None:
    assert about(thing, at) is belongs
