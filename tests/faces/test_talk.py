"""One question of the guide by itself: numbers, defaults, letters, and ready answers after one not understood."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest

from tests.library import MODELS
from tracer.errors import SymptomError, UnknownNameError
from tracer.guide.seen import compose
from tracer.guide.talk import HELP, Back, Other, Skip, Stop, Talk, look_words, looks_lines, numbers
from tracer.harness.file.text import load_harness
from tracer.observation.test_kinds import LOOKS

REAR = load_harness(MODELS / "rear_end.yaml")


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


@pytest.mark.parametrize("looks", [LOOKS, LOOKS[:4], LOOKS[:5], LOOKS[:1]], ids=len)
def test_looks_to_choose_from_fill_lines_that_the_screen_has_room_for(looks: tuple[str, ...]) -> None:
    """Every look by its number, in turn; a new line only where the next one had no room; that two may be true is told
    where there are so many that two can be."""
    for width in range(24, 121):
        lines = looks_lines(looks, width)
        hint = next((n for n, line in enumerate(lines) if "two where" in line), len(lines))
        assert (hint < len(lines)) == (len(looks) > 4)
        shown = lines[:hint]
        assert "  ".join(line.strip() for line in shown) == "  ".join(f"{n} {x}" for n, x in enumerate(looks, 1))
        assert all(line.startswith("  ") and len(line) <= width for line in lines if line.strip())
        for line, after in pairwise(shown):
            first = re.split(r"  (?=\d)", after.strip())[0]
            assert len(line) + 2 + len(first) + 2 > width, "there was room for it"


@pytest.mark.parametrize(("typed", "lamp", "fit"), [
    ("plate", "number-plate lamp", 1), ("left rear tail", "left rear tail", 1),
    ("REAR right stop", "right rear stop", 1),
    ("tail", "left rear tail", 2), ("left rear", "left rear tail", 3), ("rear", "left rear tail", 6),
    ("fog", "left rear tail", 0),
])
def test_a_part_of_a_name_stands_for_one_lamp_only_where_no_other_has_it(typed: str, lamp: str, fit: int) -> None:
    """Where two have it, which is asked, with their numbers; where none has, that is said."""
    names = [f.lamp for f in REAR.lamps()]
    person = Person(typed, *(() if fit == 1 else (lamp,)), "1", "", "")
    assert compose(person.talk, REAR, REAR.state({})).startswith(f"{lamp} dark when ")
    asked = " ".join(" ".join(person.seen).split()).partition("? which: ")[2].partition("?")[0]
    having = [f"{n} {x}" for n, x in enumerate(names, 1) if all(w in x for w in typed.casefold().split())]
    assert len(having) == fit and asked == (", ".join(having) if fit > 1 else "")
    assert any(line.startswith(f"? no lamp “{typed}”") for line in person.seen) == (fit == 0)
