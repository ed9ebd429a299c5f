"""What is measured before something is taken apart: volt drops across the suspect, from leg to leg of a splice.

What a test rests on stands in it; facts of the trade are marked "common practice, no source".
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tracer.circuit import NO_CHANGE
from tracer.costs import Standing
from tracer.direct import confirmation, measured, spans
from tracer.evidence import LampSeen, Reading, Symptom, Test
from tracer.faults import find_fault
from tracer.harness_file.text import load_harness
from tracer.next_test import cures, propose
from tracer.suspects import Investigator
from tracer.typed.readings import parse_test, parse_value, test_key

MODEL = Path(__file__).parents[1] / "harness_models" / "rear_end.yaml"


@cache
def investigator() -> Investigator:
    return Investigator(load_harness(MODEL))


def test_a_splice_is_measured_from_leg_to_leg() -> None:
    """Three wires meet in S4: three pairs of them. The drop across 3 Ω from wire to wire is the wire's current
    times 3 Ω (Ohm), and next to nothing on a sound vehicle."""
    own, harness = investigator(), investigator().harness
    fault = find_fault(own.faults, "splice bad: S4")
    legs = {"F3.out", "brake switch.15", "flasher unit.49"}
    assert {frozenset(p) for p in spans(fault, harness)} == {frozenset(legs - {x}) for x in legs}
    bad = next(v.change for v in fault.variants if v.says == "about 3 Ω from wire to wire")
    state = harness.state({"brake pedal": "pressed"})

    test = confirmation(own.predictor, [fault], bad, [state], Standing(state), ())

    assert test is not None and test.kind == "drop" and {test.plus, test.minus} == {"F3.out", "brake switch.15"}
    shown, sound = own.predictor.observed(test, [bad, NO_CHANGE])
    amps = own.predictor.observed(Test("current", state, "F3.out", "S4"), [bad])[0]
    assert amps > 1.5
    assert abs(shown) == pytest.approx(3.0 * amps + abs(sound) * amps / 3.6, abs=0.05)
    assert abs(sound) < 0.1
    assert parse_test(f"volt drop {test.plus} to {test.minus} when brake pedal pressed", harness) == test
    assert "volt drop across splice S4: voltmeter from terminal out of F3 to way 15 of brake switch" in test.says(
        harness)
    assert test_key(test).startswith("D-")


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("battery terminal bad: battery.+", {("battery.+", "S1")}),
        ("switch dead: indicator stalk", {("indicator stalk.49a", "indicator stalk.L"),
                                          ("indicator stalk.49a", "indicator stalk.R")}),
        ("earth bad: E1 earth joint", {("E1", "body")}),
        ("filament open: left rear stop", set()),  # no probe gets at the inside of a lamp
        ("flasher stuck: flasher unit", {("flasher unit.49", "flasher unit.49a")}),
    ],
)
def test_the_terminals_on_both_sides_of_a_fault(name: str, expected: set[tuple[str, str]]) -> None:
    assert set(spans(find_fault(investigator().faults, name), investigator().harness)) == expected


def test_nothing_is_measured_across_twice() -> None:
    own, harness = investigator(), investigator().harness
    fault, state = find_fault(own.faults, "splice open: S4"), investigator().harness.state({"brake pedal": "pressed"})
    change = fault.variants[0].change
    drop = Test("drop", state, "brake switch.15", "F3.out")
    both = [Test("volts", state, n, "body") for n in ("F3.out", "brake switch.15")]
    idle = Test("drop", state, "brake switch.15", "flasher unit.49")  # no drop there while the indicators are off

    def asked(*done: Test) -> Test | None:
        return confirmation(own.predictor, [fault], change, [state], Standing(state), done)

    assert asked() is not None and asked(idle) is not None and asked(both[0]) is not None
    assert asked(drop) is None and asked(*both) is None
    assert measured([fault], [drop], harness) and not measured([fault], [both[0]], harness)


def test_a_repair_that_did_not_help_is_measured_before_it_is_made_again() -> None:
    """Once a splice was remade in vain, what was measured there before counts no more; without any measurement
    there is always something better to do (common practice, no source)."""
    own, harness = investigator(), investigator().harness
    state = harness.state({"brake pedal": "pressed"})
    dark = frozenset({"dark"})
    seen = [Symptom(state, (LampSeen("left rear stop", dark), LampSeen("right rear stop", dark))),
            Symptom(harness.state({"indicator stalk": "left"}), (LampSeen("left rear indicator", dark),)),
            Symptom(harness.state({"lamp switch": "side"}), (LampSeen("left rear tail", frozenset({"normal"})),))]
    drop = Test("drop", state, "F3.out", "brake switch.15")
    evidence: list[Symptom | Reading] = [*seen, Reading(drop, parse_value("12.4 V", "drop", ""))]
    splice = "remake splice S4"
    # Its wires were seen to be whole.
    found = own.diagnose(evidence, discount={f.repair: 1e-6 for f in own.faults if f.kind.startswith("wire")})

    first = propose(found, Standing(state))
    assert first.kind == "repair" and first.says == splice and first.test is None

    after = propose(found, Standing(state), tried={splice: len(evidence)})
    assert after.says != splice or after.test is not None


def test_of_two_repairs_at_once_the_likelier_is_made_first_and_then_the_other() -> None:
    """After each the lamps are looked at again (common practice, no source)."""
    own, harness = investigator(), investigator().harness
    state = harness.state({"lamp switch": "side"})
    dark = frozenset({"dark"})
    lamps = ("left rear tail", "right rear tail", "number-plate lamp")
    normal = Symptom(harness.state({"brake pedal": "pressed"}), tuple(
        LampSeen(lamp, frozenset({"normal"})) for lamp in ("left rear stop", "right rear stop")))
    found = own.diagnose([Symptom(state, tuple(LampSeen(lamp, dark) for lamp in lamps)), normal])
    both = next(i for i, h in enumerate(found.hypotheses) if {f.repair for f in h.faults} == {
        "new fuse F1", "new fuse F2"})

    repairs, _ = cures(found, [both])
    assert repairs[0] in ("new fuse F1", "new fuse F2")
    assert cures(found, [both], repairs)[0] == sorted({"new fuse F1", "new fuse F2"} - {repairs[0]})
