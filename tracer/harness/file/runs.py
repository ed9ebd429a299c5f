"""The wires of a harness file: runs through terminals and connector ways, and the joints they need."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from tracer import standards
from tracer.errors import Mark, did_you_mean
from tracer.harness.devices import Conductor, Joint
from tracer.harness.file.fields import Fields, good_name, quantity, text_of
from tracer.harness.file.names import unknown_point
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.harness.file.sections import Context
from tracer.harness.model import Connector, Part, Wire
from tracer.harness.node import far_side, terminal_at

WIRE_KEYS: Final = ("run", "size", "colour", "length", "loom", "temperature", "flexes", "name")
USUAL_KEYS: Final = ("size", "colour", "length", "loom", "temperature", "flexes")
_EXAMPLE: Final = "{run: F1.out > C1.3 > left rear.tail, size: 1.5 mm², length: 3 m}"
MAX_POINTS: Final = 100  # of one run; from lamp switch to lamp there are five
_ARROW: Final = re.compile(r"(?<=\s)[-=–—]+>|[→⇒➔]")  # "battery.->E4" is a pole and a plain >
# Words in the name of a loom that say that it bends: unless its wires say otherwise. (Common practice, no source.)
_BENDS: Final = re.compile(r"\b(?:hinges?|bends?|handlebars?|bars|steering|column|gaiter|bellows|folding)\b", re.I)
EARTH_OHM: Final = 0.002  # a clean eyelet on clean steel


@dataclass(frozen=True)
class Usual:
    """What a wire has when its line does not say."""

    section_mm2: float = 1.0
    colour: str = ""
    length_m: float = 1.0
    loom: str | None = None
    celsius: float = 20.0
    flexes: bool = False


@dataclass(frozen=True)
class WireEntry:
    """A wire as written: its name (given or numbered), its node and its file's usual values."""

    name: str
    node: Node
    usual: Usual


def read_usual(node: Node, base: Usual, code: str | None, notes: Notes) -> Usual:
    if not isinstance(node, TableNode):
        if not (isinstance(node, TextNode) and not node.text.strip()):
            notes.add(node.mark, "usual: expected a table", "write it like {size: 1 mm², length: 1 m}")
        return base
    fields = Fields(node, "usual", USUAL_KEYS, notes)
    return Usual(
        fields.quantity("size", "section", base.section_mm2), _colour(fields, base.colour, code),
        fields.quantity("length", "length", base.length_m), fields.text("loom") or base.loom,
        fields.quantity("temperature", "temperature", base.celsius), _flexes(fields, base.flexes),
    )


def _flexes(fields: Fields, default: bool, loom: str | None = None) -> bool:
    """Whether a wire bends: as it says itself, else if it usually does or its loom's name says so."""
    if fields.node("flexes") is not None:
        return fields.yes_no("flexes")
    return default or bool(loom and _BENDS.search(loom))


def _colour(fields: Fields, default: str, code: str | None) -> str:
    """Colour letters, checked against the harness's code. `code` None: noted elsewhere."""
    letters = fields.text("colour", default)
    if fields.node("colour") is None or not letters:
        return letters
    mark, what = fields.mark("colour"), f"{fields.what}, colour"
    if code == "":
        fields.notes.add(mark, f"{what}: the harness does not say which colour code it uses",
                         "add a line “colours: IEC 60757” or “colours: BS AU 7”")
    elif code is not None and not standards.colour_words(letters, code):
        table = standards.COLOUR_CODES[code]
        others = [c for c in standards.COLOUR_CODES if c != code and standards.colour_words(letters, c)]
        word = next((k for k, v in table.items() if v == letters.lower()), None)
        if word:
            hint = f"write {word}"
        elif others:
            meant = " with ".join(standards.colour_words(letters, others[0]) or ())
            hint = f"in {others[0]} it would be {meant}"
        else:
            hint = "letters: " + ", ".join(f"{k} {v}" for k, v in table.items())
        fields.notes.add(mark, f"{what}: “{clip(letters)}” is no colour of {code}", hint)
    return letters.upper()


def read_wires(
    entries: Sequence[WireEntry], code: str | None, ctx: Context
) -> tuple[tuple[Wire, ...], tuple[Joint, ...]]:
    """All wires, and the joints of the ways they pass and of the earth points."""
    wires: list[Wire] = []
    ways: dict[tuple[str, int], None] = {}
    taken: set[str] = set()
    for entry in entries:
        wire = _wire(entry, code, ctx, ways, taken)
        if wire is not None:
            wires.append(wire)
    order = {name: i for i, name in enumerate(ctx.connectors)}
    joints = [
        Joint(f"{name} way {way}", terminal_at(name, way), terminal_at(name, way, far=True), "way")
        for name, way in sorted(ways, key=lambda nw: (order[nw[0]], nw[1]))
    ]
    joints += [
        Joint(f"{e.name} earth joint", e.name, e.body, "earth", EARTH_OHM)
        for e in ctx.earths.values() if e.body is not None
    ]
    return tuple(wires), tuple(joints)


def _wire(
    entry: WireEntry, code: str | None, ctx: Context, ways: dict[tuple[str, int], None], taken: set[str]
) -> Wire | None:
    notes, node = ctx.notes, entry.node
    before = len(notes.problems)
    if isinstance(node, TextNode) and node.text.strip():
        node = TableNode(node.mark, {"run": (node, node)})  # a run alone, everything else as usual
    if not isinstance(node, TableNode):
        notes.add(node.mark, f"wire {clip(entry.name)}: expected a run", f"write it like {_EXAMPLE}")
        return None
    fields = Fields(node, f"wire {clip(entry.name)}", WIRE_KEYS, notes)
    section = fields.quantity("size", "section", entry.usual.section_mm2)
    colour = _colour(fields, entry.usual.colour, code)
    loom = fields.text("loom") or entry.usual.loom
    celsius = fields.quantity("temperature", "temperature", entry.usual.celsius)
    flexes = _flexes(fields, entry.usual.flexes, loom)
    run_node = fields.need("run", _EXAMPLE)
    points = _run(run_node, fields.what, ctx, ways) if run_node is not None else None
    total, lengths = _lengths(fields, len(points) - 1 if points else None, entry.usual.length_m)
    if points is None or len(notes.problems) > before:
        return None
    segments: list[Conductor] = []
    for index, (start, end) in enumerate(pairwise(points)):
        a = far_side(start.node) if start.way else start.node
        name = _unique(f"wire {start.node} – {end.node}", entry.name, taken)
        segments.append(Conductor(
            name, a, end.node, standards.conductor_ohm(section, lengths[index], celsius), colour, section, loom,
            lengths[index], entry.name, flexes,
        ))
    return Wire(entry.name, tuple(p.node for p in points), tuple(segments), colour, section, total, loom,
                celsius, flexes, node.mark)


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


@dataclass(frozen=True)
class _Point:
    node: str
    way: bool


def _run(
    node: Node, what: str, ctx: Context, ways: dict[tuple[str, int], None]
) -> list[_Point] | None:
    """The points of a run; None if any was noted as wrong."""
    if text_of(node, f"{what}, run", ctx.notes) is None or not isinstance(node, TextNode):
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
            points.append(_point(written, mark, what, ctx, ways))
        previous = written
    if len(points) > MAX_POINTS:
        ctx.notes.add(node.mark, f"{what}: {len(points)} points in one run", f"at most {MAX_POINTS}: two wires?")
        return None
    if len(points) < 2:
        ctx.notes.add(node.mark, f"{what}: a run needs at least two points", "write it like F1.out > lamp.feed")
        return None
    good = [p for p in points if p is not None]
    return good if len(good) == len(points) else None


def split_point(written: str) -> tuple[str, str, str]:
    """Owner, separator and terminal of a point; "C8/3", as lists print it, means "C8.3"."""
    owner, dot, terminal = written.partition("." if "." in written else "/")
    return tidy(owner), dot, tidy(terminal)


def _point(
    written: str, mark: Mark, what: str, ctx: Context, ways: dict[tuple[str, int], None]
) -> _Point | None:
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
        way = _way(ctx.connectors[owner], terminal, mark, what, notes)
        if way is None:
            return None
        ways[owner, way] = None
        return _Point(terminal_at(owner, way), way=True)
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
    if terminal in ("49", "49a") and "numbering" in part.settings:
        return "a flasher relay is “kind: flasher unit”"
    # Both standards number relays, and the contacts that a relay has say which terminals there are.
    if "numbering" not in part.settings or terminal not in ("30", "87", "87a", "87b", "88", "88a"):
        return None
    has = ", ".join(part.terminals)
    return f"it has {has}; say “contacts: change-over” or “numbering: DIN 72552” if the relay is one"


def _way(connector: Connector, terminal: str, mark: Mark, what: str, notes: Notes) -> int | None:
    name, ways = connector.name, connector.ways
    has = f"{name} has {ways} way{'s' * (ways != 1)}"
    if not terminal:
        notes.add(mark, f"{what}: {name} without a way", f"{name}.1 to {name}.{ways}")
        return None
    if not (terminal.isascii() and terminal.isdigit() and len(terminal) < 5):
        notes.add(mark, f"{what}: way “{clip(terminal)}” of {name}", f"ways are numbers; {has}")
        return None
    if not 1 <= int(terminal) <= ways:
        notes.add(mark, f"{what}: way {int(terminal)} of {name}", has)
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
