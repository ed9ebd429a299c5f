"""A lamp that takes three controls: a rear fog lamp that wants side lights and its own switch, and no trailer."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.long import in_turn
from tracer.checking.simulation import simulate
from tracer.checking.survey import Survey
from tracer.checking.truth_table import truth_table
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.lighting_states import lighting_states
from tracer.inference.hypotheses import basic_states

FOG = read_harness("""
harness: Invented fog lamp
system: 12 V negative earth
colours: IEC 60757
controls:
  ignition: {positions: [off, on], assumed: on}
  lamp switch: {positions: [off, side, head]}
  fog switch: {positions: [off, on]}
  trailer: {positions: [coupled, not coupled]}
  gear: {positions: [neutral, reverse]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  lamp switch: {kind: switch, control: lamp switch, contacts: {side: [30-58], head: [30-58]}}
  fog switch: {kind: switch, control: fog switch, contacts: {on: [58-f]}}
  socket: {kind: switch, control: trailer, contacts: {not coupled: [f-2]}}
  reversing switch: {kind: switch, control: gear, contacts: {reverse: [a-b]}}
  K1: {kind: relay}
  fog lamp: {kind: lamp, lamp: P21W}
  tail lamp: {kind: lamp, lamp: R5W}
  reversing lamp: {kind: lamp, lamp: P21W}
splices:
  S1: {}
  S2: {}
earths:
  E1: here
wires:
  - {run: battery.+ > F1.in}
  - {run: battery.- > E1}
  - {run: F1.out > S1}
  - {run: S1 > lamp switch.30}
  - {run: lamp switch.58 > S2}
  - {run: S2 > tail lamp.feed}
  - {run: S2 > fog switch.58}
  - {run: fog switch.f > socket.f}
  - {run: socket.2 > K1.86}
  - {run: K1.85 > E1}
  - {run: S1 > K1.30}
  - {run: K1.87 > fog lamp.feed}
  - {run: fog lamp.earth > E1}
  - {run: tail lamp.earth > E1}
  - {run: S1 > reversing switch.a}
  - {run: reversing switch.b > reversing lamp.feed}
  - {run: reversing lamp.earth > E1}
""")
WANTED = {"lamp switch": "side", "fog switch": "on", "trailer": "not coupled"}


def test_the_fewest_controls_that_light_it() -> None:
    assert lighting_states(FOG) == (FOG.state(WANTED),)
    assert FOG.state(WANTED) in basic_states(FOG)


def test_the_truth_table_has_it_with_all_its_controls() -> None:
    table = truth_table(FOG)
    fog = next(g for g in table.groups if "fog lamp" in g.lamps)

    assert "fog lamp" not in table.steady
    assert fog.controls == ("lamp switch", "fog switch", "trailer")
    (line,) = fog.lines
    assert line.positions == {
        "lamp switch": ("side", "head"), "fog switch": ("on",), "trailer": ("not coupled",)}
    assert line.look.startswith("normal") and fog.otherwise == "dark"


@pytest.mark.parametrize("model", in_turn(sorted((Path(__file__).parents[2] / "harness_models").glob("*.yaml")), 1),
                         ids=lambda p: p.stem)
def test_the_drawing_and_the_circuit_agree_on_what_lights(model: Path) -> None:
    """Every lamp that the circuit lights in any state with up to two controls moved is lit in a basic state, but for
    those that light through another lamp only."""
    harness = load_harness(model)
    survey = Survey(harness)
    basic = {lamp for s in basic_states(harness) for lamp, look in survey.at(s).looks.items() if look != "dark"}
    for state in lighting_states(harness):
        looks = simulate(harness, dict(state.positions)).lamps
        assert any(x.look.startswith(("normal", "bright", "dim")) for x in looks)
    everything = {lamp for h in survey.until_all_used() for lamp, look in h.looks.items() if look != "dark"}

    assert everything - basic == set()
