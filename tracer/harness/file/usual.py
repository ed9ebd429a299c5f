"""What a wire has when its line does not say: for all wires, and by the loom that it lies in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from tracer import standards
from tracer.harness.file.fields import Fields
from tracer.harness.file.nodes import Node, Notes, TableNode, TextNode, clip

BY_LOOM: Final = "by loom"
_OF_A_LOOM: Final = ("size", "colour", "length", "temperature", "flexes", "traced")
USUAL_KEYS: Final = (*_OF_A_LOOM, "loom", BY_LOOM)
# Words in the name of a loom that say that it bends: unless its wires say otherwise. (Common practice, no source.)
_BENDS: Final = re.compile(r"\b(?:hinges?|bends?|handlebars?|bars|steering|column|gaiter|bellows|folding)\b", re.I)


class Usual(Struct, frozen=True):
    """Values of wires that do not say. `looms`: what differs in one loom."""

    section_mm2: float = 1.0
    colour: str = ""
    length_m: float = 1.0
    loom: str | None = None
    celsius: float = 20.0
    flexes: bool = False
    traced: bool = True
    looms: Mapping[str, Usual] = field(default_factory=dict)

    def of(self, loom: str | None) -> Usual:
        """What is usual for a wire in a loom."""
        return self.looms.get(loom or "", self)


def read_usual(node: Node, base: Usual, code: str | None, notes: Notes) -> Usual:
    """The values of a file's “usual”, over those that held before it."""
    if not isinstance(node, TableNode):
        if not (isinstance(node, TextNode) and not node.text.strip()):
            notes.add(node.mark, "usual: expected a table", "write it like {size: 1 mm², length: 1 m}")
        return base
    fields = Fields(node, "usual", USUAL_KEYS, notes)
    found = _values(fields, replace(base, loom=fields.text("loom") or base.loom), code)
    looms = dict(base.looms)
    table = fields.node(BY_LOOM)
    if table is not None and not isinstance(table, TableNode):
        notes.add(table.mark, f"usual, {BY_LOOM}: expected looms", "write it like {rear: {size: 1 mm², colour: GN}}")
    for loom, (_, value) in (table.entries if isinstance(table, TableNode) else {}).items():
        if isinstance(value, TableNode):
            own = Fields(value, f"usual, {clip(loom)}", _OF_A_LOOM, notes)
            looms[loom] = replace(_values(own, looms.get(loom, found), code), loom=loom, looms={})
        else:
            notes.add(value.mark, f"usual, {clip(loom)}: expected a table", "write it like {size: 1 mm², colour: GN}")
    return replace(found, looms=looms)


def _values(fields: Fields, base: Usual, code: str | None) -> Usual:
    return replace(
        base, section_mm2=fields.quantity("size", "section", base.section_mm2),
        colour=read_colour(fields, base.colour, code), length_m=fields.quantity("length", "length", base.length_m),
        celsius=fields.quantity("temperature", "temperature", base.celsius),
        flexes=whether("flexes", fields, base.flexes), traced=whether("traced", fields, base.traced),
    )


def loom_bends(loom: str | None) -> bool:
    """Whether the name of a loom says that it bends."""
    return bool(loom and _BENDS.search(loom))


def whether(key: str, fields: Fields, default: bool) -> bool:
    """A yes or no that may be missing."""
    return fields.yes_no(key) if fields.node(key) is not None else default


def read_colour(fields: Fields, default: str, code: str | None) -> str:
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
