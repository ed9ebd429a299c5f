"""The plan on a sheet: its tree, its page, and the line that comes back."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import Ticks, tool_on
from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.job.typed import parse_test, parse_value
from tracer.job.what_if import WhatIf, state_mark
from tracer.observation.evidence import Test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.branches import _range, branches_of
from tracer.present.conversation.screens import Mend, Step
from tracer.present.sheet.line import checksum, line_of, read_field, record_line
from tracer.present.sheet.page import MOST_BYTES, answers_of, sheet_html
from tracer.present.sheet.tree import Sheet, grow

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
SEEN = "left rear reversing lamp dim, left rear tail faint when gear reverse"
HOSTILE = "<script>alert(1)</script>\"'&;=%"


def new_job(folder: Path, vehicle: str = HOSTILE) -> Job:
    job = Job.create(folder / "job.yaml", MODEL, vehicle, "no light at the back")
    job.symptom(SEEN)
    return job


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, Sheet, bytes, set[str]]:
    """A job and its sheet, what the job file held before, and what lay beside it after."""
    folder = tmp_path_factory.mktemp("sheet")
    job = new_job(folder)
    before = job.path.read_bytes()
    sheet = grow(job, minutes=0.25, clock=Ticks())
    return job, sheet, before, {p.name for p in folder.iterdir()}


@pytest.fixture
def job(grown: tuple[Job, Sheet, bytes, set[str]], tmp_path: Path) -> Job:
    """The very same job elsewhere."""
    text = grown[0].path.read_text(encoding="utf-8")
    model = re.sub(r"^harness: .*$", "harness: pickup.yaml", text, flags=re.MULTILINE)
    (tmp_path / "job.yaml").write_text(model, encoding="utf-8")
    (tmp_path / "pickup.yaml").write_bytes(MODEL.read_bytes())
    return Job(tmp_path / "job.yaml")


def fields_to_the_end(sheet: Sheet) -> list[str]:
    """Those of the likeliest way from the first box to a repair that helps."""
    box, fields = sheet.boxes[0], list[str]()
    by_number = {b.number: b for b in sheet.boxes}
    while isinstance(box.screen, Step):
        best = max((a for a in answers_of(box) if a.share is not None and a.to), key=lambda a: a.share or 0)
        fields.append(best.field)
        box = by_number[best.to]
    assert isinstance(box.screen, Mend)
    return [*fields, answers_of(box)[0].field]


def test_growing_writes_nothing(grown: tuple[Job, Sheet, bytes, set[str]]) -> None:
    job, sheet, before, names = grown
    assert job.path.read_bytes() == before
    assert names <= {"job.yaml", ".job.yaml.lock"}
    assert len(sheet.boxes) >= 4 and sheet.cut


def test_every_box_has_a_way_for_every_answer_and_says_what_is_to_be_done(
    grown: tuple[Job, Sheet, bytes, set[str]],
) -> None:
    job, sheet, _, _ = grown
    for box in sheet.boxes:
        if isinstance(box.screen, Step):
            assert box.screen.lines and parse_test(box.test, job.harness)
            assert sum(w.share for w in box.ways if w.kind == "read") == pytest.approx(1.0, abs=0.1)
            assert {"something else", "could not do it"} <= {a.says for a in answers_of(box)}
        if isinstance(box.screen, Mend):
            assert [a.field[:2] for a in answers_of(box)] == ["m ", "m ", "m "]
    assert sum(1 for b in sheet.boxes if isinstance(b.screen, Mend) and b.checks) >= 1
    dangers = [w.text for b in sheet.boxes for w in b.screen.warned if w.grade == "danger"]
    assert any("wheels chocked" in text for text in dangers)  # gear in reverse: at every such box
    for box in sheet.boxes:
        if "gear reverse" in box.test and "ohms" not in box.test:
            assert any(w.grade == "danger" for w in box.screen.warned), box.test


def test_numbers_of_a_box_follow_on_each_other_and_mean_what_they_say() -> None:
    """By hand: with E4 open the reversing lamp's 21 W feed the left rear corner's earth through the tail, and E4
    stands some volts above the body; with the way C2.5 before it open, E4 stands at 0 V. So a border lies between."""
    tool = tool_on(MODEL)
    found = tool.diagnose([parse_symptom(SEEN, tool.harness)])
    test = parse_test("volts at E4 when gear reverse", tool.harness)
    branches = branches_of(found, test)
    assert len(branches) >= 2
    assert branches[0].low == -float("inf") and branches[-1].high == float("inf")
    for one, two in pairwise(branches):
        assert one.high == two.low
    for b in branches:
        value = parse_value(b.value, test.kind)
        assert value.high == pytest.approx(min(b.high, 60.0))
        assert value.low == pytest.approx(b.low if b.low > -60 else value.low)
    raised, sound = (next(b for b in branches if b.low <= v < b.high) for v in (3.4, 0.0))
    assert raised is not sound


@pytest.mark.parametrize(("low", "high", "least", "ends"), [
    (-np.inf, 1.3, 0.0, (-1.3, 1.3)), (-np.inf, 1.3, -12.0, (-60.0, 1.3)), (-np.inf, -0.4, -6.2, (-60.0, -0.4)),
    (-5.1, -0.4, -3.0, (-5.1, -0.4)), (-5.1, 0.4, -3.0, (-5.1, 0.4)), (1.3, 5.0, 3.0, (1.3, 5.0)),
    (-0.4, np.inf, 0.0, (-0.4, 60.0)),
])
def test_every_range_reads_back_as_its_ends(low: float, high: float, least: float, ends: tuple[float, float]) -> None:
    """Below zero too, as on a vehicle whose positive pole is earthed."""
    value = parse_value(_range(low, high, "V", least, False), "volts")
    assert (value.low, value.high) == ends


def test_a_look_at_several_lamps_names_each_of_them() -> None:
    tool = tool_on(MODEL)
    found = tool.diagnose([parse_symptom(SEEN, tool.harness)])
    state = tool.harness.state({"lamp switch": "side"})
    test = Test("look", state, lamp="left rear tail")
    for b in branches_of(found, test, ("right rear tail",)):
        assert [lamp for lamp, _ in b.also] == ["right rear tail"]
        assert parse_value(b.value, "look", "left rear tail").seen


def test_the_page_needs_nothing_but_itself(grown: tuple[Job, Sheet, bytes, set[str]]) -> None:
    job, sheet, _, _ = grown
    text = sheet_html(job, sheet)
    assert len(text.encode()) < MOST_BYTES
    assert "<script>alert" not in text and text.count("<script>") == 1
    assert not re.search(r"(?:src|href)=[\"'](?!#)|url\(|@import|https?:", text)
    assert "default-src 'none'" in text and "unsafe-inline'; base" in text


def test_what_a_tap_adds_to_the_line_stands_in_the_page_sign_by_sign(
    grown: tuple[Job, Sheet, bytes, set[str]],
) -> None:
    job, sheet, _, _ = grown
    found = [html.unescape(f) for f in re.findall(r'data-field="([^"]*)"', sheet_html(job, sheet))]
    assert found == [a.field for b in sheet.boxes for a in answers_of(b)]
    assert any("below" in f for f in found) and not any("\u00a0" in f for f in found)


def test_a_number_without_its_sign_is_taken_as_the_job_takes_it(tmp_path: Path) -> None:
    """On the positive-earth motorcycle nothing lies above the body; on the rear end nothing lies below it."""
    for model, sign, minutes in (("motorcycle_6v", "-", 0.1), ("rear_end", "+", 0.2)):
        job = Job.create(tmp_path / f"{model}.yaml", MODEL.with_name(f"{model}.yaml"))
        lamp, state = {"motorcycle_6v": ("rear lamp tail", "lamp switch pilot"),
                       "rear_end": ("left rear tail", "lamp switch side")}[model]
        job.symptom(f"{lamp} dark when {state}")
        boxes = grow(job, minutes=minutes, clock=Ticks()).boxes
        turns = {b.turn for b in boxes if b.test.startswith("volts at")}
        assert turns == {sign}
        assert all(b.turn == "" for b in boxes if not b.test.startswith("volts at"))


def test_a_line_is_recorded_whole(grown: tuple[Job, Sheet, bytes, set[str]], job: Job) -> None:
    sheet = replace(grown[1], mark=state_mark(job))
    done = record_line(job, line_of(sheet.mark, fields_to_the_end(sheet)))
    kinds = [e.kind for e in Job(job.path).record.living]
    assert kinds[:2] == ["symptom", "proposed"] and "reading" in kinds and "repaired" in kinds
    assert any(s.startswith("repaired: ") for s in done.said)
    again = line_of(sheet.mark, fields_to_the_end(sheet))
    before = job.path.read_bytes()
    with pytest.raises(JobFileError, match="recorded already"):
        record_line(Job(job.path), again)
    assert job.path.read_bytes() == before


def test_the_number_that_was_read_is_kept_as_it_was_typed(job: Job) -> None:
    record_line(job, line_of(state_mark(job), [read_field("volts at E4 when gear reverse", "3.4 V")]))
    value = next(e.data["value"] for e in job.record.living if e.kind == "reading")
    assert (value["low"], value["high"], value["text"]) == (3.4, 3.4, "3.4 V")


GOOD = read_field("volts at E4 when gear reverse", "3.4 V")


@pytest.mark.parametrize(("damage", "says"), [
    (lambda line: line[:-1], "not whole"),
    (lambda line: line.replace("3.4", "3.5"), "not whole"),
    (lambda line: "hello", "no line of a sheet"),
    (lambda line: "", "no line of a sheet"),
    (lambda line: line.partition(";")[0] + ";" + checksum(line.partition(";")[0]), "nothing was answered"),
    (lambda line: "x" * 30_000, "too long"),
    (lambda line: line_of("0123456789", [GOOD]), "another job"),
])
def test_a_line_that_is_not_whole_or_not_of_this_job_is_refused(
    job: Job, damage: Callable[[str], str], says: str,
) -> None:
    before = job.path.read_bytes()
    with pytest.raises(JobFileError, match=says):
        record_line(job, damage(line_of(state_mark(job), [GOOD])))
    assert job.path.read_bytes() == before


@pytest.mark.parametrize("bad", [
    "r volts at E99 when gear reverse=3 V", "r volts at E4 when gear reverse=bright", "q what", "r %E4=1 V", "n",
])
def test_of_a_line_of_which_one_answer_is_not_understood_nothing_is_recorded(job: Job, bad: str) -> None:
    before = job.path.read_bytes()
    with pytest.raises(JobFileError, match="answer 2"):
        record_line(job, line_of(state_mark(job), [GOOD, bad]))
    assert job.path.read_bytes() == before


def test_a_check_that_this_repair_does_not_have_is_left_to_be_made(job: Job) -> None:
    done = record_line(job, line_of(state_mark(job), [GOOD, "m clean and remake earth point E4", "k 1.000000=ok"]))
    assert len(done.said) == 2 and "none of this repair" in done.remarks[-1]
    assert "proof checks left: 1" in job.status()


def test_a_job_that_went_on_refuses_the_line_unless_only_a_note_was_added(job: Job) -> None:
    line = line_of(state_mark(job), [GOOD])
    job.note("rust at the rail")
    assert state_mark(job) == line[4:14]
    job.symptom("right rear tail normal when lamp switch side")
    with pytest.raises(JobFileError, match="something was recorded in this one since"):
        record_line(job, line)


def test_a_copy_in_memory_says_what_the_job_would_say(job: Job) -> None:
    tried = WhatIf(job)
    tried.reading("volts at E4 when gear reverse", "3.4 V")
    assert job.record.living[-1].kind == "symptom"
    job.reading("volts at E4 when gear reverse", "3.4 V")
    assert {r: round(s, 6) for r, s in tried.shares.items()} == {r: round(s, 6) for r, s in job.shares.items()}


def test_there_is_nothing_to_plan_before_the_first_symptom_and_after_the_repair(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODEL)
    with pytest.raises(JobFileError, match="nothing was recorded yet"):
        grow(job)
    job.symptom(SEEN)
    job.repaired("new earth ring")
    with pytest.raises(JobFileError, match="checks of the repair"):
        grow(job)


def test_the_checksum_is_that_of_the_standard() -> None:
    """The check value of CRC-32 for the nine digits, as catalogues of check sums print it (from memory)."""
    assert checksum("123456789") == "cbf43926"
