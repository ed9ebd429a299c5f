"""What belongs under every key of every kind of entry, and the borders that the job's own numbers draw: each met from
both sides."""

from __future__ import annotations

import io
import math
import os
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from msgspec.structs import replace
from PIL import Image

from tests.library import Clock
from tests.small_vehicle import ON, TEXT
from tracer.errors import ProblemsError, ReadingError, TracerError
from tracer.harness.devices import Source
from tracer.harness.file.text import read_harness
from tracer.inference.diagnosis import Diagnosis
from tracer.job import kinds, learning, whole_file, wiring
from tracer.job.history import CHARGED, History
from tracer.job.job import Job
from tracer.job.kinds import KINDS, MARKED, Row, read_known
from tracer.job.learning import MEMORY_VARIABLE, Lesson, NothingLearnedError, Teacher, job_id, learned_from
from tracer.job.photos import scaled
from tracer.job.repairs import repair_entry
from tracer.job.text import Event, JobHeader, JobRecord, new_content
from tracer.job.what_if import WhatIf
from tracer.job.whole_file import kind_of_content
from tracer.memory.finds import Learned
from tracer.memory.store import Memory
from tracer.observation.words.reading_data import test_as_data, value_as_data
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptom_data import symptom_as_data
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.repair_proof import Proof

START = datetime(2026, 3, 4, 9, tzinfo=UTC)
HEADER = JobHeader("van.yaml", "a" * 64, "Invented van", "")

# --- what belongs under a key, in plain words beside values that do and do not

VALUES: Mapping[str, Any] = {
    "a word": "abc", "3": 3, "1.5": 1.5, "-2": -2, "yes": True, "no": False, "a table": {}, "a list": [],
    "inf": "inf", "-inf": "-inf", "infinite": math.inf, "the most": 10**15 - 1, "too much": 10**15,
    "the least": 1 - 10**15, "too little": -10**15, "nothing": None,
}
NUMBERS = {"3", "1.5", "-2", "the most", "the least"}
BELONGS: Mapping[str, set[str]] = {
    "a text": {"a word", "inf", "-inf", *NUMBERS},
    "a number": NUMBERS,
    "a whole number": {"3", "-2", "the most", "the least", "too much", "too little"},
    "true or false": {"yes", "no"},
    "“key: value” lines": {"a table"},
    "a list": {"a list"},
    "a number or inf": {"inf", "-inf", *NUMBERS},
}
GOOD: Mapping[str, Any] = {
    "a text": "abc", "a number": 1.5, "a whole number": 3, "true or false": True, "“key: value” lines": {},
    "a list": [], "a number or inf": "inf",
}


def wrong(kind: str, data: Mapping[str, Any]) -> list[str]:
    return [message for _, message, _ in kinds._wrong(Event(1, START, kind, data))]


def least(row: Row) -> dict[str, Any]:
    """An entry, or a table in one, with no more than what it needs."""
    return {key: least(row.inside[key]) if key in row.inside and belongs != "a list" else GOOD[belongs]
            for key, belongs in row.needed.items()}


def every_table(row: Row, around: Callable[[dict[str, Any]], dict[str, Any]]) -> Iterator[
        tuple[Row, Callable[[dict[str, Any]], dict[str, Any]]]]:
    """The row of an entry and those of all tables in it, each with what puts such a table where it belongs."""
    yield row, around
    for key, inner in row.inside.items():
        listed = {**row.needed, **row.more}[key] == "a list"

        def put(table: dict[str, Any], key: str = key, listed: bool = listed) -> dict[str, Any]:
            return around({**least(row), key: [{**least(row.inside[key])}, table] if listed else table})

        yield from every_table(inner, put)


@pytest.mark.parametrize("kind", KINDS)
def test_under_every_key_of_an_entry_stands_what_belongs_there(kind: str) -> None:
    """However deep its table lies: nothing else, nothing unknown, and nothing missing."""
    for row, around in every_table(KINDS[kind], dict):
        assert not wrong(kind, around(least(row)))
        for key, belongs in {**row.needed, **row.more}.items():
            for name, value in VALUES.items():
                found = wrong(kind, around({**least(row), key: value}))
                if name not in BELONGS[belongs]:
                    assert found == [f"{key}: {belongs} belongs here"], (key, name)
                elif belongs != "“key: value” lines":
                    assert not found, (key, name)
        for key in row.needed:
            table = {k: v for k, v in least(row).items() if k != key}
            assert wrong(kind, around(table)) == [f"“{key}” is missing here"]
        assert wrong(kind, around({**least(row), "no such": 1})) == ["“no such” is not known here"]
        for key in row.inside:
            if {**row.needed, **row.more}[key] == "a list":
                found = wrong(kind, around({**least(row), key: ["abc"]}))
                assert found == [f"{key}: “key: value” lines belong here"]


def test_a_mark_may_stand_in_every_entry_and_is_a_text() -> None:
    for kind, row in KINDS.items():
        assert not wrong(kind, {**least(row), MARKED: "abc"})
        assert wrong(kind, {**least(row), MARKED: 3}) == [f"{MARKED}: a text belongs here"]
    assert wrong("symptoms", {}) == ["no kind of entry “symptoms”"]


def test_what_is_wrong_in_a_file_is_told_where_it_stands(tmp_path: Path) -> None:
    bad = Event(2, START, "proof", {"check": 1, "good": 3, "found": "x"})
    events = [Event(1, START, "note", {"text": "tea"}), bad]
    path = tmp_path / "job.yaml"
    path.write_bytes(new_content(HEADER, events))
    with pytest.raises(ProblemsError) as caught:
        read_known(path)
    (problem,) = caught.value.problems
    lines = path.read_text(encoding="utf-8").splitlines()
    assert problem.message == "good: true or false belongs here"
    assert lines[(problem.line or 0) - 1].strip() == "good: 3"


# --- the battery

HARNESS = read_harness(TEXT, "van.yaml")


def history(*said: tuple[str, str]) -> History:
    """Readings one after the other, each a test and a value as typed, else a symptom and ""."""
    events = []
    for number, (text, value) in enumerate(said, 1):
        if value:
            test = parse_test(text, HARNESS)
            data = {"test": test_as_data(test), "value": value_as_data(parse_value(value, test.kind, test.lamp))}
            events.append(Event(number, START, "reading", data))
        elif text.startswith("repaired "):
            events.append(Event(number, START, "repaired", {"repair": text.removeprefix("repaired ")}))
        else:
            events.append(Event(number, START, "symptom", symptom_as_data(parse_symptom(text, HARNESS))))
    return History(events, HARNESS)


POLES = "volts battery.+ to battery.- when everything off"
RUNNING = "volts battery.+ to battery.- when everything else off, engine running"


@pytest.mark.parametrize(("test", "share", "charged"), [
    (POLES, 0.936, True), (POLES, 0.934, False), (POLES, 1.079, True), (POLES, 1.081, False),
    (RUNNING, 0.936, True), (RUNNING, 0.934, False), (RUNNING, 1.079, True), (RUNNING, 1.081, False),
])
def test_a_battery_counts_as_charged_between_two_voltages(test: str, share: float, charged: bool) -> None:
    """From 93.5 to 108 % of what its file gives it, standing or running; else it is evidence and not the supply. By
    whatever it was measured, it is the voltage with the engine stopped that is known then."""
    assert CHARGED == (0.935, 1.08)
    source = next(d for d in HARNESS.devices() if isinstance(d, Source))
    whole = source.emf(test == RUNNING)
    found = history((test, f"{share * whole:.4f} V")).supply_v
    assert (found is not None) == charged
    if charged:
        assert found == pytest.approx(share * source.emf(False), rel=1e-4)


@pytest.mark.parametrize(("said", "volts"), [
    ([(POLES, "12.4 V")], 12.4), ([(POLES, "12.4 V"), (POLES, "12.6 V")], 12.6), ([(POLES, "-12.4 V")], 12.4),
    ([("volts battery.+ to body when everything off", "12.4 V")], 12.4),
    ([("volts battery.- to body when everything off", "12.4 V")], None),
    ([("volts F1.in when everything off", "12.4 V")], None),
    ([(POLES, "12.4 V"), (POLES, "could not do it")], 12.4),
    ([(POLES, "12.4 V"), ("volts F1.in when everything off", "9 V")], 12.4),
    ([(POLES, "12.4 V"), (POLES, "9 V")], None), ([(POLES, "> 12 V")], None),
    ([(POLES + " with F1 pulled", "12.4 V")], None),
])
def test_the_supply_is_what_was_measured_from_pole_to_pole_last(
    said: list[tuple[str, str]], volts: float | None,
) -> None:
    found = history(*said).supply_v
    assert found == (None if volts is None else pytest.approx(volts))


DARK = f"tail dark when {ON}"
DROP = f"volts tail.feed when {ON}"


@pytest.mark.parametrize(("before", "after", "same"), [
    ("8.00 V", "8.44 V", True), ("8.00 V", "8.46 V", False), ("8.00 V", "7.56 V", True), ("8.00 V", "7.54 V", False),
    ("0.00 V", "0.04 V", True), ("0.00 V", "0.06 V", False),
])
def test_a_reading_is_as_before_within_a_twentieth_and_a_twentieth_of_a_volt(
    before: str, after: str, same: bool,
) -> None:
    """Only then does a failed check say that the repair changed nothing, and all that was told before stands."""
    said = history((DROP, before), ("repaired x", ""))
    proof = Event(3, START, "proof", {"check": 1, "good": False, "found": after})
    again = history(("repaired x", ""), ("repaired x", ""), ("repaired x", ""), (DROP, after)).living[-1]
    found = History([*said.living, proof, replace(again, number=4)], HARNESS)
    assert len(found.evidence) == (2 if same else 1)


def test_each_repair_leaves_what_was_told_since() -> None:
    """How much stood when a repair was made last: who made it twice is asked from the second time on."""
    found = history((DARK, ""), ("repaired a", ""), (DARK, ""), ("repaired b", ""), (DARK, ""), ("repaired a", ""))
    assert dict(found.tried) == {"a": 3, "b": 2}
    assert found.made_in_vain == {"a": pytest.approx(0.03**2), "b": pytest.approx(0.03)}


# --- what is recorded


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml", clock=Clock())


def test_what_is_seen_in_another_state_contradicts_nothing(job: Job) -> None:
    job.symptom(f"tail dark when {ON}")
    assert "contradicts" not in job.symptom("tail normal when ignition on, lights off").remark
    assert "contradicts" in job.symptom(f"tail normal when {ON}").remark


def test_a_copy_tells_again_what_was_seen_last_and_nothing_else(job: Job) -> None:
    """Whatever was measured since: it is the complaint that stayed."""
    with job.marking("m"):
        job.symptom(f"plate dark when {ON}")
        job.symptom(f"tail dark when {ON}")
    job.reading(f"volts tail.feed when {ON}", "0 V")
    job.note("tea")
    last = next(e for e in reversed(job.record.living) if e.kind == "symptom")
    for tried, told in ((WhatIf(job), "repaired_in_vain"), (WhatIf(job), "still_as_before")):
        tried.repaired_in_vain("x") if told == "repaired_in_vain" else tried.still_as_before()
        *repaired, proof, symptom = tried.added
        assert repaired == ([("repaired", {"repair": "x", "parts": []})] if told == "repaired_in_vain" else [])
        assert proof == ("proof", {"check": 1, "good": False, "found": "still as before"})
        assert symptom == ("symptom", {k: v for k, v in last.data.items() if k != MARKED}) and MARKED in last.data


def test_under_one_mark_each_kind_of_entry_is_recorded_once(job: Job) -> None:
    """All that comes together stands already, or all of it is recorded; another mark is another sending."""
    both = [("note", {"text": "a"}), ("photo", {"file": "x.jpg"})]
    with job.marking("one"):
        first = job.add(both[:1])
    with job.marking("two"):
        second = job.add(both[:1])
    assert [e.number for e in (*first, *second)] == [1, 2]
    with job.marking("one"):
        assert job.add(both[:1]) == first and job.has_marked("one")
        together = job.add(both)
        assert [e.number for e in together] == [3, 4] and job.add(both)[1] == together[1]
    assert [e.data[MARKED] for e in job.record.events] == ["one", "two", "one", "one"]


def test_shares_and_risks_are_recorded_to_so_many_places(job: Job) -> None:
    job.symptom(f"tail dark, plate normal when {ON}")
    suspect = job.diagnosis.suspects[0]
    proof = cast(Proof, SimpleNamespace(checks=[], risk_before=0.1234567891, risk_after=0.0123456789))
    _, data = repair_entry(suspect.repair, ["p"], 3.5, proof, job._understood)
    assert data["share"] == round(suspect.share, 4) and data["minutes"] == 3.5
    assert (data["risk before"], data["risk after"], data["checks"]) == (0.12346, 0.01235, [])
    for value in data["kinds"].values():
        assert value == round(value, 4) > 0
    _, other = repair_entry("of my own", [], None, proof, job._understood)
    assert not {"share", "minutes", "kinds"} & other.keys()


def test_lines_are_spoken_of_from_four_in_five_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Or with the repair that was made, however sure that was."""
    monkeypatch.setattr(wiring, "settled_lines", lambda tool, evidence, best: (best,))

    def found(share: float, made: str | None) -> tuple[object, ...]:
        suspects = [SimpleNamespace(repair=r, share=s, best=r) for r, s in (("a", share), ("b", 1 - share))]
        then = cast(Diagnosis, SimpleNamespace(suspects=suspects, evidence=()))
        return wiring.wiring_found(cast(Any, None), then, made)

    assert found(0.8, None) == ("a",) and found(0.799, None) == () and found(0.5, "b") == ("b",)
    assert found(0.9, "b") == ("b",) and found(0.9, "of my own") == ("a",) and found(0.5, "of my own") == ()
    none = cast(Diagnosis, SimpleNamespace(suspects=[], evidence=()))
    assert wiring.wiring_found(cast(Any, None), none, None) == ()


# --- what is learned


def record(*entries: tuple[str, Mapping[str, Any], timedelta]) -> JobRecord:
    events = tuple(Event(n, START + since, kind, data) for n, (kind, data, since) in enumerate(entries, 1))
    return JobRecord(HEADER, events)


DAY = timedelta(days=1)
SYMPTOM: tuple[str, Mapping[str, Any], timedelta] = ("symptom", {"state": {}, "seen": []}, DAY)


@pytest.mark.parametrize(("since", "over"), [
    (91 * DAY, False), (91 * DAY + timedelta(seconds=1), True), (2 * DAY, False), (400 * DAY, True),
])
def test_a_job_is_given_up_ninety_days_after_its_last_entry(tmp_path: Path, since: timedelta, over: bool) -> None:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_bytes(new_content(HEADER, record(SYMPTOM).events))
    teacher = Teacher(cast(Memory, None), START + since)
    if over:
        assert teacher.lesson_of(path).outcome == "given up"
    else:
        with pytest.raises(NothingLearnedError, match="still open"):
            teacher.lesson_of(path)


@pytest.mark.parametrize(("checks", "results", "over"), [
    ([1, 2], {1: True, 2: True}, True), ([1, 2], {1: True}, False), ([1, 2], {1: True, 2: False}, False),
    ([], {}, False), ([1], {1: True}, True),
])
def test_what_is_learned_was_proven_check_by_check(
    tmp_path: Path, checks: list[int], results: Mapping[int, bool], over: bool,
) -> None:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    asked = [{"number": n, "state": {}} for n in checks]
    made = ("repaired", {"repair": "x", "checks": asked}, DAY)
    proofs = [("proof", {"check": n, "good": good, "found": "ok"}, DAY) for n, good in results.items()]
    path = tmp_path / "job.yaml"
    path.write_bytes(new_content(HEADER, record(SYMPTOM, made, *proofs).events))
    teacher = Teacher(cast(Memory, None), START + 400 * DAY)
    if over:
        assert teacher.lesson_of(path).outcome == "not described", "“x” is no repair of this vehicle"
    else:
        with pytest.raises(NothingLearnedError, match="not proven"):
            teacher.lesson_of(path)


def test_with_a_job_the_latest_story_of_it_is_learned() -> None:
    def work(*stories: Mapping[str, Any]) -> tuple[str, ...]:
        told = record(SYMPTOM, *(("story", s, DAY) for s in stories), ("note", {"text": "tea", "work": ["no"]}, DAY))
        return learned_from(told, "given up", [], HARNESS, [], ()).environment

    assert work({"work": ["radio", "towbar"]}) == ("radio", "towbar")
    assert work({"work": ["radio"]}, {"work": ["towbar"]}) == ("towbar",) and work() == () == work({"runs": True})
    assert work({"work": "radio"}) == (), "written by hand, and no list"


@pytest.mark.parametrize(("kinds_said", "counted"), [
    ({"earth bad": 0.6, "earth open": 0.4}, {"earth bad": 0.6, "earth open": 0.4}),
    ({"earth bad": 1}, {"earth bad": 1.0}),
    ({"earth bad": 0}, {}), ({"earth bad": 1.001}, {}), ({"earth bad": -0.5}, {}), ({"earth bad": "x"}, {}), ([], {}),
    (None, {}),
])
def test_kinds_count_as_they_stood_where_they_are_shares(kinds_said: Any, counted: Mapping[str, float]) -> None:
    assert learning._weighed(Event(1, START, "repaired", {"kinds": kinds_said})) == counted


class Shelf:
    """A memory that keeps what it is given, and in how many goes."""

    def __init__(self) -> None:
        self.goes: list[int] = []

    def learn(self, jobs: list[Learned]) -> list[bool]:
        self.goes.append(len(jobs))
        return [True] * len(jobs)

    def has_forgotten(self, job: str) -> bool:
        return False


@pytest.mark.parametrize(("jobs", "goes"), [(1, [1]), (49, [49]), (50, [50]), (51, [50, 1]), (120, [50, 50, 20])])
def test_fifty_jobs_at_once_are_kept(monkeypatch: pytest.MonkeyPatch, jobs: int, goes: list[int]) -> None:
    """An interruption loses no more, and none is kept twice."""
    shelf = Shelf()
    monkeypatch.setattr(Teacher, "lesson_of", lambda self, path: SimpleNamespace(id=path.name, outcome="found"))
    lessons = list(Teacher(cast(Memory, shelf), START).learn(Path(f"{n}.yaml") for n in range(jobs)))
    assert shelf.goes == goes
    assert lessons == [Lesson(Path(f"{n}.yaml"), "learned", "found") for n in range(jobs)]


def test_a_job_keeps_its_name_whatever_is_added_and_has_another_if_it_began_otherwise() -> None:
    first = record(SYMPTOM)
    assert job_id(first) == job_id(record(SYMPTOM, ("note", {"text": "tea"}, DAY)))
    others = [record(), record(("symptom", {"state": {}, "seen": []}, 2 * DAY)), record(("note", {"text": "x"}, DAY)),
              replace(first, header=replace(HEADER, fingerprint="b" * 64))]
    assert len({job_id(r) for r in (first, *others)}) == 5
    assert len(job_id(first)) == 32, "hexadecimal digits, so that no two jobs of the world share one by chance"
    assert job_id(first) == job_id(replace(first, header=replace(HEADER, vehicle="another")))


def test_a_rank_is_one_of_those_that_are_listed(job: Job) -> None:
    with pytest.raises(TracerError):
        job.repaired("1" * 30)


@pytest.fixture
def memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Memory:
    path = tmp_path / "memory.sqlite"
    monkeypatch.setenv(MEMORY_VARIABLE, str(path))
    return Memory(path)


def test_a_closed_job_is_learned_where_the_workshop_wishes_that(memory: Memory, tmp_path: Path) -> None:
    """Where it has no memory, or does not wish it, nothing is said; what is wrong with the file is said."""
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    path = tmp_path / "job.yaml"
    made = ("repaired", {"repair": "x", "checks": [{"number": 1, "state": {}}]}, DAY)
    proof = ("proof", {"check": 1, "good": True, "found": "ok"}, DAY)
    path.write_bytes(new_content(HEADER, record(SYMPTOM, made, proof).events))
    assert learning.learn_closed(path) == "" and not memory.path.exists()
    for wished in (False, True):
        memory.learn_when_closed(wished)
        assert learning.remembered(record(), HARNESS).rates is None, "no job is in it yet"
        assert learning.learn_closed(path) == ("learned by this workshop’s memory" if wished else "")
        assert [j.outcome for j in memory.jobs()] == ["not described"] * wished
    assert learning.remembered(record(), HARNESS).rates is not None
    assert learning.remembered(record(SYMPTOM, made, proof), HARNESS).rates is None, "but not from itself"
    path.write_text("tracer job: 1\n", encoding="utf-8")
    assert learning.learn_closed(path).startswith("this job was not learned: ")


# --- photos


@pytest.mark.parametrize(("size", "message"), [
    (25_000_000, "no photo that can be read"), (25_000_001, "larger than 25 MB"), (0, "empty"),
])
def test_a_photo_has_at_most_twenty_five_megabytes(size: int, message: str) -> None:
    with pytest.raises(ReadingError, match=message):
        scaled(bytes(size))


@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA", "P"])
def test_a_photo_is_kept_small_enough_for_a_phone_and_clear_enough_to_read(mode: str) -> None:
    """Its longer side has 1600 px and not one more; a smaller one stays as large as it is."""
    for size, kept in (((3200, 800), (1600, 400)), ((10, 1700), (9, 1600)), ((1600, 1600), (1600, 1600)),
                       ((7, 5), (7, 5))):
        out = io.BytesIO()
        Image.new(mode, size).save(out, "PNG")
        with Image.open(io.BytesIO(scaled(out.getvalue()))) as small:
            assert small.format == "JPEG" and small.mode == "RGB" and not small.getexif()
            assert abs(small.width - kept[0]) <= 1 and abs(small.height - kept[1]) <= 1 and max(small.size) <= 1600


# --- files


@pytest.mark.parametrize(("before", "kind"), [(0, "job"), (65_536 - 11, "job"), (65_536 - 10, None)])
def test_what_a_file_holds_stands_in_its_first_lines(tmp_path: Path, before: int, kind: str | None) -> None:
    """In the first 64 kB, however long the comment above: nobody reads a whole photo to see that it is none."""
    path = tmp_path / "f.yaml"
    path.write_bytes((b"#" * max(before - 1, 0) + b"\n" if before else b"") + b"tracer job: 1\n")
    assert kind_of_content(path) == kind


@pytest.mark.parametrize(("fails", "windows", "written", "slept"), [
    (0, True, True, 0), (19, True, True, 19), (20, True, False, 19), (1, False, False, 0),
])
def test_a_file_that_a_scanner_holds_is_tried_twenty_times(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails: int, windows: bool, written: bool, slept: int,
) -> None:
    """On Windows, a twentieth of a second apart; anywhere else what is refused is refused."""
    tries, pauses, replaced = [0], list[float](), os.replace

    def held(source: Path, target: Path) -> None:
        tries[0] += 1
        if tries[0] <= fails:
            raise PermissionError("in use")
        replaced(source, target)

    monkeypatch.setattr(whole_file, "_WINDOWS", windows)
    monkeypatch.setattr(os, "replace", held)
    monkeypatch.setattr(time, "sleep", pauses.append)
    target = tmp_path / "f.txt"
    target.write_bytes(b"before")
    if written:
        whole_file.replace_whole(target, b"after")
    else:
        with pytest.raises(PermissionError):
            whole_file.replace_whole(target, b"after")
    assert target.read_bytes() == (b"after" if written else b"before") and pauses == [0.05] * slept
    assert [p.name for p in tmp_path.iterdir()] == ["f.txt"], "nothing is left beside it"


def test_of_two_batteries_side_by_side_one_gives_the_voltage() -> None:
    """In series both together do (`test_history`)."""
    two = TEXT.replace("{kind: battery}\n", "{kind: battery}\n  spare: {kind: battery}\n", 1) + (
        "  - spare.+ > battery.+\n  - spare.- > battery.-\n")
    harness = read_harness(two, "van.yaml")
    test = parse_test(POLES, harness)
    data = {"test": test_as_data(test), "value": value_as_data(parse_value("12.5 V", test.kind))}
    assert History([Event(1, START, "reading", data)], harness).supply_v == pytest.approx(12.5)


def test_nothing_was_spent_before_anything_was_done() -> None:
    """A complaint with the engine running took one start, and no minutes of anybody's."""
    assert (history().engine_starts, history().minutes_spent) == (0, 0.0) == (
        history((DARK, "")).engine_starts, history((DARK, "")).minutes_spent)
    seen = (f"tail dark when {ON}, engine running", "")
    running, again = history(seen), history(seen, (DARK, ""), seen)
    assert (running.engine_starts, running.minutes_spent) == (1, 0.0)
    assert again.engine_starts == 2 and history((DROP, "12 V")).minutes_spent > 0.5
