"""The electrical devices that parts, wires and joints are made of, each between named nodes.

A node is named by its terminal ("left rear.stop", "C1.3", "S1", "E1") or, inside a part, by the
part's name, a slash and the inner point ("left rear/stop bulb"). All values are SI.
"""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from tracer.standards.fuses import FuseKind, carries_of

JointKind = Literal["way", "splice", "earth", "clip", "holder", "holder earth", "strap", "stud", "winding", "bullet"]


class FilamentLaw(Struct, frozen=True):
    """Current of a filament as a function of its voltage.

    Near the rated point the current follows `i0 · (v / v0) ** exponent` (UN R37 lamps; exponent
    0.55 from the lamp-rerating tables of miniature-lamp makers). Towards 0 V the resistance
    settles at the cold one, `v0 / i0 / cold_ratio` (a tenth to a fifteenth of hot). The two
    resistances are joined as (Rc^k + Rp^k)^(1/k); `sharpness` k = inf makes it the larger of
    the two, the form of the hand-worked circuits.
    """

    i0: float
    v0: float
    exponent: float = 0.55
    cold_ratio: float = 13.0
    sharpness: float = 4.0
    watts: float = 0.0  # the name on the glass, not the power at v0
    v_normal: float = 12.0  # voltage at which a person calls its light normal

    @property
    def cold_ohm(self) -> float:
        return self.v0 / self.i0 / self.cold_ratio


class LedLaw(Struct, frozen=True):
    """Current of an LED lamp: a chain of light-emitting diodes and a resistor.

    Above `threshold_v` the current rises by `ohm`, below it falls away by a factor e every `soft_v`.
    Reversed, only the leakage `leak_ohm` passes, and that gives no light. Light follows the current of
    the diodes, so that a leak of microamperes is seen as a glow.
    """

    threshold_v: float
    ohm: float
    soft_v: float
    leak_ohm: float = 1e6
    watts: float = 0.0
    v_normal: float = 12.0


LampLaw = FilamentLaw | LedLaw


class Joint(Struct, frozen=True):
    """A contact between two nodes: connector way, splice leg, eyelet, fuse clip, bulb holder, strap;
    or the few turns in series with a flasher's contact."""

    name: str
    a: str
    b: str
    kind: JointKind
    ohm: float = 0.003


class Conductor(Struct, frozen=True):
    """A length of wire between two joints. `flexes`: it bends whenever something opens or turns (a lid, a door, the
    handlebars, the steering column)."""

    name: str
    a: str
    b: str
    ohm: float
    colour: str = ""
    section_mm2: float = 0.0
    loom: str | None = None
    length_m: float = 0.0
    wire: str = ""
    flexes: bool = False


class SwitchContact(Struct, frozen=True):
    """A pair of terminals that a control joins in some of its positions."""

    name: str
    a: str
    b: str
    control: str
    closed_in: frozenset[str]
    ohm: float = 0.01
    overlaps: bool = False  # make before break: between two positions it joins what either joins

    def closed_at(self, position: str | None) -> bool:
        """Whether it is closed in a position, or between two: "dipped/main"."""
        if position is None or position in self.closed_in:
            return position is not None
        one, between, two = position.partition("/")
        sides = (one in self.closed_in, two in self.closed_in)
        return bool(between) and (any(sides) if self.overlaps else all(sides))


class Filament(Struct, frozen=True):
    """One filament, or the LEDs that stand in for one; those of one glass share `bulb`.

    `lamp` is the name people use for its light. LEDs conduct from a to b.
    """

    name: str
    a: str
    b: str
    lamp: str
    bulb: str
    law: LampLaw
    holder: tuple[str, ...] = ()  # joints of its holder, for swapping and for repairs


class Diode(Struct, frozen=True):
    """Conducts from a to b above its threshold.

    i = s/r · (softplus((v − threshold) / s) − softplus(−threshold / s)) + v / leak: nothing at 0 V.
    A quench diode lies across a coil and blocks; an electronic buzzer is a load with a polarity.
    """

    name: str
    a: str
    b: str
    threshold_v: float = 0.6
    ohm: float = 0.05
    soft_v: float = 0.03
    leak_ohm: float = math.inf
    role: Literal["diode", "quench", "buzzer"] = "diode"


class Resistor(Struct, frozen=True):
    """Anything ohmic. Its role says what it is there for, and with that its faults, its sign and what is heard of it:
    a load does its own work (horn, heater), a motor turns, a coil moves contacts or an arm, an input of electronics
    is sensed, and a resistor only takes voltage away."""

    name: str
    a: str
    b: str
    ohm: float
    role: Literal["load", "motor", "coil", "input", "resistor"] = "load"

    @property
    def works_contacts(self) -> bool:
        """Whether contacts follow what it carries."""
        return self.role in ("coil", "input")


class Dimmer(Struct, frozen=True):
    """A rheostat with a resistance for each position of its control; open in those it does not name."""

    name: str
    a: str
    b: str
    control: str
    steps: tuple[tuple[str, float], ...]
    contact_ohm: float = 0.01  # of the wiper

    @property
    def ohm(self) -> float:
        """The least it has in any position."""
        return self.contact_ohm + min(ohm for _, ohm in self.steps)

    def ohm_at(self, position: str | None) -> float:
        """Its resistance in a position of its control; infinite where it is open."""
        return dict(self.steps).get(position or "", math.inf) + self.contact_ohm


class FuseLink(Struct, frozen=True):
    """The melting part of a fuse."""

    name: str
    a: str
    b: str
    rating_a: float
    ohm: float = 0.0
    kind: FuseKind = "blade"

    def cold_ohm(self) -> float:
        # Blade fuses drop about 0.1 V at their rating (memory; the order of size is all that counts).
        return self.ohm or 0.1 / self.rating_a

    @property
    def carries_a(self) -> float:
        """What it may carry for good: what is printed on it, or half of that where the printed current blows it."""
        return carries_of(self.kind) * self.rating_a


class Source(Struct, frozen=True):
    """A battery: EMF behind an internal resistance; `running_v` applies when the engine runs."""

    name: str
    plus: str
    minus: str
    volts: float
    ohm: float = 0.02
    running_v: float = math.nan

    def emf(self, engine_running: bool) -> float:
        if engine_running and not math.isnan(self.running_v):
            return self.running_v
        return self.volts


class FlasherContact(Struct, frozen=True):
    """The contact of a flasher unit: closed in the lit phase, open in the dark phase."""

    name: str
    a: str
    b: str
    working: Literal["thermal", "electronic"] = "thermal"
    load_a: float = 3.5  # current of the full lamp set at 12 V
    ohm: float = 0.02


class RelayContact(Struct, frozen=True):
    """A contact moved by a coil: `makes` closed when pulled in, else closed when at rest."""

    name: str
    a: str
    b: str
    coil: str
    makes: bool
    pick_up_v: float = 7.0
    drop_out_v: float = 3.0
    ohm: float = 0.01


Device = (
    Joint | Conductor | SwitchContact | Filament | Diode | Resistor | FuseLink | Source
    | FlasherContact | RelayContact | Dimmer
)


def ends(device: Device) -> tuple[str, str]:
    """The two nodes of any device, a source's plus first."""
    return (device.plus, device.minus) if isinstance(device, Source) else (device.a, device.b)
