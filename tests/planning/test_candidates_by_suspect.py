"""What is offered for a suspect: named suspects of the rear end, and the tests that its drawing allows, by hand."""

from __future__ import annotations

from functools import cache
from typing import Any, cast

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tests.shared import investigator_for
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_actions import bridged, bridges, interventions, new_fuses, things_to_do
from tracer.planning.candidate_looks import LOOK_OUTCOMES, Looks
from tracer.planning.candidate_readings import Measurements
from tracer.planning.candidates import Candidates
from tracer.planning.confirmation import spans
from tracer.planning.constraints import Limits, allowed
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.live_hypotheses import Living

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST, PRESSED = HARNESS.state({}), HARNESS.state({"brake pedal": "pressed"})
LEFT, RIGHT = "left rear stop + left rear tail", "right rear stop + right rear tail"
DARK = "left rear stop dark when brake pedal pressed"
UNPLUGGED = Intervention("unplug", "C1")


@cache
def own() -> Investigator:
    return investigator_for(HARNESS)


@cache
def found(*said: str) -> Diagnosis:
    items: list[Evidence] = [parse_symptom(text, HARNESS) for text in said or (DARK,)]
    return own().diagnose(items, pairs=False)


def living(*names: str, diagnosis: Diagnosis | None = None, alone: bool = False) -> Living:
    """These faults alone, with their last variant, the plainest."""
    diagnosis = diagnosis or found()
    rows = [max(i for i, h in enumerate(diagnosis.hypotheses) if [f.name for f in h.faults] == [n]) for n in names]
    return Living(diagnosis, rows, alone)


# --- What is done to the vehicle -------------------------------------------------------------------------

LEAD = Intervention("earth lead", "left rear.earth")


@pytest.mark.parametrize(("suspects", "expected"), [
    (("filament open: left rear stop",),
     [LEAD, Intervention("take out lamp", LEFT), Intervention("swap lamps", RIGHT, LEFT)]),
    # The other side's lamp of the kind that nobody complained of is changed over as well.
    (("filament open: right rear tail",),
     [LEAD, Intervention("take out lamp", RIGHT), Intervention("swap lamps", RIGHT, LEFT)]),
    (("way open: C1 way 3",), [LEAD, UNPLUGGED]),
    (("earth open: E1",), [LEAD]),
    (("wires joined: F1.out – C1.1 and brake switch.54 – C1.3",),
     [LEAD, UNPLUGGED, *(Intervention("pull fuse", f) for f in ("F1", "F2", "F3"))]),
    (("switch never breaks: brake switch 15-54",),
     [LEAD, Intervention("take wires off", "brake switch"), *(Intervention("pull fuse", f) for f in (
         "F1", "F2", "F3"))]),
])
def test_what_is_done_for_a_suspect(suspects: tuple[str, ...], expected: list[Intervention]) -> None:
    assert things_to_do(living(*suspects)) == expected


@pytest.mark.parametrize(("suspects", "states"), [
    # The stop filament shows with the pedal pressed alone, the tail filament with the lights on alone.
    (("filament open: left rear stop", "filament open: left rear tail"), 2),
    # The unit's earth shows in both: what is done tells as much in the first.
    (("earth open: E1", "wire open: left rear.earth – E1"), 1),
    (("filament open: left rear stop", "way open: C1 way 3"), 1),
])
def test_something_is_done_in_a_second_state_only_where_that_stirs_other_suspects(
    suspects: tuple[str, ...], states: int
) -> None:
    diagnosis = found(DARK, "left rear tail dark when lamp switch side")
    made = Candidates(diagnosis, living(*suspects, diagnosis=diagnosis).rows)
    acted = {c.test.state for c in made.all() if c.test.kind == "look" and c.test.done}
    assert acted == {*made.living.work_states()[:states]} and len(made.living.work_states()) == 2


def test_a_look_meanwhile_is_at_lamps_that_can_light() -> None:
    """With the left lamp out, not at its own filaments; each outcome has its chance, together one."""
    alive = living("filament open: left rear stop", "earth open: E1")
    offered = list(interventions(alive, Looks(alive), PRESSED))
    assert offered and all(c.test.kind == "look" and len(c.test.done) == 1 for c in offered)
    out = [c.test.lamp for c in offered if c.test.done == (Intervention("take out lamp", LEFT),)]
    assert "left rear stop" not in out and "left rear tail" not in out
    lead = next(c for c in offered if c.test.done == (LEAD,) and c.test.lamp == "left rear stop")
    for c in offered:
        assert c.likelihood.sum(axis=0) == pytest.approx(1.0)
    # An earth lead lights the lamp whose earth is open, and not the one whose filament is.
    filament, earth = alive.one_of.tolist()
    normal = LOOK_OUTCOMES.index("normal")
    assert lead.likelihood[normal, earth] > 0.8 > 0.1 > lead.likelihood[normal, filament]


def test_a_new_fuse_is_watched_only_where_one_may_have_blown() -> None:
    alive = living("filament open: left rear stop", "earth open: E1")
    assert list(new_fuses(alive, Looks(alive))) == []
    every = found().hypotheses
    short = "wire to body: brake switch.54"
    rows = [next(i for i, h in enumerate(every) if h.faults[0].name.startswith(short) and "F3 link" in {
        name for name, _ in h.change.set_ohm})]
    rows.append(next(i for i, h in enumerate(every) if h.faults[0].name == "fuse blown: F3"))
    watched = Living(found(), rows)
    offered = list(new_fuses(watched, Looks(watched)))
    assert offered and {c.test.done for c in offered} == {(Intervention("new fuse", "F3"),)}
    assert len({c.test.state for c in offered}) == len(offered)  # one lamp a state
    assert all(c.test.state["brake pedal"] == "pressed" for c in offered)  # elsewhere the short is dead


def test_how_brightly_a_lamp_flashes_is_part_of_what_a_look_shows() -> None:
    """A 5 W lamp in the holder of a 21 W one and the other way round: a fifth of the watts flashes dimly, five times
    as many are too bright. Told apart only where two suspects differ in it."""
    vehicle = investigator_for(load_harness(MODELS / "pickup.yaml"))
    said = "right front side bright when ignition on, lamp switch side"
    diagnosis = vehicle.diagnose([parse_symptom(said, vehicle.harness)], pairs=False)
    change, lamp = "lamps exchanged: right front side and right front indicator", "wrong lamp: right front side"
    both = living(change, lamp, diagnosis=diagnosis)
    exchanged, watts = both.one_of.tolist()
    state = vehicle.harness.state({"ignition": "on", "indicator stalk": "right"})
    flashes, side = Looks(both).outcomes(both.panel(state), ["right front indicator", "left front side"], state)
    dimly = LOOK_OUTCOMES.index("dim, flashing")
    assert flashes[dimly, exchanged] > 0.9 > 0.03 > flashes[dimly, watts]
    assert flashes[LOOK_OUTCOMES.index("flashing"), watts] > 0.9
    assert flashes.sum(axis=0) == pytest.approx(1.0) and not side[dimly].any()
    state = state.having("lamp switch", "side")
    alone = living("filament open: left front side", lamp, diagnosis=diagnosis)
    own = Looks(alone).outcomes(alone.panel(state), ["right front side"], state)[0]
    bright = LOOK_OUTCOMES.index("bright")
    assert own[bright, int(alone.one_of[1])] > 0.5 > 0.1 > own[bright, int(alone.one_of[0])]
    offered = {c.test.lamp: c for c in Looks(both).candidates() if c.test.state == state and not c.also}
    assert "dim, flashing" not in offered["left front side"].outcomes


# --- What is measured ------------------------------------------------------------------------------------


def ohms(*suspects: str) -> list[Test]:
    return [c.test for c in Measurements(living(*suspects)).continuity()]


def test_a_run_is_measured_with_its_plug_pulled_and_an_earth_as_it_is() -> None:
    whole = "earth open: E2"  # somebody must be told from the suspect
    assert Test("ohms", REST, "C1.1'", "left rear.tail", done=(UNPLUGGED,)) in ohms(
        "wire open: C1.1 – left rear.tail", whole)
    assert Test("ohms", REST, "E1", "body") in ohms("earth open: E1", whole)
    # The halves of one way stay together.
    halves = [t for t in ohms("way open: C1 way 1", whole) if {t.plus, t.minus} == {"C1.1", "C1.1'"}]
    assert halves and all(not t.done for t in halves)


def test_no_ohmmeter_is_put_across_a_flasher_unit() -> None:
    """Hot-wire units stand open at rest, others closed (common practice, no source): "open" condemned a sound one at
    0.99, and a fuse's clip was to blame. The wires on both sides of it are measured as any others."""
    vehicle = investigator_for(load_harness(MODELS / "motorcycle_6v.yaml"))
    said = "left front indicator dark, left rear indicator dark when indicator switch left"
    diagnosis = vehicle.diagnose([parse_symptom(said, vehicle.harness)], pairs=False)
    assert any("flasher dead" in (f.kind for f in h.faults) for h in diagnosis.hypotheses)
    tests = [c.test for c in Measurements(Living(diagnosis, rows_to_plan_with(diagnosis)[0])).continuity()]
    points = [{t.plus, t.minus} for t in tests]
    assert {"flasher unit.49", "flasher unit.49a"} not in points
    assert any("flasher unit.49" in p for p in points) and any("flasher unit.49a" in p for p in points)


def test_what_is_measured_of_things_that_touch() -> None:
    """With the lamps in and out, and parted from a splice, each once."""
    tests = ohms("wire to body: S3 – right rear.tail", "earth open: E1")
    assert len(tests) == len({*tests})
    assert any(t.parted == "S3" for t in tests)
    assert any(Intervention("take out lamp", RIGHT) in t.done and not t.parted for t in tests)


def test_a_lamp_in_the_hand_is_measured_at_each_filament_and_between_them() -> None:
    """Two filaments and one bayonet cap: three pairs. A single filament has one, a fuse too; what is no suspect
    stays where it is."""
    def held(*suspects: str) -> list[tuple[str, Test]]:
        return [(c.test.done[0].target, c.test) for c in Measurements(living(*suspects)).in_hand()]

    two = held("filament open: left rear stop", "earth open: E1")
    stop, tail = HARNESS.lamp("left rear stop"), HARNESS.lamp("left rear tail")
    assert {name for name, _ in two} == {LEFT}
    assert all(t.done == (Intervention("take out lamp", LEFT),) for _, t in two)
    # Only what tells these suspects apart is offered: the broken filament, and through it the other live contact.
    pairs = {frozenset((t.plus, t.minus)) for _, t in two}
    assert pairs == {frozenset((stop.a, stop.b)), frozenset((stop.a, tail.a))}
    fuse = held("fuse blown: F3", "earth open: E1")
    assert [name for name, _ in fuse] == ["F3"] and fuse[0][1].done == (Intervention("pull fuse", "F3"),)
    assert held("earth open: E1", "earth open: E2") == []


def test_a_test_lamp_is_held_to_the_live_contacts_of_what_was_complained_of() -> None:
    alive = living("filament open: left rear stop", "wire open: S2 – left rear.stop")
    lit = Measurements(alive).at_lamps([PRESSED])
    assert {c.test.plus for c in lit} == {"left rear.stop"}
    assert {c.test.minus for c in lit if KINDS[c.test.kind].proposed == "feed to body"} == {"body"}
    (only,) = (c for c in lit if c.test.kind == "test lamp")
    assert only.outcomes == ("dark", "faint", "dim", "normal")
    assert only.likelihood[0, 1] > 0.9 > 0.1 > only.likelihood[0, 0]  # with the wire broken it stays dark


PLACES = {("left rear.stop", "body"): "feed to body", ("left rear.stop", "left rear.earth"): "feed to earth"}


@pytest.mark.parametrize("base", ["test lamp", "drop"])
@pytest.mark.parametrize("points", PLACES)
def test_a_row_that_says_where_it_is_held_is_proposed_there(
    points: tuple[str, str], base: TestKind, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A made-up kind, known to its row alone: the planner names no kind that is held to lamps."""
    monkeypatch.setitem(cast(Any, KINDS), "made up", replace(KINDS[base], proposed=PLACES[points]))
    alive = living("filament open: left rear stop", "wire open: S2 – left rear.stop")
    own = [c for c in Measurements(alive).at_lamps([PRESSED]) if str(c.test.kind) == "made up"]
    assert [(c.test.plus, c.test.minus) for c in own] == [points]
    assert own[0].likelihood.sum(axis=0) == pytest.approx(1.0)
    apart = abs(own[0].likelihood[:, 0] - own[0].likelihood[:, 1]).sum() / 2
    assert apart > 0.9, "the wire and the filament show otherwise"


def test_every_kind_whose_row_says_so_is_proposed_and_no_other() -> None:
    """Of a row that leaves it to a generator, some complaint here brings a test."""
    sometimes = found("left rear stop sometimes dark when brake pedal pressed")
    asked = {c.test.kind for d in (found(), sometimes) for c in Candidates(d, rows_to_plan_with(d)[0]).all()}
    assert asked == {kind for kind, row in KINDS.items() if row.proposed != "when asked for"}


def test_the_whole_supply_is_measured_across_the_lamp_that_was_told_of() -> None:
    """At its own two terminals, not at those of its neighbours nor of the other side; a suspect way is measured
    across as well."""
    alive = living("wire open: S2 – left rear.stop", "filament open: left rear stop", "earth open: E1")
    drops = [(c.test.plus, c.test.minus) for c in Measurements(alive).voltages(PRESSED) if c.test.kind == "drop"]
    assert drops == [("S2", "left rear.stop"), ("left rear.stop", "left rear.earth")]
    both = HARNESS.state({"brake pedal": "pressed", "lamp switch": "side"})
    lit = [(c.test.plus, c.test.minus) for c in Measurements(alive).voltages(both) if c.test.kind == "drop"]
    assert ("left rear.stop", "left rear.earth") in lit and ("left rear.tail", "left rear.earth") not in lit
    plate = living("wire open: S3 – number-plate lamp.feed", "filament open: number-plate lamp",
                   diagnosis=found("number-plate lamp dark when lamp switch side"))
    side = HARNESS.state({"lamp switch": "side"})
    assert ("number-plate lamp.feed", "number-plate lamp.earth") in [
        (c.test.plus, c.test.minus) for c in Measurements(plate).voltages(side)]


def test_a_drop_that_was_measured_is_not_offered_again() -> None:
    """Also where the earth is in question, so that both its ends may stand above the body."""
    names = "wire open: S2 – left rear.stop", "filament open: left rear stop", "earth open: E1"
    test = parse_test("volt drop left rear.stop to left rear.earth when brake pedal pressed", HARNESS)
    item = Reading(test, parse_value("11.9 V", "drop"))
    after = own().diagnose([parse_symptom(DARK, HARNESS), item], pairs=False)
    for diagnosis, offered in ((found(), True), (after, False)):
        every = [c.test for c in Measurements(living(*names, diagnosis=diagnosis)).voltages(PRESSED)]
        assert (test in every) == offered


def test_the_battery_is_measured_at_rest_only_where_it_is_suspected() -> None:
    tests = [c.test for c in Measurements(living("battery low: battery", "earth open: E1")).battery_at_rest()]
    assert tests == [Test("volts", HARNESS.at_rest(), "battery.+", "body")]
    assert list(Measurements(living("earth open: E1", "earth open: E2")).battery_at_rest()) == []


def test_a_point_that_was_measured_is_not_offered_again_where_it_shows_the_same() -> None:
    """With the lamp switch on the stop lamp's feed has the same volts; with the pedal released it has none."""
    names = "wire open: S2 – left rear.stop", "filament open: left rear stop"
    test = parse_test("volts left rear.stop when brake pedal pressed", HARNESS)
    item = Reading(test, parse_value("12.3 V", "volts"))
    after = own().diagnose([parse_symptom(DARK, HARNESS), item], pairs=False)

    def offered(diagnosis: Diagnosis, **controls: str) -> bool:
        state = HARNESS.state({k.replace("_", " "): v for k, v in controls.items()})
        return any(c.test.plus == "left rear.stop" and c.test.kind == "volts" for c in Measurements(
            living(*names, diagnosis=diagnosis)).voltages(state))

    assert offered(found(), brake_pedal="pressed") and not offered(after, brake_pedal="pressed")
    assert not offered(after, brake_pedal="pressed", lamp_switch="side")
    assert not offered(found())  # no suspect has volts there with the pedal released


def test_what_touches_in_a_holder_is_parted_from_what_touches_along_the_wire() -> None:
    """With the unit's wires off and the lamp's plug pulled the meter shows nothing if the contact touched the shell
    inside, and what a wire rubbed through lies on the body with if that is it: less than an ohm, leads and all."""
    alive = living("holder shorted: left rear tail", "wire to body: C1.1 – left rear.tail")
    off = Intervention("take wires off", "left rear")
    own = [c for c in Measurements(alive).continuity() if off in c.test.done]
    assert own and own[0].test == Test("ohms", REST, "left rear.tail", "left rear.earth", done=(off, UNPLUGGED))
    inside, along = own[0].likelihood.argmax(axis=0).tolist()
    assert inside == len(own[0].outcomes) - 1 and along == 0


def test_what_lies_between_two_severities_belongs_to_both() -> None:
    """A contact at a few resistances of many: each stands between the next smaller and the next larger. A reading
    half-way between what two of them show is as likely under them as one that meets them is to err by a third of the
    way, so that nothing is planned that only the gaps of a grid promise."""
    diagnosis = found()
    rows = [i for i, h in enumerate(diagnosis.hypotheses) if [f.name for f in h.faults] == ["way bad: C1 way 3"]]
    alive = Living(diagnosis, rows[::-1])
    prev, following = alive.beside
    ohm = np.array([c.set_ohm[0][1] for c in alive.changes])
    assert len(ohm) > 3
    assert sorted(ohm[prev].tolist()) == sorted([ohm.min(), *sorted(ohm)[:-1]])
    assert sorted(ohm[following].tolist()) == sorted([*sorted(ohm)[1:], ohm.max()])
    feed = next(c for c in Measurements(alive).voltages(PRESSED)
                if (c.test.kind, c.test.plus) == ("volts", "left rear.stop"))
    assert feed.likelihood.max(axis=0).min() < 0.95


# --- A lead over a switch --------------------------------------------------------------------------------

OVER = Intervention("feed lead", "brake switch.54", "brake switch.15")


def test_a_suspected_switch_is_bridged_with_its_pedal_free() -> None:
    """With a lead from 15 to 54 both stop lamps shine if it was the switch, and stay dark if the way behind it is
    open; nobody has to stand on the pedal meanwhile."""
    alive = living("switch never makes: brake switch 15-54", "way open: C1 way 3", alone=True)
    assert list(bridges(alive)) == [(REST, OVER)]
    offered = {c.test.lamp: c for c in bridged(alive, Looks(alive))}
    look = offered["left rear stop"]
    assert look.test == Test("look", REST, lamp="left rear stop", done=(OVER,))
    assert allowed(look.test, HARNESS, Limits(alone=True))
    shown = dict(zip(look.outcomes, look.likelihood.tolist(), strict=True))
    assert shown["normal"][0] > 0.9 and shown["dark"][1] > 0.9


@pytest.mark.parametrize("other", [
    "switch never breaks: brake switch 15-54",  # it conducts already
    "switch never makes: lamp switch 30-58L",  # not wanted in the state complained of
    "way open: C1 way 3",
])
def test_no_other_switch_is_bridged(other: str) -> None:
    assert not list(bridges(living(other)))


# --- Where and who ---------------------------------------------------------------------------------------


def test_states_to_measure_in_are_those_where_something_was_wrong_first() -> None:
    side = HARNESS.state({"lamp switch": "side"})
    both = found("left rear tail normal when lamp switch side", DARK)
    assert living("earth open: E1", diagnosis=both).work_states() == [PRESSED, side]
    assert living("earth open: E1").work_states() == [PRESSED]


def test_who_is_alone_is_offered_a_state_that_nobody_has_to_hold() -> None:
    """The stop lamps' splice feeds the indicators too: with the stalk left the suspect shows as well."""
    alone = living("splice open: S4", alone=True).work_states()
    assert alone[0] == PRESSED and len(alone) == 2 and alone[1]["brake pedal"] == "released"
    assert alone[1]["indicator stalk"] in ("left", "right")
    assert living("splice open: S4").work_states() == [PRESSED]


def test_who_is_planned_with_carries_all_but_a_hundredth() -> None:
    """Of each repair four severities at most, which stand for the whole of it; the likeliest repairs, and no more of
    them than it takes."""
    diagnosis = found()
    rows, shares = rows_to_plan_with(diagnosis)
    by_repair: dict[str, float] = {}
    for row, share in zip(rows, shares.tolist(), strict=True):
        repair = next(s.repair for s in diagnosis.suspects if row in s.rows)
        by_repair[repair] = by_repair.get(repair, 0.0) + share
    kept = diagnosis.suspects[:len(by_repair)]
    assert [*by_repair] == [s.repair for s in kept]
    assert [*by_repair.values()] == pytest.approx([s.share for s in kept])
    assert all(sum(r in s.rows for r in rows) == min(4, len(s.rows)) for s in kept)
    whole = float(diagnosis.share.sum())
    assert sum(s.share for s in kept) > 0.99 * whole or len(kept) == 24
    assert sum(s.share for s in kept[:-1]) <= 0.99 * whole
    for s in kept:  # within a repair as they stand to each other
        own_rows = [k for k, r in enumerate(rows) if r in s.rows]
        ratio = shares[own_rows] / diagnosis.share[[rows[k] for k in own_rows]]
        assert ratio == pytest.approx(np.full(len(own_rows), ratio[0]))


def test_every_row_is_cured_by_one_of_the_repairs_planned_with() -> None:
    rows, _ = rows_to_plan_with(found())
    repairs, label = cures(found(), rows)
    assert len(label) == len(rows) and {*label.tolist()} == set(range(len(repairs)))
    assert len({*repairs}) == len(repairs)
    first, labels = cures(found(), living("filament open: left rear stop").rows)
    assert first == [f"new lamp: {LEFT}"] and labels.tolist() == [0]


def test_what_may_be_loose_is_moved_once_and_one_lamp_is_watched_meanwhile() -> None:
    """Both stop lamps come and go: whoever moves a plug has eyes for one of them, the first that was named."""
    both = found("left rear stop sometimes dark, right rear stop sometimes dark when brake pedal pressed")
    moved = [c.test for c in Candidates(both, rows_to_plan_with(both)[0]).all() if c.test.kind == "wiggle"]
    things = [(test.plus, test.minus) for test in moved]
    assert len(things) > 1 and len(set(things)) == len(things)
    assert {test.lamp for test in moved} == {"left rear stop"}


def test_across_a_suspect_splice_the_pair_is_offered_between_which_most_is_lost() -> None:
    """Of all that meet in it, as it would be with the splice bad; no other pair of the same splice."""
    side, tested = HARNESS.state({"lamp switch": "side"}), 0
    for name in (f"splice bad: S{n}" for n in range(1, 5)):
        alive = living(name, "filament open: left rear stop")
        (fault,) = alive.hypotheses[0].faults
        for state in (PRESSED, side):
            drops = {pair: abs(float(own().predictor.observed(Test("drop", state, *pair), [alive.changes[0]])[0]))
                     for pair in spans(fault, HARNESS)}
            offered = {(c.test.plus, c.test.minus) for c in Measurements(alive).voltages(state)
                       if c.test.kind == "drop"} & drops.keys()
            if max(drops.values()) > 1:
                (pair,) = offered
                assert drops[pair] > 0.99 * max(drops.values())
                tested += min(drops.values()) < 0.5
    assert tested > 1


@pytest.mark.parametrize(("splice", "wire", "across"), [
    ("S2", "wire bad: S2 – left rear.stop", ("S2", "left rear.stop")),
    ("S4", "wire bad: F3.out – S4", ("F3.out", "S4")),
    ("S4", "wire bad: S4 – brake switch.15", ("S4", "brake switch.15")),
])
def test_at_a_splice_that_all_has_come_off_a_meter_shows_nothing(
    splice: str, wire: str, across: tuple[str, str]
) -> None:
    """Live as the other probe may be: as across a wire through which no current flows. Only a bad one loses volts."""
    alive = living(f"splice open: {splice}", "filament open: left rear stop", wire)
    (drop,) = (c for c in Measurements(alive).voltages(PRESSED) if (c.test.plus, c.test.minus) == across)
    none, also_none, some = drop.likelihood[:, alive.one_of].T
    assert none == pytest.approx(also_none, abs=1e-3) and abs(none - some).max() > 0.9
