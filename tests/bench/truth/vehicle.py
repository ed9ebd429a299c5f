"""Reads a harness file once more, by the format's own page and with nothing but pyyaml.

Only sound files are read here: what is wrong in a file is the tool's business. Quantities come out in V, A, Ω, W,
m and mm².
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import yaml

# Copper in stranded road-vehicle cable, mΩ per m and mm²: IEC 60228 class 5 less the 5 % that ISO 6722-1 is lower
# (19.5 for 1 mm² as quoted on five pages; 18.5 from memory).
COPPER_OHM_MM2_PER_M = 0.0186
ALPHA_PER_K = 0.00393

_NUMBER = re.compile(r"\s*([-+]?[0-9]*[.,]?[0-9]+)\s*(.*)")
_SCALE = {"kohm": 1e3, "kΩ": 1e3, "Mohm": 1e6, "MΩ": 1e6, "mA": 1e-3, "mV": 1e-3, "cm": 1e-2, "mm": 1e-3, "mΩ": 1e-3,
          "mohm": 1e-3, "h": 60.0, "kW": 1e3}


def number(value: Any, usual: float = 0.0) -> float:
    """A quantity as written, in the base unit of its kind; AWG becomes mm²."""
    if value is None:
        return usual
    match = _NUMBER.match(str(value))
    if match is None:
        raise ValueError(f"no quantity: {value!r}")
    figure, unit = float(match.group(1).replace(",", ".")), match.group(2).strip()
    if unit.upper() == "AWG":
        # d = 0.127 mm · 92^((36 − n)/39) (ASTM B258, as quoted)
        return float(math.pi / 4 * (0.127 * 92 ** ((36 - figure) / 39)) ** 2)
    return figure * _SCALE.get(unit, 1.0)


@dataclass(frozen=True)
class Control:
    """Something that a person operates; `assumed` is where it stands when nobody mentions it."""

    name: str
    positions: tuple[str, ...]
    assumed: str
    sprung: bool = False


@dataclass(frozen=True)
class Segment:
    """One piece of wire between two nodes. `earthwards`: it leads away from consumers to an earth."""

    a: str
    b: str
    ohm: float
    mm2: float
    loom: str
    colour: str
    earthwards: bool
    metres: float = 1.0

    @property
    def name(self) -> str:
        return f"wire {self.a} – {self.b}"


@dataclass(frozen=True)
class Part:
    """One entry under `parts`, as written."""

    name: str
    kind: str
    given: Mapping[str, Any]


@dataclass
class Vehicle:
    """A harness as read here. `ways`: connector → its ways in use; `flipped`: ways whose incoming side is on the
    other half of the plug than most of its neighbours'; `bullets`: block → its bullets in use (`B1.2`), each of which
    meets the others in the block (`B1`)."""

    title: str
    volts: float
    positive_earth: bool
    controls: dict[str, Control]
    parts: dict[str, Part]
    segments: list[Segment]
    splices: dict[str, str]
    bodies: dict[str, str | None]  # earth point → the body that it sits on; None: nothing that conducts
    ways: dict[str, list[int]]
    rows: dict[str, tuple[int, int]] = field(default_factory=dict)  # connector → ways, rows
    flipped: set[tuple[str, int]] = field(default_factory=set)
    bullets: dict[str, list[int]] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)  # of parts, plugs and splices, as far as they are written

    @property
    def reference(self) -> str:
        """The body, or where none conducts the pole of the battery that is earthed."""
        found = [b for b in self.bodies.values() if b is not None]
        if found:
            return found[0]
        batteries = [p.name for p in self.parts.values() if p.kind == "battery"]
        return f"{batteries[0]}.{'+' if self.positive_earth else '-'}"

    def state(self, moved: Mapping[str, str]) -> dict[str, str]:
        return {c.name: moved.get(c.name, c.assumed) for c in self.controls.values()}

    def ends_at(self, node: str) -> list[Segment]:
        return [s for s in self.segments if node in (s.a, s.b)]

    def metal_near(self, node: str) -> str:
        """The body that a wire at this node can touch: that of the earth point which the fewest wires, plugs and
        parts lie between."""
        reached = [node]
        for at in reached:
            if self.bodies.get(at) is not None:
                return str(self.bodies[at])
            owner = at.rpartition(".")[0]
            beside = [x for s in self.ends_at(at) for x in (s.a, s.b)]
            if owner in self.parts:
                beside += [x for s in self.segments for x in (s.a, s.b) if x.rpartition(".")[0] == owner]
                beside.append(str(self.parts[owner].given.get("earth at", at)))
            elif owner in self.ways:
                beside.append(at.rstrip("'") if at.endswith("'") else f"{at}'")
            elif owner in self.bullets:
                beside += [f"{owner}.{n}" for n in self.bullets[owner]]
            reached += [x for x in dict.fromkeys(beside) if x not in reached]
        return next(b for b in self.bodies.values() if b is not None)

    def neighbours(self, connector: str) -> list[tuple[int, int]]:
        """Pairs of used ways that lie beside each other, along a row or across two."""
        total, rows = self.rows[connector]
        per_row = -(-total // max(rows, 1))
        at = {w: divmod(w - 1, per_row) for w in self.ways[connector]}
        return [
            (i, j) for i in at for j in at
            if i < j and abs(at[i][0] - at[j][0]) + abs(at[i][1] - at[j][1]) == 1
        ]


def _names(section: Any) -> dict[str, Any]:
    if section is None:
        return {}
    if isinstance(section, Mapping):
        return {str(k): v for k, v in section.items()}
    return dict.fromkeys(map(str, section))


def _controls(section: Any) -> dict[str, Control]:
    out = {}
    for name, given in _names(section).items():
        entry = given if isinstance(given, Mapping) else {"positions": given}
        # YAML 1.1 takes a bare `on` or `off` for a truth value.
        positions = tuple(_plain(p) for p in entry["positions"])
        out[name] = Control(name, positions, _plain(entry.get("assumed", positions[0])), bool(entry.get("sprung")))
    return out


def _plain(text: Any) -> str:
    return {True: "on", False: "off"}.get(text, str(text)) if isinstance(text, bool) else str(text)


class _Loader(yaml.SafeLoader):
    """Everything is text: `on`, `1.5` and `30-58` stay as they were written."""


_Loader.yaml_implicit_resolvers = {}


def read_vehicle(text: str) -> Vehicle:
    """A vehicle from the text of a sound harness file."""
    data = yaml.load(text, Loader=_Loader)
    system = str(data["system"])
    parts = {str(n): Part(str(n), str(p["kind"]), p) for n, p in data["parts"].items()}
    earths = _names(data.get("earths"))
    bodies: dict[str, str | None] = {}
    for name, given in earths.items():
        body = str(given.get("body", "body")) if isinstance(given, Mapping) else "body"
        bodies[name] = None if body == "none" else body
    rows, bullets = {}, dict[str, list[int]]()
    for name, given in _names(data.get("connectors")).items():
        if (given.get("kind") if isinstance(given, Mapping) else given) == "bullets":
            bullets[name] = _numbered(name, data["wires"])
            continue
        standard = str(given.get("standard", "")) if isinstance(given, Mapping) else ""
        count = {"ISO 1724": 7, "ISO 11446": 13, "ISO 3732": 7, "ISO 1185": 7}.get(standard, 0)
        entry = given if isinstance(given, Mapping) else {"ways": given}
        rows[name] = (int(number(entry.get("ways"), count)), int(number(entry.get("rows"), 1)))
    vehicle = Vehicle(
        str(data["harness"]), float(system.split()[0]), "positive" in system, _controls(data.get("controls")), parts,
        [], {n: str(v) for n, v in _names(data.get("splices")).items()}, bodies, {n: [] for n in rows}, rows,
        bullets=bullets, places=_places(data),
    )
    usual = data.get("usual") or {}
    used: dict[str, set[int]] = {n: set() for n in rows}
    for entry in data["wires"]:
        vehicle.segments += _run(entry, usual, vehicle, used)
    vehicle.segments = _earthwards(vehicle)
    vehicle.ways = {n: sorted(w) for n, w in used.items() if w}
    _find_halves(vehicle)
    return vehicle


def _places(data: Mapping[str, Any]) -> dict[str, str]:
    """Where parts, plugs and splices are; of a splice the place may be all that is written."""
    out = {}
    for section in ("parts", "connectors", "splices"):
        for name, given in _names(data.get(section)).items():
            place = given.get("place", "") if isinstance(given, Mapping) else given if section == "splices" else ""
            out[name] = str(place or "")
    return out


def _numbered(block: str, wires: Any) -> list[int]:
    """The bullets of a block that runs call by their number."""
    runs = [str(w["run"] if isinstance(w, Mapping) else w) for w in wires]
    points = [p.strip().replace("/", ".") for r in runs for p in r.split(">")]
    return sorted({int(p.rpartition(".")[2]) for p in points if p.rpartition(".")[0] == block})


def _next_bullet(block: str, taken: list[int]) -> str:
    number = next(n for n in range(1, len(taken) + 2) if n not in taken)
    taken.append(number)
    return f"{block}.{number}"


def _run(entry: Any, usual: Mapping[str, Any], vehicle: Vehicle, used: dict[str, set[int]]) -> list[Segment]:
    given = entry if isinstance(entry, Mapping) else {"run": entry}
    points = [p.strip() for p in re.split(r">", str(given["run"]))]
    pieces = len(points) - 1
    lengths = given.get("length", usual.get("length", "1 m"))
    each = [number(x) for x in lengths] if isinstance(lengths, list) else [number(lengths) / pieces] * pieces
    mm2 = number(given.get("size", usual.get("size")), 1.0)
    warmth = 1 + ALPHA_PER_K * (number(given.get("temperature", usual.get("temperature")), 20.0) - 20.0)
    ends = []
    for i, point in enumerate(points):
        owner, _, way = point.replace("/", ".").rpartition(".")
        if owner in used and owner not in vehicle.parts:
            used[owner].add(int(way))
            ends.append((f"{owner}.{way}", f"{owner}.{way}'"))
            if i == 0:
                ends[-1] = (f"{owner}.{way}'",) * 2
        elif point in vehicle.bullets:  # a run through a block has a bullet on each side
            own = vehicle.bullets[point]
            arriving = _next_bullet(point, own) if i > 0 else ""
            leaving = _next_bullet(point, own) if i < pieces else ""
            ends.append((arriving or leaving, leaving or arriving))
        else:
            ends.append((point, point))
    earth = points[-1] in vehicle.bodies or points[0].endswith((".earth", ".31", ".85"))
    out = []
    for (one, two), length in zip(pairwise(ends), each, strict=True):
        ohm = max(COPPER_OHM_MM2_PER_M * warmth * length / mm2, 1e-4)
        out.append(Segment(
            one[1], two[0], ohm, mm2, str(given.get("loom", usual.get("loom", ""))),
            str(given.get("colour", usual.get("colour", ""))), earth, length,
        ))
    return out


def _earthwards(vehicle: Vehicle) -> list[Segment]:
    """The wires again: what leads on from a splice to which only earth wires lead is an earth wire, too."""
    found = {s.name for s in vehicle.segments if s.earthwards}
    while True:
        joints = {
            x for x in vehicle.splices
            if (ending := [s.name for s in vehicle.segments if s.b == x]) and found.issuperset(ending)
        }
        from_way = {f"{s.b}'" for s in vehicle.segments if s.name in found}
        new = {s.name for s in vehicle.segments if s.a in joints or s.a in from_way} - found
        if not new:
            return [replace(s, earthwards=s.name in found) for s in vehicle.segments]
        found |= new


def _find_halves(vehicle: Vehicle) -> None:
    """On which half of its plug each way's incoming side lies.

    Feeds are written towards the lamp and earths away from it, so that the incoming side of an earth way lies on the
    lamp's half. Where what hangs on the two sides says otherwise, that decides: sides that hang together without
    this plug and without any earth point are on one half. Other looms may join both halves past the plug; so sides
    that lead to one place are on one half, whatever they hang on.
    """
    for connector, ways in vehicle.ways.items():
        first = {w: _starts_at_earth(vehicle, connector, w) for w in ways}
        island = _islands(vehicle, connector)
        hung: dict[int, list[tuple[int, bool]]] = {}
        there: dict[str, list[tuple[int, bool]]] = {}
        for w in ways:
            for side, node in ((False, f"{connector}.{w}"), (True, f"{connector}.{w}'")):
                if node in island:
                    hung.setdefault(island[node], []).append((w, side))
        for w in ways:
            for side in (False, True):
                place = _leads_to(vehicle, f"{connector}.{w}" + ("'" if side else ""))
                if place:
                    there.setdefault(place, []).append((w, side))
        # Of two that lead to one place one may be a splice on its way there.
        for sides in (*hung.values(), *(x for x in there.values() if len(x) > 2)):
            if len({w for w, _ in sides}) == len(sides):  # else both halves are joined past this plug
                _put_on_one_half(first, sides)
        vehicle.flipped |= {(connector, w) for w in ways if first[w]}


def _put_on_one_half(first: dict[int, bool], sides: list[tuple[int, bool]]) -> None:
    """Exchange the halves of those ways of which these sides lie otherwise than most; of equal numbers, than the
    first."""
    outer = [side != first[w] for w, side in sides]
    common = outer[0] if sum(outer) * 2 == len(outer) else sum(outer) * 2 > len(outer)
    for (w, _), half in zip(sides, outer, strict=True):
        if half != common:
            first[w] = not first[w]


def _leads_to(vehicle: Vehicle, node: str) -> str:
    """The place of what the one wire at a node leads to; "" where several do, or nothing is said."""
    ends = [s.b if s.a == node else s.a for s in vehicle.segments if node in (s.a, s.b)]
    owner = ends[0].rstrip("'").rpartition(".")[0] or ends[0] if len(ends) == 1 else ""
    return vehicle.places.get(owner, "")


def _starts_at_earth(vehicle: Vehicle, connector: str, way: int) -> bool:
    incoming = [s for s in vehicle.segments if s.b == f"{connector}.{way}" or s.a == f"{connector}.{way}'"]
    return bool(incoming) and all(s.earthwards for s in incoming)


def _islands(vehicle: Vehicle, without: str) -> dict[str, int]:
    """Number of the island that each node hangs on, through wires, parts and other plugs."""
    parent: dict[str, str] = {}

    def root(x: str) -> str:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    for s in vehicle.segments:
        if s.a not in vehicle.bodies and s.b not in vehicle.bodies:
            parent[root(s.a)] = root(s.b)
        for node in (s.a, s.b):
            owner = node.rstrip("'").rpartition(".")[0]
            if owner in vehicle.parts and vehicle.parts[owner].kind != "battery":
                parent[root(node)] = root(f"part {owner}")
            elif owner in vehicle.bullets:
                parent[root(node)] = root(f"block {owner}")
            elif owner in vehicle.ways and owner != without:
                parent[root(f"{node.rstrip(chr(39))}")] = root(f"{node.rstrip(chr(39))}'")
    numbers: dict[str, int] = {}
    return {n: numbers.setdefault(root(n), len(numbers)) for n in list(parent)}
