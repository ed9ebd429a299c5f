"""Which ends of a plug's ways lie on one half: read off the drawings by hand, and what crossed ways then do."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tracer.checking.simulation import simulate
from tracer.circuit.model import NO_CHANGE
from tracer.faults import list_faults
from tracer.faults.connectors import connector_halves, links_off_earth
from tracer.harness.base_rates import RATES
from tracer.harness.file.text import load_harness, read_harness
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor

MODELS = Path(__file__).parents[2] / "harness_models"

# Ways that are written the other way round than the first, by hand: an earth wire is written from its lamp, its
# feeds from their fuse. On the motorcycle ways 1 and 2 are written from the main loom into the headlamp shell, ways 3
# to 6 out of it (the splices S4, S6 and S7 lie there).
TURNED = [
    ("pickup", "C2", {5}), ("pickup", "C4", {6}), ("pickup", "C5", {6}), ("pickup", "C6", {5}),
    ("saloon_1970s", "C4", {5}), ("saloon_1970s", "C5", {5}),
    ("saloon_led", "C2", {4}), ("saloon_led", "C3", {4}), ("saloon_led", "C4", {5}), ("saloon_led", "C5", {5}),
    ("motorcycle_6v", "C1", {3, 4, 5, 6}), ("glass_fibre", "C3", {3}), ("glass_fibre", "C4", {3}),
]


@pytest.mark.parametrize(("model", "name", "turned"), TURNED)
def test_ways_written_the_other_way_round(model: str, name: str, turned: set[int]) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    same = connector_halves(harness.connectors[name], links_off_earth(harness))

    assert {w for w, s in same.items() if not s} == turned


def test_feed_and_earth_of_a_lamp_change_places() -> None:
    """The current of the side lamp then goes through it the other way round: from its earth terminal to its feed,
    over the same joints, so that it burns as ever and no fuse carries more than a few lamps."""
    harness = load_harness(MODELS / "pickup.yaml")
    found = simulate(harness, {"lamp switch": "side"}, faults=["ways crossed: C5 ways 3 and 6"])
    volts = {x.lamp: x.volts for x in found.lamps}

    assert not found.fuses_blow
    assert volts["right front side"] == pytest.approx(volts["left front side"], abs=0.25)
    assert found.volts_at("right front.earth") > 11 > 1 > found.volts_at("right front.side")


def test_a_way_is_told_by_ways_that_come_after_it() -> None:
    """Way 1 is the earth of lamp A, way 2 the feed of lamp B, way 3 that of A: ways 1 and 2 have nothing in common,
    and the third tells of both."""
    harness = read_harness("""
harness: Invented plug
system: 12 V negative earth
colours: IEC 60757
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 5 A}
  A: {kind: lamp, lamp: 5 W}
  B: {kind: lamp, lamp: 5 W, earth at: E1}
connectors:
  C1: {ways: 3}
earths:
  E1: here
wires:
  - {run: battery.+ > F1.in}
  - {run: battery.- > E1}
  - {run: A.earth > C1.1 > E1}
  - {run: F1.out > C1.2 > B.feed}
  - {run: F1.out > C1.3 > A.feed}
""")
    assert connector_halves(harness.connectors["C1"], links_off_earth(harness)) == {1: True, 2: False, 3: False}
    joined = next(f for f in list_faults(harness) if f.name == "ways joined: C1 ways 1 and 2")
    assert {(x.a, x.b) for v in joined.variants for x in v.change.added} == {("C1.1", "C1.2'")}


CRUST = """
harness: Invented plug with two lamps
system: 12 V negative earth
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 5 A}
  lamp switch: {kind: switch, control: lamp switch, contacts: {on: [30-58]}}
  stop switch: {kind: switch, control: brake, contacts: {pressed: [15-54]}}
  tail: {kind: lamp, lamp: 5 W, earth at: E1}
  stop: {kind: lamp, lamp: 21 W, earth at: E1}
controls:
  lamp switch: [off, on]
  brake: [released, pressed]
connectors:
  C1: {ways: 2}
earths:
  E1: here
wires:
  - {run: battery.+ > F1.in}
  - {run: battery.- > E1}
  - {run: F1.out > lamp switch.30}
  - {run: F1.out > stop switch.15}
  - {run: lamp switch.58 > C1.1 > tail.feed}
  - {run: stop switch.54 > C1.2 > stop.feed}
"""


def test_crust_stays_on_its_half_when_the_plug_is_pulled() -> None:
    """6 Ω between the ways, everything off and the plug apart. On the switches' half nothing else is: 6 Ω if the
    crust is there, else open. On the lamps' half two cold filaments in series lie beside it (some 2.1 + 0.6 Ω at a
    thirteenth of hot): the ohmmeter, 0.2 Ω of leads included, shows less than either. Plugged together all three are
    one."""
    harness = read_harness(CRUST)
    predictor = Predictor(harness)
    joined = {f.name.partition("2")[2]: f.at(6.0).change for f in list_faults(harness) if f.kind == "ways joined"}
    across, switches, lamps = joined[""], joined[", half to lamp switch.58"], joined[", half to tail.feed"]
    off = (Intervention("unplug", "C1"),)
    changes = [across, switches, lamps, NO_CHANGE]
    here = predictor.observed(Test("ohms", harness.at_rest(), "C1.1", "C1.2", done=off), changes)
    there = predictor.observed(Test("ohms", harness.at_rest(), "C1.1'", "C1.2'", done=off), changes)

    assert here[1] == pytest.approx(6.2, rel=0.01) and min(here[0], here[2], here[3]) > 1e6
    cold = there[3] - 0.2
    assert 1.5 < cold < 4.0 and there[:2] == pytest.approx([cold + 0.2] * 2, rel=0.01)
    assert there[2] == pytest.approx(0.2 + 6 * cold / (6 + cold), rel=0.02)
    lit = predictor.panel(predictor.setup(harness.state({"brake": "pressed"})), predictor.table(changes)).flux
    assert np.ptp(lit[:3], axis=0).max() < 0.01 and lit[0, 0] > lit[3, 0] + 1


def test_all_forms_of_joined_ways_share_one_rate() -> None:
    harness = read_harness(CRUST)
    rates = [f.rate for f in list_faults(harness) if f.kind == "ways joined"]
    assert len(rates) == 3 and sum(rates) == pytest.approx(RATES["ways joined"].rate)
    given = read_harness(CRUST + "base rates: {ways joined: 4}\n")
    assert sum(f.rate for f in list_faults(given) if f.kind == "ways joined") == pytest.approx(4.0)
