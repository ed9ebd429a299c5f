"""What a number, a letter or a name stands for in the guide: the thing that was shown beside it, and no other."""

from __future__ import annotations

import pytest

from tests.faces.test_talk import REAR, Person
from tests.small_vehicle import TEXT
from tracer.guide.seen import compose
from tracer.guide.talk import HELP, help_lines
from tracer.harness.file.text import read_harness
from tracer.observation.words.states import state_words

MOVES = [(c.name, p) for c in REAR.controls.values() for p in c.positions if p != c.assumed]


def test_help_on_a_narrow_screen_hangs_below_the_letter_that_it_explains() -> None:
    """A letter stands two blanks in, what goes on below it five; a sentence is no letter's and stands at the edge."""
    lines = help_lines(40)
    assert len(lines) > len(HELP) and max(map(len, lines)) <= 40
    edge, letters = [x.strip() for x in HELP if x[0] != " "], [x.strip() for x in HELP if x[0] == " "]
    words, under = " ".join(lines).split(), ""
    assert words == " ".join(HELP).split()
    for line in lines:
        blanks = len(line) - len(line.lstrip())
        if blanks == 2:
            under = next(x for x in letters if x.startswith(line.strip()))
        elif blanks == 0:
            under = ""
            assert any(line in x for x in edge)
        assert blanks in (0, 2) or (blanks == 5 and line.strip() in under)


@pytest.mark.parametrize("number", range(1, len(MOVES) + 2))
def test_each_position_by_its_number_and_the_engine_by_the_last(number: int) -> None:
    person = Person(str(number), "1", "1", "", "")
    chosen = dict(MOVES[number - 1:number])
    state = REAR.state(chosen, number == len(MOVES) + 1)
    assert compose(person.talk, REAR).endswith(f" when {state_words(state)}")
    shown = " ".join(" ".join(person.seen).split())
    assert f"{number} {' '.join(*chosen.items()) if chosen else 'engine running'}" in shown


def test_positions_and_the_engine_go_together_where_no_control_would_stand_in_two() -> None:
    controls = [name for name, _ in MOVES]
    twice = next(n for n, name in enumerate(controls, 1) if name in controls[n:])
    other = controls.index(controls[twice - 1], twice) + 1
    one = next(n for n, name in enumerate(controls, 1) if name != controls[twice - 1])
    person = Person(f"{twice} {other}", f"{len(MOVES) + 2}", "0", f"{one} {twice} {len(MOVES) + 1}", "1", "1", "", "")
    state = REAR.state(dict([MOVES[one - 1], MOVES[twice - 1]]), True)
    assert compose(person.talk, REAR).endswith(f" when {state_words(state)}")
    refused = [line for line in person.seen if line.startswith("? ")]
    assert len(refused) == 3 and "cannot be both" in refused[0]
    assert all(f"is not one of 1 to {len(MOVES) + 1}" in line for line in refused[1:])


def test_a_name_in_full_is_its_lamp_also_where_it_is_part_of_another_s() -> None:
    harness = read_harness(TEXT.replace("plate", "tail plate"), "small")
    for typed, lamp in (("tail", "tail"), ("TAIL", "tail"), ("tail plate", "tail plate"), ("plate", "tail plate")):
        person = Person(typed, "1", "", "")
        assert compose(person.talk, harness, harness.state({})).startswith(f"{lamp} dark when ")
    with pytest.raises(StopIteration):
        compose(Person("tai").talk, harness, harness.state({}))


def test_nothing_is_no_part_of_a_name() -> None:
    """Enter, where lamps are asked for and none was named yet, names none of them."""
    person = Person("", "1", "1", "", "")
    assert compose(person.talk, REAR, REAR.state({})).startswith(f"{REAR.lamps()[0].lamp} dark when ")
