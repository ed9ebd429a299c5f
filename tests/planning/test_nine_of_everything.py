"""A vehicle with nine of everything, invented: how many of a kind are planned with, which of them, and from where its
lamps are seen."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import product

import numpy as np
import pytest

from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.visual_inspection import worth_inspecting, worth_moving
from tracer.observation.actions import Intervention
from tracer.observation.evidence import RelaySeen, Symptom
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_actions import bridges, fuses_to_try, new_fuses, things_to_do
from tracer.planning.candidate_looks import LOOK_OUTCOMES, Looks
from tracer.planning.candidate_readings import Measurements
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living
from tracer.planning.repair_proof import plan_proof
from tracer.planning.viewpoints import OTHERWISE, standpoints, telling, together

NINE = range(1, 10)
PARTS = "".join(
    f"  F{k}: {{kind: fuse, rating: 10 A}}\n  lamp {k}: {{kind: lamp, lamp: P21W}}\n"
    f"  switch {k}: {{kind: switch, control: control {k}, contacts: {{on: [in-out]}}}}\n" for k in NINE)
WIRES = "".join(
    f"  - main.out > F{k}.in\n  - F{k}.out > switch {k}.in\n  - switch {k}.out > C{k}.1 > B{k} > lamp {k}.feed\n"
    f"  - lamp {k}.earth > E2\n" for k in NINE)
TEXT = f"""\
harness: Nine of everything, invented
system: 12 V negative earth
controls:
  lights: [off, on]
{''.join(f"  control {k}: {{positions: [off, on], assumed: on}}{chr(10)}" for k in NINE)}parts:
  battery: {{kind: battery}}
  main: {{kind: switch, control: lights, contacts: {{on: [in-out]}}}}
{PARTS}connectors: {{{', '.join(f'C{k}: {{ways: 1}}, B{k}: bullets' for k in NINE)}}}
earths: {{E1: , E2: }}
wires:
  - battery.- > E1
  - battery.+ > main.in
{WIRES}"""
SAID = ", ".join(f"lamp {k} dark" for k in NINE) + " when lights on"


@cache
def found() -> Diagnosis:
    harness = read_harness(TEXT)
    return Investigator(harness).diagnose([parse_symptom(SAID, harness)], pairs=False)


def living(*kinds: str) -> Living:
    """All faults of these kinds."""
    rows = [i for i, h in enumerate(found().hypotheses) if h.faults[0].kind in kinds]
    assert len(rows) >= 9
    return Living(found(), rows)


def done(*kinds: str) -> list[Intervention]:
    leads, others = things_to_do(living(*kinds))[:9], things_to_do(living(*kinds))[9:]
    assert leads == [Intervention("earth lead", f"lamp {k}.earth") for k in NINE], "to every lamp complained of"
    return others


@pytest.mark.parametrize(("kind", "expected"), [
    ("filament open", [Intervention("take out lamp", f"lamp {k}") for k in range(9, 4, -1)]),
    ("way open", [Intervention("unplug", f"C{k}") for k in range(1, 7)]),
    ("bullet out", [Intervention("pull bullet", f"B{k}.{n}") for k, n in ((1, 1), (1, 2), (2, 1), (2, 2))]),
    ("switch never breaks", [
        *(Intervention("take wires off", p) for p in ("main", "switch 1", "switch 2", "switch 3")),
        *(Intervention("pull fuse", f"F{k}") for k in range(1, 7))]),
])
def test_so_many_of_a_kind_are_tried_the_first_of_them(kind: str, expected: list[Intervention]) -> None:
    """Five lamps, six plugs, four bullets, six fuses, four parts: nobody tries nine."""
    own = [x for x in done(kind) if kind == "filament open" or x.action != "take out lamp"]
    assert own == expected


def test_what_is_done_is_twenty_two_things_at_most() -> None:
    every = things_to_do(living("filament open", "way open", "bullet out", "switch never breaks", "fuse blown"))
    assert len(every) == 22 and len({*map(repr, every)}) == 22


def test_a_lead_goes_over_three_switches() -> None:
    """Each with the control where it is said to stand; a switch of which nothing is suspected gets none."""
    own = list(bridges(living("switch never makes")))
    assert len(own) == 3 and all(x.action == "feed lead" for _, x in own)
    assert list(bridges(living("filament open"))) == []


def test_two_new_fuses_are_tried() -> None:
    alive = living("fuse blown")
    tried = fuses_to_try(alive)
    assert {x.target for _, (x,) in tried} == {"F1", "F2"} and len({s for s, _ in tried}) <= 10
    assert len({repr(x) for x in tried}) == len(tried)
    told = [c.test.done[0].target for c in new_fuses(alive, Looks(alive))]
    assert {*told} <= {"F1", "F2"} and told


def test_twelve_things_are_looked_over_and_six_moved() -> None:
    """The likeliest first; what was looked over is not looked over again, and next to nothing is worth no look."""
    d = found()
    here = worth_inspecting(d.hypotheses, d.share, d.evidence, d.predictor.harness)
    assert len(here) <= 12 and len({*here}) == len(here)
    flat = np.full(len(d.hypotheses), 1 / len(d.hypotheses))
    assert len(worth_inspecting(d.hypotheses, flat * 40, d.evidence, d.predictor.harness)) == 12
    assert worth_inspecting(d.hypotheses, flat * 1e-6, d.evidence, d.predictor.harness) == []
    assert worth_moving(d.hypotheses, flat, d.predictor.harness) == [], "nothing comes and goes"


def test_lamps_in_the_hand_are_measured_each_once() -> None:
    tests = [c.test for c in Measurements(living("filament open", "fuse blown")).in_hand()]
    assert Counter(t.in_hand for t in tests) == Counter([f"lamp {k}" for k in NINE] + [f"F{k}" for k in NINE])
    assert all(t.done[0].target == t.in_hand for t in tests)
    assert not list(Measurements(living("way open")).in_hand())


def test_probes_go_to_what_is_suspected_and_beside_it() -> None:
    own = Measurements(Living(found(), [i for i, h in enumerate(found().hypotheses)
                                        if h.faults[0].name == "wire open: switch 1.out – C1.1"][:1]))
    nodes = own.probe_nodes()
    assert nodes == sorted(nodes) and {"switch 1.out", "C1.1", "C1.1'", "lamp 1.feed", "lamp 9.earth"} <= {*nodes}
    assert not {"body", "F2.in", "switch 2.in"} & {*nodes}


def test_rows_to_plan_with_are_four_a_repair_of_twenty_four_repairs() -> None:
    rows, shares = rows_to_plan_with(found())
    repairs = Counter(found().hypotheses[r].repair for r in rows)
    assert len(repairs) <= 24 and max(repairs.values()) <= 4 and len(rows) == len(shares)
    by_repair: dict[str, float] = {}
    for r, share in zip(rows, shares.tolist(), strict=True):
        by_repair[found().hypotheses[r].repair] = by_repair.get(found().hypotheses[r].repair, 0.0) + share
    for s in found().suspects:
        assert s.repair not in by_repair or by_repair[s.repair] == pytest.approx(s.share)


# --- what is seen together


def test_where_one_stands_to_see_a_lamp() -> None:
    """The trailer first, then the wheel, then behind, then in front; else where it is."""
    lamps = {
        "trailer left stop": ("", "the trailer"), "caravan tail": ("dash", "the trailer"),
        "indicator tell-tale": ("rear", "the wheel"), "left tail": ("", "behind"),
        "left stop": ("left corner", "behind"),
        "number plate lamp": ("", "behind"), "reversing lamp": ("", "behind"), "third lamp": ("boot lid", "behind"),
        "left dip": ("", "in front"), "left indicator": ("left wing", "in front"), "fog lamp": ("grille", "in front"),
        "map lamp": ("dash", "the wheel"), "cabin lamp": ("roof", "roof"), "step lamp": ("", "step lamp"),
    }
    places = {n: f", place: {p}" if p else "" for n, (p, _) in lamps.items()}
    parts = "".join(f"  {n}: {{kind: lamp, lamp: R5W{place}}}\n" for n, place in places.items())
    wires = "".join(f"  - battery.+ > {n}.feed\n  - {n}.earth > E1\n" for n in lamps)
    harness = read_harness("harness: it, invented\nsystem: 12 V negative earth\nparts:\n  battery: {kind: battery}\n"
                           f"{parts}earths: {{E1: }}\nwires:\n  - battery.- > E1\n{wires}")
    assert standpoints(harness) == {n: where for n, (_, where) in lamps.items()}


@pytest.mark.parametrize(("spread", "tells"), [(0.11, True), (0.09, False), (0.0, False), (0.9, True)])
def test_a_look_tells_where_suspects_differ_by_a_tenth(spread: float, tells: bool) -> None:
    assert telling(np.array([[0.05 + spread, 0.05], [0.95 - spread, 0.95]])) == tells
    assert telling(np.array([[0.05, 0.05 + spread], [0.95, 0.95 - spread]])) == tells


@pytest.mark.parametrize("seed", range(4))
def test_lamps_seen_together_show_all_that_each_shows(seed: int) -> None:
    """Two lamps with two likely words each: four outcomes and the rest, each as likely under a suspect as its words
    are one by one. A word that no suspect makes likelier than a tenth counts with the lamp's likeliest."""
    rng = np.random.default_rng(seed)
    tables = []
    for _ in range(2):
        p = rng.uniform(0.2, 0.8, 3)
        rare = rng.uniform(0.0, 0.09, 3)
        tables.append(np.array([p * (1 - rare), rare, (1 - p) * (1 - rare)]))
    said, joint = together(("a", "b"), tables, ("dark", "dim", "normal"))
    assert said[-1] == OTHERWISE and joint.sum(axis=0) == pytest.approx(1.0) and joint[-1].max() < 1e-4
    own = []
    for t in tables:
        dark, dim, normal = t
        more = dark.mean() > normal.mean()
        own.append({"dark": dark + (dim if more else 0), "normal": normal + (0 if more else dim)})
    wanted = {f"a {x}, b {y}": own[0][x] * own[1][y] for x, y in product(own[0], own[1])}
    likely = {k: v for k, v in wanted.items() if v.max() > 0.02}
    assert {*said[:-1]} == {*likely}
    for words, p in zip(said[:-1], joint[:-1], strict=True):
        assert p == pytest.approx(likely[words], abs=2e-2 if len(likely) < 4 else 1e-5)


def test_of_what_many_lamps_show_eight_outcomes_are_planned_with() -> None:
    half = np.full((2, 1), 0.5)
    said, joint = together([f"lamp {k}" for k in range(5)], [half] * 5, ("dark", "normal"))
    assert len(said) == 9 and joint[-1, 0] == pytest.approx(0.75) and said[0] == ", ".join(
        f"lamp {k} dark" for k in range(5))


def test_whoever_looks_round_sees_eight_lamps() -> None:
    """Of nine seen from one place the first eight, each once; and each by itself."""
    looks = list(Looks(living("fuse blown", "filament open")).candidates())
    rounds = [c for c in looks if c.also]
    assert all(len(c.also) <= 7 and c.test.lamp not in c.also for c in rounds)
    assert all(c.outcomes[-1] == OTHERWISE for c in rounds)
    assert all({*c.outcomes} <= {*LOOK_OUTCOMES} for c in looks if not c.also)
    assert all(c.likelihood.sum(axis=0) == pytest.approx(1.0) for c in looks)
    assert len(Looks(living("fuse blown")).states()) <= 36


def test_a_reading_is_offered_where_it_may_be_one_of_two() -> None:
    """And not where it can be but one."""
    alive = living("fuse blown", "filament open")
    own = list(Measurements(alive).voltages(alive.work_states()[0]))
    assert {len(c.outcomes) for c in own} == {2} and all(c.likelihood.sum(axis=0) == pytest.approx(1.0) for c in own)
    assert {c.likelihood.shape for c in own} == {(2, len(alive.changes))}
    assert {c.test.plus for c in own if c.test.kind == "volts"} >= {f"F{k}.out" for k in NINE}
    lone = Living(found(), [i for i, h in enumerate(found().hypotheses) if h.faults[0].name == "fuse blown: F1"])
    assert not list(Measurements(lone).voltages(lone.work_states()[0]))


# --- what is heard


RELAY = """\
harness: A lamp behind a relay, invented
system: 12 V negative earth
controls: {lights: [off, on]}
parts:
  battery: {kind: battery}
  switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  R1: {kind: relay}
  tail: {kind: lamp, lamp: R5W}
earths: {E1: , E2: }
wires:
  - battery.- > E1
  - battery.+ > switch.in
  - battery.+ > R1.30
  - switch.out > R1.86
  - R1.85 > E2
  - R1.87 > tail.feed
  - tail.earth > E2
"""


@pytest.mark.parametrize(("does", "lights", "complaint"), [
    ("clicks", "on", False), ("silent", "on", True), ("buzzes", "on", True), ("clicks", "off", True),
    ("silent", "off", False),
])
def test_a_relay_that_does_otherwise_than_on_a_sound_vehicle_is_a_complaint(
    does: str, lights: str, complaint: bool,
) -> None:
    """Then it is listened to again after the repair."""
    own = relay_vehicle()
    state = own.harness.state({"lights": lights})
    proof = plan_proof(own, [Symptom(state, (RelaySeen("R1", does),))])  # type: ignore[arg-type]
    assert [c.state for c in proof.checks if c.because == "the complaint"] == [state] * complaint


@cache
def relay_vehicle() -> Investigator:
    return Investigator(read_harness(RELAY))
