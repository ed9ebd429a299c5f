"""The box of anything that has contacts, coils, lamps or resistors between its terminals: a sign for each device."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import ExitStack

from tracer.harness.devices import ends
from tracer.present.drawing.boxes import Box, Cell, Edge, group_of, short_terminal
from tracer.present.drawing.canvas import Canvas
from tracer.present.drawing.chain_signs import GAP, Sign, first_end, markable, need_of, said_alone, signs_of
from tracer.present.drawing.chains import Chain
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import width_of, wrap
from tracer.present.drawing.signs import LINE, SIZE, Look, draw_flags, draw_marks, flags_width, lead, marks_width
from tracer.present.drawing.symbols import Stand

COLUMN = 8.0  # of a terminal from the left of its cell
_ROW = 20.0  # of a second row of contacts
_ASIDE = 14.0  # how far such a contact stands beside the one above it
CONTACT = 8.0  # least height between the names of the upper and the lower terminals
_APART = 10.0  # between two signs side by side



class ContactBox(Box):
    """Chains of devices side by side, each between its terminals."""

    def __init__(
        self, unit: Unit, chains: Sequence[Chain], look: Look, top: Sequence[str], bottom: Sequence[str],
        room: Mapping[str, float],
    ) -> None:
        super().__init__(unit, look, top, bottom, room)
        assert unit.part is not None
        self.chains = chains
        self.single = len(chains) == 1
        self.signs = {c.names: signs_of(c, unit.part, look) for c in chains}
        # Contacts with both ends below stand in a second row, under those that are fed from above.
        self.lower = frozenset(
            c.names for c in chains if not self.single and {c.start, c.end} <= set(self.keys["bottom"])
        )
        self.shift = self._shifts()
        self._columns()
        sums = {e: sum(c.width for c in cells) for e, cells in self.cells.items()}
        columns = [self.column(c) + self._note_width(c) for c in chains]
        self.name = wrap(unit.part.name, look.name_width, SIZE, 3, bold=True)
        self.own_ranks = look.ranks_of(unit.part.name)
        self.notes: list[str] = [unit.half] if unit.half else []
        ranks = self.own_ranks
        if self.single:
            half = max(s.symbol.half for s in self.signs[chains[0].names])
            labels = max((self._label_width(k) for k in (*top, *bottom)), default=0.0)
            self.name_x = COLUMN + max(12 + labels, half + 6)
            self.notes += [n for line in said_alone(self.signs[chains[0].names]) for n in wrap(
                line, look.name_width, SIZE, 2)]
            ranks = look.ranks_of(unit.part.name, *markable(chains[0]))
            if not (len(top) and len(bottom)) or len(top) + len(bottom) > 2:
                self.name_x = max(self.name_x, max(sums.values()))
        else:
            self.name_x = max([*columns, *(self._ends_at(e) for e in self.cells)]) + 6
        self.ranks = ranks
        lines = [*(width_of(n, SIZE, True) for n in self.name), *(width_of(n, SIZE) for n in self.notes),
                 marks_width(ranks)]
        self.width = max(self.name_x + max(lines) + 5, *sums.values())
        self._set_height()
        for edge, cells in self.cells.items():
            if cells:  # the last column takes what is left
                extra = self.width - sums[edge]
                cells[-1] = Cell(cells[-1].key, cells[-1].width + extra, COLUMN)

    # Places --------------------------------------------------------------------------------

    def _set_height(self) -> None:
        need = max(need_of(s) for s in self.signs.values())
        text = LINE * (len(self.name) + len(self.notes) + (1 if self.ranks else 0)) + 4
        inset = self._inset()
        self.height = max(2 * LINE + CONTACT, text, need + 2 * inset)
        if self.lower:
            self.height = max(self.height, 3 * LINE + 8) + _ROW

    def _inset(self) -> float:
        return 7.0 if self.single else LINE + 3

    def _anchor(self, chain: Chain) -> str:
        """The end under which a chain stands: one that it does not share, if it has one."""
        found = [n for n in (chain.start, chain.end) if any(n in keys for keys in self.keys.values())]
        return min(found, key=lambda n: (self._sharing(n), n not in self.keys["bottom"])) if found else ""

    def _shifts(self) -> dict[tuple[str, ...], float]:
        """How far to the right of its terminal a chain stands, where another one has taken the place."""
        taken: dict[tuple[str, bool], float] = {}
        out = {}
        for chain in self.chains:
            place = (self._anchor(chain), chain.names in self.lower)
            out[chain.names] = taken.get(place, 0.0)
            half = max(s.symbol.half for s in self.signs[chain.names])
            taken[place] = out[chain.names] + self._note_width(chain) + half + _APART
        return out

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
        mine = [c for c in self.chains if key in (c.start, c.end)]
        wide = 0.0 if self.single else max((self._note_width(c) + self.shift[c.names] for c in mine), default=0.0)
        if any(c.names in self.lower for c in mine):
            wide += _ASIDE
        round_ones = max((s.symbol.half for signs in self.signs.values() for s in signs), default=0.0) > COLUMN / 2
        return max(self.room.get(key, 0.0), COLUMN + 8 + self._label_width(key),
                   wide + COLUMN + (4.0 if round_ones and not self.single else 0.0), 20.0)

    def _ends_at(self, edge: Edge) -> float:
        if not self.keys[edge]:
            return 0.0
        last = self.keys[edge][-1]
        return self.port(edge, last) + 8 + self._label_width(last)

    def _note_width(self, chain: Chain) -> float:
        ranks = marks_width(self.look.ranks_of(*markable(chain)))
        return max(s.width for s in self.signs[chain.names]) + (ranks + 4 if ranks else 0)

    def _edge_of(self, node: str) -> tuple[Edge, float] | None:
        for edge in self.cells:
            if node in self.keys[edge]:
                return edge, self.port(edge, node)
        return None

    def column(self, chain: Chain) -> float:
        """Where a chain stands, from the left of the box."""
        node = self._anchor(chain)
        found = self._edge_of(node)
        if found is None:
            return COLUMN
        aside = _ASIDE if chain.names in self.lower and self._sharing(node) > 1 else 0.0
        return found[1] + aside + self.shift[chain.names]

    def _sharing(self, node: str) -> int:
        """How many of the chains end at a node."""
        return sum(node in (c.start, c.end) for c in self.chains)

    # Strokes -------------------------------------------------------------------------------

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        self.frame(canvas, x, y, bool(self.own_ranks))
        for key in self.keys["top"]:
            self._label(canvas, key, x + self.port("top", key), y + 7)
        for key in self.keys["bottom"]:
            self._label(canvas, key, x + self.port("bottom", key), y + self.height - 7)
        for chain in self.chains:
            with ExitStack() as groups:
                for device in (*chain.devices, *chain.across):
                    if device not in chain.signs:
                        groups.enter_context(group_of(canvas, device))
                self._chain(canvas, chain, x, y)
        used = LINE * (len(self.name) + len(self.notes) + (1 if self.ranks else 0))
        ty = y + (self.height - used) / 2 + LINE / 2
        for bold, lines in ((True, self.name), (False, self.notes)):
            for line in lines:
                canvas.text(x + self.name_x, ty, line, SIZE, bold=bold)
                ty += LINE
        draw_marks(canvas, x + self.name_x, ty, self.ranks)

    def _label(self, canvas: Canvas, key: str, x: float, y: float) -> None:
        label = short_terminal(self.unit, key)
        canvas.text(x + 7, y, label, SIZE)
        draw_flags(canvas, x + 10 + width_of(label, SIZE), y, self.look.flags.get(key, ()))

    def _chain(self, canvas: Canvas, chain: Chain, x: float, y: float) -> None:
        look, names = self.look, chain.names
        cx = x + self.column(chain)
        inset = self._inset()
        y1, y2 = y + inset, y + self.height - inset
        low = names in self.lower
        if low:
            y1 = y2 - (self.height - 2 * inset - _ROW)
            feed = max((chain.start, chain.end), key=self._sharing)
        elif self.lower:  # its lead goes on past the lower row
            lead(canvas, [(cx, y2), (cx, y2 - _ROW)], look, *names)
        for node in dict.fromkeys((chain.start, chain.end)):
            found = self._edge_of(node)
            if found is None:
                continue
            edge, px = found
            own = y1 if edge == "top" or (low and node == feed) else y2
            lead(canvas, [(x + px, y if edge == "top" else y + self.height), (x + px, own), (cx, own)], look, *names)
        if self.lower and not low:
            y2 -= _ROW
        self._stack(canvas, chain, cx, y1, y2)

    def _stack(self, canvas: Canvas, chain: Chain, cx: float, y1: float, y2: float) -> None:
        """The signs of a chain one below the other, in the order in which they come from above."""
        look, signs = self.look, list(self.signs[chain.names])
        down = self._from_above(chain)
        order = signs if down else signs[::-1]
        spare = (y2 - y1 - need_of(self.signs[chain.names])) / len(signs)
        live = any(look.live(n) for n in chain.names)
        at = y1
        for sign in order:
            below = at + sign.height + spare
            first, _ = ends(sign.device)
            with group_of(canvas, sign.device):
                sign.symbol.draw(sign.device, Stand(
                    canvas, cx, at, below, look, live, bool(look.ranks_of(*markable(chain))),
                    (first == first_end(chain, sign.device)) == down,
                ))
            if sign is not order[-1]:
                lead(canvas, [(cx, below), (cx, below + GAP)], look, *chain.names)
            if not self.single:
                self._beside(canvas, chain, sign, cx, (at + below) / 2, sign is order[-1])
            at = below + GAP

    def _beside(self, canvas: Canvas, chain: Chain, sign: Sign, cx: float, middle: float, last: bool) -> None:
        tx, ty = cx + sign.symbol.half + 2, middle - LINE * (len(sign.lines) - 1) / 2
        for n, line in enumerate(sign.lines):
            canvas.text(tx, ty + LINE * n, line, SIZE)
        if last:
            end = tx + max((width_of(t, SIZE) for t in sign.lines), default=0.0) + 3
            draw_marks(canvas, end, middle, self.look.ranks_of(*markable(chain)))

    def _from_above(self, chain: Chain) -> bool:
        """The chain's first device is the uppermost."""
        start, end = self._edge_of(chain.start), self._edge_of(chain.end)
        return start[0] == "top" if start is not None else end is None or end[0] == "bottom"
