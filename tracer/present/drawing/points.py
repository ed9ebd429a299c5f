"""The boxes of splices, taps, earth points and of what is not drawn any further."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.present.drawing.boxes import Box, Cell, Edge
from tracer.present.drawing.canvas import INK, PAPER, Canvas, element_id
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import width_of, wrap
from tracer.present.drawing.signs import (
    LINE,
    SIZE,
    Look,
    draw_dot,
    draw_earth,
    draw_flags,
    draw_insulated,
    draw_marks,
    draw_wire,
    flags_width,
    marks_width,
    volts_text,
)


class DotBox(Box):
    """A splice, a tap or the end of what is drawn: a bar with a dot for every wire."""

    def __init__(
        self, unit: Unit, harness: Harness, look: Look, top: Sequence[str], bottom: Sequence[str],
        room: Mapping[str, float],
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        self._offsets: dict[tuple[Edge, str], float] = {}
        named = unit.node in harness.splices or unit.node in harness.connectors
        way = node_of(unit.node)
        in_plug = way.terminal and way.owner in harness.connectors
        text = unit.node if named else f"{way.owner}/{way.terminal}" if in_plug else ""
        if unit.kind == "end" and not text:
            text = unit.node
        if unit.kind == "bend":
            text = ""
        self.name = wrap(text, 110.0, SIZE, 2, bold=True)
        self.ranks = look.ranks_of(unit.node) if unit.kind != "bend" else ()
        # A tap belongs to its terminal: the flag is shown in the box.
        tap = unit.kind == "dot" and not text
        self.flags = () if tap or unit.kind == "bend" else look.flags.get(unit.node, ())
        volts = look.volts.get(unit.node) if text and unit.kind != "bend" else None
        self.volts = volts_text(volts) if volts is not None else ""
        for edge in self.cells:
            self.cells[edge] = [Cell(k, max(room.get(k, 0.0), 14.0), 6.0) for k in self.keys[edge]]
        self.bar = max([self.port(e, c[-1].key) for e, c in self.cells.items() if c], default=6.0)
        first = width_of(self.name[0], SIZE, True) if self.name else 0.0
        self.tail = [first + 3, width_of(self.volts, SIZE), flags_width(self.flags), marks_width(self.ranks)]
        label = sum(w + 3 for w in self.tail if w > 3)
        self.label_width = label + 8 if label else 6.0
        self.width = max(self.bar + 8 + label, *(sum(c.width for c in cells) for cells in self.cells.values()), 12.0)
        self.height = (12.0 if label else 6.0) + LINE * max(0, len(self.name) - 1)
        for cells in self.cells.values():
            if cells:
                used = sum(c.width for c in cells)
                cells[-1] = Cell(cells[-1].key, cells[-1].width + self.width - used, cells[-1].port)

    def stretch(self, places: Mapping[tuple[Edge, str], float]) -> tuple[float, float]:
        """Put each wire where `places` says (in the picture); the new left edge and width."""
        left = min(*places.values(), 1e9) - 6.0
        self._offsets = {k: p - left for k, p in places.items()}
        self.bar = max(self._offsets.values())
        self.width = self.bar + self.label_width
        return left, self.width

    def port(self, edge: Edge, key: str) -> float:
        return self._offsets[edge, key] if (edge, key) in self._offsets else super().port(edge, key)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        cy = y + min(self.height, 12.0) / 2
        xs = {e: [x + self.port(e, k) for k in self.keys[e]] for e in self.cells}
        for px in xs["top"]:
            canvas.line([(px, y), (px, cy)], 2.0)
        for px in xs["bottom"]:
            canvas.line([(px, cy), (px, y + self.height)], 2.0)
        every = [*xs["top"], *xs["bottom"]]
        if self.unit.kind == "bend":
            bar = [(min(every), cy), (max(every), cy)]
            if self.unit.devices:
                for px in every:
                    draw_wire(canvas, [(px, y if px in xs["top"] else y + self.height), (px, cy)],
                              self.unit.devices[0], self.look)
                draw_wire(canvas, bar, self.unit.devices[0], self.look)
            else:
                canvas.line(bar, 2.0)
            return
        with canvas.group(element_id("node", self.unit.node), self.unit.node, self.unit.node):
            if len(every) > 1:
                canvas.line([(min(every), cy), (max(every), cy)], 2.0)
            if self.unit.kind == "end":
                canvas.circle((every[0], cy), 2.6, PAPER, INK, 1.2)
            for px in every if self.unit.kind == "dot" else ():
                draw_dot(canvas, (px, cy), bool(self.ranks) and px == max(every))
        tx = x + self.bar + 8
        for i, line in enumerate(self.name):
            canvas.text(tx, cy + LINE * i, line, SIZE, bold=True)
        if self.name:
            tx += self.tail[0] + 3
        if self.volts:
            canvas.text(tx, cy, self.volts, SIZE)
            tx += self.tail[1] + 3
        tx = draw_flags(canvas, tx, cy, self.flags)
        draw_marks(canvas, tx, cy, self.ranks)


def conducts(unit: Unit, harness: Harness) -> bool:
    """Whether an earth point leads on to the body or the frame."""
    point = harness.earths.get(unit.node)
    return point is None or point.body is not None


class EarthBox(Box):
    """An earth point: the sign, its name, its place."""

    def __init__(
        self, unit: Unit, harness: Harness, look: Look, top: Sequence[str], bottom: Sequence[str],
        room: Mapping[str, float],
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        point = harness.earths.get(unit.node)
        self.joined = conducts(unit, harness)
        place = point.place if point is not None else ""
        if point is not None and point.body is not None and len(harness.bodies()) > 1:
            place = f"{place} ({point.body})" if place else point.body
        self.ranks = look.ranks_of(unit.node, *(d.name for d in unit.devices))
        self.flags = look.flags.get(unit.node, ())
        volts = look.volts.get(unit.node)
        self.volts = volts_text(volts) if volts is not None else ""
        self.cells["top"] = [Cell(k, max(room.get(k, 0.0), 16.0), 14.0) for k in self.keys["top"]]
        self.bar = max([self.port("top", k) for k in top], default=14.0)
        self.name = wrap(unit.node, 90.0, SIZE, 1, bold=True)
        first = width_of("".join(self.name), SIZE, True) + 4
        self.head = [first, width_of(self.volts, SIZE) + (4 if self.volts else 0), flags_width(self.flags),
                     marks_width(self.ranks)]
        self.text_x = self.bar + 18
        self.place = wrap(place, max(112.0, sum(self.head)), SIZE, 2) if place else []
        used = sum(c.width for c in self.cells["top"])
        text = max([sum(self.head), *(width_of(p, SIZE) for p in self.place)])
        self.width = max(used, self.text_x + text + 4)
        self.height = max(24.0, LINE * (1 + len(self.place)) + 2)
        if self.cells["top"]:
            last = self.cells["top"][-1]
            self.cells["top"][-1] = Cell(last.key, last.width + self.width - used, last.port)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        xs = [x + self.port("top", k) for k in self.keys["top"]] or [x + 14]
        joint = self.unit.devices[0].name if self.unit.devices else ""
        id = element_id("dev", joint) if joint else element_id("node", self.unit.id)
        with canvas.group(id, self.unit.node, joint or self.unit.node):
            if len(xs) > 1:
                canvas.line([(xs[0], y + 2), (xs[-1], y + 2)], 2.0)
                for px in xs:
                    draw_dot(canvas, (px, y + 2), False)
            if self.joined:
                draw_earth(canvas, xs[-1], y + 1, bool(self.ranks))
            else:  # a stud in something that does not conduct
                draw_insulated(canvas, (xs[-1], y + 7))
        tx, ty = x + self.text_x, y + 8
        canvas.text(tx, ty, "".join(self.name), SIZE, bold=True)
        tx += self.head[0]
        canvas.text(tx, ty, self.volts, SIZE)
        tx = draw_flags(canvas, tx + self.head[1], ty, self.flags)
        draw_marks(canvas, tx, ty, self.ranks)
        for i, line in enumerate(self.place):
            canvas.text(x + self.text_x, ty + LINE * (i + 1), line, SIZE)
