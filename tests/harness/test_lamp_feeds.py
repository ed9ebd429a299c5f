"""Which terminal feeds which lamp, also where a contact of the part itself lies between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.harness.built_parts import Built, Kind, Setting, lamp_in_holder
from tracer.harness.devices import Joint, RelayContact, Resistor
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.lamp_feeds import fed_by
from tracer.harness.model import Harness
from tracer.harness.node import inside, node_of, terminal_at
from tracer.harness.part_kinds import KINDS
from tracer.inference.diagnose import Investigator
from tracer.observation.words.probes import parse_test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_readings import Measurements
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living

# Invented: arms that a solenoid lifts; up, each closes the contact that feeds its own lamp.
CAR = """
harness: Invented car with arms
system: 12 V negative earth
colours: IEC 60757
usual: {size: 1 mm², length: 1.5 m}
controls:
  arm switch: [off, left, right]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 15 A}
  arm switch: {kind: switch, control: arm switch, contacts: {left: [15-L], right: [15-R]}}
  left arm: {kind: arm, lamp: 3 W, place: left door pillar}
  right arm: {kind: arm, lamp: 3 W, place: right door pillar}
earths: {E1: battery strap, E2: door pillars}
wires:
  - {run: battery.- > E1, size: 16 mm²}
  - {run: battery.+ > F1.in, size: 6 mm²}
  - F1.out > arm switch.15
  - arm switch.L > left arm.feed
  - arm switch.R > right arm.feed
  - left arm.earth > E2
  - right arm.earth > E2
"""


def _build_arm(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    up, feed, earth = inside(name, "arm up"), terminal_at(name, "feed"), terminal_at(name, "earth")
    bulb = [replace(d, a=up) if isinstance(d, Joint) and d.a == feed else d
            for d in lamp_in_holder(name, [name], ["feed"], s["lamp"], system_v)]
    return Built(("feed", "earth"), (
        Resistor(f"{name} coil", feed, earth, 4.0, "coil"),
        RelayContact(f"{name} contact", feed, up, f"{name} coil", True, 0.6 * system_v, 0.3 * system_v), *bulb,
    ))


@pytest.fixture
def car(monkeypatch: pytest.MonkeyPatch) -> Iterator[Harness]:
    """As if somebody had added the kind."""
    row = Kind("an arm with its lamp", {"lamp": Setting("lamp", required=True)}, _build_arm)
    monkeypatch.setitem(KINDS, "arm", row)
    yield read_harness(CAR, "arms")


def test_a_lamp_hangs_on_the_terminal_of_its_own_contact(car: Harness) -> None:
    assert [f.lamp for f in fed_by(car.parts["left arm"], "left arm.feed")] == ["left arm"]
    assert fed_by(car.parts["left arm"], "left arm.earth") == ()


def test_a_known_good_lamp_is_held_there(car: Harness) -> None:
    """By the lamp's name, and between the terminals themselves."""
    for typed in ("known-good lamp at left arm", "known-good lamp left arm.feed to left arm.earth"):
        test = parse_test(f"{typed} when arm switch left", car)
        assert (test.plus, test.minus) == ("left arm.feed", "left arm.earth")


def test_what_is_measured_is_measured_at_terminals(car: Harness) -> None:
    """A probe reaches no point inside the part but a shell; the supply across the lamp is offered."""
    told = parse_symptom("left arm dark when arm switch left", car)
    diagnosis = Investigator(car).diagnose([told])
    measurements = Measurements(Living(diagnosis, rows_to_plan_with(diagnosis)[0]))
    state = car.state({"arm switch": "left"})
    offered = [c.test for c in [*measurements.voltages(state), *measurements.test_lamps([state])]]
    assert not [t for t in offered for n in (t.plus, t.minus) if n and node_of(n).inner and not node_of(n).shell]
    assert {("drop", "left arm.feed", "left arm.earth"), ("test lamp", "left arm.feed", car.reference)} <= {
        (t.kind, t.plus, t.minus) for t in offered}


@pytest.mark.parametrize("model", sorted(p.stem for p in MODELS.glob("*.yaml")))
def test_every_lamp_of_a_model_hangs_on_one_terminal(model: str) -> None:
    for part in load_harness(MODELS / f"{model}.yaml").parts.values():
        fed = [f.lamp for t in part.terminals for f in fed_by(part, terminal_at(part.name, t))]
        assert sorted(fed) == sorted(f.lamp for f in part.lamps), part.name
