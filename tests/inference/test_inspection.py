"""Looks along wires, into plugs and at lamps: what is found goes by the fault, and decides what no current can tell.

How often somebody finds what is there is judgement, common practice, no source; what follows from it is worked by
hand.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.bench.spice_vehicle import SpiceVehicle
from tests.library import tool_on
from tracer.faults import find_fault
from tracer.harness.base_rates import RATES
from tracer.harness.file.text import load_harness
from tracer.harness.inspectable import Thing, things_in
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis, together, with_loose_contacts
from tracer.inference.lookalikes import with_groups
from tracer.inference.visual_inspection import FALSE_FIND, VISIBLE, find_chances, where_seen
from tracer.job.job import Job
from tracer.observation.evidence import Reading, Symptom, Test, Value
from tracer.observation.words.readings import (
    parse_test,
    parse_value,
)
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import measured, shared_points
from tracer.planning.constraints import Limits
from tracer.planning.costs import Standing, after_test, minutes_of
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.next_step import propose
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.present.job_words import test_steps as steps_of
from tracer.present.report import report_data
from tracer.safety.advice import cautions_of, of_test

MODELS = Path(__file__).parents[2] / "harness_models"
PATHS = sorted(MODELS.glob("*.yaml"))


@cache
def tractor() -> Investigator:
    return tool_on(MODELS / "tractor.yaml")


def rows_of(name: str) -> list[Hypothesis]:
    return [h for h in tractor().singles if h.faults[0].name == name]


def chance(name: str, words: str) -> float:
    """How likely something is found on the tractor with a fault of that name."""
    harness = tractor().harness
    return float(find_chances(rows_of(name)[:1], parse_test(words, harness).thing(harness), harness)[0])


def look(words: str, value: str) -> Reading:
    test = parse_test(words, tractor().harness)
    return Reading(test, parse_value(value, test.kind))


# --- the table


def test_every_kind_in_the_table_is_a_fault_and_is_seen_where_it_can_be_looked_over() -> None:
    assert VISIBLE.keys() <= RATES.keys()
    assert all(0 < share <= 0.9 for _, share in VISIBLE.values()), "a look in vain excludes nothing"
    assert all(0 < x <= 0.1 for x in FALSE_FIND.values())
    for path in PATHS:
        harness = load_harness(path)
        known = set(things_in(harness))
        for fault in Investigator(harness).faults:
            seen = where_seen(fault, harness)
            assert bool(seen) == (fault.kind in VISIBLE), fault.name
            assert seen.keys() <= known, fault.name


def test_what_is_found_goes_by_the_fault() -> None:
    """Rubbed through: found by 0.8, or by mistake: 1 − 0.2 · 0.95 = 0.81. A wire broken inside its insulation:
    1 − 0.7 · 0.95 = 0.335. Anywhere else only by mistake. A green socket: 1 − 0.2 · 0.9 = 0.82."""
    rubbed = "wire to body: indicator stalk.R – S9"
    assert chance(rubbed, "inspect indicator stalk.R to S9") == pytest.approx(0.81)
    assert chance("wire open: indicator stalk.R – S9", "inspect indicator stalk.R to S9") == pytest.approx(0.335)
    assert chance(rubbed, "inspect hazard switch.R to S9") == pytest.approx(0.05)
    assert chance(rubbed, "inspect S9") == pytest.approx(0.1)
    assert chance("way bad: C4 way 4", "inspect C4") == pytest.approx(0.82)
    assert chance("way bad: C4 way 4", "inspect C3") == pytest.approx(0.1)
    assert chance("wrong lamp: left rear stop", "inspect lamp left rear stop") == pytest.approx(1 - 0.2 * 0.95)
    assert chance("lamp unit wet: left rear", "inspect holder left rear stop") == pytest.approx(1 - 0.1 * 0.9)
    assert chance("lamp unit wet: left rear", "inspect left rear") == pytest.approx(1 - 0.1 * 0.92)
    inside = [f.name for f in tractor().faults if f.name.startswith("switch bad: indicator stalk")]
    assert chance(inside[0], "inspect indicator stalk") == pytest.approx(0.08), "nobody looks into a switch"


def test_what_comes_and_goes_is_found_less_often_and_of_two_faults_either() -> None:
    """0.6 · 0.8 = 0.48 of a loose one: 1 − 0.52 · 0.95 = 0.506. Two faults of one wire 1 − 0.2 · 0.7 · 0.95."""
    harness, thing = tractor().harness, Thing("wire", "indicator stalk.R", "S9")
    short = rows_of("wire to body: indicator stalk.R – S9")[0]
    loose = [h for h in with_loose_contacts([short]) if h.awake < 1]
    both = together(short, rows_of("way bad: C4 way 4")[0])
    bad = replace(short, faults=(*short.faults, *rows_of("wire bad: indicator stalk.R – S9")[0].faults))

    assert both is not None
    assert find_chances([*loose, both, bad], thing, harness) == pytest.approx([0.506, 0.81, 1 - 0.2 * 0.7 * 0.95])


def test_a_fuse_that_a_short_has_blown_is_seen_to_be_blown() -> None:
    harness, thing = tractor().harness, Thing("fuse", "F5")
    blown = [h for h in rows_of("wire to body: S4 – brake switch.15") if h.change.set_ohm]
    whole = [h for h in rows_of("wire to body: S4 – brake switch.15") if not h.change.set_ohm]

    assert blown and whole
    assert find_chances([blown[0], whole[0]], thing, harness) == pytest.approx([1 - 0.1 * 0.97, 0.03])


# --- likelihood


def test_faults_that_are_one_to_the_current_are_told_apart_by_eye() -> None:
    """Two wires on terminal 49a, rubbed through, join it to the body: one change, one prior. Found on the one: 0.81
    to 0.05. Nothing: 0.19 to 0.95."""
    ends = ("indicator stalk.49a", "hazard switch.49a")
    own, other = (rows_of(f"wire to body: flasher unit.49a – {end}")[0] for end in ends)
    assert own.change == other.change and own.prior == other.prior
    for value, odds in (("found", 0.81 / 0.05), ("nothing", 0.19 / 0.95)):
        told = tractor().loglik_of([own, other], look(f"inspect flasher unit.49a to {ends[0]}", value))
        assert np.exp(told[0] - told[1]) == pytest.approx(odds)
    sound = tractor().loglik_of([Hypothesis((), (), 1.0)], look(f"inspect flasher unit.49a to {ends[0]}", "found"))
    assert np.exp(sound) == pytest.approx([0.05])


def test_who_looks_twice_sees_the_same_and_the_last_look_counts() -> None:
    rear = tool_on(MODELS / "rear_end.yaml")
    evidence: list[Symptom | Reading] = [parse_symptom("left rear indicator dark when indicator left", rear.harness)]
    test = parse_test("inspect C1", rear.harness)
    nothing, found = (Reading(test, parse_value(value, test.kind)) for value in ("nothing", "found: green"))

    def shares(*looks: Reading) -> list[tuple[str, float]]:
        told = rear.diagnose([*evidence, *looks], pairs=False)
        return [(s.repair, round(s.share, 12)) for s in told.suspects[:30]]

    once = shares(nothing)
    assert once != shares()
    assert shares(nothing, nothing) == once
    assert shares(nothing, found) == shares(found)


def test_a_look_that_was_not_possible_changes_nothing() -> None:
    reading = Reading(parse_test("inspect C3", tractor().harness), Value(-np.inf, np.inf))
    rows = [*rows_of("way bad: C3 way 4")[:1], Hypothesis((), (), 1.0)]

    assert tractor().loglik_of(rows, reading).tolist() == [0.0, 0.0]


# --- what is proposed: the invented tractor, one wire at S9 rubbed through (planted: indicator stalk.R – S9)

SEEN = (
    "right front indicator dark, right rear indicator dark, indicator tell-tale dark when indicator stalk right",
    "left front indicator dark, right front indicator dark, left rear indicator dark when hazard switch on",
)
MEASURED = (
    ("look indicator tell-tale when ignition on, hazard switch on", "dark"),
    ("volt drop flasher unit.49 to flasher unit.31 when ignition on, hazard switch on", "0.00 V"),
    ("look right front indicator when ignition on, indicator stalk right, new fuse F5", "dark"),
    ("look indicator tell-tale when ignition on, indicator stalk left, new fuse F5", "normal flashing"),
    ("ohms S9 to body with C4 unplugged", "0.3 ohm"),
)
AT_S9 = {f"repair the GNBK wire {run}" for run in (
    "indicator stalk.R – S9", "hazard switch.R – S9", "S9 – C4.4", "S9 – C4.5",
)}


def told(looks: Iterable[tuple[str, str]] = ()) -> list[Symptom | Reading]:
    harness = tractor().harness
    evidence: list[Symptom | Reading] = [parse_symptom(s, harness) for s in SEEN]
    for words, value in (*MEASURED, *looks):
        test = parse_test(words, harness)
        evidence.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return evidence


@cache
def at_s9(*looks: tuple[str, str]) -> Diagnosis:
    return tractor().diagnose(told(looks))


def standing() -> Standing:
    now = Standing(tractor().harness.state({}))
    for item in told():
        now = after_test(item.test, now, tractor().harness) if isinstance(item, Reading) else now
    return now


def test_four_wires_of_one_splice_are_looked_along_without_a_meter() -> None:
    """With an ohmmeter the splice is parted: see `test_parted_splice.py`."""
    found = at_s9()
    leading = {s.repair: s.share for s in found.suspects[:4]}
    assert leading.keys() == AT_S9 and max(leading.values()) < 0.3

    step = propose(found, standing(), Limits(without=frozenset({"ohmmeter"})))

    assert step.kind == "test" and step.test is not None and step.test.kind == "inspect"
    thing = step.test.thing(tractor().harness)
    assert thing.kind == "wire" and "S9" in (thing.name, thing.other)
    assert "look along the wire from" in step.says and "with its clips and grommets: rubbed through" in step.says
    assert sorted({e.shows for e in step.expectations[:4]}) == ["found (by 8 of 10)", "nothing"]
    assert step.why.startswith("expected: found ")
    assert any(c.head == "battery" for c in step.cautions)
    # Its lead is off already, for the ohms measured before.
    assert step.steps[0].text == "The battery stays off (minus lead)."


def test_what_is_found_there_is_repaired() -> None:
    """0.81 for the one found, 0.05 for each of three like it: 0.81 / (0.81 + 3 · 0.05) = 0.84."""
    wire = "inspect indicator stalk.R to S9"
    found, before = at_s9((wire, "found: rubbed through at the clip")), at_s9()
    share = {s.repair: s.share for s in before.suspects}
    own = "repair the GNBK wire indicator stalk.R – S9"
    expected = 0.81 * share[own] / (0.81 * share[own] + 0.05 * (1 - share[own]))

    assert found.suspects[0].repair == own
    assert found.suspects[0].share == pytest.approx(expected, abs=0.02)
    step = propose(found, standing())
    assert step.test != parse_test(wire, tractor().harness), "what was looked over is not proposed again"
    nothing = {s.repair: s.share for s in at_s9((wire, "nothing")).suspects}
    assert 0.01 < nothing[own] < share[own] / 3, "a look in vain excludes nothing"


def test_the_planner_is_not_flooded_with_looks() -> None:
    found = tractor().diagnose([parse_symptom(s, tractor().harness) for s in SEEN])
    rows, _ = rows_to_plan_with(found)
    offered = [c for c in Candidates(found, rows).all() if c.test.kind == "inspect"]

    assert 1 <= len(offered) <= 12
    for c in offered:
        assert c.likelihood.sum(axis=0) == pytest.approx(np.ones(len(rows)))
        assert c.likelihood[0].max() >= 0.3, "something is visible there under some suspect"
    assert not any(c.test.lamp and "/" not in c.test.plus and c.likelihood[0].max() < 0.5 for c in offered)


def test_two_wires_are_two_repairs_and_a_wire_and_its_leg_are_one() -> None:
    """No current tells a wire from its leg in the splice, and whoever opens the splice has both in his hands; of two
    wires on one terminal, one of them rubbed through, he renews the wrong one in vain."""
    ends = ("indicator stalk.49a", "hazard switch.49a")
    shorts = [rows_of(f"wire to body: flasher unit.49a – {end}")[0] for end in ends]
    broken = [rows_of(n)[0] for n in ("wire open: S9 – C4.4", "splice leg open: S9 to C4.4")]
    assert shorts[0].change == shorts[1].change and broken[0].change == broken[1].change
    rows = [*shorts, *broken]
    diagnosis = replace(at_s9(), hypotheses=tuple(rows), share=np.full(4, 0.25), suspects=())

    repairs, label = cures(diagnosis, range(4))

    assert label[0] != label[1] and label[2] == label[3]
    assert len(repairs) == len(set(label.tolist()))


def test_to_look_along_a_wire_is_not_to_measure_it() -> None:
    fault = find_fault(tractor().faults, "wire bad: indicator stalk.R – S9")
    seen = parse_test("inspect indicator stalk.R to S9", tractor().harness)
    drop = parse_test("volt drop indicator stalk.R to S9 when indicators right", tractor().harness)

    assert not measured([fault], [seen], tractor().harness)
    assert measured([fault], [seen, drop], tractor().harness)


def test_wires_that_were_told_apart_by_eye_do_not_stand_as_one() -> None:
    """Two wires on terminal 49a, rubbed through, are one to the current; two of a splice are not, once it is
    parted."""
    pair = [f"repair the BKGN wire flasher unit.49a – {end}" for end in ("indicator stalk.49a", "hazard switch.49a")]
    harness = tractor().harness
    dark = parse_symptom("left front indicator dark, right front indicator dark, left rear indicator dark, "
                         "right rear indicator dark, indicator tell-tale dark when hazards on", harness)

    def inseparable(*looks: tuple[str, str]) -> list[bool]:
        test = parse_test("ohms flasher unit.49a to body", harness)
        seen = [look(*x) for x in looks]
        found = tractor().diagnose([dark, Reading(test, parse_value("0.3 ohm", "ohms")), *seen], pairs=False)
        known = {s.repair: s.inseparable for s in with_groups(found).suspects}
        return [pair[1 - k] in known[pair[k]] for k in (0, 1)]

    assert inseparable() == [True, True]
    assert inseparable(("inspect hazard switch.R to S9", "nothing")) == [True, True]
    assert inseparable(("inspect flasher unit.49a to hazard switch.49a", "found")) == [False, False]
    at_splice = {s.repair: s for s in with_groups(at_s9()).suspects[:4]}
    assert all({*s.alike} >= AT_S9 - {repair} and not s.inseparable for repair, s in at_splice.items())


# --- minutes and cautions


def test_minutes_of_a_look() -> None:
    """Invented tractor: S9 in the dash 8 min, the stalk at the steering column 5 min, 0.3 m of wire, the battery off
    2 min, and 0.85 to look and write down: 16.15. With both open and the battery off: 1.15. C4: 2 + 0.8 + 0.85."""
    harness = tractor().harness
    wire, plug = (parse_test(w, harness) for w in ("inspect indicator stalk.R to S9", "inspect C4"))
    first = Standing(harness.state({"brake pedal": "pressed"}))

    assert minutes_of(wire, first, harness) == pytest.approx(16.15)
    after = after_test(wire, first, harness)
    assert after.battery_off and after.state == first.state and {"dash", "steering column"} <= after.opened
    assert minutes_of(wire, after, harness) == pytest.approx(1.15)
    assert minutes_of(plug, first, harness) == pytest.approx(3.65)
    assert after_test(plug, after, harness).battery_off and not after_test(plug, first, harness).battery_off


@pytest.mark.parametrize(("words", "said"), [
    ("inspect indicator stalk.R to S9", "the minus lead off first and on last (minus is earthed here)"),
    ("inspect S9", "the minus lead off first and on last (minus is earthed here)"),
    ("inspect lamp left rear stop", "Hot lamp: off and cool first"),
    ("inspect holder left rear stop", "Hot lamp: off and cool first"),
    ("inspect C4", "yellow (airbag) and orange (high voltage) plugs stay shut"),
    ("inspect E6", "handbrake on, wheels chocked"),
])
def test_cautions_of_a_look(words: str, said: str) -> None:
    cautions = [c.text for c in cautions_of(of_test(parse_test(words, tractor().harness), tractor().harness))]

    assert any(said in c for c in cautions)
    assert any("wheels chocked" in c for c in cautions)
    assert not any("ignition on" in c for c in cautions)


# --- in a job


def test_a_look_is_kept_reported_and_taken_back(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml", "Invented rear end", "no tail lamp")
    job.symptom("left rear tail dark when lights side")

    def ranked(of: Job) -> list[tuple[str, float]]:
        return [(s.repair, s.share) for s in of.suspects()[:10]]

    before = ranked(job)
    thing = next(t for t in things_in(job.harness) if t.kind == "holder" and "left rear tail" in t.name)
    recorded = job.reading(f"inspect holder {thing.name}", "found: green")
    own = f"clean the holder of {thing.name}"

    assert recorded.understood.endswith("look into its holder: green, burnt, a flat contact?: found: green")
    assert dict(ranked(job))[own] > 2 * dict(before)[own]
    assert ranked(Job(job.path)) == ranked(job), "the file says the same"
    assert job.engine_starts == 0 and job.minutes_spent > 1
    said = job.reason(next(s for s in job.suspects() if s.repair == own))
    assert any(f.explains and f.predicted == "found (by 8 of 10)" for f in said.fits)
    data = report_data(job)["tests"][0]
    assert data["instrument"] == "eyes" and data["found"] == "found: green" and data["state"] == "everything at rest"
    assert any("Hot lamp" in c["text"] for c in data["cautions"])
    job.undo()
    assert ranked(job) == before


def test_a_find_where_no_suspect_lies_is_kept_and_said(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml")
    job.symptom("left rear tail dark when lights side")
    lamp = next(t for t in things_in(job.harness) if t.kind == "lamp" and t.name.startswith("right rear indicator"))

    assert "no leading suspect lies there" in job.reading(f"inspect lamp {lamp.name}", "found: black glass").remark


def test_steps_of_a_look_in_the_guide(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "tractor.yaml")

    assert steps_of(job, parse_test("inspect indicator stalk.R to S9", job.harness)) == [
        "Everything off, ignition off. Take the battery's minus lead off (minus is earthed here) and keep it clear "
        "of the post.",
        "Look along the wire from terminal R of indicator stalk to S9, with its clips and grommets: rubbed through, "
        "pinched, melted, green?",
    ]
    assert steps_of(job, parse_test("inspect C4", job.harness)) == [
        "Everything off, ignition off.", "Unplug C4.",
        "Look into both halves of C4: green, wet, burnt, a contact pushed back?", "Plug C4 together."]


# --- wiggled, and a lamp watched


WIGGLED = "wiggle C3 and watch left rear stop when brake pressed"
SOMETIMES = "left rear stop sometimes dark, everything else normal when brake pressed"


def test_what_moves_goes_by_what_is_loose_there_and_shows_in_the_lamp() -> None:
    """Loose in C3: 1 − 0.3 · 0.96 = 0.712. Bad for good there: 1 − 0.85 · 0.96 = 0.184. A way of C3 that does not
    feed the lamp, or another plug: 0.04."""
    other = next(h for h in with_loose_contacts(rows_of("way open: C3 way 4")) if h.awake < 1)
    rows = [*with_loose_contacts(rows_of("way open: C3 way 3")), other, rows_of("way open: C4 way 3")[0]]
    for value, expected in (("changes", [0.184, 0.712, 0.04, 0.04]), ("does not", [0.816, 0.288, 0.96, 0.96])):
        told = tractor().loglik_of(rows, look(WIGGLED, value))
        assert np.exp(told) == pytest.approx(expected)


def test_where_something_comes_and_goes_it_may_be_wiggled() -> None:
    harness = tractor().harness
    symptom = parse_symptom(SOMETIMES, harness)

    def offered(found: Diagnosis) -> list[Test]:
        rows = rows_to_plan_with(found)[0][:20]  # what leads, of which all is offered
        return [c.test for c in Candidates(found, rows).all() if c.test.kind == "wiggle"]

    found = tractor().diagnose([symptom], pairs=False)
    assert 1 <= len(offered(found)) <= 6
    assert {t.lamp for t in offered(found)} == {"left rear stop"} and {t.state for t in offered(found)} == {
        symptom.state}
    assert Thing("holder", "left rear stop") in [t.thing(harness) for t in offered(found)]
    lasting = parse_symptom("left rear stop dark, everything else normal when brake pressed", harness)
    assert offered(tractor().diagnose([lasting], pairs=False)) == [], "nobody wiggles at a fault that stays"
    told = tractor().diagnose([lasting, look(WIGGLED, "changes")], pairs=False)
    assert any(h.awake < 1 for h in told.hypotheses), "what moves is loose"


def test_what_changed_when_it_was_moved_leads_there(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml")
    wiggled = "wiggle C1 and watch left rear tail when lights side"
    job.symptom("left rear tail sometimes dark, everything else normal when lights side")
    before = [(s.repair, s.share) for s in job.suspects()[:10]]
    recorded = job.reading(wiggled, "goes out")

    assert "wiggle C1 and the wires into it, and watch the left rear tail lamp: goes out" in recorded.understood
    assert job.suspects()[0].repair == "clean or renew way C1.1"
    assert Job(job.path).suspects()[0].share == job.suspects()[0].share
    fits = job.reason(job.suspects()[0]).fits
    assert fits[-1].predicted == "changes (in 7 of 10)" and fits[-1].explains
    data = report_data(job)["tests"][0]
    assert data["found"] == "goes out" and any(
        "Move wires by sound insulation" in c["text"] for c in data["cautions"])
    assert steps_of(job, job.find_test(wiggled))[-1] == (
        "Wiggle C1 and the wires into it, and watch the left rear tail lamp.")
    job.undo()
    assert [(s.repair, s.share) for s in job.suspects()[:10]] == before


# --- vehicles that answer


def test_a_practice_vehicle_shows_what_is_mostly_found() -> None:
    harness, fault = tractor().harness, find_fault(tractor().faults, "wire to body: indicator stalk.R – S9")
    vehicle = PracticeVehicle(harness, fault.variants[0].change, faults=[fault])

    assert vehicle.answer(parse_test("inspect indicator stalk.R to S9", harness)) == "found"
    assert vehicle.answer(parse_test("inspect hazard switch.R to S9", harness)) == "nothing"
    blind = PracticeVehicle(harness, fault.variants[0].change)
    assert blind.answer(parse_test("inspect hazard switch.R to S9", harness)) == "could not"
    assert vehicle.answer(parse_test(WIGGLED, harness)) == "does not", "its fault stays"


def test_the_vehicle_of_the_bench_answers_by_its_own_dice() -> None:
    """Found 0.7 of the time and by mistake 0.08 of it, in 400 vehicles: within three standard deviations."""
    harness, fault = tractor().harness, find_fault(tractor().faults, "wire to body: indicator stalk.R – S9")
    there, elsewhere = (parse_test(w, harness) for w in ("inspect indicator stalk.R to S9", "inspect S9 to C4.4"))
    seen = []
    for n in range(400):
        vehicle = SpiceVehicle(harness, fault.variants[0].change, random.Random(n), fault=fault)
        answers = [vehicle.answer(there), vehicle.answer(elsewhere)]
        assert answers == [vehicle.copy().answer(there), vehicle.answer(elsewhere)], "who looks twice sees the same"
        seen.append([a == "found" for a in answers])
    found, mistaken = np.mean(seen, axis=0)

    assert found == pytest.approx(1 - 0.3 * 0.92, abs=3 * (0.72 * 0.28 / 400) ** 0.5)
    assert mistaken == pytest.approx(0.08, abs=3 * (0.08 * 0.92 / 400) ** 0.5)
    blind = SpiceVehicle(harness, fault.variants[0].change, random.Random(1))
    assert blind.answer(there) == "could not"


def test_a_wire_renewed_beside_the_one_rubbed_through_mends_nothing() -> None:
    own, other = (find_fault(tractor().faults, f"wire to body: S9 – C4.{n}") for n in (4, 5))
    vehicle = SpiceVehicle(tractor().harness, own.variants[0].change, random.Random(1), fault=own)

    assert not vehicle.repair([other])
    assert vehicle.repair([own])


def test_a_reading_at_a_terminal_does_not_clear_one_wire_of_it() -> None:
    """Which of the wires on terminal 49a is rubbed through no ohmmeter against the body says, whichever plugs are
    pulled; which wire of a splice is, it says when the splice is parted."""
    harness = tractor().harness
    wires = [
        find_fault(tractor().faults, f"wire to body: flasher unit.49a – {end}")
        for end in ("indicator stalk.49a", "hazard switch.49a")
    ]
    other = find_fault(tractor().faults, "wire to body: lamp switch.58 – S5")

    assert shared_points([wires, [other]], harness) == []
    # The cab is the metal next to it.
    assert shared_points([[w] for w in (*wires, other)], harness) == [{"flasher unit.49a", "cab"}]
