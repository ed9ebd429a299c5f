"""A vehicle as a netlist: resistances, contacts that move, lamps, diodes, batteries; and what edits it.

Node names are those that people use (`F1.out`, `C1.2` and `C1.2'` for the two sides of a way, `S3`, `E4`), so that a
meter can be put to them. Resistances in Ω.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.bench.truth.laws import Lamp, lamps_of
from tests.bench.truth.vehicle import Part, Vehicle, number

# Resistances of sound joints, from memory: crimped contact 2 to 5 mΩ, switch 5 to 20 mΩ, bulb holder 5 mΩ, eyelet 1.
WAY_OHM, CLIP_OHM, HOLDER_OHM, EYELET_OHM, MOUNT_OHM = 0.003, 0.002, 0.004, 0.0015, 0.002
SWITCH_OHM, RELAY_OHM, FLASHER_OHM = 0.011, 0.008, 0.02
FUSE_V = 0.11  # across a fuse at its rating
REST_V = {6.0: 6.3, 12.0: 12.6, 24.0: 25.2}
BATTERY_OHM = 0.015
COIL_OHM = {6.0: 22.0, 12.0: 85.0, 24.0: 330.0}
PICK_UP, DROP_OUT = 0.6, 0.2  # of the system's volts
INF = math.inf


@dataclass(frozen=True)
class Contact:
    """What opens and closes a resistance. `kind`: switch, relay, flasher, tell-tale, fuse or dimmer."""

    kind: str
    by: str
    closed: frozenset[str] = frozenset()
    makes: bool = True
    rating: float = 0.0
    steps: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Resistance:
    """A linear two-terminal element; `contact` says when it conducts."""

    name: str
    a: str
    b: str
    ohm: float
    contact: Contact | None = None
    kind: str = "joint"  # wire, way, bullet, clip, fuse, holder, shell, mounting, earth, switch, relay, coil, …


@dataclass(frozen=True)
class LampAt:
    """A filament or LED lamp between two inner contacts. `bulb` names the glass it sits in."""

    name: str
    part: str
    bulb: str
    a: str
    b: str
    law: Lamp
    terminal: str = ""


@dataclass(frozen=True)
class DiodeAt:
    name: str
    a: str
    b: str


@dataclass(frozen=True)
class Battery:
    name: str
    plus: str
    minus: str
    rest_v: float
    running_v: float
    ohm: float


@dataclass(frozen=True)
class Coil:
    """What pulls a relay's contacts, or works an electronic flasher unit."""

    resistance: str
    pick_up_v: float
    drop_out_v: float


@dataclass(frozen=True)
class Path:
    """A path that should not be there; `tag` names what takes it away ("unplug C1", "lamp …")."""

    a: str
    b: str
    ohm: float
    tag: str = ""


@dataclass(frozen=True)
class Edit:
    """How a circuit differs from the sound one, by a fault or by a hand.

    Attributes:
        ohm: Element → its resistance when it conducts.
        stuck: Contact → held closed or open for good.
        lamp: Lamp → factor on its current and light; 0 is broken or out.
        swap: Pairs of (element, end) whose ends are exchanged; end 0 or 1.
        emf, series_ohm: Factor on every battery's EMF, and Ω more inside it.
        tester: A lamp held between two nodes.
        ohmmeter: Its two points: the batteries are off then.
    """

    ohm: tuple[tuple[str, float], ...] = ()
    stuck: tuple[tuple[str, bool], ...] = ()
    lamp: tuple[tuple[str, float], ...] = ()
    add: tuple[Path, ...] = ()
    swap: tuple[tuple[tuple[str, int], tuple[str, int]], ...] = ()
    emf: float = 1.0
    series_ohm: float = 0.0
    gone: tuple[str, ...] = ()
    tester: tuple[str, str, Lamp] | None = None
    ohmmeter: tuple[str, str] | None = None
    battery_off: bool = False

    def __or__(self, other: Edit) -> Edit:
        return Edit(
            self.ohm + other.ohm, self.stuck + other.stuck, self.lamp + other.lamp, self.add + other.add,
            self.swap + other.swap, self.emf * other.emf, self.series_ohm + other.series_ohm, self.gone + other.gone,
            other.tester or self.tester, other.ohmmeter or self.ohmmeter, self.battery_off or other.battery_off,
        )


@dataclass
class Netlist:
    """All elements of a sound vehicle."""

    vehicle: Vehicle
    ground: str
    resistances: dict[str, Resistance] = field(default_factory=dict)
    lamps: dict[str, LampAt] = field(default_factory=dict)
    diodes: dict[str, DiodeAt] = field(default_factory=dict)
    batteries: list[Battery] = field(default_factory=list)
    coils: dict[str, Coil] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for p in self.vehicle.parts.values():
            _BUILD[p.kind](self, p)
        for s in self.vehicle.segments:
            self.put(_free(s.name, self.resistances), s.a, s.b, s.ohm, kind="wire")
        for connector, ways in self.vehicle.ways.items():
            for w in ways:
                self.put(f"way {connector}.{w}", f"{connector}.{w}", f"{connector}.{w}'", WAY_OHM, kind="way")
        for block, bullets in self.vehicle.bullets.items():
            for n in bullets:
                self.put(f"bullet {block}.{n}", f"{block}.{n}", block, WAY_OHM, kind="bullet")
        for point, body in self.vehicle.bodies.items():
            if body is not None:
                self.put(f"earth {point}", point, body, EYELET_OHM, kind="earth")

    def put(self, name: str, a: str, b: str, ohm: float, contact: Contact | None = None, kind: str = "joint") -> None:
        self.resistances[name] = Resistance(name, a, b, ohm, contact, kind)

    @property
    def bulbs(self) -> dict[str, list[LampAt]]:
        out: dict[str, list[LampAt]] = {}
        for lamp in self.lamps.values():
            out.setdefault(lamp.bulb, []).append(lamp)
        return out

    @property
    def volts(self) -> float:
        return self.vehicle.volts


def _free(name: str, taken: Mapping[str, object]) -> str:
    while name in taken:
        name += "*"
    return name


def netlist_of(vehicle: Vehicle) -> Netlist:
    """The sound vehicle's elements."""
    return Netlist(vehicle, vehicle.reference)


def _battery(net: Netlist, p: Part) -> None:
    cells = sum(x.kind == "battery" for x in net.vehicle.parts.values())
    rest = number(p.given.get("voltage"), REST_V[net.volts] / cells)
    running = number(p.given.get("charging"), rest * 14.2 / 12.6)
    ohm = number(p.given.get("resistance"), BATTERY_OHM * (2 if net.volts == 24 and cells == 1 else 1))
    net.batteries.append(Battery(p.name, f"{p.name}.+", f"{p.name}.-", rest, running, ohm))


def _fuse(net: Netlist, p: Part) -> None:
    rating = number(p.given["rating"])
    net.put(f"{p.name} clip", f"{p.name}.in", f"{p.name}/clip", CLIP_OHM, kind="clip")
    link = Contact("fuse", p.name, rating=rating)
    net.put(p.name, f"{p.name}/clip", f"{p.name}.out", FUSE_V / rating, link, "fuse")


def _switch(net: Netlist, p: Part) -> None:
    joins: dict[frozenset[str], set[str]] = {}
    written: dict[frozenset[str], tuple[str, str]] = {}
    for position, pairs in p.given["contacts"].items():
        for pair in pairs if isinstance(pairs, list) else [pairs]:
            one, two = (t.strip() for t in str(pair).split("-"))
            key = frozenset((one, two))
            written.setdefault(key, (one, two))
            joins.setdefault(key, set()).add(str(position))
    for key, positions in joins.items():
        one, two = written[key]
        net.put(f"{p.name} {one}-{two}", f"{p.name}.{one}", f"{p.name}.{two}", SWITCH_OHM,
                Contact("switch", str(p.given["control"]), frozenset(positions)), "switch")


def _shell(net: Netlist, p: Part, bulb: str) -> str:
    node = f"{p.name}/{bulb} shell"
    net.put(f"{bulb} shell", node, f"{p.name}.earth", HOLDER_OHM, kind="shell")
    return node


def _filament(net: Netlist, p: Part, name: str, bulb: str, terminal: str, law: Lamp, shell: str) -> None:
    live = f"{p.name}/{name} live"
    net.put(f"{name} holder", f"{p.name}.{terminal}", live, HOLDER_OHM, kind="holder")
    # LEDs are sold for the side of the battery that is earthed.
    ends = (shell, live) if net.vehicle.positive_earth and law.led else (live, shell)
    net.lamps[name] = LampAt(name, p.name, bulb, *ends, law, f"{p.name}.{terminal}")


def _mounted(net: Netlist, p: Part) -> None:
    if "earth at" in p.given:
        net.put(f"{p.name} mounting", f"{p.name}.earth", str(p.given["earth at"]), MOUNT_OHM, kind="mounting")


def _lamp(net: Netlist, p: Part) -> None:
    _filament(net, p, p.name, p.name, "feed", lamps_of(str(p.given["lamp"]), net.volts)[0], _shell(net, p, p.name))
    _mounted(net, p)


def _lamp_unit(net: Netlist, p: Part) -> None:
    for names, lamp in p.given["lamps"].items():
        own = [n.strip() for n in str(names).split("+")]
        bulb = " + ".join(f"{p.name} {n}" for n in own)
        shell = _shell(net, p, bulb)
        for n, law in zip(own, lamps_of(str(lamp), net.volts), strict=True):
            _filament(net, p, f"{p.name} {n}", bulb, n, law, shell)
    _mounted(net, p)


def _used(net: Netlist, node: str) -> bool:
    return bool(net.vehicle.ends_at(node))


def _flasher(net: Netlist, p: Part) -> None:
    contact = Contact("flasher", p.name)
    net.put(f"{p.name} contact", f"{p.name}.49", f"{p.name}.49a", FLASHER_OHM, contact, "flasher")
    tale = str(p.given.get("tell-tale", ""))
    if tale:
        # It pulses with the lamps and rests when none is on.
        net.put(f"{p.name} {tale}", f"{p.name}.49", f"{p.name}.{tale}", 0.05, Contact("tell-tale", p.name),
                "flasher")
    if _used(net, f"{p.name}.31"):
        net.put(f"{p.name} works", f"{p.name}.49", f"{p.name}.31", 1200.0, kind="coil")
        net.coils[p.name] = Coil(f"{p.name} works", 0.55 * net.volts, 0.5 * net.volts)


def _relay(net: Netlist, p: Part) -> None:
    net.put(f"{p.name} coil", f"{p.name}.86", f"{p.name}.85", number(p.given.get("coil"), COIL_OHM[net.volts]),
            kind="coil")
    net.coils[p.name] = Coil(
        f"{p.name} coil", number(p.given.get("pick-up"), PICK_UP * net.volts),
        number(p.given.get("drop-out"), DROP_OUT * net.volts),
    )
    if str(p.given.get("quench", "")) == "diode":  # 86 is the plus end
        net.diodes[f"{p.name} quench"] = DiodeAt(f"{p.name} quench", f"{p.name}.85", f"{p.name}.86")
    elif str(p.given.get("quench", "")) == "resistor":
        net.put(f"{p.name} quench", f"{p.name}.86", f"{p.name}.85", 8 * COIL_OHM[net.volts], kind="load")
    common, make = ("88", "88a") if str(p.given.get("numbering", "")).startswith("DIN") else ("30", "87")
    for terminal, makes in ((make, True), ("87b", True), ("87a", False)):
        if _used(net, f"{p.name}.{terminal}"):
            net.put(f"{p.name} {common}-{terminal}", f"{p.name}.{common}", f"{p.name}.{terminal}", RELAY_OHM,
                    Contact("relay", p.name, makes=makes), "relay")


def _diode(net: Netlist, p: Part) -> None:
    net.diodes[p.name] = DiodeAt(p.name, f"{p.name}.anode", f"{p.name}.cathode")


def _resistor(net: Netlist, p: Part) -> None:
    net.put(p.name, f"{p.name}.a", f"{p.name}.b", number(p.given["resistance"]), kind="load")


def _dimmer(net: Netlist, p: Part) -> None:
    steps = {str(k): number(v) for k, v in p.given["steps"].items()}
    net.put(f"{p.name} track", f"{p.name}.in", f"{p.name}.out", 0.02,
            Contact("dimmer", str(p.given["control"]), steps=steps), "switch")


def _load(net: Netlist, p: Part) -> None:
    v = REST_V[net.volts]
    watts = number(p.given.get("power"), 0.0) or number(p.given.get("current"), 0.1) * net.volts
    net.put(p.name, f"{p.name}.feed", f"{p.name}.earth", v * v / watts, kind="load")
    _mounted(net, p)


_BUILD = {
    "battery": _battery, "fuse": _fuse, "switch": _switch, "lamp": _lamp, "lamp unit": _lamp_unit,
    "flasher unit": _flasher, "relay": _relay, "diode": _diode, "resistor": _resistor, "dimmer": _dimmer,
    "load": _load, "motor": _load, "buzzer": _load,
}
# Kinds of parts that have no builder here → why.
NOT_BUILT = {"control unit": "no model has one: it stands on the device bench alone"}
