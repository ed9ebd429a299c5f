"""The symptom-to-cause chart as sheets for the wall: what is seen in large letters, below it what it may be.

Rows stand by the vehicle state in which most is seen. The sheets are A3 or A4 across, black and white, two at most
for each end of the vehicle; what is rarer than fits is counted at the foot. On A3 capitals are 5 mm high, which is
read at two metres (height a four-hundredth of the distance; common practice, no source).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import accumulate
from typing import Final, Literal, NamedTuple

from msgspec import Struct, field

from tracer.checking.chart import Chart, and_more
from tracer.observation.evidence import WORDS
from tracer.present.html import templates
from tracer.safety.lines import labelled
from tracer.units import percent

Size = Literal["A3", "A4"]
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_SCALE: Final[dict[Size, float]] = {"A3": 1.0, "A4": 1 / math.sqrt(2)}
# On A3, mm: a column of a sheet, what its rows may take of its height, the lines in it and the room around them.
_COLUMN_MM, _ROOM_MM = 196.0, 246.0
_SEEN_MM, _CAUSE_MM, _STATE_MM, _GAP_MM = 8.9, 7.3, 12.0, 4.5
_SEEN_SIGNS, _CAUSE_SIGNS = 44, 51  # that surely go into a line
_SHEETS: Final = 2  # of one end of a vehicle
_COLUMNS: Final = 2  # of a sheet
_CAUSES: Final = 3
_LEAST: Final = 0.05  # share of a row below which a cause is not worth a line
_LONGEST: Final = 130  # signs of what is seen
_LAMPS_AND_LOOK: Final = re.compile(  # of one group of a cell
    rf"(.*?)( (?:(?:{'|'.join([*WORDS, 'lit', 'too bright'])})(?:, steady instead of flashing)?"
    rf"|(?:(?:{'|'.join([*WORDS, 'too bright'])}) )?flashing(?: slow| fast)?))$")
_FRONT: Final = ("front", "headlamp", "headlight", "dip", "dipped", "main", "beam")
_REAR: Final = ("rear", "tail", "stop", "reversing", "number-plate", "plate", "trailer", "unit")


class Cause(NamedTuple):
    """What it may be: what one would do, and its share of the row."""

    repair: str
    share: str


class Sight(Struct, dict=True):
    """What is seen in one vehicle state, with all that looks so there; shares are of all faults of the harness. What
    follows from the shares is worked out once, when all are there."""

    state: str
    seen: str
    shares: dict[str, float] = field(default_factory=dict)

    @cached_property
    def share(self) -> float:
        return sum(self.shares.values())

    @cached_property
    def causes(self) -> list[Cause]:
        """The likeliest first, the rest together."""
        order = sorted(self.shares.items(), key=lambda x: (-x[1], x[0]))
        worth = _LEAST * self.share
        shown = [(r, s) for n, (r, s) in enumerate(order) if n == 0 or (n < _CAUSES and s >= worth)]
        causes = [Cause(r, percent(s / self.share)) for r, s in shown]
        left = 1 - sum(s for _, s in shown) / self.share
        return [*causes, *([Cause("something else", percent(left))] if left > 0.005 else [])]

    @cached_property
    def height_mm(self) -> float:
        lines = math.ceil(len(self.seen) / _SEEN_SIGNS) * _SEEN_MM
        return lines + sum(math.ceil(len(c.repair) / _CAUSE_SIGNS) for c in self.causes) * _CAUSE_MM + _GAP_MM


class Sheet(Struct):
    """One sheet: the end of the vehicle, and columns of rows, each below the heading of its state if that is new."""

    end: str
    columns: list[list[tuple[str, Sight]]]
    left_out: str = ""


def wall_html(chart: Chart, size: Size = "A3") -> str:
    """The sheets as one page that needs nothing but itself and prints on paper of that size, across."""
    sheets = wall_sheets(chart)
    above = [first + text for first, text in labelled(chart.cautions)]
    dangers = [x for x in above if x.startswith("DANGER")]  # on every sheet: they hang apart
    return templates().get_template("wall_chart.html").render(
        title=chart.title, sheets=sheets, dangers=dangers, above=[x for x in above if x not in dangers], size=size,
        k=_SCALE[size], policy=_POLICY,
    )


def wall_sheets(chart: Chart) -> list[Sheet]:
    """All sheets; one end or the whole vehicle takes two at most."""
    sights = sights_of(chart)
    if len(laid := _laid("", sights)) <= _SHEETS:
        return laid
    ends: dict[str, list[Sight]] = {}
    for s in sights:
        ends.setdefault(_end(s), []).append(s)
    sheets: list[Sheet] = []
    for end, own in sorted(ends.items()):
        sheets += _fitting(end, own, sum(s.share for s in sights))
    return sheets


def sights_of(chart: Chart) -> list[Sight]:
    """The rows of the chart by what is seen where most is seen; likeliest first."""
    found: dict[tuple[str, str], Sight] = {}
    for row in chart.rows:
        cells = [(c, x) for c, x in zip(chart.columns, row.cells, strict=True) if x]
        state, cell = max(cells, key=lambda x: (x[1].count(",") + x[1].count(";"), -chart.columns.index(x[0])))
        sight = found.setdefault((state, cell), Sight(state, cell))
        for cause in row.causes:
            sight.shares[cause.repair] = sight.shares.get(cause.repair, 0.0) + cause.share
    sights = sorted(found.values(), key=lambda s: (-s.share, s.seen))
    short = [(s.state, _short(s.seen)) for s in sights]
    for sight, said in zip(sights, short, strict=True):
        if short.count(said) == 1:  # else what tells them apart would be among what is left out
            sight.seen = said[1]
    return sights


def _fitting(end: str, sights: Sequence[Sight], whole: float) -> list[Sheet]:
    """The sheets of one end, with as many of its likeliest rows as they hold."""
    heights = accumulate(min(s.height_mm, _ROOM_MM) for s in sights)
    most = sum(h <= _SHEETS * _COLUMNS * _ROOM_MM for h in heights)  # more do not go in however they are laid
    while len(sheets := _laid(end, sights[:most])) > _SHEETS:
        most -= 1
    if rest := sights[most:]:
        share = sum(s.share for s in rest) / whole
        sheets[-1].left_out = f"Not shown: {len(rest)} rarer sights, {percent(share)} of all faults together."
    return sheets


def _laid(end: str, sights: Iterable[Sight]) -> list[Sheet]:
    """Rows by state, the states by what they hold, column after column."""
    by_state: dict[str, list[Sight]] = {}
    for s in sights:
        by_state.setdefault(s.state, []).append(s)
    columns: list[list[tuple[str, Sight]]] = [[]]
    room = _ROOM_MM
    for state, own in sorted(by_state.items(), key=lambda x: (-sum(s.share for s in x[1]), x[0])):
        heading = state
        for sight in own:
            if room < sight.height_mm + (_STATE_MM if heading else 0.0):
                columns.append([])
                room, heading = _ROOM_MM, state
            columns[-1].append((heading, sight))
            room -= sight.height_mm + (_STATE_MM if heading else 0.0)
            heading = ""
    return [Sheet(end, columns[k:k + _COLUMNS]) for k in range(0, len(columns), _COLUMNS)]


def _end(sight: Sight) -> str:
    """The end of the vehicle at which a row is looked for."""
    words = sight.seen.replace(",", " ").replace(";", " ").split()
    front, rear = (sum(w in known for w in words) for known in (_FRONT, _REAR))
    return "front" if front > rear else "rear" if rear else "panel and other lamps"


def _short(cell: str) -> str:
    """What is seen, as much of it as is read from afar: of every look at least one lamp, and how many more."""
    groups = [found.groups() if (found := _LAMPS_AND_LOOK.match(g)) else (g, "") for g in cell.split("; ")]
    named = [(names.split(", "), look) for names, look in groups]
    said = cell
    for most in range(max(len(names) for names, _ in named), 0, -1):
        said = "; ".join(and_more(names, ", ", most) + look for names, look in named)
        if len(said) <= _LONGEST:
            break
    return said
