"""Reading the keys of one entry of a harness file: units, limits, spelling, all noted, never raised."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from tracer.errors import Mark, UnitError, did_you_mean, nearest
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, clip, tidy
from tracer.units import parse_quantity

# Sensible limits (above, up to) and how the trade writes them. Outside of them a slip of the pen is
# likelier than the quantity.
LIMITS: Final[dict[str, tuple[float, float, str]]] = {
    "section": (0.0, 120.0, "above 0 and up to 120 mm²"),
    "length": (0.0, 50.0, "above 0 and up to 50 m"),
    "current": (0.0, 125.0, "above 0 and up to 125 A"),
    "power": (0.0, 2000.0, "above 0 and up to 2000 W"),
    "voltage": (0.0, 60.0, "above 0 and up to 60 V"),
    "resistance": (0.0, 1e7, "above 0 and up to 10 MΩ"),
    "resistance or none": (-1e-9, 1e7, "0 to 10 MΩ"),
    "temperature": (-60.0, 200.0, "above -60 and up to 200 °C"),
    "duration": (-1e-9, 600.0, "0 to 600 min"),
}
FORBIDDEN: Final = ".>,/'"  # they separate terminals, points of a run and inner nodes
_YES_NO: Final = {"yes": True, "true": True, "no": False, "false": False}


def good_name(key: TextNode, what: str, notes: Notes, forbidden: str = FORBIDDEN) -> bool:
    """Whether a name can be used in runs; notes why not."""
    name = tidy(key.text)
    if not name:
        notes.add(key.mark, f"a {what} without a name")
        return False
    found = next((i for i, c in enumerate(key.text) if c in forbidden), None)
    if found is not None:
        notes.add(
            key.mark_at(found), f"the {what} name “{clip(name)}” contains “{key.text[found]}”",
            "names may contain spaces but none of " + " ".join(forbidden),
        )
        return False
    return True


def quantity(node: Node, dimension: str, what: str, notes: Notes) -> float | None:
    """A quantity within its limits; None if it was noted as wrong."""
    if not isinstance(node, TextNode):
        notes.add(node.mark, f"{what}: expected a {dimension}, found a {_shape(node)}")
        return None
    try:
        value = parse_quantity(node.text, dimension.removesuffix(" or none"))
    except UnitError as error:
        notes.add(node.mark, f"{what}: {clip(error.message)}", error.hint)
        return None
    low, high, words = LIMITS[dimension]
    if not low < value <= high:
        notes.add(node.mark, f"{what}: “{clip(node.text)}” is out of range", words)
        return None
    return value


def _shape(node: Node) -> str:
    return "list" if isinstance(node, ListNode) else "table" if isinstance(node, TableNode) else "text"


def text_of(node: Node, what: str, notes: Notes) -> str | None:
    """A text that is not empty; None if it was noted as wrong."""
    if isinstance(node, TextNode) and node.text.strip():
        return tidy(node.text)
    if isinstance(node, TextNode):
        notes.add(node.mark, f"{what}: nothing is written here")
    else:
        notes.add(node.mark, f"{what}: expected a text, found a {_shape(node)}")
    return None


def texts_of(node: Node, what: str, notes: Notes) -> list[TextNode]:
    """A list of texts; a single text counts as a list of one."""
    if isinstance(node, TextNode):
        return [node] if node.text.strip() else []
    if isinstance(node, TableNode):
        notes.add(node.mark, f"{what}: expected a list, found a table", "write it like [one, two]")
        return []
    return [n for n in node.items if text_of(n, what, notes) is not None and isinstance(n, TextNode)]


def yes_no(node: Node, what: str, notes: Notes) -> bool | None:
    """Yes or no; None if it was noted as neither."""
    text = text_of(node, what, notes)
    if text is not None and text.lower() not in _YES_NO:
        notes.add(node.mark, f"{what}: “{clip(text)}” is neither yes nor no")
    return _YES_NO.get(text.lower()) if text is not None else None


def _slip(name: str, value: Node) -> str | None:
    """What happened if a key is no key but part of a text: YAML's rules of commas and colons."""
    if not isinstance(value, TextNode) or value.text:
        return None
    if ":" in name:
        return "a colon needs a space after it"
    if name[:1].isdigit():
        return "a comma ends the value: write the decimal point as a point"
    return "a comma ends the value: a text that contains one needs quotes"


class Fields:
    """The keys of one table. Unknown keys are noted at once; the readers note wrong values."""

    def __init__(
        self, table: TableNode, what: str, known: Iterable[str], notes: Notes, why: str | None = None
    ) -> None:
        self.table, self.what, self.notes = table, what, notes
        known = list(known)
        self.meant: set[str] = set()  # keys that were probably meant by misspelt ones
        for name, (key, value) in table.entries.items():
            if name in known:
                continue
            self.meant.update(nearest(name, known, 1))
            notes.add(key.mark, f"{what}: “{clip(name)}” is not known {why or 'here'}",
                      _slip(name, value) or did_you_mean(name, known))

    def lacks(self, key: str) -> bool:
        """Whether a key is missing, and not just misspelt: that was noted already."""
        return key not in self.table.entries and key not in self.meant

    def node(self, key: str) -> Node | None:
        entry = self.table.entries.get(key)
        return entry[1] if entry else None

    def need(self, key: str, example: str) -> Node | None:
        node = self.node(key)
        if self.lacks(key):
            self.notes.add(self.table.mark, f"{self.what}: “{key}” is missing", f"write it like {example}")
        return node

    def mark(self, key: str) -> Mark:
        entry = self.table.entries.get(key)
        return entry[1].mark if entry else self.table.mark

    def text(self, key: str, default: str = "") -> str:
        node = self.node(key)
        if node is None:
            return default
        return text_of(node, f"{self.what}, {key}", self.notes) or default

    def quantity(self, key: str, dimension: str, default: float) -> float:
        node = self.node(key)
        if node is None:
            return default
        value = quantity(node, dimension, f"{self.what}, {key}", self.notes)
        return default if value is None else value

    def whole(self, key: str, default: int, low: int, high: int) -> int:
        node = self.node(key)
        if node is None:
            return default
        text = text_of(node, f"{self.what}, {key}", self.notes)
        if text is None:
            return default
        if not (text.isascii() and text.isdigit() and len(text) < 9 and low <= int(text) <= high):
            self.notes.add(node.mark, f"{self.what}, {key}: “{clip(text)}” is not a number from {low} to {high}")
            return default
        return int(text)

    def yes_no(self, key: str) -> bool:
        node = self.node(key)
        return node is not None and bool(yes_no(node, f"{self.what}, {key}", self.notes))

    def texts(self, key: str) -> tuple[str, ...]:
        node = self.node(key)
        if node is None:
            return ()
        return tuple(tidy(n.text) for n in texts_of(node, f"{self.what}, {key}", self.notes))
