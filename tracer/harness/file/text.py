"""Harness files: text to `Harness`, with every error of a file told at once.

A file is read into a tree that knows its lines (`yaml_nodes`), overlays are laid over it entry by
entry, and only then are the entries understood: so an overlay may refer to what it does not
contain, and an entry that is replaced need not be right.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Iterable, Sequence
from typing import Final

from msgspec import Struct, field

from tracer import standards
from tracer.errors import Mark, did_you_mean
from tracer.harness.base_rates import RATES, brought
from tracer.harness.file.dump import dump_harness
from tracer.harness.file.fields import Fields, text_of, texts_of
from tracer.harness.file.names import check_devices, check_names
from tracer.harness.file.nodes import (
    ListNode,
    Node,
    Notes,
    TableNode,
    TextNode,
    clip,
    parse_yaml,
    read_text_file,
    tidy,
)
from tracer.harness.file.parts import read_parts
from tracer.harness.file.runs import WireEntry, name_wires, read_wires
from tracer.harness.file.sections import (
    Context,
    read_connectors,
    read_controls,
    read_earths,
    read_splices,
)
from tracer.harness.file.usual import Usual, read_usual
from tracer.harness.file.way_ranges import expanded
from tracer.harness.model import Harness
from tracer.harness.vehicle_kinds import IGNITIONS, TRAFFIC, VEHICLES

__all__ = ["dump_harness", "load_harness", "read_harness"]

SECTIONS: Final = ("controls", "parts", "connectors", "splices", "earths")
_ENTRY: Final = {"splices": "  S1: behind the dash", "earths": "  E1: left inner wing"}
RATES_KEY: Final = "base rates"
_HEAD: Final = ("system", "vehicle", "ignition", "traffic", "colours", "usual")
BASE_KEYS: Final = ("harness", *_HEAD, *SECTIONS, "wires", RATES_KEY)
OVERLAY_KEYS: Final = ("overlay", *_HEAD, *SECTIONS, "wires", RATES_KEY, "remove")
_SYSTEM = re.compile(r"(\d{1,2})\s*V(?:olts?)?,?\s+(negative|positive)\s+earth", re.IGNORECASE)
SYSTEMS_V: Final = (6.0, 12.0, 24.0)

Overlay = str | os.PathLike[str]


def load_harness(path: str | os.PathLike[str], overlays: Iterable[Overlay] = ()) -> Harness:
    """Read a harness file, with overlays laid over it in order.

    Raises:
        ProblemsError: Everything that is wrong in any of the files, with lines and columns.
    """
    notes = Notes()
    file = str(path)
    base = parse_yaml(read_text_file(path), file, notes)
    laid = [(str(o), parse_yaml(read_text_file(o), str(o), notes)) for o in overlays]
    return _assemble(file, base, laid, notes)


def read_harness(text: str, file: str = "harness", overlays: Iterable[tuple[str, str]] = ()) -> Harness:
    """Read a harness from its text; `file` is its name in messages, overlays are (text, name)."""
    notes = Notes()
    base = parse_yaml(text, file, notes)
    return _assemble(file, base, [(name, parse_yaml(over, name, notes)) for over, name in overlays], notes)


def read_with_wires(text: str, file: str, listed: Sequence[Node], add: bool, notes: Notes) -> Harness:
    """Read a harness with the wires of a list instead of its own, or (`add`) after its own."""
    base = parse_yaml(text, file, notes)
    if isinstance(base, TableNode):
        key, own = base.entries.get("wires", (TextNode("wires", base.mark), ListNode(base.mark)))
        kept = own.items if add and isinstance(own, ListNode) else []
        base.entries["wires"] = (key, ListNode(own.mark, [*kept, *listed]))
    return _assemble(file, base, [], notes)


class _Merged(Struct):
    """The entries of the file and its overlays, not yet understood."""

    head: dict[str, tuple[TextNode, Node]] = field(default_factory=dict)
    sections: dict[str, dict[str, tuple[TextNode, Node]]] = field(
        default_factory=lambda: {s: {} for s in SECTIONS}
    )
    wires: dict[str, WireEntry] = field(default_factory=dict)
    rates: dict[str, tuple[TextNode, Node]] = field(default_factory=dict)
    removed: set[str] = field(default_factory=set)
    unreadable: bool = False  # a whole section could not be read: names may be unknown through that


def _assemble(file: str, base: Node, overlays: list[tuple[str, Node]], notes: Notes) -> Harness:
    merged = _Merged()
    fields = _top(base, file, BASE_KEYS, notes)
    table = fields.table
    # A section under a misspelt heading is not read: its names would all be unknown.
    merged.unreadable = not fields.meant.isdisjoint(SECTIONS)
    merged.head.update({k: table.entries[k] for k in ("harness", *_HEAD) if k in table.entries})
    start = Mark(file, 1, 1)
    for key, example in (("harness", "a title"), ("system", "12 V negative earth")):
        if fields.lacks(key):
            notes.add(start, f"“{key}” is missing", f"write a line “{key}: {example}”")
    for key in ("parts", "wires"):
        if fields.lacks(key):
            notes.add(start, f"the section “{key}” is missing")
    code = _colour_code(merged, notes)
    _write_out(table, notes)
    usual = _lay(merged, table, Usual(), 1, code, notes)
    count = _wire_count(table)
    for name, node in overlays:
        laid = _top(node, name, OVERLAY_KEYS, notes)
        over = laid.table
        merged.unreadable |= not laid.meant.isdisjoint(SECTIONS)
        _overlay_head(merged, laid, code, name, notes)
        _remove(merged, over, notes)
        _write_out(over, notes)
        _lay(merged, over, usual, count + 1, code, notes, over=True)
        count += _wire_count(over)
    return _understand(file, merged, code, usual.traced, notes)


def _top(node: Node, file: str, known: tuple[str, ...], notes: Notes) -> Fields:
    if not isinstance(node, TableNode):
        notes.add(node.mark, "is not a harness file", f"it has sections: {', '.join(known)}")
        notes.raise_if_any()
        raise AssertionError("unreachable")
    if "harness" not in node.entries and "overlay" in node.entries and known is BASE_KEYS:
        notes.add(node.entries["overlay"][0].mark, "is an overlay, not a harness",
                  "give the harness file first and this one as its overlay")
        notes.raise_if_any()
    if known is OVERLAY_KEYS and "harness" in node.entries:
        notes.add(node.entries["harness"][0].mark, "is a harness, not an overlay",
                  "an overlay begins with “overlay: what differs”")
        notes.raise_if_any()
    return Fields(node, "the file", known, notes)


def _overlay_head(merged: _Merged, fields: Fields, code: str | None, file: str, notes: Notes) -> None:
    over = fields.table
    if fields.lacks("overlay"):
        notes.add(Mark(file, 1, 1), "“overlay” is missing", "write a line “overlay: what differs”")
    elif "overlay" in over.entries:
        text_of(over.entries["overlay"][1], "overlay", notes)
    said = ("system", "vehicle", "ignition", "traffic")
    merged.head.update({k: over.entries[k] for k in said if k in over.entries})
    if "colours" in over.entries:
        node = over.entries["colours"][1]
        theirs = text_of(node, "colours", notes)
        if theirs is not None and code is not None and theirs != code:
            notes.add(node.mark, f"colours: the harness uses {code or 'no colour code'}, not {clip(theirs)}")


def _lay(
    merged: _Merged, table: TableNode, usual: Usual, start: int, code: str | None, notes: Notes, over: bool = False
) -> Usual:
    """Enter the sections of one file over what is there; returns the usual values that held in it."""
    for section in SECTIONS:
        if section in table.entries:
            node = table.entries[section][1]
            if section in ("splices", "earths") and isinstance(node, ListNode):
                node = _named_only(node, section, notes)
            if isinstance(node, TableNode):
                below = merged.sections[section] if over else {}
                laid = {name: _laid_over(below.get(name), entry) for name, entry in node.entries.items()}
                if over and section == "parts":
                    _need_kinds(laid, below, notes)
                merged.sections[section].update(laid)
            elif not _blank(node):
                notes.add(node.mark, f"{section}: expected a table of names",
                          f"one line each, like “{_ENTRY.get(section, '  F1: …')}”")
                merged.unreadable = True
    if RATES_KEY in table.entries:
        node = table.entries[RATES_KEY][1]
        if isinstance(node, TableNode):
            merged.rates.update(node.entries)
        elif not _blank(node):
            notes.add(node.mark, f"{RATES_KEY}: expected a table", "one line each, like “  wire open: 0.5”")
    if "usual" in table.entries:
        usual = read_usual(table.entries["usual"][1], usual, code, notes)
    if "wires" in table.entries:
        node = table.entries["wires"][1]
        if isinstance(node, ListNode):
            merged.wires.update(name_wires(node.items, usual, start, merged.wires, notes))
        elif not _blank(node):
            notes.add(node.mark, "wires: expected a list", "each wire on a line that begins with “  - ”")
    return usual


def _laid_over(
    below: tuple[TextNode, Node] | None, entry: tuple[TextNode, Node]
) -> tuple[TextNode, Node]:
    """An entry of an overlay: what it does not write stays as in the harness, unless it states another kind."""
    key, node = entry
    old = below[1] if below else None
    if not isinstance(node, TableNode) or not isinstance(old, TableNode) or "kind" in node.entries:
        return entry
    kept = {**old.entries, **node.entries}
    if "earth at" in node.entries and "or" not in node.entries:  # who says where it is bolted has seen it
        kept.pop("or", None)
    lamps, before = (t.entries.get("lamps", (key, key))[1] for t in (node, old))
    if isinstance(lamps, TableNode) and isinstance(before, TableNode):  # lamps not named stay too
        named = {lamp for lamps_of_one in lamps.entries for lamp in _each(lamps_of_one)}
        stay = {n: e for n, e in before.entries.items() if named.isdisjoint(_each(n))}
        kept["lamps"] = (node.entries["lamps"][0], TableNode(lamps.mark, {**stay, **lamps.entries}))
    return key, TableNode(node.mark, kept)


def _each(lamps: str) -> list[str]:
    """The functions that share one glass: "stop + tail" is both."""
    return [tidy(name) for name in lamps.split("+")]


def _need_kinds(
    laid: dict[str, tuple[TextNode, Node]], below: dict[str, tuple[TextNode, Node]], notes: Notes
) -> None:
    """Note parts of an overlay that have no kind and no part of the harness to take it from."""
    for name, (key, node) in list(laid.items()):
        if name not in below and isinstance(node, TableNode) and "kind" not in node.entries:
            notes.add(key.mark, f"the harness has no part “{clip(name)}” that this could change",
                      f"{did_you_mean(name, below)}; a new part needs its kind")
            del laid[name]


def _named_only(node: ListNode, section: str, notes: Notes) -> TableNode:
    """A list of names, none with a place, as the table that it stands for."""
    table = TableNode(node.mark)
    for text in texts_of(node, section, notes):
        if tidy(text.text) in table.entries:
            notes.add(text.mark, f"{section}: “{clip(text.text)}” is written twice")
        table.entries[tidy(text.text)] = (text, TextNode("", text.mark))
    return table


def _blank(node: Node) -> bool:
    return isinstance(node, TextNode) and not node.text.strip()


def _write_out(table: TableNode, notes: Notes) -> None:
    """Write out the lines that stand for several wires."""
    key, node = table.entries.get("wires", (None, None))
    if key is not None and isinstance(node, ListNode):
        table.entries["wires"] = (key, expanded(node, notes))


def _wire_count(table: TableNode) -> int:
    node = table.entries["wires"][1] if "wires" in table.entries else None
    return len(node.items) if isinstance(node, ListNode) else 0


def _remove(merged: _Merged, over: TableNode, notes: Notes) -> None:
    if "remove" not in over.entries:
        return
    for text in texts_of(over.entries["remove"][1], "remove", notes):
        name = tidy(text.text)
        tables: list[dict[str, WireEntry] | dict[str, tuple[TextNode, Node]]] = [
            merged.wires, *merged.sections.values()
        ]
        holding = [t for t in tables if name in t]
        for holder in holding:
            del holder[name]
            merged.removed.add(name)
        if not holding:
            known = [n for t in tables for n in t]
            notes.add(text.mark, f"remove: the harness has no “{clip(name)}”", did_you_mean(name, known))


def _colour_code(merged: _Merged, notes: Notes) -> str | None:
    """The colour code; "" if none is stated, None if the statement was noted as wrong."""
    entry = merged.head.get("colours")
    if entry is None:
        return ""
    text = text_of(entry[1], "colours", notes)
    if text is not None and text not in standards.COLOUR_CODES:
        notes.add(entry[1].mark, f"colours: no colour code “{clip(text)}”",
                  "choose " + " or ".join(standards.COLOUR_CODES))
        return None
    return text


def _system(merged: _Merged, notes: Notes) -> tuple[float, bool]:
    entry = merged.head.get("system")
    text = text_of(entry[1], "system", notes) if entry else None
    if entry is None or text is None:
        return 12.0, False
    match = _SYSTEM.fullmatch(text)
    if match is None or float(match.group(1)) not in SYSTEMS_V:
        notes.add(entry[1].mark, f"system: “{clip(text)}” is not understood",
                  "6 V, 12 V or 24 V, then “negative earth” or “positive earth”")
        return 12.0, False
    return float(match.group(1)), match.group(2).lower() == "positive"


def _vehicle(merged: _Merged, notes: Notes) -> tuple[str, ...]:
    entry = merged.head.get("vehicle")
    if entry is None:
        return ()
    found: list[str] = []
    for text in texts_of(entry[1], "vehicle", notes):
        kind = tidy(text.text)
        if kind not in VEHICLES:
            notes.add(text.mark, f"vehicle: no kind “{clip(kind)}”", did_you_mean(kind, VEHICLES))
        found.append(kind)
    if not found and isinstance(entry[1], TextNode):
        notes.add(entry[1].mark, "vehicle: nothing is written here", "one or more of " + ", ".join(VEHICLES))
    return tuple(dict.fromkeys(found))


def _one_of(key: str, known: Collection[str], merged: _Merged, notes: Notes) -> str:
    entry = merged.head.get(key)
    text = text_of(entry[1], key, notes) if entry else None
    if entry is not None and text is not None and text not in known:
        notes.add(entry[1].mark, f"{key}: “{clip(text)}” is not known", did_you_mean(text, known))
    return text or ""


def _rates(merged: _Merged, notes: Notes) -> dict[str, float]:
    out: dict[str, float] = {}
    for kind, (key, node) in merged.rates.items():
        if kind not in RATES:
            notes.add(key.mark, f"{RATES_KEY}: no kind of fault “{clip(kind)}”", did_you_mean(kind, RATES))
        text = text_of(node, f"{RATES_KEY}, {clip(kind)}", notes)
        if text is None:
            continue
        if re.fullmatch(r"\d{1,4}(?:[.,]\d{1,9})?", text, re.ASCII):
            out[kind] = float(text.replace(",", "."))
        else:
            hint = f"usual: {brought(kind):g}" if kind in RATES else None
            notes.add(node.mark, f"{RATES_KEY}, {clip(kind)}: “{clip(text)}” is not a number from 0 to 9999", hint)
    return out


def _understand(file: str, merged: _Merged, code: str | None, parts_traced: bool, notes: Notes) -> Harness:
    title = text_of(merged.head["harness"][1], "harness", notes) if "harness" in merged.head else None
    system_v, positive_earth = _system(merged, notes)
    ctx = Context(notes, system_v, positive_earth, removed=merged.removed, parts_traced=parts_traced)
    vehicle, ignition = _vehicle(merged, notes), _one_of("ignition", IGNITIONS, merged, notes)
    traffic = _one_of("traffic", TRAFFIC, merged, notes)
    read_controls(merged.sections["controls"], ctx)
    read_connectors(merged.sections["connectors"], ctx)
    read_splices(merged.sections["splices"], ctx)
    read_earths(merged.sections["earths"], ctx)
    read_parts(merged.sections["parts"], ctx)
    check_names(merged.sections, ctx)
    if merged.unreadable:
        notes.raise_if_any()  # every run would name something unknown: that would only bury the cause
    rates = _rates(merged, notes)
    wires, joints = read_wires(list(merged.wires.values()), code, ctx)
    if not notes.problems:
        check_devices(joints, ctx)  # what has the same name at a higher level was noted already
    notes.raise_if_any()
    return Harness(
        title or "", system_v, positive_earth, code or "", ctx.controls, ctx.parts, ctx.connectors,
        ctx.splices, ctx.earths, wires, joints, rates, file, vehicle, ignition,
        traffic,
    )
