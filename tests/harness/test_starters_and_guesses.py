"""What a starter has at six volts and at positive earth, and what an end is by the words of its name."""

from __future__ import annotations

import pytest

from tracer.harness.devices import FuseLink
from tracer.harness.file.starter import STARTERS, starter_text
from tracer.harness.file.text import read_harness
from tracer.harness.file.vague_ends import guess_of
from tracer.harness.model import Harness


def started(what: str, system: str = "12 V", earth: str = "negative") -> Harness:
    return read_harness(starter_text("My vehicle", system, earth, what), "starter")


@pytest.mark.parametrize("what", list(STARTERS))
def test_at_six_volts_wires_are_thicker_and_fuses_larger(what: str) -> None:
    """The same watts at half the volts are twice the amperes (Ohm): no wire has less than twice the copper, no fuse
    less than twice the rating; at twelve and twenty-four volts the file is the same but for its volts."""
    twelve, six, more = (started(what, f"{v} V") for v in (12, 6, 24))
    for one, other in zip(twelve.wires, six.wires, strict=True):
        assert other.section_mm2 >= 2 * one.section_mm2 or one.section_mm2 > 4
    fuses = [[d.rating_a for d in h.devices() if isinstance(d, FuseLink)] for h in (twelve, six, more)]
    assert fuses[1] == pytest.approx([2 * a for a in fuses[0]]) and fuses[2] == fuses[0]
    assert [w.section_mm2 for w in more.wires] == [w.section_mm2 for w in twelve.wires]


@pytest.mark.parametrize("what", list(STARTERS))
def test_with_its_positive_pole_earthed_the_poles_change_places(what: str) -> None:
    one, other = started(what), started(what, earth="positive")
    assert other.positive_earth and not one.positive_earth

    def earthed(harness: Harness) -> set[str]:
        ends = {frozenset((s.a, s.b)) for w in harness.wires for s in w.segments}
        return {pole for pole in ("battery.+", "battery.-") for e in ends if pole in e and e & {*harness.earths}}

    assert earthed(one) == {"battery.-"} and earthed(other) == {"battery.+"}


def test_a_title_is_one_printable_line() -> None:
    assert read_harness(starter_text("My\nold\x07 van "), "starter").title == "My old van"
    assert read_harness(starter_text(" \n "), "starter").title == "My vehicle"


@pytest.mark.parametrize(("name", "ends", "guess"), [
    ("joint by the boot", 1, "connector"), ("joint by the boot", 3, "bullets"),  # several wires meet in a block
    ("F7", 2, "fuse"), ("f12", 1, "fuse"), ("Fx", 1, ""), ("left rear stop lamp", 1, "lamp"),
])
def test_what_an_end_is_by_its_name(name: str, ends: int, guess: str) -> None:
    assert guess_of(name, ends)[0] == guess
