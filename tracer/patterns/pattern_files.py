"""The files of `trade/`: parts and controls of each pattern, looms, fuses, colours, bulbs.

A part's row says its kind, its settings, where it sits, what line each of its terminals takes or gives, and with
which answers it is there. `{side}` in a row with `sides: yes` stands for left and right in turn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field
from msgspec.structs import replace

from tracer.errors import TracerError
from tracer.harness.file.nodes import ListNode, Node, Notes, TableNode, TextNode, parse_yaml, read_text_file, tidy
from tracer.patterns.questions import BY_ID, DERIVED, Condition

TRADE: Final = Path(__file__).parent / "trade"
PATTERNS: Final = ("supply", "headlamps", "front", "rear", "indicators", "inside", "motorcycle", "trailer",
                   "towing_stand_in")
# Kinds of parts in `trade/`: what takes current for itself, and what passes on what hangs behind it. Each has its
# amperes in `sizing.py`.
CONSUMERS: Final = ("lamp", "lamp unit", "load")
PASSING: Final = ("battery", "switch", "relay", "flasher unit", "socket")
Settings = Any  # a text, a list or a table of them, as it stands in the file


class LampRow(Struct, frozen=True):
    """One bulb of a lamp unit. `on`: the line of each of its names; `to`: the line that takes its current back, where
    it has an earth terminal `own_earth`; `only`: nearside or offside."""

    names: str
    bulb: str
    on: tuple[str, ...]
    own_earth: str = ""
    to: str = ""
    only: str = ""
    purposes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    when: Condition = field(default_factory=dict)


class PartRow(Struct, frozen=True):
    """One part. `zone`: where it sits (a zone of looms.yaml); `earthed`: the question that says how; `told`: further
    questions whose answers tell how it is wired, of what every vehicle of its kind has."""

    name: str
    kind: str
    zone: str
    place: str
    access: str
    settings: Mapping[str, Settings] = field(default_factory=dict)
    takes: Mapping[str, str] = field(default_factory=dict)
    gives: Mapping[str, str] = field(default_factory=dict)
    lamps: tuple[LampRow, ...] = ()
    also: tuple[str, ...] = ()
    earthed: str = ""
    sides: bool = False
    when: Condition = field(default_factory=dict)
    pattern: str = ""
    told: tuple[str, ...] = ()


class ControlRow(Struct, frozen=True):
    name: str
    settings: Settings
    when: Condition = field(default_factory=dict)


class ZoneRow(Struct, frozen=True):
    """A place where parts sit. `behind`: the zone it hangs on; `plug`, `joints`, `earth`: place and minutes;
    a zone without a plug has an empty place for it."""

    zone: str
    behind: str = ""
    length: str = "0.5 m"
    plug: tuple[str, str] = ("", "")
    joints: tuple[str, str] = ("", "")
    earth: tuple[str, ...] = ()
    loom: str = ""
    flexes: bool = False
    sides: bool = False
    when: Condition = field(default_factory=dict)


class FuseRow(Struct, frozen=True):
    """A fuse between line `source` and the lines it feeds."""

    source: str
    feeds: tuple[str, ...]
    when: Condition = field(default_factory=dict)


class Trade(Struct, frozen=True):
    """All that the files say."""

    parts: tuple[PartRow, ...]
    controls: tuple[ControlRow, ...]
    zones: tuple[ZoneRow, ...]
    fuses: tuple[FuseRow, ...]
    supplies: Mapping[str, str]
    colours: Mapping[str, tuple[str, str]]
    bulbs: Mapping[str, Mapping[str, str]]


@cache
def trade() -> Trade:
    """The patterns as they come with the package.

    Raises:
        TracerError: A file that is no pattern: an unknown key, question or answer.
    """
    parts: list[PartRow] = []
    controls: list[ControlRow] = []
    for name in PATTERNS:
        root = _root(name)
        _known(root, ("pattern", "when", "told", "parts", "controls"), name)
        common, told = _condition(root.get("when", {}), name), tuple(root.get("told", ()))
        for row in root.get("parts", []):
            made = _part(row, name)
            parts.append(replace(made, when={**common, **made.when}, pattern=str(root["pattern"]),
                                 told=_questions((*told, *made.told), name)))
        for row in root.get("controls", []):
            _known(row, ("name", "set", "when"), name)
            controls.append(ControlRow(row["name"], row["set"], {**common, **_condition(row.get("when", {}), name)}))
    fuses = _root("fuses")
    return Trade(
        tuple(parts), tuple(controls), tuple(_zone(r) for r in _root("looms")["zones"]),
        tuple(FuseRow(r["from"], tuple(r["feeds"]), _condition(r.get("when", {}), "fuses")) for r in fuses["fuses"]),
        fuses["supplies"], {k: (v[0], v[1]) for k, v in _root("colours")["colours"].items()}, _root("bulbs")["bulbs"],
    )


def in_sides(text: str, side: str) -> str:
    """A text of a row with its side filled in."""
    return text.replace("{side}", side)


def each_text(value: Settings, change: Callable[[str], str]) -> Settings:
    """A setting with every text in it changed, keys too."""
    if isinstance(value, Mapping):
        return {change(k): each_text(v, change) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [each_text(v, change) for v in value]
    return change(value)


def _part(row: Mapping[str, Any], file: str) -> PartRow:
    _known(row, ("name", "kind", "at", "set", "takes", "gives", "lamps", "also", "earthed", "sides", "when", "told"),
           file)
    if row["kind"] not in (*CONSUMERS, *PASSING):
        raise TracerError(f"patterns/{file}.yaml: {row['name']}: nobody says what a “{row['kind']}” takes",
                          "CONSUMERS or PASSING of pattern_files.py, and its amperes in sizing.py")
    zone, place, access = row["at"]
    return PartRow(
        row["name"], row["kind"], zone, place, access, row.get("set", {}), row.get("takes", {}), row.get("gives", {}),
        tuple(_lamp(r, file) for r in row.get("lamps", [])), tuple(row.get("also", [])), row.get("earthed", ""),
        row.get("sides") == "yes", _condition(row.get("when", {}), file), told=tuple(row.get("told", ())),
    )


def _questions(names: tuple[str, ...], file: str) -> tuple[str, ...]:
    wrong = [n for n in names if n not in BY_ID]
    if wrong:
        raise TracerError(f"patterns/{file}.yaml: there is no question “{wrong[0]}”")
    return names


def _lamp(row: Mapping[str, Any], file: str) -> LampRow:
    _known(row, ("names", "bulb", "on", "own earth", "to", "only", "for", "when"), file)
    return LampRow(
        row["names"], row["bulb"], tuple(row["on"]), row.get("own earth", ""), row.get("to", ""), row.get("only", ""),
        {k: tuple(v) for k, v in row.get("for", {}).items()}, _condition(row.get("when", {}), file),
    )


def _zone(row: Mapping[str, Any]) -> ZoneRow:
    _known(row, ("zone", "behind", "length", "plug", "joints", "earth", "loom", "flexes", "sides", "when"), "looms")
    return ZoneRow(
        row["zone"], row.get("behind", ""), row.get("length", "0.5 m"), _pair(row, "plug"),
        _pair(row, "joints"), tuple(row.get("earth", ())), row.get("loom", ""), row.get("flexes") == "yes",
        row.get("sides") == "yes", _condition(row.get("when", {}), "looms"),
    )


def _condition(said: Mapping[str, Any], file: str) -> Condition:
    for question, allowed in said.items():
        choices = DERIVED.get(question) or tuple(BY_ID[question].choices if question in BY_ID else ())
        wrong = [a for a in allowed if a not in choices and a != BY_ID.get(question, _NO_QUESTION).unasked]
        if not choices or wrong:
            raise TracerError(f"patterns/{file}.yaml: nobody answers “{question}: {', '.join(map(str, wrong))}”")
    return {question: tuple(allowed) for question, allowed in said.items()}


_NO_QUESTION: Final = next(iter(BY_ID.values()))


def _known(row: Mapping[str, Any], keys: tuple[str, ...], file: str) -> None:
    wrong = [k for k in row if k not in keys]
    if wrong:
        raise TracerError(f"patterns/{file}.yaml: “{wrong[0]}” is not known", "keys: " + ", ".join(keys))


def _root(name: str) -> dict[str, Any]:
    notes = Notes()
    node = parse_yaml(read_text_file(TRADE / f"{name}.yaml"), f"{name}.yaml", notes)
    notes.raise_if_any()
    plain = _plain(node)
    assert isinstance(plain, dict)
    return plain


def _plain(node: Node) -> Settings:
    if isinstance(node, TableNode):
        return {name: _plain(value) for name, (_, value) in node.entries.items()}
    if isinstance(node, ListNode):
        return [_plain(n) for n in node.items]
    assert isinstance(node, TextNode)
    return tidy(node.text)


def questions_asked(condition: Condition) -> Iterator[str]:
    """The questions on which a condition stands, of those that somebody can be asked."""
    yield from (q for q in condition if q in BY_ID)


def _pair(row: Mapping[str, Any], key: str) -> tuple[str, str]:
    """Place and minutes; empty where the row has none."""
    place, access = row.get(key) or ("", "")
    return str(place), str(access)
