"""Where everything stands: rows from supply to earth, and lines that only run down or across.

Graphviz chooses rows and columns; the lines between two rows are then laid in tracks.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence

from msgspec import Struct, field

from tracer.present.drawing.boxes import Box, Edge
from tracer.present.drawing.canvas import Canvas, Point
from tracer.present.drawing.columns import LEAST_GAP, Link, straighten
from tracer.present.drawing.dot import cells_row, new_graph, positions, table
from tracer.present.drawing.graph import Picture
from tracer.present.drawing.levels import levels_of
from tracer.present.drawing.parts import make_box
from tracer.present.drawing.runs import PORT, Block
from tracer.present.drawing.signs import Look
from tracer.present.drawing.tracks import STRAIGHT, Bend, lay_across

BETWEEN = 6.0  # least space between two things in a row
CLEAR = 1.0  # between two rows where all lines run straight down
WISH = 540.0  # width of a page: labels avoid rows that are fuller
VERY_LARGE = 1500  # slots: many sheets of paper, on which another order of terminals or other letters gain nothing


class Slot(Struct):
    """A thing in a row: a box, the lettering of a run, or a run that passes."""

    id: str
    row: int
    width: float
    height: float
    box: Box | None = None
    block: Block | None = None
    run: int = -1
    x: float = 0.0  # left edge
    y: float = 0.0

    def port(self, edge: Edge, key: str) -> float:
        if self.box is not None:
            return self.x + self.box.port(edge, key)
        return self.x + (PORT if self.block is not None else self.width / 2)


class Layout(Struct):
    """Everything placed: draw it on a canvas."""

    slots: list[Slot]
    paths: dict[int, list[Point]]
    blocks: dict[int, Block]
    label_at: dict[int, tuple[float, float]]
    width: float = 0.0
    height: float = 0.0
    boxes: list[Box] = field(default_factory=list)

    def draw(self, canvas: Canvas) -> None:
        quiet = sorted(self.paths, key=lambda i: any(
            self.blocks[i].look.live(d.name) for d in self.blocks[i].run.devices
        ))
        for i in quiet:
            x, y = self.label_at[i]
            crossed = self._crossed(self.paths[i]) if self.blocks[i].fed_back else ()
            self.blocks[i].draw(canvas, self.paths[i], x, y, crossed)
        for slot in self.slots:
            if slot.box is not None:
                slot.box.draw(canvas, slot.x, slot.y)

    def _crossed(self, path: Sequence[Point]) -> list[Point]:
        """Where other lines cross a path."""
        found = []
        for (x1, y1), (x2, y2) in itertools.pairwise(path):
            for other in self.paths.values():
                for (u1, v1), (u2, v2) in itertools.pairwise(other):
                    if x1 == x2 and v1 == v2 and y1 < v1 < y2 and min(u1, u2) < x1 < max(u1, u2):
                        found.append((x1, v1))
                    elif y1 == y2 and u1 == u2 and v1 < y1 < v2 and min(x1, x2) < u1 < max(x1, x2):
                        found.append((u1, y1))
        return found


def lay_out(picture: Picture, look: Look) -> Layout:
    """Place all units and runs of a picture."""
    return _Placer(picture, look).place()


class _Placer:
    def __init__(self, picture: Picture, look: Look) -> None:
        self.picture = picture
        self.look = look
        self.blocks = {i: Block(r, picture, look) for i, r in enumerate(picture.runs)}
        self.level = levels_of(picture)
        self.chains: dict[int, list[Slot]] = {}
        self.rows: dict[int, list[Slot]] = {}
        self.order: dict[tuple[str, Edge], list[str]] = {}
        self.room: dict[str, dict[str, float]] = defaultdict(dict)

    def key(self, run: int, upper: bool) -> str:
        """The name of a run's end at its unit: a terminal, or the run itself where all share a node."""
        r = self.picture.runs[run]
        unit, node = (r.upper, r.at_upper) if upper else (r.lower, r.at_lower)
        return node if self.picture.units[unit].kind == "part" else f"run {run}"

    def place(self) -> Layout:
        self._keys()
        self.boxes = self._make_boxes()
        self._label_rows()
        last = 1 if self._large else 3
        for attempt in range(last + 1):
            self.boxes = self._make_boxes()
            self._columns(free=attempt == 0)
            if attempt == last or (not self._reorder() and attempt > 0):
                break
        return self._finish()

    @property
    def _large(self) -> bool:
        return sum(map(len, self.rows.values())) > VERY_LARGE

    def _keys(self) -> None:
        for unit in self.picture.units.values():
            for edge in ("top", "bottom"):
                self.order[unit.id, edge] = [n for n, s in unit.sides.items() if s == edge]
        for i, run in enumerate(self.picture.runs):
            for unit_id, upper in ((run.upper, True), (run.lower, False)):
                keys = self.order[unit_id, "bottom" if upper else "top"]
                if self.key(i, upper) not in keys:
                    keys.append(self.key(i, upper))

    def _make_boxes(self) -> dict[str, Box]:
        return {
            u.id: make_box(
                u, self.picture.harness, self.look, self.order[u.id, "top"], self.order[u.id, "bottom"],
                self.room[u.id],
            )
            for u in self.picture.units.values()
        }

    def _label_rows(self) -> None:
        """Put each run's lettering in the row where it costs the least paper."""
        rows = max(self.level.values()) + 1
        height, width = [0.0] * rows, [0.0] * rows
        for u, box in self.boxes.items():
            height[self.level[u]] = max(height[self.level[u]], box.height)
            width[self.level[u]] += box.width + BETWEEN
        spans = {i: (self.level[r.upper], self.level[r.lower]) for i, r in enumerate(self.picture.runs)}
        for low, high in spans.values():
            for row in range(low + 1, high):
                width[row] += 4 + BETWEEN
        chosen: dict[int, int] = {}
        for i in sorted(spans, key=lambda i: (spans[i][1] - spans[i][0], -self.blocks[i].height)):
            low, high = spans[i]
            block = self.blocks[i]
            if not block.items:
                continue

            def cost(row: int, high: int = high, block: Block = block) -> tuple[float, int]:
                taller = max(0.0, block.height - height[row])
                wider = max(0.0, width[row] + block.width - max(WISH, max(width)))
                return taller + 0.5 * wider + (3.0 if row % 2 == 0 else 0.0), high - row

            row = min(range(low + 1, high), key=cost)
            chosen[i] = row
            height[row] = max(height[row], block.height)
            width[row] += block.width - 4
        for i, row in chosen.items():
            width[row] -= self.blocks[i].stack_if(height[row])
        self.rows = {r: [] for r in range(rows)}
        for u, level in self.level.items():
            self.rows[level].append(Slot(u, level, 0.0, 0.0))
        for i, (low, high) in spans.items():
            self.chains[i] = []
            for row in range(low + 1, high):
                named = chosen.get(i) == row
                block = self.blocks[i]
                slot = Slot(
                    f"run {i} row {row}", row, block.width if named else max(4.0, 2 * block.room - LEAST_GAP),
                    block.height if named else 0.0,
                    block=block if named else None, run=i,
                )
                self.rows[row].append(slot)
                self.chains[i].append(slot)
            for unit, upper, near in (
                (self.picture.runs[i].upper, True, low + 1), (self.picture.runs[i].lower, False, high - 1)
            ):
                if chosen.get(i) == near:
                    self.room[unit][self.key(i, upper)] = self.blocks[i].width + BETWEEN

    # Columns -------------------------------------------------------------------------------

    def _columns(self, free: bool) -> None:
        """Columns by Graphviz; `free` as if terminals had no order, so that it can be chosen."""
        graph = new_graph(BETWEEN, self._large)
        names: dict[str, str] = {}
        for row, slots in self.rows.items():
            for slot in slots:
                if slot.block is None and slot.run < 0:
                    slot.box = self.boxes[slot.id]
                    slot.width, slot.height = slot.box.width, slot.box.height
                names[slot.id] = f"n{len(names)}"
                graph.add_node(names[slot.id], label=self._label(slot), shape="plain")
            graph.add_node(f"rail{row}", width="0.01", height="0.01", fixedsize="true", style="invis", label="")
            in_row = [*(names[s.id] for s in slots), f"rail{row}"]
            graph.add_subgraph(rank="same").add_nodes_from(in_row)  # with nodes given it looks at every edge anew
        for row in range(len(self.rows) - 1):
            graph.add_edge(f"rail{row}", f"rail{row + 1}", style="invis", weight="0")
        ports = self._port_names()
        for i, run in enumerate(self.picture.runs):
            stops = [
                (names[run.upper], ports[run.upper, "bottom", self.key(i, True)], 1),
                *((names[s.id], "p", 2) for s in self.chains[i]),
                (names[run.lower], ports[run.lower, "top", self.key(i, False)], 1),
            ]
            for (a, pa, wa), (b, pb, wb) in itertools.pairwise(stops):
                if free:
                    graph.add_edge(a, b, weight=str(2 * wa * wb))
                else:
                    graph.add_edge(a, b, tailport=f"{pa}:s", headport=f"{pb}:n", weight=str(2 * wa * wb))
        place = positions(graph)
        for slots in self.rows.values():
            for slot in slots:
                slot.x = place[names[slot.id]][0] - slot.width / 2
            slots.sort(key=lambda s: s.x)

    def _port_names(self) -> dict[tuple[str, str, str], str]:
        return {
            (u, edge, cell.key): f"{edge[0]}{n}"
            for u, box in self.boxes.items() for edge in box.cells for n, cell in enumerate(box.cells[edge])
        }

    def _label(self, slot: Slot) -> str:
        """The slot as a table for Graphviz, with a narrow cell under every port."""
        if slot.box is None:
            port = PORT if slot.block is not None else slot.width / 2
            return table([cells_row([("p", slot.width, port)])])
        tables = []
        for edge in ("top", "bottom"):
            cells = slot.box.cells[edge]
            if cells:
                tables.append(cells_row([(f"{edge[0]}{n}", c.width, c.port) for n, c in enumerate(cells)]))
            else:
                tables.append(cells_row([("", slot.width, slot.width / 2)]))
        return table(tables)

    def _reorder(self) -> bool:
        """Terminals in the order of what they are joined to; true if anything moved."""
        far: dict[tuple[str, Edge, str], float] = {}
        for i, run in enumerate(self.picture.runs):
            stops = self.chains[i]
            up = stops[0].port("top", "") if stops else self._port_x(run.lower, "top", self.key(i, False))
            down = stops[-1].port("top", "") if stops else self._port_x(run.upper, "bottom", self.key(i, True))
            far[run.upper, "bottom", self.key(i, True)] = up
            far[run.lower, "top", self.key(i, False)] = down
        moved = False
        for (unit, edge), keys in self.order.items():
            box = self.boxes[unit]
            if any(k not in box.keys[edge] for k in keys):
                continue
            groups = _kept_together(box, edge, keys)
            wanted = sorted(groups, key=lambda g: sum(far.get((unit, edge, k), 0.0) for k in g) / len(g))
            flat = [k for g in wanted for k in sorted(g, key=lambda k: far.get((unit, edge, k), 0.0))]
            if flat != keys:
                self.order[unit, edge] = flat
                moved = True
        return moved

    def _port_x(self, unit: str, edge: Edge, key: str) -> float:
        return self._slot(unit).port(edge, key)

    def _links(self) -> list[Link]:
        out = []
        for i, run in enumerate(self.picture.runs):
            stops = [(self._slot(run.upper), self.key(i, True)), *((s, "") for s in self.chains[i]),
                     (self._slot(run.lower), self.key(i, False))]
            for (a, ka), (b, kb) in itertools.pairwise(stops):
                out.append(Link(a, ka, b, kb))
        return out

    def _slot(self, unit: str) -> Slot:
        return next(s for s in self.rows[self.level[unit]] if s.id == unit)

    # Heights and lines ---------------------------------------------------------------------

    def _finish(self) -> Layout:
        straighten(self.rows, self._links(), list(self.chains.values()))
        columns = [self._columns_of(i) for i in range(len(self.picture.runs))]
        passing: dict[int, list[int]] = defaultdict(list)  # row above → the runs that pass below it
        for i, run in enumerate(self.picture.runs):
            for row in range(self.level[run.upper], self.level[run.lower]):
                passing[row].append(i)
        bends: dict[tuple[int, int], list[Bend]] = {}
        y = 0.0
        for row, slots in self.rows.items():
            for slot in slots:
                slot.y = y
            y += max((s.height for s in slots), default=0.0)
            steps = {i: row - self.level[self.picture.runs[i].upper] for i in passing[row]}
            found, height = lay_across([self.blocks[i].across(*columns[i][n : n + 2]) for i, n in steps.items()])
            bends |= {(i, row): [(y + below, x) for below, x in b] for i, b in zip(steps, found, strict=True)}
            y += max(height, CLEAR) if steps else 0.0
        paths = {i: self._path(i, columns[i][0], bends) for i in range(len(columns))}
        slots = [s for row in self.rows.values() for s in row]
        left = min([*(s.x for s in slots), *(x for path in paths.values() for x, _ in path)])
        for slot in slots:
            slot.x -= left
        paths = {i: [(x - left, y) for x, y in path] for i, path in paths.items()}
        label_at = {i: path[-1] for i, path in paths.items()}
        label_at |= {i: (_column_at(paths[i], slot.y), slot.y) for i, chain in self.chains.items()
                     for slot in chain if slot.block is not None}
        width = max([*(s.x + s.width for s in slots), *(x for path in paths.values() for x, _ in path)])
        return Layout(slots, paths, self.blocks, label_at, width, y, list(self.boxes.values()))

    def _columns_of(self, run: int) -> list[float]:
        """Where a run stands as it leaves its upper unit, in each row that it passes, and at its lower unit."""
        r = self.picture.runs[run]
        upper, lower = (self._port_x(r.upper, "bottom", self.key(run, True)),
                        self._port_x(r.lower, "top", self.key(run, False)))
        return _lined_up([upper, *(s.port("top", "") for s in self.chains[run]), lower])

    def _path(self, run: int, x: float, bends: Mapping[tuple[int, int], Sequence[Bend]]) -> list[Point]:
        r = self.picture.runs[run]
        upper, lower = self._slot(r.upper), self._slot(r.lower)
        path: list[Point] = [(x, upper.y + upper.height)]
        for row in range(self.level[r.upper], self.level[r.lower]):
            for y, to in bends[run, row]:
                path += [(x, y), (to, y)]
                x = to
        return [*path, (x, lower.y)]


def _lined_up(xs: Sequence[float]) -> list[float]:
    """The columns of a run, of which those that are hardly aside of each other are one line midway."""
    out: list[float] = []
    line: list[float] = []
    for x in xs:
        if max([*line, x]) - min([*line, x]) > 2 * STRAIGHT:
            out += [(max(line) + min(line)) / 2] * len(line)
            line = []
        line.append(x)
    return out + [(max(line) + min(line)) / 2] * len(line)


def _column_at(path: Sequence[Point], y: float) -> float:
    """Where a path passes a height."""
    return next(x for (x, y1), (_, y2) in itertools.pairwise(path) if y1 <= y <= y2 and y1 < y2)


def _kept_together(box: Box, edge: Edge, keys: list[str]) -> list[list[str]]:
    """Terminals of one glass move together."""
    glass = getattr(box, "glass_of", None)
    if glass is None or edge == "bottom":
        return [[k] for k in keys]
    groups: dict[str, list[str]] = {}
    for k in keys:
        groups.setdefault(glass(k), []).append(k)
    return list(groups.values())
