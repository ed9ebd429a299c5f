"""Lamps on a view from above, from the words of any harness."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from tracer.harness.file.text import load_harness, read_harness
from tracer.present.conversation.vehicle_plan import plan_of

MODELS = sorted((Path(__file__).parents[2] / "harness_models").glob("*.yaml"))


def where(model: str, lamp: str) -> tuple[str, str]:
    plan = plan_of(load_harness(next(p for p in MODELS if p.stem == model)))
    return next(key for key, cell in plan.cells.items() if lamp in [p.lamp for p in cell])


@pytest.mark.parametrize(("model", "lamp", "end", "side"), [
    ("pickup", "left rear stop", "rear", "left"),
    ("pickup", "right headlamp dip", "front", "right"),  # placed by the corner
    ("pickup", "indicator tell-tale", "middle", "centre"),
    ("motorcycle_6v", "rear lamp tail", "rear", "centre"),
    ("motorcycle_6v", "headlamp pilot", "front", "centre"),
    ("car_1950s", "number-plate lamp", "rear", "centre"),  # by "boot lid"
    ("tow_7pin", "trailer left stop", "trailer rear", "left"),
    ("tow_7pin", "car left rear tail", "rear", "left"),
    ("tow_13pin", "left marker", "trailer front", "left"),
    ("tractor", "left front work lamp", "front", "left"),  # the name says more than "cab roof"
    ("estate_1990s", "rear fog tell-tale", "middle", "centre"),
    ("trailer_7pin", "left lamp unit stop", "rear", "left"),
])
def test_a_lamp_stands_where_it_is(model: str, lamp: str, end: str, side: str) -> None:
    assert where(model, lamp) == (end, side)


@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
def test_every_lamp_stands_once_and_lamps_of_one_place_have_different_names(path: Path) -> None:
    harness = load_harness(path)
    plan = plan_of(harness)
    placed = [p.lamp for cell in plan.cells.values() for p in cell] + [p.lamp for p in plan.unplaced]
    assert sorted(placed) == sorted(f.lamp for f in harness.lamps())
    for cell in plan.cells.values():
        assert len({p.short for p in cell}) == len(cell)


def test_what_no_word_places_stands_in_a_list() -> None:
    plan = plan_of(load_harness(next(p for p in MODELS if p.stem == "lorry_24v")))
    assert [p.lamp for p in plan.unplaced] == ["work lamp"]  # on the "body bulkhead"


def test_the_place_wins_over_the_name() -> None:
    path = next(p for p in MODELS if p.stem == "rear_end")
    text = path.read_text(encoding="utf-8")
    assert "left rear corner" in text
    moved = plan_of(read_harness(text.replace("left rear corner", "inside on the right"), "moved.yaml", []))
    assert ("middle", "right") in moved.cells and ("rear", "left") not in moved.cells


@pytest.mark.parametrize(("title", "outline"), [
    ("Invented tractor", "tractor"), ("Invented lorry, 24 V", "lorry"), ("Invented bus", "lorry"),
    ("Invented saloon", "car"),
])
def test_the_outline_goes_by_the_words_of_the_title(title: str, outline: str) -> None:
    harness = replace(load_harness(next(p for p in MODELS if p.stem == "pickup")), title=title)
    assert plan_of(harness).outline == outline
