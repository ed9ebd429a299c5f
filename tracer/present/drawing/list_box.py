"""The box of a part whose inside no row of chains would show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracer.harness.devices import Device, Joint
from tracer.present.drawing.boxes import Box, Cell, group_of, short_terminal
from tracer.present.drawing.canvas import Canvas
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import width_of, wrap
from tracer.present.drawing.signs import LINE, SIZE, Look, draw_flags, draw_marks, flags_width, marks_width
from tracer.present.drawing.symbols import symbol_of

COLUMN = 8.0  # of a terminal from the left of its cell


class ListBox(Box):
    """A part whose inside no row of chains would show: its terminals, and its devices by name."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        assert unit.part is not None
        part = unit.part
        self.name = wrap(part.name, look.name_width, SIZE, 3, bold=True)
        self.ranks = look.ranks_of(part.name, *(d.name for d in unit.devices))
        self.rows = [(d, ", ".join(t for t in (_own(d, part.name), *symbol_of(d, part).says(d, part, look)) if t))
                     for d in unit.devices]
        text = [*(width_of(n, SIZE, True) for n in self.name), *(width_of(t, SIZE) for _, t in self.rows)]
        for edge in self.cells:
            self.cells[edge] = [
                Cell(k, max(room.get(k, 0.0), COLUMN + 8 + self._label_width(k), 20.0), COLUMN)
                for k in self.keys[edge]
            ]
        sums = {e: sum(c.width for c in cells) for e, cells in self.cells.items()}
        self.width = max(COLUMN + max(text) + marks_width(self.ranks) + 12, *sums.values())
        self.height = 2 * LINE + 8 + LINE * (len(self.name) + len(self.rows))
        for edge, cells in self.cells.items():
            if cells:
                cells[-1] = Cell(cells[-1].key, cells[-1].width + self.width - sums[edge], COLUMN)

    def _label_width(self, key: str) -> float:
        return width_of(short_terminal(self.unit, key), SIZE) + 3 + flags_width(self.look.flags.get(key, ()))

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        self.frame(canvas, x, y, bool(self.ranks))
        for edge, ty in (("top", y + 7), ("bottom", y + self.height - 7)):
            for key in self.keys[edge]:  # type: ignore[index]
                px = x + self.port(edge, key)  # type: ignore[arg-type]
                label = short_terminal(self.unit, key)
                canvas.text(px + 7, ty, label, SIZE)
                draw_flags(canvas, px + 10 + width_of(label, SIZE), ty, self.look.flags.get(key, ()))
        ty = y + LINE + 4 + LINE / 2
        for line in self.name:
            canvas.text(x + COLUMN, ty, line, SIZE, bold=True)
            ty += LINE
        draw_marks(canvas, x + COLUMN + width_of(self.name[-1], SIZE, True) + 4, ty - LINE, self.ranks)
        for device, words in self.rows:
            with group_of(canvas, device):
                canvas.text(x + COLUMN, ty, words, SIZE)
            ty += LINE


def _own(device: Device, part: str) -> str:
    """A device's name without that of its part; nothing for the contacts of holders, which have long ones."""
    return device.name if isinstance(device, Joint) else device.name.removeprefix(part).strip() or device.name
