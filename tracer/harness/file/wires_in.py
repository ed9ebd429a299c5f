"""Laying a wire list into the text of a harness file: only the wires change, all other lines stay as typed."""

from __future__ import annotations

from tracer.errors import Problem, ProblemsError, TracerError
from tracer.harness.file.dump import dump_wire
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, parse_yaml, tidy
from tracer.harness.file.text import read_harness, read_with_wires
from tracer.harness.file.usual import BY_LOOM
from tracer.harness.file.way_ranges import expanded
from tracer.harness.file.wire_list import MOST_PROBLEMS, read_wire_list
from tracer.harness.model import Harness


def lay_in(
    text: str, file: str, listed: str, list_file: str, add: bool = False
) -> tuple[str, Harness, tuple[str, ...]]:
    """The text of a harness file with the wires of a list instead of its own.

    Args:
        text, file: The harness file and its name in messages.
        listed, list_file: The CSV text and its name in messages.
        add: Keep the harness's own wires and write those of the list after them.

    Returns:
        The new text, the harness it describes, and the headings of columns that were not read.

    Raises:
        ProblemsError: Every row that cannot be a wire of this harness, with its reason, and whatever is
            wrong in the harness file itself.
        TracerError: The harness file is not written as lines that could be exchanged.
    """
    notes = Notes(MOST_PROBLEMS)
    rows = read_wire_list(listed, list_file, notes)
    if notes.problems and not rows.wires:
        notes.raise_if_any()
    if not rows.wires:
        raise ProblemsError([Problem("the list has a heading and no rows", file=list_file)])
    harness = read_with_wires(text, file, rows.wires, add, notes)
    root = parse_yaml(text, file, Notes())
    assert isinstance(root, TableNode)
    new = _exchange(text, root, harness, add)
    again = read_harness(new, file)
    if again != harness:
        raise TracerError(f"{file}: the wires could not be laid in", "write its sections one below the other")
    return new, again, rows.unread


def _usual(root: TableNode, loom: str | None) -> dict[str, str]:
    """What the file calls usual in a loom, as typed: a wire need not repeat it."""
    node = root.entries.get("usual", (None, None))[1]
    if not isinstance(node, TableNode):
        return {}
    looms = node.entries.get(BY_LOOM, (None, None))[1]
    own = looms.entries.get(loom or "", (None, None))[1] if isinstance(looms, TableNode) else None
    tables = [t for t in (node, own) if isinstance(t, TableNode)]
    return {k: tidy(v.text) for t in tables for k, (_, v) in t.entries.items() if isinstance(v, TextNode)}


def _exchange(text: str, root: TableNode, harness: Harness, add: bool) -> str:
    """The text with the lines of the section “wires” exchanged, or with lines added at its end."""
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = text.splitlines()
    starts = sorted(key.mark.line for key, _ in root.entries.values())
    if any(key.mark.column != 1 for key, _ in root.entries.values()) or len(set(starts)) < len(starts):
        raise TracerError(f"{harness.file}: the sections do not stand one below the other, each at the left edge",
                          "write them so, and the wires can be exchanged")
    section = root.entries.get("wires")
    if section is None:
        head, tail = [*lines, "wires:"], []
    else:
        first = section[0].mark.line
        after = next((n for n in starts if n > first), len(lines) + 1)
        while after - 1 > first and (not lines[after - 2].strip() or lines[after - 2].lstrip().startswith("#")):
            after -= 1  # comments above the next section belong to it
        head, tail = lines[: first - 1], lines[after - 1 :]
        own = section[1]
        if add and isinstance(own, ListNode) and own.items and own.mark.line > first:
            indent, kept = " " * (own.mark.column - 1), len(expanded(own, Notes()).items)
            head += lines[first - 1 : after - 1]
            return _joined(head, harness, kept, indent, root, tail, ending)
        head.append(lines[first - 1] if _bare(own) or own.mark.line > first else "wires:")
    return _joined(head, harness, 0, "  ", root, tail, ending)


def _bare(node: Node) -> bool:
    return isinstance(node, TextNode) and not node.text


def _joined(
    head: list[str], harness: Harness, kept: int, indent: str, root: TableNode, tail: list[str], ending: str
) -> str:
    new = [f"{indent}- {dump_wire(w, i, _usual(root, w.loom))}" for i, w in enumerate(harness.wires, 1) if i > kept]
    return ending.join([*head, *new, *tail]) + ending
