"""What is written beside a run: colours, ways, splices passed, voltages, marks and flags, one below the other."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import nullcontext
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from tracer.harness.devices import Conductor, Device, Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.present.drawing.canvas import Canvas, Point, element_id
from tracer.present.drawing.graph import Picture, Run
from tracer.present.drawing.lettering import clean, shorten, width_of, wrap
from tracer.present.drawing.signs import (
    HEAD,
    HEADED,
    LINE,
    SIZE,
    Flag,
    Look,
    arrow,
    arrows_along,
    draw_dot,
    draw_flags,
    draw_marks,
    draw_way,
    draw_wire,
    flags_width,
    marks_width,
    paper_of,
    volts_text,
    wire_text,
)
from tracer.present.drawing.tracks import Across

PORT = 8.0  # of the line from the left of its block
GAP = 7.5  # from the line to the lettering
SEEN = 2.5  # of the lead to a terminal, from its box to the paper of a line that runs across
AIR = 1.0  # between a row and the paper of a line that runs a longer way beside it
PLAIN = 3.0  # of paper to either side of the middle of a line that stands for no wire
UNTRACED = " ?"  # after the letters of a wire that nobody followed on the vehicle, or a mounting that nobody saw
SAME_V = 0.1  # volts that differ by less are written once
_WAY = re.compile(r"^(.*)\.(\d+)'?$")


def way_text(node: str) -> str:
    """A connector way as it is written beside a line: "C2/3"."""
    found = _WAY.match(node)
    return f"{shorten(clean(found[1]), 80.0, SIZE)}/{found[2]}" if found else shorten(clean(node), 100.0, SIZE)


class Item(Struct, frozen=True):
    """One line beside the run, about its device number `device` (or the node before that device)."""

    kind: Literal["wire", "way", "joint", "splice", "node"]
    device: int
    text: str = ""
    ranks: tuple[int, ...] = ()
    flags: tuple[Flag, ...] = ()
    name: str = ""
    volts: str = ""

    @property
    def width(self) -> float:
        bold = self.kind == "splice"
        extra = flags_width(self.flags) + marks_width(self.ranks)
        volts = 4 + width_of(self.volts, SIZE) if self.volts else 0.0
        return width_of(self.text, SIZE, bold) + volts + (4 + extra if extra else 0)


class Block:
    """The lettering of a run, and the length of line beside which it stands."""

    def __init__(self, run: Run, picture: Picture, look: Look) -> None:
        self.run = run
        self.look = look
        drawn = run.devices if run.like is None else (*run.devices, run.like)
        self.paper = max((paper_of(d, look) for d in drawn), default=PLAIN)
        self.room = max(self.paper, HEAD if self.fed_back else 0.0)
        self.stacked = _items(run, picture, look)
        self._take(_merged(self.stacked) if look.beside else self.stacked)

    def stack_if(self, room: float) -> float:
        """Write voltages below after all where the row is high enough; returns the width saved."""
        before = self.width
        if LINE * len(self.stacked) + 1 <= room:
            self._take(self.stacked)
        return before - self.width

    def across(self, start: float, stop: float) -> Across:
        """The run where it goes from one column to another between two rows."""
        close = max(self.room, self.paper + AIR) if abs(start - stop) >= HEADED else self.paper
        return Across(start, stop, self.room, close, max(self.paper + SEEN, close))

    def _take(self, items: list[Item]) -> None:
        self.items = items
        self.width = PORT + GAP + max((i.width for i in self.items), default=0.0)
        self.height = LINE * len(self.items) + 1
        if not self.items:
            self.width, self.height = 2 * PORT, 0.0

    @property
    def fed_back(self) -> bool:
        return any(d.name in self.look.back_feed for d in self.run.devices)

    def draw(self, canvas: Canvas, path: Sequence[Point], x: float, y: float, crossed: Sequence[Point]) -> None:
        """The whole run along `path`, whose vertical piece at `x` passes the block's top at `y`.

        Other lines cross it at the points `crossed`.
        """
        run, look = self.run, self.look
        at = {i: y + 0.5 + LINE * (n + 0.5) for n, i in enumerate(self.items)}
        cuts: list[float] = []  # where each device ends and the next begins
        for index in range(len(run.devices) - 1):
            near = [at[i] for i in self.items if i.kind in ("way", "joint") and i.device in (index, index + 1)]
            near += [at[i] for i in self.items if i.kind == "splice" and i.device == index + 1]
            cuts.append(min(near) if near and index % 2 == 0 else near[0] if near else (cuts[-1] if cuts else y))
        cuts = [max(cuts[: i + 1]) for i in range(len(cuts))]
        if len(run.devices) > 1 and not self.items:
            cuts = [y] * (len(run.devices) - 1)
        if run.like is not None:
            draw_wire(canvas, path, run.like, look)
        elif not run.devices:
            canvas.line(path, 2.0)
        for index, device in enumerate(run.devices):
            lower = cuts[index] if index < len(cuts) else None
            upper = cuts[index - 1] if index else None
            piece = _piece(path, x, upper, lower)
            if not isinstance(device, Conductor) and len(run.devices) > 1:  # a contact, drawn as a sign on the line
                if piece[0] != piece[-1]:  # where no wire leads on from it, as from a bullet to its block
                    draw_wire(canvas, piece, device, look)
                continue
            with canvas.group(element_id("dev", device.name), device.name, device.name):
                draw_wire(canvas, piece, device, look)
                if device.name in look.back_feed:
                    arrows_along(canvas, piece, look.down(device, run.nodes[index]), crossed=crossed)
        for item in self.items:
            self._item(canvas, item, x, at[item])

    def _item(self, canvas: Canvas, item: Item, x: float, y: float) -> None:
        look, run = self.look, self.run
        if item.kind in ("way", "joint"):
            device = run.devices[item.device]
            alone = len(run.devices) == 1  # then the line itself has the name
            with nullcontext() if alone else canvas.group(element_id("dev", device.name), device.name, device.name):
                if item.kind == "way":
                    draw_way(canvas, (x, y), bool(item.ranks), device.name in look.crossed)
                else:
                    draw_dot(canvas, (x, y), bool(item.ranks), 2.2)
        elif item.kind == "splice":
            with canvas.group(element_id("node", item.name), item.name, item.name):
                draw_dot(canvas, (x, y), bool(item.ranks))
        elif item.kind == "wire" and item.text:
            device = run.devices[item.device]
            if look.live(device.name) and device.name not in look.back_feed:
                arrow(canvas, (x, y), look.down(device, run.nodes[item.device]), False)
        tx = x + GAP + (3 if item.ranks and item.kind in ("way", "splice") else 0)
        canvas.text(tx, y, item.text, SIZE, bold=item.kind == "splice")
        tx += width_of(item.text, SIZE, item.kind == "splice") + (4 if item.text else 0)
        if item.volts:
            canvas.text(tx, y, item.volts, SIZE)
            tx += 4 + width_of(item.volts, SIZE)
        tx = draw_flags(canvas, tx, y, item.flags)
        draw_marks(canvas, tx, y, item.ranks)


def _piece(path: Sequence[Point], x: float, upper: float | None, lower: float | None) -> list[Point]:
    """The part of a path between two heights on its vertical piece at `x`."""
    points = list(path)

    def on(i: int, y: float) -> bool:
        (x1, y1), (x2, y2) = points[i], points[i + 1]
        return abs(x1 - x) < 0.01 and abs(x2 - x) < 0.01 and y1 - 0.01 <= y <= y2 + 0.01

    if lower is not None:
        for i in range(len(points) - 1):
            if on(i, lower):
                points = [*points[: i + 1], (x, lower)]
                break
    if upper is not None:
        for i in range(len(points) - 1):
            if on(i, upper):
                points = [(x, upper), *points[i + 1 :]]
                break
    return points


def _items(run: Run, picture: Picture, look: Look) -> list[Item]:
    out: list[Item] = []
    harness = picture.harness
    upper, lower = picture.units[run.upper], picture.units[run.lower]
    last_v: float | None = None
    if upper.kind in ("dot", "earth"):
        last_v = look.volts.get(run.at_upper)
    label = ""
    told = False
    for index, device in enumerate(run.devices):
        node = run.nodes[index]
        volts = look.volts.get(node)
        if index:
            out += _node_items(node, index, last_v, harness, look)
        elif volts is not None and _differs(volts, last_v):
            out.append(Item("node", 0, volts_text(volts)))
        if volts is not None and _differs(volts, last_v):
            last_v = volts
        ranks = look.ranks_of(device.name, *_also_called(device, harness))
        if isinstance(device, Conductor):
            text = wire_text(device) + (UNTRACED if device.wire in picture.untraced else "")
            if text != label or ranks:
                out.insert(_first_of(out, index), Item("wire", index, text if text != label else "", ranks))
                label = text
            if device.name in look.crossed:
                out += [Item("node", index, line) for line in wrap(f"crossed to {device.b}", 180.0, SIZE, 2)]
            if device.name in look.back_feed and not told:
                out.append(Item("node", index, "back-feed"))
                told = True
        elif isinstance(device, Joint) and device.kind in ("way", "bullet"):
            out.append(Item("way", index, way_text(device.a), ranks))
            if device.name in look.crossed:
                out.append(Item("node", index, f"crossed to {way_text(device.b)}"))
        else:
            text = "mounting" if isinstance(device, Joint) and device.kind == "stud" else device.name
            text = shorten(clean(text), 100.0, SIZE) + (UNTRACED if device.name in picture.untraced else "")
            out.append(Item("joint", index, text, ranks))
    volts = look.volts.get(run.nodes[-1])
    if run.devices and volts is not None and lower.kind not in ("dot", "earth") and _differs(volts, last_v):
        out.append(Item("node", len(run.devices), volts_text(volts)))
    return out


def _merged(items: list[Item]) -> list[Item]:
    """Voltages written on the line of what stands above them."""
    out: list[Item] = []
    for item in items:
        above = out[-1] if out else None
        if item.kind == "node" and item.text.endswith(" V)") and not item.flags and not item.ranks and (
            above is not None and above.kind in ("wire", "way", "splice") and not above.flags and not above.ranks
        ):
            out[-1] = replace(above, volts=item.text)
        else:
            out.append(item)
    return out


def _first_of(out: list[Item], index: int) -> int:
    """The voltage at the upper end is written below the wire's letters."""
    return 0 if index == 0 and out else len(out)


def _differs(volts: float, last: float | None) -> bool:
    return abs(volts - (last or 0.0)) > SAME_V


def _node_items(node: str, index: int, last_v: float | None, harness: Harness, look: Look) -> list[Item]:
    """What is written at a node between two devices."""
    flags, ranks = look.flags.get(node, ()), look.ranks_of(node)
    volts = look.volts.get(node)
    shown = volts is not None and (_differs(volts, last_v) or bool(flags))
    text = volts_text(volts) if shown and volts is not None else ""
    out: list[Item] = []
    if node in harness.splices:
        out.append(Item("splice", index, shorten(clean(node), 100.0, SIZE, True), ranks, flags, node))
        if text:
            out.append(Item("node", index, text))
    elif flags or ranks or text:
        out.append(Item("node", index, text, ranks, flags))
    return out


def _also_called(device: Device, harness: Harness) -> tuple[str, ...]:
    """Other names under which a device may be suspected: its connector, its wire."""
    if isinstance(device, Conductor):
        return (device.wire,) if device.wire else ()
    if isinstance(device, Joint) and device.kind in ("way", "bullet"):
        connector = node_of(device.a).owner
        return (connector,) if connector in harness.connectors else ()
    return ()
