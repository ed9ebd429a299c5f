"""A whole vehicle's lighting as harness-file text, for measuring speed. Everything in it is invented.

    python tests/bench/generated.py [--halves 2]

One half has about 500 lengths of wire, 60 lamps and 40 switches. Two halves share battery, body and
controls: twice the wires and lamps on one body.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

# control → positions; the last twelve states of `STATES` move them
CONTROLS: Mapping[str, Sequence[str]] = {
    "ignition": ("off", "on"), "lamp switch": ("off", "side", "head"), "dip switch": ("dipped", "main"),
    "brake pedal": ("released", "pressed"), "gear": ("neutral", "forward", "reverse"),
    "indicator stalk": ("off", "left", "right"), "hazard switch": ("off", "on"),
    "front fog switch": ("off", "on"), "rear fog switch": ("off", "on"), "driving lamp switch": ("off", "on"),
    "work lamp switch": ("off", "on"), "marker switch": ("off", "on"), "plate switch": ("off", "on"),
    "cab lamp switch": ("off", "on"), "left front door": ("shut", "ajar"), "right front door": ("shut", "ajar"),
    "left rear door": ("shut", "ajar"), "right rear door": ("shut", "ajar"), "boot lid": ("shut", "ajar"),
    "bonnet": ("shut", "ajar"), "glove box": ("shut", "ajar"), "parking brake": ("released", "applied"),
    "horn push": ("released", "pressed"), "window heater switch": ("off", "on"), "wiper switch": ("off", "on"),
    "blower switch": ("off", "on"), "seat heater switch": ("off", "on"), "accessory switch": ("off", "on"),
}
# consumer → (watts, control, position, place); each has a switch and a fuse of its own
CONSUMERS: Mapping[str, tuple[int, str, str, str]] = {
    "left mirror heater": (20, "window heater switch", "on", "left front door"),
    "right mirror heater": (20, "window heater switch", "on", "right front door"),
    "wiper": (50, "wiper switch", "on", "engine bay"), "washer pump": (30, "wiper switch", "on", "left front"),
    "rear wiper": (40, "wiper switch", "on", "left rear"),
    "rear washer pump": (30, "wiper switch", "on", "right rear"),
    "blower": (60, "blower switch", "on", "engine bay"), "rear blower": (40, "blower switch", "on", "roof"),
    "left seat heater": (40, "seat heater switch", "on", "left front door"),
    "right seat heater": (40, "seat heater switch", "on", "right front door"),
    "left socket": (30, "accessory switch", "on", "left rear door"),
    "right socket": (30, "accessory switch", "on", "right rear door"),
    "refrigerator": (60, "accessory switch", "on", "roof"), "radio": (20, "accessory switch", "on", "instruments"),
    "reversing sounder": (5, "gear", "reverse", "right rear"),
    "parking sounder": (5, "parking brake", "applied", "engine bay"),
}
PLUG_WAYS = 6
_SPRUNG = ("brake pedal", "horn push")
STATES: Sequence[Mapping[str, str]] = (
    {},
    {"lamp switch": "side"},
    {"lamp switch": "head"},
    {"lamp switch": "head", "dip switch": "main", "driving lamp switch": "on"},
    {"brake pedal": "pressed"},
    {"gear": "reverse"},
    {"indicator stalk": "left"},
    {"indicator stalk": "right", "lamp switch": "side"},
    {"hazard switch": "on", "ignition": "off"},
    {"lamp switch": "head", "front fog switch": "on", "rear fog switch": "on"},
    {"ignition": "off", "left front door": "ajar", "right rear door": "ajar", "boot lid": "ajar"},
    {"lamp switch": "side", "marker switch": "on", "work lamp switch": "on", "brake pedal": "pressed"},
)


@dataclass(frozen=True)
class Load:
    """A terminal to be fed, at a place."""

    node: str
    place: str


@dataclass
class _Writer:
    """Collects the lines of one half; `p` goes before every name, so that two halves do not clash."""

    p: str
    parts: list[str] = field(default_factory=list)
    splices: list[str] = field(default_factory=list)
    wires: list[str] = field(default_factory=list)
    ways: dict[str, int] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    fuses: int = 0

    def part(self, name: str, rest: str) -> str:
        self.parts.append(f"  {self.p}{name}: {{{rest}}}")
        return self.p + name

    def splice(self, place: str) -> str:
        name = f"{self.p}S{len(self.splices) + 1}"
        self.splices.append(f"  {name}: {place}")
        return name

    def wire(self, run: str, size: float, loom: str, colour: str = "BK") -> None:
        self.wires.append(f"  - {{run: {run}, size: {size:g} mm², colour: {colour}, loom: {self.p}{loom}}}")

    def fuse(self, supply: str, rating: float, size: float) -> str:
        self.fuses += 1
        name = self.part(f"F{self.fuses}", f"kind: fuse, rating: {rating:g} A, place: fuse box, access: 2 min")
        self.wire(f"{supply} > {name}.in", size, "fuse box", "RD")
        return f"{name}.out"

    def plug(self, place: str) -> tuple[str, int]:
        """The number of the place's present pair of plugs, and its next free way."""
        used = self.ways[place] = self.ways.get(place, -1) + 1
        return f"{self.number(place)}{chr(ord('a') + used // PLUG_WAYS)}", used % PLUG_WAYS + 1

    def way(self, place: str) -> str:
        """The run through the next way of the place's two plugs."""
        plug, way = self.plug(place)
        return f"{self.p}X{plug}.{way} > {self.p}L{plug}.{way}"

    def feed(self, source: str, load: Load, size: float, colour: str) -> None:
        if load.place == "dash":
            self.wire(f"{source} > {load.node}", size, "dash", colour)
        else:
            way = self.way(load.place)
            self.wire(f"{source} > {way} > {load.node}", size, f"{load.place} {way.split('.')[0][-1]}", colour)

    def spread(self, source: str, loads: Sequence[Load], size: float, colour: str) -> None:
        """Feed several loads through a splice."""
        if len(loads) == 1:
            self.feed(source, loads[0], size, colour)
            return
        splice = self.splice("dash")
        self.wire(f"{source} > {splice}", size, "dash", colour)
        for load in loads:
            self.feed(splice, load, size, colour)

    def lamp(self, name: str, lamp: str, place: str) -> Load:
        """A single lamp, earthed at its place."""
        part = self.part(name, f"kind: lamp, lamp: {lamp}, place: {place}, access: 2 min")
        self.earth(part, place)
        return Load(f"{part}.feed", place)

    def unit(self, name: str, lamps: str, place: str) -> str:
        part = self.part(name, f"kind: lamp unit, lamps: {{{lamps}}}, place: {place}, access: 2 min")
        self.earth(part, place)
        return part

    def earth(self, part: str, place: str) -> None:
        plug, way = self.plug(place)
        self.wire(f"{part}.earth > {self.p}L{plug}.{way} > {self.p}E{self.number(place)}", 1.5,
                  f"{place} {plug[-1]}", "BN")

    def number(self, place: str) -> str:
        return self.places.setdefault(place, str(len(self.places) + 1))

    def switch(self, name: str, control: str, contacts: str, place: str = "dash") -> str:
        rest = f"kind: switch, control: {control}, contacts: {{{contacts}}}, place: {place}, access: 4 min"
        return self.part(name, rest)


def _half(p: str, plus: str) -> _Writer:
    w = _Writer(p)
    battery, ignition_feed = w.splice("fuse box"), w.splice("fuse box")
    w.wire(f"{plus} > {battery}", 16, "supply", "RD")
    key = w.switch("ignition switch", "ignition", "on: [30-15]")
    w.wire(f"{battery} > {key}.30", 6, "supply", "RD")
    w.wire(f"{key}.15 > {ignition_feed}", 6, "supply", "BK")
    corners = ("left front", "right front", "left rear", "right rear")
    fronts, rears = corners[:2], corners[2:]

    # lamps at the corners
    headlamp = {c: w.unit(f"{c[:-6]} headlamp", "main + dip: H4", c) for c in fronts}
    front = {c: w.unit(c, "side: R5W, indicator: P21W", c) for c in fronts}
    rear = {c: w.unit(c, "stop + tail: P21/5W, indicator: P21W, reversing: P21W, fog: P21W", c) for c in rears}
    repeater = {c: w.lamp(f"{c[:-6]} repeater", "W5W", c) for c in fronts}

    # side lights: one fuse a side; the lamp switch also feeds headlamps through relays
    lamp_switch = w.switch("lamp switch", "lamp switch", "side: [30-58], head: [30-58, 30-56]")
    w.wire(f"{battery} > {lamp_switch}.30", 4, "dash", "RD")
    side = w.splice("dash")
    w.wire(f"{lamp_switch}.58 > {side}", 2.5, "dash", "GY")
    for left, here in (("left", ("left front", "left rear")), ("right", ("right front", "right rear"))):
        loads = [Load(f"{front[here[0]]}.side", here[0]), Load(f"{rear[here[1]]}.tail", here[1]),
                 w.lamp(f"{left} number-plate lamp", "C5W", here[1])]
        w.spread(w.fuse(side, 5, 1.5), loads, 1, "GYBK" if left == "left" else "GYRD")
    panel = [w.lamp(f"panel lamp {i}", "2.2 W", "instruments") for i in range(1, 7)]
    w.spread(w.fuse(side, 5, 1.5), [*panel, w.lamp("side light tell-tale", "1.2 W", "instruments")], 0.75, "GYBU")

    # headlamps: one relay for dipped, one for main
    dip = w.switch("dip switch", "dip switch", "dipped: [56-56b], main: [56-56a]")
    w.wire(f"{lamp_switch}.56 > {dip}.56", 1.5, "dash", "WH")
    for beam, terminal, lamp in (("dipped", "56b", "dip"), ("main", "56a", "main")):
        relay = w.part(f"{beam} beam relay", "kind: relay, place: relay box, access: 3 min")
        w.wire(f"{dip}.{terminal} > {relay}.86", 1, "dash", "WHBK")
        w.wire(f"{relay}.85 > {p}E0", 1, "dash", "BN")
        w.wire(f"{battery} > {relay}.30", 4, "supply", "RD")
        out = w.splice("relay box")
        w.wire(f"{relay}.87 > {out}", 4, "relay box", "YE")
        for c in fronts:
            w.feed(w.fuse(out, 10, 1.5), Load(f"{headlamp[c]}.{lamp}", c), 1.5, "YEBK")
        if beam == "main":
            w.feed(out, w.lamp("main beam tell-tale", "1.2 W", "instruments"), 0.75, "WH")

    # stop and reversing
    ignition_fuse = w.splice("fuse box")
    w.wire(f"{w.fuse(ignition_feed, 10, 2.5)} > {ignition_fuse}", 2.5, "fuse box", "BK")
    brake = w.switch("brake switch", "brake pedal", "pressed: [15-54]", "pedal box")
    w.wire(f"{ignition_fuse} > {brake}.15", 1.5, "dash", "BKRD")
    stops = [*(Load(f"{rear[c]}.stop", c) for c in rears), w.lamp("high stop lamp", "P21W", "roof")]
    w.spread(f"{brake}.54", stops, 1.5, "BKYE")
    gear = w.switch("reversing switch", "gear", "reverse: [in-out]", "gearbox")
    w.wire(f"{ignition_fuse} > {gear}.in", 1.5, "gearbox", "BKRD")
    w.spread(f"{gear}.out", [Load(f"{rear[c]}.reversing", c) for c in rears], 1.5, "BU")

    # indicators and hazard warning
    hazard = w.switch("hazard switch", "hazard switch", "off: [15-49], on: [30-49, 49a-L, 49a-R]")
    stalk = w.switch("indicator stalk", "indicator stalk", "left: [49a-L], right: [49a-R]", "steering column")
    w.wire(f"{w.fuse(ignition_feed, 10, 1.5)} > {hazard}.15", 1.5, "dash", "BKGN")
    w.wire(f"{w.fuse(battery, 15, 1.5)} > {hazard}.30", 1.5, "dash", "RDGN")
    flasher = w.part("flasher unit", "kind: flasher unit, works: electronic, load: 47 W, place: dash, access: 4 min")
    w.wire(f"{hazard}.49 > {flasher}.49", 1.5, "dash", "BKVT")
    w.wire(f"{flasher}.49a > {stalk}.49a", 1.5, "dash", "GN")
    w.wire(f"{flasher}.49a > {hazard}.49a", 1.5, "dash", "GN")
    for side_name, terminal in (("left", "L"), ("right", "R")):
        own = [c for c in corners if c.startswith(side_name)]
        joint = w.splice("steering column")
        w.wire(f"{hazard}.{terminal} > {joint}", 1.5, "dash", "GNBK")
        loads = [Load(f"{front[own[0]]}.indicator", own[0]), repeater[own[0]],
                 Load(f"{rear[own[1]]}.indicator", own[1]),
                 w.lamp(f"{side_name} indicator tell-tale", "1.2 W", "instruments")]
        w.wire(f"{stalk}.{terminal} > {joint}", 1.5, "dash", "GNWH")
        for load in loads:
            w.feed(joint, load, 1, "GNBK")

    # further circuits, each with a fuse, a switch and a tell-tale; some through a relay
    for name, control, feed, lamps, relayed in (
        ("front fog", "front fog switch", side, [("left fog lamp", "H3", "left front"),
                                                       ("right fog lamp", "H3", "right front")], True),
        ("driving", "driving lamp switch", side, [("left driving lamp", "H3", "left front"),
                                                                ("right driving lamp", "H3", "right front")], True),
        ("work", "work lamp switch", ignition_feed, [("left work lamp", "H3", "roof"),
                                                             ("right work lamp", "H3", "roof")], True),
        ("marker", "marker switch", battery, [(f"{c} marker", "R5W", c) for c in corners], False),
        ("plate", "plate switch", battery, [("left plate light", "W5W", "left rear"),
                                                  ("right plate light", "W5W", "right rear")], False),
        ("cab", "cab lamp switch", battery, [(f"reading lamp {i}", "W5W", "roof") for i in range(1, 5)], False),
    ):
        loads = [w.lamp(lamp, category, where) for lamp, category, where in lamps]
        switch = w.switch(f"{name} switch", control, "on: [in-out]")
        tell_tale = w.lamp(f"{name} tell-tale", "1.2 W", "instruments")
        if relayed:
            relay = w.part(f"{name} relay", "kind: relay, contacts: change-over, place: relay box, access: 3 min")
            w.wire(f"{w.fuse(feed, 5, 1)} > {switch}.in", 1, "dash", "VT")
            node = w.splice("dash")
            w.wire(f"{switch}.out > {node}", 1, "dash", "VTBK")
            w.wire(f"{node} > {relay}.86", 1, "dash", "VTBK")
            w.wire(f"{relay}.85 > {p}E0", 1, "dash", "BN")
            w.feed(node, tell_tale, 0.75, "VTBK")
            w.wire(f"{w.fuse(battery, 20, 2.5)} > {relay}.30", 2.5, "relay box", "RD")
            w.spread(f"{relay}.87", loads, 2.5, "VTWH")
        else:
            w.wire(f"{w.fuse(feed, 5, 1)} > {switch}.in", 1, "dash", "OG")
            w.spread(f"{switch}.out", [*loads, tell_tale], 1, "OGBK")
    fog = w.switch("rear fog switch", "rear fog switch", "on: [in-out]")
    w.wire(f"{w.fuse(side, 10, 1.5)} > {fog}.in", 1.5, "dash", "YEWH")
    w.spread(f"{fog}.out", [*(Load(f"{rear[c]}.fog", c) for c in rears),
                            w.lamp("rear fog tell-tale", "1.2 W", "instruments")], 1.5, "YEWH")

    # courtesy lamps, earthed by the doors through diodes, each door with its own lamp
    courtesy = w.splice("roof")
    w.wire(f"{w.fuse(battery, 5, 1)} > {courtesy}", 1, "roof", "RDWH")
    common = w.splice("roof")
    for i in (1, 2):
        part = w.part(f"interior lamp {i}", "kind: lamp, lamp: R10W, place: roof, access: 2 min")
        w.wire(f"{courtesy} > {part}.feed", 1, "roof", "RDWH")
        w.wire(f"{part}.earth > {common}", 1, "roof", "BNWH")
    for door in ("left front door", "right front door", "left rear door", "right rear door"):
        switch = w.switch(f"{door} switch", door, "ajar: [in-out]", door)
        part = w.part(f"{door} lamp", f"kind: lamp, lamp: W5W, place: {door}, access: 2 min")
        node = w.splice(door)
        diode = w.part(f"{door} diode", "kind: diode, place: roof, access: 5 min")
        w.wire(f"{common} > {diode}.anode", 1, "roof", "BNWH")
        w.wire(f"{diode}.cathode > {w.way(door)} > {node}", 1, door, "BNWH")
        w.wire(f"{courtesy} > {w.way(door)} > {part}.feed", 1, door, "RDWH")
        w.wire(f"{part}.earth > {node}", 1, door, "BNWH")
        w.wire(f"{node} > {switch}.in", 1, door, "BNWH")
        w.wire(f"{switch}.out > {p}E{w.number(door)}", 1, door, "BN")
    for lid, lamp, category, place in (("boot lid", "boot lamp", "C5W", "left rear"),
                                       ("bonnet", "engine lamp", "W5W", "left front"),
                                       ("glove box", "glove lamp", "W5W", "instruments")):
        switch = w.switch(f"{lid} switch", lid, "ajar: [in-out]", place)
        w.feed(courtesy, Load(f"{switch}.in", place), 1, "RDWH")
        load = w.lamp(lamp, category, place)
        w.wire(f"{switch}.out > {load.node}", 1, place, "RDBK")

    # more consumers
    park = w.switch("parking brake switch", "parking brake", "applied: [in-out]")
    w.wire(f"{w.fuse(ignition_feed, 5, 1)} > {park}.in", 1, "dash", "BKWH")
    w.feed(f"{park}.out", w.lamp("parking brake tell-tale", "1.2 W", "instruments"), 0.75, "BKWH")
    horn = w.part("horn", "kind: load, power: 40 W, place: left front, access: 3 min")
    horn_relay = w.part("horn relay", "kind: relay, place: relay box, access: 3 min")
    push = w.switch("horn button", "horn push", "pressed: [in-out]", "steering column")
    fused = w.splice("relay box")
    w.wire(f"{w.fuse(battery, 10, 1.5)} > {fused}", 1.5, "relay box", "RD")
    w.wire(f"{fused} > {horn_relay}.30", 1.5, "relay box", "RD")
    w.wire(f"{fused} > {horn_relay}.86", 1, "relay box", "RD")
    w.wire(f"{horn_relay}.85 > {push}.in", 1, "dash", "BU")
    w.wire(f"{push}.out > {p}E0", 1, "dash", "BN")
    w.feed(f"{horn_relay}.87", Load(f"{horn}.feed", "left front"), 1.5, "BUYE")
    w.earth(horn, "left front")
    heater = w.part("window heater", "kind: load, power: 90 W, place: right rear, access: 3 min")
    heat_switch = w.switch("window heater switch", "window heater switch", "on: [in-out]")
    w.wire(f"{w.fuse(ignition_feed, 15, 2.5)} > {heat_switch}.in", 2.5, "dash", "BK")
    w.feed(f"{heat_switch}.out", Load(f"{heater}.feed", "right rear"), 2.5, "BKWH")
    w.earth(heater, "right rear")
    for name, (watts, control, position, place) in CONSUMERS.items():
        part = w.part(name, f"kind: load, power: {watts} W, place: {place}, access: 4 min")
        switch = w.switch(f"{name} switch", control, f"{position}: [in-out]")
        w.wire(f"{w.fuse(ignition_feed, 7.5, 1.5)} > {switch}.in", 1.5, "dash", "BKOG")
        w.feed(f"{switch}.out", Load(f"{part}.feed", place), 1.5, "OGWH")
        w.earth(part, place)
    return w


def harness_text(halves: int = 1) -> str:
    """The vehicle as a harness file."""
    made = [_half("" if i == 0 else f"{i + 1} ", "battery.+") for i in range(halves)]
    lines = ["# Invented, for measuring speed: no vehicle is wired like this.",
             f"harness: Invented whole vehicle ({halves} half{'s' * (halves > 1)})",
             "system: 12 V negative earth", "colours: IEC 60757",
             "usual: {size: 1 mm², length: 0.8 m}", "controls:"]
    for name, positions in CONTROLS.items():
        extra = ", assumed: on" if name == "ignition" else ", sprung: yes" if name in _SPRUNG else ""
        lines.append(f"  {name}: {{positions: [{', '.join(positions)}]{extra}}}")
    lines += ["parts:", "  battery: {kind: battery, resistance: 0.01 ohm, place: engine bay}"]
    lines += [line for w in made for line in w.parts]
    lines.append("connectors:")
    for w in made:
        for place, used in w.ways.items():
            for plug in range(used // PLUG_WAYS + 1):
                name = f"{w.number(place)}{chr(ord('a') + plug)}"
                rest = f"{{ways: {PLUG_WAYS}, rows: 2, place: {place}, access: 3 min}}"
                lines += [f"  {w.p}{kind}{name}: {rest}" for kind in "XL"]
    lines.append("splices:")
    lines += [line for w in made for line in w.splices]
    lines += ["earths:", "  EB: {place: engine bay, access: 1 min}"]
    for w in made:
        lines.append(f"  {w.p}E0: {{place: dash, access: 4 min}}")
        lines += [f"  {w.p}E{number}: {{place: {place}, access: 2 min}}" for place, number in w.places.items()]
    lines += ["wires:", "  - {run: battery.- > EB, size: 35 mm², colour: BK, loom: supply}"]
    lines += [line for w in made for line in w.wires]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Print the harness file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--halves", type=int, default=1)
    print(harness_text(parser.parse_args().halves), end="")


if __name__ == "__main__":
    main()
