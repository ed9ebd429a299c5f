"""Lines that run across between two rows: which one above which, so that none lies on another and few cross.

Two lines must not stand in one column: where one comes down near where another starts, the other turns aside above
it. Lines of which each would have to turn above the next, in a circle, cannot all do so with one bend to the side:
one of them steps aside to a column that is free, and on from there below the others.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

STRAIGHT = 0.6  # what is no more aside than this is not aside

Bend = tuple[float, float]  # how far below the upper row a line runs across, and the column that it goes on in


class Across(Struct, frozen=True):
    """A line from column `start` above to column `stop` below.

    Nothing else may come nearer to its middle than `room`, no row nearer than `close`, and no row to which others
    lead past it nearer than `clear`.
    """

    start: float
    stop: float
    room: float
    close: float
    clear: float

    @property
    def bent(self) -> bool:
        return abs(self.start - self.stop) > STRAIGHT


class _Part(Across, frozen=True):
    """Line number `line`, or a part of one that steps aside: its upper part comes first in every list."""

    line: int


def lay_across(lines: Sequence[Across]) -> tuple[list[list[Bend]], float]:
    """The bends of every line from above to below (none if it runs straight down), and the height of it all."""
    parts = [_Part(x.start, x.stop, x.room, x.close, x.clear, i) for i, x in enumerate(lines) if x.bent]
    while True:
        above = _above(parts)
        order, circle = _first_order(parts, above)
        if not circle:
            break
        parts = _aside(parts, circle, [x for x in lines if not x.bent])
    bends: list[list[Bend]] = [[] for _ in lines]
    done: list[tuple[float, _Part]] = []
    leads_up, leads_down = sorted(x.start for x in lines), sorted(x.stop for x in lines)
    height = 0.0
    for part in (parts[i] for i in _few_crossings(parts, order, above)):
        y = max((at + other.room + part.room for at, other in done if _meet(part, other)), default=0.0)
        y = max(y, _off_the_row(part, lines[part.line].start, leads_up))
        done.append((y, part))
        bends[part.line].append((y, part.stop))
        height = max(height, y + _off_the_row(part, lines[part.line].stop, leads_down))
    return bends, height


def _off_the_row(part: _Part, own: float, leads: Sequence[float]) -> float:
    """How near to a row a part may run: leads other than its `own` that it passes are to be seen between."""
    low, high = min(part.start, part.stop) - part.room, max(part.start, part.stop) + part.room
    passed = bisect_left(leads, high) - bisect_left(leads, low) - (low <= own < high)
    return part.clear if passed else part.close


def _above(parts: Sequence[_Part]) -> list[set[int]]:
    """For each part those that must run across above it: they start near where it comes down, or lead to it."""
    above: list[set[int]] = [set() for _ in parts]
    starts = sorted((p.start, i) for i, p in enumerate(parts))
    most = max((p.room for p in parts), default=0.0)
    for i, part in enumerate(parts):
        for start, other in starts[bisect_left(starts, (part.stop - part.room - most, -1)):]:
            if start > part.stop + part.room + most:
                break
            if parts[other].line == part.line:
                if other > i:
                    above[other].add(i)
            elif abs(start - part.stop) < part.room + parts[other].room:
                above[i].add(other)
    return above


def _first_order(parts: Sequence[_Part], above: Sequence[set[int]]) -> tuple[list[int], list[int]]:
    """An order from above to below that `above` allows, as near to one with few crossings as it goes; if there is
    none, parts that each must be above the next, in a circle."""

    def wish(i: int) -> tuple[bool, float, int]:
        start, stop = parts[i].start, parts[i].stop
        return (True, -start, i) if stop > start else (False, start, i)

    below: dict[int, list[int]] = defaultdict(list)
    for i, those in enumerate(above):
        for other in those:
            below[other].append(i)
    left = [len(those) for those in above]
    free = [wish(i) for i in range(len(parts)) if not left[i]]
    heapq.heapify(free)
    order: list[int] = []
    while free:
        *_, i = heapq.heappop(free)
        order.append(i)
        for other in below[i]:
            left[other] -= 1
            if not left[other]:
                heapq.heappush(free, wish(other))
    if len(order) == len(parts):
        return order, []
    placed, walk = set(order), [next(i for i in range(len(parts)) if left[i])]
    while walk[-1] not in walk[:-1]:
        walk.append(min(above[walk[-1]] - placed))
    return [], walk[walk.index(walk[-1]) + 1 :]


def _aside(parts: list[_Part], circle: Iterable[int], straight: Sequence[Across]) -> list[_Part]:
    """The parts with the one of a circle in two that goes the least way round."""
    ways = []
    for i in circle:
        part = parts[i]
        others: list[Across] = [*parts, *straight]
        taken = [(x, p.room) for p in others for x in (p.start, p.stop)]
        column = _free_column(part, taken)
        ways.append((abs(column - part.start) + abs(column - part.stop) - abs(part.start - part.stop), i, column))
    _, i, column = min(ways)
    part = parts[i]
    return [*parts[:i], replace(part, stop=column), replace(part, start=column), *parts[i + 1 :]]


def _free_column(part: _Part, taken: Sequence[tuple[float, float]]) -> float:
    """The column nearest to a part's way in which it comes near to nothing."""
    low, high = sorted((part.start, part.stop))
    beside = [x + side * (room + part.room + 0.01) for x, room in taken for side in (-1, 1)]
    return min(
        (c for c in ((low + high) / 2, *beside) if all(abs(c - x) >= room + part.room for x, room in taken)),
        key=lambda c: (max(low - c, c - high, 0.0), abs(2 * c - low - high)),
    )


def _few_crossings(parts: Sequence[_Part], order: list[int], above: Sequence[set[int]]) -> list[int]:
    """The order with single parts moved up or down, as far as `above` allows, until no move saves a crossing."""
    if len(order) < 2:
        return order
    start, stop = np.array([(p.start, p.stop) for p in parts]).T
    low, high = np.minimum(start, stop), np.maximum(start, stop)
    crosses = ((low[:, None] < start) & (start < high[:, None])).astype(int)  # a part that starts below another
    crosses += (low < stop[:, None]) & (stop[:, None] < high)  # and one that comes down above another
    gains = (crosses - crosses.T).tolist()  # of changing the one over with another that is below it
    improved, rounds = True, 0
    while improved and rounds < 60:
        improved, rounds = False, rounds + 1
        for i in list(order):
            improved |= _move(i, order, gains[i], above)
    return order


def _move(i: int, order: list[int], gain: Sequence[int], above: Sequence[set[int]]) -> bool:
    """Move one part to where it saves most crossings; true if it moved."""
    at = order.index(i)
    best, to, sum_ = 0, at, 0
    for n in range(at - 1, -1, -1):
        if order[n] in above[i]:
            break
        sum_ -= gain[order[n]]
        if sum_ > best:
            best, to = sum_, n
    sum_ = 0
    for n in range(at + 1, len(order)):
        if i in above[order[n]]:
            break
        sum_ += gain[order[n]]
        if sum_ > best:
            best, to = sum_, n
    if to != at:
        order.insert(to, order.pop(at))
    return to != at


def _meet(one: _Part, other: _Part) -> bool:
    apart = one.room + other.room
    return (min(one.start, one.stop) < max(other.start, other.stop) + apart
            and min(other.start, other.stop) < max(one.start, one.stop) + apart)
