"""Names of a harness: one set for parts, connectors, splices and earths, since runs mix them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tracer.errors import did_you_mean
from tracer.harness.devices import Joint
from tracer.harness.file.nodes import Notes, TextNode, clip
from tracer.harness.file.sections import Context, Items
from tracer.harness.model import Control, Part


def check_names(sections: Mapping[str, Items], ctx: Context) -> None:
    """Note names that are used twice or differ only in capitals."""
    seen: dict[str, tuple[str, str, TextNode]] = {}
    for section, what in (("parts", "part"), ("connectors", "connector"), ("splices", "splice"),
                          ("earths", "earth")):
        for name, (key, _) in sections[section].items():
            first = seen.setdefault(name.lower(), (what, name, key))
            if first[2] is key:
                continue
            where = f"line {first[2].mark.line}"
            if first[1] == name:
                ctx.notes.add(key.mark, f"the {what} “{clip(name)}” has the name of {_a(first[0])} ({where})",
                              "parts, connectors, splices and earths need different names")
            else:
                ctx.notes.add(key.mark, f"“{clip(name)}” and “{clip(first[1])}” ({where}) differ only in capitals",
                              "use one spelling, or two different names")
    for earth in ctx.earths.values():
        if earth.body is not None and earth.body.lower() in seen:
            ctx.notes.add(earth.mark, f"the body “{earth.body}” has the name of {_a(seen[earth.body.lower()][0])}",
                          "give the body another name")
    _check_lamp_names(ctx)
    _check_other_names({n: owner for n, (_, owner, _) in seen.items()}, ctx.parts.values(), ctx.notes)
    spelt: dict[str, str] = {}
    for name, (key, _) in sections["controls"].items():
        twin = spelt.setdefault(name.lower(), name)
        if twin != name:
            ctx.notes.add(key.mark, f"the controls “{clip(name)}” and “{clip(twin)}” differ only in capitals",
                          "use two different names")
    _check_other_names(spelt, ctx.controls.values(), ctx.notes)


def _check_other_names(owners: Mapping[str, str], things: Iterable[Part | Control], notes: Notes) -> None:
    """Note an `also` that names something else: what people say must mean one thing."""
    owners = dict(owners)
    for thing in things:
        for other in thing.also:
            owner = owners.setdefault(other.lower(), thing.name)
            if owner != thing.name:
                notes.add(thing.mark, f"{thing.name}: also “{clip(other)}” already means {owner}")


def _a(what: str) -> str:
    return f"an {what}" if what == "earth" else f"a {what}"


def _check_lamp_names(ctx: Context) -> None:
    owners: dict[str, str] = {}
    for part in ctx.parts.values():
        for lamp in part.lamps:
            first = owners.setdefault(lamp.lamp, part.name)
            if first != part.name:
                ctx.notes.add(part.mark, f"{part.name}: a lamp “{lamp.lamp}” is already in {first}",
                              "rename the part or the lamp")


def check_devices(joints: Iterable[Joint], ctx: Context) -> None:
    """Note parts whose inner devices would bear the name of another part's, or of a joint."""
    owners = {joint.name: "a connector or an earth" for joint in joints}
    for part in ctx.parts.values():
        for device in part.devices:
            if device.name in owners:
                ctx.notes.add(part.mark, f"{part.name}: “{device.name}” is already a name in {owners[device.name]}",
                              "rename the part")
                break
        owners.update((d.name, part.name) for d in part.devices)


def unknown_point(name: str, ctx: Context) -> str:
    """A hint for an owner of terminals that does not exist."""
    if name in ctx.removed:
        return "an overlay removes it; remove or re-route this wire as well"
    return did_you_mean(name, [*ctx.parts, *ctx.connectors, *ctx.splices, *ctx.earths, *sorted(ctx.broken)])
