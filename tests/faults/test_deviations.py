"""Wiring that is otherwise than its file says: which ways are thought of, and what each does to the circuit."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from tracer.circuit.model import NO_CHANGE
from tracer.faults import Fault, list_deviations, list_faults
from tracer.harness.base_rates import DEVIATION_CHANCE
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.safety.hazards import of_fault

MODELS = Path(__file__).parents[2] / "harness_models"
SMALL = """harness: small
system: 12 V negative earth
controls: {lights: [off, side], horn button: [off, on]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  F2: {kind: fuse, rating: 8 A}
  switch: {kind: switch, control: lights, contacts: {side: [30-58]}}
  button: {kind: switch, control: horn button, contacts: {on: [30-58]}}
  left tail: {kind: lamp, lamp: R5W, place: left rear}
  right tail: {kind: lamp, lamp: R5W, place: right rear, earth at: E3}
  horn: {kind: load, power: 40 W, earth at: E1}
splices: [S0, S1]
earths: {E1: battery, E2: left rear, E3: right rear}
wires:
  - {run: battery.- > E1, name: strap}
  - battery.+ > S0
  - S0 > F1.in
  - S0 > F2.in
  - {run: F1.out > switch.30, name: fed}
  - {run: F2.out > button.30, name: horn fed}
  - {run: button.58 > horn.feed}
  - switch.58 > S1
  - S1 > left tail.feed
  - S1 > right tail.feed
  - {run: left tail.earth > E2, name: earth}
"""
SIDE = {"lights": "side"}


def of(text: str) -> dict[str, Fault]:
    return {f.name: f for f in list_deviations(read_harness(text))}


def untraced(line: str) -> str:
    assert SMALL.count(line) == 1
    return SMALL.replace(line, line.rstrip("}") + ", traced: no}")


def volts(harness: Harness, node: str, *faults: Fault) -> float:
    change = NO_CHANGE
    for f in faults:
        change = change | f.variants[0].change
    test = Test("volts", harness.state(SIDE), node, harness.reference)
    return float(Predictor(harness).observed(test, [change])[0])


def test_what_was_traced_is_otherwise_only_by_a_later_hand() -> None:
    found = of(SMALL)
    assert list(found) == ["earth added: left tail"]
    assert found["earth added: left tail"].rate == pytest.approx(0.01 / 0.99)


def test_an_untraced_earth_may_lie_at_any_point_or_where_it_sits() -> None:
    """The earth terminal of another unit is no choice: the only other unit has no earth wire."""
    found = of(untraced("{run: left tail.earth > E2, name: earth}"))
    own = {n: f for n, f in found.items() if f.kind == "earthed elsewhere"}
    assert set(own) == {"earthed elsewhere: left tail.earth at E1", "earthed elsewhere: left tail.earth at E3",
                        "earthed elsewhere: left tail.earth where it sits"}
    chance = DEVIATION_CHANCE["earthed elsewhere"]
    assert sum(f.rate for f in own.values()) == pytest.approx(chance / (1 - chance))
    assert found["earth added: left tail"].rate == pytest.approx(0.04 / 0.96)  # likelier where nobody looked


def test_a_part_bolted_to_one_point_may_sit_on_another() -> None:
    found = of(SMALL.replace("place: right rear, earth at: E3", "place: right rear, earth at: E3, traced: no"))
    moved = found["earthed elsewhere: right tail at E2"]
    assert moved.rewired is not None and (moved.rewired.line, moved.rewired.earth) == ("right tail", "E2")


def test_where_else_a_part_may_be_bolted_shares_the_doubt_of_its_line() -> None:
    """By what the file names, each once; where nobody saw the bolt either, the other points stand beside them."""
    beside = SMALL.replace("place: right rear, earth at: E3", "place: right rear, earth at: E3, or: [E1, E2]")
    found = {n: f for n, f in of(beside).items() if f.elements == ("right tail mounting",)}
    assert {n: f.rate for n, f in found.items()} == {
        "alternative run: right tail at E1": 0.5, "alternative run: right tail at E2": 0.5}
    assert all(f.rewired is not None and f.rewired.line == "right tail" for f in found.values())
    unseen = {n for n, f in of(beside.replace("or: [E1, E2]", "or: E1, traced: no")).items()
              if f.elements == ("right tail mounting",)}
    assert unseen == {"alternative run: right tail at E1", "earthed elsewhere: right tail at E2"}


def test_a_wire_at_a_fuse_may_be_fed_from_another() -> None:
    found = of(untraced("{run: F1.out > switch.30, name: fed}"))
    other = found["fed elsewhere: switch.30 at F2.out"]
    assert other.rewired is not None and other.rewired.run == ("F2.out", "switch.30")


def test_the_alternatives_of_a_line_share_its_doubt() -> None:
    others = "or: [left tail.earth > E1, left tail.earth > E3]"
    found = of(SMALL.replace("> E2, name: earth}", f"> E2, name: earth, {others}}}"))
    own = [f for f in found.values() if f.kind == "alternative run"]
    assert [f.rate for f in own] == [0.5, 0.5]  # as likely as the line itself, both together
    assert {f.rewired.run[-1] for f in own if f.rewired} == {"E1", "E3"}


def test_it_shows_only_beside_a_fault() -> None:
    """Earthed at E3, the lamp works; E2 open does not concern it, E3 open does: it then stands at the battery's
    voltage, for no current flows through it."""
    harness = read_harness(untraced("{run: left tail.earth > E2, name: earth}"))
    moved = next(f for f in list_deviations(harness) if f.name.endswith("left tail.earth at E3"))
    opened = {n: next(f for f in list_faults(harness) if f.name == f"earth open: {n}") for n in ("E2", "E3")}
    assert volts(harness, "left tail.earth", moved) == pytest.approx(volts(harness, "left tail.earth"), abs=0.02)
    assert volts(harness, "left tail.earth", opened["E2"]) == pytest.approx(12.5, abs=0.2)
    assert volts(harness, "left tail.earth", moved, opened["E2"]) == pytest.approx(0.0, abs=0.02)
    assert volts(harness, "left tail.earth", moved, opened["E3"]) == pytest.approx(12.5, abs=0.2)
    assert volts(harness, "E2", moved, opened["E2"]) == pytest.approx(0.0, abs=0.02)


def test_every_deviation_of_every_model_can_be_simulated_and_needs_no_repair() -> None:
    for path in sorted(MODELS.glob("*.yaml")):
        harness = load_harness(path)
        harness = replace(
            harness, wires=tuple(replace(w, traced=False) for w in harness.wires),
            parts={n: replace(p, traced=False) for n, p in harness.parts.items()})
        found = list_deviations(harness)
        assert found and len({f.name for f in found}) == len(found), path.stem
        Predictor(harness).table([f.variants[0].change for f in found])
        for f in found:
            assert f.rewired is not None and not f.renews and f.repair.startswith("nothing to mend"), f.name
            assert not of_fault(f.kind) and 0 < f.rate <= 1


def test_traced_models_have_few() -> None:
    """They stand beside some thousand faults, and cost next to nothing."""
    for path in MODELS.glob("*.yaml"):
        harness = load_harness(path)
        units = sum(bool(p.lamps) and "earth" in p.terminals for p in harness.parts.values())
        assert len(list_deviations(harness)) <= units


def test_later_hands_bypass_switches_and_cut_earths() -> None:
    harness = read_harness(SMALL)
    faults = {f.name: f for f in list_faults(harness)}
    dark = Test("volts", harness.state({}), "S1", harness.reference)
    bypassed = faults["switch bypassed: switch 30 to 58"].variants[0].change
    assert float(Predictor(harness).observed(dark, [bypassed])[0]) == pytest.approx(12.5, abs=0.2)
    assert faults["earth cut: left tail.earth – E2"].variants[0].change == faults[
        "wire open: left tail.earth – E2"].variants[0].change


def test_an_alternative_passes_the_plugs_of_its_line() -> None:
    """Only its other end is written: the plug stays where it is, and unplugging it opens both."""
    text = SMALL.replace("splices: [S0, S1]", "connectors: {C1: 2}\nsplices: [S0, S1]").replace(
        "  - {run: left tail.earth > E2, name: earth}",
        "  - {run: left tail.earth > C1.1 > E2, name: earth, or: left tail.earth > E1}")
    other = next(f for f in of(text).values() if f.kind == "alternative run")
    assert other.rewired is not None and other.rewired.run == ("left tail.earth", "C1.1", "E1")
    assert other.variants[0].change.added[0].a == "C1.1'" and other.variants[0].change.added[0].b == "E1"


def test_a_wire_that_ends_in_a_bullet_may_be_in_the_next_block() -> None:
    harness = load_harness(MODELS / "bullets_1960s.yaml")
    harness = replace(harness, wires=tuple(replace(w, traced=False) for w in harness.wires))
    moved = [f for f in list_deviations(harness) if f.kind == "branches elsewhere"]
    assert moved
    for f in moved:
        assert f.rewired is not None
        assert any(harness.block_of(n) is not None for n in f.rewired.run)
