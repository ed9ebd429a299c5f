"""A job and the workshop's memory: what is learned of which job, and what the next one is told."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.cache import FOLDER_VARIABLE
from tracer.job.file import sealed_path
from tracer.job.job import Job
from tracer.job.learning import (
    GIVEN_UP_DAYS,
    MEMORY_VARIABLE,
    Lesson,
    Memory,
    Teacher,
    job_files,
    job_id,
    learned_from,
)
from tracer.memory.finds import Find, Group, Learned
from tracer.observation.story import Story

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
COMPLAINT = "left rear reversing lamp dim, left rear tail faint when gear reverse"
REAR_COMPLAINT = "left rear stop dim, left rear tail faint when brake pedal pressed"  # on the rear end
EARTH = "clean and remake earth point E4"


class Clock:
    """A minute an entry; every job begins at an hour of its own."""

    hours = 0

    def __init__(self) -> None:
        Clock.hours += 1
        self.time = START + timedelta(hours=Clock.hours)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


@pytest.fixture
def memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Memory:
    path = tmp_path / "memory" / "memory.sqlite"
    monkeypatch.setenv(MEMORY_VARIABLE, str(path))
    return Memory(path)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "jobs"
    made.mkdir()
    for model in ("pickup", "rear_end"):
        shutil.copy(MODELS / f"{model}.yaml", made)
    return made


def opened(folder: Path, name: str, vehicle: str = "invented van of Mrs Example, plate XX 123, 1978",
           model: str = "pickup", complaint: str = COMPLAINT) -> Job:
    job = Job.create(folder / name, folder / f"{model}.yaml", vehicle, "the lamp is weak", Clock())
    job.symptom(complaint)
    return job


def closed(folder: Path, name: str, repair: str = EARTH) -> Job:
    job = opened(folder, name)
    proof = job.repaired(repair, ["ring terminal"], 12)
    job.prove_all({c.number: "ok" for c in proof.checks})
    assert job.closed
    return job


def taught(memory: Memory, folder: Path, now: datetime = START + timedelta(days=9)) -> dict[str, Lesson]:
    return {x.path.name: x for x in Teacher(memory, now).learn(job_files([folder]))}


def test_a_proven_job_leaves_kinds_and_nothing_of_the_customer(memory: Memory, folder: Path) -> None:
    closed(folder, "a.yaml")
    assert taught(memory, folder)["a.yaml"].became == "learned"
    (learned,) = memory.jobs()
    assert (learned.outcome, learned.group) == ("found", Group("van", "1970s"))
    assert {f.kind for f in learned.finds} <= {"earth bad", "earth open"}
    assert {(f.part, f.place) for f in learned.finds} == {("earth point", "left rear chassis rail")}
    assert sum(f.share for f in learned.finds) == pytest.approx(1, abs=1e-5)
    content = memory.path.read_bytes()
    for word in (b"Example", b"XX 123", b"weak", b"pickup", b"2026"):
        assert word not in content


def test_the_repair_is_shared_as_the_evidence_stood(memory: Memory, folder: Path) -> None:
    """A lamp that is dim speaks for a bad earth, not for an open one; by the rates alone it would be 2.4 to 1.5."""
    job = closed(folder, "a.yaml")
    shares = job.repairs[-1].data["kinds"]
    taught(memory, folder)
    assert {f.kind: f.share for f in memory.jobs()[0].finds} == pytest.approx(shares, abs=1e-4)
    assert shares != pytest.approx({"earth bad": 2.4 / 3.9, "earth open": 1.5 / 3.9}, abs=0.02)


def test_a_job_without_the_shares_of_an_older_version_goes_by_the_rates(memory: Memory, folder: Path) -> None:
    closed(folder, "a.yaml")
    text = (folder / "a.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    start = next(k for k, line in enumerate(text) if line.strip() == "kinds:")
    end = next(k for k in range(start + 1, len(text)) if not text[k].startswith("    "))
    (folder / "a.yaml").write_text("".join([*text[:start], *text[end:]]), encoding="utf-8")
    assert taught(memory, folder)["a.yaml"].became == "learned"
    found = {f.kind: f.share for f in memory.jobs()[0].finds}
    assert found == pytest.approx({"earth bad": 2.4 / 3.9, "earth open": 1.5 / 3.9}, abs=1e-5)


def test_jobs_that_teach_nothing_say_why(memory: Memory, folder: Path) -> None:
    job = opened(folder, "repaired.yaml")
    proof = job.repaired(EARTH)
    opened(folder, "open.yaml")
    failed = opened(folder, "failed.yaml")
    checks = failed.repaired(EARTH).checks
    failed.prove_all({checks[0].number: COMPLAINT})
    Job.create(folder / "empty.yaml", folder / "pickup.yaml", clock=Clock())
    gone = closed(folder, "gone.yaml")
    text = gone.path.read_text(encoding="utf-8").replace("harness: pickup.yaml", "harness: sold.yaml", 1)
    gone.path.write_text(text, encoding="utf-8")
    (folder / "torn.yaml").write_text("tracer job: 1\nharness: [\n", encoding="utf-8")
    (folder / "notes.yaml").write_text("no job at all\n", encoding="utf-8")
    sealed_path(closed(folder, "practised.yaml").path).write_text("{}", encoding="utf-8")
    lessons = taught(memory, folder)
    assert len(proof.checks) > 1
    assert {x.became for x in lessons.values()} == {"passed over"}
    for name, why in {"repaired": "not proven", "failed": "not proven", "open": "still open",
                      "empty": "nothing is recorded", "gone": "its harness is gone: sold.yaml", "torn": "torn.yaml",
                      "practised": "it is an exercise"}.items():
        assert why in lessons[f"{name}.yaml"].why
    assert "notes.yaml" not in lessons
    assert memory.jobs() == []
    assert list(Teacher(memory, START).learn(iter(()))) == []


def test_give_ups_and_what_was_not_described_are_counted(memory: Memory, folder: Path) -> None:
    opened(folder, "left.yaml")
    closed(folder, "own.yaml", "took the mouse's nest out of the tail lamp")
    late = START + timedelta(days=GIVEN_UP_DAYS + 9)
    assert taught(memory, folder)["left.yaml"].became == "passed over"
    assert taught(memory, folder, late)["left.yaml"].why == "given up"
    counts = memory.counts()
    assert (counts.found, counts.undescribed, counts.given_up) == (0, 1, 1)


def test_the_same_job_under_two_names_counts_once(memory: Memory, folder: Path) -> None:
    job = closed(folder, "a.yaml")
    shutil.copy(job.path, folder / "b.yaml")
    lessons = taught(memory, folder)
    assert lessons["a.yaml"].became == "learned"
    assert "the same job as a.yaml: it counts once" in lessons["b.yaml"].why
    assert taught(memory, folder)["a.yaml"].became == "known"
    assert memory.counts().jobs == 1


def test_a_job_keeps_its_id_as_it_goes_on(folder: Path) -> None:
    job = opened(folder, "a.yaml")
    before = job_id(job.record)
    job.repaired(EARTH)
    assert job_id(Job(job.path).record) == before
    assert job_id(opened(folder, "b.yaml").record) != before


def test_a_forgotten_job_is_left_out_until_it_is_named(memory: Memory, folder: Path) -> None:
    job = closed(folder, "a.yaml")
    taught(memory, folder)
    memory.forget(job_id(job.record))
    assert taught(memory, folder)["a.yaml"].became == "forgotten"
    (named,) = Teacher(memory, START).learn(job_files([job.path]), named=True)
    assert named.became == "learned"


def test_a_job_is_learned_when_it_closes_if_the_workshop_wishes(memory: Memory, folder: Path) -> None:
    first = closed(folder, "a.yaml")
    assert (first.lesson, memory.jobs()) == ("", [])
    memory.learn_when_closed(True)
    second = closed(folder, "b.yaml")
    assert "learned" in second.lesson
    assert [j.id for j in memory.jobs()] == [job_id(second.record)]
    memory.learn_when_closed(False)
    assert closed(folder, "c.yaml").lesson == ""


def test_without_a_memory_everything_is_as_before(
    memory: Memory, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bit for bit: no file, an empty one, or none wished for."""
    monkeypatch.setenv(FOLDER_VARIABLE, "off")
    opened(folder, "a.yaml", model="rear_end", complaint=REAR_COMPLAINT)
    without = Job(folder / "a.yaml").diagnosis
    assert Job(folder / "a.yaml").learned.rates is None
    memory.learn_when_closed(True)  # a file without a job
    empty = Job(folder / "a.yaml").diagnosis
    monkeypatch.setenv(MEMORY_VARIABLE, "off")
    off = Job(folder / "a.yaml").diagnosis
    for other in (empty, off):
        assert other.share.tobytes() == without.share.tobytes()
        assert other.undescribed == without.undescribed
        assert [h.prior for h in other.hypotheses] == [h.prior for h in without.hypotheses]


def _many(memory: Memory, folder: Path, kind: str, count: int) -> None:
    """Closed jobs on this vehicle with one kind of find."""
    closed(folder, "pattern.yaml")
    taught(memory, folder)
    known = memory.jobs()[0]
    memory.learn([Learned(f"{k:032d}", 5, "found", known.group, (Find(kind, 1.0),), (), known.equipment)
                  for k in range(count)])


def test_what_was_often_found_comes_nearer_and_the_cache_knows(memory: Memory, folder: Path) -> None:
    """Of the ways between the lamp and its earth point the connector’s was found four hundred times."""
    job = opened(folder, "a.yaml")
    before = job.shares  # kept on disk with the rates as shipped
    _many(memory, folder, "way open", 400)
    after = Job(folder / "a.yaml").shares
    way = next(r for r in before if r.startswith("clean or renew way C2.5"))
    assert before[EARTH] > before[way]
    assert after[way] > 0.9 > 0.1 > after[EARTH]
    assert Job(folder / "a.yaml").shares[way] == after[way]  # from the cache
    assert sum(after.values()) + Job(folder / "a.yaml").diagnosis.undescribed == pytest.approx(1)


def test_a_job_does_not_confirm_itself(memory: Memory, folder: Path) -> None:
    job = closed(folder, "a.yaml")
    before = Job(job.path).shares
    taught(memory, folder)
    assert Job(job.path).learned.rates is None
    assert dict(Job(job.path).shares) == dict(before)


def test_the_proof_of_a_job_does_not_move_with_what_is_learned(memory: Memory, folder: Path) -> None:
    """What was proven stays proven."""
    job = closed(folder, "a.yaml")
    checks = [c.state for c in job.proof.checks] if job.proof else []
    _many(memory, folder, "relay coil open", 300)
    again = Job(job.path)
    assert again.closed
    assert again.proof is not None
    assert [c.state for c in again.proof.checks] == checks


def test_what_the_harness_file_gives_stands_as_it_is(memory: Memory, folder: Path) -> None:
    path = folder / "rear_end.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "\nbase rates: {way bad: 0.3}\n", encoding="utf-8")
    opened(folder, "a.yaml", model="rear_end", complaint=REAR_COMPLAINT)
    before = _priors(Job(folder / "a.yaml"))
    _many(memory, folder, "way bad", 300)
    job = Job(folder / "a.yaml")
    after, rates = _priors(job), job.learned.rates
    assert rates is not None
    moved = {k: after[k] / before[k] for k in before}
    assert moved["earth bad"] / moved["way bad"] == pytest.approx(rates.factor["earth bad"])
    assert rates.factor["way bad"] > 20
    faulty = [h for h in job.investigator.singles_of(job.story) if not h.deviations]
    assert sum(h.prior for h in faulty) == pytest.approx(1, abs=1e-9)


def _priors(job: Job) -> dict[str, float]:
    """By the kind of fault, of the last hypothesis of each."""
    return {h.faults[0].kind: h.prior for h in job.investigator.singles_of(job.story)}


def test_a_memory_that_cannot_be_read_is_said_and_the_job_goes_on(memory: Memory, folder: Path) -> None:
    opened(folder, "a.yaml")
    before = Job(folder / "a.yaml").shares
    memory.path.parent.mkdir()
    memory.path.write_bytes(b"torn" * 3000)
    job = Job(folder / "a.yaml")
    assert dict(job.shares) == dict(before)
    assert "the shipped base rates are" in job.learned.note
    assert "damaged" in job.learned.note
    proof = job.repaired(EARTH)
    job.prove_all({c.number: "ok" for c in proof.checks})
    assert "was not learned" in job.lesson
    assert job.closed


def test_an_interruption_keeps_what_was_read(memory: Memory, folder: Path) -> None:
    paths = [closed(folder, f"{n}.yaml").path for n in "ab"]

    def interrupted() -> Iterator[Path]:
        yield from paths
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(Teacher(memory, START).learn(interrupted()))
    assert memory.counts().jobs == 2


def test_what_was_worked_on_last_is_learned_with_the_job(folder: Path) -> None:
    """As it was told last; of a job without a story nothing."""
    job = Job.create(folder / "a.yaml", folder / "pickup.yaml", "van", clock=Clock(), story=Story(work=("radio",)))
    job.add([("note", {"text": "tea"})])

    def work() -> tuple[str, ...]:
        return learned_from(job.record, "given up", [], job.harness, (), ()).environment

    assert work() == ("radio",)
    job.add([("story", Story(work=("washed", "loom opened")).as_data())])
    job.add([("note", {"text": "more tea"})])
    assert work() == ("washed", "loom opened")
    plain = Job.create(folder / "b.yaml", folder / "pickup.yaml", clock=Clock())
    assert learned_from(plain.record, "given up", [], plain.harness, (), ()).environment == ()
