"""Small vehicles at random, as text of harness files: 6, 12 or 24 V, either pole earthed, bodies that conduct or not.

All of them are invented by a die.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field


@dataclass
class _Draft:
    rng: random.Random
    volts: int
    positive: bool
    metal: bool
    parts: list[str] = field(default_factory=list)
    connectors: list[str] = field(default_factory=list)
    splices: list[str] = field(default_factory=list)
    earths: dict[str, str] = field(default_factory=dict)
    wires: list[str] = field(default_factory=list)
    ways: dict[str, int] = field(default_factory=dict)
    leds: bool = False

    def splice(self, place: str) -> str:
        self.splices.append(f"S{len(self.splices) + 1}: {{place: {place}, access: {self.rng.randint(2, 12)} min}}")
        return f"S{len(self.splices)}"

    def earth(self, place: str) -> str:
        name = f"E{len(self.earths) + 1}"
        body = "" if self.metal else ", body: none"
        self.earths[name] = f"{name}: {{place: {place}, access: {self.rng.randint(1, 5)} min{body}}}"
        return name

    def way(self, connector: str) -> str:
        self.ways[connector] = self.ways.get(connector, 0) + 1
        return f"{connector}.{self.ways[connector]}"

    def run(self, *points: str, size: float = 1.0, length: float = 0.5, loom: str = "main") -> None:
        whole = length * (len(points) - 1)
        self.wires.append(f"{{run: {' > '.join(points)}, size: {size} mm², length: {whole:.1f} m, loom: {loom}}}")

    def part(self, name: str, kind: str, settings: str, place: str, minutes: int) -> None:
        self.parts.append(f"{name}: {{kind: {kind}, {settings}, place: {place}, access: {minutes} min}}")


def random_vehicle(seed: str) -> str:
    """A harness file."""
    rng = random.Random(seed)
    d = _Draft(rng, rng.choice((12, 12, 12, 6, 24)), rng.random() < 0.3, rng.random() < 0.7)
    d.leds = d.volts != 6 and rng.random() < 0.25
    live, dead = ("battery.-", "battery.+") if d.positive else ("battery.+", "battery.-")
    d.parts.append("battery: {kind: battery, place: front, access: 1 min}")
    ground = d.earth("battery strap")
    d.run(dead, ground, size=16.0, loom="battery")
    feed = d.splice("fuse box")
    d.run(live, feed, size=10.0, length=1.0, loom="battery")
    hub = ground if d.metal else _star(d, ground)
    fed = _fuses(d, feed)
    _switches(d, fed)
    trailer = d.metal and rng.random() < 0.3
    for side in ("left", "right"):
        _corner(d, side, hub)
    if rng.random() < 0.6:
        _headlamps(d, fed["head"], hub)
    if trailer:
        _trailer(d)
    return _text(d, seed)


def _star(d: _Draft, ground: str) -> str:
    """Where nothing conducts, all earth wires meet in a splice or in the collecting bolt itself."""
    if d.rng.random() < 0.5:
        return ground
    hub = d.splice("earth loom")
    d.run(hub, ground, size=4.0, length=1.5)
    return hub


def _fuses(d: _Draft, feed: str) -> dict[str, str]:
    """Feed of each function, behind its fuse; some fuses serve several."""
    functions = ["side", "stop", "turn", "head"]
    shared = d.rng.random() < 0.4
    out: dict[str, str] = {}
    groups = [["side"], ["stop", "turn"], ["head"]] if shared else [[f] for f in functions]
    for n, group in enumerate(groups, 1):
        amps = {6: 20, 12: 15, 24: 10}[d.volts] if "head" in group else {6: 20, 12: 10, 24: 8}[d.volts]
        d.parts.append(f"F{n}: {{kind: fuse, rating: {amps} A, place: fuse box}}")
        d.run(feed, f"F{n}.in", size=4.0, length=0.3)
        if len(group) > 1:
            joint = d.splice("fuse box")
            d.run(f"F{n}.out", joint, size=2.5, length=0.2)
            out |= dict.fromkeys(group, joint)
        else:
            out[group[0]] = f"F{n}.out"
    return out


def _switches(d: _Draft, fed: dict[str, str]) -> None:
    d.part("lamp switch", "switch", "control: lamp switch, contacts: {side: [30-58], head: [30-58]}", "dash", 5)
    d.part("brake switch", "switch", "control: brake pedal, contacts: {pressed: [15-54]}", "pedals", 3)
    d.part("stalk", "switch", "control: stalk, contacts: {left: [49a-L], right: [49a-R]}", "column", 8)
    works = "electronic" if d.leds else d.rng.choice(("thermal", "electronic"))
    d.part("flasher unit", "flasher unit", f"works: {works}, load: {'6 W' if d.leds else '42 W'}", "dash", 4)
    d.run(fed["side"], "lamp switch.30", size=2.5)
    d.run(fed["stop"], "brake switch.15", size=1.5)
    d.run(fed["turn"], "flasher unit.49", size=1.5)
    d.run("flasher unit.49a", "stalk.49a", size=1.5)
    tail, stop = d.splice("rear loom"), d.splice("rear loom")
    d.ways["C1"] = 0
    d.run("lamp switch.58", d.way("C1"), tail, size=1.5, length=1.5, loom="rear")
    d.run("brake switch.54", d.way("C1"), stop, size=1.5, length=1.5, loom="rear")
    for side, pole in (("left", "L"), ("right", "R")):
        joint = d.splice("column")
        d.run(f"stalk.{pole}", joint, size=1.5, length=0.3)
        d.run(joint, d.way("C1"), f"{side} rear.indicator", length=1.6, loom="rear")
        d.run(joint, f"{side} front.indicator", length=1.2, loom="front")
        d.run(stop, f"{side} rear.stop", length=0.6, loom="rear")
        d.run(tail, f"{side} rear.tail", length=0.6, loom="rear")
        d.run("lamp switch.58", f"{side} front.side", length=1.4, loom="front")
    d.parts.append("number-plate lamp: {kind: lamp, lamp: " + ("LED 0.5 W" if d.leds else "R5W") + ", place: rear}")
    d.run(tail, "number-plate lamp.feed", length=0.8, loom="rear")
    d.run("number-plate lamp.earth", _joint_for(d, "rear"), length=0.5, loom="rear")


def _joint_for(d: _Draft, place: str) -> str:
    return d.earth(place) if d.metal else "E1" if len(d.earths) == 1 and not _hub(d) else _hub(d) or "E1"


def _hub(d: _Draft) -> str:
    at = next((i for i, s in enumerate(d.splices, 1) if "earth loom" in s), 0)
    return f"S{at}" if at else ""


def _corner(d: _Draft, side: str, hub: str) -> None:
    twin = "LED 3/0.5 W" if d.leds else "P21/5W"
    main, small = ("LED 3 W", "LED 0.5 W") if d.leds else ("P21W", "R5W")
    d.part(f"{side} rear", "lamp unit", f"lamps: {{stop + tail: {twin}, indicator: {main}}}", f"{side} rear", 2)
    d.part(f"{side} front", "lamp unit", f"lamps: {{side: {small}, indicator: {main}}}", f"{side} front", 2)
    for end, loom in (("rear", "rear"), ("front", "front")):
        target = d.earth(f"{side} {end}") if d.metal else hub
        if end == "rear" and d.rng.random() < 0.5:
            d.run(f"{side} {end}.earth", d.way("C2" if side == "left" else "C3"), target, size=1.5, loom=loom)
        else:
            d.run(f"{side} {end}.earth", target, size=1.5, loom=loom)


def _headlamps(d: _Draft, feed: str, hub: str) -> None:
    watts = {6: "30/24 W", 12: "H4", 24: "75/70 W"}[d.volts]
    d.part("head switch", "switch", "control: lamp switch, contacts: {head: [30-56]}", "dash", 5)
    d.part("dip switch", "switch", "control: dip, contacts: {dipped: [56-56b], main: [56-56a]}", "column", 5)
    dip, main = d.splice("front loom"), d.splice("front loom")
    if d.rng.random() < 0.5:
        d.parts.append("dip relay: {kind: relay, place: fuse box, access: 2 min}")
        source = d.splice("fuse box")
        d.run(feed, source, size=4.0, length=0.2)
        d.run(source, "head switch.30", size=2.5)
        d.run(source, "dip relay.30", size=4.0, length=0.3)
        d.run("dip switch.56b", "dip relay.86")
        d.run("dip relay.85", d.earth("fuse box") if d.metal else hub)
        d.run("dip relay.87", dip, size=4.0)
    else:
        d.run(feed, "head switch.30", size=4.0)
        d.run("dip switch.56b", dip, size=4.0)
    d.run("head switch.56", "dip switch.56", size=4.0)
    d.run("dip switch.56a", main, size=4.0)
    for side in ("left", "right"):
        d.part(f"{side} headlamp", "lamp unit", f"lamps: {{main + dip: {watts}}}", f"{side} front", 4)
        d.run(main, f"{side} headlamp.main", size=2.5, loom="front")
        d.run(dip, f"{side} headlamp.dip", size=2.5, loom="front")
        d.run(f"{side} headlamp.earth", d.earth(f"{side} front") if d.metal else hub, size=2.5, loom="front")


def _trailer(d: _Draft) -> None:
    """A wooden trailer behind a 7-pin socket, all of it earthed through way 3."""
    d.connectors.append("X1: {standard: ISO 1724, place: tow bar, access: 0.5 min}")
    tail = next(f"S{i}" for i, s in enumerate(d.splices, 1) if "rear loom" in s)
    back, lights, stops = d.splice("trailer frame"), d.splice("trailer frame"), d.splice("trailer frame")
    d.run(tail, "X1.5", lights, length=2.0, loom="trailer")
    d.run(f"S{int(tail[1:]) + 1}", "X1.6", stops, length=2.0, loom="trailer")
    for side, way in (("left", 1), ("right", 4)):
        twin = "LED 3/0.5 W" if d.leds else "P21/5W"
        main = "LED 3 W" if d.leds else "P21W"
        lamps = f"lamps: {{stop + tail: {twin}, indicator: {main}}}"
        d.part(f"trailer {side}", "lamp unit", lamps, f"trailer {side}", 2)
        joint = f"S{int(tail[1:]) + 2 + (side == 'right')}"
        d.run(joint, f"X1.{way}", f"trailer {side}.indicator", length=2.0, loom="trailer")
        d.run(lights, f"trailer {side}.tail", length=0.6, loom="trailer")
        d.run(stops, f"trailer {side}.stop", length=0.6, loom="trailer")
        d.run(f"trailer {side}.earth", back, length=0.6, loom="trailer")
    d.run(back, "X1.3", d.earth("tow bar"), size=1.5, length=2.0, loom="trailer")


def _text(d: _Draft, seed: str) -> str:
    controls = ["lamp switch: [off, side, head]", "brake pedal: {positions: [released, pressed], sprung: yes}",
                "stalk: [off, left, right]"]
    if any(p.startswith("dip switch") for p in d.parts):
        controls.append("dip: [dipped, main]")
    connectors = [f"{c}: {{ways: {max(n, 2)}, place: loom, access: 3 min}}" for c, n in d.ways.items()] + d.connectors
    sections = {"controls": controls, "parts": d.parts, "connectors": connectors, "splices": d.splices,
                "earths": list(d.earths.values())}
    pole = "positive" if d.positive else "negative"
    lines = [f"harness: Random vehicle {seed}", f"system: {d.volts} V {pole} earth"]
    for name, entries in sections.items():
        lines += [f"{name}:", *(f"  {e}" for e in entries)]
    return "\n".join([*lines, "wires:", *(f"  - {w}" for w in d.wires), ""])
