"""The signs of the picture: wires in their colours, marks, flags, earth, lamps and contacts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from tracer import standards
from tracer.harness.devices import Conductor, Device, FlasherContact, RelayContact, SwitchContact
from tracer.present.drawing.canvas import INK, PAPER, Canvas, Point
from tracer.present.drawing.lettering import clean, width_of

SIZE: Final = 10.0  # lettering
LINE: Final = 11.0  # height of a line of lettering
LEAST_A: Final = 0.02  # less current than this is not shown as flowing
OPEN_V: Final = 0.1  # across a contact that is open; less, with nothing flowing, says nothing against it
APART: Final = 2.0  # of paper between two lines side by side, at the least
_REACH: Final = 5.0  # of the arrowheads of a back-feed, along the line and to either side
HEAD: Final = _REACH + 0.65 + APART / 2  # with their outline and the air round them
HEADED: Final = 24.0  # a shorter piece beside another line has no room for a head

_HUES: Final[dict[str, str]] = {
    "black": "#202020", "brown": "#8a5a2b", "red": "#d42020", "orange": "#f08010", "yellow": "#f5d800",
    "green": "#149040", "blue": "#1e5fc8", "violet": "#8038a8", "purple": "#8038a8", "grey": "#909090",
    "slate": "#8090a0", "white": "#ffffff", "pink": "#f4a0b8", "gold": "#c8a030", "turquoise": "#30b8b0",
    "silver": "#c8c8c8", "light green": "#90d860",
}
UNKNOWN_HUE: Final = "#6a6a6a"


class Flag(Struct, frozen=True):
    """A test point: its number in the test list, and what was measured there ("" if nothing was yet)."""

    label: str
    value: str = ""


class Look(Struct, frozen=True):
    """What is to be shown of each element, by name."""

    ranks: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    flags: Mapping[str, tuple[Flag, ...]] = field(default_factory=dict)
    volts: Mapping[str, float] = field(default_factory=dict)
    flow: Mapping[str, float] = field(default_factory=dict)
    back_feed: frozenset[str] = frozenset()
    lamps: Mapping[str, str] = field(default_factory=dict)
    colour_code: str = "IEC 60757"
    beside: bool = False  # voltages beside the letters of a wire instead of below them
    positions: Mapping[str, str] = field(default_factory=dict)  # of the controls
    crossed: frozenset[str] = frozenset()  # ways and wires that are drawn as the suspect taken as true has them
    left_out: tuple[str, ...] = ()  # devices that the picture should show and does not
    name_width: float = 84.0  # names of parts are broken into lines no wider

    def ranks_of(self, *names: str) -> tuple[int, ...]:
        return tuple(sorted({r for n in names for r in self.ranks.get(n, ())}))

    def live(self, name: str) -> bool:
        return abs(self.flow.get(name, 0.0)) >= LEAST_A or name in self.back_feed

    def closed(self, contact: Device) -> bool:
        """A contact is drawn as it stands in the vehicle state; at rest where none is given."""
        if self.live(contact.name):
            return True
        if isinstance(contact, SwitchContact):
            return contact.closed_at(self.positions.get(contact.control))
        if isinstance(contact, FlasherContact):  # what is calculated holds for its lit phase, if nothing is wrong
            one, other = self.volts.get(contact.a), self.volts.get(contact.b)
            return one is not None and other is not None and abs(one - other) < OPEN_V
        return isinstance(contact, RelayContact) and self.live(contact.coil) == contact.makes

    def down(self, device: Device, first_node: str) -> bool:
        """Current enters the device at `first_node`."""
        forward = self.flow.get(device.name, 0.0) >= 0
        return forward == (getattr(device, "a", getattr(device, "plus", "")) == first_node)


def volts_text(volts: float) -> str:
    """A calculated voltage: in brackets, since a measured one stands at its test point without them."""
    text = f"{volts:.{1 if abs(volts) >= 0.995 else 2}f}".replace("-", "−")
    return "(0 V)" if text in ("0.00", "−0.00") else f"({text} V)"


def section_text(mm2: float) -> str:
    return f"{mm2:.1f}" if mm2 < 10 and abs(mm2 * 10 - round(mm2 * 10)) < 1e-9 else f"{round(mm2, 2):g}"


def wire_text(device: Conductor) -> str:
    """Colour letters and section, as written beside a line."""
    section = section_text(device.section_mm2) if device.section_mm2 else ""
    return f"{clean(device.colour)} {section}".strip() if device.colour else f"{section} mm²" if section else ""


def hues(letters: str, code: str) -> tuple[str, str]:
    """Main colour and tracer ("" if none) as the screen shows them."""
    words = standards.colour_words(letters, code) if letters and code in standards.COLOUR_CODES else None
    if not words:
        return UNKNOWN_HUE, ""
    if words[0] == "green-and-yellow":
        return _HUES["green"], _HUES["yellow"]
    main = _HUES.get(words[0], UNKNOWN_HUE)
    return main, _HUES.get(words[1], "") if len(words) > 1 else ""


def _inked(device: Device, look: Look) -> tuple[float, float]:
    """How wide a wire is drawn, and how wide its paper is, on which it passes over others."""
    width = 4.0 if look.live(device.name) else 2.2
    ink = width + (4.5 if look.ranks_of(device.name) else 0.8)
    return width, ink + (APART if look.ranks_of(device.name) else 3.2)


def paper_of(device: Device, look: Look) -> float:
    """How far from the middle of a wire the paper on which it is drawn reaches."""
    return _inked(device, look)[1] / 2


def draw_wire(canvas: Canvas, points: Sequence[Point], device: Device, look: Look) -> None:
    """A conductor (or the lead through a joint) along `points`."""
    width, paper = _inked(device, look)
    canvas.line(points, paper, PAPER)
    if look.ranks_of(device.name):
        canvas.line(points, width + 4.5, INK, (7.0, 4.5))
        canvas.line(points, width + 0.4, PAPER)
    main, tracer = hues(device.colour, look.colour_code) if isinstance(device, Conductor) else (INK, "")
    canvas.line(points, width + (0.8 if look.live(device.name) else 0.7), INK)
    canvas.line(points, width - 0.4, main)
    if tracer:
        canvas.line(points, (width - 0.4) * 0.55, tracer, (5.0, 4.0))


def lead(canvas: Canvas, points: Sequence[Point], look: Look, *names: str, thin: float = 1.0) -> None:
    """A lead inside a box; `names` are the devices that it stands for."""
    if look.ranks_of(*names):
        canvas.line(points, 5.0, INK, (4.5, 3.0))
        canvas.line(points, 2.4, PAPER)
    canvas.line(points, 2.2 if any(look.live(n) for n in names) else thin, INK)


def arrow(canvas: Canvas, at: Point, down: bool, hollow: bool) -> None:
    """An arrowhead on a vertical line: filled for current, larger and hollow for back-feed."""
    x, y = at
    s, half = (1, 5.2 if hollow else 3.6) if down else (-1, 5.2 if hollow else 3.6)
    tip, tail = y + s * half, y - s * half
    canvas.polygon([(x - half, tail), (x + half, tail), (x, tip)], PAPER if hollow else INK, INK, 1.3)


def arrows_along(
    canvas: Canvas, points: Sequence[Point], forward: bool, every: float = 46.0, crossed: Sequence[Point] = (),
) -> None:
    """Hollow arrowheads along a line: back-feed. None lies on another line where that crosses this one."""
    for (x1, y1), (x2, y2) in itertools.pairwise(points):
        length = math.hypot(x2 - x1, y2 - y1)
        if length < HEADED:
            continue
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        taken = [(x - x1) * ux + (y - y1) * uy for x, y in crossed if abs((x - x1) * uy - (y - y1) * ux) < 0.1]
        count = max(1, round(length / every))
        s = _REACH if forward else -_REACH
        for i in range(count):
            d = _free_place(length * (i + 0.5) / count, length / count / 2 - _REACH, taken)
            if d is None:
                continue
            cx, cy = x1 + ux * d, y1 + uy * d
            canvas.polygon(
                [(cx - (ux + uy) * s, cy - (uy - ux) * s), (cx - (ux - uy) * s, cy - (uy + ux) * s),
                 (cx + ux * s, cy + uy * s)], PAPER, INK, 1.3,
            )


def _free_place(wish: float, most: float, taken: Sequence[float]) -> float | None:
    """The place nearest to `wish`, at `most` so far from it, where a head keeps off all that is `taken`."""
    beside = [at + side * 2 * HEAD for at in taken for side in (-1, 1)]
    free = [d for d in (wish, *beside) if abs(d - wish) <= most and all(abs(d - t) >= 1.9 * HEAD for t in taken)]
    return min(free, key=lambda d: abs(d - wish), default=None)


def marks_width(ranks: Sequence[int]) -> float:
    return sum(width_of(str(r), SIZE, True) + 8 for r in ranks)


def draw_marks(canvas: Canvas, x: float, y: float, ranks: Sequence[int]) -> float:
    """Suspects' numbers in black boxes from `x` to the right; returns where they end."""
    for rank in ranks:
        w = width_of(str(rank), SIZE, True) + 6
        canvas.rect(x, y - 5.1, w, 10.2, INK)
        canvas.text(x + w / 2, y, str(rank), SIZE, "middle", True, PAPER)
        x += w + 2
    return x


def flags_width(flags: Sequence[Flag]) -> float:
    return sum(width_of(f.label, SIZE, True) + 13 + _value_width(f) for f in flags)


def _value_width(flag: Flag) -> float:
    return width_of(flag.value, SIZE, True) + 4 if flag.value else 0.0


def draw_flags(canvas: Canvas, x: float, y: float, flags: Sequence[Flag]) -> float:
    """Test points as flags that point to the left, what was measured beside them; returns where they end."""
    for flag in flags:
        w = width_of(flag.label, SIZE, True) + 5
        canvas.polygon(
            [(x, y), (x + 5, y - 5.1), (x + 5 + w, y - 5.1), (x + 5 + w, y + 5.1), (x + 5, y + 5.1)], PAPER, INK, 1.2
        )
        canvas.text(x + 6, y, flag.label, SIZE, "start", True)
        x += w + 8
        canvas.text(x, y, flag.value, SIZE, bold=True)
        x += _value_width(flag)
    return x


def draw_way(canvas: Canvas, at: Point, suspect: bool, crossed: bool = False) -> None:
    """The two halves of a connector way on a line; crossed through where its pin sits in another way."""
    x, y = at
    if suspect:
        canvas.rect(x - 6.5, y - 7, 13, 14, PAPER, PAPER)
        canvas.line([(x - 6, y - 6.5), (x + 6, y - 6.5), (x + 6, y + 6.5), (x - 6, y + 6.5), (x - 6, y - 6.5)],
                    2.4, INK, (4.5, 2.5))
    canvas.rect(x - 3.6, y - 4.2, 7.2, 8.4, PAPER, INK, 1.1)
    if crossed:
        canvas.line([(x - 5, y - 5), (x + 5, y + 5)], 1.8)
        canvas.line([(x - 5, y + 5), (x + 5, y - 5)], 1.8)
    else:
        canvas.line([(x - 3.6, y), (x + 3.6, y)], 1.6)


def draw_dot(canvas: Canvas, at: Point, suspect: bool, radius: float = 3.0) -> None:
    if suspect:
        canvas.circle(at, radius + 4.5, PAPER, PAPER)
        canvas.line(_ring(at, radius + 3.5), 2.4, INK, (4.5, 2.5))
    canvas.circle(at, radius, INK, INK, 0.5)


def _ring(at: Point, radius: float) -> list[Point]:
    turns = [t / 16 * math.pi for t in range(33)]
    return [(at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns]


def draw_earth(canvas: Canvas, x: float, y: float, suspect: bool) -> None:
    """The earth sign, its stem starting at (x, y); 16 high."""
    if suspect:
        canvas.line([(x - 14, y + 3), (x + 14, y + 3), (x + 14, y + 19), (x - 14, y + 19), (x - 14, y + 3)],
                    2.4, INK, (6.0, 4.0))
    canvas.line([(x, y), (x, y + 7)], 1.6)
    for i, half in enumerate((9.5, 6.2, 2.9)):
        canvas.line([(x - half, y + 7 + 4 * i), (x + half, y + 7 + 4 * i)], 1.8)


def draw_insulated(canvas: Canvas, at: Point) -> None:
    """The stud of an earth point in something that does not conduct."""
    canvas.circle(at, 5, PAPER, INK, 1.4)


def draw_lamp(canvas: Canvas, at: Point, radius: float, live: bool, suspect: bool) -> None:
    """Circle with cross; thick when it carries current."""
    x, y = at
    if suspect:
        canvas.line(_ring(at, radius + 3), 2.6, INK, (5.0, 3.0))
    canvas.circle(at, radius, PAPER, INK, 2.0 if live else 1.1)
    d = radius * math.sqrt(0.5)
    for s in (1, -1):
        canvas.line([(x - d, y - s * d), (x + d, y + s * d)], 1.6 if live else 1.0)


def draw_led(canvas: Canvas, at: Point, radius: float, live: bool, suspect: bool) -> None:
    """Circle with a diode in it, which conducts downwards; thick when it carries current."""
    x, y = at
    if suspect:
        canvas.line(_ring(at, radius + 3), 2.6, INK, (5.0, 3.0))
    canvas.circle(at, radius, PAPER, INK, 2.0 if live else 1.1)
    half, width = radius * 0.5, 1.6 if live else 1.0
    canvas.line([(x, y - radius), (x, y + radius)], width)
    canvas.polygon([(x - half, y - half), (x + half, y - half), (x, y + half)], INK if live else PAPER, INK, 1.0)
    canvas.line([(x - half, y + half), (x + half, y + half)], 1.6)


def rounded(canvas: Canvas, x: float, y: float, w: float, h: float, r: float, width: float = 0.8) -> None:
    """A rounded outline: one glass round several filaments."""
    points: list[Point] = []
    corners = ((x + w - r, y + r, -90), (x + w - r, y + h - r, 0), (x + r, y + h - r, 90), (x + r, y + r, 180))
    for cx, cy, start in corners:
        points += [
            (cx + r * math.cos(math.radians(start + 15 * i)), cy + r * math.sin(math.radians(start + 15 * i)))
            for i in range(7)
        ]
    canvas.line([*points, points[0]], width, INK)
