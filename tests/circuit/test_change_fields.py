"""Every field of a change has its row: how it is merged, what it names, where it is applied."""

from __future__ import annotations

from typing import Any

import pytest

from tracer.circuit.change_fields import CHANGE_ROWS
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, AddedBranch, Change, TestLamp
from tracer.observation.instruments import lamp_of_tester

# Two values of each field, and what both at once are, by hand.
WATER, LEAD = AddedBranch("C1.1", "C1.2", 50.0, "C1"), AddedBranch("a", "b", 0.03)
LAMP = TestLamp("a", "b", lamp_of_tester(12.0))
CASES: dict[str, tuple[Any, Any, Any]] = {
    "set_ohm": ((("w", 2.0), ("x", 1.0)), (("w", OPEN_OHM),), (("w", OPEN_OHM), ("x", 1.0))),  # the higher stands
    "added": ((WATER,), (LEAD,), (WATER, LEAD)),
    "dead": (("f",), ("g",), ("f", "g")),
    "scaled": ((("f", 0.5),), (("g", 2.0),), (("f", 0.5), ("g", 2.0))),
    "emf_factor": (0.5, 0.9, 0.45),
    "removed": (("C1",), ("bulb",), ("C1", "bulb")),
    "lamps": ((LAMP,), (LAMP,), (LAMP, LAMP)),
    "swapped": ((("f", "g"),), (("h", "i"),), (("f", "g"), ("h", "i"))),
    "disconnected": (True, False, True),
    "ohmmeter": (None, ("a", "b"), ("a", "b")),
    "running_factor": (1.2, 0.5, 0.6),
    "battery_ohm": (0.1, 0.25, 0.35),
    "contacts": ((("s", frozenset(("on",))),), (), (("s", frozenset(("on",))),)),
    "inverted": (("r",), ("q",), ("r", "q")),
    "ratings": ((("F1 link", 2.0),), (("F2 link", 0.5),), (("F1 link", 2.0), ("F2 link", 0.5))),
    "light": ((("f", 0.2),), (("g", -0.1),), (("f", 0.2), ("g", -0.1))),
    "flasher_load": (2.0, 0.75, 1.5),
    "renewed": (("F1 link",), ("F2 link",), ("F1 link", "F2 link")),
}


def test_every_field_has_a_row_and_a_case() -> None:
    assert Change.__struct_fields__ == tuple(CHANGE_ROWS)
    assert set(CHANGE_ROWS) == set(CASES)


@pytest.mark.parametrize("name", sorted(CASES))
def test_both_at_once(name: str) -> None:
    one, two, both = CASES[name]
    merged = Change(**{name: one}) | Change(**{name: two})
    assert getattr(merged, name) == (pytest.approx(both) if isinstance(both, float) else both)
    assert Change(**{name: one}) | NO_CHANGE == Change(**{name: one}) == NO_CHANGE | Change(**{name: one})
    others = set(CHANGE_ROWS) - {name}
    assert all(getattr(merged, o) == getattr(NO_CHANGE, o) for o in others)


@pytest.mark.parametrize("name", sorted(CASES))
def test_what_names_something_goes_with_it(name: str) -> None:
    """Of a part of the circuit in which nothing is, nothing is left but what names nothing."""
    change = Change(**{name: CASES[name][2]})
    nothing = change.kept(lambda named, x: False)
    assert (nothing == NO_CHANGE) == (name in {
        "set_ohm", "added", "dead", "scaled", "contacts", "inverted", "ratings", "light"})
    assert change.kept(lambda named, x: True) == change


def test_a_path_is_kept_with_both_ends_and_what_it_leads_through() -> None:
    change = Change(added=(WATER, LEAD))
    assert change.kept(lambda named, x: named != "node" or x in ("a", "b")) == Change(added=(LEAD,))
    assert change.kept(lambda named, x: x != "C1") == Change(added=(LEAD,))


def test_new_things_are_as_they_should_be() -> None:
    """A new fuse is whole and of the right rating; a new lamp lights, is the right one, and nothing bridges it."""
    bridged = AddedBranch("c", "d", 0.1, "bulb")
    fault = Change(
        set_ohm=(("F1 link", OPEN_OHM), ("w", 3.0)), ratings=(("F1 link", 2.0),), dead=("f",), scaled=(("f", 0.5),),
        light=(("f", 0.3), ("g", 0.1)), added=(bridged, WATER))
    assert fault.with_new(("F1 link", "f", "bulb")) == Change(
        set_ohm=(("w", 3.0),), light=(("g", 0.1),), added=(WATER,))
    assert fault.with_new(()) == fault


def test_what_is_done_to_the_rows_and_what_to_the_battery() -> None:
    done = Change(**{name: both for name, (_, _, both) in CASES.items()})
    assert done.only(lambda row: row.of_supply) == Change(
        emf_factor=done.emf_factor, running_factor=done.running_factor, battery_ohm=done.battery_ohm,
        disconnected=True)
    assert done.only(lambda row: row.in_table) == Change(swapped=done.swapped, renewed=done.renewed)
    assert done.remakes and not done.only(lambda row: not row.in_table).remakes


def test_a_lamp_takes_its_faults_to_its_new_place() -> None:
    fault = Change(dead=("f",), scaled=(("f", 0.5),), light=(("g", 0.1),), set_ohm=(("f", 1.0),), added=(WATER, LEAD))
    moved = fault.renamed(lambda n: {"f": "g", "g": "f"}.get(n, n), lambda x: LEAD if x == WATER else x)
    assert moved == Change(
        dead=("g",), scaled=(("g", 0.5),), light=(("f", 0.1),), set_ohm=(("f", 1.0),), added=(LEAD, LEAD))
