"""The wires taken off a part: what stays then is not in it. And a battery, once what it feeds is off."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import MODELS, evidence_from, tool_on
from tests.ngspice import needs_ngspice, node_volts, run_ngspice
from tracer.circuit.model import NO_CHANGE, OHMMETER_LEADS_OHM
from tracer.circuit.spice import netlist
from tracer.errors import TracerError, UnknownNameError
from tracer.faults import Fault, find_fault
from tracer.inference.diagnose import Investigator
from tracer.observation.actions import ACTIONS, Intervention
from tracer.observation.evidence import Reading, Symptom, Test
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value, test_as_data, test_from_data
from tracer.planning.candidates import Candidates
from tracer.planning.costs import LOOK_MIN, Standing, after_test, minutes_of
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.next_step import propose
from tracer.present.job_words import test_words
from tracer.safety.advice import cautions_of, of_test


@cache
def tool(model: str) -> Investigator:
    return tool_on(MODELS / f"{model}.yaml")


def planted(model: str, name: str) -> Fault:
    return find_fault(tool(model).faults, name)


def told(model: str, symptoms: tuple[str, ...], *readings: tuple[str, str]) -> list[Symptom | Reading]:
    return evidence_from(tool(model).harness, *symptoms, *readings)


# --- what it does

STUCK = "switch never breaks: hazard switch 49a-R"
LAMP = "right front indicator"


@pytest.mark.parametrize(("taken", "lit"), [("hazard switch", False), ("indicator stalk", True), ("", True)])
def test_a_contact_that_never_opens_is_out_when_its_wires_are(taken: str, lit: bool) -> None:
    """The invented tractor: stalk and hazard switch both feed the right side; whichever does so is found by taking
    the other out of the circuit."""
    predictor, harness = tool("tractor").predictor, tool("tractor").harness
    done = (Intervention("take wires off", taken),) if taken else ()
    change = Test("look", harness.state({"ignition": "on"}), lamp=LAMP, done=done).change(predictor.circuit)
    setup = predictor.setup(harness.state({"ignition": "on"}), change)
    panel = predictor.panel(setup, predictor.table([planted("tractor", STUCK).variants[0].change]))
    assert bool(panel.flux[0, predictor.lamp_index[LAMP]] > -1) is lit


def test_what_was_added_at_a_lamp_goes_with_its_wires_and_what_the_loom_joins_stays() -> None:
    """The invented trailer, stop and tail joined on the right: by something added in the lamp unit, or in the loom.
    Without it there are the filaments of the other lamp unit between them."""
    predictor, harness = tool("trailer_7pin").predictor, tool("trailer_7pin").harness
    added = planted("trailer_7pin", "added joint: right lamp unit stop and right lamp unit tail").variants[0].change
    loom = planted("trailer_7pin", "wires joined: S2 – right lamp unit.tail and S3 – right lamp unit.stop")
    points = "ohms right lamp unit.stop to right lamp unit.tail"
    test = parse_test(f"{points} with wires off right lamp unit, X1 unplugged", harness)
    shown = predictor.observed(test, [added, loom.variants[0].change, NO_CHANGE])
    assert shown[0] > 3 and shown[2] > 3
    # By hand: the joint of 0.2 ohm beside those filaments, and 0.2 ohm of the meter's leads.
    filaments = shown[2] - OHMMETER_LEADS_OHM
    assert shown[1] == pytest.approx(1 / (1 / 0.2 + 1 / filaments) + OHMMETER_LEADS_OHM, abs=1e-3)
    connected = predictor.observed(parse_test(f"{points} with X1 unplugged", harness), [added])
    assert connected[0] < 1, "before, it shows in both cases"


@needs_ngspice
def test_ngspice_confirms_a_part_without_wires(tmp_path: object) -> None:
    predictor, harness = tool("tractor").predictor, tool("tractor").harness
    netlists, expected = [], []
    for taken in ("hazard switch", "indicator stalk", "right front"):
        test = Test("look", harness.state({"ignition": "on"}), lamp=LAMP,
                    done=(Intervention("take wires off", taken),))
        setup = predictor.setup(test.state, test.change(predictor.circuit))
        change = planted("tractor", STUCK).variants[0].change
        settled = predictor.settled(setup, predictor.table([change]))
        netlists.append(netlist(predictor.circuit, setup, change, predictor.settler.pulled_in(settled)))
        expected.append(settled.solution.volts[0])
    for found, own in zip(run_ngspice(netlists, tmp_path), expected, strict=True):  # type: ignore[arg-type]
        assert node_volts(predictor.circuit, found) == pytest.approx(own, abs=5e-3)


# --- words, minutes, cautions

SWITCH_OFF = "look right front indicator when ignition on, wires off hazard switch"


@pytest.mark.parametrize("words", [
    SWITCH_OFF, "look right front indicator when ignition on with the wires taken off the hazard switch",
    "look at right front indicator when ignition on with take the wires off hazard switch",
])
def test_it_can_be_typed_and_recorded(words: str) -> None:
    harness = tool("tractor").harness
    test = parse_test(words, harness)
    assert test.done == (Intervention("take wires off", "hazard switch"),)
    assert parse_test(test_words(test, harness), harness) == test
    assert test_from_data(test_as_data(test), harness) == test
    says = "take the wires off hazard switch (mark them); set ignition on; look at the right front indicator lamp"
    assert test.says(harness) == says


def test_what_has_no_wires_to_take_off_is_said() -> None:
    harness = tool("tractor").harness
    for name in ("battery", "hazzard switch"):
        with pytest.raises(TracerError, match=f"no part “{name}” with wires"):
            parse_test(f"look right front indicator when ignition on, wires off {name}", harness)
        done = {"action": "take wires off", "target": name}
        data = test_as_data(parse_test(SWITCH_OFF, harness)) | {"done": [done]}
        with pytest.raises(UnknownNameError, match=f"no part with wires “{name}”"):
            test_from_data(data, harness)


def test_minutes_and_cautions() -> None:
    """A minute and a half for the wires of a switch, off and on again, beside the look and the way. Its terminal
    30 is live with everything off: the battery goes off for the wires, on for the look, off for the wires: 3 × 2."""
    harness = tool("tractor").harness
    test = parse_test(SWITCH_OFF, harness)
    place, access = harness.place_of("hazard switch.49a")
    there = Standing(test.state, frozenset({place}))
    assert ACTIONS["take wires off"].minutes == 1.5
    assert minutes_of(test, there, harness) == pytest.approx(LOOK_MIN + 1.5 + 6)
    assert minutes_of(test, Standing(test.state), harness) == pytest.approx(LOOK_MIN + 1.5 + 6 + access)
    assert after_test(test, there, harness).battery_off
    said = cautions_of(of_test(test, harness))
    assert {"battery", "bare ends"} <= {c.head for c in said if c.grade == "caution"}


# --- where it decides


def test_of_two_switches_in_parallel_one_is_taken_out_before_either_is_renewed() -> None:
    """Volt drops tell nothing: both are closed or look so."""
    evidence = told("tractor", ("right front indicator normal flashing, right rear indicator normal flashing, "
                                "indicator tell-tale normal flashing when ignition on",))
    found = tool("tractor").diagnose(evidence)
    both = {"repair or renew indicator stalk", "repair or renew hazard switch"}
    assert {s.repair for s in found.suspects[:2]} == both
    step = propose(found, Standing(tool("tractor").harness.state({"ignition": "on"})))
    assert step.test is not None and step.test.done and step.test.done[0].action == "take wires off"

    still = "look right front indicator when ignition on, wires off indicator stalk"
    told_so = tool("tractor").diagnose([*evidence, *told("tractor", (), (still, "normal flashing"))])
    assert told_so.suspects[0].repair == "repair or renew hazard switch"
    at_it = sum(s.share for s in told_so.suspects if "hazard switch" in s.repair)  # or a wire that bypasses it
    assert at_it > 0.8


def test_a_battery_is_measured_with_everything_off_before_it_is_renewed() -> None:
    """The invented car of the 1950s, a wire without a fuse rubbed through: what it draws pulls the battery down."""
    evidence = told(
        "car_1950s", ("left rear tail dim, right rear tail dim, number-plate lamp dim when lamp switch side",
                      "left front side dim, right front side dim when lamp switch head"),
        ("volts battery.- when lamp switch head", "-9.67 V"),
    )
    harness = tool("car_1950s").harness
    found = tool("car_1950s").diagnose(evidence)
    # The wires that may be rubbed through share what it does not hold; each of them alone may come before it.
    rows, _ = rows_to_plan_with(found)
    assert "charge or renew battery" in {found.hypotheses[r].repair for r in rows}
    at_rest = Test("volts", harness.at_rest(), "battery.-", harness.reference)
    assert at_rest in {c.test for c in Candidates(found, rows).all()}
    rested = tool("car_1950s").diagnose([
        *evidence, Reading(at_rest, parse_value("-12.4 V", "volts")),
    ])
    share = {s.repair: s.share for s in rested.suspects}
    assert share.get("charge or renew battery", 0.0) < 0.05
    volts = tool("car_1950s").predictor.observed(at_rest, [NO_CHANGE])
    assert np.abs(volts[0]) > 12
