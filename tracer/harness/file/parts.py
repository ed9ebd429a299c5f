"""The parts of a harness file: each entry by its kind, each setting by the reader of its type."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from tracer.errors import TracerError, did_you_mean
from tracer.harness.built_parts import Built, Kind, Setting, coil_missing, for_positive_earth
from tracer.harness.file.fields import (
    LIMITS,
    Fields,
    good_name,
    quantity,
    text_of,
    texts_of,
    yes_no,
)
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.harness.file.sections import Context, Items
from tracer.harness.lamp_laws import MAX_LAMP_W, lamp_laws
from tracer.harness.lamp_purposes import PURPOSES
from tracer.harness.model import Part
from tracer.harness.part_kinds import KINDS
from tracer.units import ambiguous

COMMON_KEYS: Final = ("kind", "place", "access", "also", "traced")


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
    traced = fields.yes_no("traced") if fields.node("traced") is not None else ctx.parts_traced
    if settings is None or len(notes.problems) > before:
        return None
    try:
        built: Built = kind.build(name, settings, ctx.system_v)
    except TracerError as error:
        notes.add(key.mark, clip(error.message, 120), error.hint)
        return None
    astray = coil_missing(built)
    if astray is not None:  # a slip of the builder, which would end in the solver as a name that is not known
        notes.add(key.mark, f"{clip(name)}: its contact “{astray[0]}” names a coil “{astray[1]}” that is not in it",
                  did_you_mean(astray[1], [d.name for d in built.devices]))
        return None
    if ctx.positive_earth:
        built = for_positive_earth(built)
    return Part(name, kind_name, built.terminals, built.devices, place, access, also, settings, key.mark, traced)


def _settings(name: str, kind: Kind, fields: Fields, ctx: Context) -> dict[str, Any] | None:
    out: dict[str, Any] = {}
    complete = True
    for key, setting in kind.settings.items():
        what = f"{clip(name)}, {key}"
        if setting.type not in SETTING_TYPES:  # a slip in the row of its kind, written in this file or not
            fields.notes.add(fields.table.mark, *no_such_type(what, setting))
            complete = False
            continue
        node = fields.node(key)
        if node is None:
            out[key] = setting.default
            if setting.required and fields.lacks(key):
                fields.notes.add(fields.table.mark, f"{clip(name)}: “{key}” is missing", setting.means or None)
            complete = complete and not setting.required
            continue
        reader = _READERS.get(setting.type)
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


def _earth_names(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> tuple[str, ...] | None:
    """The earth points to which a part may be bolted instead of that which its file gives; an overlay that knows
    better writes an empty list."""
    filed = fields.node("earth at")
    texts = texts_of(node, what, ctx.notes)
    if texts and filed is None:
        ctx.notes.add(node.mark, f"{what}: goes with “earth at”", "write it like {earth at: E2, or: E5}")
        return None
    names = [_earth_name(t, setting, what, ctx, fields) for t in texts]
    for text in texts:
        if isinstance(filed, TextNode) and tidy(text.text) == tidy(filed.text):
            ctx.notes.add(text.mark, f"{what}: “{clip(text.text)}” is where “earth at” has it", "name another")
    return tuple(dict.fromkeys(n for n in names if n is not None))


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
    known = _lamps_named(fields)
    out: dict[str, tuple[str, ...]] = {}
    for name, (key, said) in node.entries.items():
        if known and name not in known:
            ctx.notes.add(key.mark, f"{what}: the unit has no lamp “{clip(name)}”", did_you_mean(name, known))
        out[name] = _purposes(said, setting, f"{what}, {clip(name)}", ctx, fields) or ()
    return out


def _lamps_named(fields: Fields) -> list[str]:
    """Names of the lamps of a unit, as far as they are written."""
    lamps = fields.node("lamps")
    return [n.strip() for names in lamps.entries for n in names.split("+")] if isinstance(lamps, TableNode) else []


def _lamp_terminals(
    node: Node, setting: Setting, what: str, ctx: Context, fields: Fields
) -> dict[str, str] | None:
    """The earth terminal of each lamp that has its own."""
    notes, known = ctx.notes, _lamps_named(fields)
    if not isinstance(node, TableNode) or not node.entries:
        notes.add(node.mark, f"{what}: expected lamps and terminals", "write it like {indicator: earth 2}")
        return None
    out: dict[str, str] = {}
    for lamp, (key, value) in node.entries.items():
        terminal = tidy(text_of(value, f"{what}, {clip(lamp)}", notes) or "")
        if known and lamp not in known:
            notes.add(key.mark, f"{what}: the unit has no lamp “{clip(lamp)}”", did_you_mean(lamp, known))
        elif terminal in known:
            notes.add(value.mark, f"{what}: “{clip(terminal)}” is the feed of a lamp", "call it earth 2, say")
        elif terminal and good_name(TextNode(terminal, value.mark, inline=False), "terminal", notes):
            out[lamp] = terminal
    return out or None


def _outputs(node: Node, setting: Setting, what: str, ctx: Context, fields: Fields) -> dict[str, str] | None:
    """What each output of an electronic unit follows."""
    notes = ctx.notes
    if not isinstance(node, TableNode) or not node.entries:
        notes.add(node.mark, f"{what}: expected outputs and their inputs", "write it like {54: stop in}")
        return None
    out: dict[str, str] = {}
    for output, (key, value) in node.entries.items():
        source = tidy(text_of(value, f"{what}, {clip(output)}", notes) or "")
        for name, mark in ((output, key.mark), (source, value.mark)):
            good_name(TextNode(name, mark, inline=False), "terminal", notes)
            if name in ("30", "31"):
                notes.add(mark, f"{what}: “{name}” is the unit’s own feed or earth", "give it another name")
        if source in node.entries:
            notes.add(value.mark, f"{what}: “{clip(source)}” is an output", "an output follows an input")
        out[output] = source
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
    "choice": _choice, "control": _control_name, "earth": _earth_name, "earths": _earth_names,
    "lamp": _lamp, "lamps": _lamps, "contacts": _contacts, "purposes": _purposes, "lamp purposes": _lamp_purposes,
    "lamp terminals": _lamp_terminals, "outputs": _outputs, "steps": _steps,
    "terminals": _terminals, "yes or no": _yes_no,
}
# What the type of a setting may be; “text” is read as it stands.
SETTING_TYPES: Final = frozenset((*_READERS, *LIMITS, "text"))


def no_such_type(what: str, setting: Setting) -> tuple[str, str | None]:
    """What is said of a setting whose row misspells its type, and the nearest."""
    return f"{what}: no setting has the type “{setting.type}”", did_you_mean(setting.type, sorted(SETTING_TYPES))
