"""The sections of a harness file but the wires: controls, parts, connectors, splices, earths."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from tracer import standards
from tracer.errors import TracerError, did_you_mean
from tracer.harness import BODY, Connector, Control, EarthPoint, Part, Splice
from tracer.harness_file.fields import (
    LIMITS,
    Fields,
    good_name,
    quantity,
    text_of,
    texts_of,
    yes_no,
)
from tracer.harness_file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.kinds import KINDS, MAX_LAMP_W, Built, Kind, Setting, for_positive_earth, lamp_laws
from tracer.purposes import PURPOSES
from tracer.units import ambiguous

Items = Mapping[str, tuple[TextNode, Node]]
COMMON_KEYS: Final = ("kind", "place", "access", "also")
_POSITION_FORBIDDEN: Final = ",="  # they separate controls when a state is described


@dataclass
class Context:
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
    fields = Fields(table, what, ("positions", "assumed", "sprung", "minutes", "also"), notes)
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
                   fields.quantity("minutes", "duration", 0.2), fields.texts("also"), key.mark, springs)


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
    if isinstance(node, TextNode) and node.text.strip().isdecimal():
        node = TableNode(node.mark, {"ways": (key, node)})  # the number of its ways alone
    if not isinstance(node, TableNode):
        notes.add(node.mark, f"{what}: its ways are missing", "write it like {ways: 6, place: boot}")
        return None
    fields = Fields(node, what, ("ways", "rows", "standard", "place", "access"), notes)
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
    ways = fields.whole("ways", len(functions) or 1, 1, 200)
    if functions and ways != len(functions):
        notes.add(fields.mark("ways"), f"{what}: a socket of {standard} has {len(functions)} ways, not {ways}")
    rows = fields.whole("rows", 1, 1, 20)
    if rows > ways:
        notes.add(fields.mark("rows"), f"{what}: {rows} rows for {ways} way{'s' * (ways != 1)}")
    return Connector(name, ways, rows, fields.text("place"), fields.quantity("access", "duration", 0.0),
                     functions, key.mark)


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


# --- parts ------------------------------------------------------------------------------------


def read_parts(items: Items, ctx: Context) -> None:
    for name, (key, node) in items.items():
        before = len(ctx.notes.problems)
        part = _part(name, key, node, ctx)
        if part is None or len(ctx.notes.problems) > before:
            ctx.broken.add(name)
        else:
            ctx.parts[name] = part


def _part(name: str, key: TextNode, node: Node, ctx: Context) -> Part | None:
    notes, example = ctx.notes, "{kind: fuse, rating: 8 A}"
    good_name(key, "part", notes)
    if not isinstance(node, TableNode) or "kind" not in node.entries:
        notes.add(node.mark, f"{clip(name)}: its kind is missing", f"write it like {example}")
        return None
    kind_name = text_of(node.entries["kind"][1], f"{clip(name)}, kind", notes)
    if kind_name is None:
        return None
    kind = KINDS.get(kind_name)
    if kind is None:
        notes.add(node.entries["kind"][1].mark, f"{clip(name)}: no kind of part “{clip(kind_name)}”",
                  did_you_mean(kind_name, KINDS))
        return None
    fields = Fields(node, clip(name), (*kind.settings, *COMMON_KEYS), notes, f"for a {kind_name}")
    before = len(notes.problems)
    settings = _settings(name, kind, fields, ctx)
    place, access = fields.text("place"), fields.quantity("access", "duration", 0.0)
    also = fields.texts("also")
    if settings is None or len(notes.problems) > before:
        return None
    try:
        built: Built = kind.build(name, settings, ctx.system_v)
    except TracerError as error:
        notes.add(key.mark, clip(error.message, 120), error.hint)
        return None
    if ctx.positive_earth:
        built = for_positive_earth(built)
    return Part(name, kind_name, built.terminals, built.devices, place, access, also, settings, key.mark)


def _settings(name: str, kind: Kind, fields: Fields, ctx: Context) -> dict[str, Any] | None:
    out: dict[str, Any] = {}
    complete = True
    for key, setting in kind.settings.items():
        node = fields.node(key)
        if node is None:
            out[key] = setting.default
            if setting.required and fields.lacks(key):
                fields.notes.add(fields.table.mark, f"{clip(name)}: “{key}” is missing", setting.means or None)
            complete = complete and not setting.required
            continue
        reader = _READERS.get(setting.type)
        what = f"{clip(name)}, {key}"
        if reader is not None:
            out[key] = reader(node, setting, what, ctx, fields)
        elif setting.type in LIMITS:
            out[key] = quantity(node, setting.type, what, fields.notes)
        else:
            out[key] = text_of(node, what, fields.notes)
        complete = complete and out[key] is not None
    return out if complete else None


def _choice(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> str | None:
    text = text_of(node, what, ctx.notes)
    if text is not None and text not in setting.choices:
        ctx.notes.add(node.mark, f"{what}: “{clip(text)}” is no choice", "choose " + " or ".join(setting.choices))
        return None
    return text


def _control_name(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> str | None:
    text = text_of(node, what, ctx.notes)
    if text is None or text in ctx.controls or text in ctx.broken_controls:
        return text
    ctx.notes.add(node.mark, f"{what}: no control “{clip(text)}”",
                  did_you_mean(text, (*ctx.controls, *sorted(ctx.broken_controls))))
    return None


def _earth_name(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> str | None:
    text = text_of(node, what, ctx.notes)
    if text is None or text in ctx.earths or text in ctx.broken:
        return text
    ctx.notes.add(node.mark, f"{what}: no earth “{clip(text)}”", did_you_mean(text, ctx.earths))
    return None


def lamp_problem(lamp: str, names: int, system_v: float) -> tuple[str, str | None] | None:
    """What is wrong with a lamp given as category or watts for that many lamp names."""
    number, unit = lamp[:-1].strip(), lamp[-1:]
    if number[:3].upper() == "LED":
        number = number[3:]
    if any(ambiguous(n) for n in number.split("/")):
        return f"“{clip(lamp)}” could mean thousands or a decimal comma", "write the decimal mark as a point"
    if unit in ("W", "w"):
        try:
            watts = [float(n.replace(",", ".")) for n in number.split("/")]
        except ValueError:
            watts = []
        if watts and not all(0.1 <= w <= MAX_LAMP_W for w in watts):
            return f"a lamp of “{clip(lamp)}” is out of range", f"0.1 to {MAX_LAMP_W:g} W"
    try:
        count = len(lamp_laws(lamp, system_v))
    except TracerError as error:
        return f"“{clip(lamp)}” is no lamp", error.hint
    if count == names:
        return None
    one = "one filament, " if count == 1 else f"{count} filaments, "
    hint = "a twin-filament lamp is written like “stop + tail: P21/5W”"
    return f"{lamp} has {one}{names} lamp name{'s are' if names > 1 else ' is'} given", hint


def _lamp(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> str | None:
    text = text_of(node, what, ctx.notes)
    problem = lamp_problem(text, 1, ctx.system_v) if text is not None else None
    if problem:
        ctx.notes.add(node.mark, f"{what}: {problem[0]}", problem[1])
        return None
    return text


def _lamps(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> dict[str, str] | None:
    if not isinstance(node, TableNode) or not node.entries:
        ctx.notes.add(node.mark, f"{what}: expected names and lamps",
                      "write it like {stop + tail: P21/5W, indicator: P21W}")
        return None
    out: dict[str, str] = {}
    seen: set[str] = set()
    for written, (key, lamp_node) in node.entries.items():
        names = [n.strip() for n in written.split("+")]
        for name in names:
            good_name(TextNode(name, key.mark, key.inline and len(names) == 1), "lamp", ctx.notes)
            if name in seen or name == "earth":
                why = "is the common earth’s name" if name == "earth" else "is named twice"
                ctx.notes.add(key.mark, f"{what}: “{clip(name)}” {why}", "each lamp needs its own name")
            seen.add(name)
        lamp = text_of(lamp_node, f"{what}, {written}", ctx.notes)
        problem = lamp_problem(lamp, len(names), ctx.system_v) if lamp is not None else None
        if problem:
            ctx.notes.add(lamp_node.mark, f"{what}, {clip(written)}: {problem[0]}", problem[1])
        elif lamp is not None:
            out[" + ".join(names)] = lamp
    return out


def _purposes(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> tuple[str, ...] | None:
    """What one lamp is for: one purpose or a list."""
    texts = texts_of(node, what, ctx.notes)
    if isinstance(node, (TextNode, ListNode)) and not texts:
        ctx.notes.add(node.mark, f"{what}: nothing is written here", "choose " + ", ".join(PURPOSES))
    for text in texts:
        if tidy(text.text) not in PURPOSES:
            ctx.notes.add(text.mark, f"{what}: no lamp is for “{clip(text.text)}”", did_you_mean(text.text, PURPOSES))
    return tuple(dict.fromkeys(tidy(t.text) for t in texts)) or None


def _lamp_purposes(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> dict[str, tuple[str, ...]] | None:
    """What each named lamp of a unit is for."""
    if not isinstance(node, TableNode) or not node.entries:
        ctx.notes.add(node.mark, f"{what}: expected the names of lamps", "write it like {stop: stop, tail: side}")
        return None
    lamps = fields.node("lamps")
    written = lamps.entries if isinstance(lamps, TableNode) else {}
    known = [n.strip() for names in written for n in names.split("+")]
    out: dict[str, tuple[str, ...]] = {}
    for name, (key, said) in node.entries.items():
        if known and name not in known:
            ctx.notes.add(key.mark, f"{what}: the unit has no lamp “{clip(name)}”", did_you_mean(name, known))
        out[name] = _purposes(said, setting, f"{what}, {clip(name)}", ctx, fields) or ()
    return out


def _contacts(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> dict[str, tuple[str, ...]] | None:
    notes = ctx.notes
    if not isinstance(node, TableNode):
        notes.add(node.mark, f"{what}: expected a table", "position: list of pairs, like {on: [30-58]}")
        return None
    named = fields.node("control")
    control_name = tidy(named.text) if isinstance(named, TextNode) else ""
    control = ctx.controls.get(control_name)
    out: dict[str, tuple[str, ...]] = {}
    known: set[str] = set()
    for position, (key, pairs) in node.entries.items():
        if control is not None and position not in control.positions:
            notes.add(key.mark, f"{what}: {control.name} has no position “{clip(position)}”",
                      did_you_mean(position, control.positions))
        found: list[str] = []
        for text in texts_of(pairs, what, notes):
            pair = _pair(text, what, notes)
            # The same contact written the other way round is still one contact.
            turned = "-".join(reversed(pair.split("-"))) if pair else ""
            pair = turned if turned in known else pair
            if pair:
                known.add(pair)
                found.append(pair)
        out[position] = tuple(dict.fromkeys(found))
    if not known:
        notes.add(node.mark, f"{what}: the switch joins nothing in any position", "write it like {on: [30-58]}")
    return out


def _pair(text: TextNode, what: str, notes: Notes) -> str | None:
    terminals = [t.strip() for t in tidy(text.text).split("-")]
    if len(terminals) != 2 or not all(terminals):
        notes.add(text.mark, f"{what}: “{clip(text.text)}” is no pair of terminals", "write it like 30-58")
        return None
    if terminals[0] == terminals[1]:
        notes.add(text.mark, f"{what}: “{clip(text.text)}” joins a terminal to itself")
        return None
    if not all(good_name(TextNode(t, text.mark, inline=False), "terminal", notes) for t in terminals):
        return None
    return "-".join(terminals)


def _steps(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> dict[str, float] | None:
    example = "write it like {bright: 0 ohm, low: 20 ohm}"
    if not isinstance(node, TableNode) or not node.entries:
        ctx.notes.add(node.mark, f"{what}: expected positions and resistances", example)
        return None
    named = fields.node("control")
    control = ctx.controls.get(tidy(named.text) if isinstance(named, TextNode) else "")
    out: dict[str, float] = {}
    for position, (key, value) in node.entries.items():
        if control is not None and position not in control.positions:
            ctx.notes.add(key.mark, f"{what}: {control.name} has no position “{clip(position)}”",
                          did_you_mean(position, control.positions))
        ohm = quantity(value, "resistance or none", f"{what}, {clip(position)}", ctx.notes)
        if ohm is not None:
            out[position] = ohm
    return out


def _terminals(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> tuple[str, ...] | None:
    names: list[str] = []
    for text in texts_of(node, what, ctx.notes):
        name = tidy(text.text)
        if not good_name(TextNode(name, text.mark, inline=False), "terminal", ctx.notes):
            return None
        if name in names or name in ("49", "49a", "31"):
            ctx.notes.add(text.mark, f"{what}: “{clip(name)}” is a terminal already", "write it like C, or [C, C2]")
            return None
        names.append(name)
    return tuple(names) or None


def _yes_no(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> bool | None:
    return yes_no(node, what, ctx.notes)


_READERS: Final[dict[str, Callable[[Node, Setting, str, Context, Fields], Any]]] = {
    "choice": _choice, "control": _control_name, "earth": _earth_name, "lamp": _lamp, "lamps": _lamps,
    "contacts": _contacts, "purposes": _purposes, "lamp purposes": _lamp_purposes, "steps": _steps,
    "terminals": _terminals, "yes or no": _yes_no,
}
