"""In what one vehicle's wiring differs from the harness file, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from tracer.harness.devices import Filament, LedLaw
from tracer.harness.model import Harness, Part, Wire


def differences(filed: Harness, vehicle: Harness) -> tuple[str, ...]:
    """What the harness of the vehicle has more, less or otherwise than the file, a line each."""
    out: list[str] = []
    if (filed.system_v, filed.positive_earth) != (vehicle.system_v, vehicle.positive_earth):
        earth = "positive" if vehicle.positive_earth else "negative"
        out.append(f"system: {vehicle.system_v:g} V {earth} earth")
    for what, before, now in (
        ("part", filed.parts, vehicle.parts), ("connector", filed.connectors, vehicle.connectors),
        ("splice", filed.splices, vehicle.splices), ("earth point", filed.earths, vehicle.earths),
        ("control", filed.controls, vehicle.controls),
    ):
        out += _entries(what, before, now)
    theirs, own = Counter(map(_say_wire, filed.wires)), Counter(map(_say_wire, vehicle.wires))
    out += [f"wire taken out: {w}" for w in (theirs - own).elements()]
    out += [f"wire added: {w}" for w in (own - theirs).elements()]
    return tuple(out)


def _entries(what: str, before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    out = [f"{what} taken out: {name}" for name in before if name not in now]
    for name, entry in now.items():
        if name not in before:
            kind = f" ({entry.kind})" if isinstance(entry, Part) else ""
            place = f", {entry.place}" if getattr(entry, "place", "") else ""
            out.append(f"{what} added: {name}{kind}{place}")
        elif entry != before[name]:
            changed = _lamps(before[name], entry) if isinstance(entry, Part) else []
            out += changed or [f"{what} changed: {name}"]
    return out


def _lamps(before: Part, now: Part) -> list[str]:
    """Lamps of one part that are fitted otherwise."""
    old = {f.lamp: _say_lamp(f) for f in before.lamps}
    new = {f.lamp: _say_lamp(f) for f in now.lamps}
    out = [f"{lamp}: no such lamp" for lamp in old if lamp not in new]
    for lamp, said in new.items():
        if lamp not in old:
            out.append(f"{lamp}: added, {said}")
        elif said != old[lamp]:
            out.append(f"{lamp}: {said} instead of {old[lamp]}")
    return out


def _say_lamp(filament: Filament) -> str:
    return f"{'LED' if isinstance(filament.law, LedLaw) else 'filament'} {filament.law.watts:g} W"


def _say_wire(wire: Wire) -> str:
    return ", ".join(filter(None, [" > ".join(wire.run), f"{wire.section_mm2:g} mm²", wire.colour]))
