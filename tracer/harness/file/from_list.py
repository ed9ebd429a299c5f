"""A new harness from a wire list alone: every wire, and every part that the wires name, its values to be filled in.

What a part is shows in the names of its terminals. What cannot be known from a list of wires (a fuse's
rating, which terminals a switch joins) is left as a word that the check then asks for, line by line.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping
from typing import Final

from tracer.errors import Problem, ProblemsError
from tracer.harness.file.dump import PLAIN, RUN_PLAIN, plain_or_quoted
from tracer.harness.file.fields import quantity
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, tidy
from tracer.harness.file.runs import split_point
from tracer.harness.file.vague_ends import with_terminals
from tracer.harness.file.wire_list import MEASURED, MOST_PROBLEMS, read_wire_list
from tracer.harness.part_kinds import KINDS

TO_FILL_IN: Final = "to fill in"
_EARTH: Final = re.compile(r"E\d+[a-z]?|31|(.*\b)?(earth|ground|gnd|chassis|body)(\b.*)?", re.IGNORECASE)
_SPLICE: Final = re.compile(r"S\d|.*\b(splice|joint)", re.IGNORECASE)
_FUSE: Final = re.compile(r"F\d+|.*\bfuse\b.*", re.IGNORECASE)
_TELL_TALE: Final = re.compile(r"[CP]\d?|P[LR]")
_SPLICES: Final = (
    "# A name without a terminal is taken for a splice. If it is a part (a fuse, a lamp), give it its kind and",
    "# its wires a terminal each: F1.in, F1.out, lamp.feed.",
)
_NO_WAYS: Final = frozenset(("30", "49", "85", "86"))  # terminals of DIN 72552: a switch, a flasher unit, a relay
# Kind by its terminals: all that may be there, one that must be, and what is left to fill in.
_KINDS: Final[tuple[tuple[str, frozenset[str], frozenset[str], str], ...]] = (
    ("battery", frozenset("+-"), frozenset("+-"), ""),
    ("fuse", frozenset(("in", "out")), frozenset(("in", "out")), f"rating: {TO_FILL_IN}"),
    ("lamp", frozenset(("feed", "earth")), frozenset(("feed",)), f"lamp: {TO_FILL_IN}"),
    ("diode", frozenset(("anode", "cathode")), frozenset(("anode", "cathode")), ""),
    ("resistor", frozenset("ab"), frozenset("ab"), f"resistance: {TO_FILL_IN}"),
)


def _note_points(
    run: TextNode, owners: dict[str, dict[str, None]], places: dict[str, None], notes: Notes
) -> None:
    """Adds the points of one run: terminals to their owners, names without one to the places."""
    offset = 0
    for raw in run.text.split(">"):
        owner, dot, terminal = split_point(raw)
        if not owner or (dot and not terminal) or not set(owner + terminal).isdisjoint("/',."):
            notes.add(run.mark_at(offset + 1), f"“{tidy(raw)}” is no point of a run",
                      "write part.terminal, connector.way, or the name of a splice or an earth point")
        elif dot:
            owners.setdefault(owner, {})[terminal] = None
        else:
            places[owner] = None
        offset += len(raw) + 1


def harness_from_list(
    listed: str, list_file: str, title: str, system: str, earth: str, colours: str | None = None,
    ends: Mapping[str, str] | None = None,
) -> tuple[str, tuple[str, ...]]:
    """The text of a harness file with all wires of a CSV list, and the headings that were not read.

    `ends`: what each name without a terminal is (`vague_ends.END_KINDS`); one of which nothing is said is a splice
    or, where its name or its wires say so, an earth.

    Raises:
        ProblemsError: Every row that cannot be a wire of any harness, with its reason.
    """
    notes = Notes(MOST_PROBLEMS)
    rows = read_wire_list(listed, list_file, notes)
    kinds = {name: kind for name, kind in (ends or {}).items() if kind}
    ways: dict[str, int] = {}
    if not rows.wires and not notes.problems:
        raise ProblemsError([Problem("the list has a heading and no rows", file=list_file)])
    owners: dict[str, dict[str, None]] = {}  # part or connector → its terminals
    places: dict[str, None] = {}  # what has no terminals
    lines: list[str] = []
    earthed: set[str] = set()
    pole = "+" if earth == "positive" else "-"
    coloured = False
    for position, node in enumerate(rows.wires, 1):
        assert isinstance(node, TableNode)
        run = node.entries["run"][1]
        assert isinstance(run, TextNode)
        if kinds:
            run = TextNode(with_terminals(run.text, kinds, ways), run.mark, inline=False)
            node.entries["run"] = (node.entries["run"][0], run)
        _note_points(run, owners, places, notes)
        outer = [split_point(run.text.split(">")[i]) for i in (0, -1)]
        # What an earth terminal or the battery's earthed pole goes to is an earth, unless it is named as a splice.
        earthed |= {one[0] for one, other in (outer, outer[::-1])
                    if other[2] in (pole, "earth", "31") and not one[1] and not _SPLICE.match(one[0])}
        coloured = coloured or "colour" in node.entries
        said = {key: _said(key, value, notes) for key, (_, value) in node.entries.items()}
        if said.get("name") == f"w{position}":
            del said["name"]
        lines.append("  - {" + ", ".join(f"{key}: {text}" for key, text in said.items()) + "}")
    notes.raise_if_any()
    head = [
        f"# From the wire list {list_file}: where it says “{TO_FILL_IN}”, only the paper diagram knows more.",
        f"harness: {plain_or_quoted(title)}", f"system: {system} {earth} earth",
        *([f"colours: {colours or TO_FILL_IN}"] if coloured or colours else []),
        f"controls:   # what a person operates, its positions: light switch: [off, on]; each is {TO_FILL_IN}",
        *_things(owners, places, earthed, kinds), "wires:",
    ]
    return "\n".join([*head, *lines]) + "\n", rows.unread


def _things(
    owners: Mapping[str, Mapping[str, None]], places: Iterable[str], earthed: Container[str], kinds: Mapping[str, str]
) -> list[str]:
    """The sections of parts, connectors, splices and earths."""
    connectors = {o: max(map(int, t)) for o, t in owners.items() if all(map(_is_way, t)) and not _NO_WAYS & set(t)}
    parts = {o: t for o, t in owners.items() if o not in connectors}
    named = [p for p in places if p not in owners]
    blocks = [p for p in named if kinds.get(p) == "bullets"]
    splices = [p for p in named if kinds.get(p) == "splice"
               or (p not in kinds and not _EARTH.fullmatch(p) and p not in earthed)]
    return [
        "parts:",
        *(f"  {plain_or_quoted(o)}: {_part(o, tuple(t), kinds.get(o, ''))}" for o, t in parts.items()),
        *_section("connectors", [*(f"{plain_or_quoted(o)}: {{ways: {n}}}" for o, n in connectors.items()),
                                 *(f"{plain_or_quoted(b)}: bullets" for b in blocks)]),
        *(_SPLICES if any(s not in kinds for s in splices) else ()),
        *_section("splices", [f"{plain_or_quoted(s)}:" for s in splices]),
        *_section("earths", [f"{plain_or_quoted(e)}:" for e in named if e not in (*splices, *blocks)]),
    ]


def _is_way(terminal: str) -> bool:
    return terminal.isascii() and terminal.isdigit() and 0 < int(terminal[:4]) <= 200


def _section(name: str, entries: list[str]) -> list[str]:
    return [f"{name}:", *(f"  {e}" for e in entries)] if entries else []


def _said(key: str, node: Node, notes: Notes) -> str:
    """A value of a wire as it is written; quantities are tried at once, so that the row is told."""
    if isinstance(node, ListNode):
        return "[" + ", ".join(_said(key, n, notes) for n in node.items) + "]"
    assert isinstance(node, TextNode)
    if key not in MEASURED:
        return plain_or_quoted(node.text, RUN_PLAIN if key == "run" else PLAIN)
    quantity(node, MEASURED[key], key, notes)
    return plain_or_quoted(node.text.replace(",", "."))


def _relay(used: set[str]) -> str:
    """What distinguishes a relay by its contacts' numbers."""
    if used & {"88", "88a"}:
        return ", numbering: DIN 72552"
    if "87b" in used:
        return ", numbering: DIN 72552, contacts: change-over"
    if "87a" in used:
        return ", contacts: change-over" if "87" in used else ", contacts: break"
    return ""


def _part(name: str, terminals: tuple[str, ...], said: str = "") -> str:
    """The entry of a part whose terminals are known; `said`: its kind, where somebody told it."""
    used = set(terminals)
    if said in KINDS:
        return _to_fill_in(said, terminals)
    if {"49", "49a"} <= used and all(_TELL_TALE.fullmatch(t) for t in used - {"49", "49a", "31"}):
        more = "earth: yes" if "31" in used else ""
        tell_tales = ", ".join(t for t in terminals if t not in ("49", "49a", "31"))
        more += (", " if more and tell_tales else "") + (f"tell-tale: [{tell_tales}]" if tell_tales else "")
        return f"{{kind: flasher unit{', ' + more if more else ''}}}"
    if {"85", "86"} <= used:
        return f"{{kind: relay{_relay(used)}}}"
    for kind, most, least, more in _KINDS:
        if kind == "fuse" and not _FUSE.fullmatch(name):
            continue  # a switch may have an in and an out as well
        if used <= most and least & used:
            return f"{{kind: {kind}{', ' + more if more else ''}}}"
    if "earth" in used:
        lamps = ", ".join(f"{plain_or_quoted(t)}: {TO_FILL_IN}" for t in terminals if t != "earth")
        return f"{{kind: lamp unit, lamps: {{{lamps}}}}}"
    return _to_fill_in("switch", terminals)


def _to_fill_in(kind: str, terminals: tuple[str, ...]) -> str:
    """The entry of a part of a kind, with what its row requires; beside contacts, the terminals that they join."""
    required = {key: setting.type for key, setting in KINDS[kind].settings.items() if setting.required}
    beside = f"   # terminals {', '.join(terminals)}" if "contacts" in required.values() else ""
    return f"{{kind: {kind}{''.join(f', {key}: {TO_FILL_IN}' for key in required)}}}{beside}"
