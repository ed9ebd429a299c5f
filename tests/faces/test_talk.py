"""One question of the guide by itself: numbers, defaults, letters, and ready answers after one not understood."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tracer.errors import SymptomError, UnknownNameError
from tracer.guide.talk import HELP, Back, Other, Skip, Stop, Talk, look_words, numbers


class Person:
    """Types these lines, and sees what is shown."""

    def __init__(self, *lines: str) -> None:
        self.lines: Iterator[str] = iter(lines)
        self.seen: list[str] = []
        self.called: list[str] = []
        self.talk = Talk(self.ask, self.seen.append, 80, lambda n: self.called.append(f"why {n}"),
                         lambda: self.called.append("estimate"))

    def ask(self, prompt: str) -> str:
        self.seen.append(prompt)
        return next(self.lines)


def known(typed: str) -> str:
    """Only "yes" and "no" are understood."""
    if typed not in ("yes", "no"):
        raise SymptomError("not clear", "say which", ("yes", "no"))
    return typed


@pytest.mark.parametrize(("number", "answer"), [("1", "yes"), ("2", "no")])
def test_a_ready_answer_is_taken_by_its_number(number: str, answer: str) -> None:
    person = Person("perhaps", number)
    assert person.talk.question("Is it?", known) == answer
    assert person.seen[1:] == ["? not clear (say which)", "  1 yes", "  2 no", "Is it? > "]


@pytest.mark.parametrize("number", ["0", "3"])
def test_a_number_that_was_not_offered_is_an_answer_like_any(number: str) -> None:
    person = Person("perhaps", number, "yes")
    assert person.talk.question("Is it?", known) == "yes" and person.seen.count("? not clear (say which)") == 2


@pytest.mark.parametrize(("letter", "key"), [("b", Back), ("S", Skip), ("o", Other), ("d", Stop), ("quit", Stop)])
def test_letters_leave_the_question(letter: str, key: type[Exception]) -> None:
    with pytest.raises(key):
        Person(letter).talk.question("Is it?", known)


def test_skip_is_the_default_where_there_is_one_and_so_is_enter() -> None:
    for typed in ("s", "", "  "):
        assert Person(typed).talk.question("Is it?", known, "no") == "no"
    person = Person("", "yes")
    assert person.talk.question("Is it?", known) == "yes" and "? Type an answer; ? helps." in person.seen


def test_help_reasons_and_estimate_come_back_to_the_question_with_its_choices() -> None:
    person = Person("?", "w", "w 2", "w3", "e", "2")
    assert person.talk.choose("Which?", ["one", "two"], 1) == 2
    assert person.called == ["why 1", "why 2", "why 3", "estimate"]
    assert person.seen.count("  1 one") == 6 and sum(HELP[1].strip() in line for line in person.seen) == 1


@pytest.mark.parametrize("typed", ["0", "3", "two"])
def test_a_choice_is_one_of_those_shown(typed: str) -> None:
    person = Person(typed, "1")
    assert person.talk.choose("Which?", ["one", "two"]) == 1
    assert f"? “{typed}” is not one of 1 to 2" in person.seen


def test_several_numbers_are_each_from_one_to_the_last() -> None:
    assert numbers("3, 1 3", 3) == [3, 1] and look_words("1 2", ("dark", "dim")) == "dark dim"
    assert look_words("dark", ("dark", "dim")) == "dark"
    for typed in ("0", "4", "1 4"):
        with pytest.raises(UnknownNameError, match="is not one of 1 to 3"):
            numbers(typed, 3)
