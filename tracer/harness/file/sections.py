"""The sections of a harness file but parts and wires: controls, connectors, splices, earths."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, get_args

from msgspec import Struct, field

from tracer import standards
from tracer.errors import did_you_mean
from tracer.harness.file.fields import (
    Fields,
    good_name,
    texts_of,
)
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.harness.model import BODY, Connector, ConnectorKind, Control, EarthPoint, Part, Splice

Items = Mapping[str, tuple[TextNode, Node]]
_POSITION_FORBIDDEN: Final = ",="  # they separate controls when a state is described


class Context(Struct):
    """What the sections read so far offer to those that refer to them.

    `broken` holds the names whose own entry is wrong: what refers to them is not wrong as well.
    """

    notes: Notes
    system_v: float
    positive_earth: bool = False
    controls: dict[str, Control] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    connectors: dict[str, Connector] = field(default_factory=dict)
    splices: dict[str, Splice] = field(default_factory=dict)
    earths: dict[str, EarthPoint] = field(default_factory=dict)
    broken: set[str] = field(default_factory=set)
    broken_controls: set[str] = field(default_factory=set)
    removed: set[str] = field(default_factory=set)  # by an overlay
    parts_traced: bool = True  # of parts that do not say


_MOST_WAYS: Final = 200
CONNECTOR_KINDS: Final[tuple[ConnectorKind, ...]] = get_args(ConnectorKind)
CONNECTOR_KEYS: Final = ("kind", "ways", "rows", "standard", "place", "access")
CONTROL_KEYS: Final = ("positions", "assumed", "sprung", "drives", "rolls", "minutes", "also")


# --- controls ---------------------------------------------------------------------------------


def read_controls(items: Items, ctx: Context) -> None:
    for name, (key, node) in items.items():
        before = len(ctx.notes.problems)
        control = _control(name, key, node, ctx.notes)
        if control is None or len(ctx.notes.problems) > before:
            ctx.broken_controls.add(name)
        else:
            ctx.controls[name] = control


def _control(name: str, key: TextNode, node: Node, notes: Notes) -> Control | None:
    what = f"control {clip(name)}"
    example = "{positions: [off, on]}"
    good_name(key, "control", notes, _POSITION_FORBIDDEN)
    if isinstance(node, ListNode):
        table = TableNode(node.mark, {"positions": (key, node)})
    elif isinstance(node, TableNode):
        table = node
    else:
        notes.add(node.mark, f"{what}: its positions are missing", "write it like [off, on]")
        return None
    fields = Fields(table, what, CONTROL_KEYS, notes)
    written = fields.need("positions", example)
    if written is None:
        return None
    texts = texts_of(written, f"{what}, positions", notes)
    positions = tuple(tidy(t.text) for t in texts)
    for index, text in enumerate(texts):
        good_name(text, "position", notes, _POSITION_FORBIDDEN)
        if positions[index] in positions[:index]:
            notes.add(text.mark, f"{what}: position “{clip(positions[index])}” is written twice")
    if len(positions) < 2:
        notes.add(written.mark, f"{what}: a control has at least two positions", "write it like [off, on]")
        return None
    assumed = fields.text("assumed", positions[0])
    if assumed not in positions:
        notes.add(fields.mark("assumed"), f"{what}: no position “{clip(assumed)}”",
                  did_you_mean(assumed, dict.fromkeys(positions)))
    sprung, springs = _sprung(fields, positions, what)
    return Control(name, positions, assumed, sprung,
                   fields.quantity("minutes", "duration", 0.2), fields.texts("also"), key.mark, springs,
                   _moving(fields, "drives", positions, what), _moving(fields, "rolls", positions, what))


def _moving(fields: Fields, key: str, positions: tuple[str, ...], what: str) -> tuple[str, ...] | None:
    """The positions in which the vehicle drives or rolls; None if the file does not say."""
    node = fields.node(key)
    if node is None:
        return None
    found: list[str] = []
    for text in texts_of(node, f"{what}, {key}", fields.notes):
        position = tidy(text.text)
        if position not in positions:
            fields.notes.add(text.mark, f"{what}, {key}: no position “{clip(position)}”",
                             did_you_mean(position, positions))
        found.append(position)
    return tuple(dict.fromkeys(found))


def _sprung(fields: Fields, positions: tuple[str, ...], what: str) -> tuple[bool, tuple[str, ...]]:
    """Whether a control returns by itself, and out of which positions: `yes` means all but the first."""
    node = fields.node("sprung")
    if isinstance(node, ListNode) or (isinstance(node, TextNode) and tidy(node.text) in positions[1:]):
        found: list[str] = []
        for text in texts_of(node, f"{what}, sprung", fields.notes):
            position = tidy(text.text)
            if position in positions[1:]:
                found.append(position)
                continue
            known = did_you_mean(position, positions[1:])
            hint = "it is where the others spring back to" if position == positions[0] else known
            fields.notes.add(text.mark, f"{what}, sprung: “{clip(position)}” cannot spring back", hint)
        return bool(found), () if len(set(found)) == len(positions) - 1 else tuple(dict.fromkeys(found))
    return fields.yes_no("sprung"), ()


# --- connectors, splices, earths ----------------------------------------------------------------


def read_connectors(items: Items, ctx: Context) -> None:
    for name, (key, node) in items.items():
        before = len(ctx.notes.problems)
        connector = _connector(name, key, node, ctx.notes)
        if connector is None or len(ctx.notes.problems) > before:
            ctx.broken.add(name)
        else:
            ctx.connectors[name] = connector


def _connector(name: str, key: TextNode, node: Node, notes: Notes) -> Connector | None:
    what = f"connector {clip(name)}"
    good_name(key, "connector", notes)
    if isinstance(node, TextNode) and (tidy(node.text) in CONNECTOR_KINDS or node.text.strip().isdecimal()):
        alone = "ways" if node.text.strip().isdecimal() else "kind"  # the number of its ways, or what it is
        node = TableNode(node.mark, {alone: (key, node)})
    if not isinstance(node, TableNode):
        notes.add(node.mark, f"{what}: its ways are missing", "write it like {ways: 6, place: boot}")
        return None
    fields = Fields(node, what, CONNECTOR_KEYS, notes)
    kind = _connector_kind(fields)
    if kind == "bullets":
        return _bullets(name, fields, key)
    functions: Mapping[int, str] = {}
    standard = fields.text("standard")
    if standard:
        functions = standards.SOCKETS.get(standard, {})
        if not functions:
            notes.add(fields.mark("standard"), f"{what}: no socket standard “{clip(standard)}”",
                      did_you_mean(standard, standards.SOCKETS))
            return None
    elif fields.need("ways", "{ways: 6, place: boot}") is None:
        return None
    # Where that is wrong nothing is said of the rows besides.
    ways = fields.whole("ways", len(functions) or _MOST_WAYS, 1, _MOST_WAYS)
    if functions and ways != len(functions):
        notes.add(fields.mark("ways"), f"{what}: a socket of {standard} has {len(functions)} ways, not {ways}")
    rows = fields.whole("rows", 1, 1, 20)
    if rows > ways:
        notes.add(fields.mark("rows"), f"{what}: {rows} rows for {ways} way{'s' * (ways != 1)}")
    return Connector(name, ways, rows, fields.text("place"), fields.quantity("access", "duration", 0.0),
                     functions, key.mark)


def _connector_kind(fields: Fields) -> ConnectorKind:
    kind = fields.text("kind", "plug")
    for known in CONNECTOR_KINDS:
        if kind == known:
            return known
    fields.notes.add(fields.mark("kind"), f"{fields.what}: no kind of connector “{clip(kind)}”",
                     did_you_mean(kind, CONNECTOR_KINDS))
    return "plug"


def _bullets(name: str, fields: Fields, key: TextNode) -> Connector:
    """A block of bullets. Without the number of its ways (0) it has as many as wires are pushed into it."""
    for other in ("rows", "standard"):
        if fields.node(other) is not None:
            fields.notes.add(fields.mark(other), f"{fields.what}: bullets have no {other}", "leave it out")
    return Connector(name, fields.whole("ways", 0, 1, _MOST_WAYS), 1, fields.text("place"),
                     fields.quantity("access", "duration", 0.0), {}, key.mark, "bullets")


def read_splices(items: Items, ctx: Context) -> None:
    for name, (key, node) in items.items():
        before = len(ctx.notes.problems)
        good_name(key, "splice", ctx.notes)
        fields = _place_fields(f"splice {clip(name)}", node, ("place", "access"), ctx.notes)
        splice = Splice(name, fields.text("place"), fields.quantity("access", "duration", 0.0), key.mark)
        if len(ctx.notes.problems) > before:
            ctx.broken.add(name)
        else:
            ctx.splices[name] = splice


def read_earths(items: Items, ctx: Context) -> None:
    for name, (key, node) in items.items():
        before = len(ctx.notes.problems)
        good_name(key, "earth", ctx.notes)
        fields = _place_fields(f"earth {clip(name)}", node, ("place", "access", "body"), ctx.notes)
        body: str | None = fields.text("body", BODY)
        body_node = fields.node("body")
        if isinstance(body_node, TextNode) and body_node.text.strip():
            good_name(body_node, "body", ctx.notes)
        if body == "none":
            body = None
        earth = EarthPoint(name, body, fields.text("place"), fields.quantity("access", "duration", 0.0), key.mark)
        if len(ctx.notes.problems) > before:
            ctx.broken.add(name)
        else:
            ctx.earths[name] = earth


def _place_fields(what: str, node: Node, known: tuple[str, ...], notes: Notes) -> Fields:
    """Of `S1: under the dash`, `S1: {place: under the dash}` and a bare `S1:` alike."""
    if isinstance(node, TextNode):
        table = TableNode(node.mark)
        if node.text.strip():
            table.entries["place"] = (node, node)
        node = table
    elif isinstance(node, ListNode):
        notes.add(node.mark, f"{what}: expected its place, found a list")
        node = TableNode(node.mark)
    return Fields(node, what, known, notes)
