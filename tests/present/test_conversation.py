"""The conversation by itself: what comes next, what a reply does, and what a late or repeated reply does not."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace

from tracer.errors import JobFileError, TracerError
from tracer.job.job import Job
from tracer.planning.told import told_of_repair
from tracer.present.conversation.core import answer, screen_of, screen_of_proposal
from tracer.present.conversation.screens import (
    Checked,
    Closed,
    Mend,
    Mended,
    NotDone,
    Prove,
    Read,
    Remark,
    Reply,
    Seen,
    Step,
    TakeBack,
    Told,
)

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
SEEN = Told("left rear reversing lamp dim, left rear tail faint when gear reverse")


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", MODEL, "Invented pick-up")


def test_from_what_was_seen_to_the_closed_job(job: Job) -> None:
    assert isinstance(screen_of(job), Seen)
    assert answer(job, SEEN).recorded.startswith("seen: ")
    step = screen_of(job)
    assert isinstance(step, Step) and step.unit == "V" and step.answers
    said = answer(job, Read(step.name, step.answers[0].value))
    assert "likely causes" in said.changed
    mend = screen_of(job)
    assert isinstance(mend, Mend)
    answer(job, Mended(mend.what))
    for _ in range(12):
        screen = screen_of(job)
        if not isinstance(screen, Prove):
            break
        answer(job, Checked(screen.check.number, screen.of_repair, "ok"))
    assert isinstance(screen_of(job), Closed)


def test_each_wire_at_a_point_has_its_letters_and_colours(job: Job) -> None:
    answer(job, SEEN)
    step = screen_of(job)
    assert isinstance(step, Step)
    marks = [w for line in step.lines for w in line.wires]
    assert ("BN", ("brown",)) in [(w.letters, w.colours) for w in marks]


def test_a_number_that_is_tapped_is_recorded_as_near_it(job: Job) -> None:
    answer(job, SEEN)
    step = screen_of(job)
    assert isinstance(step, Step)
    answer(job, Read(step.name, step.answers[0].value))
    value = job.record.living[-1].data["value"]
    assert value["high"] - value["low"] == pytest.approx(0.4)  # twice 0.2 V, within which outcomes are one


def test_what_comes_twice_with_one_mark_is_recorded_once(job: Job) -> None:
    first, again = answer(job, SEEN, "m"), answer(Job(job.path), SEEN, "m")
    assert first.number == again.number == 1
    answer(job, Remark("rust"), "m")  # another kind of entry is another thing
    job = Job(job.path)
    assert [e.kind for e in job.record.events] == ["symptom", "note"]


def test_a_reply_to_what_has_moved_on_is_refused(job: Job) -> None:
    answer(job, SEEN)
    answer(job, Mended("new ring at E4"))
    number = job.repairs[-1].number
    answer(job, TakeBack(number))
    with pytest.raises(JobFileError):
        answer(job, Checked(1, number, "ok"))
    with pytest.raises(JobFileError):
        answer(job, TakeBack(number))


def test_several_looks_are_recorded_whole_or_not_at_all(job: Job) -> None:
    answer(job, SEEN)
    before = job.path.read_bytes()
    with pytest.raises(TracerError):
        answer(job, Read("look left rear tail when lamp switch side", "normal", (("no such lamp", "dark"),)))
    assert job.path.read_bytes() == before


def test_a_test_that_could_not_be_done_is_not_shown_again(job: Job) -> None:
    answer(job, SEEN)
    first = screen_of(job)
    assert isinstance(first, Step)
    answer(job, NotDone(first.name))
    second = screen_of(job)
    assert isinstance(second, Step) and second.name != first.name


def test_a_check_that_is_put_off_comes_last(job: Job) -> None:
    answer(job, SEEN)
    answer(job, Mended("clean and remake earth point E4"))
    first = screen_of(job)
    assert isinstance(first, Prove) and first.others and not first.put_off
    numbers = set[int]()
    while isinstance(screen := screen_of(job, passed=numbers), Prove) and not screen.put_off:
        assert screen.check.number not in numbers
        numbers.add(screen.check.number)
    assert isinstance(screen, Prove) and screen.put_off
    assert len(numbers) == first.count and screen.check.number == first.check.number


@pytest.mark.parametrize("face", ["guide", "page"])
def test_what_can_be_replied_can_be_replied_in_every_face(face: str) -> None:
    folder = Path(__file__).parents[2] / "tracer" / face
    text = "\n".join(p.read_text(encoding="utf-8") for p in folder.glob("*.py"))
    made = [r.__name__ for r in get_args(Reply) if re.search(rf"\b{r.__name__}\(", text)]
    assert made == [r.__name__ for r in get_args(Reply)]
    assert "record_line(" in text and "Limits(" in text and "passed" in text


def test_a_lamp_that_should_be_dark_is_not_called_normal_when_it_shines(job: Job) -> None:
    """Of a lamp that should be dark, "normal" would be taken for dark."""
    answer(job, SEEN)
    for _ in range(6):
        step = screen_of(job)
        if not isinstance(step, Step):
            break
        assert all(not re.search(r"(?<!lit )\bnormal\b", a.shows) for a in step.answers), step.answers
        answer(job, NotDone(step.name))


def test_answers_of_a_look_name_only_what_is_otherwise(tmp_path: Path) -> None:
    """What is right is said once, with every lamp by name; what is recorded are the looks of all."""
    job = Job.create(tmp_path / "tow.yaml", MODEL.with_name("tow_7pin.yaml"), "Invented estate car with trailer")
    answer(job, Told("trailer left stop dark, trailer right stop dark when brake pedal pressed"))
    step = screen_of(job)
    assert isinstance(step, Step) and step.also
    (look,) = (line.text for line in step.lines if line.text.startswith("Look at"))
    usual = dict(job.usual_looks(job.find_test(step.name).state, (step.lamp, *step.also)))
    right = look.partition("right is: ")[2]
    assert right == "car both rear stop lit."
    for lamp in usual:
        assert lamp.split()[-1] in right, (lamp, right)
    for shown in step.answers:
        looks = {step.lamp: shown.value, **dict(shown.also)}
        assert looks.keys() == usual.keys()
        odd = {lamp for lamp in usual if looks[lamp] != usual[lamp]}
        assert (shown.shows == "all as they should be") == (not odd)
    answer(job, Read(step.name, step.answers[0].value, step.answers[0].also))
    told = {s.lamp: s.words for e in job.entries for s in getattr(e.item, "seen", ())}
    assert told.keys() >= set(step.also)


def test_a_confirmation_is_shown_with_its_own_cautions_and_the_repair_with_its_own(job: Job) -> None:
    """Solder and flame belong to the repair, which has its own screen; the volts before it are read with the battery
    on."""
    answer(job, Told("left rear stop dark when brake pedal pressed"))
    wire = next(s for s in job.diagnosis.listed if s.repair.startswith("repair the ") and "wire" in s.repair)
    test = job.find_test("volts at left rear.stop when brake pedal pressed")
    told = told_of_repair(wire, test, job.standing, job.now, job.shorts, job.harness)
    alone = told_of_repair(wire, None, job.standing, job.now, job.shorts, job.harness)
    own = {c.head for c in told["test_cautions"]}
    of_repair = {c.head for c in alone["cautions"] if c.grade == "danger"}
    assert of_repair and not of_repair & own
    p = replace(job.next(), kind="repair", suspect=wire, test=test, says=wire.repair, also=(), **told)
    step = screen_of_proposal(job, p)
    assert isinstance(step, Step) and step.confirms == wire.repair
    assert {w.head for w in step.warned} <= own
    assert {c.head for c in p.cautions} >= of_repair | own  # where both are shown at once, both are said
