"""The boxes of lamps: a unit with its lamps inside, each a circle with a cross, a glass round twin filaments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import ExitStack

from tracer.harness.devices import Device, Filament, Joint, LedLaw, ends
from tracer.present.drawing.boxes import Box, Cell, group_of, short_terminal
from tracer.present.drawing.canvas import PAPER, Canvas
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import width_of, wrap
from tracer.present.drawing.signs import (
    LINE,
    SIZE,
    Look,
    arrow,
    draw_flags,
    draw_lamp,
    draw_led,
    draw_marks,
    flags_width,
    lead,
    marks_width,
    rounded,
)
from tracer.present.drawing.symbols import lamp_words

COLUMN = 15.0  # of a lamp from the left of its cell
RADIUS = 9.0
TEXT = RADIUS + 6  # lettering beside a lamp, from its middle


def reach(unit: Unit, node: str) -> tuple[str, tuple[Device, ...]]:
    """The terminal behind one end of a filament, and the contacts on the way ("" if none is drawn)."""
    used: list[Device] = []
    for _ in range(6):
        if node in unit.sides:
            return node, tuple(used)
        nearby = [d for d in unit.devices if isinstance(d, Joint) and node in ends(d) and d not in used]
        if not nearby:
            break
        used.append(nearby[0])
        a, b = ends(nearby[0])
        node = b if a == node else a
    return "", tuple(used)


def only_lamps(unit: Unit) -> bool:
    """The unit holds lamps and the contacts of their holders, and nothing else."""
    lamps = [d for d in unit.devices if isinstance(d, Filament)]
    contacts = {c.name for f in lamps for end in (f.a, f.b) for c in reach(unit, end)[1]}
    return bool(lamps) and all(isinstance(d, Filament) or d.name in contacts for d in unit.devices)


class LampBox(Box):
    """A lamp unit or a single lamp."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        assert unit.part is not None
        self.filaments = [d for d in unit.devices if isinstance(d, Filament)]
        self.feed = {f.name: reach(unit, f.a) for f in self.filaments}
        self.back = {f.name: reach(unit, f.b) for f in self.filaments}
        order = {k: i for i, k in enumerate((*top, *bottom))}
        self.filaments.sort(key=lambda f: order.get(self.feed[f.name][0], 99))
        self.single = len(self.filaments) == 1
        width, lines = (look.name_width - 6, 3) if self.single else (200.0, 1)
        self.name = wrap(unit.part.name, width, SIZE, lines, bold=True)
        self.own_ranks = look.ranks_of(unit.part.name)
        self.named: set[str] = set()  # contacts that have their group already
        self.beside = {f.name: self._text_beside(f) for f in self.filaments}
        self._columns(top, bottom)
        self._heights()

    def _text_beside(self, f: Filament) -> list[tuple[str, tuple[int, ...]]]:
        """Lines beside a lamp: watts and rank, its state, back-feed."""
        ranks = self.look.ranks_of(f.name, f.lamp)
        return [(line, () if n else ranks) for n, line in enumerate(lamp_words(f, self.look))]

    def _columns(self, top: Sequence[str], bottom: Sequence[str]) -> None:
        widths: list[float] = []
        for f in self.filaments:
            node = self.feed[f.name][0]
            label = self._label_width(node) + 8 if node else 0.0
            beside = max(width_of(t, SIZE, True) + marks_width(r) + (4 if r else 0) for t, r in self.beside[f.name])
            widths.append(max(COLUMN + max(label, TEXT + beside) + 4, self.room.get(node, 0.0), 40.0))
        if self.single:
            name = max(width_of(n, SIZE, True) for n in self.name) + marks_width(self.own_ranks)
            widths[0] = max(widths[0], COLUMN + TEXT + name + 4)
        self.x = {}
        at = 0.0
        for f, w in zip(self.filaments, widths, strict=True):
            self.x[f.name] = at + COLUMN
            at += w
        idle: dict[str, float] = {}  # terminals whose lamp is not in the picture
        for edge in self.cells:
            stop = at if edge == "top" else COLUMN + self._label_width(self.back[self.filaments[0].name][0]) + 10
            for key in self.keys[edge]:
                if not any(key in (self.feed[f.name][0], self.back[f.name][0]) for f in self.filaments):
                    idle[key] = stop + COLUMN
                    stop += COLUMN + self._label_width(key) + 12
            at = max(at, stop) if edge == "top" else at
        # The lower edge: every return terminal stands under its first lamp.
        below = list(dict.fromkeys(self.back[f.name][0] for f in self.filaments if self.back[f.name][0]))
        needs = sum(self._label_width(k) + 8 for k in bottom) + COLUMN
        needs += 0.0 if self.single else width_of(self.name[0], SIZE, True) + marks_width(self.own_ranks) + 14
        self.width = max(at, needs, *(self.room.get(k, 0.0) for k in (*bottom, "")))
        ports = {}
        for key in (*top, *bottom):
            mine = [self.x[f.name] for f in self.filaments if key in (self.feed[f.name][0], self.back[f.name][0])]
            ports[key] = mine[0] if mine else idle[key]
        if bottom and not self.single:  # the unit's name stands to the right of the last return terminal
            last = max(bottom, key=lambda k: ports[k])
            name = width_of(self.name[0], SIZE, True) + marks_width(self.own_ranks) + 22
            self.width = max(self.width, ports[last] + self._label_width(last) + name)
        for edge in self.cells:
            keys = self.keys[edge] = sorted(self.keys[edge], key=lambda k: ports[k])
            start = 0.0
            for i, key in enumerate(keys):
                stop = self.width if i == len(keys) - 1 else max(ports[keys[i + 1]] - COLUMN, start + 10)
                self.cells[edge].append(Cell(key, stop - start, max(ports[key] - start, 2.0)))
                start = stop
        self.below = below

    def _label_width(self, key: str) -> float:
        return width_of(short_terminal(self.unit, key), SIZE) + 3 + flags_width(self.look.flags.get(key, ()))

    def _heights(self) -> None:
        look = self.look
        contacts = any(look.ranks_of(*(d.name for d in self.feed[f.name][1])) for f in self.filaments)
        earths = any(look.ranks_of(*(d.name for d in self.back[f.name][1])) for f in self.filaments)
        self.label_h = LINE + 2
        self.contact_h = LINE + 3 if contacts else 3.0
        lines = max(len(b) for b in self.beside.values())
        self.glass = max(2 * RADIUS + 6, LINE * max(len(b) for b in self.beside.values()) + 5)
        twins = len({f.bulb for f in self.filaments}) < len(self.filaments)
        zone = max(2 * RADIUS + 4, LINE * lines + 2, self.glass if twins else 0.0)
        if self.single:
            zone = max(zone, LINE * (len(self.name) + lines) - 2)
        self.lamp_y = self.label_h + self.contact_h + zone / 2
        self.earth_h = LINE + 2 if earths else 4.0
        self.bus_y = self.lamp_y + zone / 2 + self.earth_h
        self.height = self.bus_y + (LINE + 2 if self.keys["bottom"] or not self.single else 2)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        unit = self.unit
        assert unit.part is not None
        self.named.clear()
        self.frame(canvas, x, y, bool(self.own_ranks))
        for key in self.keys["top"]:
            self._label(canvas, key, x + self.port("top", key), y + 8)
        self._glasses(canvas, x, y)
        for f in self.filaments:
            self._lamp(canvas, f, x, y)
        for number, key in enumerate(self.below):
            self._return(canvas, key, x, y, number)
        for key in self.keys["bottom"]:
            self._label(canvas, key, x + self.port("bottom", key), y + self.height - 7)
        if self.single:
            f = self.filaments[0]
            ty = y + self.lamp_y - LINE * (len(self.name) + len(self.beside[f.name]) - 1) / 2
            for i, line in enumerate(self.name):
                canvas.text(x + COLUMN + TEXT, ty + LINE * i, line, SIZE, bold=True)
            end = x + COLUMN + TEXT + width_of(self.name[-1], SIZE, True) + 4
            draw_marks(canvas, end, ty + LINE * (len(self.name) - 1), self.own_ranks)
        else:
            end = x + self.width - 5
            if self.own_ranks:
                draw_marks(canvas, end - marks_width(self.own_ranks), y + self.height - 7, self.own_ranks)
                end -= marks_width(self.own_ranks) + 3
            canvas.text(end, y + self.height - 7, self.name[0], SIZE, "end", bold=True)

    def glass_of(self, key: str) -> str:
        """The glass whose feed a terminal is."""
        return next((f.bulb for f in self.filaments if self.feed[f.name][0] == key), key)

    def _label(self, canvas: Canvas, key: str, x: float, y: float) -> None:
        label = short_terminal(self.unit, key)
        canvas.text(x + 8, y, label, SIZE)
        draw_flags(canvas, x + 11 + width_of(label, SIZE), y, self.look.flags.get(key, ()))

    def _glasses(self, canvas: Canvas, x: float, y: float) -> None:
        """One outline round the filaments of one glass."""
        for bulb in dict.fromkeys(f.bulb for f in self.filaments):
            xs = [self.x[f.name] for f in self.filaments if f.bulb == bulb]
            if len(xs) > 1:
                left, right = x + min(xs) - RADIUS - 3, x + max(xs) + RADIUS + 3
                rounded(canvas, left, y + self.lamp_y - self.glass / 2, right - left, self.glass, RADIUS + 2)

    def _lamp(self, canvas: Canvas, f: Filament, x: float, y: float) -> None:
        look, cx, cy = self.look, x + self.x[f.name], y + self.lamp_y
        node, contacts = self.feed[f.name]
        names = tuple(d.name for d in contacts)
        with self._groups(canvas, contacts):
            px = x + self.port("top", node) if node in self.keys["top"] else cx
            if node:
                lead(canvas, [(px, y), (px, y + self.label_h), (cx, y + self.label_h), (cx, cy - RADIUS)],
                     look, *(names or (f.name,)))
            elif contacts:
                lead(canvas, [(cx, y + self.label_h), (cx, cy - RADIUS)], look, *names)
            draw_marks(canvas, cx + 5, y + self.label_h + 6, look.ranks_of(*names))
        with group_of(canvas, f):
            suspect = bool(look.ranks_of(f.name, f.lamp))
            draw = draw_led if isinstance(f.law, LedLaw) else draw_lamp
            draw(canvas, (cx, cy), RADIUS, look.live(f.name), suspect)
        back = self.back[f.name][1]
        with self._groups(canvas, back):
            lead(canvas, [(cx, cy + RADIUS), (cx, y + self.bus_y)], look, *(d.name for d in back), f.name)
        if look.live(f.name):
            down = look.down(f, f.a)
            arrow(canvas, (cx, y + self.label_h + self.contact_h / 2), down, f.name in look.back_feed)
        first = self.filaments[0] if self.single else None
        lines = self.beside[f.name]
        ty = cy - LINE * (len(lines) - 1) / 2
        if first is not None:
            ty = cy + LINE * (len(self.name) - (len(self.name) + len(lines) - 1) / 2)
        for text, ranks in lines:
            bold = text not in ("back-feed", lines[0][0])
            w = width_of(text, SIZE, bold)
            # On paper of its own: the outline of a twin lamp's glass runs behind it.
            canvas.rect(cx + TEXT - 1, ty - 5.5, w + 2, 11, PAPER, PAPER, 0.1)
            canvas.text(cx + TEXT, ty, text, SIZE, bold=bold)
            draw_marks(canvas, cx + TEXT + w + 4, ty, ranks)
            ty += LINE

    def _groups(self, canvas: Canvas, devices: Sequence[Device]) -> ExitStack:
        """The groups of contacts in series; one that twin filaments share is named at the first."""
        stack = ExitStack()
        for device in devices:
            if device.name not in self.named:
                self.named.add(device.name)
                stack.enter_context(group_of(canvas, device))
        return stack

    def _return(self, canvas: Canvas, key: str, x: float, y: float, number: int) -> None:
        """The common lead of the lamps that share a return terminal."""
        look = self.look
        mine = [f for f in self.filaments if self.back[f.name][0] == key]
        by = y + self.bus_y - 5 * number
        marked: set[str] = set()
        for f in mine:
            earths = [d.name for d in self.back[f.name][1] if d.name not in marked]
            draw_marks(canvas, x + self.x[f.name] + 5, y + self.bus_y - 8, look.ranks_of(*earths))
            marked.update(earths)
        names = [f.name for f in mine]
        if len(mine) > 1:
            xs = [x + self.x[f.name] for f in mine]
            canvas.line([(min(xs), by), (max(xs), by)], 2.2 if any(look.live(n) for n in names) else 1.0)
        if key in self.keys["bottom"]:
            px = x + self.port("bottom", key)
            live = 2.2 if any(look.live(n) for n in names) else 1.0
            canvas.line([(x + self.x[mine[0].name], by), (px, by), (px, y + self.height)], live)
