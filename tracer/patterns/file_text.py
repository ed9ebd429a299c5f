"""The text of a harness file from answers: an ordinary, commented file that is healthy at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from tracer.harness.file.dump import RUN_PLAIN, plain_or_quoted
from tracer.harness.node import node_of
from tracer.patterns.answers import Answers
from tracer.patterns.chosen import SOCKET, Vehicle, vehicle_of
from tracer.patterns.laying import Laid, Layer, Layout, Place
from tracer.patterns.pattern_files import Settings, trade
from tracer.patterns.questions import BY_ID
from tracer.patterns.sizing import Loads

_HEAD: Final = """\
# {title}
# Made from answers by patterns of the trade: common practice, no source. It is what vehicles of this kind mostly
# have, not what this one has: lines of which nobody said how they run count as not traced, and colours, ways, places
# and lengths are guesses until somebody has seen them. Change what differs, then  tracer check.
"""
_HEADINGS: Final = (
    ("supply", "supply"), ("fuses", "behind the fuses"), ("towing vehicle", "the towing vehicle"),
    ("headlamps", "headlamps"), ("front lamps", "front lamps"), ("rear lamps", "rear lamps"),
    ("indicators", "indicators"), ("inside and horn", "inside, horn"), ("motorcycle", "lamps and horn"),
    ("trailer", "trailer"),
)
_GENERAL: Final = frozenset(("vehicle", "built", "volts", "body"))
_WIDTH: Final = 118
_BATTERY_6V: Final = "0.006 ohm"  # larger cells for the same watts (common practice, no source)


def harness_from_answers(answers: Answers) -> str:
    """The text of the harness file that answers describe."""
    vehicle = vehicle_of(answers)
    layout = Layer(vehicle).lay()
    loads = Loads(vehicle)
    known = vehicle.known
    lines = [*_HEAD.format(title=_one_line(known["title"])).splitlines(), *_answers(answers), *_head(vehicle)]
    traced = [_told(w.asked, answers) for w in layout.wires]
    most = sum(traced) * 2 > len(traced)
    sizes = [_size(w, vehicle, loads) for w in layout.wires]
    usual_mm2 = max(set(sizes), key=sizes.count)
    usual = f"usual: {{size: {usual_mm2:g} mm², length: 0.5 m" + ("" if most else ", traced: no") + "}"
    rows = {id(w): _wire(w, size, usual_mm2, t if t != most else None, vehicle)
            for w, size, t in zip(layout.wires, sizes, traced, strict=True)}
    lines += [usual, "", "controls:", *(f"  {n}: {_flow(s)}" for n, s in vehicle.controls.items()), ""]
    lines += ["parts:", *_parts(vehicle, layout, loads, answers), ""]
    lines += [*_things(vehicle, layout), "wires:"]
    for pattern, heading in _HEADINGS:
        group = [w for w in layout.wires if w.pattern == pattern and w.line != "earth"]
        lines += [f"  # {heading}"] * bool(group)
        lines += [f"  - {rows[id(w)]}" for w in group]
    lines += ["  # earths", *(f"  - {rows[id(w)]}" for w in layout.wires if w.line == "earth")]
    return "\n".join(lines) + "\n"


def _one_line(title: str) -> str:
    return " ".join(title.split()) or "A vehicle"


def _answers(answers: Answers) -> Iterator[str]:
    """What was said, so that the file can be made again."""
    said = [f"{q}: {a}" for q, a in answers.said.items() if q != "title"]
    if not said:
        return
    yield "# Answers:"
    line = "#"
    for one in said:
        if len(line) + len(one) > _WIDTH - 4:
            yield line
            line = "#"
        line += f" {one};"
    yield line.rstrip(";") + "."


def _head(vehicle: Vehicle) -> Iterator[str]:
    known = vehicle.known
    yield f"harness: {plain_or_quoted(_one_line(known['title']))}"
    yield f"system: {known['volts']} {known['earth']} earth"
    kinds = [known["vehicle"]]
    if known["coupled"] != "none":
        kinds.append(known["coupled"])
    yield f"vehicle: {kinds[0] if len(kinds) == 1 else '[' + ', '.join(kinds) + ']'}"
    if known["ignition"] != BY_ID["ignition"].unasked or known["vehicle"] not in ("trailer", "caravan"):
        yield f"ignition: {known['ignition']}"
    if known["colours"] != "not written":
        yield f"colours: {known['colours']}"


def _flow(value: Settings) -> str:
    """A setting as YAML writes it in one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{plain_or_quoted(str(k))}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_flow(v) for v in value) + "]"
    return plain_or_quoted(str(value))


def _parts(vehicle: Vehicle, layout: Layout, loads: Loads, answers: Answers) -> Iterator[str]:
    for part in vehicle.parts:
        if part.of("socket"):
            continue
        entry: dict[str, Settings] = {"kind": part.kind, **part.settings}
        if part.of("battery") and vehicle.known["volts"] == "6 V":
            entry["resistance"] = _BATTERY_6V
        if part.of("fuse"):
            entry["rating"] = f"{loads.rating(part):g} A"
        if part.of("flasher unit"):
            entry["load"] = f"{loads.watts_of_indicators():g} W"
        if part.name in layout.earth_of:
            entry["earth at"] = layout.earth_of[part.name]
            if not _told(part.asked, answers):
                entry["traced"] = "no"
        entry |= {"place": part.place, "access": part.access}
        if part.also:
            entry["also"] = list(part.also)
        yield from _wrapped(f"  {part.name}: ", entry)


def _wrapped(start: str, entry: Mapping[str, Settings]) -> Iterator[str]:
    """An entry on one line, or on as many as it takes."""
    whole = start + _flow(entry)
    if len(whole) <= _WIDTH:
        yield whole
        return
    yield start.rstrip()
    line = "    {"
    for number, (key, value) in enumerate(entry.items()):
        piece = f"{plain_or_quoted(key)}: {_flow(value)}" + (", " if number < len(entry) - 1 else "}")
        if len(line) + len(piece.rstrip()) > _WIDTH:
            yield line.rstrip()
            line = "     "
        line += piece
    yield line


def _things(vehicle: Vehicle, layout: Layout) -> Iterator[str]:
    connectors: dict[str, tuple[str, str]] = {}
    socket = next((p for p in vehicle.parts if p.kind == "socket"), None)
    if socket is not None:
        standard = "ISO 1724" if vehicle.known["ways"] == "7 ways" else "ISO 11446"
        entry = f"{{standard: {standard}, place: {socket.place}, access: {socket.access}}}"
        connectors[SOCKET] = (entry, "trailer socket")
    for name, (ways, place) in layout.plugs.items():
        rows = ", rows: 2" if ways > 4 else ""
        connectors[name] = (f"{{ways: {ways}{rows}, {_where(place)}}}", place.says)
    for name, place in layout.blocks.items():
        connectors[name] = (f"{{kind: bullets, {_where(place)}}}", _says(vehicle, place))
    yield from _section("connectors", connectors)
    yield from _section("splices", {n: (f"{{{_where(p)}}}", _says(vehicle, p)) for n, p in layout.splices.items()})
    more = "" if vehicle.known["body"] == "steel" else ", body: none"
    yield from _section("earths", {n: (f"{{{_where(p)}{more}}}", "") for n, p in layout.earths.items()})


def _says(vehicle: Vehicle, place: Place) -> str:
    return _said_line(vehicle, place.says)


def _said_line(vehicle: Vehicle, line: str) -> str:
    """A line in words: one behind a fuse by what that feeds."""
    fuse = next((p for p in vehicle.parts if p.kind == "fuse" and p.gives["out"] == line), None)
    return f"{fuse.also[0].removesuffix(' fuse')}, behind {fuse.name}" if fuse is not None and fuse.also else line


def _where(place: Place) -> str:
    return f"place: {plain_or_quoted(place.place)}, access: {place.access}"


def _section(name: str, entries: Mapping[str, tuple[str, str]]) -> Iterator[str]:
    if not entries:
        return
    yield f"{name}:"
    width = max(len(n) + len(text) for n, (text, _) in entries.items()) + 4
    for n, (text, says) in entries.items():
        yield f"  {n}: {text}" + (" " * (width - len(n) - len(text)) + f"# {says}" if says else "")
    yield ""


def _told(asked: frozenset[str], answers: Answers) -> bool:
    """Whether somebody answered every question on which a line stands; what kind of vehicle it is tells no line."""
    own = asked - _GENERAL
    return bool(own - {"joints"}) and all(answers.told(q) for q in own)


def _size(wire: Laid, vehicle: Vehicle, loads: Loads) -> float:
    if wire.line == "earth":
        return _earth_mm2(wire, vehicle, loads)
    return loads.section(wire.line, sum(wire.lengths), wire.loom)


def _wire(wire: Laid, size: float, usual_mm2: float, traced: bool | None, vehicle: Vehicle) -> str:
    """The line of a wire; `traced` None: as most are."""
    out = {"run": plain_or_quoted(" > ".join(wire.points), RUN_PLAIN)}
    if size != usual_mm2:
        out["size"] = f"{size:g} mm²"
    letters = colour_of(wire.line, vehicle)
    if letters:
        out["colour"] = letters
    out["length"] = f"{wire.lengths[0]:g} m" if len(wire.lengths) == 1 else (
        "[" + ", ".join(f"{x:g} m" for x in wire.lengths) + "]")
    out["loom"] = wire.loom
    if wire.flexes:
        out["flexes"] = "yes"
    if traced is not None:
        out["traced"] = "yes" if traced else "no"
    return "{" + ", ".join(f"{k}: {v}" for k, v in out.items()) + "}"


def _earth_mm2(wire: Laid, vehicle: Vehicle, loads: Loads) -> float:
    """An earth wire carries what its parts take; the battery's is as thick as its feed."""
    owner = node_of(wire.points[0]).owner
    part = next((p for p in vehicle.parts if p.name == owner), None)
    if part is not None and part.of("battery"):
        return 16.0
    return loads.earth_section(part, sum(wire.lengths), vehicle.known["body"] != "steel")


def colour_of(line: str, vehicle: Vehicle) -> str:
    """The letters of a line in the vehicle's code; "" where none is written."""
    code = vehicle.known["colours"]
    if code == "not written":
        return ""
    column = 0 if code == "BS AU 7" else 1
    table = trade().colours
    if line in table:
        return table[line][column]
    fuse = next((p for p in vehicle.parts if p.kind == "fuse" and p.gives["out"] == line), None)
    if fuse is None:
        return ""
    named = (name for name, to in vehicle.lines.items() if to == line and name in table and name != "battery")
    fed = next(named, None)
    source = vehicle.line(fuse.takes["in"])
    key = fed or ("supply of battery" if source.startswith("battery") else f"supply of {source}")
    return table[key][column] if key in table else table.get(source, ("", ""))[column]

