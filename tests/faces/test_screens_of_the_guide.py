"""What each answer on each screen of the guide does: what is replied to the job, and what is left as it was."""

from __future__ import annotations

from itertools import product
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.noting import noting
from tests.small_vehicle import TEXT
from tracer.errors import TracerError
from tracer.guide import conversation, told
from tracer.guide.conversation import Guide
from tracer.guide.start_and_end import ask_story
from tracer.guide.talk import KEYS
from tracer.job.job import Job
from tracer.job.typed import LOOKS, parse_test
from tracer.job.values import WORK, Story
from tracer.present.conversation.screens import (
    About,
    Checked,
    Closed,
    GiveUp,
    Mend,
    Mended,
    NotDone,
    Prove,
    Read,
    Screen,
    Seen,
    Told,
)
from tracer.present.job_words import why_lines

DONE = Closed("new fuse F1", 0.0)
LOOK, VOLTS = "look tail when ignition on, lights on", "volts at tail.feed when ignition on, lights on"


class Play(Guide):
    """A sitting in which these screens come one after the other; replies are noted, and not recorded."""

    def __init__(self, job: Job, monkeypatch: pytest.MonkeyPatch, screens: list[Screen], *typed: str) -> None:
        self.lines, self.replies, self.left = list[str](), list[Any](), [*typed]
        super().__init__(job, self._typed, self.lines.append, 80)
        left, self.proposed = [*screens, DONE], proposed("test")
        monkeypatch.setattr(conversation, "screen_of", lambda *_: left.pop(0) if len(left) > 1 else left[0])
        monkeypatch.setattr(conversation, "overview", lambda *_: [])
        monkeypatch.setattr("tracer.guide.start_and_end.overview", lambda *_: [])
        monkeypatch.setattr(type(self.sitting), "current", property(lambda _: self.proposed))
        monkeypatch.setattr(self.sitting, "reply", self.replies.append)
        monkeypatch.setattr(self.sitting, "record", self.replies.append)

    def _typed(self, prompt: str) -> str:
        self.lines.append(prompt)
        if not self.left:
            raise EOFError
        return self.left.pop(0)

    @property
    def said(self) -> str:
        return " ".join(" ".join(self.lines).split())


def proposed(kind: str, **more: Any) -> Any:
    usual = {"kind": kind, "cost": 5.0, "says": "a fault that the file has not", "cautions": (), "repair_steps": (),
             "suspect": None, "cautions_of_test": (), "expectations": (), "also": (), "test": None}
    return SimpleNamespace(**usual | more)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "small.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "small.yaml")


# --- a repair


MEND = Mend("new fuse F1", "it fits", "fuse F1 is blown", ("the fuse box",), ("clean the fuse clips",), (), (), 7.4)


@pytest.mark.parametrize(("typed", "replies", "status"), [
    (("1", "", ""), [Mended("new fuse F1")], 0),
    (("1", "fuse 10 A, grease ,, ", "7,5"), [Mended("new fuse F1", ("fuse 10 A", "grease"), 7.5)], 0),
    (("2", "new lamp", "", "3 min"), [Mended("new lamp", (), 3.0)], 0),
    (("2", "b"), [], 0), (("3",), [], 0), (("s",), [], 0), (("4", "0", "d"), [], 0),
])
def test_a_repair_is_the_one_on_the_screen_or_what_is_told_or_not_yet(
    typed: tuple[str, ...], replies: list[Any], status: int, job: Job, monkeypatch: pytest.MonkeyPatch,
) -> None:
    play = Play(job, monkeypatch, [MEND], *typed)
    play.proposed = proposed("repair", suspect=SimpleNamespace())
    monkeypatch.setattr(type(job), "proof", SimpleNamespace(checks=(1, 2), risk_before=0.2, risk_after=0.03))
    play.sitting.passed = {3}
    assert play.run() == status and play.replies == replies and not play.left
    assert ("Stopped." in play.said) == (typed[-1] in ("3", "d"))
    assert play.sitting.passed == (set() if replies else {3})  # the checks of another repair are other ones
    assert ("Now 2 proof checks: chance of a further fault 20 % before, 3 %" in play.said) == bool(replies)
    assert ("Nothing recorded." in play.said) == (typed[-1] == "b")
    assert ("No test is worth more" in play.said) == (typed == ("s",))
    assert ("What was repaired?" in play.said) == (typed[0] == "2")


@pytest.mark.parametrize("others", [(), ("clean the fuse clips", "new wire")])
@pytest.mark.parametrize("known", [True, False])
def test_why_a_repair_is_told_where_a_suspect_is_behind_it(
    others: tuple[str, ...], known: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With its fault and place; and that no test parts it from others where there are any."""
    screen = Mend("new fuse F1", "it fits", "fuse F1 is blown", ("the fuse box", "C1"), others, (), (), 7.4)
    play = Play(job, monkeypatch, [screen], "3")
    steps = (SimpleNamespace(text="Everything off."), SimpleNamespace(text="New fuse F1."))
    play.proposed = proposed("repair", suspect=SimpleNamespace() if known else None, repair_steps=steps)
    play.run()
    assert "REPAIR, about 7 min: new fuse F1" in play.said and "1. Everything off. 2. New fuse F1." in play.said
    assert ("it fits. " in play.said) == known
    assert ("Fault: fuse F1 is blown. Where: the fuse box, C1." in play.said) == known
    assert ("Or: clean the fuse clips or new wire. No electrical test" in play.said) == (known and bool(others))
    assert ("No electrical test" in play.said) == (known and bool(others))


# --- nothing more to be tested


@pytest.mark.parametrize(("typed", "status", "replies"), [
    (("3",), 1, []), (("2", "found it loose", "", ""), 0, [Mended("found it loose")]), (("2", "b"), 0, []),
    (("1", "4", "b"), 0, []), (("1", "2", "tail dark when lights on"), 0, [Told("tail dark when lights on")]),
    (("d",), 0, []),
])
def test_where_no_test_is_left_something_is_told_or_it_ends_with_status_one(
    typed: tuple[str, ...], status: int, replies: list[Any], job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = Play(job, monkeypatch, [GiveUp("nothing fits")], *typed)
    play.proposed = proposed("give up")
    monkeypatch.setattr(type(job), "proof", SimpleNamespace(checks=(1,), risk_before=0.2, risk_after=0.03))
    assert play.run() == status and play.replies == replies and not play.left
    assert "NO FURTHER TEST: a fault that the file has not." in play.said
    assert ("What is it?" in play.said) == (typed[0] == "1")
    assert ("What was repaired?" in play.said) == (typed[0] == "2")
    assert ("Nothing recorded." in play.said) == (typed[-1] == "b")


# --- a test


def showing(job: Job, monkeypatch: pytest.MonkeyPatch, words: str, *typed: str, **more: Any) -> Play:
    """A sitting in which one test is proposed."""
    play = Play(job, monkeypatch, [SimpleNamespace()], *typed)  # type: ignore[list-item]
    play.proposed = proposed(more.pop("kind", "test"), test=parse_test(words, job.harness), **more)
    monkeypatch.setattr(conversation, "test_steps", lambda *_: ["Set all.", "Read it."])
    monkeypatch.setattr(conversation, "test_key", lambda _: "T-1")
    return play


@pytest.mark.parametrize(("words", "typed", "value"), [
    (VOLTS, "12.1", "12.1 V"), (VOLTS, "12,1 V", "12,1 V"), (VOLTS, "-3", "-3 V"), (VOLTS, "0.2v", "0.2v"),
    ("ohms tail.feed to body", "3", "3 Ω"), ("ohms tail.feed to body", "open", "open"),
    (LOOK, "1", LOOKS[0]), (LOOK, str(len(LOOKS)), LOOKS[-1]), (LOOK, "4 7", f"{LOOKS[3]} {LOOKS[6]}"),
    (LOOK, "dim", "dim"), ("inspect tail.feed to S1", "2", "nothing"), ("inspect tail.feed to S1", "1", "found"),
])
def test_what_a_test_showed_is_replied_in_its_unit_or_in_words(
    words: str, typed: str, value: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = showing(job, monkeypatch, words, typed)
    assert play.run() == 0 and play.replies == [Read("T-1", value)]
    assert "1. Set all. 2. Read it." in play.said and "Look from there" not in play.said
    assert (f" 1 {LOOKS[0]} 2 {LOOKS[1]} 3" in play.said) == (words == LOOK)
    assert ("1 found 2 nothing" in play.said) == words.startswith("inspect")


@pytest.mark.parametrize(("words", "typed"), [
    (VOLTS, "much"), (VOLTS, "12 ohm"), (LOOK, "0"), (LOOK, str(len(LOOKS) + 1)), (LOOK, "green"), (VOLTS, ""),
])
def test_what_no_such_test_can_show_is_asked_again(
    words: str, typed: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = showing(job, monkeypatch, words, typed, "s")
    assert play.run() == 0 and play.replies == [NotDone("T-1")] and "Noted as not done." in play.said
    assert any(line.startswith("? ") for line in play.lines)


@pytest.mark.parametrize(("kind", "cost", "says"), [
    ("repair", 0.4, "CONFIRM before anything is taken apart: a fault"),
    ("test", 0.4, "NEXT TEST, less than a minute"),
    ("test", 0.99, "NEXT TEST, less than a minute"), ("test", 1.0, "NEXT TEST, 1 min"),
    ("test", 6.6, "NEXT TEST, 7 min"),
])
def test_a_test_is_told_with_its_minutes_or_as_what_confirms_a_repair(
    kind: str, cost: float, says: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = showing(job, monkeypatch, VOLTS, "12", kind=kind, cost=cost)
    play.run()
    assert says in play.said and sum(x in play.said for x in ("CONFIRM", "NEXT TEST")) == 1


@pytest.mark.parametrize(("typed", "replies"), [
    (("1", "1"), [Read("T-1", "dark"), Told("plate normal when ignition on, lights on")]),
    (("1", "3"), [Read("T-1", "dark")]), (("1", "2", "b"), [Read("T-1", "dark")]), (("s",), [NotDone("T-1")]),
])
def test_lamps_seen_along_are_asked_for_once_the_lamp_itself_is_told(
    typed: tuple[str, ...], replies: list[Any], job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = showing(job, monkeypatch, LOOK, *typed, also=("plate",))
    monkeypatch.setattr(told, "state_words", lambda _: "ignition on, lights on")
    assert play.run() == 0 and play.replies == replies and not play.left
    assert "Look from there also at: plate." in play.said


@pytest.mark.parametrize(("words", "dark"), [
    (LOOK, False), ("look tail when everything off", True), (VOLTS, False), ("inspect tail.feed to S1", False),
])
def test_normal_is_called_lit_only_of_a_lamp_that_should_be_dark(
    words: str, dark: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a lamp should be dark “normal” could be taken for that; every other look stays in its word."""
    test = parse_test(words, job.harness)
    called = Play(job, monkeypatch, [])._called(test, LOOKS)
    assert called == ["lit normal" if x == "normal" and dark else x for x in LOOKS]


# --- a check of the repair


def check(measured: bool = False) -> Any:
    again = SimpleNamespace(test=SimpleNamespace(row=SimpleNamespace(unit="V", question="Reading in V?")))
    return SimpleNamespace(number=2, state=None, again=again if measured else None)


def proving(job: Job, monkeypatch: pytest.MonkeyPatch, measured: bool, *typed: str) -> Play:
    screen = Prove(check(measured), 3, 9, "new fuse F1", "", (), 1, 0.1, 0.01, measure="volts" * measured)
    monkeypatch.setattr(conversation, "check_lines", lambda *_: ["PROOF CHECK 2 of 3"])
    monkeypatch.setattr(conversation, "compose", lambda talk, *_: talk.text("Seen?"))
    return Play(job, monkeypatch, [screen], *typed)


@pytest.mark.parametrize(("measured", "typed", "result", "put_off"), [
    (False, ("1",), "ok", False), (False, ("2", "tail dim"), "tail dim", False), (False, ("2", "b"), None, False),
    (False, ("s",), None, True), (False, ("0", "3", "1"), "ok", False), (True, ("12",), "12 V", False),
    (True, ("11.9 V",), "11.9 V", False), (True, ("1.5",), "1.5 V", False), (True, ("open",), "open", False),
    (True, ("s",), None, True),
])
def test_a_check_is_right_or_what_is_seen_instead_or_put_off(
    measured: bool, typed: tuple[str, ...], result: str | None, put_off: bool, job: Job,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    play = proving(job, monkeypatch, measured, *typed)
    assert play.run() == 0 and not play.left
    assert play.replies == ([] if result is None else [Checked(2, 9, result)])
    assert play.sitting.passed == ({2} if put_off else set()) and ("Left open for now." in play.said) == put_off
    assert ("The job is open again" in play.said) == (typed == ("2", "tail dim"))
    assert ("Nothing recorded." in play.said) == (typed == ("2", "b"))


# --- what was seen first, and at any point


@pytest.mark.parametrize(("typed", "replies"), [
    (("1", "none", "tail", "1", "", "1"), [Told("tail dark when everything off")]),
    (("", "none", "tail", "1", "no more", "2"), [Told("tail dark, everything else normal when everything off")]),
    (("2", "tail dark when lights on"), [Told("tail dark when lights on")]), (("1", "b"), []), (("2", "b"), []),
])
def test_what_was_seen_is_put_together_or_told_in_own_words(
    typed: tuple[str, ...], replies: list[Any], job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracer.guide.seen.state_words", lambda _: "everything off")
    play = Play(job, monkeypatch, [Seen(asks=False)], *typed)
    assert play.run() == 0 and play.replies == replies and not play.left
    assert ("Nothing recorded." in play.said) == (not replies) and "crank" not in play.said


@pytest.mark.parametrize(("asks", "asked", "told"), [
    (True, False, True), (True, True, False), (False, False, False), (False, True, False),
])
def test_how_it_runs_is_asked_once_and_only_where_it_is_not_known(
    asks: bool, asked: bool, told: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = Play(job, monkeypatch, [Seen(asks=asks)], *["", ""][:2 * told], "d")
    play.sitting.asked = asked
    assert play.run() == 0 and ("Does it crank" in play.said) == told and not play.left


@pytest.mark.parametrize(("typed", "more", "replies"), [
    (("1",), False, []), (("",), False, []), (("2", "b", "1"), False, []),
    (("2", "none", "tail", "1", "", "", "1"), False, [Told("tail dark when everything off")]),
])
def test_before_the_first_test_it_is_asked_for_more_that_was_seen_until_there_is_none(
    typed: tuple[str, ...], more: bool, replies: list[Any], job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracer.guide.seen.state_words", lambda _: "everything off")
    play = Play(job, monkeypatch, [], *typed)
    play.sitting.more_seen = True
    assert play.run() == 0 and play.replies == replies and not play.left and play.sitting.more_seen == more


def test_letters_at_a_question_do_what_they_are_told_to(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """s where nothing can be skipped, o and then none of it, b where nothing is there to be taken back."""
    play = Play(job, monkeypatch, [GiveUp("")] * 3, "s", "o", "b", "b")
    play.proposed = proposed("give up")
    assert play.run() == 0 and not play.replies and not play.left and KEYS in play.said
    at = [play.said.index(x) for x in ("There is nothing to skip here", "Nothing recorded.", "nothing to take back")]
    assert at == sorted(at)


@pytest.mark.parametrize("rank", range(4))
def test_the_reasons_are_those_of_the_suspect_with_that_number(
    rank: int, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And no other number has any."""
    job.symptom("tail dark when ignition on, lights on")
    suspects = job.suspects()[:2]
    monkeypatch.setattr(job, "suspects", lambda: suspects)
    play = Play(job, monkeypatch, [])
    monkeypatch.setattr(play, "proposed", None)
    play._why(rank)
    assert play.lines == (why_lines(job, rank, None, 80) if rank in (1, 2) else ["There are 2 suspects."])


@pytest.mark.parametrize(("ending", "status", "says"), [
    (KeyboardInterrupt, 130, "Stopped."), (EOFError, 0, "Stopped."), (OSError, None, ""),
    (lambda: TracerError("the job file is gone"), 1, "Cannot go on: the job file is gone Stopped."),
])
def test_however_it_ends_it_says_how_to_go_on(
    ending: Any, status: int | None, says: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = Play(job, monkeypatch, [Seen()])

    def ended(prompt: str) -> str:
        raise ending()

    play.talk._ask = ended
    if status is None:
        with pytest.raises(ending):
            play.run()
        return
    assert play.run() == status and says in play.said and f"tracer guide {job.path}" in play.said


@pytest.mark.parametrize("work", ["", *map(str, range(1, len(WORK) + 2))])
@pytest.mark.parametrize(("runs", "known"), [("1", True), ("2", False), ("3", None), ("", None)])
def test_the_story_is_what_was_answered_and_nothing_where_nothing_is_known(
    runs: str, known: bool | None, work: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = Play(job, monkeypatch, [], runs, work)
    ask_story(play.sitting)
    done = () if work in ("", str(len(WORK) + 1)) else (WORK[int(work) - 1],)
    assert play.replies == ([About(Story(known, work=done))] if done or known is not None else [])
    assert ("Recorded: " in play.said) == bool(play.replies) and play.sitting.asked


@pytest.mark.parametrize(("kinds", "asked"), [
    (("trailer",), False), (("caravan",), False), (("trailer", "caravan"), False), ((), True), (("car",), True),
    (("car", "trailer"), True),
])
def test_what_is_towed_is_not_asked_whether_it_cranks(
    kinds: tuple[str, ...], asked: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    play = Play(job, monkeypatch, [], *["1"][:asked], "")
    play.sitting.job = cast("Job", SimpleNamespace(harness=SimpleNamespace(vehicle=kinds)))
    ask_story(play.sitting)
    assert play.replies == [About(Story(True))][:asked] and ("Does it crank" in play.said) == asked


@pytest.mark.parametrize(("seen", "repaired", "closed", "proves"), [*product((True, False), repeat=4)])
def test_a_step_is_worked_out_where_something_is_told_and_neither_proven_nor_closed(
    seen: bool, repaired: bool, closed: bool, proves: bool, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And it is asked for more that was seen only as long as no repair is proven."""
    play, given, asked = Play(job, monkeypatch, []), list[Any](), list[bool]()
    play.job = cast("Job", SimpleNamespace(evidence=[1] * seen, repairs=[1] * repaired, closed=closed))
    monkeypatch.setattr(conversation, "proving", lambda _: proves)
    monkeypatch.setattr(conversation, "screen_of", lambda job, limits, plan, passed: noting(given, plan, DONE))
    monkeypatch.setattr(play.sitting, "plan", lambda: "step")
    monkeypatch.setattr(play, "_more_symptoms", lambda: asked.append(True))
    assert play._turn() == DONE
    assert given == ["step" if (seen or repaired) and not closed and not proves else None] and not asked
    play.sitting.more_seen = True
    assert play._turn() == (DONE if proves else None) and asked == [True] * (not proves)
