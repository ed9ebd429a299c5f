"""Which of several first steps that are nearly as good is taken: tables of options, worked through by hand."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tests.library import MODELS
from tracer.circuit.model import Floats
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.planning.engine import Choice, Option
from tracer.planning.first_steps import moved_first, not_again, preferred, rather_tested
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST, PRESSED = HARNESS.state({}), HARNESS.state({"brake pedal": "pressed"})
SIDE = HARNESS.state({"lamp switch": "side"})
TELLS, HALF = np.array([[1.0, 0.0], [0.0, 1.0]]), np.array([[0.75, 0.25], [0.25, 0.75]])
PRIOR, LABEL = np.array([0.5, 0.5, 1e-6]), np.array([0, 1, -1])


def option(kind: str, index: int, minutes: float, cost: float = 1.0) -> Option:
    return Option(kind, index, minutes, cost, (0.5, 0.5))  # type: ignore[arg-type]


def chosen(*options: Option) -> Choice:
    """The first is chosen."""
    return Choice(options[0].kind, options[0].index, options[0].minutes, 1.0, "rollout", options)


def taken(choice: Choice) -> tuple[str, int]:
    """What is chosen; it stands first, with its minutes, and no option is lost or told twice."""
    first = choice.options[0]
    assert (first.kind, first.index, first.minutes) == (choice.kind, choice.index, choice.minutes)
    assert len({(o.kind, o.index) for o in choice.options}) == len(choice.options)
    return choice.kind, choice.index


# --- What was made in vain -------------------------------------------------------------------------------


@pytest.mark.parametrize(("options", "again", "expected"), [
    ((option("repair", 0, 10), option("check", 0, 12)), {0}, ("check", 0)),
    ((option("repair", 0, 10), option("repair", 1, 12)), {0}, ("repair", 1)),
    ((option("repair", 0, 10), option("repair", 1, 11), option("check", 3, 12)), {0, 1}, ("check", 3)),
    ((option("repair", 0, 10), option("check", 0, 12)), {1}, ("repair", 0)),  # another one was
    ((option("repair", 0, 10), option("give up", -1, 150)), {0}, ("repair", 0)),  # nothing else is left to do
    ((option("check", 0, 10), option("check", 1, 12)), {0}, ("check", 0)),  # a check of that number is none
])
def test_a_repair_made_in_vain_is_not_made_again_while_anything_else_is_left(
    options: tuple[Option, ...], again: set[int], expected: tuple[str, int],
) -> None:
    found = not_again(chosen(*options), again)
    assert taken(found) == expected
    assert {*found.options} == {*options}
    if expected == (options[0].kind, options[0].index):
        assert found.options == options  # the second best stays the second


# --- What is tested before a repair ----------------------------------------------------------------------


def test_a_chosen_repair_stays_the_next_best_after_a_test_that_goes_before_it() -> None:
    best = [Candidate(Test("look", REST, lamp="left rear tail"), ("lit", "dark"), TELLS)]
    found = rather_tested(chosen(option("repair", 0, 20), option("check", 0, 20.5)), best, PRIOR, LABEL)
    assert taken(found) == ("check", 0)
    assert [(o.kind, o.index) for o in found.options] == [("check", 0), ("repair", 0)]


def test_a_test_counts_by_what_it_tells_of_the_repair_in_question() -> None:
    """Three repairs; it parts the two others, and not the one that would be made."""
    others = np.array([[0.5, 1.0, 0.0], [0.5, 0.0, 1.0]])
    ours = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]])
    prior, label = np.array([0.6, 0.2, 0.2, 1e-6]), np.array([0, 1, 2, -1])
    for table, expected in ((others, ("repair", 0)), (ours, ("check", 0))):
        best = [Candidate(Test("look", REST, lamp="left rear tail"), ("lit", "dark"), table)]
        found = rather_tested(chosen(option("repair", 0, 20), option("check", 0, 20.1)), best, prior, label)
        assert taken(found) == expected


@pytest.mark.parametrize(("sure", "table", "expected"), [
    (0.98, TELLS, ("repair", 0)),  # two in a hundred are no doubt, even for a test that settles it
    (0.9, TELLS, ("check", 0)),
    (0.9, HALF, ("check", 0)),  # p(lit) = 0.7: 0.8813 − 0.8113 = 0.07 bit, more than a twentieth
    (0.95, HALF, ("repair", 0)),  # p(lit) = 0.725: 0.8485 − 0.8113 = 0.037 bit
])
def test_a_repair_waits_where_there_is_doubt_and_a_test_that_tells_of_it(
    sure: float, table: Floats, expected: tuple[str, int],
) -> None:
    best = [Candidate(Test("look", REST, lamp="left rear tail"), ("lit", "dark"), table)]
    prior = np.array([sure, 1 - sure, 1e-9])
    choice = chosen(option("repair", 0, 20), option("check", 0, 20.1))
    assert taken(rather_tested(choice, best, prior, LABEL)) == expected


# --- Plainness -------------------------------------------------------------------------------------------


class _Living:
    """Two lamps were complained of; in a state with the lamp switch on three lamps shine, else none."""

    def __init__(self) -> None:
        self.predictor = SimpleNamespace(harness=HARNESS, healthy=self._healthy)

    def affected_lamps(self) -> list[str]:
        return ["left rear stop", "right rear stop"]

    def _healthy(self, state: VehicleState) -> SimpleNamespace:
        lit = 3 if state["lamp switch"] == "side" else 0
        return SimpleNamespace(flux=np.array([[0.0] * lit + [-9.0] * (7 - lit)]))


def look(
    lamp: str, state: VehicleState = REST, again: bool = False, done: tuple[Intervention, ...] = (),
) -> Candidate:
    return Candidate(Test("look", state, lamp=lamp, done=done), ("lit", "dark"), TELLS, again=again)


def plainest(best: Sequence[Candidate], minutes: Sequence[float]) -> int:
    choice = chosen(*(option("check", k, m) for k, m in enumerate(minutes)))
    found = preferred(choice, list(best), cast(Living, _Living()), PRIOR, LABEL)
    assert {o.index for o in found.options} == {o.index for o in choice.options}
    kind, index = taken(found)
    assert kind == "check"
    return index


VOLTS = Candidate(Test("volts", REST, "left rear.stop", "body"), ("low", "high"), TELLS)


@pytest.mark.parametrize(("one", "other"), [
    (look("left rear stop"), VOLTS),  # a look before a measurement
    (look("left rear stop"), look("left rear stop", done=(Intervention("unplug", "C1"),))),  # with nothing undone
    (look("left rear stop"), look("left rear stop", PRESSED)),  # nothing is held
    (VOLTS, look("left rear stop", PRESSED)),  # even for a look
    (look("right rear stop"), look("left rear tail")),  # at a lamp complained of
    (look("left rear stop"), look("right rear stop")),  # what was complained of first
    (look("left rear stop"), look("left rear stop", SIDE)),  # where few lamps shine
    (look("left rear tail", SIDE), look("left rear stop", again=True)),  # what was not said yet
    (VOLTS, look("left rear stop", again=True)),
    (look("left rear tail", PRESSED), look("left rear stop", again=True)),
])
def test_of_equals_the_plainer_goes_first(one: Candidate, other: Candidate) -> None:
    assert plainest([one, other], [20, 20]) == 0
    assert plainest([other, one], [20, 20]) == 1
    assert plainest([other, one], [20, 20.1]) == 1  # half a hundredth is no difference
    assert plainest([other, one], [20, 21]) == 0  # a twentieth is
    assert plainest([one, other], [20, 20.1]) == 0


def test_of_two_as_plain_the_cheaper_plan_goes_first() -> None:
    assert plainest([look("left rear tail"), look("right rear tail")], [20.1, 20.0]) == 1


def test_of_all_that_is_more_than_a_look_the_nearest_by_the_plan_goes_first() -> None:
    """A new fuse watched at the lamp complained of, and an ohmmeter with all switched off, take nobody's place: 6 V
    at a fuse's input were followed by both, and the fuse's output came last."""
    fuse = look("left rear stop", done=(Intervention("new fuse", "F1"),))
    ohms = Candidate(Test("ohms", REST, "F1.out", "C1.1"), ("low", "high"), TELLS)
    there = Candidate(Test("volts", SIDE, "F1.out", "body"), ("low", "high"), TELLS)
    assert plainest([fuse, ohms, there], [20.1, 20.15, 20]) == 2
    assert plainest([fuse, ohms, there], [20.1, 20, 20.15]) == 1
    assert plainest([fuse, ohms, there], [20, 20.1, 20.15]) == 0


def test_a_plain_test_that_tells_less_takes_nobodys_place() -> None:
    """A quarter of doubt left on either side tells 0.19 bit of one."""
    less = Candidate(Test("look", REST, lamp="left rear stop"), ("lit", "dark"), HALF)
    assert plainest([VOLTS, less], [20, 20]) == 0
    nearly = np.array([[0.98, 0.02], [0.02, 0.98]])
    most = Candidate(Test("look", REST, lamp="left rear stop"), ("lit", "dark"), nearly)
    assert plainest([VOLTS, most], [20, 20]) == 1


def test_a_chosen_repair_is_not_put_back_for_a_plain_look() -> None:
    choice = chosen(option("repair", 0, 20), option("check", 0, 20))
    assert preferred(choice, [look("left rear stop")], cast(Living, _Living()), PRIOR, LABEL) is choice


def test_repairs_among_the_options_keep_their_place_behind() -> None:
    choice = chosen(option("check", 0, 20), option("repair", 0, 20), option("check", 1, 20))
    found = preferred(choice, [VOLTS, look("left rear stop")], cast(Living, _Living()), PRIOR, LABEL)
    assert [(o.kind, o.index) for o in found.options] == [("check", 1), ("check", 0), ("repair", 0)]


# --- What comes and goes ---------------------------------------------------------------------------------

MOVED = Candidate(Test("wiggle", REST, "C1", lamp="left rear stop"), ("changes", "does not"), TELLS)


def never(own: Sequence[int]) -> Choice:
    raise AssertionError(own)


def test_what_is_hardly_dearer_and_moves_it_goes_first() -> None:
    """Up to a quarter more; else it is offered second. It tells something or nothing: at most its own minutes are
    lost by it."""
    for minutes, cost, first in ((24.0, 9.0, True), (26.0, 9.0, False), (40.0, 3.0, True), (40.0, 7.0, False)):
        choice = chosen(option("check", 0, 20), option("check", 2, 22), option("check", 1, minutes, cost))
        found = moved_first(choice, [VOLTS, MOVED, VOLTS], never)
        assert taken(found) == ("check", 1 if first else 0)
        assert [o.index for o in found.options] == ([1, 0, 2] if first else [0, 1, 2])
        told = next(o for o in found.options if o.index == 1)
        assert told.minutes == pytest.approx(min(minutes, 20 + cost))


def test_what_was_not_priced_is_priced_by_itself() -> None:
    """Its place among all is told to the plan, and comes back as the first of its own."""
    asked = list[list[int]]()

    def plan(own: Sequence[int]) -> Choice:
        asked.append(list(own))
        return chosen(option("repair", 0, 12), option("check", 1, 23, 2), option("check", 0, 30, 2))

    found = moved_first(chosen(option("check", 0, 20)), [VOLTS, MOVED, VOLTS, MOVED], plan)
    assert asked == [[1, 3]]
    assert taken(found) == ("check", 3) and found.minutes == pytest.approx(22)
    nothing = moved_first(chosen(option("check", 0, 20)), [VOLTS, MOVED], lambda own: chosen(option("repair", 0, 12)))
    assert taken(nothing) == ("check", 0) and len(nothing.options) == 1


def test_nothing_is_moved_where_nothing_can_be_or_a_repair_comes_first() -> None:
    choice = chosen(option("check", 0, 20), option("check", 1, 20))
    assert moved_first(choice, [VOLTS, VOLTS], never) is choice
    mend = chosen(option("repair", 0, 20), option("check", 1, 20))
    assert moved_first(mend, [VOLTS, MOVED], never) is mend


def test_a_repair_of_the_same_number_is_not_the_test_that_moves() -> None:
    choice = chosen(option("check", 0, 20), option("repair", 1, 20.5), option("check", 1, 21))
    found = moved_first(choice, [VOLTS, MOVED], never)
    assert [(o.kind, o.index) for o in found.options] == [("check", 1), ("check", 0), ("repair", 1)]
