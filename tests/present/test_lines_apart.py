"""No line of a drawing hides another: not beside it, not where a terminal's lead comes out under it."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.long import in_turn
from tests.present.groups import grouped
from tests.present.test_drawing import lost_earth
from tracer.faults import list_faults
from tracer.harness.devices import Conductor
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.inference.hypotheses import basic_states
from tracer.present.drawing.canvas import Canvas, Stroke
from tracer.present.drawing.draw import draw_on_canvas
from tracer.present.drawing.selection import view_of_harness
from tracer.present.drawing.tracks import Across, lay_across
from tracer.present.drawing.view import View

MODELS = Path(__file__).parents[2] / "harness_models"
GAP = 2.0  # of paper between two lines side by side, and of a lead that is to be seen
THIN = 1.9  # less is a lead inside a box, a frame or a rule
PAPER = "#ffffff"


class Piece(NamedTuple):
    """A straight piece of a line (axis 0: upright) at `at`, from `low` to `high` along it."""

    axis: int
    at: float
    low: float
    high: float
    half: float
    name: str
    number: int
    paper: bool


def pieces(canvas: Canvas) -> Iterator[Piece]:
    """Pieces of all thick lines; one in no group has a name of its own."""
    for number, (group, op) in enumerate(grouped(canvas)):
        if isinstance(op, Stroke) and op.width >= THIN:
            name = group or f"line {op.points}"
            for one, other in itertools.pairwise(op.points):
                for axis in (0, 1):
                    low, high = sorted((one[1 - axis], other[1 - axis]))
                    if one[axis] == other[axis] and low < high:
                        yield Piece(axis, one[axis], low, high, op.width / 2, name, number, op.colour == PAPER)


def wires_of(harness: Harness) -> set[str]:
    return {d.name for d in harness.devices() if isinstance(d, Conductor)}


def too_near(canvas: Canvas, wires: set[str]) -> list[str]:
    """Wires that run on beside another line with less than a gap of paper between them."""
    lines = sorted(p for p in pieces(canvas) if not p.paper and (p.name in wires or p.name.startswith("line ")))
    found = []
    for i, one in enumerate(lines):
        for other in lines[i + 1 :]:
            if other.axis != one.axis or other.at > one.at + 15:
                break
            beside = min(one.high, other.high) - max(one.low, other.low)
            apart = other.at - one.at - one.half - other.half
            if one.name != other.name and {one.name, other.name} & wires and beside > 0.5 and apart < GAP - 0.01:
                found.append(f"{one.name} beside {other.name} at {one.at:.0f}, {one.low:.0f}")
    return found


def hidden_ends(canvas: Canvas, wires: set[str]) -> list[str]:
    """Wires of whose end at a terminal nothing is seen, since another line passes over it."""
    every = list(pieces(canvas))
    across = [p for p in every if p.axis]
    found = []
    for wire in (p for p in every if not p.axis and not p.paper and p.name in wires):
        for low, high in ((wire.low, wire.low + GAP), (wire.high - GAP, wire.high)):
            found += [
                f"{wire.name} under {p.name} at {wire.at:.0f}, {low:.0f}" for p in across
                if p.name != wire.name and p.number > wire.number and p.low < wire.at < p.high
                and p.at + p.half > low + 0.05 and p.at - p.half < high - 0.05
            ]
    return found


def hidden(harness: Harness, view: View) -> list[str]:
    canvas, _ = draw_on_canvas(harness, view)
    assert len(list(pieces(canvas))) > 20
    return too_near(canvas, wires_of(harness)) + hidden_ends(canvas, wires_of(harness))


# Drawings ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("model", in_turn(sorted(p.stem for p in MODELS.glob("*.yaml")), 1))
def test_no_line_of_a_harness_hides_another(model: str) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    assert not hidden(harness, view_of_harness(harness))


@pytest.mark.parametrize("model", in_turn(sorted(p.stem for p in MODELS.glob("*.yaml")), 2))
def test_no_line_hides_another_where_current_flows(model: str) -> None:
    """Lines with current are thicker, those of suspects are framed, those fed backwards have heads."""
    harness = load_harness(MODELS / f"{model}.yaml")
    states = basic_states(harness)
    assert not hidden(harness, view_of_harness(harness, state=states[len(states) // 2]))
    crossed = next((f for f in list_faults(harness) if "crossed" in f.name), list_faults(harness)[0])
    assert not hidden(harness, view_of_harness(harness, fault=crossed))


@pytest.mark.parametrize(("model", "fault"), [
    ("pickup", "earth open: E4"), ("tow_7pin", "ways crossed: X3 ways 1 and 2"),
    ("rear_end", "wire open: F1.out – C1.1"),
])
def test_no_line_hides_another_in_the_drawing_of_a_fault(model: str, fault: str) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    view = view_of_harness(harness, fault=next(f for f in list_faults(harness) if f.name == fault))
    assert not hidden(harness, view)


def test_no_line_hides_another_in_the_circuit_of_a_suspect() -> None:
    pickup = load_harness(MODELS / "pickup.yaml")
    assert not hidden(pickup, lost_earth(pickup))


# Between two rows --------------------------------------------------------------------------------


def strokes(lines: list[Across]) -> list[Piece]:
    """What is drawn between two rows, of which the upper one ends at 0."""
    bends, height = lay_across(lines)
    out: list[Piece] = []
    for n, (line, own) in enumerate(zip(lines, bends, strict=True)):
        x, y = line.start, 0.0
        for below, to in own:
            assert y < below < height
            out.append(Piece(0, x, y, below, line.room, str(n), n, False))
            out.append(Piece(1, below, min(x, to), max(x, to), line.room, str(n), n, False))
            x, y = to, below
        assert abs(x - line.stop) <= 0.6
        out.append(Piece(0, x, y, height, line.room, str(n), n, False))
    return out


def lying_on_each_other(drawn: list[Piece]) -> list[tuple[Piece, Piece]]:
    return [
        (p, q) for p, q in itertools.combinations(drawn, 2)
        if p.name != q.name and p.axis == q.axis and abs(p.at - q.at) < p.half + q.half - 1e-6
        and min(p.high, q.high) - max(p.low, q.low) > 1e-6
    ]


def between(pairs: list[tuple[float, float]], room: float = 3.0) -> list[Across]:
    return [Across(start, stop, room, room, room + 2.0) for start, stop in pairs]


def test_one_line_comes_down_where_another_starts() -> None:
    """Either way round and over a third: each order but one would lay two of them on each other."""
    for pairs in ([(0.0, 50.0), (51.0, 99.0)], [(99.0, 51.0), (50.0, 0.0)], [(0.0, 50.0), (52.0, 99.0), (98.0, 9.0)]):
        drawn = strokes(between(pairs))
        assert len(drawn) == 3 * len(pairs) and not lying_on_each_other(drawn)


def test_lines_that_change_places_step_aside() -> None:
    """Each would have to run above the other: one goes down in a column of its own between, or beside them."""
    for pairs in ([(0.0, 50.0), (51.0, 1.0)], [(0.0, 40.0), (41.0, 80.0), (81.0, 1.0)], [(0.0, 8.0), (7.0, -1.0)]):
        drawn = strokes(between(pairs))
        assert len(drawn) == 3 * len(pairs) + 2 and not lying_on_each_other(drawn)


def test_no_lines_between_two_rows_lie_on_each_other() -> None:
    rng = random.Random(5)
    asides = 0
    for _ in range(150):
        rooms = [rng.choice((3.0, 4.0, 5.25, 6.65)) for _ in range(rng.randrange(2, 14))]
        ends: list[list[float]] = []
        for _ in range(2):
            at, xs = 0.0, {}
            for i in rng.sample(range(len(rooms)), len(rooms)):
                at += rng.choice((14.0, 15.0, 28.0))
                xs[i] = at
            ends.append([xs[i] for i in range(len(rooms))])
        lines = [Across(a, b, r, r, r + 2) for a, b, r in zip(*ends, rooms, strict=True)]
        drawn = strokes(lines)
        asides += len(drawn) - sum(3 if x.bent else 1 for x in lines)
        assert not lying_on_each_other(drawn)
    assert asides > 20  # circles occurred


def test_lines_straight_down_take_no_room() -> None:
    assert lay_across(between([(5.0, 5.0), (30.0, 30.5)])) == ([[], []], 0.0)


def test_a_line_keeps_off_a_row_whose_leads_it_passes() -> None:
    """By hand: 3 to either row where it is alone, 5 where it passes the lead of another on that side."""
    assert lay_across(between([(0.0, 50.0)])) == ([[(3.0, 50.0)]], 6.0)
    assert lay_across(between([(0.0, 50.0), (25.0, 25.0)])) == ([[(5.0, 50.0)], []], 10.0)
    # The second starts over the first, which is 6 below it and passes no lead on its way down.
    assert lay_across(between([(0.0, 50.0), (25.0, 90.0)])) == ([[(9.0, 50.0)], [(3.0, 90.0)]], 12.0)
