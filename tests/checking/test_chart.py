"""The symptom-to-cause chart: its rows follow from the simulation, its pages hold what anybody typed."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import pytest

from tracer.checking.chart import Chart, chart, chart_states
from tracer.harness.file.text import load_harness, read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.explanation import say_lamp
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor

MODELS = Path(__file__).parents[2] / "harness_models"

NASTY = """\
harness: "Van <script>alert('x')</script> & | *bold* `code`"
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m}
controls: {"li<ght|s": [off, on]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  switch: {kind: switch, control: "li<ght|s", contacts: {on: [in-out]}}
  "a<b &amp;|*lamp*": {kind: lamp, lamp: P21W}
earths: {E1: here}
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > switch.in
  - switch.out > a<b &amp;|*lamp*.feed
  - a<b &amp;|*lamp*.earth > E1
"""


@cache
def _chart(name: str) -> Chart:
    return chart(load_harness(MODELS / f"{name}.yaml"))


@pytest.mark.parametrize("name", ["pickup", "trailer_7pin"])
def test_shares_sum_to_one(name: str) -> None:
    c = _chart(name)
    assert sum(r.share for r in c.rows) + (c.unseen.share if c.unseen else 0.0) == pytest.approx(1.0, abs=1e-9)
    assert [r.share for r in c.rows] == sorted((r.share for r in c.rows), reverse=True)
    for row in c.rows:
        assert row.share == pytest.approx(sum(x.share for x in row.causes), abs=1e-12)
        assert set(row.repairs) == {x.repair for x in row.causes}
        assert any(row.cells) and len(row.cells) == len(c.columns)


@pytest.mark.parametrize("name", ["pickup", "trailer_7pin"])
def test_rows_differ_in_what_is_seen(name: str) -> None:
    cells = [r.cells for r in _chart(name).rows]
    assert len(set(cells)) == len(cells)
    columns = list(zip(*cells, strict=True))
    assert len(set(columns)) == len(columns)  # no two states of the chart say the same


def test_every_fault_stands_in_the_chart() -> None:
    harness = load_harness(MODELS / "trailer_7pin.yaml")
    c = _chart("trailer_7pin")
    rows = [*c.rows, *([c.unseen] if c.unseen else [])]
    assert {x.fault for r in rows for x in r.causes} == {f.name for f in Investigator(harness).faults}


def test_each_lamp_is_lit_in_some_state_of_the_chart() -> None:
    predictor = Predictor(load_harness(MODELS / "pickup.yaml"))
    states = chart_states(predictor)
    assert states[: len(basic_states(predictor.harness))] == basic_states(predictor.harness)
    for lamp in predictor.lamps:
        assert any(say_lamp(predictor.healthy(s), predictor, lamp.lamp).startswith("normal") for s in states)


def test_cells_say_what_a_single_prediction_says() -> None:
    """Second path: each named cell against `reasons.say_lamp` of one fault solved by itself."""
    harness = load_harness(MODELS / "trailer_7pin.yaml")
    investigator = Investigator(harness)
    predictor, c = investigator.predictor, _chart("trailer_7pin")
    by_name = {f.name: f for f in investigator.faults}
    checked = 0
    for row in c.rows:
        fault = by_name[row.causes[0].fault]
        if len(fault.variants) > 1 or fault.variants[0].change.added:
            continue  # several severities, or a fuse that stays blown: which is meant is not named here
        for state, cell in zip(c.states, row.cells, strict=True):
            panel = predictor.panel(predictor.setup(state), predictor.table([fault.variants[0].change]))
            for lamp in predictor.lamps:
                said = say_lamp(panel, predictor, lamp.lamp)
                usual = say_lamp(predictor.healthy(state), predictor, lamp.lamp)
                named = re.search(rf"(?:^|[,;] ){re.escape(lamp.lamp)}\b", cell) is not None
                assert named == (said != usual), (fault.name, harness.say_state(state), lamp.lamp, said, cell)
                checked += named
    assert checked > 20


def test_a_broken_filament_and_its_open_holder_are_one_row() -> None:
    """No look tells them apart: a group (common practice, no source)."""
    row = next(r for r in _chart("trailer_7pin").rows if any(
        c.fault == "filament open: left lamp unit indicator" for c in r.causes))
    assert any(c.fault.startswith("holder open: left lamp unit indicator") for c in row.causes)
    assert [x for x in row.cells if x] == ["left lamp unit indicator dark"]


def test_a_blown_fuse_is_said() -> None:
    assert any("fuse F1 blows" in x for r in _chart("trailer_7pin").rows for x in r.cells)


def test_steady_instead_of_flashing_is_said() -> None:
    cells = [x for r in _chart("pickup").rows for x in r.cells]
    assert any("steady" in x for x in cells)
    assert any("too bright" in x or "dim" in x for x in cells)


# --- renderings ---------------------------------------------------------------------------------


def test_markdown_has_the_same_number_of_cells_in_every_line() -> None:
    for c in (_chart("trailer_7pin"), chart(read_harness(NASTY))):
        rows = [x for x in c.as_markdown().splitlines() if x.startswith("|")]
        counts = {len(re.findall(r"(?<!\\)\|", x)) for x in rows}
        assert counts == {len(c.columns) + 4} and len(rows) == len(c.rows) + 2


def test_markdown_escapes_what_was_typed() -> None:
    text = chart(read_harness(NASTY)).as_markdown()
    assert "<script>" not in text.replace("\\<", "") and "\\*lamp\\*" in text and "\\`code\\`" in text


def test_text_and_data() -> None:
    c = _chart("trailer_7pin")
    assert max(map(len, c.as_text().splitlines())) <= 80
    data = c.as_data()
    assert json.loads(json.dumps(data)) == data
    assert len(data["rows"]) == len(c.rows) and data["title"] == c.title


def test_top_says_what_it_leaves_out() -> None:
    c = _chart("trailer_7pin")
    short = c.top(5).top(3)
    assert len(short.rows) == 3 and short.left_out[0] == len(c.rows) - 3
    assert short.left_out[1] + sum(r.share for r in short.rows) == pytest.approx(sum(r.share for r in c.rows))
    assert "rarer rows" in short.as_text() and "rarer rows" not in c.as_text()
