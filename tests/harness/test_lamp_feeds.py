"""Which terminal feeds which lamp, also where a contact of the part itself lies between them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tests.made_up_arm import ARM, CAR, build_arm
from tracer.checking.simulation import simulate
from tracer.errors import ReadingError
from tracer.harness.built_parts import Built
from tracer.harness.devices import Joint, RelayContact
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.lamp_feeds import earthed_at, fed_by
from tracer.harness.model import Harness
from tracer.harness.node import inside, node_of, terminal_at
from tracer.harness.part_kinds import KINDS
from tracer.inference.diagnose import Investigator
from tracer.observation.words.probes import parse_test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_readings import Measurements
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living


@pytest.fixture
def car(monkeypatch: pytest.MonkeyPatch) -> Iterator[Harness]:
    """As if somebody had added the kind."""
    monkeypatch.setitem(KINDS, "arm", ARM)
    yield read_harness(CAR, "arms")


def test_a_lamp_hangs_on_the_terminal_of_its_own_contact(car: Harness) -> None:
    assert [f.lamp for f in fed_by(car.parts["left arm"], "left arm.feed")] == ["left arm"]
    assert fed_by(car.parts["left arm"], "left arm.earth") == ()


def test_a_known_good_lamp_is_held_there(car: Harness) -> None:
    """By the lamp's name, and between the terminals themselves."""
    for typed in ("known-good lamp at left arm", "known-good lamp left arm.feed to left arm.earth"):
        test = parse_test(f"{typed} when arm switch left", car)
        assert (test.plus, test.minus) == ("left arm.feed", "left arm.earth")


def test_what_a_coil_without_a_contact_carries_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """An arm whose lamp needs no contact: 12.6 V over 4 ohm and some wire, with the switch to the left on the left
    alone."""
    assert simulate(read_harness(CAR.replace("kind: arm,", "kind: lamp,"), "lamps")).coils_amps == {}

    def alone(*of: Any) -> Built:
        made = build_arm(*of)
        up = inside(of[0], "arm up")
        return replace(made, devices=tuple(
            replace(d, a=terminal_at(of[0], "feed")) if isinstance(d, Joint) and d.a == up else d
            for d in made.devices if not isinstance(d, RelayContact)))

    monkeypatch.setitem(KINDS, "arm", replace(ARM, build=alone))
    case = simulate(read_harness(CAR, "arms"), {"arm switch": "left"})
    assert case.coils_amps == pytest.approx({"left arm coil": 3.1, "right arm coil": 0.0}, abs=0.1)
    assert case.as_data()["coils_amps"]["right arm coil"] == 0.0
    assert case.relays_pulled_in == ()


def test_what_a_coil_that_moves_a_contact_carries_is_said(car: Harness) -> None:
    case = simulate(car, {"arm switch": "right"})
    assert case.coils_amps == pytest.approx({"left arm coil": 0.0, "right arm coil": 3.1}, abs=0.1)
    assert case.relays_pulled_in == ("right arm",)


def test_a_lamp_that_no_terminal_feeds_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a builder that turned the contact round: not with an empty message."""
    def turned(*of: Any) -> Built:
        made = build_arm(*of)
        return replace(made, devices=tuple(
            replace(d, a=d.b, b=d.a) if isinstance(d, RelayContact) else d for d in made.devices))

    monkeypatch.setitem(KINDS, "arm", replace(ARM, build=turned))
    with pytest.raises(ReadingError) as caught:
        parse_test("known-good lamp at left arm when arm switch left", read_harness(CAR, "arms"))
    assert str(caught.value).startswith("no terminal of left arm feeds left arm")


def test_a_known_good_lamp_goes_to_the_lamp_s_own_earth() -> None:
    """Where a lamp of a unit has an earth terminal of its own."""
    text = CAR.replace("kind: arm, lamp: 3 W,", "kind: lamp unit, lamps: {a: 5 W, b: 5 W}, own earth: {b: earth 2},")
    text = text.replace("arm.feed", "arm.a").replace("  - left arm.earth > E2", (
        "  - left arm.earth > E2\n  - F1.out > left arm.b\n  - left arm.earth 2 > E1\n"
        "  - F1.out > right arm.b\n  - right arm.earth 2 > E1"))
    harness = read_harness(text, "own earths")
    test = parse_test("known-good lamp at left arm b when arm switch left", harness)
    assert (test.plus, test.minus) == ("left arm.b", "left arm.earth 2")


def test_what_is_measured_is_measured_at_terminals(car: Harness) -> None:
    """A probe reaches no point inside the part but a shell; the supply across the lamp is offered."""
    told = parse_symptom("left arm dark when arm switch left", car)
    diagnosis = Investigator(car).diagnose([told])
    measurements = Measurements(Living(diagnosis, rows_to_plan_with(diagnosis)[0]))
    state = car.state({"arm switch": "left"})
    offered = [c.test for c in [*measurements.voltages(state), *measurements.at_lamps([state])]]
    assert not [t for t in offered for n in (t.plus, t.minus) if n and node_of(n).inner and not node_of(n).shell]
    assert {("drop", "left arm.feed", "left arm.earth"), ("test lamp", "left arm.feed", car.reference)} <= {
        (t.kind, t.plus, t.minus) for t in offered}


@pytest.mark.parametrize("model", sorted(p.stem for p in MODELS.glob("*.yaml")))
def test_every_lamp_of_a_model_hangs_on_one_terminal(model: str) -> None:
    for part in load_harness(MODELS / f"{model}.yaml").parts.values():
        fed = [f.lamp for t in part.terminals for f in fed_by(part, terminal_at(part.name, t))]
        assert sorted(fed) == sorted(f.lamp for f in part.lamps), part.name
        assert {earthed_at(part, f) for f in part.lamps} <= {terminal_at(part.name, t) for t in part.terminals}
