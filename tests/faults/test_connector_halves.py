"""Which ends of a plug's ways lie on one half: read off the drawings by hand, and what crossed ways then do."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.checking.simulation import simulate
from tracer.faults import list_faults
from tracer.faults.connectors import connector_halves, links_off_earth
from tracer.harness.file.text import load_harness, read_harness

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
