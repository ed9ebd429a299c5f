"""`tracer new`: in which way a harness is begun, and what is said of ends that a wire list does not tell."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.faces.test_what_commands_print import ran as ran
from tests.noting import noting
from tests.small_vehicle import TEXT
from tracer.commands import new_command
from tracer.errors import TracerError
from tracer.job.new_harness import END_KINDS, QUESTIONS

HEAD = "from,through,to\n"


def listed(folder: Path, *rows: str) -> Path:
    path = folder / "list.csv"
    path.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


@pytest.fixture
def ways(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Which way is gone, at a terminal."""
    gone: list[str] = []
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True))
    for name, made in {"_like": TEXT, "_from_answers": TEXT, "_by_questions": (TEXT, "3 questions\n")}.items():
        monkeypatch.setattr(new_command, name, lambda *_, name=name, made=made: noting(gone, name, made))
    monkeypatch.setattr("tracer.job.harnesses.starter_text", lambda **asked: noting(gone, asked["what"], TEXT))
    return gone


@pytest.mark.parametrize(("options", "terminal", "way", "whole"), [
    ((), True, "_by_questions", True), ((), False, "rear", False), (("--json",), True, "rear", False),
    (("--what", "rear"), True, "rear", False), (("--what", "trailer"), False, "trailer", False),
    (("--like", "saloon_1970s"), True, "_like", True), (("--answers", "a.yaml"), True, "_from_answers", True),
    ((), None, "rear", False),
])
def test_a_harness_is_begun_in_one_way(
    options: tuple[str, ...], terminal: bool | None, way: str, whole: bool, ways: list[str], tmp_path: Path,
    ran: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By questions where somebody can be asked; and it is said whether it can be worked with as it is."""
    monkeypatch.setattr("sys.stdin", None if terminal is None else SimpleNamespace(isatty=lambda: terminal))
    out = tmp_path / "new.yaml"
    status, said, err = ran("new", out, *options)
    assert (status, err, ways) == (0, "", [way]) and out.read_text(encoding="utf-8") == TEXT
    if "--json" in options:
        assert json.loads(said) == {"written": str(out)}
        return
    assert said.startswith("3 questions\n" if way == "_by_questions" else f"written: {out}\n")
    assert (f"next: tracer open job.yaml --harness {out}" in said) == whole
    assert ("next: edit it, then  tracer check" in said) == (not whole)


def test_two_ways_at_once_are_refused(tmp_path: Path, ran: Any, ways: list[str]) -> None:
    given = {"--like": "saloon_1970s", "--wires": "l.csv", "--answers": "a.yaml", "--what": "rear"}
    for some in (x for n in (2, 3, 4) for x in combinations(given, n)):
        status, _, err = ran("new", tmp_path / "new.yaml", *(word for o in some for word in (o, given[o])))
        assert status == 2 and f"begin in one way: {' or '.join(some)}, not with both" in err
    assert not ways and not (tmp_path / "new.yaml").exists()


def test_nothing_is_written_over_not_even_a_link_to_nowhere(tmp_path: Path, ran: Any, ways: list[str]) -> None:
    (tmp_path / "new.yaml").symlink_to(tmp_path / "nowhere")
    assert ran("new", tmp_path / "new.yaml")[0] == 2 and not ways and not (tmp_path / "nowhere").exists()


def test_questions_are_printed_with_or_without_a_file_to_write(tmp_path: Path, ran: Any, ways: list[str]) -> None:
    out = tmp_path / "new.yaml"
    for more in ((), (out,)):
        data = json.loads(ran("new", *more, "--questions", "--json")[1])
        assert [q["id"] for q in data] == [q.id for q in QUESTIONS]
        assert ran("new", *more, "--questions")[1].count("\n#") > 3
    assert not ways and not out.exists()


# --- ends without a terminal


@pytest.mark.parametrize("count", [1, 2, 12, 13, 14])
def test_ends_that_nothing_tells_are_named_up_to_a_dozen(count: int, tmp_path: Path, ran: Any) -> None:
    rows = [f"thing {chr(97 + n)},,left tail" for n in range(count)]
    status, said, err = ran("new", tmp_path / "new.yaml", "--wires", listed(tmp_path, *rows))
    text = " ".join(err.split())
    assert status == 2 and not said and not (tmp_path / "new.yaml").exists()
    assert text.count("“thing ") == min(count, 12) and (" … are" in text) == (count > 12)
    assert (" is hint" in text) == (count == 1) and "--end 'thing a=splice'" in text


def test_how_each_kind_is_known_is_told(tmp_path: Path, ran: Any) -> None:
    """Said of it, guessed by its words, or said of all the rest; in the order of the list, each with its line."""
    rows = listed(tmp_path, "thing,,left tail", "other,,right tail", "fusebox,,other")
    status, _, err = ran("new", tmp_path / "new.yaml", "--wires", rows, "--end", "thing=switch", "--end", "*=splice",
                         "--end", "right tail=load")
    assert status == 0
    assert [line for line in err.splitlines() if " (line " in line] == [
        "thing (line 2): switch (said)", "left tail (line 2): lamp (guessed, by its words)",
        "other (line 3): splice (as said of the rest)", "right tail (line 3): load (said)",
        "fusebox (line 4): fuse (guessed, by fusebox)"]


@pytest.mark.parametrize("known", [True, False])
def test_other_programs_are_told_what_each_end_may_be(known: bool, tmp_path: Path, ran: Any) -> None:
    """Status 1 and nothing written where one is not known; nobody is asked, at a terminal neither."""
    rows, out = listed(tmp_path, "thing,,left tail"), tmp_path / "new.yaml"
    status, said, _ = ran("new", out, "--wires", rows, "--json", *("--end", "thing=switch") * known)
    data = json.loads(said)
    assert status == (0 if known else 1) and out.exists() == known
    assert data["written"] == (str(out) if known else None)
    assert [(e["name"], e["line"], e["guess"], e["kind"]) for e in data["ends"]] == [
        ("thing", 2, None, "switch" if known else None), ("left tail", 2, "lamp", "lamp")]
    assert all(e["choices"] == list(END_KINDS) for e in data["ends"])


@pytest.mark.parametrize("terminal", [True, False, None])
def test_ends_are_asked_for_where_somebody_can_be_asked(
    terminal: bool | None, tmp_path: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def ask(found: Any, kinds: Any, said: Any, *_: Any) -> dict[str, str]:
        asked.extend(e.name for e in found)
        raise TracerError("stopped")

    monkeypatch.setattr("tracer.guide.new_vehicle.ask_for_ends", ask)
    monkeypatch.setattr("sys.stdin", None if terminal is None else SimpleNamespace(isatty=lambda: terminal))
    rows = listed(tmp_path, "thing,,left tail")
    err = ran("new", tmp_path / "new.yaml", "--wires", rows)[2]
    assert asked == (["thing", "left tail"] if terminal else []) and ("stopped" in err) == bool(terminal)
    asked.clear()
    rows = listed(tmp_path, "F1.out,,tail.feed")
    assert ran("new", tmp_path / "new.yaml", "--wires", rows)[0] == 0 and not asked  # nothing is left to be asked


@pytest.mark.parametrize("answered", [0, 1, 3])
def test_questions_and_answers_are_counted(answered: int, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = SimpleNamespace(said=["x"] * answered)
    monkeypatch.setattr("tracer.guide.new_vehicle.ask_for_vehicle", lambda *_: (answers, 3))
    monkeypatch.setattr("tracer.job.new_harness.harness_from_answers", lambda given: TEXT)
    assert new_command._by_questions() == (
        TEXT, f"\n3 questions, {answered} answered, {3 - answered} left to what is usual\n")


@pytest.mark.parametrize(("like", "own"), [
    ("saloon_1970s", False), ("saloon_1970s.yaml", False), ("mine.yaml", True),
])
def test_a_model_goes_before_a_file_of_its_name(
    like: str, own: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("saloon_1970s.yaml", "mine.yaml"):
        Path(name).write_text("a file of one's own", encoding="utf-8")
    monkeypatch.setattr("tracer.job.new_harness.alike", lambda text, name, colours, mirrored: f"{name}: {text}")
    made = new_command._like(like, None, False)
    assert (made == f"{like}: a file of one's own") == own
    assert made.startswith("the model saloon_1970s: ") == (not own)
