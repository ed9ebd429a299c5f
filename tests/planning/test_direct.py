"""What is measured before something is taken apart: volt drops across the suspect, from leg to leg of a splice.

What a test rests on stands in it; facts of the trade are marked "common practice, no source".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import tool_on
from tracer.circuit.model import NO_CHANGE, OPEN_OHM
from tracer.faults import find_fault
from tracer.harness.devices import FuseLink
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.word_model import likely_word
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_test, parse_value, test_as_data, test_from_data, test_key
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import confirmation, measured, spans
from tracer.planning.costs import Standing
from tracer.planning.cures import cures
from tracer.planning.next_step import propose
from tracer.present.job_words import test_words

MODEL = Path(__file__).parents[2] / "harness_models" / "rear_end.yaml"


@cache
def investigator() -> Investigator:
    return tool_on(MODEL)


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
    said = test.says(harness)
    assert "volt drop across splice S4: voltmeter from terminal out of F3 to terminal 15 of brake switch" in said
    assert test_key(test).startswith("D-")


def test_a_flasher_unit_is_measured_across_its_terminals() -> None:
    """The contact lies inside, between the electronics and the output; probes reach 49 and 49a. With 3 Ω in it the
    drop is 3 V an ampere (Ohm); with the 3 Ω in the clip of its fuse the unit drops next to nothing."""
    own = tool_on(MODEL.with_name("lorry_24v.yaml"))
    fault, clip = find_fault(own.faults, "flasher bad: flasher unit"), find_fault(own.faults, "clip bad: F7 clip")
    bad, before_it = (next(v.change for v in f.variants if v.change.set_ohm[0][1] == 3.0) for f in (fault, clip))
    state = own.harness.state({"master switch": "on", "ignition": "on", "indicator stalk": "left"})

    assert spans(fault, own.harness) == (("flasher unit.49", "flasher unit.49a"),)
    test = confirmation(own.predictor, [fault], bad, [state], Standing(state), ())

    assert test == Test("drop", state, "flasher unit.49", "flasher unit.49a")
    shown, elsewhere = own.predictor.observed(test, [bad, before_it])
    amps = abs(own.predictor.observed(Test("current", state, "flasher unit.49a", "indicator stalk.49a"), [bad])[0])
    assert amps > 1.0
    assert shown == pytest.approx(3.03 * amps, abs=0.05)  # with the 0.03 Ω of its two other contacts
    assert abs(elsewhere) < 0.2


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("battery terminal bad: battery.+", {("battery.+", "S1")}),
        ("switch dead: indicator stalk", {("indicator stalk.49a", "indicator stalk.L"),
                                          ("indicator stalk.49a", "indicator stalk.R")}),
        ("earth bad: E1", {("E1", "body")}),
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
            Symptom(harness.state({"indicator stalk": "right"}), (LampSeen("right rear indicator", dark),)),
            Symptom(harness.state({"lamp switch": "side"}), (LampSeen("left rear tail", frozenset({"normal"})),))]
    drop = Test("drop", state, "F3.out", "brake switch.15")
    evidence: list[Symptom | Reading] = [*seen, Reading(drop, parse_value("12.4 V", "drop", ""))]
    splice = "remake splice S4"
    # Its wires were seen to be whole, and pushed on at both ends.
    whole = ("wire", "terminal")
    found = own.diagnose(evidence, discount={f.repair: 1e-6 for f in own.faults if f.kind.startswith(whole)})

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


def test_a_new_fuse_blows_only_where_the_short_is_live() -> None:
    """A wire behind the brake switch is rubbed through (0.05 Ω: 200 A and more by Ohm, through a fuse of 8 A). The
    fuse has blown: no stop lamp, no indicator. A new one holds while the indicators flash, and blows when the pedal
    closes the switch (common practice, no source). Without the short it holds in both."""
    own, harness = investigator(), investigator().harness
    short = next(h.change for h in own.singles if h.faults[0].name.startswith("wire to body: brake switch.54 – C1.3")
                 and ("F3 link", OPEN_OHM) in h.change.set_ohm)
    blown = find_fault(own.faults, "fuse blown: F3").variants[0].change

    def lamp(state: dict[str, str], name: str, *done: Intervention) -> list[str]:
        test = Test("look", harness.state(state), lamp=name, done=done)
        change, predictor = test.change(own.predictor.circuit), own.predictor
        panel = predictor.panel(predictor.setup(test.state, change), predictor.table([short, blown], change))
        return [likely_word(float(x)) for x in panel.flux[:, predictor.lamp_index[name]]]

    new = Intervention("new fuse", "F3")
    turning, braking = {"indicator stalk": "left"}, {"brake pedal": "pressed"}
    assert lamp(turning, "left rear indicator") == ["dark", "dark"]
    assert lamp(turning, "left rear indicator", new) == ["normal", "normal"]
    assert lamp(braking, "left rear stop", new) == ["dark", "normal"]


def test_a_new_fuse_under_watch_is_proposed_and_understood() -> None:
    """Stop lamps and indicators dark, and the fuse found blown: before it is simply renewed or looms are opened, the
    state in which a new one blows is looked for."""
    own, harness = investigator(), investigator().harness
    dark = frozenset({"dark"})
    link = next(d for d in harness.parts["F3"].devices if isinstance(d, FuseLink))
    out = Test("ohms", harness.state({}), link.a, link.b, done=(Intervention("pull fuse", "F3"),))
    found = own.diagnose([
        Symptom(harness.state({"brake pedal": "pressed"}), (LampSeen("left rear stop", dark),)),
        Symptom(harness.state({"indicator stalk": "left"}), (LampSeen("left rear indicator", dark),)),
        Symptom(harness.state({"lamp switch": "side"}), (LampSeen("left rear tail", frozenset({"normal"})),)),
        Symptom(harness.state({"lamp switch": "side", "indicator stalk": "left"}),
                (LampSeen("left rear tail", frozenset({"normal"})),)),
        Reading(out, parse_value("open", "ohms", "")),
    ], discount={"new fuse F3": 0.03})

    step = propose(found, Standing(harness.state({"indicator stalk": "left"})))

    assert step.test is not None and step.test.done == (Intervention("new fuse", "F3"),)
    assert "fit a new fuse F3" in step.says
    assert any(c.head == "fuse" and "same rating" in c.text for c in step.cautions)
    assert parse_test(test_words(step.test, harness), harness) == step.test
    assert test_from_data(test_as_data(step.test), harness) == step.test


def test_a_fuse_in_the_hand_is_not_measured_again_with_the_controls_set_otherwise() -> None:
    """Out of the vehicle it is the same fuse whatever is switched on (common practice, no source)."""
    own, harness = investigator(), investigator().harness
    pressed, dark = harness.state({"brake pedal": "pressed"}), frozenset({"dark"})
    seen = Symptom(pressed, (LampSeen("left rear stop", dark), LampSeen("right rear stop", dark)))
    link = next(d for d in harness.parts["F3"].devices if isinstance(d, FuseLink))
    pulled = (Intervention("pull fuse", "F3"),)
    for state in (pressed, harness.state({}), harness.state({"lamp switch": "side"}, engine_running=True)):
        told = Reading(Test("ohms", state, link.a, link.b, done=pulled), parse_value("open", "ohms", ""))
        step = propose(own.diagnose([seen, told]), Standing(pressed))
        assert step.test is None or step.test.done != pulled
        assert not any(o.says.startswith("pull fuse F3; in the hand") for o in step.options)


def _glass_fibre(odds: Mapping[str, float]) -> tuple[Diagnosis, list[int]]:
    """These open faults of an earth on fibre glass with these shares, and all others out of question."""
    own = tool_on(MODEL.with_stem("glass_fibre"))
    found = own.diagnose([parse_symptom("left rear indicator dark when indicators left", own.harness)], pairs=False)
    rows = [next(i for i, h in enumerate(found.hypotheses) if h.faults[0].name == n) for n in odds]
    share = np.zeros(len(found.hypotheses))
    share[rows] = list(odds.values())
    suspects = tuple(Suspect(found.hypotheses[i].repair, float(share[i]), (i,), found.hypotheses[i]) for i in rows)
    return replace(found, share=share, undescribed=0.0, suspects=suspects), rows


def test_no_smaller_repair_stands_for_a_larger_one() -> None:
    """A wire and its eyelet are one to the current. Whoever renews the wire has made its ends anew; whoever cleans
    the eyelet has mended no wire. By hand, eyelet 9 and wire 26 minutes, 5 for a thing cleaned in vain: at a quarter
    for the eyelet 9 + 0.75 · (5 + 26) = 32.3 is more than 26, and the wire is one repair for both; at an even chance
    9 + 0.5 · 31 = 24.5 is less, and they are two."""
    eyelet, wire = "eyelet open: E1 from C1.8", "wire open: C1.8 – E1"
    for share, two in ((0.25, False), (0.5, True)):
        found, rows = _glass_fibre({eyelet: share, wire: 1 - share})
        repairs, label = cures(found, rows)
        first, second = (found.hypotheses[i].repair for i in rows)
        assert [repairs[k] for k in label] == [first if two else second, second]


def test_an_eyelet_is_mended_with_the_earth_point_that_is_tried_first() -> None:
    """And the wire comes after it (common practice, no source)."""
    found, rows = _glass_fibre({"eyelet open: E1 from C1.8": 0.2, "wire open: C1.8 – E1": 0.3, "earth open: E1": 0.5})
    repairs, label = cures(found, rows)
    wire, point = (found.hypotheses[i].repair for i in rows[1:])
    assert [repairs[k] for k in label] == [point, wire, point]


def test_what_has_come_off_a_bolt_shows_nothing_across() -> None:
    """From a wire's far end to the bolt that it leads to, everything else on the bolt whole: the supply if the wire
    is broken. If all has come off the bolt the meter's other lead hangs on nothing, and it shows 0 but for what the
    insulation lets through, a hundredth of the supply (Kirchhoff)."""
    found, rows = _glass_fibre({"wire open: C1.8 – E1": 0.5, "earth open: E1": 0.5})
    offered = [c for c in Candidates(found, rows).all() if c.test.kind == "drop" and {
        c.test.plus, c.test.minus} == {"C1.8'", "E1"}]

    assert offered
    for c in offered:
        told = np.abs(found.predictor.observed(c.test, [found.hypotheses[i].change for i in rows]))
        assert told[0] > 5 and told[1] < 0.2
        assert float(np.minimum(c.likelihood[:, 0], c.likelihood[:, 1]).sum()) < 0.01
