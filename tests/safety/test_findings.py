"""Nine things that were once proposed, printed or left out, and what must stand there instead."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.faces.test_commands import run as run
from tests.library import evidence_from, tool_on
from tests.long import large_long
from tests.shared import investigator_for, unremarked
from tracer.checking.chart import chart
from tracer.checking.rules import check
from tracer.checking.simulation import simulate
from tracer.errors import TracerError
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.job.job import Job
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_test, parse_value, test_key
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.costs import Standing, after_test
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.next_step import Proposal, propose
from tracer.planning.repair_proof import plan_proof
from tracer.present.job_words import test_steps as guide_steps
from tracer.present.report import report_data, report_markdown
from tracer.present.wall_chart import wall_html
from tracer.safety.advice import Now, cautions_of, of_look, of_repair, of_test, of_tracing, steps_of
from tracer.safety.feeds import Shorts
from tracer.safety.lines import lines_of
from tracer.safety.permitted import forbidden, state_hazard

MODELS = Path(__file__).parents[2] / "harness_models"


def model(name: str) -> Harness:
    return load_harness(MODELS / f"{name}.yaml")


def step_after(name: str, *evidence: str | tuple[str, str]) -> tuple[Investigator, Proposal]:
    """The proposal after symptoms (text) and readings (test, value)."""
    tool = tool_on(MODELS / f"{name}.yaml")
    found = evidence_from(tool.harness, *evidence)
    standing = Standing(tool.harness.state({}))
    for item in found:
        if isinstance(item, Reading):
            standing = after_test(item.test, standing, tool.harness)
    return tool, propose(tool.diagnose(found), standing)


def texts(step: Proposal, grade: str) -> list[str]:
    return [c.text for c in step.cautions if c.grade == grade]


# --- 1: a feed without a fuse on the body


def test_after_a_feed_was_measured_to_the_body_only_dead_tests_follow() -> None:
    """12 V / 0.3 Ω = 40 A at least, in a wire that nothing but the battery protects."""
    tool, step = step_after(
        "pickup", "every lamp dark when lights side", ("ohms battery.+ to body", "0.3 ohm"))

    shorts = Shorts(tool.diagnose([
        Reading(parse_test("ohms battery.+ to body", tool.harness), parse_value("0.3 ohm", "ohms"))]))
    assert shorts.anywhere
    assert step.test is None or step.test.dead
    assert any(t.startswith("Fire: a wire without a fuse may lie on the body.") for t in texts(step, "danger"))
    everything = " ".join(s.text for s in (*step.steps, *step.repair_steps))
    assert "stays off" in everything or "minus lead off" in everything
    assert not any("on again" in s.text for s in step.steps)


def test_a_share_of_more_than_two_in_a_hundred_is_enough_and_less_is_not() -> None:
    tool = tool_on(MODELS / "pickup.yaml")
    found = tool.diagnose([parse_symptom("left rear tail dark when lights side", tool.harness)])
    live = tool.harness.state({"lamp switch": "side"})
    shorted = [i for i, h in enumerate(found.hypotheses)
               if h.repair.startswith("repair the") and Shorts(found).feeds.lies_on_body(h.change, live)]
    assert shorted, "the battery feed may rub through"
    test = parse_test("volts left rear.tail when lights side", tool.harness)
    for held, likely in ((0.019, False), (0.021, True)):
        share = found.share * 0
        share[shorted[0]] = held
        shorts = Shorts(replace(found, share=share, evidence=()))
        assert shorts.likely(live) is likely
        assert bool(forbidden(test, tool.harness, shorts)) is likely


def test_who_sees_lamps_shine_has_no_lasting_hard_short_in_their_feed() -> None:
    """0.05 Ω on the body: 12 / (0.02 + 0.05 + 0.01) = 150 A, and 1.5 mm² melts at some 130 A. Who has just seen the
    stop lamps glow stands at no such car; with 1.5 Ω (8 A) it may smoulder, and with the lamps dark nobody knows."""
    tool = tool_on(MODELS / "car_1950s.yaml")
    at = tool.harness.state({"brake pedal": "pressed"})
    look = parse_test("look left rear stop when brake pressed", tool.harness)
    for said, counted in (("dim", {1.5}), ("dark", {0.05, 1.5})):
        text = f"left rear stop {said}, right rear stop {said} when brake pressed"
        by_symptom = tool.diagnose([parse_symptom(text, tool.harness)])
        by_look = tool.diagnose([Reading(look, parse_value(said, look.kind, look.lamp))])
        assert _left(by_symptom, at) == _left(by_look, at) == counted


def test_nothing_is_switched_on_where_one_vehicle_in_fifty_would_burn() -> None:
    """What is fed without a fuse there lies on the body in so many of the vehicles that this may be (judgement)."""
    tool = tool_on(MODELS / "car_1950s.yaml")
    at = tool.harness.state({"brake pedal": "pressed"})
    found = tool.diagnose([parse_symptom("left rear stop dark when brake pressed", tool.harness)])
    row = next(i for i, h in enumerate(found.hypotheses) if len(h.faults) == 1 and h.faults[0].kind == "wire to body"
               and h.repair == "repair the N wire S1 – ignition switch.30")
    for share, likely in ((0.0, False), (0.015, False), (0.03, True), (1.0, True)):
        shares = found.share * 0
        shares[row] = share
        assert Shorts(replace(found, share=shares)).likely(at) == likely


def test_hands_come_to_no_body_as_such() -> None:
    """Of what a fault joins to the body one end is a place to go to; of an earth point it is the point."""
    tool = tool_on(MODELS / "rear_end.yaml")
    touched = {n for f in tool.faults for n in of_repair([f], tool.harness).nodes}
    assert touched and "" not in touched and not touched & {*tool.harness.bodies()}
    assert of_repair([find_fault(tool.faults, "earth bad: E1")], tool.harness).nodes == ("E1",)


def _left(found: Diagnosis, at: VehicleState) -> set[float]:
    """Ohms of the shorts of the ignition switch's feed that may still be there."""
    left = set()
    for i, h in enumerate(found.hypotheses):
        if len(h.faults) == 1 and h.awake == 1.0 and h.faults[0].kind == "wire to body" and (
                h.repair == "repair the N wire S1 – ignition switch.30"):
            share = found.share * 0
            share[i] = 1.0
            if Shorts(replace(found, share=share)).share(at) > 0.5:
                left.add(h.change.added[0].ohm)
    return left


def test_a_reading_that_cold_lamps_explain_says_nothing_of_a_short() -> None:
    """Pick-up, headlamps on, battery off: two cold H4 lie between the feed and the body, some tenths of an ohm."""
    tool = tool_on(MODELS / "pickup.yaml")
    test = parse_test("ohms battery.+ to body when lights head, ignition on", tool.harness)
    sound = float(tool.predictor.observed(test, [type(tool.faults[0].variants[0].change)()])[0])
    assert sound < 2.0
    found = tool.diagnose([Reading(test, parse_value(f"{sound:.2f} ohm", "ohms"))])
    assert not Shorts(found).measured


def test_of_two_readings_between_the_same_points_the_last_counts() -> None:
    tool = tool_on(MODELS / "pickup.yaml")
    test = parse_test("ohms battery.+ to body", tool.harness)
    found = tool.diagnose([Reading(test, parse_value(v, "ohms")) for v in ("0.3 ohm", "open")])
    assert not Shorts(found).measured


# --- 2: gear with the engine running, the starter


def _illegal(state: VehicleState) -> bool:
    position = dict(state.positions)
    return position.get("ignition") == "start" or (state.engine_running and position.get("gear") == "reverse")


@cache
def with_a_starter() -> Investigator:
    """The rear end, with a key that cranks, a lamp that is lit only then, and a reversing lamp; weighed sooner than a
    whole vehicle."""
    text = (MODELS / "rear_end.yaml").read_text(encoding="utf-8")
    for heading, more in STARTER.items():
        assert f"\n{heading}:\n" in text
        text = text.replace(f"\n{heading}:\n", f"\n{heading}:\n{more}")
    return investigator_for(read_harness(text, "rear end with a starter"))


STARTER = {
    "controls": """\
  ignition: {positions: [off, on, start], assumed: on, sprung: [start]}
  gear: {positions: [neutral, reverse], drives: [reverse]}
""",
    "parts": """\
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15], start: [30-15, 30-50]}}
  reversing switch: {kind: switch, control: gear, contacts: {reverse: [in-out]}}
  reversing lamp: {kind: lamp, lamp: P21W, earth at: E3}
  check tell-tale: {kind: lamp, lamp: 1.2 W, earth at: E3}
""",
    "wires": """\
  - {run: S1 > ignition switch.30, size: 1.5 mm²}
  - ignition switch.15 > reversing switch.in
  - reversing switch.out > reversing lamp.feed
  - ignition switch.50 > check tell-tale.feed
""",
}


def test_no_candidate_and_no_proof_has_the_gear_in_with_the_engine_running_or_the_starter_turning() -> None:
    tool = with_a_starter()
    state = tool.harness.state({"gear": "reverse"}, engine_running=True)
    start = tool.harness.state({"ignition": "start"})
    lamp = next(f.lamp for f in tool.harness.lamps() if "reversing" in f.lamp)
    seen = [Symptom(state, (LampSeen(lamp, frozenset({"dark"})),)),
            Symptom(start, (LampSeen("check tell-tale", frozenset({"dark"})),))]
    found = tool.diagnose(seen, pairs=False)  # what is proposed goes by the states, whatever the suspects are
    rows, _ = rows_to_plan_with(found)
    every = [c.test for c in Candidates(found, rows[:20]).all() if not forbidden(c.test, tool.harness)]
    proof = plan_proof(tool, seen)

    assert len(every) > 50
    assert [t for t in every if _illegal(t.state) and not t.at_rest] == []
    assert [c.state for c in proof.checks if _illegal(c.state)] == []
    assert tool.harness.state({"gear": "reverse"}) in [c.state for c in proof.checks], "the complaint, engine stopped"
    for c in proof.checks:
        told = " ".join(x.text for x in c.cautions)
        assert not ("Engine running" in told and "engine off" in told)


def test_what_was_seen_so_is_kept_with_a_warning(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "estate_1990s.yaml")
    warned = [
        job.symptom("brake pad tell-tale dark when ignition start"),
        job.symptom("left rear tail dark when lights side, gear reverse, engine running"),
    ]
    with unremarked():  # neither what was expected nor what may be short: the warning stands by itself
        warned.append(job.reading("look left rear tail when gear reverse, engine running", "dark"))
    reasons = ("the starter would turn", *2 * ["in gear with the engine running"])
    for recorded, why in zip(warned, reasons, strict=True):
        assert recorded.remark.startswith(f"dangerous as it was done ({why})")
    assert len(job.entries) == 3


# --- 3: whatever is printed carries its cautions


def test_proof_repair_chart_simulation_and_tracing_carry_cautions() -> None:
    harness = model("pickup")
    tool = investigator_for(harness)
    proof = plan_proof(tool, [parse_symptom("left rear reversing dim when gear reverse", harness)])
    gear = next(c for c in proof.checks if c.state["gear"] == "reverse")
    assert [c.text for c in gear.cautions if c.grade == "danger"] == [
        "Gear in reverse: engine off and kept off, handbrake on, wheels chocked first."]
    wire = next(f for f in list_faults(harness) if f.kind == "wire open")
    assert {"sparks", "battery"} <= {c.head for c in cautions_of(of_repair([wire], harness))}
    drawn = chart(harness)
    assert "DANGER: Gear in reverse" in drawn.as_text() and "Gear in reverse" in wall_html(drawn)
    assert drawn.as_markdown().index("DANGER") < drawn.as_markdown().index("| cause")
    assert drawn.as_text().index("DANGER") < drawn.as_text().index("repair:")
    assert [c.head for c in simulate(harness, {"gear": "reverse"}).cautions() if c.grade == "danger"] == ["in gear"]
    running = simulate(harness, {"gear": "reverse"}, True).cautions()
    assert [c.head for c in running if c.grade == "danger"] == ["in gear"]
    assert "Never in gear with the engine running" in running[0].text
    assert {"battery", "lead", "fuse"} <= {c.head for c in cautions_of(of_tracing(harness))}


def test_commands_print_danger_above_the_step(run: object, tmp_path: Path) -> None:
    call = run
    job = tmp_path / "job.yaml"
    assert callable(call)
    call("open", job, "--harness", MODELS / "pickup.yaml")
    call("symptom", job, "left rear reversing dim, left rear tail faint when gear reverse")
    said = call("next", job).out
    assert said.index("DANGER: Gear in reverse") < said.index("TEST V-")
    data = call("next", job, "--json").data
    assert data["cautions"][0]["grade"] == "danger"
    assert [s["phase"] for s in data["steps"]] == ["set", "read", "back"]
    shown = call("repaired", job, "1").out
    assert shown.index("DANGER: Gear in reverse") < shown.index("(the complaint)")
    assert "DANGER" in call("simulate", MODELS / "pickup.yaml", "--set", "gear=reverse").out


# --- 4: the order


def order(text: str, harness: Harness, now: Now | None = None) -> list[str]:
    test = parse_test(text, harness)
    return [s.text for s in steps_of(of_test(test, harness, now or Now(harness.at_rest())))]


def test_everything_is_off_before_a_plug_is_pulled_and_the_state_is_set_after_it() -> None:
    harness = model("pickup")
    assert order("volts C2.5 when ignition on, gear reverse, C2 unplugged", harness) == [
        "Everything off, ignition off.", "Unplug C2.", "Set ignition on, gear reverse.",
        "Voltmeter: red on way 5 of C2, on the wire to terminal earth of left rear, black on clean body metal.",
        "Out of gear again.", "Everything off; then plug C2 together.",
    ]
    test = parse_test("look left rear tail when lights side, C2 unplugged", harness)
    assert test.says(harness).startswith("unplug C2; set")


def test_an_engine_that_ran_for_the_last_step_is_stopped_for_one_without() -> None:
    """Fans and belts turn while somebody reaches for a terminal (common practice, no source)."""
    harness = model("pickup")
    running = Now(parse_test("volts at left rear.stop when brake pressed, engine running", harness).state)
    assert order("volts at left rear.stop when brake pressed", harness, running)[0] == "Stop the engine."
    for now in (Now(harness.at_rest()), Now()):  # nobody knows how it is set: that is asked elsewhere
        assert "Stop the engine." not in order("volts at left rear.stop when brake pressed", harness, now)
    assert "Stop the engine." not in order(
        "volts at left rear.stop when brake pressed, engine running", harness, running)


def test_a_new_fuse_goes_in_with_everything_off() -> None:
    harness = model("pickup")
    steps = order("look left rear tail when lights side, new fuse F1", harness)
    assert steps[:2] == ["Everything off, ignition off.", "Fit a new fuse F1."] and steps[2].startswith("Set ")


def test_wires_that_stay_live_come_off_with_the_battery_off() -> None:
    """Pick-up: terminal 30 of the lamp switch hangs on the battery without a fuse; the brake switch is dead with the
    ignition off."""
    harness = model("pickup")
    fed = order("look left rear tail when lights side, wires off lamp switch", harness)
    assert "minus lead off" in fed[0]
    assert fed[1] == "Take the wires off lamp switch (mark them). Insulate each bare end."
    assert fed[2] == "Battery on again: its minus lead back on." and fed[3].startswith("Set ")
    assert "minus lead off" in fed[-1] and fed[-1].endswith("wires back on lamp switch as marked.")
    dead = order("look left rear stop when brake pressed, wires off brake switch", harness)
    assert dead[0] == "Everything off, ignition off." and not any("lead" in s for s in dead)


def test_a_live_step_after_a_dead_one_begins_with_the_battery_and_the_reverse(tmp_path: Path) -> None:
    harness = model("pickup")
    off = Now(harness.at_rest(), battery_off=True)
    live = order("volts left rear.tail when lights side", harness, off)
    assert live[0] == "Battery on again: its minus lead back on."
    dead = order("ohms C2.5 to body", harness)[0]
    assert dead.startswith("Everything off, ignition off. Take the battery's minus lead")
    assert order("ohms C2.5 to body", harness, off)[0] == "The battery stays off (minus lead)."
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")
    job.symptom("left rear tail dark when lights side")
    job.reading("ohms left rear.earth to body", "0.3 ohm")
    steps = guide_steps(job, parse_test("volts left rear.tail when lights side", harness))
    assert steps[0] == "Battery on again: its minus lead back on."


def test_the_clamp_of_a_positive_earth_car_read_aloud() -> None:
    """Whoever holds the spanner hears which lead first, why, and when it goes back."""
    harness = model("car_1950s")
    clamp = next(f for f in list_faults(harness) if f.repair == "clean the clamp on battery.+")
    facts = of_repair([clamp], harness, Now(harness.at_rest()))
    assert [s.text for s in steps_of(facts, clamp.repair)] == [
        "Everything off, ignition off. Take the battery's plus lead off (plus is earthed here) and keep it clear of "
        "the post.",
        "Clean the clamp on battery.+.",
        "Battery on again: its plus lead back on.",
    ]
    assert [t for g, t in lines_of(cautions_of(facts)) if g == "caution"] == [
        "Battery: everything off; the plus lead off first and on last (plus is earthed here). No ring on the finger, "
        "no bare spanner near the posts, no spark: its gas burns."]


def test_the_live_clamp_of_a_positive_earth_car_comes_off_after_the_earthed_one() -> None:
    harness = model("car_1950s")
    clamp = next(f for f in list_faults(harness) if f.repair == "clean the clamp on battery.-")
    steps = [s.text for s in steps_of(of_repair([clamp], harness, Now(harness.at_rest())), clamp.repair)]
    assert steps[0].endswith("Take the battery's plus lead off (plus is earthed here) and keep it clear of the post.")
    assert steps[-1] == "Battery on again: its plus lead back on."


# --- 5: the ohmmeter and the battery


@pytest.mark.parametrize("path", large_long(sorted(MODELS.glob("*.yaml"))), ids=lambda p: p.stem)
def test_an_ohmmeter_across_the_battery_is_neither_proposed_nor_taken(path: Path, tmp_path: Path) -> None:
    harness = load_harness(path)
    live, earthed = harness.poles()
    for test in (f"ohms {live} to {earthed}", f"ohms {earthed} to {live}"):
        assert "across the battery" in forbidden(parse_test(test, harness), harness)
    job = Job.create(tmp_path / "job.yaml", path)
    with pytest.raises(TracerError, match="an ohmmeter across the battery is destroyed"):
        job.reading(f"ohms {live} to {earthed}", "0.3 ohm")
    assert job.entries == ()


def test_the_lorrys_batteries_in_series_and_either_of_them() -> None:
    harness = model("lorry_24v")
    for one, other in (("1.+", "1.-"), ("2.+", "2.-"), ("2.+", "1.-")):
        assert forbidden(parse_test(f"ohms battery {one} to battery {other}", harness), harness)
    assert not forbidden(parse_test("ohms battery 2.+ to body", harness), harness)
    assert not forbidden(parse_test("ohms battery 1.+ to battery 2.-", harness), harness), "the lead between them"


def test_no_ohms_while_the_engine_runs(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")
    with pytest.raises(TracerError, match="needs the battery off"):
        job.reading("ohms C2.5 to body when engine running", "0.3 ohm")


def test_what_is_measured_in_the_hand_needs_no_battery_and_no_holder() -> None:
    harness = model("pickup")
    lamp = next(f for f in harness.lamps() if "stop" in f.bulb)
    test = Test("ohms", harness.state({}), lamp.a, lamp.b, done=(Intervention("take out lamp", lamp.bulb),))
    assert test.in_hand
    steps = [s.text for s in steps_of(of_test(test, harness))]
    assert steps[0] == "Everything off, ignition off. Let the lamp cool."
    assert steps[2].startswith("In the hand: look at it, then ohmmeter")
    assert not any("attery" in s or "holder" in s for s in steps)
    assert "battery" not in {c.head for c in cautions_of(of_test(test, harness))}


# --- 6: gears, handbrakes, stands, caravans, lorries


GEARED = """\
harness: Test car
system: 12 V negative earth
vehicle: car
controls:
  ignition: {positions: [off, on], assumed: on}
  gear lever: {positions: [forward, neutral, reverse], assumed: neutral, drives: [forward, reverse]}
  handbrake: {positions: [on, released], rolls: [released]}
parts:
  battery: {kind: battery}
  reversing switch: {kind: switch, control: gear lever, contacts: {reverse: [in-out]}}
  F1: {kind: fuse, rating: 8 A}
  reversing lamp: {kind: lamp, lamp: P21W}
earths: [E1, E2]
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > reversing switch.in
  - reversing switch.out > reversing lamp.feed
  - reversing lamp.earth > E2
"""


def dangers(harness: Harness, state: VehicleState, now: Now | None = None) -> list[str]:
    facts = of_look(state, harness, now or Now(harness.state({})))
    return [c.text for c in cautions_of(facts) if c.grade == "danger"]


def test_the_gear_rule_goes_by_what_the_file_declares() -> None:
    harness = read_harness(GEARED)
    assert dangers(harness, harness.state({"gear lever": "neutral"})) == []
    for position in ("forward", "reverse"):
        assert dangers(harness, harness.state({"gear lever": position})) == [
            f"Gear lever in {position}: engine off and kept off, handbrake on, wheels chocked first."]
    # Without the key the name is asked about, and nothing is taken for granted.
    silent = read_harness(GEARED.replace(", drives: [forward, reverse]", ""))
    asked = [f for f in check(silent) if f.severity == "note"]
    assert [(f.rule, f.message.split(",")[0]) for f in asked] == [
        ("moves the vehicle", "gear lever is a gear lever by its name")]
    assert dangers(silent, silent.state({})) == []
    asked = [f for f in check(read_harness(GEARED.replace(", rolls: [released]", ""))) if f.severity == "note"]
    assert "handbrake is a handbrake by its name" in asked[0].message
    assert [f for f in check(harness) if f.severity == "note"] == []


def test_a_handbrake_is_released_only_on_chocks() -> None:
    harness = read_harness(GEARED)
    chocked = ["Handbrake released: wheels chocked in front and behind first, engine off."]
    assert dangers(harness, harness.state({"handbrake": "released"})) == chocked
    # The estate's stands released where nobody says otherwise: going back to it lets the car roll.
    estate = model("estate_1990s")
    on = Now(estate.state({"handbrake": "on"}))
    assert dangers(estate, estate.state({}), on) == chocked
    assert dangers(estate, estate.state({})) == []
    assert state_hazard(harness.state({"handbrake": "released"}, engine_running=True), harness)


def test_a_motorcycle_stands_on_its_stand() -> None:
    bike = model("motorcycle_6v")
    running = bike.state({}, engine_running=True)
    assert dangers(bike, running) == [
        "Engine running: neutral, on its stand, exhaust led out; clear of chain and wheel."]
    test = parse_test("ohms battery.- to body", bike)
    assert not any("chock" in c.text for c in cautions_of(of_test(test, bike)))
    assert any("plus lead off first" in c.text for c in cautions_of(of_test(test, bike)))


def test_the_inside_of_a_caravan_has_mains_a_second_battery_and_gas() -> None:
    tow = model("tow_13pin")
    part = next(p for p in tow.parts.values() if "caravan" in p.place and p.lamps)
    test = parse_test(f"volts {part.name}.{part.terminals[0]} when lights side", tow)
    said = " ".join(c.text for c in cautions_of(of_test(test, tow)) if c.grade == "danger")
    assert all(word in said for word in ("mains", "own battery", "gas"))
    car = next(p for p in tow.parts.values() if "caravan" not in f"{p.place} {p.name}" and p.lamps)
    test = parse_test(f"volts {car.name}.{car.terminals[0]} when lights side", tow)
    assert not any(c.head == "caravan" for c in cautions_of(of_test(test, tow)))


def test_a_lorry_has_two_batteries_a_body_and_air_springs() -> None:
    lorry = model("lorry_24v")
    test = parse_test("ohms battery 2.+ to body", lorry)
    facts = of_test(test, lorry, Now(lorry.at_rest()))
    first = steps_of(facts)[0].text
    assert first.endswith("Take both batteries off: the minus lead of battery 1 first (minus is earthed here), then "
                          "the lead of battery 2.")
    said = " ".join(c.text for c in cautions_of(facts) if c.grade == "danger")
    assert "propped" in said and "stands on air" in said


# --- 7: noise


def test_once_a_job_and_only_where_it_applies() -> None:
    estate, car = model("estate_1990s"), model("car_1950s")
    on = of_test(parse_test("look left rear tail when ignition on, lights side", estate), estate)
    assert not any("coil" in c.text for c in cautions_of(on))
    points = of_test(parse_test("look left rear tail when ignition on, lights side", car), car)
    assert [c.head for c in cautions_of(points) if c.grade == "caution"] == ["coil"]
    again = cautions_of(replace(points, now=Now(said=frozenset({"coil", "local rules"}))))
    assert again == ()


def test_a_caution_is_shortened_and_a_danger_never() -> None:
    harness = model("pickup")
    facts = of_test(parse_test("ohms C2.5 to body", harness), harness)
    later = replace(facts, now=Now(said=frozenset({"battery", "local rules", "secured"})))
    assert [t for g, t in lines_of(cautions_of(later)) if g == "caution"] == ["as before: battery"]
    said = frozenset({"in gear", "coil", "local rules"})
    gear = of_look(harness.state({"gear": "reverse"}), harness, Now(said=said))
    assert [g for g, _ in lines_of(cautions_of(gear))] == ["danger"]
    assert lines_of(cautions_of(gear))[0][1].startswith("Gear in reverse: engine off")


def test_a_job_says_the_local_rules_once(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")
    job.symptom("left rear tail dark when lights side")
    first = job.next()
    assert any(c.head == "local rules" for c in first.cautions) and job.next() == first
    assert first.test is not None
    job.reading(test_key(first.test), "skipped")
    assert not any(c.head == "local rules" for c in job.next().cautions)


# --- 8: splices and electronics


def test_a_taped_splice_is_not_pierced() -> None:
    harness = model("pickup")
    splice = next(iter(harness.splices))
    facts = of_test(parse_test(f"volts {splice} when lights side", harness), harness, Now(harness.at_rest()))
    assert any("pierce no insulation" in c.text for c in cautions_of(facts))
    steps = [s.text for s in steps_of(facts)]
    assert any(s.startswith(f"Take the tape off splice {splice}") for s in steps)
    assert steps[-1].endswith(f"ape splice {splice} again.")
    assert "minus lead off" in steps[0], "S1 hangs on the battery: it is bared with the battery off"


def test_no_filament_test_lamp_at_leds_and_control_units(tmp_path: Path) -> None:
    led = model("saloon_led")
    part = next(p for p in led.parts.values() if any("tail" in f.lamp for f in p.lamps))
    text = f"test lamp at {part.name}.tail when lights side"
    assert forbidden(parse_test(text, led), led) == "a filament test lamp on LEDs or electronics"
    assert not forbidden(parse_test(text.replace("test lamp", "LED tester"), led), led)
    old = model("saloon_1970s")
    assert not forbidden(parse_test(text, old), old)
    job = Job.create(tmp_path / "job.yaml", MODELS / "saloon_led.yaml")
    assert "dangerous as it was done (a filament test lamp" in job.reading(text, "dark").remark


def test_battery_leads_are_not_wiggled() -> None:
    harness = model("pickup")
    for moved in ("battery.- to E6", "battery.+ to S1"):
        test = parse_test(f"wiggle {moved} and watch left rear tail when lights side", harness)
        assert forbidden(test, harness) == "battery leads moved with a load on"
    assert not forbidden(parse_test("wiggle C2 and watch left rear tail when lights side", harness), harness)


# --- 9: the report and the road


def test_the_report_says_what_is_open_and_where_it_may_not_go(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")
    job.symptom("left rear stop dark when brake pressed")
    job.reading("volts left rear.stop when brake pressed", "12.0 V")
    data, text = report_data(job), report_markdown(job)
    assert data["road"]["not_proven"] == ["left rear stop"]
    assert data["road"]["says"].startswith(
        "Not for the road until stop, direction and side lamps work, as local law says")
    assert "approved" in data["road"]["lamps"] and "approved" in text and "Not for the road" in text
    assert {"grade", "text"} == set(data["tests"][0]["cautions"][0])
    at = text.index("## Tests")
    assert "Caution: " in text[at:] and text.count("Local rules and licensed practice come first") == 1


def test_what_is_advised_for_a_lamp_is_the_approved_one() -> None:
    every = [f for p in sorted(MODELS.glob("*.yaml")) for f in list_faults(load_harness(p))]
    needs = {f.needs for f in every if f.kind == "LED fitted"}
    assert needs == {"a filament lamp of the approved category"}
