"""Each omission that a newcomer can make in the row of a test kind is made here, and has to be named.

The kind is invented: a voltmeter with a load across its probes. What names the omissions are the laws of
`test_kind_rows.py`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, cast

import pytest
from msgspec.structs import replace

from tests.observation import test_kind_rows as laws
from tracer.circuit.model import AddedBranch, Change, Circuit
from tracer.observation import instruments
from tracer.observation.instruments import lamp_ends, lamp_of_tester, voltmeter
from tracer.observation.quantities import VOLTAGE
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.test_row import Kind
from tracer.observation.words import probes
from tracer.observation.words.patterns import Pattern

LOADED = cast(TestKind, "loaded volts")
LOAD_W = 15.0


def with_load(circuit: Circuit, plus: str, minus: str) -> Change:
    load = AddedBranch(plus, minus, circuit.harness.system_v**2 / LOAD_W)
    return voltmeter(circuit, plus, minus) | Change(added=(load,))


def nothing(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change()


def load_for_12_v(circuit: Circuit, plus: str, minus: str) -> Change:
    return voltmeter(circuit, plus, minus) | Change(added=(AddedBranch(plus, minus, 12.0**2 / LOAD_W),))


def lamp_for_12_v(circuit: Circuit, plus: str, minus: str) -> Change:
    (lamp,) = instruments.test_lamp(circuit, plus, minus).lamps
    return Change(lamps=(replace(lamp, law=lamp_of_tester(12.0)),))


ROW = Kind(
    "Y", "voltmeter", "two points", r"loaded[\s-]*volts", "",
    lambda spot: f"loaded volts {spot.plus} to {spot.minus}", lambda spot: f"loaded {spot.plus} to {spot.minus}",
    lambda spot: f"voltmeter with a load across its probes: red on {spot.a}, black on {spot.b}",
    ("Voltmeter with a load across its probes, red on {a}.", "Black on {b}; off again within a few seconds."),
    0.85, "voltage", ("probe at live contacts", "current through electronics"), "feed to earth", with_load, VOLTAGE,
    needs="a load is held between two", named="lamp", ends=lamp_ends, loads=True,
)
DROP, AT_LAMP = KINDS["drop"], KINDS["test lamp"]
Law = Callable[[TestKind], None]
# What was left out or copied, the law that says so, and what it says.
FORGOTTEN: dict[str, tuple[Kind, Law, str]] = {
    "letter of another": (replace(ROW, letter="D"), laws.test_short_names_tell_kinds_apart_and_are_no_trouble_codes,
                          "its `letter` D is that of"),
    "letter of test points": (
        replace(ROW, letter="T"), laws.test_short_names_tell_kinds_apart_and_are_no_trouble_codes, "`letter` T"),
    "says copied": (replace(ROW, says=DROP.says), laws.test_what_is_said_of_a_test_is_read_as_that_test, "`says`"),
    "short copied": (replace(ROW, short=DROP.short), laws.test_no_two_kinds_are_called_the_same_at_one_spot,
                     "`short` is that of"),
    "a step without {b}": (replace(ROW, steps=("Load on {a}.",)), laws.test_the_steps_say_where_everything_goes,
                           "`steps` leave out {'{b}'}"),
    "hands free with two leads": (replace(ROW, hands_free=True), laws.test_every_cell_of_a_kind_is_filled_in,
                                  "`hands_free`, and both hands hold leads"),
    "needs left out": (replace(ROW, needs=""), laws.test_every_cell_of_a_kind_is_filled_in, "(`needs`)"),
    "change left out": (replace(ROW, change=nothing), laws.test_what_a_kind_changes_shows_and_weighs,
                        "`change` connects nothing, and its `model` is “voltage”"),
    "the load as a lamp": (replace(ROW, change=instruments.test_lamp), laws.test_what_a_kind_changes_shows_and_weighs,
                           "a load is an AddedBranch"),
    "a load for 12 V": (replace(ROW, change=load_for_12_v),
                        laws.test_what_draws_current_is_made_for_the_volts_of_the_vehicle, "by the volts"),
    "a lamp for 12 V": (replace(AT_LAMP, change=lamp_for_12_v),
                        laws.test_what_draws_current_is_made_for_the_volts_of_the_vehicle, "by the volts"),
    "a hazard left out": (replace(ROW, hazards=("probe at live contacts",)),
                          laws.test_what_may_hurt_in_a_test_follows_from_what_it_does,
                          "(`hazards`): {'current through electronics'}"),
    "a hazard without a law": (replace(ROW, hazards=(*ROW.hazards, cast(Any, "hot resistor"))),
                               laws.test_what_may_hurt_in_a_test_follows_from_what_it_does,
                               "the hazard “hot resistor” wants a law of its own in MUST_SAY"),
}
# What is a law of all kinds together.
IN_ALL: dict[str, tuple[Kind, Callable[[], None], str]] = {
    "loads left out": (replace(ROW, loads=False),
                       laws.test_what_reads_a_voltage_leaves_it_or_says_that_it_loads_it, "say `loads=True`"),
    "loads copied": (replace(DROP, loads=True),
                     laws.test_what_reads_a_voltage_leaves_it_or_says_that_it_loads_it, "draws next to nothing"),
    "minutes of one lead": (replace(ROW, minutes=0.45),
                            laws.test_two_leads_take_longer_than_one_and_current_longer_than_a_touch,
                            "loaded volts: its `minutes` 0.45 are no more than those of"),
    "minutes of a touch": (replace(ROW, minutes=0.75),
                           laws.test_two_leads_take_longer_than_one_and_current_longer_than_a_touch,
                           "loaded volts: its `minutes` 0.75 are no more than those of drop"),
    "its example left out": (ROW, laws.test_every_kind_has_its_row_and_its_example, "TestKind"),
}


@pytest.fixture
def added(monkeypatch: pytest.MonkeyPatch) -> Callable[[Kind], None]:
    """As if somebody had added the kind."""
    def add(row: Kind) -> None:
        monkeypatch.setitem(cast(Any, KINDS), LOADED, row)
        # what it is called and what it reads stay as the example has them
        typed = (f"loaded volts {laws.FEED} to {laws.EARTH} {laws.NOW}",)
        monkeypatch.setitem(laws.TESTS, LOADED, (typed, ("dim",) if row.choices else ("11.2 V",)))
        pattern = Pattern(rf"\s*(?:{ROW.typed})(?![\w.])[\s:]*", re.IGNORECASE)
        monkeypatch.setattr(probes, "_KINDS", (*probes._KINDS, (LOADED, pattern)))

    return add


def test_where_nothing_is_forgotten_no_law_says_anything(added: Callable[[Kind], None]) -> None:
    added(ROW)
    for law in {law for _, law, _ in FORGOTTEN.values()}:
        law(LOADED)
    for name, (_, in_all, _) in IN_ALL.items():
        if name != "its example left out":
            in_all()


@pytest.mark.parametrize("what", FORGOTTEN)
def test_what_is_forgotten_in_a_row_is_named(what: str, added: Callable[[Kind], None]) -> None:
    row, law, message = FORGOTTEN[what]
    added(row)
    with pytest.raises(AssertionError, match=re.escape(message)) as caught:
        law(LOADED)
    assert "loaded volts" in str(caught.value)


@pytest.mark.parametrize("what", IN_ALL)
def test_what_is_forgotten_in_a_row_is_named_beside_the_others(what: str, added: Callable[[Kind], None]) -> None:
    row, law, message = IN_ALL[what]
    added(row)
    with pytest.raises(AssertionError, match=re.escape(message)):
        law()
