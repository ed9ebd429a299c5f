"""Ranges of ways: one line for the wires of a ribbon, `C1.3-6 > C2.1-4`, as many wires as the ranges have ways."""

from __future__ import annotations

import re
from typing import Final

from tracer.errors import Mark
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip

_RANGE: Final = re.compile(r"(?<=[./])\s*(\d{1,3})\s*(?:-|–|\.\.|to)\s*(\d{1,3})(?=\s*(?:>|$))")
_MOST: Final = 200
_EACH: Final = ("colour",)  # a list of these has one for each wire


def expanded(wires: ListNode, notes: Notes) -> ListNode:
    """The wires with every range written out; what cannot be is noted and left out."""
    out: list[Node] = []
    for node in wires.items:
        run = node if isinstance(node, TextNode) else _entry(node, "run")
        if isinstance(run, TextNode) and _RANGE.search(run.text):
            out += _wires(node, run, notes)
        else:
            out.append(node)
    return ListNode(wires.mark, out)


def _entry(node: Node, key: str) -> Node | None:
    return node.entries[key][1] if isinstance(node, TableNode) and key in node.entries else None


def _wires(node: Node, run: TextNode, notes: Notes) -> list[Node]:
    """The wires of one line; none where its ranges do not fit."""
    found = [(m, _ways(m)) for m in _RANGE.finditer(run.text)]
    counts = {len(ways) for _, ways in found}
    if len(counts) > 1:
        told = " and ".join(f"{m.group().strip()} has {len(ways)}" for m, ways in found)
        second = run.mark_at(found[1][0].start())
        return _refuse(second, f"the ranges of one line have as many ways each: {told}", notes)
    count = counts.pop()
    if count > _MOST:
        return _refuse(run.mark_at(found[0][0].start()), f"{count} wires in one line, at most {_MOST}", notes)
    texts = []
    for i in range(count):
        at, text = 0, ""
        for m, ways in found:
            text, at = text + run.text[at : m.start()] + str(ways[i]), m.end()
        texts.append(text + run.text[at:])
    colours = _entry(node, "colour")
    if isinstance(colours, ListNode) and len(colours.items) != count:
        return _refuse(colours.mark, f"{len(colours.items)} colours for {count} wires", notes)
    return [_one(node, run, text, i) for i, text in enumerate(texts)]


def _ways(match: re.Match[str]) -> list[int]:
    first, last = int(match[1]), int(match[2])
    return list(range(first, last + 1)) if first <= last else list(range(first, last - 1, -1))


def _refuse(mark: Mark, message: str, notes: Notes) -> list[Node]:
    notes.add(mark, f"{clip(message, 120)}", "write a line for each wire, like C1.3 > C2.1")
    return []


def _one(node: Node, run: TextNode, text: str, number: int) -> Node:
    """The line of one wire. Only the first keeps a name: the others are numbered after it."""
    written = TextNode(text, run.mark, inline=False)
    if not isinstance(node, TableNode):
        return written
    entries = {**node.entries, "run": (node.entries["run"][0], written)}
    for key in _EACH:
        value = _entry(node, key)
        if isinstance(value, ListNode):
            entries[key] = (node.entries[key][0], value.items[number])
    name = _entry(node, "name")
    if isinstance(name, TextNode) and number:
        entries["name"] = (node.entries["name"][0], TextNode(f"{name.text} {number + 1}", name.mark, inline=False))
    return TableNode(node.mark, entries)
