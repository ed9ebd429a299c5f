"""Making lines straight: things in a row move sideways where there is room, bars of splices stretch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Protocol

from msgspec import Struct

from tracer.present.drawing.boxes import Box, Edge
from tracer.present.drawing.points import DotBox

LEAST_GAP = 5.0
PITCH = 10.5  # between two wires on a bar


class Placed(Protocol):
    """What a slot of the layout offers."""

    x: float
    width: float
    box: Box | None

    def port(self, edge: Edge, key: str) -> float: ...


class Link(Struct, frozen=True):
    """One piece of a run between two neighbouring rows."""

    upper: Placed
    upper_key: str
    lower: Placed
    lower_key: str

    def bend(self, off: float) -> float:
        """What it costs to be so much aside; the bar of a splice can stretch."""
        if isinstance(self.upper.box, DotBox) or isinstance(self.lower.box, DotBox):
            return 0.4 * abs(off)
        return abs(off) + (12.0 if abs(off) > 0.5 else 0.0)

    def off(self) -> float:
        """How far the lower end stands to the right of the upper one."""
        return self.lower.port("top", self.lower_key) - self.upper.port("bottom", self.upper_key)


def straighten(
    rows: Mapping[int, Sequence[Placed]], links: Sequence[Link], chains: Sequence[Sequence[Placed]]
) -> None:
    """Move slots sideways, keeping their order, until no move makes the lines straighter.

    `chains` are the slots that a run passes: they also move together.
    """
    at: dict[int, list[tuple[Link, bool]]] = defaultdict(list)
    for link in links:
        at[id(link.upper)].append((link, True))
        at[id(link.lower)].append((link, False))
    beside: dict[int, tuple[Placed | None, Placed | None]] = {}
    for row in rows.values():
        for i, slot in enumerate(row):
            beside[id(slot)] = (row[i - 1] if i else None, row[i + 1] if i + 1 < len(row) else None)
    for sweep in range(24):
        numbers = list(rows) if sweep % 2 == 0 else list(rows)[::-1]
        moved = False
        for number in numbers:
            row = rows[number]
            for i in range(len(row)) if sweep % 4 < 2 else range(len(row) - 1, -1, -1):
                moved |= _settle(row, i, at[id(row[i])])
        for chain in chains:
            moved |= _settle_chain(chain, beside, at)
        if not moved and sweep > 3:
            break
    for number in rows:
        row = rows[number]
        for i, slot in enumerate(row):
            if isinstance(slot.box, DotBox):
                _stretch(row, i, at[id(slot)])


def _settle(row: Sequence[Placed], i: int, links: Sequence[tuple[Link, bool]]) -> bool:
    """Move one slot to where its lines bend least; true if it moved."""
    slot = row[i]
    if not links:
        return False
    wanted = sorted((link.off() if is_upper else -link.off(), link.bend(1.0)) for link, is_upper in links)
    total, run = sum(w for _, w in wanted), 0.0
    by = 0.0
    for off, weight in wanted:
        run += weight
        if run * 2 >= total:
            by = off
            break
    left = row[i - 1].x + row[i - 1].width + LEAST_GAP if i else -1e9
    right = row[i + 1].x - LEAST_GAP - slot.width if i + 1 < len(row) else 1e9
    target = min(max(slot.x + by, min(left, slot.x)), max(right, slot.x))
    moved = abs(target - slot.x) > 0.3 and _bends(links, target - slot.x, slot) < _bends(links, 0.0, slot) - 0.01
    if moved:
        slot.x = target
    return moved


def _settle_chain(
    chain: Sequence[Placed], beside: Mapping[int, tuple[Placed | None, Placed | None]],
    at: Mapping[int, list[tuple[Link, bool]]],
) -> bool:
    """Move all of a run's slots that stand in one line to where one of their neighbours stands."""
    moved = False
    start = 0
    while start < len(chain):
        stop = start + 1
        while stop < len(chain) and abs(chain[stop].port("top", "") - chain[start].port("top", "")) < 0.5:
            stop += 1
        group = chain[start:stop]
        before = next((link for link, upper in at[id(group[0])] if not upper), None)
        after = next((link for link, upper in at[id(group[-1])] if upper), None)
        outer = [link for link in (before, after) if link is not None]
        now = sum(link.bend(link.off()) for link in outer)
        for by in [-before.off()] * (before is not None) + [after.off()] * (after is not None):  # type: ignore[union-attr]
            then = sum(link.bend(link.off() + (by if link is before else -by)) for link in outer)
            if abs(by) > 0.3 and then < now - 0.01 and all(_free(s, by, beside[id(s)]) for s in group):
                for s in group:
                    s.x += by
                moved = True
                break
        start = stop
    return moved


def _free(slot: Placed, by: float, beside: tuple[Placed | None, Placed | None]) -> bool:
    left, right = beside
    if by < 0:
        return left is None or left.x + left.width + LEAST_GAP <= slot.x + by
    return right is None or slot.x + slot.width + by <= right.x - LEAST_GAP


def _bends(links: Sequence[tuple[Link, bool]], by: float, slot: Placed) -> float:
    """What the lines of a slot cost when it moves: their way across, and each bend."""
    cost = 0.0
    for link, is_upper in links:
        cost += link.bend(link.off() - by if is_upper else link.off() + by)
    return cost


def _stretch(row: Sequence[Placed], i: int, links: Sequence[tuple[Link, bool]]) -> None:
    """Let the wires of a splice's bar stand over what they lead to, as far as there is room."""
    slot = row[i]
    box = slot.box
    assert isinstance(box, DotBox)
    low = row[i - 1].x + row[i - 1].width + LEAST_GAP + 4 if i else -1e9
    high = row[i + 1].x - LEAST_GAP - box.label_width if i + 1 < len(row) else 1e9
    places: dict[tuple[Edge, str], float] = {}
    for edge in ("top", "bottom"):
        ends: list[tuple[float, str]] = []
        for link, is_upper in links:
            if is_upper and edge == "bottom":
                ends.append((link.lower.port("top", link.lower_key), link.upper_key))
            elif not is_upper and edge == "top":
                ends.append((link.upper.port("bottom", link.upper_key), link.lower_key))
        ends.sort()
        xs = [min(max(x, low), max(high, low)) for x, _ in ends]
        for n in range(1, len(xs)):
            xs[n] = max(xs[n], xs[n - 1] + PITCH)
        if xs and xs[-1] > high:
            xs[-1] = max(high, xs[-1] - PITCH * len(xs))
            for n in range(len(xs) - 2, -1, -1):
                xs[n] = min(xs[n], xs[n + 1] - PITCH)
        if xs and xs[0] < low - 0.01:
            return  # no room: it stays as it is
        for x, (_, key) in zip(xs, ends, strict=True):
            places[edge, key] = x
    for (edge, key), x in list(places.items()):  # a wire that cannot stand over its own end goes straight through
        others = [o for (e, _), o in places.items() if e != edge and 0.5 < abs(o - x) < PITCH]
        taken = [o for (e, k), o in places.items() if e == edge and k != key]
        if others and edge == "top" and all(abs(others[0] - t) >= PITCH - 0.1 for t in taken):
            places[edge, key] = others[0]
    if places:
        slot.x, slot.width = box.stretch(places)
