"""Faults drawn by their physics: what breaks, where, and how badly, on any vehicle.

Severities are continuous (log-uniform resistances). The weights of the classes are judgement, flatter than life so
that rare classes turn up; the ideal observer knows them.

Which repairs are right ("keys"): those that name the element in which the fault sits. A wire's own damage: that wire.
A contact: its way, bullet, clip, holder, mounting or switch. Whoever renews a wire remakes both its ends: a leg of a
splice is cured by remaking the splice or by that wire, an eyelet by itself, by its earth point or by that wire, a
push-on terminal by itself, by that wire or by the part it came off. Nothing of that holds the other way round: no
remade splice cures a wire. Anything in a holder also by the whole unit dried and cleaned; bad
contact or crust in a plug also by the whole plug cleaned. Two wires rubbed together: by parting these two, or by
either of them. Ways or feeds exchanged: by changing back that pair, in the plug, at the unit or at two
lamps, wherever that undoes the exchange.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tests.bench.truth.circuit import INF, Edit, Netlist, Path, Resistance
from tests.bench.truth.vehicle import Segment

Key = tuple[str, ...]


@dataclass(frozen=True)
class Fault:
    """One fault. `cures`: the right repairs, the most proper first; `seen`: things on which it shows to the eye;
    `ends`: wires that are bad where they end, and there alone, each with that end; `two`: where two things are wrong,
    the right repairs of each."""

    kind: str
    says: str
    edit: Edit
    cures: tuple[Key, ...]
    seen: tuple[Key, ...] = ()
    ends: tuple[tuple[str, str], ...] = ()
    two: tuple[tuple[Key, ...], ...] = ()

    @property
    def things(self) -> tuple[tuple[Key, ...], ...]:
        """The right repairs of each thing that is wrong."""
        return self.two or (self.cures,)


Maker = Callable[[random.Random], Fault]


def wire_key(a: str, b: str) -> Key:
    return ("wire", *sorted((a, b)))


def _joined(one: Segment, two: Segment) -> Key:
    colours = sorted({c for c in (one.colour, two.colour) if c})
    if not colours:
        return ("joined wires", *sorted(n.rstrip("'") for n in (one.a, one.b, two.a, two.b)))
    return ("joined", one.loom, *colours)


def log_uniform(rng: random.Random, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def _bad(rng: random.Random, open_share: float = 0.0) -> float:
    return INF if rng.random() < open_share else log_uniform(rng, 0.05, 1000.0)


def ohms(ohm: float) -> str:
    return "open" if ohm == INF else f"{ohm:.3g} Ω"


def _of(net: Netlist, *kinds: str) -> list[Resistance]:
    return [r for r in net.resistances.values() if r.kind in kinds]


def worse(
    r: Resistance, kind: str, cures: tuple[Key, ...], open_share: float, seen: tuple[Key, ...] = (), end: str = ""
) -> Maker:
    def make(rng: random.Random) -> Fault:
        ohm = _bad(rng, open_share)
        return Fault(kind, f"{r.name} {ohms(ohm)}", Edit(ohm=((r.name, r.ohm + ohm),)), cures, seen or cures[:1],
                     ((r.name, end),) if end else ())
    return make


def _several(kind: str, found: list[Resistance], cures: tuple[Key, ...], says: str, end: str) -> Maker:
    def make(rng: random.Random) -> Fault:
        ohm = _bad(rng, 0.2)
        edit = Edit(ohm=tuple((r.name, r.ohm + ohm * rng.uniform(0.7, 1.4)) for r in found))
        return Fault(kind, f"{says} {ohms(ohm)}", edit, cures, cures[:1], tuple((r.name, end) for r in found))
    return make


def _lamp_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for x in net.lamps.values():
        lamp: tuple[Key, ...] = (("lamp", x.bulb),)
        yield "filament broken", lambda _, x=x, c=lamp: Fault(  # type: ignore[misc]
            "filament broken", f"{x.name} filament broken", Edit(lamp=((x.name, 0.0),)), c, c)
        if not x.law.led and len(net.bulbs[x.bulb]) == 1:
            watts = x.law.v0 * x.law.a0

            def wrong(rng: random.Random, x=x, c=lamp, watts=watts) -> Fault:  # type: ignore[no-untyped-def]
                factor = rng.uniform(3.0, 5.5) if watts < 12 else rng.uniform(0.17, 0.45)
                return Fault("wrong wattage", f"{x.name} of {factor * watts:.0f} W",
                             Edit(lamp=((x.name, factor),)), c, c)
            yield "wrong wattage", wrong
    for bulb, own in net.bulbs.items():
        if len(own) == 2:

            def bridged(rng: random.Random, own=own, bulb=bulb) -> Fault:  # type: ignore[no-untyped-def]
                ohm = log_uniform(rng, 0.05, 100.0)
                keys: tuple[Key, ...] = (("lamp", bulb),)
                path = Path(own[0].a, own[1].a, ohm, f"lamp {bulb}")
                return Fault("filaments bridged", f"{bulb} bridged by {ohms(ohm)}", Edit(add=(path,)), keys, keys)
            yield "filaments bridged", bridged


def _holder_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    bulb_at = {x.a: x.bulb for x in net.lamps.values()} | {x.b: x.bulb for x in net.lamps.values()}
    for r in _of(net, "holder", "shell"):
        bulb = next(bulb_at[n] for n in (r.b, r.a) if n in bulb_at)
        part = next(x.part for x in net.lamps.values() if x.bulb == bulb)
        keys: tuple[Key, ...] = (("holder", bulb), ("unit", part))
        yield "holder corroded", worse(r, "holder corroded", keys, 0.15)
    for r in _of(net, "mounting"):
        part = r.name.removesuffix(" mounting")
        yield "holder corroded", worse(r, "holder corroded", (("mounting", part),), 0.15, (("part", part),))


def _wire_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for r in _of(net, "wire"):
        key = (wire_key(r.a, r.b),)
        yield "wire broken", lambda _, r=r, k=key: Fault(  # type: ignore[misc]
            "wire broken", f"{r.name} broken", Edit(ohm=((r.name, INF),)), k, k)
        yield "wire resistance", worse(r, "wire resistance", key, 0.0)
        if _is_strap(net, r):
            yield "strap bad", worse(r, "strap bad", key, 0.2)
        for node in (r.a, r.b):
            owner, _, terminal = node.rpartition(".")
            if owner in net.vehicle.parts and terminal not in ("+", "-"):
                off: tuple[Key, ...] = (("terminal", node), *key, ("part", owner), ("clip", owner), ("unit", owner))
                yield "terminal off", lambda _, r=r, n=node, k=off: Fault(  # type: ignore[misc]
                    "terminal off", f"push-on terminal off {n}", Edit(ohm=((r.name, INF),)), k, k[:3],
                    ((r.name, n),))
    by_name = {r.name: r for r in _of(net, "wire")}
    segments = dict(zip(by_name, net.vehicle.segments, strict=True))
    for name, s in segments.items():
        yield from _rubbed(net, by_name[name], s, segments)


def _is_strap(net: Netlist, r: Resistance) -> bool:
    """Whether a wire joins two earth points, or one of them to the battery's earthed pole."""
    poles = {b.plus if net.vehicle.positive_earth else b.minus for b in net.batteries}
    points = net.vehicle.bodies.keys()
    return {r.a, r.b} <= points | poles and bool({r.a, r.b} & points)


def _along(net: Netlist, s: Segment) -> list[str]:
    """Ends that stand for a place along a wire: not a splice, where all its wires would have it."""
    return [n for n in (s.a, s.b) if n not in net.vehicle.splices] or [s.a, s.b]


def _side_by_side(net: Netlist, s: Segment, t: Segment) -> bool:
    """Whether two wires of one loom lie beside each other: where both end at one thing or place, or along the loom,
    if both are as long as half a metre."""
    v = net.vehicle
    if {s.a, s.b} & {t.a, t.b}:
        return False

    def ends(x: Segment) -> set[str]:
        owners = {n.rstrip("'").rpartition(".")[0] or n for n in (x.a, x.b)}
        return owners | {f"at {v.places[o]}" for o in owners if v.places.get(o)}

    return bool(ends(s) & ends(t)) or min(s.metres, t.metres) >= 0.5


def _rubbed(net: Netlist, r: Resistance, s: Segment, segments: dict[str, Segment]) -> Iterator[tuple[str, Maker]]:
    key: tuple[Key, ...] = (wire_key(r.a, r.b),)
    metal = [b for b in net.vehicle.bodies.values() if b is not None]
    mates = [x for x in segments.values() if x.loom == s.loom and _side_by_side(net, s, x)]
    earths = [x for x in mates if x.earthwards]
    if not s.earthwards and (metal or earths):

        def short(rng: random.Random) -> Fault:
            ohm = log_uniform(rng, 0.005, 3.0)
            wooden = not metal or (earths and s.loom in ("trailer", "caravan", "saloon"))
            if wooden and earths:
                other = rng.choice(earths)
                cures: tuple[Key, ...] = (*key, _joined(s, other), wire_key(other.a, other.b))
                where, to = f"earth wire {other.a} – {other.b}", other.b
            else:
                cures, where, to = key, "body", net.vehicle.metal_near(r.a)
            seen = (*key, cures[-1]) if cures is not key else key  # of two wires both are rubbed
            path = Path(rng.choice(_along(net, s)), to, ohm)
            return Fault("rubbed to earth", f"{r.name} rubbed through to {where}, {ohms(ohm)}", Edit(add=(path,)),
                         cures, seen)
        yield "rubbed to earth", short
    live = [x for x in mates if not x.earthwards]
    if not s.earthwards and live:

        def joined(rng: random.Random) -> Fault:
            other, ohm = rng.choice(live), log_uniform(rng, 0.005, 5.0)
            own = wire_key(other.a, other.b)
            path = Path(rng.choice(_along(net, s)), rng.choice(_along(net, other)), ohm)
            return Fault("wires joined", f"{r.name} on wire {other.a} – {other.b}, {ohms(ohm)}", Edit(add=(path,)),
                         (_joined(s, other), *key, own), (*key, own))
        yield "wires joined", joined


def _plug_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    flipped = net.vehicle.flipped
    for r in _of(net, "way"):
        connector = r.a.rpartition(".")[0]
        keys: tuple[Key, ...] = (("way", r.a), ("connector", connector))
        yield "way bad", worse(r, "way bad", keys, 0.3, (("connector", connector),))
    for r in _of(net, "bullet"):
        yield "bullet bad", worse(r, "bullet bad", (("bullet", r.a),), 0.4, (("connector", r.b),))
    for c in net.vehicle.ways:
        for i, j in net.vehicle.neighbours(c):
            one, two = f"way {c}.{i}", f"way {c}.{j}"

            def side(way: int, outer: bool, c=c) -> str:  # type: ignore[no-untyped-def]
                return f"{c}.{way}" + ("'" if outer != ((c, way) in flipped) else "")

            def leak(rng: random.Random, c=c, i=i, j=j, side=side) -> Fault:  # type: ignore[no-untyped-def]
                ohm, at = log_uniform(rng, 0.3, 300.0), rng.choices((0, 1, 2), (0.4, 0.4, 0.2))[0]
                halves = [h for h in (False, True) if at == 2 or at == int(h)]
                paths = tuple(Path(side(i, h), side(j, h), ohm * len(halves)) for h in halves)
                where = ("first half", "second half", "both halves")[at]
                keys: tuple[Key, ...] = (("connector", c), ("way", f"{c}.{i}"), ("way", f"{c}.{j}"))
                return Fault("leak between ways", f"{c} ways {i} and {j}, {ohms(ohm)}, on {where}", Edit(add=paths),
                             keys[:1], keys[:1])
            yield "leak between ways", leak
            same = ((c, i) in flipped) == ((c, j) in flipped)
            crossed = Edit(swap=(((one, 1), (two, 1 if same else 0)),))
            swap: tuple[Key, ...] = (("swap", c, *sorted((str(i), str(j)))), *_same_exchange(net, c, i, j))
            yield "ways crossed", lambda _, c=c, i=i, j=j, e=crossed, k=swap: Fault(  # type: ignore[misc]
                "ways crossed", f"{c} ways {i} and {j} crossed", e, k, (("connector", c),))


def _same_exchange(net: Netlist, c: str, i: int, j: int) -> Iterator[Key]:
    """Exchanges at the next part, or at the next two, that undo crossed ways, because one wire leads from each way to
    it."""
    for prime in ("", "'"):
        ends = []
        for w in (i, j):
            at = [s for s in net.vehicle.segments if f"{c}.{w}{prime}" in (s.a, s.b)]
            ends.append({s.b if s.a == f"{c}.{w}{prime}" else s.a for s in at} if len(at) == 1 else set())
        for one in ends[0]:
            for two in ends[1]:
                p, _, t = one.rpartition(".")
                q, _, u = two.rpartition(".")
                if p == q and p in net.vehicle.parts:
                    yield ("swap", p, *sorted((t, u)))
                elif {p, q} <= net.vehicle.parts.keys():
                    yield ("feeds", *sorted((one, two)))


def _joint_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    wires = _of(net, "wire")
    for point, body in net.vehicle.bodies.items():
        at = [r for r in wires if point in (r.a, r.b)]
        hung = [r for r in _of(net, "mounting") if r.b == point]
        keys: tuple[Key, ...] = (("earth", point),)
        if body is not None and (at or hung):
            yield "earth point bad", worse(net.resistances[f"earth {point}"], "earth point bad", keys, 0.2)
        elif at:
            yield "earth point bad", _several("earth point bad", at, keys, f"{point}, every eyelet", point)
        if len(at) + len(hung) > 1:
            for r in at:
                eyelet: Key = ("eyelet", point, (r.b if r.a == point else r.a).rstrip("'"))
                yield "eyelet bad", worse(r, "eyelet bad", (*keys, eyelet, wire_key(r.a, r.b)), 0.2, end=point)
    for splice in net.vehicle.splices:
        at = [r for r in wires if splice in (r.a, r.b)]
        keys = (("splice", splice),)
        for r in at:
            yield "splice leg bad", worse(r, "splice leg bad", (*keys, wire_key(r.a, r.b)), 0.25, end=splice)
        if at:
            yield "splice bad", _several("splice bad", at, keys, f"{splice}, every leg", splice)


def _part_faults(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for r in net.resistances.values():
        part = r.name.rsplit(" ", 1)[0]
        keys: tuple[Key, ...] = (("part", part),)
        if r.kind == "switch":
            yield "switch bad", worse(r, "switch bad", keys, 0.4)
            if r.contact is not None and r.contact.kind == "switch":
                yield "switch welded", stuck(r, "switch welded", keys, True)
                if net.vehicle.controls[r.contact.by].sprung and not part.startswith(r.contact.by):
                    yield "switch set wrong", _set_wrong(r, part)
        elif r.kind == "relay":
            yield "relay contact stuck", stuck(r, "relay contact stuck", keys, True)
            yield "relay contact stuck", stuck(r, "relay contact stuck", keys, False)
        elif r.kind == "coil" and r.name.endswith("coil"):
            yield "relay coil open", lambda _, r=r, k=keys: Fault(  # type: ignore[misc]
                "relay coil open", f"{r.name} open", Edit(ohm=((r.name, INF),)), k, ())
            yield "relay coil bad", _weak_coil(r, keys)
        elif r.kind == "flasher" and r.name.endswith("contact"):
            yield "flasher dead", stuck(r, "flasher dead", keys, False)
        elif r.kind == "clip":
            yield "fuse clip bad", worse(r, "fuse clip bad", (("clip", part),), 0.3, (("fuse", part),))
        elif r.kind == "fuse":
            fuse: tuple[Key, ...] = (("fuse", r.name),)
            yield "fuse blown once", lambda _, r=r, k=fuse: Fault(  # type: ignore[misc]
                "fuse blown once", f"{r.name} blown", Edit(ohm=((r.name, INF),)), k, k)
    for p in net.vehicle.parts.values():
        if p.kind == "lamp unit":
            yield from _exchanged(net, p.name)

    def flat(rng: random.Random) -> Fault:
        emf, ohm = rng.uniform(0.6, 0.95), log_uniform(rng, 0.02, 0.5) * net.volts / 12
        keys: tuple[Key, ...] = tuple(("part", b.name) for b in net.batteries)
        says = f"battery at {emf:.0%}, {ohms(ohm)} inside"
        return Fault("battery flat", says, Edit(emf=emf, series_ohm=ohm), keys)
    yield "battery flat", flat


def stuck(r: Resistance, kind: str, cures: tuple[Key, ...], closed: bool) -> Maker:
    says = f"{r.name} stays {'closed' if closed else 'open'}"
    return lambda _: Fault(kind, says, Edit(stuck=((r.name, closed),)), cures, ())


def _weak_coil(r: Resistance, cures: tuple[Key, ...]) -> Maker:
    """Turns that are shorted, down to a third of the winding, or a corroded end, up to ten times what it has."""
    def make(rng: random.Random) -> Fault:
        ohm = r.ohm * log_uniform(rng, 0.33, 10.0)
        return Fault("relay coil bad", f"{r.name} of {ohms(ohm)}", Edit(ohm=((r.name, ohm),)), cures, ())
    return make


def _set_wrong(r: Resistance, part: str) -> Maker:
    """A switch that its pedal does not reach, or does not let go of; a new one is set when it is fitted."""
    def make(rng: random.Random) -> Fault:
        closed = rng.random() < 0.5
        says = f"{r.name} is set wrong and stays {'closed' if closed else 'open'}"
        return Fault("switch set wrong", says, Edit(stuck=((r.name, closed),)), (("adjusted", part), ("part", part)),
                     (("part", part),))
    return make


def _exchanged(net: Netlist, part: str) -> Iterator[tuple[str, Maker]]:
    feeds = [r for r in _of(net, "wire") if r.b.rpartition(".")[0] == part and not r.b.endswith(".earth")]
    for k, one in enumerate(feeds):
        for two in feeds[k + 1:]:
            if one.b == two.b:
                continue
            keys: list[Key] = [("swap", part, *sorted(x.b.rpartition(".")[2] for x in (one, two)))]
            c, _, i = one.a.rstrip("'").rpartition(".")
            d, _, j = two.a.rstrip("'").rpartition(".")
            if c == d and c in net.vehicle.ways:
                keys.append(("swap", c, *sorted((i, j))))
            edit = Edit(swap=(((one.name, 1), (two.name, 1)),))
            yield "feeds exchanged", lambda _, e=edit, q=tuple(keys), a=one.b, b=two.b: Fault(  # type: ignore[misc]
                "feeds exchanged", f"feeds of {a} and {b} exchanged", e, q, (("part", part),))


WEIGHTS = {
    "filament broken": 15, "wrong wattage": 4, "filaments bridged": 4, "holder corroded": 7, "wire broken": 6,
    "wire resistance": 6, "terminal off": 5, "rubbed to earth": 6, "wires joined": 4, "way bad": 9, "bullet bad": 12,
    "leak between ways": 7, "ways crossed": 4, "earth point bad": 10, "eyelet bad": 4, "splice leg bad": 5,
    "splice bad": 3, "switch bad": 7, "switch welded": 2, "switch set wrong": 2, "relay contact stuck": 3,
    "relay coil open": 2, "relay coil bad": 2, "strap bad": 3, "flasher dead": 2, "fuse clip bad": 4,
    "fuse blown once": 5, "feeds exchanged": 3, "battery flat": 5,
}


def makers(net: Netlist) -> dict[str, list[Maker]]:
    """Everything that can break on a vehicle, by class."""
    out: dict[str, list[Maker]] = {}
    for source in (_lamp_faults, _holder_faults, _wire_faults, _plug_faults, _joint_faults, _part_faults):
        for kind, maker in source(net):
            out.setdefault(kind, []).append(maker)
    return out
