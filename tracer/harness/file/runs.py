"""The wires of a harness file: runs through terminals and connector ways, and the joints they need."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer import standards
from tracer.errors import Mark, did_you_mean
from tracer.harness.devices import Conductor, Joint
from tracer.harness.file.bullets import Seats, numbered_in
from tracer.harness.file.fields import Fields, good_name, quantity, text_of
from tracer.harness.file.names import unknown_point
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.harness.file.sections import Context
from tracer.harness.file.usual import Usual, loom_bends, read_colour, whether
from tracer.harness.model import Connector, Part, Wire
from tracer.harness.node import far_side, node_of, terminal_at

WIRE_KEYS: Final = ("run", "size", "colour", "length", "loom", "temperature", "flexes", "traced", "or", "name")
_EXAMPLE: Final = "{run: F1.out > C1.3 > left rear.tail, size: 1.5 mm², length: 3 m}"
MAX_POINTS: Final = 100  # of one run; from lamp switch to lamp there are five
_ARROW: Final = re.compile(r"(?<=\s)[-=–—]+>|[→⇒➔]")  # "battery.->E4" is a pole and a plain >
_MOST_BULLETS: Final = 200
# Makers' own letters on flasher units: battery, lamps, pilot lamp (common practice, no source).
_MAKERS: Final[Mapping[str, str]] = {"B": "49", "+": "49", "X": "49", "L": "49a", "P": "C", "E": "31"}
EARTH_OHM: Final = 0.002  # a clean eyelet on clean steel


class WireEntry(Struct, frozen=True):
    """A wire as written: its name (given or numbered), its node and its file's usual values."""

    name: str
    node: Node
    usual: Usual


def read_wires(
    entries: Sequence[WireEntry], code: str | None, ctx: Context
) -> tuple[tuple[Wire, ...], tuple[Joint, ...]]:
    """All wires, and the joints of the ways they pass and of the earth points."""
    wires: list[Wire] = []
    reader = _Runs(ctx, Seats(ctx.connectors, numbered_in(map(_written, entries), ctx.connectors)))
    taken: set[str] = set()
    for entry in entries:
        wire = _wire(entry, code, reader, taken)
        if wire is not None:
            wires.append(wire)
    ways = reader.ways
    order = {name: i for i, name in enumerate(ctx.connectors)}
    joints = [
        Joint(f"{name} way {way}", terminal_at(name, way), terminal_at(name, way, far=True), "way")
        for name, way in sorted(ways, key=lambda nw: (order[nw[0]], nw[1]))
    ]
    joints += reader.seats.joints()
    joints += [
        Joint(f"{e.name} earth joint", e.name, e.body, "earth", EARTH_OHM)
        for e in ctx.earths.values() if e.body is not None
    ]
    if not ctx.notes.problems:
        check_others(wires, joints, ctx)
    return tuple(wires), tuple(joints)


def _written(entry: WireEntry) -> str:
    """The run of a wire as written; "" where it cannot be read, which is noted later."""
    node: Node | None = entry.node
    if isinstance(node, TableNode):
        node = node.entries.get("run", (None, None))[1]
    return node.text if isinstance(node, TextNode) else ""


def _wire(entry: WireEntry, code: str | None, reader: _Runs, taken: set[str]) -> Wire | None:
    notes, node = reader.ctx.notes, entry.node
    before = len(notes.problems)
    if isinstance(node, TextNode) and node.text.strip():
        node = TableNode(node.mark, {"run": (node, node)})  # a run alone, everything else as usual
    if not isinstance(node, TableNode):
        notes.add(node.mark, f"wire {clip(entry.name)}: expected a run", f"write it like {_EXAMPLE}")
        return None
    fields = Fields(node, f"wire {clip(entry.name)}", WIRE_KEYS, notes)
    loom = fields.text("loom") or entry.usual.loom
    usual = entry.usual.of(loom)
    section = fields.quantity("size", "section", usual.section_mm2)
    colour = read_colour(fields, usual.colour, code)
    celsius = fields.quantity("temperature", "temperature", usual.celsius)
    flexes, traced = (whether(k, fields, getattr(usual, k)) for k in ("flexes", "traced"))
    if fields.node("flexes") is None:
        flexes = flexes or loom_bends(loom)
    run_node = fields.need("run", _EXAMPLE)
    points = reader.run(run_node, fields.what) if run_node is not None else None
    lengths_of = [(a, b) for a, b in pairwise(points or ()) if not a.block or a.block != b.block]
    if points and not lengths_of:
        notes.add(fields.mark("run"), f"{fields.what}: there is no wire between bullets of one block",
                  "write where the wire leads to")
    total, lengths = _lengths(fields, len(lengths_of) if points else None, usual.length_m)
    others = tuple(reader.others(fields))
    if points is None or len(notes.problems) > before:
        return None
    segments: list[Conductor] = []
    for index, (start, end) in enumerate(lengths_of):
        a = far_side(start.node) if start.way else start.node
        name = _unique(f"wire {start.node} – {end.node}", entry.name, taken)
        segments.append(Conductor(
            name, a, end.node, standards.conductor_ohm(section, lengths[index], celsius), colour, section, loom,
            lengths[index], entry.name, flexes,
        ))
    return Wire(entry.name, tuple(p.node for p in points), tuple(segments), colour, section, total, loom,
                celsius, flexes, node.mark, traced, others)


def _unique(name: str, wire: str, taken: set[str]) -> str:
    """Parallel conductors between the same points are told apart by the wire's name."""
    wanted, count = name, 1
    while wanted in taken:
        wanted = f"{name} ({wire})" if count == 1 else f"{name} ({wire}, {count})"
        count += 1
    taken.add(wanted)
    return wanted


def _lengths(fields: Fields, segments: int | None, usual: float) -> tuple[float, list[float]]:
    """The run's length and that of each segment: given one by one, or split equally.

    `segments` is None where the run could not be read, so that the count of lengths means nothing.
    """
    node, count = fields.node("length"), segments or 1
    if not isinstance(node, ListNode):
        total = fields.quantity("length", "length", usual)
        return total, [total / count] * count
    found = [quantity(n, "length", f"{fields.what}, length", fields.notes) for n in node.items]
    lengths = [usual if x is None else x for x in found]
    if segments is not None and len(lengths) != segments:
        fields.notes.add(node.mark, f"{fields.what}: {len(lengths)} lengths for {segments} "
                                    f"conductor{'s' * (segments != 1)}", "one length, or one a conductor")
    return sum(lengths), lengths


class _Point(Struct, frozen=True):
    """A point of a run; `block` names the block of a bullet, which alone is its node until it has a number."""

    node: str
    way: bool
    mark: Mark | None = None
    block: str = ""


class _Runs:
    """Reads runs, and keeps which ways and bullets they pass."""

    def __init__(self, ctx: Context, seats: Seats) -> None:
        self.ctx, self.seats = ctx, seats
        self.ways: dict[tuple[str, int], None] = {}

    def run(self, node: Node, what: str) -> list[_Point] | None:
        """The points of a run; None if any was noted as wrong."""
        points = _points(node, what, f"{what}, run", self.ctx)
        if points is None:
            return None
        for p in points:
            if p.way:
                of = node_of(p.node)
                self.ways[of.owner, int(of.terminal)] = None
        return self._pushed_in(points, what)

    def others(self, fields: Fields) -> Iterator[tuple[str, ...]]:
        """The runs that a wire may have instead. They occupy no bullet: one of a block stands for the block."""
        node = fields.node("or")
        if node is None:
            return
        for one in node.items if isinstance(node, ListNode) else [node]:
            what = f"{fields.what}, or"
            points = _points(one, what, what, self.ctx)
            if points is not None:
                yield tuple(p.block or p.node for p in points)

    def _pushed_in(self, points: Sequence[_Point], what: str) -> list[_Point]:
        """The points with every bullet by its number; a run through a block arrives in one and leaves by another."""
        out: list[_Point] = []
        for i, p in enumerate(points):
            if not p.block:
                out.append(p)
                continue
            beside = [points[k].block for k in (i - 1, i + 1) if 0 <= k < len(points)]
            through = len(beside) == 2 and p.block not in beside
            numbered = p.node != p.block
            for written in (numbered, False) if through else (numbered,):
                assert p.mark is not None
                node = p.node if written else self.seats.free(p.block, p.mark, what, self.ctx.notes)
                out.append(replace(p, node=node))
        return out


def _points(node: Node, what: str, key: str, ctx: Context) -> list[_Point] | None:
    """The points of a run as written; None if any was noted as wrong. `key`: what to call the text itself."""
    if text_of(node, key, ctx.notes) is None or not isinstance(node, TextNode):
        return None
    arrow = _ARROW.search(node.text)
    if arrow:
        ctx.notes.add(node.mark_at(arrow.start()), f"{what}: “{arrow.group()}” in the run",
                      "points are separated by > alone: F1.out > lamp.feed")
        return None
    points: list[_Point | None] = []
    offset, previous = 0, ""
    for raw in node.text.split(">"):
        mark = node.mark_at(offset + len(raw) - len(raw.lstrip()))
        offset += len(raw) + 1
        written = tidy(raw)
        if written and written == previous:
            ctx.notes.add(mark, f"{what}: “{clip(written)}” stands twice in a row")
            points.append(None)
        else:
            points.append(_point(written, mark, what, ctx))
        previous = written
    if len(points) > MAX_POINTS:
        ctx.notes.add(node.mark, f"{what}: {len(points)} points in one run", f"at most {MAX_POINTS}: two wires?")
        return None
    if len(points) < 2:
        ctx.notes.add(node.mark, f"{what}: a run needs at least two points", "write it like F1.out > lamp.feed")
        return None
    good = [p for p in points if p is not None]
    return good if len(good) == len(points) else None


def check_others(wires: Sequence[Wire], joints: Sequence[Joint], ctx: Context) -> None:
    """Note alternative runs that end where no wire of the file does."""
    known = {terminal_at(p.name, t) for p in ctx.parts.values() for t in p.terminals}
    known.update(n for j in joints for n in (j.a, j.b))
    known.update(n for w in wires for s in w.segments for n in (s.a, s.b))
    for wire in wires:
        for run in wire.others:
            for end in {run[0], run[-1]} - known:
                ctx.notes.add(wire.mark, f"wire {clip(wire.name)}, or: no wire of this file leads to {end}",
                              "an alternative ends at a part, an earth point, or where other wires end")


def split_point(written: str) -> tuple[str, str, str]:
    """Owner, separator and terminal of a point; "C8/3", as lists print it, means "C8.3"."""
    owner, dot, terminal = written.partition("." if "." in written else "/")
    return tidy(owner), dot, tidy(terminal)


def _point(written: str, mark: Mark, what: str, ctx: Context) -> _Point | None:
    notes = ctx.notes
    if not written:
        notes.add(mark, f"{what}: a point is missing in the run", "points are separated by one >")
        return None
    owner, dot, terminal = split_point(written)
    if owner in ctx.broken:
        return None
    if owner in ctx.splices or owner in ctx.earths:
        if not dot:
            return _Point(owner, way=False)
        kind = "a splice" if owner in ctx.splices else "an earth"
        notes.add(mark, f"{what}: {owner} is {kind} and has no terminals", f"write {owner} alone")
        return None
    if owner in ctx.parts:
        part = ctx.parts[owner]
        if terminal in part.terminals:
            return _Point(terminal_at(owner, terminal), way=False)
        listed = ", ".join(terminal_at(owner, t) for t in part.terminals)
        if not terminal:
            notes.add(mark, f"{what}: {owner} without a terminal", f"one of {listed}")
        else:
            notes.add(mark, f"{what}: {owner} has no terminal “{clip(terminal)}”",
                      _meant(part, terminal) or did_you_mean(terminal, part.terminals))
        return None
    if owner in ctx.connectors:
        bullets = ctx.connectors[owner].kind == "bullets"
        if bullets and not dot:
            return _Point(owner, False, mark, owner)
        way = _way(ctx.connectors[owner], terminal, mark, what, notes)
        if way is None:
            return None
        return _Point(terminal_at(owner, way), not bullets, mark, owner if bullets else "")
    thing = "part, connector" if dot else "part, connector, splice or earth"
    notes.add(mark, f"{what}: no {thing} “{clip(owner)}”".replace("part, connector “", "part or connector “"),
              unknown_point(owner, ctx))
    return None


def _meant(part: Part, terminal: str) -> str | None:
    """What to say of terminals that are right on paper, under another name or for another kind of part."""
    if terminal in ("31", "-") and "earth" in part.terminals:
        return f"its earth is {part.name}.earth"
    if terminal in ("+", "30", "15", "58") and "feed" in part.terminals:
        return f"its feed is {part.name}.feed"
    if part.flashes and terminal in _MAKERS:
        has = f", or say “tell-tale: {terminal}”" if terminal == "P" else ""
        return f"makers’ {terminal} is {part.name}.{_MAKERS[terminal]}{has}"
    if terminal in ("49", "49a") and "numbering" in part.settings:
        return "a flasher relay is “kind: flasher unit”"
    # Both standards number relays, and the contacts that a relay has say which terminals there are.
    if "numbering" not in part.settings or terminal not in ("30", "87", "87a", "87b", "88", "88a"):
        return None
    has = ", ".join(part.terminals)
    return f"it has {has}; say “contacts: change-over” or “numbering: DIN 72552” if the relay is one"


def _way(connector: Connector, terminal: str, mark: Mark, what: str, notes: Notes) -> int | None:
    name, ways = connector.name, connector.ways or _MOST_BULLETS
    bullet = "bullet" if connector.kind == "bullets" else "way"
    has = f"{name} has {ways} {bullet}{'s' * (ways != 1)}"
    if not terminal:
        notes.add(mark, f"{what}: {name} without a {bullet}", f"{name}.1 to {name}.{ways}")
        return None
    if not (terminal.isascii() and terminal.isdigit() and len(terminal) < 5):
        notes.add(mark, f"{what}: {bullet} “{clip(terminal)}” of {name}", f"{bullet}s are numbers; {has}")
        return None
    if not 1 <= int(terminal) <= ways:
        notes.add(mark, f"{what}: {bullet} {int(terminal)} of {name}", has)
        return None
    return int(terminal)


def name_wires(
    nodes: Sequence[Node], usual: Usual, start: int, present: Mapping[str, WireEntry], notes: Notes
) -> dict[str, WireEntry]:
    """The wires of one file by name: the given one, else "w" and the position counted from `start`."""
    out: dict[str, WireEntry] = {}
    for position, node in enumerate(nodes, start):
        name, mark = f"w{position}", node.mark
        given = node.entries.get("name") if isinstance(node, TableNode) else None
        if given is not None:
            text = text_of(given[1], "wire, name", notes)
            mark = given[1].mark
            if text is None or not isinstance(given[1], TextNode) or not good_name(given[1], "wire", notes):
                continue
            name = text
        if name in out or (given is None and name in present):
            notes.add(mark, f"two wires are named “{clip(name)}”",
                      "wires without a name are w1, w2, … in the order of the file")
            continue
        out[name] = WireEntry(name, node, usual)
    return out
