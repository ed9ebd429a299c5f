"""What `tracer new` asks in the terminal: each question until it is understood, a heading for each part."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from tracer.guide.new_vehicle import StoppedError, ask_for_ends, ask_for_vehicle
from tracer.job.new_harness import END_KINDS, QUESTIONS, VagueEnd


def typing(*lines: str, then: str = "") -> tuple[Callable[[str], str], list[str]]:
    """What asks and gets these lines, then always the last; and all that was shown, prompts as well."""
    left, seen = list(lines), list[str]()

    def ask(prompt: str) -> str:
        seen.append(prompt)
        return left.pop(0) if left else then

    return ask, seen


def test_each_part_has_its_heading_once_and_again_where_somebody_goes_back() -> None:
    first = QUESTIONS[0]
    ask, seen = typing()
    answers, count = ask_for_vehicle(ask, seen.append, 80)
    headings = [line for line in seen if line.startswith("— ")]
    assert count == len([line for line in seen if line.endswith("] > ")]) and not answers.said
    assert headings == list(dict.fromkeys(f"— {q.part} —" for q in QUESTIONS if f"— {q.part} —" in headings))
    assert headings[0] == f"— {first.part} —" and len(headings) > 3
    ask, seen = typing("=", "b", then="d")
    with pytest.raises(StoppedError, match="nothing was written"):
        ask_for_vehicle(ask, seen.append, 80)
    assert seen.count(f"— {first.part} —") == 2


def test_an_answer_that_is_none_is_told_so_and_asked_again() -> None:
    question = next(q for q in QUESTIONS if q.choices and not q.when)
    ask, seen = typing(*["" for _ in QUESTIONS[:QUESTIONS.index(question)]], "no such thing", then="d")
    with pytest.raises(StoppedError):
        ask_for_vehicle(ask, seen.append, 80)
    wrong = next(n for n, line in enumerate(seen) if line.startswith("? "))
    assert "no such thing" in " ".join(seen[wrong:]) and all(len(line) <= 80 for line in seen)
    assert seen[-1] == seen[wrong - 1]  # the same question


def ends(*names: str, guess: str = "") -> Sequence[VagueEnd]:
    return [VagueEnd(n, guess, "its name" if guess else "", 1, k, 1) for k, n in enumerate(names, 2)]


@pytest.mark.parametrize(("typed", "kind"), [
    ("fl", "flasher unit"), ("bu", "bullets"), ("earth", "earth"), ("1", next(iter(END_KINDS))),
    (str(len(END_KINDS)), list(END_KINDS)[-1]), ("LAMP", "lamp"), ("", "splice"),
])
def test_what_an_end_is_is_told_by_its_number_a_word_or_its_beginning(typed: str, kind: str) -> None:
    ask, seen = typing(typed)
    assert ask_for_ends(ends("here", guess="splice"), {"here": "splice"}, {}, ask, seen.append) == {"here": kind}
    assert seen[-1] == "here (line 2, by its name) [splice] > "


@pytest.mark.parametrize("typed", ["l", "0", str(len(END_KINDS) + 1), "wheel", ""])
def test_what_is_no_end_or_may_be_two_is_asked_again(typed: str) -> None:
    ask, seen = typing(typed, "lamp")
    assert ask_for_ends(ends("here"), {"here": ""}, {}, ask, seen.append) == {"here": "lamp"}
    question = "here (line 2) [?] > "
    assert seen[2:] == [question, "? a number or one of " + ", ".join(END_KINDS), question]


def test_each_kind_of_end_is_shown_with_its_own_number() -> None:
    """Above the first question, with how many ends are asked for; not where all were said."""
    ask, seen = typing(then="lamp")
    ask_for_ends(ends("here", "there", "said"), {"here": "", "there": "", "said": "lamp"}, {"said": "lamp"}, ask,
                 seen.append)
    assert seen[0].startswith("2 ends of the list have no terminal.")
    assert seen[1].split("   ") == [f"  1 {next(iter(END_KINDS))}", *(
        f"{n} {k}" for n, k in enumerate(END_KINDS, 1) if n > 1)]
    ask, seen = typing(then="lamp")
    assert ask_for_ends(ends("said"), {"said": "lamp"}, {"said": "lamp"}, ask, seen.append) == {"said": "lamp"}
    assert not seen
