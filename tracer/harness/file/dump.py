"""A harness back to the text of its file: what `harness_text` reads gives the same harness again."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from tracer import standards
from tracer.harness.model import BODY, Connector, Control, EarthPoint, Harness, Part, Splice, Wire
from tracer.harness.part_kinds import KINDS

_UNIT: Final = {"voltage": "V", "current": "A", "power": "W", "resistance": "ohm", "length": "m",
                "section": "mm²", "duration": "min", "temperature": "°C"}
# What a plain YAML scalar may consist of here without any risk of being read as something else.
PLAIN = re.compile(r"[\w(][\w /+()²–.;°-]*(?<! )")
RUN_PLAIN = re.compile(r"[\w(][\w /+()²–.;°>-]*(?<! )")


def dump_harness(harness: Harness) -> str:
    """The text of a harness file. Marks and comments are lost; everything else reads back equal."""
    earth = "positive" if harness.positive_earth else "negative"
    lines = [f"harness: {plain_or_quoted(harness.title)}", f"system: {harness.system_v:g} V {earth} earth"]
    if harness.vehicle:
        one = len(harness.vehicle) == 1
        lines.append(f"vehicle: {plain_or_quoted(harness.vehicle[0]) if one else _list(harness.vehicle)}")
    if harness.ignition:
        lines.append(f"ignition: {plain_or_quoted(harness.ignition)}")
    if harness.traffic:
        lines.append(f"traffic: {plain_or_quoted(harness.traffic)}")
    if harness.colour_code:
        lines.append(f"colours: {harness.colour_code}")
    lines += _section("controls", {n: _control(c) for n, c in harness.controls.items()})
    lines += _section("parts", {n: _part(p) for n, p in harness.parts.items()})
    lines += _section("connectors", {n: _connector(c) for n, c in harness.connectors.items()})
    lines += _section("splices", {n: _place(s) for n, s in harness.splices.items()})
    lines += _section("earths", {n: _place(e) for n, e in harness.earths.items()})
    lines += ["wires:" if harness.wires else "wires: []"]
    lines += [f"  - {dump_wire(w, i)}" for i, w in enumerate(harness.wires, 1)]
    if harness.base_rates:
        lines += ["base rates:", *(f"  {k}: {_plain_number(v)}" for k, v in harness.base_rates.items())]
    return "\n".join(lines) + "\n"


def plain_or_quoted(text: str, plain: re.Pattern[str] = PLAIN) -> str:
    """The text as a YAML scalar: plain where nothing could be misread, else in quotes."""
    if plain.fullmatch(text):
        return text
    return "'" + text.replace("'", "''") + "'"


def _table(entries: Mapping[str, str]) -> str:
    return "{" + ", ".join(f"{plain_or_quoted(k)}: {v}" for k, v in entries.items()) + "}"


def _list(texts: Sequence[str]) -> str:
    return "[" + ", ".join(plain_or_quoted(t) for t in texts) + "]"


def _plain_number(value: float) -> str:
    return f"{value:.0f}" if value == int(value) and abs(value) < 1e15 else repr(value)


def _number(value: float, dimension: str) -> str:
    return f"{_plain_number(value)} {_UNIT[dimension]}"


def _section(name: str, entries: Mapping[str, str]) -> list[str]:
    if not entries:
        return [] if name != "parts" else ["parts: {}"]
    return [f"{name}:", *(f"  {plain_or_quoted(n)}: {v}" for n, v in entries.items())]


def _control(control: Control) -> str:
    out = {"positions": _list(control.positions)}
    if control.assumed != control.positions[0]:
        out["assumed"] = plain_or_quoted(control.assumed)
    if control.sprung:
        out["sprung"] = _list(control.springs) if control.springs else "yes"
    if control.drives is not None:
        out["drives"] = _list(control.drives)
    if control.rolls is not None:
        out["rolls"] = _list(control.rolls)
    if control.minutes != 0.2:
        out["minutes"] = _number(control.minutes, "duration")
    if control.also:
        out["also"] = _list(control.also)
    return out["positions"] if len(out) == 1 else _table(out)


def _where(thing: Part | Connector | Splice | EarthPoint) -> dict[str, str]:
    out = {}
    if thing.place:
        out["place"] = plain_or_quoted(thing.place)
    if thing.access_min:
        out["access"] = _number(thing.access_min, "duration")
    return out


def _part(part: Part) -> str:
    out = {"kind": part.kind}
    for key, setting in KINDS[part.kind].settings.items():
        value = part.settings.get(key)
        if value is not None and value != setting.default:
            out[key] = _setting(value, setting.type)
    out.update(_where(part))
    if part.also:
        out["also"] = _list(part.also)
    if not part.traced:
        out["traced"] = "no"
    return _table(out)


def _setting(value: Any, kind: str) -> str:
    if kind in _UNIT:
        return _number(value, kind)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return _list(value)
    if kind == "steps":
        return _table({k: _number(v, "resistance") for k, v in value.items()})
    if isinstance(value, Mapping):
        return _table({k: plain_or_quoted(v) if isinstance(v, str) else _list(v) for k, v in value.items()})
    return plain_or_quoted(str(value))


def _connector(connector: Connector) -> str:
    standard = next((s for s, f in standards.SOCKETS.items() if f == connector.functions), None)
    out = {"standard": standard} if standard else {"ways": str(connector.ways)}
    if connector.kind != "plug":
        out = {"kind": connector.kind, **out}
    if connector.rows != 1:
        out["rows"] = str(connector.rows)
    return _table({**out, **_where(connector)})


def _place(thing: Splice | EarthPoint) -> str:
    out = _where(thing)
    if isinstance(thing, EarthPoint) and thing.body != BODY:
        out["body"] = "none" if thing.body is None else plain_or_quoted(thing.body)
    if set(out) <= {"place"}:
        return out.get("place", "''")
    return _table(out)


def dump_wire(wire: Wire, position: int, usual: Mapping[str, str] | None = None) -> str:
    """One wire as an entry of the list of wires.

    Args:
        position: In the list, from 1: a wire that is named after it needs no name.
        usual: Keys with the value that need not be written, because it is usual in the file.
    """
    lengths = [s.length_m for s in wire.segments]
    out = {"run": plain_or_quoted(" > ".join(wire.run), RUN_PLAIN), "size": _number(wire.section_mm2, "section")}
    if wire.colour:
        out["colour"] = plain_or_quoted(wire.colour)
    total = wire.length_m if [wire.length_m / len(lengths)] * len(lengths) == lengths else None
    if total is None:
        out["length"] = "[" + ", ".join(_number(x, "length") for x in lengths) + "]"
    else:
        out["length"] = _number(total, "length")
    if wire.celsius != 20.0 or "temperature" in (usual or {}):
        out["temperature"] = _number(wire.celsius, "temperature")
    if wire.flexes or "flexes" in (usual or {}):
        out["flexes"] = "yes" if wire.flexes else "no"
    if not wire.traced or "traced" in (usual or {}):
        out["traced"] = "yes" if wire.traced else "no"
    if wire.others:
        runs = [plain_or_quoted(" > ".join(r), RUN_PLAIN) for r in wire.others]
        out["or"] = runs[0] if len(runs) == 1 else "[" + ", ".join(runs) + "]"
    if wire.loom:
        out["loom"] = plain_or_quoted(wire.loom)
    if wire.name != f"w{position}":
        out["name"] = plain_or_quoted(wire.name)
    return _table({k: v for k, v in out.items() if (usual or {}).get(k) != v})
