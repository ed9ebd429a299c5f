"""Which unit gets which box, and the boxes of a fuse and of the battery."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracer.harness.devices import FuseLink, Joint, Source
from tracer.harness.model import Harness
from tracer.present.drawing.boxes import Box, Cell, group_of, stub
from tracer.present.drawing.canvas import INK, PAPER, Canvas
from tracer.present.drawing.chains import chains_of, tangled
from tracer.present.drawing.contact_box import COLUMN, ContactBox
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lamps import LampBox, only_lamps
from tracer.present.drawing.lettering import width_of, wrap
from tracer.present.drawing.list_box import ListBox
from tracer.present.drawing.points import DotBox, EarthBox
from tracer.present.drawing.signs import (
    LINE,
    SIZE,
    Look,
    draw_flags,
    draw_marks,
    flags_width,
    lead,
    marks_width,
)


def make_box(
    unit: Unit, harness: Harness, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
) -> Box:
    """The box of a unit; `room` is the least width for the column of each node or run."""
    if unit.kind == "earth":
        return EarthBox(unit, harness, look, top, bottom, room)
    if unit.part is None:
        return DotBox(unit, harness, look, top, bottom, room)
    if only_lamps(unit):
        return LampBox(unit, look, top, bottom, room)
    if len(unit.devices) == 1 and isinstance(unit.devices[0], Source):
        return BatteryBox(unit, look, top, bottom, room)
    others = [d for d in unit.devices if not isinstance(d, Joint)]
    if len(unit.devices) <= 2 and len(others) == 1 and isinstance(others[0], FuseLink):
        return FuseBox(unit, look, top, bottom, room)
    chains = chains_of(unit)
    if tangled(chains, unit):
        return ListBox(unit, look, top, bottom, room)
    return ContactBox(unit, chains, look, top, bottom, room)


class FuseBox(Box):
    """A fuse: a small rectangle with its name and rating."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        assert unit.part is not None
        link = next(d for d in unit.devices if isinstance(d, FuseLink))
        self.link = link
        self.name = wrap(unit.part.name, look.name_width, SIZE, 2, bold=True)
        self.rating = f"{link.rating_a:g} A"
        self.ranks = look.ranks_of(unit.part.name, *(d.name for d in unit.devices))
        text = max(
            *(width_of(n, SIZE, True) for n in self.name),
            width_of(self.rating, SIZE) + 4 + marks_width(self.ranks),
        )
        flags = max(flags_width(look.flags.get(k, ())) for k in (*top, *bottom, ""))
        self.height = 25.0 + LINE * (len(self.name) - 1)
        self.ends = {e: any(look.flags.get(k) for k in self.keys[e]) for e in self.keys}
        self.height += LINE * sum(self.ends.values())
        self.width = max(COLUMN + 10 + max(text, flags), *(room.get(k, 0.0) for k in (*top, *bottom)), 20.0)
        for edge in self.cells:
            self.cells[edge] = [Cell(k, self.width, COLUMN) for k in self.keys[edge]]

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        look, names = self.look, [d.name for d in self.unit.devices]
        px = x + COLUMN
        y1 = y + (LINE if self.ends["top"] else 0)
        y2 = y + self.height - (LINE if self.ends["bottom"] else 0)
        for edge, yf in (("top", y + 6), ("bottom", y + self.height - 6)):
            for key in self.keys[edge]:  # type: ignore[index]
                draw_flags(canvas, px + 4, yf, look.flags.get(key, ()))
        for n, device in enumerate(d for d in self.unit.devices if not isinstance(d, FuseLink)):
            with group_of(canvas, device):  # the clip: the lead above the fuse
                stub(canvas, px, y if n == 0 else y2, y1 + 4 if n == 0 else y2 - 4, look, *names)
        stub(canvas, px, y2 - 4, y + self.height, look, *names)
        if look.ranks_of(*names):
            canvas.line([(px - 7, y1 + 1), (px + 7, y1 + 1), (px + 7, y2 - 1), (px - 7, y2 - 1), (px - 7, y1 + 1)],
                        2.4, INK, (5.0, 3.0))
        with group_of(canvas, self.link):
            canvas.rect(px - 4.5, y1 + 4, 9, y2 - y1 - 8, PAPER, INK, 1.2)
            stub(canvas, px, y1 + 4, y2 - 4, look, *names)
        ty = (y1 + y2) / 2 - LINE * len(self.name) / 2
        for i, line in enumerate(self.name):
            canvas.text(px + 9, ty + LINE * i, line, SIZE, bold=True)
        ty += LINE * len(self.name)
        canvas.text(px + 9, ty, self.rating, SIZE)
        draw_marks(canvas, px + 13 + width_of(self.rating, SIZE), ty, self.ranks)


class BatteryBox(Box):
    """The battery: its cells between + and −."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        source = next(d for d in unit.devices if isinstance(d, Source))
        assert unit.part is not None
        self.source = source
        self.ranks = look.ranks_of(unit.part.name, source.name)
        self.name = wrap(unit.part.name, look.name_width, SIZE, 2, bold=True)
        self.volts = f"{source.volts:g} V"
        for edge in self.cells:
            self.cells[edge] = [
                Cell(k, max(room.get(k, 0.0), 46.0 + self._flags(k)), COLUMN + 6) for k in self.keys[edge]
            ]
        sums = {e: sum(c.width for c in cells) for e, cells in self.cells.items()}
        value = width_of(self.volts, SIZE) + marks_width(self.ranks) + 4
        text = max(*(width_of(n, SIZE, True) for n in self.name), value)
        last = max((self.port(e, c[-1].key) for e, c in self.cells.items() if c), default=0.0)
        self.name_x = last + 19 + max((self._flags(k) for k in (*top, *bottom)), default=0.0)
        self.width = max(self.name_x + text + 5, *sums.values())
        self.height = 29.0 + (LINE if len(self.name) > 1 else 0)
        for edge, cells in self.cells.items():
            if cells:
                cells[-1] = Cell(cells[-1].key, cells[-1].width + self.width - sums[edge], COLUMN + 6)

    def _flags(self, key: str) -> float:
        return flags_width(self.look.flags.get(key, ()))

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        look, cy = self.look, y + 10
        canvas.rect(x, y, self.width, self.height, PAPER, INK, 0.9)
        ports = {k: x + self.port(e, k) for e in self.cells for k in self.keys[e]}
        with group_of(canvas, self.source):
            plus, minus = ports.get(self.source.plus), ports.get(self.source.minus)
            xs = [p for p in (plus, minus) if p is not None] or [x + 14]
            middle = sum(xs) / len(xs) if len(xs) > 1 else xs[0] + 14
            side = -1.0 if plus is None or (minus is not None and minus > plus) else 1.0
            if plus is None and minus is not None:
                side = 1.0
            for px, end in ((plus, middle + side * 6), (minus, middle - side * 6)):
                if px is not None:
                    lead(canvas, [(px, y + self.height), (px, cy), (end, cy)], look, self.source.name)
            for step, (half, width) in enumerate(((7, 1.2), (4, 3.0), (7, 1.2), (4, 3.0))):
                px = middle + side * (6 - 4 * step)
                canvas.line([(px, cy - half), (px, cy + half)], width)
        for node, sign in ((self.source.plus, "+"), (self.source.minus, "−")):
            if node in ports:
                canvas.text(ports[node] + 4, y + self.height - 6, sign, SIZE + 2, bold=True)
                draw_flags(canvas, ports[node] + 14, y + self.height - 6, look.flags.get(node, ()))
        for i, line in enumerate(self.name):
            canvas.text(x + self.name_x, y + 9 + LINE * i, line, SIZE, bold=True)
        ty = y + 9 + LINE * len(self.name)
        canvas.text(x + self.name_x, ty, self.volts, SIZE)
        draw_marks(canvas, x + self.name_x + width_of(self.volts, SIZE) + 4, ty, self.ranks)
