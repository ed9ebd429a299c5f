"""Rules of the plan: the engine stays off, parts are cleared before they are condemned, nothing is asked twice.

What a rule rests on stands in its test; facts of the trade are marked "common practice, no source".
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import tool_on
from tracer.circuit.model import NO_CHANGE, OHMMETER_LEADS_OHM, OHMMETER_OHM, OHMMETER_V, build_circuit
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.inference.battery_voltage import FACTORS, SupplyDoubt
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.expected_results import Expectation, by_outcome
from tracer.inference.hypotheses import basic_states
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import isolated
from tracer.planning.constraints import Limits, allowed
from tracer.planning.costs import (
    BATTERY_MIN,
    CLEANED_IN_VAIN_MIN,
    WRONG_PART_MIN,
    Standing,
    in_vain_minutes,
    minutes_of,
)
from tracer.planning.cures import cures
from tracer.planning.next_step import propose

MODEL = Path(__file__).parents[2] / "harness_models" / "rear_end.yaml"
STOP_AND_TAIL = "left rear stop + left rear tail"


@cache
def investigator() -> Investigator:
    return tool_on(MODEL)


def diagnose(symptom: str, *readings: tuple[str, str], engine_running: bool = False) -> Diagnosis:
    harness = investigator().harness
    seen = parse_symptom(symptom, harness)
    evidence: list[Symptom | Reading] = [replace(seen, state=replace(seen.state, engine_running=engine_running))]
    for words, value in readings:
        test = parse_test(words, harness)
        evidence.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return investigator().diagnose(evidence)


def living(diagnosis: Diagnosis) -> list[int]:
    return [s.rows[0] for s in diagnosis.suspects[:12]]


def in_hand(*lamps: str) -> Test:
    """The ohmmeter across one filament of the left stop and tail lamp, or between its two live contacts."""
    harness = investigator().harness
    a = harness.lamp(lamps[0])
    b = harness.lamp(lamps[1]).a if len(lamps) > 1 else a.b
    return Test("ohms", harness.state({}), a.a, b, done=(Intervention("take out lamp", STOP_AND_TAIL),))


@pytest.mark.parametrize(
    ("fault", "severity", "stop", "tail", "between"),
    [
        (None, None, 0.561, 2.337, 2.897),
        ("filament open: left rear stop", None, np.inf, 2.337, np.inf),
        # 0.2 Ω between the live contacts: 0.561 ‖ (0.2 + 2.337), 2.337 ‖ (0.2 + 0.561), 0.2 ‖ (0.561 + 2.337).
        ("filaments bridged: left rear stop + left rear tail", 0.2, 0.459, 0.574, 0.187),
        # Holder and wiring are left behind: an open or shorted holder does not touch what the lamp measures.
        ("holder open: left rear stop holder contact", None, 0.561, 2.337, 2.897),
        ("holder shorted: left rear stop", None, 0.561, 2.337, 2.897),
    ],
)
def test_a_lamp_in_the_hand_shows_its_own_filaments(
    fault: str | None, severity: float | None, stop: float, tail: float, between: float
) -> None:
    """By Ohm's law: 21 W and 5 W lamps take 25 W and 6 W at 13.5 V (UN R37), hot 7.29 Ω and 30.4 Ω, cold a
    thirteenth of that: 0.561 Ω and 2.337 Ω."""
    predictor = investigator().predictor
    found = find_fault(investigator().faults, fault) if fault else None
    change = NO_CHANGE if found is None else (found.at(severity) if severity else found.variants[0]).change
    tests = [in_hand("left rear stop"), in_hand("left rear tail"), in_hand("left rear stop", "left rear tail")]

    shown = [float(predictor.observed(t, [change])[0]) - OHMMETER_LEADS_OHM for t in tests]

    assert shown == pytest.approx([stop, tail, between], rel=2e-3, abs=1e-3)
    assert OHMMETER_V / OHMMETER_OHM < 0.002  # a milliampere warms a filament by a thousandth at most


def test_a_lamp_in_the_hand_needs_no_battery_disconnected() -> None:
    """It is out of the circuit (common practice, no source); resistance in the vehicle is measured dead."""
    harness = investigator().harness
    standing = Standing(harness.state({}), frozenset({"left rear corner"}))
    out = minutes_of(in_hand("left rear stop"), standing, harness)
    inside = minutes_of(parse_test("ohms left rear.stop to left rear.earth", harness), standing, harness)

    assert out < inside
    assert inside > BATTERY_MIN


def test_a_lamp_is_cleared_or_condemned_before_it_is_renewed() -> None:
    """Common practice, no source: no lamp is bought on suspicion. The holder is as old as the lamp."""
    found = diagnose("left rear stop dark, right rear stop normal when brake pressed")
    assert found.suspects[0].repair == f"new lamp: {STOP_AND_TAIL}"

    step = propose(found, Standing(found.evidence[0].state))  # type: ignore[union-attr]

    assert step.kind == "test"


def test_the_full_supply_across_a_dark_lamp_and_an_open_filament_condemn_the_lamp() -> None:
    """Two-sided check of the trade (common practice, no source): feed and earth good, and open in the hand."""
    harness = investigator().harness
    symptom = parse_symptom("left rear stop dark when brake pressed", harness)
    evidence: list[Symptom | Reading] = [symptom, Reading(in_hand("left rear stop"), parse_value("open", "ohms"))]
    found = investigator().diagnose(evidence)

    step = propose(found, Standing(symptom.state))

    assert found.suspects[0].share > 0.97
    assert (step.kind, step.says) == ("repair", f"new lamp: {STOP_AND_TAIL}")
    assert step.test is None  # it was measured already


def test_no_test_asks_for_the_engine_when_the_ignition_alone_shows_the_same() -> None:
    """A rear lamp lights by the battery as well as by the generator, only less brightly, and every lamp alike."""
    found = diagnose("left rear stop dark when brake pressed", engine_running=True)
    states = {c.test.state for c in Candidates(found, living(found)).all()}

    assert found.evidence[0].state.engine_running  # type: ignore[union-attr]
    assert states and not any(s.engine_running for s in states)


def test_what_was_looked_at_is_not_asked_again_under_another_name() -> None:
    """The stop lamps share nothing with the lamp switch but the battery and its earth: with both controls
    moved the left one looks the same under every suspect left, so that look tells nothing new."""
    found = diagnose(
        "left rear stop dark when brake pressed", ("volts left rear.stop when brake pressed", "12.3 V"),
        ("volts left rear.earth when brake pressed", "0.02 V"),
    )
    maker = Candidates(found, living(found)[:2])

    assert {s.repair for s in found.suspects[:2]} == {
        f"new lamp: {STOP_AND_TAIL}", f"clean the holder of {STOP_AND_TAIL}"
    }
    assert not [c for c in maker.all() if c.test.kind == "volts" and c.test.plus == "left rear.stop"]


def test_no_points_are_measured_twice_under_two_names() -> None:
    """A volt drop to the body is the voltage of that point."""
    found = diagnose("left rear stop dim when brake pressed")
    tests = [c.test for c in Candidates(found, living(found)).all() if c.test.kind in ("volts", "drop")]
    points = [(t.state, frozenset({t.plus, t.minus}), t.done) for t in tests]

    assert len(points) == len(set(points))


def test_a_weak_battery_explains_all_readings_at_once() -> None:
    """Three readings 5 % low are one battery 5 % low: weighed together they are hardly less likely than the
    first of them alone, where each by itself would be 1.7 standard deviations off (SUPPLY_SHARE is 3 %)."""
    together = SupplyDoubt(1)
    active = np.array([0])

    def shows(volts: float) -> float:
        return float(together.weigh(active, -0.5 * ((volts - 12.0 * FACTORS[:, None]) / 0.1) ** 2)[0])

    first, second, third = (shows(11.4) for _ in range(3))

    assert first < -1.0
    assert second > -0.7
    assert third > second


def test_each_outcome_names_the_suspects_that_predict_it() -> None:
    """A workshop meter, a battery not measured: 0.00 V and 0.05 V are one outcome, 3.4 V is another."""
    expected = [
        Expectation("earth", 0.5, "3.40 V"), Expectation("way", 0.3, "0.00 V"), Expectation("wire", 0.2, "0.05 V"),
        Expectation("fuse", 0.1, "open"),
    ]

    told = by_outcome(expected)

    assert [(o.shows, o.repairs) for o in told] == [
        ("3.40 V", ("earth",)), ("0.00 V", ("way", "wire")), ("open", ("fuse",))
    ]
    assert [o.share for o in told] == pytest.approx([0.5, 0.5, 0.1])


@pytest.mark.parametrize("path", sorted(MODEL.parent.glob("*.yaml")), ids=lambda p: p.stem)
def test_voltages_of_every_model_refer_to_a_node_that_is_there(path: Path) -> None:
    harness = load_harness(path)

    assert build_circuit(harness).node(harness.reference) == 0


@pytest.mark.parametrize("model", ["glass_fibre", "motorcycle_6v", "tow_7pin"])
def test_every_test_that_a_vehicle_offers_can_be_predicted_priced_and_said(model: str) -> None:
    """On a body of glass fibre, where the black lead goes to the battery, and with several bodies."""
    harness = load_harness(MODEL.with_stem(model))
    own = Investigator(harness)
    state, lamp = next(
        (s, f.lamp) for s in basic_states(harness) for f in reversed(own.predictor.lamps)
        if own.predictor.healthy(s).flux[0, own.predictor.lamp_index[f.lamp]] > -0.5
    )
    found = own.diagnose([Symptom(state, (LampSeen(lamp, frozenset({"dark"})),))], pairs=False)
    offered = [c.test for c in Candidates(found, living(found)).all()]

    assert {t.kind for t in offered} >= {"volts", "ohms", "test lamp"}
    nodes = set(own.predictor.circuit.nodes)
    for test in offered:
        assert test.kind == "inspect" or {test.plus, test.minus} - {""} <= nodes
        assert minutes_of(test, Standing(state), harness) > 0 and test.says(harness)


def test_looking_again_at_the_same_light_tells_next_to_nothing() -> None:
    """A stop lamp called dim, and looked at again: whoever called it so by eye says so again nine times in ten. A
    slip does not repeat itself: under a dead filament it is 0.02 / 5 = 0.004, of a careless person 0.9 · 0.004 +
    0.1 / 5 = 0.0236, of people 0.97 · 0.004 + 0.03 · 0.0236 = 0.004588; twice 0.97 · 0.004² + 0.03 · 0.0236² =
    3.223e-5, which is 0.00702 after once."""
    state = investigator().harness.state({"brake pedal": "pressed"})
    dim = Reading(Test("look", state, lamp="left rear stop"), parse_value("dim", "look", "left rear stop"))
    holders = [h for h in investigator().singles if h.faults[0].name.startswith("holder bad: left rear stop holder")]
    dead = [h for h in investigator().singles if h.faults[0].name == "filament open: left rear stop"]
    once, twice = (investigator().weigh([*holders, *dead], [dim] * times).sum(axis=0) for times in (1, 2))
    shown = np.exp(once)
    seen = shown > 0.2

    assert seen[: len(holders)].any() and not seen[len(holders) :].any()
    assert np.all(np.exp(twice - once)[seen] > 0.9)
    assert shown[len(holders) :] == pytest.approx([0.004588], rel=1e-3)
    assert np.exp(twice - once)[len(holders) :] == pytest.approx([0.00702], rel=1e-2)


def test_cleaning_in_vain_costs_less_than_a_part_bought_in_vain() -> None:
    """Common practice, no source: a wire brush on a sound earth does no harm, a sound lamp in the bin does."""
    faults = [find_fault(investigator().faults, n) for n in ("earth open: E1", "filament open: left rear stop")]

    assert in_vain_minutes(faults[:1]) == CLEANED_IN_VAIN_MIN
    assert in_vain_minutes(faults) == CLEANED_IN_VAIN_MIN + WRONG_PART_MIN


def test_one_repair_stands_for_what_no_current_tells_apart() -> None:
    """A wire and its leg in a splice are one conductor, and the new wire mends both. Where the splice as a whole is
    in question too, its leg is mended with whichever comes first, and never a third repair (common practice, no
    source)."""
    own = tool_on(MODEL.with_stem("pickup"))
    state = own.harness.state({"lamp switch": "side"})
    dim = LampSeen("left rear tail", frozenset({"dim"}))
    found = own.diagnose([Symptom(state, (dim,))], pairs=False)
    wire, leg, splice = (next(i for i, h in enumerate(found.hypotheses) if h.faults[0].name == n) for n in (
        "wire open: S5 – C2.1", "splice leg open: S5 to C2.1", "splice open: S5"))
    new, remade = (found.hypotheses[i].repair for i in (wire, splice))

    repairs, labels = cures(found, [wire, leg])
    assert [repairs[k] for k in labels] == [new, new]
    repairs, labels = cures(found, [wire, leg, splice])
    assert [repairs[k] for k in labels] in ([new, new, remade], [new, remade, remade])


def test_alone_nothing_is_held_while_the_hands_are_elsewhere() -> None:
    """A pedal without a prop takes a foot at the pedal: no probe reaches the rear lamp meanwhile (common practice,
    no source). A lamp in the hand needs no pedal, and a look no hand."""
    harness = investigator().harness
    found = diagnose("left rear stop dark when brake pressed")
    offered = [c.test for c in Candidates(found, living(found)).all()]
    held = [t for t in offered if t.state["brake pedal"] == "pressed" and t.kind != "ohms"]
    alone = [t for t in offered if allowed(t, harness, Limits(alone=True))]

    assert {t.kind for t in held} >= {"look", "volts", "test lamp"}
    assert all(t.kind == "look" for t in alone if t in held)
    assert in_hand("left rear stop") in [replace(t, state=harness.state({})) for t in alone]
    step = propose(found, Standing(found.evidence[0].state), Limits(alone=True))  # type: ignore[union-attr]
    assert step.test is None or step.test.kind in ("look", "ohms") or step.test.state["brake pedal"] == "released"


def test_a_reading_that_moves_with_a_wire_points_at_a_loose_contact() -> None:
    """A feed terminal that jumps between dead and full voltage is fed through a contact that comes and goes on its
    way; the holder and the lamp behind it cannot do that (Kirchhoff: nothing behind a point cuts off its feed),
    and a contact that stays open cannot either. What the one reading tells is its odds; how likely the lamp was
    before is another matter: of two stop lamps on one feed only one was complained of."""
    dark = "left rear stop sometimes dark when brake pressed"
    at = "volts left rear.stop when brake pressed"
    before, after = diagnose(dark), diagnose(dark, (at, "0.1 to 12.2 V wiggling"))

    def share(found: Diagnosis, kinds: tuple[str, ...], comes_and_goes: bool) -> float:
        return sum(
            float(p) for h, p in zip(found.hypotheses, found.share, strict=True)
            if h.faults[0].kind.startswith(kinds) and (h.awake < 1) == comes_and_goes and len(h.faults) == 1
        )

    behind, ahead = ("filament", "holder", "mounting"), ("way", "switch", "clip")

    def odds(found: Diagnosis, comes_and_goes: bool) -> float:
        return share(found, behind, comes_and_goes) / share(found, ahead, True)

    assert share(before, behind, True) > 0.1
    assert odds(after, True) < 0.15 * odds(before, True)
    assert odds(after, False) < 0.15 * odds(before, False)
    assert after.suspects[0].best.awake < 1


def test_what_touches_is_measured_apart_from_everything_else() -> None:
    """Two wires that touch: with the plugs at their ends pulled and all switched off, what they touch with and
    the leads to the body, and nothing on a sound wire (Ohm). Left plugged, the cold lamps would join them too."""
    harness, predictor = investigator().harness, investigator().predictor
    fault = next(f for f in investigator().faults if f.kind == "wires joined")
    test = isolated(fault, harness)
    assert test is not None and test.kind == "ohms" and test.state == harness.state({})
    assert {i.action for i in test.done} <= {"unplug"}

    bad, sound = predictor.observed(test, [fault.variants[0].change, NO_CHANGE])

    assert bad == pytest.approx(0.2 + OHMMETER_LEADS_OHM, abs=0.08)  # 0.2 Ω where they touch, and centimetres of wire
    assert sound > 5 * bad
    assert not test.sets_state(harness)  # it has no ignition switch
    pickup = load_harness(MODEL.with_stem("pickup"))
    joined = next(f for f in list_faults(pickup) if f.kind == "wires joined")
    other = isolated(joined, pickup)
    assert other is not None and other.says(pickup).startswith("set ignition off")
    assert isolated(find_fault(investigator().faults, "filament open: left rear stop"), harness) is None


def test_a_leak_beside_cold_lamps_is_measured_with_the_lamps_of_one_side_out() -> None:
    """5.9 Ω between ways 1 (ten small lamps) and 2 (two stop lamps) of C2, which stays together. By hand: a stop
    filament is cold 7.3 Ω / 13 = 0.56 Ω, two of them side by side 0.28 Ω, and the small ones have less than half an
    ohm more: beside that 5.9 Ω are not seen. With the two stop lamps out nothing else is left."""
    pickup = load_harness(MODEL.with_stem("pickup"))
    leak, predictor = find_fault(list_faults(pickup), "ways joined: C2 ways 1 and 2"), Predictor(pickup)
    lamps_in, out = (isolated(leak, pickup, x) for x in (False, True))
    assert lamps_in is not None and out is not None
    assert [i.target for i in out.done] == ["left rear stop + left rear tail", "right rear stop + right rear tail"]
    changes = [leak.at(5.9).change, NO_CHANGE]

    bad, sound = predictor.observed(lamps_in, changes)
    assert bad < 1.0 and sound < 1.1 * bad
    bad, sound = predictor.observed(out, changes)
    assert bad == pytest.approx(5.9 + OHMMETER_LEADS_OHM, abs=0.1) and sound > 1e6
