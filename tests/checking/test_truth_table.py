"""The truth table of the healthy vehicle says what the controls are for.

What a lamp switch, a brake pedal or a stalk lights is common practice, no source.
"""

from __future__ import annotations

import json
from pathlib import Path

from tests.check_harnesses import RELAY
from tracer.checking.survey import Survey
from tracer.checking.truth_table import truth_table
from tracer.harness.file.text import load_harness, read_harness

LORRY = Path(__file__).parents[2] / "harness_models" / "lorry_24v.yaml"
PICKUP = (Path(__file__).parents[2] / "harness_models" / "pickup.yaml").read_text(encoding="utf-8")


def test_truth_table_of_the_relay_harness() -> None:
    """The function of each control is what its name says: common practice, no source."""
    table = truth_table(read_harness(RELAY))
    assert table.lamps == ("headlamp",)
    assert [" ".join(x.replace(".", "").split()) for x in table.as_text().splitlines()] == [
        "headlamp", "lights on normal", "otherwise dark",
    ]
    assert {len(x) for x in table.as_text().splitlines()[1:]} == {80}
    data = table.as_data()
    assert json.loads(json.dumps(data)) == data
    for state in data["states"]:
        assert state["lamps"]["headlamp"] == ("normal" if state["positions"]["lights"] == "on" else "dark")


def test_truth_table_of_the_pickup() -> None:
    table = truth_table(read_harness(PICKUP))
    looks = {
        lamp: {(tuple(x.positions.items()), x.look) for x in g.lines} for g in table.groups for lamp in g.lamps
    }
    assert looks["left rear stop"] == {((("ignition", ("on",)), ("brake pedal", ("pressed",))), "normal")}
    assert looks["left rear tail"] == {((("lamp switch", ("side", "head")),), "normal")}
    assert looks["right headlamp main"] == {((("lamp switch", ("head",)), ("dip switch", ("main",))), "normal")}
    assert ((("hazard switch", ("on",)),), "normal, flashing") in looks["left repeater"]
    assert max(map(len, table.as_text().splitlines())) <= 80
    assert set(looks) == {f.lamp for f in read_harness(PICKUP).lamps()}


def test_truth_table_agrees_with_the_states_it_summarises() -> None:
    """Every state that was solved follows from the lines by lamp."""
    harness = read_harness(PICKUP)
    table = truth_table(harness, Survey(harness))
    for state, row in zip(table.states, table.looks, strict=True):
        for g in table.groups:
            said = {x.look for x in g.lines if all(state[c] in p for c, p in x.positions.items())} or {g.otherwise}
            assert {row[table.lamps.index(lamp)] for lamp in g.lamps} == said


def test_two_controls_that_are_taken_to_be_on_are_both_named() -> None:
    """A lorry's main beams need its battery master switch and not its ignition: by the circuit, each alone must
    be tried at rest with lamp and dip switch moved."""
    table = truth_table(load_harness(LORRY))
    main = next(g for g in table.groups if "left headlamp main" in g.lamps)

    assert [dict(x.positions) for x in main.lines] == [
        {"master switch": ("on",), "lamp switch": ("head",), "dip switch": ("main",)}
    ]
