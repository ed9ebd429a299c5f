"""A job from complaint to proof through its file: recording, refusing, undoing, closing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.library import MODELS, Clock
from tests.shared import unremarked
from tracer.circuit.model import Change, Floats
from tracer.errors import ReadingError, SymptomError, TracerError, UnknownNameError
from tracer.faults import find_fault
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.lookalikes import with_groups
from tracer.job.job import Job
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.forward_model import Predictor
from tracer.observation.story import Story
from tracer.observation.words.readings import test_key as key_of
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.present.suspects_screen import leading_line

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
CROSSED = "left rear reversing dark, left rear indicator lit steadily at full brightness when gear reverse"


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", MODEL, "Invented pick-up", "no reversing light", Clock())


def test_a_job_ends_in_the_right_repair(job: Job) -> None:
    """Planted: ways 3 and 4 of C2 crossed. The simulated vehicle answers every proposed test."""
    fault = find_fault(job.investigator.faults, "ways crossed: C2 ways 3 and 4")
    vehicle = PracticeVehicle(job.harness, fault.variants[0].change, 12.2, [fault])
    job.symptom(CROSSED)
    for _ in range(8):
        step = job.next()
        if step.test is None:
            break
        job.reading(key_of(step.test), vehicle.answer(step.test))

    assert step.kind == "repair"
    assert step.says == fault.repair
    assert job.suspects()[0].share > 0.95

    proof = job.repaired("1", parts=["none"], minutes=5)
    assert proof.risk_after < proof.risk_before
    assert not job.closed
    for check in proof.checks:
        job.prove(check.number, "ok")
    assert job.closed
    assert Job(job.path).closed  # the file says the same
    assert job.engine_starts == 0


def test_reading_the_file_gives_the_same_suspects(job: Job) -> None:
    job.symptom(CROSSED)
    again = Job(job.path)

    assert [(s.repair, s.share) for s in again.suspects()[:5]] == [(s.repair, s.share) for s in job.suspects()[:5]]


def test_undo_restores_the_earlier_state_exactly(job: Job) -> None:
    job.symptom(CROSSED)
    before = [(s.repair, s.share) for s in job.suspects()]
    job.reading("volts C2.3' when gear reverse", "11.9 V")
    assert [(s.repair, s.share) for s in job.suspects()] != before
    taken = job.undo()

    assert taken.kind == "reading"
    assert [(s.repair, s.share) for s in job.suspects()] == before
    assert any(e.withdrawn for e in job.events())  # kept as withdrawn


def test_the_same_evidence_gives_the_same_proposal(job: Job) -> None:
    job.symptom(CROSSED)

    assert job.next() == Job(job.path).next()


def test_contradiction_is_kept_and_said(job: Job) -> None:
    job.symptom("left rear stop dark when brake pressed")
    said = job.symptom("left rear stop normal when brake pressed")

    assert "contradicts" in said.remark
    assert len(job.evidence) == 2
    assert job.diagnosis.contradictions() == ((0, 1),)


def test_nothing_explains_it(job: Job) -> None:
    """A tail lamp that flashes with the brake, twice as bright: no fault of the file does that."""
    job.symptom("left rear tail too bright flashing, right headlamp dip flashes when brake pressed")
    job.symptom("panel lamp 1 flashes when brake pressed")
    job.symptom("left front side flashes, right rear reversing flashes when lamp switch off")

    assert job.diagnosis.nothing_fits
    assert job.diagnosis.undescribed > 0.5
    said = " ".join(leading_line(job).split())
    assert said.startswith("most likely so far: “not described by the harness file” ")
    assert "; least bad of what is: " in said


def test_a_strange_reading_is_flagged_and_kept(job: Job) -> None:
    job.symptom("left rear reversing dim, left rear tail faint when gear reverse")
    said = job.reading("volts E4 when gear reverse", "7.3 V")

    assert "no leading suspect predicts this" in said.remark
    assert "Check the probe point" in said.remark
    assert isinstance(job.evidence[-1], Reading)


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("left rear fog dark when gear reverse", UnknownNameError),
        ("left rear reversing dark when gear sideways", UnknownNameError),
        ("left rear reversing purple when gear reverse", SymptomError),
        ("", SymptomError),
    ],
)
def test_error_in_a_symptom_records_nothing(job: Job, text: str, error: type[TracerError]) -> None:
    before = job.path.read_bytes()
    with pytest.raises((error, SymptomError)):
        job.symptom(text)

    assert job.path.read_bytes() == before


def test_error_unknown_lamp_names_the_nearest(job: Job) -> None:
    with pytest.raises(TracerError) as caught:
        job.symptom("left rear revrsng dark when gear reverse")

    assert "left rear reversing" in str(caught.value)


def test_error_impossible_reading_shows_the_accepted_forms(job: Job) -> None:
    job.symptom(CROSSED)
    with pytest.raises(ReadingError) as caught:
        job.reading("volts C2.3' when gear reverse", "12.x V")
    for form in ("11.9 V", "0.3 ohm", "open", "lit", "dark"):
        assert form in str(caught.value)


def test_a_test_lamp_is_no_lamp_of_the_vehicle(job: Job) -> None:
    """The next step can be chosen after a test lamp was used."""
    job.symptom("left rear stop dark when brake pressed")
    job.reading("test lamp at left rear.stop when brake pressed", "lit")

    assert job.next().kind in ("test", "repair")


def test_a_wrong_repair_leaves_the_complaint_and_counts_little(job: Job) -> None:
    job.symptom("left rear stop dark, right rear stop normal when brake pressed")
    first = job.suspects()[0].repair
    job.repaired("1")
    job.prove(1, "left rear stop dark")

    assert not job.closed
    assert job.suspects()[0].repair != first
    assert job.history.tried == {first: 1}  # the complaint stood then, and has been told again since


def test_the_record_shows_what_stood_before_each_repair(job: Job) -> None:
    """After a repair in vain what was seen before it still counts: for the record as for the job itself."""
    job.symptom("left rear stop dark, right rear stop normal when brake pressed")
    job.repaired("1")
    job.prove(1, "left rear stop dark")
    stood = [(s.repair, s.share) for s in job.suspects()]
    job.repaired("1")

    then = job.diagnosis_before(job.repairs[-1].number)
    assert [(s.repair, s.share) for s in with_groups(then).suspects] == stood
    assert len(then.evidence) == 2


def test_a_second_repair_is_proven_by_the_checks_that_were_told(job: Job) -> None:
    """The first repair cured what was complained of, so that it counts no more; another lamp has failed since. Both
    complaints are looked at again, and by the same numbers by which the results are recorded, now and when the file
    is read again."""
    job.symptom("left rear stop dark when brake pressed")
    job.repaired("new lamp: left rear stop")
    job.symptom("left rear stop normal when brake pressed")
    job.symptom("right rear tail dark when lights side")
    assert len(job.evidence) == 2
    told = job.repaired("1").checks

    complaints = [job.harness.say_state(c.state) for c in told if c.because == "the complaint"]
    assert complaints == ["ignition on, brake pedal pressed", "ignition on, lamp switch side"]
    kept = job.repairs[-1].data["checks"]
    for after in (job, Job(job.path)):
        assert after.proof is not None and after.proof.checks == told
        assert [(c.number, dict(c.state.positions)) for c in after.proof.checks] == [
            (c["number"], c["state"]) for c in kept
        ]


def test_battery_as_measured_is_used(job: Job) -> None:
    """The healthy vehicle's voltages follow the measured battery."""
    job.reading("volt drop battery.+ to battery.- when everything off", "11.8 V")

    assert job.supply_v == 11.8
    assert abs(job.investigator.predictor.emf - 11.8) < 1e-9


def test_an_overlay_differs_for_this_job_only(job: Job, tmp_path: Path) -> None:
    overlay = tmp_path / "differs.yaml"
    overlay.write_text(
        "overlay: 10 W number-plate lamp fitted\nparts:\n"
        "  left number-plate lamp: {kind: lamp, lamp: R10W, place: tailgate}\n", encoding="utf-8",
    )
    job.overlay(overlay)
    overlay.unlink()  # the job carries it

    assert Job(job.path).harness.lamp("left number-plate lamp").law.watts == 10.0


def test_a_job_moves_with_its_harness(job: Job, tmp_path: Path) -> None:
    """Job and harness copied to another folder keep working (relative path)."""
    here, there = tmp_path / "a", tmp_path / "b"
    here.mkdir()
    (here / "h.yaml").write_bytes(MODEL.read_bytes())
    moved = Job.create(here / "job.yaml", here / "h.yaml")
    moved.symptom(CROSSED)
    here.rename(there)

    assert len(Job(there / "job.yaml").evidence) == 1


def test_error_harness_gone(tmp_path: Path) -> None:
    (tmp_path / "h.yaml").write_bytes(MODEL.read_bytes())
    Job.create(tmp_path / "job.yaml", tmp_path / "h.yaml")
    (tmp_path / "h.yaml").unlink()
    with pytest.raises(TracerError) as caught:
        Job(tmp_path / "job.yaml")

    assert str(caught.value) == (
        "the harness of this job is not there: h.yaml (put it back, or correct the line “harness:” in the job file)"
    )


def test_what_is_measured_again_is_solved_once(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """A job of many entries stays quick: a set-up is solved once a diagnosis, however often it was used."""
    job.symptom(CROSSED)
    for volts in ("11.9 V", "11.8 V", "11.9 V", "11.7 V"):
        with unremarked():
            job.reading("volts C2.3' when gear reverse", volts)
        job.symptom(CROSSED)
    tests, rows = list[Test](), list[int]()

    def counted(predictor: Predictor, asked: Sequence[Test], changes: Sequence[Change]) -> list[Floats]:
        tests.extend(asked)
        rows.append(len(changes))
        return either_way(predictor, asked, changes)

    monkeypatch.setattr("tracer.inference.shown.either_way", counted)
    monkeypatch.setenv("TRACER_CACHE", "off")

    again = Job(job.path).diagnosis

    assert len(again.evidence) == 9
    assert len(set(tests)) == 1
    # Healthy vehicle, single faults, pairs, both at finer severities, and two handfuls finer still.
    assert len(tests) <= 6
    assert sum(rows) < 1.5 * max(rows)


def test_the_same_evidence_is_weighed_once_in_a_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A closed job with a repair is asked for its suspects, its proof and its report."""
    from tracer.inference.diagnose import Investigator
    from tracer.present.report import report_data

    weighed: list[object] = []
    plain = Investigator.diagnose

    def counted(self: Investigator, evidence: Sequence[Evidence], **more: Any) -> Diagnosis:
        weighed.append((tuple(evidence), tuple(sorted((more.get("discount") or {}).items()))))
        return plain(self, evidence, **more)

    monkeypatch.setattr(Investigator, "diagnose", counted)
    monkeypatch.setenv("TRACER_CACHE", "off")
    job = Job.create(tmp_path / "job.yaml", MODEL.with_name("rear_end.yaml"))
    job.symptom("left rear stop dim, left rear tail faint when brake pressed")
    job.next()
    job.reading("volts at E1 when brake pressed", "3.4 V")
    job.repaired("1")
    job.prove_all({c.number: "ok" for c in job.proof.checks} if job.proof else {})
    job.suspects()
    report_data(job)
    assert job.closed and len(weighed) == len(set(weighed))


def test_what_was_worked_out_is_taken_over_from_a_vehicle_wired_alike_and_from_no_other(tmp_path: Path) -> None:
    small = MODEL.with_name("rear_end.yaml")
    one, two = (Job.create(tmp_path / f"{n}.yaml", small) for n in "ab")
    other = Job.create(tmp_path / "c.yaml", MODEL)
    worked_out = one.investigator
    two.take_over(one)
    other.take_over(one)
    assert two.investigator is worked_out
    assert other.investigator is not worked_out and other.investigator.harness == other.harness
    two.symptom("left rear tail dark when lamp switch side")
    assert two.investigator is worked_out and not one.evidence
    assert two.diagnosis is two.diagnosis and Job(two.path).suspects() == two.suspects()


def test_a_proposal_noted_changes_nothing_of_what_was_understood(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODEL.with_name("rear_end.yaml"))
    job.symptom("left rear tail dark when lamp switch side")
    before = job.diagnosis
    step = job.next()
    assert step.test is not None and job.record.events[-1].kind == "proposed"
    assert job.diagnosis is before and list(job.proposed) == [key_of(step.test)]
    assert job.find_test(key_of(step.test)) == step.test


def test_the_side_of_the_road_is_a_fact_of_the_job(tmp_path: Path) -> None:
    """Told when the job is opened, kept in its file and in later jobs on the vehicle, used for near side and off
    side; else the harness file says it, or nobody."""
    model = MODELS / "saloon_1970s.yaml"
    said = {}
    for name, traffic in (("right", "keeps right"), ("left", "keeps left"), ("", "")):
        job = Job.create(tmp_path / f"{name or 'none'}.yaml", model, traffic=traffic)
        said[name] = job.symptom("n/s tail dead")
        assert Job(job.path).harness.traffic == traffic
        assert job.entries[0].item == Job(job.path).entries[0].item
    assert "right rear tail dark" in said["right"].understood and "keeps right" in said["right"].remark
    assert "left rear tail dark" in said["left"].understood and "left rear tail dark" in said[""].understood

    later = Job.create(tmp_path / "later.yaml", same_vehicle_as=tmp_path / "right.yaml")
    assert "right rear tail dark" in later.symptom("n/s tail dead").understood
    with pytest.raises(TracerError, match="traffic: no side “keeps up”"):
        Job.create(tmp_path / "wrong.yaml", model, traffic="keeps up")
    assert not (tmp_path / "wrong.yaml").exists()


def test_a_story_is_told_in_parts(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml", story=Story(runs=True))
    job.tell(Story(work=("washed",)))
    assert Job(job.path).story == Story(runs=True, work=("washed",))
    with pytest.raises(TracerError, match="nothing is told"):
        job.tell(Story())
