"""A splice taken apart, and each of its wires measured alone: what tells which of them is rubbed through."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tests.ngspice import needs_ngspice, node_volts, run_ngspice
from tests.shared import unremarked
from tracer.circuit.model import NO_CHANGE, OHMMETER_LEADS_OHM, Change
from tracer.circuit.spice import netlist
from tracer.errors import TracerError, UnknownNameError
from tracer.faults import Fault, find_fault
from tracer.harness.file.text import load_harness, read_harness
from tracer.inference.diagnose import Investigator
from tracer.job.job import Job
from tracer.observation.actions import PART_MIN, Intervention
from tracer.observation.evidence import Reading, Symptom, Test
from tracer.observation.test_kinds import KINDS
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value, test_as_data, test_from_data
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.confirmation import confirmation, isolated, measured, parted
from tracer.planning.costs import PICK_UP_MIN, Standing, after_test, minutes_of
from tracer.planning.next_step import propose
from tracer.present.job_words import test_words
from tracer.safety.advice import cautions_of, of_test, steps_of

TWO_SPLICES = """\
harness: A battery, a switch and two lamps on two splices, invented
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls: {lights: [off, on]}
parts:
  battery: {kind: battery}
  switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  B1: {kind: lamp, lamp: R5W}
  B2: {kind: lamp, lamp: R5W}
  B3: {kind: lamp, lamp: R5W}
splices: {S1: front, S2: rear}
earths: {E1: battery, E2: rear}
wires:
  - battery.- > E1
  - battery.+ > switch.in
  - switch.out > S1
  - S1 > S2
  - S1 > B1.feed
  - S2 > B2.feed
  - S2 > B3.feed
  - B1.earth > E2
  - B2.earth > E2
  - B3.earth > E2
"""
ENDS = ("F1.out", "brake switch.30", "flasher unit.49", "light switch.30", "fog switch.30")


@cache
def trailer() -> Investigator:
    return tool_on(MODELS / "trailer_7pin.yaml")


def rubbed(end: str) -> Fault:
    run_ = f"{end} – S1" if end == "F1.out" else f"S1 – {end}"
    return find_fault(trailer().faults, f"wire to body: {run_}")


def alone(end: str) -> Test:
    found = parted(rubbed(end), trailer().harness)
    assert found is not None
    return found


def ohms(test: Test, change: Change) -> float:
    return float(trailer().predictor.observed(test, [change])[0])


# --- what the meter shows


@pytest.mark.parametrize("end", ENDS)
def test_the_wire_that_is_rubbed_through_shows_at_its_own_end_alone(end: str) -> None:
    """By hand: the short, the copper of the one wire, and the meter's leads; nothing else leads anywhere, since every
    switch is off and the battery is not connected. (A damage somewhere along the wire is taken to be at its far end.)
    """
    short = rubbed(end).variants[0].change
    wire = next(s for s in trailer().harness.legs("S1") if end in (s.a, s.b))
    by_hand = short.added[0].ohm + wire.ohm + OHMMETER_LEADS_OHM
    assert ohms(alone(end), short) == pytest.approx(by_hand, rel=1e-6)
    for other in ENDS:
        if other != end:
            assert ohms(alone(other), short) == np.inf
    assert ohms(alone(end), NO_CHANGE) == np.inf


def test_before_it_is_parted_every_wire_of_it_shows_the_same() -> None:
    """The short itself is not known to the tenth of an ohm that the copper to each end makes."""
    short = rubbed("light switch.30").variants[0].change
    shown = [ohms(test, short) for end in ENDS if (test := isolated(rubbed(end), trailer().harness))]
    assert len(shown) == len(ENDS)
    assert max(shown) - min(shown) < 0.15 and max(shown) < 0.5


@needs_ngspice
def test_ngspice_confirms_what_a_parted_splice_shows(tmp_path: Path) -> None:
    circuit, predictor = trailer().predictor.circuit, trailer().predictor
    netlists, expected = [], []
    for end in ENDS[:3]:
        setup = predictor.setup(alone(end).state, alone(end).change(circuit))
        for other in ENDS[:3]:
            change = rubbed(other).variants[0].change
            netlists.append(netlist(circuit, setup, change))
            solution = predictor.settled(setup, predictor.table([change])).solution
            expected.append(float(solution.volts[0, circuit.node("S1")]))
    found = [float(node_volts(circuit, v)[circuit.node("S1")]) for v in run_ngspice(netlists, tmp_path)]
    assert found == pytest.approx(expected, abs=1e-3)
    assert max(found) > 1.9 and min(found) < 0.5, "open, and joined to the body"


def test_a_wire_between_two_splices_has_no_end_of_its_own() -> None:
    harness = read_harness(TWO_SPLICES, "two splices")
    faults = Investigator(harness).faults
    assert parted(find_fault(faults, "wire to body: S1 – S2"), harness) is None
    assert parted(find_fault(faults, "wire to body: switch.out – S1"), harness) is not None
    assert parted(find_fault(faults, "wire open: switch.out – S1"), harness) is None


def test_where_no_body_conducts_a_feed_is_rubbed_through_on_an_earth_wire() -> None:
    """Which of the feeds of a splice it is, the meter shows at each of them when the splice is parted: by hand the
    path of 0.2 Ω, some copper and the leads, and beside the cold filament it would be no more than doubtful, so that
    the lamp is out. The other feeds show open (common practice, no source). Black goes to where the black wires meet,
    or to the wire's own end where that hangs on a plug that is pulled."""
    harness = load_harness(MODELS / "glass_fibre.yaml")
    own = Investigator(harness)
    found = {f.name: t for f in own.faults if f.kind == "wires joined" and (t := parted(f, harness)) is not None}
    faults = {f.name: f for f in own.faults}
    rubbed = {n: faults[n].variants[0].change.added[0] for n in found}
    assert found and all({t.plus} < {*harness.splices} for t in found.values())
    assert all(t.minus in (harness.reference, rubbed[n].a, rubbed[n].b) for n, t in found.items())
    lamps = [n for n, t in found.items() if any(i.action == "take out lamp" for i in t.done)]
    assert lamps
    for name in lamps:
        test, change = found[name], faults[name].variants[0].change
        shown, sound = own.predictor.observed(test, [change, NO_CHANGE])
        assert 0.2 < shown < 0.5 and sound > 1e5, name
        beside = [n for n, t in found.items() if t.plus == test.plus and t.done[0] != test.done[0]]
        assert all(own.predictor.observed(found[n], [change])[0] > 1e5 for n in beside)
    assert parted(next(f for f in trailer().faults if f.kind == "wires joined"), trailer().harness) is None


# --- what it costs, and what goes with it


def test_the_splice_is_parted_once_for_all_its_wires() -> None:
    """Battery off 2 min, ohmmeter in hand 0.3, at the splice, 8 to part and remake it, and 1.25 a reading."""
    harness = trailer().harness
    place, access = harness.place_of("S1")
    fresh = Standing(harness.at_rest(), frozenset({place}))
    first, second = alone("light switch.30"), alone("fog switch.30")
    own = {harness.place_of(f"{i.target}.1")[0] for t in (first, second) for i in t.done[1:]}
    opened = Standing(harness.at_rest(), frozenset({place, *own}))
    plugs = 0.8 * (len(first.done) - 1)
    assert KINDS["ohms"].minutes == 0.75 and PART_MIN == 8.0 and PICK_UP_MIN == 0.3
    assert minutes_of(first, opened, harness) == pytest.approx(2 + 0.3 + 8 + 1.25 + plugs)
    assert minutes_of(second, after_test(first, opened, harness), harness) == pytest.approx(
        1.25 + 0.8 * (len(second.done) - 1))
    assert minutes_of(first, fresh, harness) >= minutes_of(first, opened, harness) and access >= 0


def test_words_and_cautions() -> None:
    test = alone("light switch.30")
    assert ("part splice S1 (to be remade afterwards) and take the wire to terminal 30 of light switch alone"
            in test.says(trailer().harness))
    assert "ohmmeter between its end at S1 and clean body metal" in test.says(trailer().harness)
    facts = of_test(test, trailer().harness)
    assert {"battery", "bare ends"} <= {c.head for c in cautions_of(facts)}
    assert any("remake splice S1 for the size of its wires, insulated" in s.text.lower().replace("s1", "S1")
               for s in steps_of(facts) if s.phase == "back")


# --- typed and recorded


@pytest.mark.parametrize("words", [
    "ohms S1 to body with splice S1 parted at the wire to light switch.30",
    "ohms S1 to body with S1 parted to light switch.30",
    "Resistance between S1 and body with splice s1 parted at wire to light switch 30",
])
def test_it_can_be_typed(words: str) -> None:
    test = parse_test(words, trailer().harness)
    assert test.done == (Intervention("part splice", "S1", "light switch.30"),)
    assert parse_test(test_words(test, trailer().harness), trailer().harness) == test
    assert test_from_data(test_as_data(test), trailer().harness) == test


@pytest.mark.parametrize(("words", "said"), [
    ("ohms S1 to body with splice S9 parted at the wire to light switch.30", "no splice “S9”"),
    ("ohms S1 to body with splice S1 parted at the wire to F1.in", "no wire leads from splice S1 to F1.in"),
])
def test_what_is_typed_wrong_is_said(words: str, said: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_test(words, trailer().harness)
    assert said in str(caught.value)


@pytest.mark.parametrize(("done", "said"), [
    ({"action": "part splice", "target": "S7", "other": "F1.out"}, "no splice “S7”"),
    ({"action": "part splice", "target": "S1", "other": "F1.in"}, "no wire at S1 to “F1.in”"),
    ({"action": "part splice", "target": "S1"}, "no wire at S1 to “”"),
])
def test_what_is_recorded_wrong_is_refused(done: dict[str, str], said: str) -> None:
    data = test_as_data(alone("F1.out")) | {"done": [done]}
    with pytest.raises(UnknownNameError) as caught:
        test_from_data(data, trailer().harness)
    assert str(caught.value).startswith(said)


# --- when it is proposed


SEEN = (
    "left lamp unit stop dark, right lamp unit stop dark when brake pedal pressed",
    "left lamp unit indicator dark when indicators left",
)
MEASURED = (
    ("volts F1.out when indicators left", "0.01 V"), ("volts F1.in when indicators left", "12.69 V"),
    ("volts E1 when indicators left", "0.00 V"),
    ("look left lamp unit indicator when indicators left, new fuse F1", "dark"), ("ohms S1 to body", "0.3 ohm"),
)


def told(*readings: tuple[str, str]) -> list[Symptom | Reading]:
    harness = trailer().harness
    out: list[Symptom | Reading] = [parse_symptom(words, harness) for words in SEEN]
    for words, value in readings:
        test = parse_test(words, harness)
        out.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return out


def parted_at(*ends: str) -> list[tuple[str, str]]:
    words = "ohms S1 to body with splice S1 parted at the wire to"
    return [(f"{words} {end}", "0.3 ohm" if end == "light switch.30" else "open") for end in ends]


def test_wires_of_a_splice_are_parted_and_the_bad_one_found() -> None:
    """Five wires meet at S1, one of them is rubbed through (planted: that to the light switch): equally likely at
    first, and the wire is renewed when it alone shows the body."""
    found = trailer().diagnose(told(*MEASURED))
    wires = {s.repair: s.share for s in found.suspects[:5]}
    assert wires.keys() >= {rubbed(end).repair for end in ENDS if end != "F1.out"} and max(wires.values()) < 0.3
    step = propose(found, Standing(trailer().harness.at_rest()))
    assert step.test is not None and step.test.done[0].action == "part splice"

    some = trailer().diagnose(told(*MEASURED, *parted_at("fog switch.30", "flasher unit.49")))
    cleared = {rubbed(end).repair for end in ("fog switch.30", "flasher unit.49")}
    assert sum(s.share for s in some.suspects if s.repair in cleared) < 0.02
    last = trailer().diagnose(told(*MEASURED, *parted_at("fog switch.30", "light switch.30")))
    assert last.suspects[0].repair == rubbed("light switch.30").repair and last.suspects[0].share > 0.95
    assert propose(last, Standing(trailer().harness.at_rest())).kind == "repair"


def test_who_cannot_part_it_is_not_asked_again() -> None:
    found, now = trailer().diagnose(told(*MEASURED)), Standing(trailer().harness.at_rest())
    step = propose(found, now, skipped=[alone("F1.out")])
    assert step.test is not None and not step.test.parted


def test_it_confirms_where_the_doubt_is_worth_the_work() -> None:
    """A wrong part costs an hour: at a tenth of doubt six minutes, less than the eight that a splice takes."""
    harness, fault = trailer().harness, rubbed("light switch.30")
    change, place = fault.variants[0].change, harness.place_of("S1")[0]
    standing = Standing(harness.at_rest(), frozenset({place}))

    def chosen(doubt: float, *done: Test) -> Test | None:
        return confirmation(trailer().predictor, [fault], change, [harness.state({})], standing, done, doubt)

    assert chosen(0.5) == alone("light switch.30")
    assert chosen(0.1) == isolated(fault, harness)
    assert chosen(0.5, alone("light switch.30")) is None and chosen(0.1, alone("light switch.30")) is None


def test_only_the_parted_splice_measures_one_wire_of_it() -> None:
    harness, fault = trailer().harness, rubbed("light switch.30")
    together = isolated(fault, harness)
    assert together is not None
    assert not measured([fault], [together, alone("fog switch.30")], harness)
    assert measured([fault], [together, alone("light switch.30")], harness)


def test_it_is_proposed_in_a_job_and_recorded(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "trailer_7pin.yaml")
    for words in SEEN:
        job.symptom(words)
    with unremarked():
        for words, value in (*MEASURED, *parted_at("light switch.30")):
            job.reading(words, value)
    assert Job(job.path).suspects()[0].repair == rubbed("light switch.30").repair
    assert "splice S1 (parted)" in job.standing.opened
