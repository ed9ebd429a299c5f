"""Wire lists as tables: CSV text to wires of a harness file and back, one row a conductor.

The rows become the same nodes that the lines of a harness file become, with the row and the number of the
cell for their place: whatever the reader finds wrong is told at its row.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct

from tracer.errors import Mark, did_you_mean
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.harness.file.usual import loom_bends
from tracer.harness.model import Harness, Wire
from tracer.units import ambiguous, unit_names

# Key of the column, other headings it may have. The order is that of an exported list.
COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "wire": ("name", "wire name", "no", "no.", "number"),
    "from": ("start",),
    "from terminal": (),
    "through": ("via", "ways"),
    "to": ("end",),
    "to terminal": (),
    "size": ("section", "cross-section", "cross section", "csa"),
    "colour": ("color", "wire colour", "wire color"),
    "length": (),
    "loom": (),
    "temperature": ("temp",),
    "flexes": (),
    "traced": (),
    "or": ("alternative", "alternatives"),
}
_UNSURE: Final = ("traced", "or")  # columns of lists in which some wire is not known for sure
MEASURED: Final = {"size": "section", "length": "length", "temperature": "temperature"}
_UNITS: Final = {"size": "mm²", "length": "m", "temperature": "°C"}
SEPARATORS: Final = (",", ";", "\t")
_FORMULA: Final = re.compile(r"'*[=+\-@]")
_NUMBER: Final = re.compile(r"-?[0-9]+(?:[.,][0-9]+)?")
_HEADING_WITHIN: Final = 10  # rows above the heading are titles
MOST_PROBLEMS: Final = 10_000  # every rejected row is to be named


class RunNode(TextNode, frozen=True):
    """A run put together from the cells of a row: each point keeps its cell."""

    marks: tuple[tuple[int, Mark], ...] = ()

    def mark_at(self, offset: int) -> Mark:
        return next((mark for start, mark in reversed(self.marks) if start <= offset), self.mark)


class WireList(Struct, frozen=True):
    """The rows of a list as wires of a harness file; `unread` are headings of no known column."""

    wires: tuple[Node, ...]
    unread: tuple[str, ...]


# --- out --------------------------------------------------------------------------------------


def wire_list_text(harness: Harness, semicolons: bool = False) -> str:
    """The wires of a harness as CSV.

    Args:
        semicolons: Between the cells, with decimal commas, as spreadsheets of half Europe want it.
    """
    unsure = any(not w.traced or w.others for w in harness.wires)
    bends = any(w.flexes != loom_bends(w.loom) for w in harness.wires)  # else the names of the looms say it
    keys = [key for key in COLUMNS if not key.endswith("terminal") and (unsure or key not in _UNSURE)
            and (bends or key != "flexes")]
    heading = [f"{key} {_UNITS[key]}" if key in _UNITS else key for key in keys]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if semicolons else ",", lineterminator="\n")
    writer.writerow(heading)
    for wire in harness.wires:
        row = _row(wire, "," if semicolons else ".")
        writer.writerow([row[key] for key in keys])
    return out.getvalue()


def _row(wire: Wire, point: str) -> dict[str, str]:
    """The cells of a wire by the keys of their columns."""

    def number(value: float) -> str:
        text = (f"{value:.0f}" if value == int(value) else repr(value)).replace(".", point)
        return f"{text}0" if ambiguous(text) else text  # "1,125" might be thousands, "1,1250" is not

    through = " > ".join(wire.run[1:-1])
    if re.search("[,;]", through) and ">" not in through:
        through += " >"  # a name with a comma is one point, not two
    lengths = [s.length_m for s in wire.segments]
    equal = [wire.length_m / len(lengths)] * len(lengths) == lengths
    cells = {
        "wire": wire.name, "from": wire.run[0], "through": through, "to": wire.run[-1],
        "size": number(wire.section_mm2), "colour": wire.colour,
        "length": number(wire.length_m) if equal else " > ".join(map(number, lengths)), "loom": wire.loom or "",
        "temperature": number(wire.celsius), "flexes": "yes" if wire.flexes else "no",
        "traced": "yes" if wire.traced else "no", "or": ", ".join(" > ".join(run) for run in wire.others),
    }
    return {key: _harmless(cell) for key, cell in cells.items()}


def _harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before it, as spreadsheets mark a text."""
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


def _as_meant(cell: str) -> str:
    """A cell without the apostrophe that marks it as a text."""
    return cell[1:] if _FORMULA.match(cell) and cell.startswith("'") else cell


# --- in ---------------------------------------------------------------------------------------


def read_wire_list(text: str, file: str, notes: Notes) -> WireList:
    """The wires of a CSV text. Cells are separated by commas, semicolons or tabs, whichever makes sense of
    the heading; the order of the columns does not matter. What is wrong is noted with row and cell."""
    text = text.removeprefix("\ufeff")
    for separator in sorted(SEPARATORS, key=text.count, reverse=True):
        rows = list(_rows(text, file, separator, Notes(MOST_PROBLEMS)))
        if any(_heads(cells) for _, cells in rows[:_HEADING_WITHIN]):
            return _read(text, file, separator, notes)
    notes.add(Mark(file, 1, 1), "no heading with the columns “from” and “to” was found",
              f"the first row names the columns: {', '.join(COLUMNS)}; only from and to are needed")
    return WireList((), ())


def _heads(cells: Sequence[str]) -> bool:
    return {"from", "to"} <= {key for key, _ in map(_column, cells)}


def _rows(text: str, file: str, separator: str, notes: Notes) -> Iterator[tuple[int, list[str]]]:
    """Line and cells of every row that is not blank."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = [_as_meant(tidy(cell)) for cell in next(reader)]
        except StopIteration:
            return
        except csv.Error as error:
            notes.add(Mark(file, line, 1), f"this row cannot be read: {error}",
                      "a quotation mark is not closed, or stands inside a cell and must be doubled")
            return
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            yield line, cells


def _column(heading: str) -> tuple[str, str]:
    """The key of a column and the unit that its heading states: "Size (mm²)"."""
    words = tidy(heading).lower()
    if words in ("mm²", "mm2", "awg"):
        return "size", "AWG" if words == "awg" else "mm²"
    for key, others in COLUMNS.items():
        for name in (key, *others):
            if words == name:
                return key, ""
            if key in MEASURED and words.startswith(name):
                said = words.removeprefix(name).strip(" ()[],:/").removeprefix("in ").strip()
                units = {u.lower(): u for u in unit_names(MEASURED[key])}
                if key == "size":
                    units["awg"] = "AWG"
                if said in units:
                    return key, units[said]
    return "", ""


def _read(text: str, file: str, separator: str, notes: Notes) -> WireList:
    columns: list[tuple[str, str]] = []
    unread: list[str] = []
    wires: list[Node] = []
    for line, cells in _rows(text, file, separator, notes):
        if not columns:
            if not _heads(cells):
                continue  # a title above the table
            columns = [_column(cell) for cell in cells]
            unread = [cell for cell, (key, _) in zip(cells, columns, strict=True) if cell and not key]
            keys = [key for key, _ in columns if key]
            for number, (key, _) in enumerate(columns, 1):
                if key and key in [k for k, _ in columns[: number - 1]]:
                    notes.add(Mark(file, line, number), f"the column “{key}” stands there twice", "leave one out")
            if len(set(keys)) < len(keys):
                return WireList((), ())
            continue
        if len(cells) > len(columns):
            hint = "a decimal comma needs quotes where commas separate the cells, or write a decimal point"
            notes.add(Mark(file, line, len(columns) + 1), f"{len(cells)} cells for {len(columns)} columns",
                      hint if separator == "," else "is there a separator too many?")
            continue
        wire = _wire(file, line, cells, columns, notes)
        if wire is not None:
            wires.append(wire)
    return WireList(tuple(wires), tuple(unread))


def _wire(
    file: str, line: int, cells: Sequence[str], columns: Sequence[tuple[str, str]], notes: Notes
) -> TableNode | None:
    """A row as the table that the same wire is in a harness file."""
    row = {
        key: (TextNode(text, Mark(file, line, number), inline=False), unit)
        for number, (text, (key, unit)) in enumerate(zip(cells, columns, strict=False), 1) if key and text
    }
    place = {key: Mark(file, line, number) for number, (key, _) in enumerate(columns, 1)}
    missing = [key for key in ("from", "to") if key not in row]
    for key in missing:
        notes.add(place[key], f"the row has nothing under “{key}”", "a conductor has two ends")
    if missing:
        return None
    table = TableNode(Mark(file, line, 1))

    def enter(key: str, node: Node) -> None:
        table.entries[key] = (TextNode(key, node.mark, inline=False), node)

    enter("run", _run(row))
    for key in ("wire", "colour", "loom", "flexes", "traced"):
        if key in row:
            enter("name" if key == "wire" else key, row[key][0])
    if "or" in row:
        cell = row["or"][0]
        enter("or", ListNode(cell.mark, [TextNode(tidy(r), cell.mark, False) for r in cell.text.split(",")]))
    for key in MEASURED:
        if key in row:
            measured = _measured(key, *row[key], notes)
            if measured is not None:
                enter(key, measured)
    return table


def _run(row: Mapping[str, tuple[TextNode, str]]) -> RunNode:
    text, marks = "", []
    for key in ("from", "through", "to"):
        if key not in row:
            continue
        node = row[key][0]
        terminal = row.get(f"{key} terminal")
        said = f"{node.text}.{terminal[0].text}" if terminal else node.text
        if key == "through":  # in lists of others commas and semicolons stand between the points too
            split = ">" if ">" in said else "[,;]"
            said = " > ".join(p.strip() for p in re.split(split, said.removesuffix(">")))
        marks.append((len(text), node.mark))
        text += f"{said} > " if key != "to" else said
    return RunNode(text, marks[0][1], False, tuple(marks))


def _measured(key: str, cell: TextNode, unit: str, notes: Notes) -> Node | None:
    """A quantity with its unit from the cell or the heading; several lengths are separated by >."""
    parts = [tidy(p) for p in cell.text.split(">")] if key == "length" else [cell.text]
    bare = [p for p in parts if p and not any(c.isalpha() or c == "²" for c in p)]
    if bare and not unit:
        notes.add(cell.mark, f"{key}: “{clip(bare[0])}” has no unit",
                  f"name it in the heading, like “{key} {_UNITS[key]}”, or in the cell")
        return None
    nodes = [TextNode(f"{p} {unit}" if p in bare else p, cell.mark, inline=False) for p in parts]
    return nodes[0] if len(nodes) == 1 else ListNode(cell.mark, list(nodes))


def unread_note(columns: Sequence[str]) -> str:
    """What to say of columns that were not read."""
    return "; ".join(f"the column “{clip(c)}” is not read ({did_you_mean(c, COLUMNS)})" for c in columns)
