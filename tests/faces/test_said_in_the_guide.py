"""What the guide says at its beginning, at its end and after each entry: every line where it has something to say,
and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.small_vehicle import TEXT
from tracer import guide
from tracer.guide import conversation, sitting
from tracer.guide.conversation import Guide
from tracer.guide.new_vehicle import HELP, StoppedError, ask_for_vehicle
from tracer.guide.sitting import Sitting
from tracer.guide.start_and_end import close, greet
from tracer.guide.talk import WORKING, Talk
from tracer.guide.told import other, seen_with
from tracer.job.job import Job
from tracer.job.new_harness import QUESTIONS
from tracer.job.typed import state_words
from tracer.job.values import Limits
from tracer.observation.test_kinds import INSTRUMENTS
from tracer.present.conversation.screens import Closed, Prove, Said


class Sat(Sitting):
    """One sitting, in which these lines are typed; what is recorded is noted, and not written."""

    def __init__(self, job: Any, *typed: str, width: int = 80) -> None:
        self.left: Iterator[str] = iter(typed)
        self.lines: list[str] = []
        super().__init__(job, Talk(self._typed, self.lines.append, width, print, print))

    def _typed(self, prompt: str) -> str:
        self.lines.append(prompt)
        return next(self.left)

    @property
    def said(self) -> str:
        return " ".join(" ".join(self.lines).split())


def job_with(**more: Any) -> Any:
    usual = {"vehicle": "", "harness": SimpleNamespace(title="Two lamps"), "complaint": "", "harness_changed": False,
             "other_names": False, "learned": SimpleNamespace(note=""), "earlier_jobs": [], "differences": [],
             "entries": 0, "path": Path("job.yaml")}
    return SimpleNamespace(**usual | more)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "small.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "small.yaml")


# --- the beginning and the end


EARLIER = SimpleNamespace(started="2026-03-04T09:00", repairs=("new fuse F1", "new lamp: tail"))
IN_VAIN = SimpleNamespace(started="2026-04-05T09:00", repairs=())


@pytest.mark.parametrize(("known", "says"), [
    ({"complaint": "no light"}, "Complaint: no light"),
    ({"harness_changed": True}, "Note: the harness file has changed"),
    ({"other_names": True}, "Note: the job file has another name too"),
    ({"learned": SimpleNamespace(note="rates are learned")}, "Note: rates are learned"),
    ({"earlier_jobs": [EARLIER]}, "Earlier job on this vehicle, 2026-03-04: new fuse F1; new lamp: tail At every"),
    ({"earlier_jobs": [IN_VAIN]}, "Earlier job on this vehicle, 2026-04-05, nothing repaired At every"),
    ({"differences": ["an LED", "a wire"]}, "Differs from the harness file: an LED; a wire"),
    ({"entries": 3}, "The job goes on where it stopped."),
])
def test_what_is_known_of_a_vehicle_is_said_first_and_nothing_else(known: dict[str, Any], says: str) -> None:
    knowing, plain = Sat(job_with(**known)), Sat(job_with())
    greet(knowing)
    greet(plain)
    assert says in knowing.said and says.split(":")[0] not in plain.said
    assert plain.said.startswith("Vehicle without a name (Two lamps) At every question: ")
    named = Sat(job_with(vehicle="AB 12"))
    greet(named)
    assert named.said.startswith("AB 12 (Two lamps)")


def test_what_no_check_would_have_shown_is_said_at_the_end_where_anything_is_left(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracer.guide.start_and_end.overview", lambda job, width: [])
    for risk, told in ((0.02, True), (0.0, False)):
        sat = Sat(job_with())
        close(sat, Closed("new fuse F1", risk))
        assert ("Chance of a further fault" in sat.said) == ("shown: 2 %." in sat.said) == told
        assert "CLOSED: repaired and proven (new fuse F1)." in sat.said and "tracer report job.yaml" in sat.said


@pytest.mark.parametrize("remark", ["", "that was said before"])
def test_a_remark_is_said_where_there_is_one(remark: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sitting, "shares", lambda job: {})
    monkeypatch.setattr(sitting, "say_event", lambda job, event: " 4 tail dark ")
    monkeypatch.setattr(sitting, "change_lines", lambda before, after, width: ["nothing changed"])
    monkeypatch.setattr(sitting, "answer", lambda job, reply: Said(4, "tail dark", remark))
    sat = Sat(job_with(events=lambda: [SimpleNamespace(number=4)]))
    sat.record(cast("Any", None))
    assert sat.lines[-1] == "nothing changed" and "Recorded: 4 tail dark" in sat.lines
    assert [line for line in sat.lines if "Note" in line] == ([f"Note: {remark}"] if remark else [])


# --- checks that were put off, and what is at hand


@pytest.mark.parametrize(("typed", "stops"), [("1", False), ("", False), ("2", True)])
def test_checks_put_off_are_made_now_or_left(
    typed: str, stops: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_off = Prove(cast("Any", None), 3, 1, "new fuse F1", "", (), 2, 0.1, 0.01, put_off=True)
    screens, lines = iter([put_off, Closed("new fuse F1", 0.0)]), list[str]()
    play = Guide(job, lambda prompt: typed, lines.append, 80)
    play.sitting.passed = {1, 2}
    monkeypatch.setattr(conversation, "screen_of", lambda *_: next(screens))
    assert play.run() == 0
    assert play.sitting.passed == ({1, 2} if stops else set())
    assert any("Stopped." in line for line in lines) == stops
    assert any("CLOSED" in line for line in lines) == (not stops)


ALL = frozenset(INSTRUMENTS[1:])


@pytest.mark.parametrize(("typed", "alone", "engine", "without"), [
    ("", False, False, frozenset()), ("all as usual", False, False, frozenset()), ("1", True, False, frozenset()),
    ("2", False, True, frozenset()), ("3", False, False, {INSTRUMENTS[1]}),
    (f"1 2 {len(INSTRUMENTS) + 1}", True, True, {INSTRUMENTS[-1]}),
    (" ".join(map(str, range(1, len(INSTRUMENTS) + 2))), True, True, ALL),
])
def test_what_is_at_hand_is_what_was_said(
    typed: str, alone: bool, engine: bool, without: frozenset[str], job: Job
) -> None:
    """Each number stands for the line that it was shown with; what was said before counts no more."""
    sat = Sat(job, "5", typed)
    sat.limits = Limits(None, ALL, frozenset(), True, True)
    other(sat)
    assert sat.limits == Limits(None, frozenset(without), frozenset(), alone, engine)
    numbered = [line for line in sat.lines if line.startswith(f"  {INSTRUMENTS.index(INSTRUMENTS[1]) + 2} ")]
    assert numbered[-1:] == [f"  3 no {INSTRUMENTS[1]}"]


@pytest.mark.parametrize(("typed", "recorded"), [
    ("", "plate normal when lights on"), ("1", "plate normal when lights on"), ("3", ""),
    ("2", "plate dark when lights on"),
])
def test_enter_says_that_the_lamps_seen_along_are_as_they_should(
    typed: str, recorded: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[Any] = []
    monkeypatch.setattr(Sat, "record", lambda self, reply: told.append(reply.text))
    state = job.harness.state({"ignition": "on", "lights": "on"})
    seen_with(Sat(job, typed, "plate", "1", "", ""), state, ["plate"])
    assert told == ([recorded.replace("when lights on", f"when {state_words(state)}")] if recorded else [])


@pytest.mark.parametrize("typed", ["12", "3.4", "0.5", ".5", "7", "3.4 V", "3,4V", "-0.2"])
def test_a_number_alone_is_in_the_unit_that_was_asked_for(
    typed: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody types “V” with a probe in either hand; who does is understood all the same."""
    told: list[Any] = []
    monkeypatch.setattr(Sat, "record", lambda self, reply: told.append((reply.test, reply.value)))
    sat, words = Sat(job, "3", "volts at tail.feed when lights on", typed), "volts at tail.feed when lights on"
    other(sat)
    assert "Reading in V? > " in sat.lines
    assert told == [(words, typed if typed.endswith("V") else f"{typed} V")]


# --- at the terminal


@pytest.mark.parametrize(("shown", "forgotten"), [
    ((), False), (("a line",), False), ((WORKING,), True), (("a line", WORKING, "another"), True),
])
def test_what_was_typed_while_it_worked_is_no_answer(
    shown: tuple[str, ...], forgotten: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only since it said that it works: whoever types ahead otherwise is not robbed of it, nor at the next one."""
    dropped: list[str] = []

    def play(job: Job, ask: Callable[[str], str], say: Callable[[str], None], width: int) -> int:
        for line in shown:
            say(line)
        ask("first")
        assert dropped == ["dropped"] * forgotten
        ask("second")
        return 7

    monkeypatch.setattr(guide, "run_guide", play)
    monkeypatch.setattr(guide, "forget_typed", lambda: dropped.append("dropped"))
    monkeypatch.setattr(guide, "wait_for_line", lambda: None)
    monkeypatch.setattr("builtins.input", lambda: "typed")
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True))
    assert guide.terminal_guide(cast("Any", None)) == 7 and dropped == ["dropped"] * forgotten


# --- the questions of a new vehicle


def asked(width: int) -> list[list[str]]:
    """What is shown before each prompt, where every answer is the usual one."""
    blocks: list[list[str]] = [[]]

    def ask(prompt: str) -> str:
        blocks.append([])
        return ""

    ask_for_vehicle(ask, lambda line: blocks[-1].append(line), width)
    return blocks


def test_choices_stand_on_one_line_where_it_fits_the_screen() -> None:
    """And where none of them needs an explanation; each on a line of its own otherwise."""
    wide = [next((x for x in block if re.match(r"  1 \S.*   2 \S", x)), "") for block in asked(1000)]
    lengths = {len(line) for line in wide if line}
    assert len(lengths) > 2
    for width in sorted({n + more for n in lengths for more in (-1, 0, 1)} & {*range(12, 200)}):
        narrow = asked(width)
        assert len(narrow) == len(wide) and max(len(x) for block in narrow for x in block) <= width
        for line, block in zip(wide, narrow, strict=True):
            assert not line or (line in block) == (len(line) <= width)


def test_a_choice_is_told_with_what_it_means_where_that_is_not_plain() -> None:
    """Each on a line of its own below the question; one that is plain stands without."""
    lines = [line for block in asked(1000) for line in block]
    texts = [q.text for q in QUESTIONS]  # some are asked in one of two forms
    explained = [q for q in QUESTIONS if any(q.choices.values()) and q.text in lines and texts.count(q.text) == 1]
    assert len(explained) > 2
    for q in explained:
        at, told = lines.index(q.text) + 1, [c + (f": {means}" if means else "") for c, means in q.choices.items()]
        below = lines[at:at + len(told)]
        assert all(sum(bool(re.fullmatch(rf"  (\d+ )?{re.escape(x)}", line)) for line in below) == 1 for x in told)


def test_help_keeps_what_stands_in_below_what_it_belongs_to() -> None:
    lines, typed = list[str](), iter(["h", "d"])
    with pytest.raises(StoppedError):
        ask_for_vehicle(lambda prompt: next(typed), lines.append, 1000)
    assert [line for line in lines if line.strip() in {x.strip() for x in HELP}] == [
        ("  " if x.startswith("  ") else "") + x.strip() for x in HELP]
