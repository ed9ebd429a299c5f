"""The boxes of switches, fuses, relays and the battery, and which unit gets which box."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import ExitStack

from tracer.harness.devices import Device, Dimmer, Diode, Filament, FuseLink, Resistor, Source, SwitchContact
from tracer.harness.model import Harness
from tracer.present.drawing.boxes import Box, Cell, Chain, Edge, chains_of, group_of, short_terminal, stub
from tracer.present.drawing.canvas import INK, PAPER, Canvas
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lamps import LampBox
from tracer.present.drawing.lettering import clean, shorten, width_of, wrap
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

COLUMN = 8.0  # of a terminal from the left of its cell
_ROW = 20.0  # of a second row of contacts
_ASIDE = 14.0  # how far such a contact stands beside the one above it
CONTACT = 8.0  # least height between the names of the upper and the lower terminals


def make_box(
    unit: Unit, harness: Harness, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
) -> Box:
    """The box of a unit; `room` is the least width for the column of each node or run."""
    if unit.kind == "earth":
        return EarthBox(unit, harness, look, top, bottom, room)
    if unit.part is None:
        return DotBox(unit, harness, look, top, bottom, room)
    if any(isinstance(d, Filament) for d in unit.devices):
        return LampBox(unit, look, top, bottom, room)
    if any(isinstance(d, Source) for d in unit.devices):
        return BatteryBox(unit, look, top, bottom, room)
    if len(unit.devices) <= 2 and any(isinstance(d, FuseLink) for d in unit.devices):
        return FuseBox(unit, look, top, bottom, room)
    return ContactBox(unit, look, top, bottom, room)


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


class ContactBox(Box):
    """Anything made of contacts, coils, diodes and resistors between terminals."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        assert unit.part is not None
        self.chains = chains_of(unit)
        self.single = len(self.chains) == 1
        # Contacts with both ends below stand in a second row, under those that are fed from above.
        self.lower = frozenset(
            c.main.name for c in self.chains if not self.single and {c.start, c.end} <= set(self.keys["bottom"])
        )
        self._columns()
        sums = {e: sum(c.width for c in cells) for e, cells in self.cells.items()}
        columns = [self.column(c) + self._note_width(c) for c in self.chains]
        self.name = wrap(unit.part.name, look.name_width, SIZE, 3, bold=True)
        self.own_ranks = look.ranks_of(unit.part.name)
        self.notes: list[str] = [unit.half] if unit.half else []
        ranks = self.own_ranks
        if self.single:
            self.name_x = COLUMN + 12 + max((self._label_width(k) for k in (*top, *bottom)), default=0.0)
            self.notes += wrap(self._note(self.chains[0]), look.name_width, SIZE, 2)
            ranks = look.ranks_of(unit.part.name, *self.chains[0].names)
            if not (len(top) and len(bottom)) or len(top) + len(bottom) > 2:
                self.name_x = max(self.name_x, max(sums.values()))
        else:
            self.name_x = max([*columns, *(self._ends_at(e) for e in self.cells)]) + 6
        self.ranks = ranks
        lines = [*(width_of(n, SIZE, True) for n in self.name), *(width_of(n, SIZE) for n in self.notes),
                 marks_width(ranks)]
        self.width = max(self.name_x + max(lines) + 5, *sums.values())
        text = LINE * (len(self.name) + len(self.notes) + (1 if ranks else 0)) + 4
        self.height = max(2 * LINE + CONTACT, text, 0.0 if self.single else 3 * LINE + 8)
        if self.lower:
            self.height = max(self.height, 3 * LINE + 8) + _ROW
        for edge, cells in self.cells.items():
            if cells:  # the last column takes what is left
                extra = self.width - sums[edge]
                cells[-1] = Cell(cells[-1].key, cells[-1].width + extra, COLUMN)

    def _columns(self) -> None:
        """Columns for the terminals; what is not joined inside (coil and contacts) stands side by side."""
        member: dict[str, int] = {}
        for number, chain in enumerate(self.chains):
            old = {member.get(n, number) for n in (chain.start, chain.end)}
            member.update({n: min(old) for n, g in member.items() if g in old})
            member.update({chain.start: min(old), chain.end: min(old)})
        places: dict[int, list[float]] = {}
        for edge in self.cells:
            for i, k in enumerate(self.keys[edge]):
                places.setdefault(member.get(k, -1), []).append((i + 0.5) / len(self.keys[edge]))
        for group in sorted(places, key=lambda g: sum(places[g]) / len(places[g])):
            mine = {e: [k for k in self.keys[e] if member.get(k, -1) == group] for e in self.cells}
            wide = max(sum(self._column_width(k) for k in keys) for keys in mine.values())
            for edge, keys in mine.items():
                cells = [Cell(k, self._column_width(k), COLUMN) for k in keys]
                spare = wide - sum(c.width for c in cells)
                if cells:
                    cells[-1] = Cell(cells[-1].key, cells[-1].width + spare, COLUMN)
                else:
                    cells = [Cell("", wide, COLUMN)]
                self.cells[edge] += cells
        for edge, cells in self.cells.items():
            self.keys[edge] = [c.key for c in cells if c.key]

    def _label_width(self, key: str) -> float:
        label = width_of(short_terminal(self.unit, key), SIZE)
        return label + 3 + flags_width(self.look.flags.get(key, ()))

    def _column_width(self, key: str) -> float:
        notes = [self._note_width(c) for c in self.chains if key in (c.start, c.end)]
        wide = 0.0 if self.single else max(notes, default=0.0)
        if any(c.main.name in self.lower and key in (c.start, c.end) for c in self.chains):
            wide += _ASIDE
        return max(self.room.get(key, 0.0), COLUMN + 8 + self._label_width(key), wide + COLUMN, 20.0)

    def _ends_at(self, edge: Edge) -> float:
        if not self.keys[edge]:
            return 0.0
        last = self.keys[edge][-1]
        return self.port(edge, last) + 8 + self._label_width(last)

    def _note(self, chain: Chain) -> str:
        """The positions in which a contact closes, or the value of what is there."""
        main = chain.main
        if isinstance(main, SwitchContact):
            made = clean(", ".join(sorted(main.closed_in)))
            # Alone, a bare position would read as the one in which the switch stands.
            return shorten(f"closed: {made}" if self.single else made, 120.0, SIZE)
        if isinstance(main, Resistor):
            power = self.unit.part.settings.get("power") if self.unit.part is not None else None
            if main.role == "coil":
                if self.unit.part is not None and self.unit.part.kind == "flasher unit":
                    return "electronics"
                return "coil" + ("" if len(chain.devices) == 1 else " + diode" if any(
                    isinstance(d, Diode) for d in chain.devices) else " + resistor")
            if power and self.unit.part is not None and self.unit.part.kind != "resistor":
                return f"{power:g} W"
            return f"{main.ohm:.3g} Ω" if main.ohm < 1000 else f"{main.ohm / 1000:.3g} kΩ"
        if isinstance(main, FuseLink):
            return f"{main.rating_a:g} A"
        return ""

    def _note_width(self, chain: Chain) -> float:
        note = self._note(chain)
        ranks = marks_width(self.look.ranks_of(*chain.names))
        return 7 + width_of(note, SIZE) + (ranks + 4 if ranks else 0)

    def _edge_of(self, node: str) -> tuple[Edge, float] | None:
        for edge in self.cells:
            if node in self.keys[edge]:
                return edge, self.port(edge, node)
        return None

    def column(self, chain: Chain) -> float:
        """Where a contact stands: under the end that it does not share."""
        found = [(n, e) for n in (chain.start, chain.end) if (e := self._edge_of(n)) is not None]
        if not found:
            return COLUMN
        node, (_, x) = min(found, key=lambda f: (self._sharing(f[0]), f[1][0] != "bottom"))
        return x + (_ASIDE if chain.main.name in self.lower and self._sharing(node) > 1 else 0.0)

    def _sharing(self, node: str) -> int:
        """How many of the chains end at a node."""
        return sum(node in (c.start, c.end) for c in self.chains)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        _look, unit = self.look, self.unit
        assert unit.part is not None
        if self.own_ranks:
            edge = [(x, y), (x + self.width, y), (x + self.width, y + self.height), (x, y + self.height), (x, y)]
            canvas.line(edge, 2.6, INK, (6.0, 4.0))
        else:
            canvas.rect(x, y, self.width, self.height, PAPER, INK, 0.9)
        for key in self.keys["top"]:
            self._label(canvas, key, x + self.port("top", key), y + 7)
        for key in self.keys["bottom"]:
            self._label(canvas, key, x + self.port("bottom", key), y + self.height - 7)
        for chain in self.chains:
            with ExitStack() as groups:
                for device in sorted(chain.devices, key=lambda d: d is chain.main):
                    groups.enter_context(group_of(canvas, device))
                self._chain(canvas, chain, x, y)
        used = LINE * (len(self.name) + len(self.notes) + (1 if self.ranks else 0))
        ty = y + (self.height - used) / 2 + LINE / 2
        for line in self.name:
            canvas.text(x + self.name_x, ty, line, SIZE, bold=True)
            ty += LINE
        for line in self.notes:
            canvas.text(x + self.name_x, ty, line, SIZE)
            ty += LINE
        draw_marks(canvas, x + self.name_x, ty, self.ranks)

    def _label(self, canvas: Canvas, key: str, x: float, y: float) -> None:
        label = short_terminal(self.unit, key)
        canvas.text(x + 7, y, label, SIZE)
        draw_flags(canvas, x + 10 + width_of(label, SIZE), y, self.look.flags.get(key, ()))

    def _chain(self, canvas: Canvas, chain: Chain, x: float, y: float) -> None:
        look, names = self.look, chain.names
        cx = x + self.column(chain)
        inset = 7.0 if self.single else LINE + 3
        y1, y2 = y + inset, y + self.height - inset
        low = chain.main.name in self.lower
        if low:
            y1 = y2 - (self.height - 2 * inset - _ROW)
            feed = max((chain.start, chain.end), key=self._sharing)
        elif self.lower:  # its lead goes on past the lower row
            lead(canvas, [(cx, y2), (cx, y2 - _ROW)], look, *names)
        for node in (chain.start, chain.end):
            found = self._edge_of(node)
            if found is None:
                continue
            edge, px = found
            own = y1 if edge == "top" or (low and node == feed) else y2
            lead(canvas, [(x + px, y if edge == "top" else y + self.height), (x + px, own), (cx, own)], look, *names)
        if self.lower and not low:
            y2 -= _ROW
        live = any(look.live(n) for n in names)
        self._sign(canvas, chain.main, cx, y1, y2, live, bool(look.ranks_of(*names)))
        if not self.single:
            note = self._note(chain)
            canvas.text(cx + 6, (y1 + y2) / 2, note, SIZE)
            ranks = tuple(r for r in look.ranks_of(*names))
            draw_marks(canvas, cx + 9 + width_of(note, SIZE), (y1 + y2) / 2, ranks)

    def _sign(
        self, canvas: Canvas, main: Device, x: float, y1: float, y2: float, live: bool, suspect: bool
    ) -> None:
        width = 2.2 if live else 1.2
        if isinstance(main, Resistor) and self.unit.part is not None and self.unit.part.kind == "motor":
            centre = (y1 + y2) / 2
            canvas.line([(x, y1), (x, max(y1, centre - 8))], width)
            canvas.line([(x, min(y2, centre + 8)), (x, y2)], width)
            canvas.circle((x, centre), 8.0, PAPER, INK, width)
            canvas.text(x, centre, "M", SIZE, "middle")
        elif isinstance(main, (Resistor, FuseLink, Dimmer)):
            canvas.rect(x - 4, y1, 8, y2 - y1, PAPER, INK, width)
            if isinstance(main, Resistor) and main.role == "coil":
                canvas.line([(x - 4, y2 - 6), (x + 4, y1 + 6)], 1.0)
            if isinstance(main, Dimmer):  # an arrow across
                canvas.line([(x - 7, y2 - 2), (x + 7, y1 + 2)], 1.0)
                canvas.polygon([(x + 7, y1 + 2), (x + 3, y1 + 2.5), (x + 5.5, y1 + 5.5)], INK, INK, 0.5)
        elif isinstance(main, Diode) and main.role == "buzzer":
            middle = (y1 + y2) / 2
            canvas.line([(x, y1), (x, middle - 6)], width)
            canvas.line([(x, middle + 4), (x, y2)], width)
            arc = [(x + 8 * math.cos(math.radians(t)), middle + 4 - 10 * math.sin(math.radians(t)))
                   for t in range(0, 181, 15)]
            canvas.polygon(arc, PAPER, INK, width)
        elif isinstance(main, Diode):
            anode = self._edge_of(main.a)
            down = anode is None or anode[0] == "top"
            tip, base = (y2 - 4, y1 + 4) if down else (y1 + 4, y2 - 4)
            canvas.line([(x, y1), (x, y2)], width)
            canvas.polygon([(x - 5, base), (x + 5, base), (x, tip)], PAPER, INK, 1.2)
            canvas.line([(x - 5, tip), (x + 5, tip)], 1.6)
        else:
            top = (x, y1 + 2) if self.look.closed(main) else (x - 6, y1 + 1.5)
            if suspect:
                canvas.line([(x, y2), top], 5.0, INK, (4.0, 2.5))
                canvas.line([(x, y2), top], 2.0, PAPER)
            canvas.line([(x, y2), top], max(width, 1.5))
            canvas.circle((x, y1 + 1), 1.7, PAPER, INK, 1.0)
            canvas.circle((x, y2), 1.7, INK, INK, 0.5)


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
