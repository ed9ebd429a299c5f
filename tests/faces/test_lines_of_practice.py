"""Each line that a learner may type: what the exercise is asked, and what is said to it."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.library import MODELS
from tests.noting import noting
from tracer.commands import main, practice_commands
from tracer.commands.practice_commands import _HELP, _ask, _do, _end, _greet, _standing
from tracer.errors import SymptomError, TracerError


class Exercise:
    """Notes what is asked of it; `refused` where that is no use."""

    path, harness_path = Path("lesson.yaml"), Path("van.yaml")

    def __init__(self, **more: Any) -> None:
        self.called: list[tuple[str, ...]] = []
        self.remark, self.why, self.refused, self.over, self.helped = "", "", None, False, False
        self.minutes, self.answer, self.repairs_needed = 12.4, ("F1 is blown",), ("new fuse F1",)
        self.seal = SimpleNamespace(level=3, hints=[1, 2])
        suspects = [SimpleNamespace(share=0.5 / n, repair=f"repair {n}") for n in range(1, 12)]
        told = [SimpleNamespace(kind="symptom", data={"text": "no light"}), SimpleNamespace(kind="reading", data={}),
                SimpleNamespace(kind="reading", data={}), SimpleNamespace(kind="symptom", data={})]
        self.job = SimpleNamespace(suspects=lambda: suspects, record=SimpleNamespace(living=told), complaint="dark",
                                   harness=SimpleNamespace(title="Van"), harness_path=self.harness_path)
        self.__dict__.update(more)

    def _noted(self, *what: str) -> None:
        self.called.append(what)
        if self.refused:
            raise self.refused

    def mind(self, words: str) -> None:
        self._noted("mind", words)

    def give_up(self) -> None:
        self._noted("give up")

    def hint(self) -> Any:
        self._noted("hint")
        return SimpleNamespace(says="volts at S1", why=self.why)

    def look(self, state: str) -> Any:
        self._noted("look", state)
        return [("tail", "dim"), ("plate", "normal")], SimpleNamespace(remark=self.remark)

    def ask(self, typed: str) -> Any:
        self._noted("ask", typed)
        return SimpleNamespace(asked="volts S1", answer="12 V", recorded=SimpleNamespace(remark=self.remark))

    def repair(self, words: str) -> Any:
        self._noted("repair", words)
        return SimpleNamespace(repair="new fuse F1", helped=self.helped, left=["tail dark", "plate dark"])

    def parts_in_vain(self) -> list[str]:
        return ["lamp"]


def said_to(typed: str, capsys: pytest.CaptureFixture[str], exercise: Exercise) -> list[str]:
    _do(cast("Any", exercise), typed)
    return capsys.readouterr().out.splitlines()


ASKED = ["  volts S1: 12 V"]
LOOKED = ["  tail: dim", "  plate: normal", "  every other lamp: dark"]


@pytest.mark.parametrize(("typed", "called", "says"), [
    ("", [], []), ("?", [], _HELP.splitlines()), ("HELP", [], _HELP.splitlines()),
    ("mind battery off", [("mind", "battery off")], ["Noted."]), ("mind", [("ask", "mind")], ASKED),
    ("hint", [("hint",)], ["  volts at S1"]), ("Hint", [("hint",)], ["  volts at S1"]),
    ("give up", [("give up",)], []), ("give UP", [("give up",)], []), ("give", [("ask", "give")], ASKED),
    ("give in", [("ask", "give in")], ASKED), ("repair", [("ask", "repair")], ASKED),
    ("draw", [("ask", "draw")], ASKED), ("look when brake pedal pressed", [("look", "brake pedal pressed")], LOOKED),
    ("look With everything off", [("look", "everything off")], LOOKED),
    ("look tail when lights on", [("ask", "look tail when lights on")], ASKED), ("look", [("ask", "look")], ASKED),
    ("volts S1", [("ask", "volts S1")], ASKED),
])
def test_a_line_is_what_its_help_says_and_else_a_test(
    typed: str, called: list[tuple[str, ...]], says: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    exercise = Exercise()
    assert said_to(typed, capsys, exercise) == says and exercise.called == called


@pytest.mark.parametrize("typed", ["look when lights on", "volts S1"])
def test_a_remark_is_told_below_what_was_seen_where_there_is_one(
    typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = said_to(typed, capsys, Exercise())
    assert said_to(typed, capsys, Exercise(remark="mind the acid")) == [*plain, "  Note: mind the acid"]


def test_a_hint_comes_with_its_reason_where_it_has_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert said_to("hint", capsys, Exercise(why="it halves them")) == ["  volts at S1 (it halves them)"]


def test_the_first_eight_suspects_are_told_by_their_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    lines = said_to("suspects", capsys, Exercise())
    assert lines == [f"{n:>2} {0.5 / n:>6.1%}  repair {n}" for n in range(1, 9)]


def test_the_reasons_are_those_of_the_first_suspect(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracer.present.job_words.why_lines", lambda job, rank, p, width: [f"{rank} {p} {width}"])
    assert said_to("why", capsys, Exercise()) == ["1 None 80"]


@pytest.mark.parametrize(("over", "helped", "says"), [
    (True, True, ["  new fuse F1: done, and every lamp does what it should."]),
    (True, False, ["  new fuse F1: done, and every lamp does what it should."]),
    (False, True, ["  new fuse F1: that was wrong too, but still:", "    tail dark", "    plate dark"]),
    (False, False, ["  new fuse F1: done; still:", "    tail dark", "    plate dark"]),
])
def test_a_repair_is_told_with_what_it_leaves(
    over: bool, helped: bool, says: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    exercise = Exercise(over=over, helped=helped)
    assert said_to("repair 1", capsys, exercise) == says and exercise.called == [("repair", "1")]


@pytest.mark.parametrize(("error", "says"), [
    (TracerError("no such thing"), ["? no such thing"]), (TracerError("no", "say it"), ["? no (say it)"]),
    (SymptomError("which", "", ("a", "b")), ["? which", "    a", "    b"]),
])
@pytest.mark.parametrize("typed", ["mind x", "hint", "give up", "look when x", "volts S1", "repair x"])
def test_what_is_refused_is_told_with_what_may_be_meant(
    error: TracerError, says: list[str], typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said_to(typed, capsys, Exercise(refused=error)) == says


@pytest.mark.parametrize("name", ["a.gif", "a", "svg", "lesson.yaml"])
def test_a_drawing_without_a_known_ending_is_refused(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    (line,) = said_to(f"draw {name}", capsys, Exercise())
    assert line == f"? “{name}” has no known ending (write .svg, .png or .pdf)"


@pytest.mark.parametrize("kind", ["svg", "png", "pdf", "SVG"])
def test_a_drawing_is_written_in_the_kind_of_its_ending(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tracer.present.drawing.draw.draw", lambda harness, view, kind: kind)
    monkeypatch.setattr("tracer.present.drawing.selection.view_of_job", lambda job: None)
    out = tmp_path / f"c.{kind}"
    assert said_to(f"draw {out}", capsys, Exercise()) == [f"  written: {out}"]
    assert out.read_text(encoding="utf-8") == kind.lower()


@pytest.mark.parametrize("terminal", [True, False])
@pytest.mark.parametrize(("typed", "line"), [
    ("volts S1", "volts S1"), ("  quit ", None), ("EXIT", None), ("", ""), (" suspects ", "suspects"), (None, None),
])
def test_a_line_is_asked_for_behind_the_minutes_until_there_is_none(
    typed: str | None, line: str | None, terminal: bool, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """From a pipe it is repeated; at a terminal it stands there already."""
    stdin = io.StringIO("" if typed is None else f"{typed}\n")
    monkeypatch.setattr(stdin, "isatty", lambda: terminal, raising=False)
    monkeypatch.setattr(sys, "stdin", stdin)
    assert _ask(cast("Any", Exercise())) == line
    assert capsys.readouterr().out == "[12 min] > " + ("\n" if typed is None else "" if terminal else f"{typed}\n")


def test_the_complaint_is_told_first(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """In the customer's words where there are any; what was measured is none."""
    monkeypatch.setattr("tracer.present.job_words.say_event", lambda job, event: "seen: tail dark")
    _greet(cast("Any", Exercise()))
    assert capsys.readouterr().out.splitlines() == [
        "Van: exercise of level 3 (lesson.yaml)", "The customer says: no light", "The customer says: seen: tail dark",
        "Type a test, or ? for help."]


@pytest.mark.parametrize("over", [True, False])
def test_the_answer_is_told_to_programs_once_it_is_over(over: bool) -> None:
    told = {"answer": ["F1 is blown"], "repair": ["new fuse F1"], "in_vain": ["lamp"]}
    assert _standing(cast("Any", Exercise(over=over))) == {
        "job": "lesson.yaml", "level": 3, "complaint": "dark", "minutes": 12.4, "tests": 2, "hints": 2, "over": over,
        **(told if over else {})}


@pytest.mark.parametrize("found", [True, False])
def test_an_exercise_ends_with_status_one_where_the_fault_was_not_found(
    found: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tracer.practice.debrief.debrief", lambda exercise: SimpleNamespace(found=found))
    monkeypatch.setattr("tracer.practice.debrief_words.debrief_lines", lambda result: ["how it went"])
    monkeypatch.setattr("tracer.practice.learner.counted", lambda exercise, result: ["1 of 1 found"])
    assert _end(cast("Any", Exercise())) == (0 if found else 1)
    assert capsys.readouterr().out.splitlines()[-2:] == ["how it went", "1 of 1 found"]


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """With what exercises are begun; each is over at once."""
    asked: list[tuple[Any, ...]] = []
    monkeypatch.setattr("tracer.practice.exercise.Exercise.begin", lambda *given: noting(asked, given, Exercise()))
    monkeypatch.setattr("tracer.practice.exercise.free_path", lambda folder: Path("practice-7.yaml"))
    monkeypatch.setattr(practice_commands, "_end", lambda exercise: 1)
    monkeypatch.setattr(practice_commands, "_greet", lambda exercise: None)
    monkeypatch.setattr("secrets.randbelow", lambda most: most - 1)
    return asked


def practised(*args: object) -> int:
    with pytest.raises(SystemExit) as left:
        main(["practise", str(MODELS / "rear_end.yaml"), *map(str, args)])
    return int(left.value.code or 0)


@pytest.mark.parametrize(("options", "given"), [
    ((), ("practice-7.yaml", 1, 999_999, "")), (("--level", 7), ("practice-7.yaml", 7, 999_999, "")),
    (("--level", 1, "--seed", 0, "-o", "mine.yaml"), ("mine.yaml", 1, 0, "")),
    (("--seed", 5, "--as", "Ann"), ("practice-7.yaml", 1, 5, "Ann")),
    (("--level", 0), None), (("--level", 8), None), (("--seed", -1), None), (("--progress",), None),
])
def test_an_exercise_is_begun_as_its_options_say(
    options: tuple[object, ...], given: tuple[Any, ...] | None, begun: list[tuple[Any, ...]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(practice_commands, "_ask", lambda exercise: None)
    assert practised(*options) == (2 if given is None else 0)
    assert [(str(a), level, seed, name) for a, _, level, seed, name in begun] == ([given] if given else [])


@pytest.mark.parametrize(("typed", "status", "says"), [
    (["volts S1", None], 0, "Stopped;"), ([KeyboardInterrupt], 130, "Stopped;"), (["give up"], 1, ""),
])
def test_an_exercise_goes_on_until_it_is_over_or_left(
    typed: list[Any], status: int, says: str, begun: list[tuple[Any, ...]], monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    done: list[str] = []

    def ask(exercise: Any) -> str | None:
        line = typed.pop(0)
        if line is KeyboardInterrupt:
            raise KeyboardInterrupt
        return cast("str | None", line)

    def do(exercise: Any, line: str) -> None:
        done.append(line)
        exercise.over = line == "give up"

    monkeypatch.setattr(practice_commands, "_ask", ask)
    monkeypatch.setattr(practice_commands, "_do", do)
    expected = [line for line in typed if isinstance(line, str)]
    assert practised() == status and done == expected and not typed
    assert ("To go on: tracer practise lesson.yaml" in capsys.readouterr().out) == bool(says)


def test_other_programs_are_told_where_it_stands_and_nobody_is_asked(
    begun: list[tuple[Any, ...]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert practised("--json") == 0 and json.loads(capsys.readouterr().out)["level"] == 3
