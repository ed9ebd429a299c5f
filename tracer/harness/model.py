"""The harness: all wires, connectors, parts and earths described in one file. Frozen values, no I/O."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, ClassVar, Literal

from msgspec import Struct, field

from tracer.errors import Mark, UnknownNameError, did_you_mean
from tracer.harness.devices import (
    Conductor,
    Device,
    Diode,
    Filament,
    FlasherContact,
    Joint,
    RelayContact,
    Resistor,
    Source,
)
from tracer.harness.node import node_of
from tracer.harness.partly_compared import PartlyCompared

_HEARD_OR_FELT = ("load", "motor", "buzzer")


class Control(PartlyCompared, frozen=True):
    """What a person operates.

    `positions[0]` is the rest position; `assumed` is the one taken when a symptom does not
    mention the control (ignition: on, since nobody says so). `sprung`: returns by itself, so that
    holding it needs a hand, a foot or a prop; `springs` names the positions that do so if it is not
    all but the first. `minutes`: to change it.
    `drives` names the positions in which a running or cranked engine drives the vehicle, `rolls` those in which it
    may roll (a handbrake released); None where the file does not say.
    """

    name: str
    positions: tuple[str, ...]
    assumed: str
    sprung: bool = False
    minutes: float = 0.2
    also: tuple[str, ...] = ()
    mark: Mark | None = None
    springs: tuple[str, ...] = ()
    drives: tuple[str, ...] | None = None
    rolls: tuple[str, ...] | None = None

    def needs_holding(self, position: str) -> bool:
        """Whether somebody has to hold it in that position."""
        return self.sprung and (position in self.springs if self.springs else position != self.positions[0])


class Part(PartlyCompared, frozen=True, dict=True):
    """Anything with terminals; `devices` is what is inside, already in ohms, watts and volts. `traced`: whether
    somebody saw on the vehicle what the file says of it beside its wires: the earth point that it is bolted to."""

    name: str
    kind: str
    terminals: tuple[str, ...]  # short names, e.g. "stop"; the node is "part.stop"
    devices: tuple[Device, ...]
    place: str = ""
    access_min: float = 0.0
    also: tuple[str, ...] = ()
    settings: Mapping[str, Any] = field(default_factory=dict)
    mark: Mark | None = None
    traced: bool = True

    @property
    def others(self) -> tuple[str, ...]:
        """The earth points to which it may be bolted instead."""
        return tuple(self.settings.get("or", ()))

    @cached_property
    def lamps(self) -> tuple[Filament, ...]:
        return tuple(d for d in self.devices if isinstance(d, Filament))

    @cached_property
    def flashes(self) -> bool:
        """Whether it is a flasher unit; what else is inside belongs to its flashing."""
        return any(isinstance(d, FlasherContact) for d in self.devices)

    @cached_property
    def coils(self) -> tuple[Resistor, ...]:
        """Its coils that move contacts, and that one hears doing so."""
        moved = {d.coil for d in self.devices if isinstance(d, RelayContact)}
        coils = (d for d in self.devices if isinstance(d, Resistor) and d.role == "coil" and d.name in moved)
        return () if self.flashes else tuple(coils)

    @cached_property
    def electronic(self) -> bool:
        """Whether its contacts are outputs of electronics that sense its inputs."""
        return not self.flashes and any(isinstance(d, Resistor) and d.role == "input" for d in self.devices)

    @cached_property
    def working(self) -> tuple[Resistor | Diode, ...]:
        """What does work in it that one hears or feels: a horn, a blower, a buzzer."""
        return tuple(d for d in self.devices if isinstance(d, (Resistor, Diode)) and d.role in _HEARD_OR_FELT)


ConnectorKind = Literal["plug", "bullets"]


class Connector(PartlyCompared, frozen=True):
    """A plug-and-socket pair, or a block of bullets; ways are numbered from 1 and laid out in `rows` rows.

    A way is a joint between the nodes "C1.3" (where the conductor arrives, as its run is written)
    and "C1.3'" (where it leaves). Feeds are written towards the lamp and earths away from it, so
    the primed nodes of all ways are not one half of the connector. `functions` names the ways where
    a standard does.

    Bullets are single-wire joints: each is a contact between its own node "B1.3", where its wire ends, and the
    block "B1", which joins all that are pushed in. A block has no halves and no neighbours.
    """

    name: str
    ways: int
    rows: int = 1
    place: str = ""
    access_min: float = 0.0
    functions: Mapping[int, str] = field(default_factory=dict)
    mark: Mark | None = None
    kind: ConnectorKind = "plug"

    def neighbours(self) -> tuple[tuple[int, int], ...]:
        """Pairs of ways that lie side by side or one above the other in the housing."""
        if self.kind == "bullets":  # all that are pushed in are one anyhow
            return ()
        if self.functions and self.ways == 7:  # ISO 1724 is round: 1 to 6 in a ring, 7 in the middle
            return (*((w, w + 1) for w in range(1, 6)), (1, 6), *((w, 7) for w in range(1, 7)))
        per_row = -(-self.ways // self.rows)
        pairs: list[tuple[int, int]] = []
        for way in range(1, self.ways + 1):
            if way % per_row and way + 1 <= self.ways:
                pairs.append((way, way + 1))
            if way + per_row <= self.ways:
                pairs.append((way, way + per_row))
        return tuple(pairs)


class Splice(PartlyCompared, frozen=True):
    """A joint of three or more wires. Its node has the splice's name."""

    name: str
    place: str = ""
    access_min: float = 0.0
    mark: Mark | None = None


class EarthPoint(PartlyCompared, frozen=True):
    """An eyelet, stud or strap where conductors meet the body named by `body`.

    The conductors meet at node "E1"; a joint leads from there to the body's node. `body` is None
    where the stud sits on something that does not conduct.
    """

    name: str
    body: str | None
    place: str = ""
    access_min: float = 0.0
    mark: Mark | None = None


class Wire(PartlyCompared, frozen=True):
    """One conductor as a person writes it: a run through terminals and connector ways.

    `segments` are its electrical lengths in order of the run, one between each pair of points; between two
    bullets of one block there is none. `traced`: whether somebody followed it on the vehicle; `others` are the runs
    that it may have instead.
    """

    name: str
    run: tuple[str, ...]
    segments: tuple[Conductor, ...]
    colour: str = ""
    section_mm2: float = 1.0
    length_m: float = 1.0
    loom: str | None = None
    celsius: float = 20.0
    flexes: bool = False
    mark: Mark | None = None
    traced: bool = True
    others: tuple[tuple[str, ...], ...] = ()


class VehicleState(Struct, frozen=True, dict=True):
    """A position for every control, plus engine off or running. Hashable, order as in the harness."""

    positions: tuple[tuple[str, str], ...]
    engine_running: bool = False

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:  # states are keys that are asked for thousands of times
        return hash((self.positions, self.engine_running))

    @cached_property
    def _of_control(self) -> dict[str, str]:
        return dict(self.positions)

    def __getitem__(self, control: str) -> str:
        return self._of_control[control]

    def having(self, control: str, position: str) -> VehicleState:
        """The state with one control in another position."""
        return VehicleState(tuple((self._of_control | {control: position}).items()), self.engine_running)

    def differing(self, other: VehicleState) -> tuple[str, ...]:
        """Controls that stand elsewhere in `other` ("engine" among them)."""
        theirs = other._of_control
        names = [c for c, p in self.positions if theirs.get(c) != p]
        return tuple(names + (["engine"] if self.engine_running != other.engine_running else []))


BODY = "body"  # the name of the body when a vehicle has one


class Harness(PartlyCompared, frozen=True, dict=True):
    """Everything a harness file says. Mappings keep the file's order. `vehicle`, `ignition` and `traffic` are of
    `vehicle_kinds`; empty where the file does not say."""

    UNCOMPARED: ClassVar = ("file",)

    title: str
    system_v: float
    positive_earth: bool
    colour_code: str
    controls: Mapping[str, Control]
    parts: Mapping[str, Part]
    connectors: Mapping[str, Connector]
    splices: Mapping[str, Splice]
    earths: Mapping[str, EarthPoint]
    wires: tuple[Wire, ...]
    joints: tuple[Joint, ...] = ()  # connector ways, and earth points to their body
    base_rates: Mapping[str, float] = field(default_factory=dict)
    file: str = ""
    vehicle: tuple[str, ...] = ()
    ignition: str = ""
    traffic: str = ""

    def bodies(self) -> tuple[str, ...]:
        """Names of the separate conducting bodies, the reference first."""
        return self._bodies

    @cached_property
    def _bodies(self) -> tuple[str, ...]:
        seen = dict.fromkeys(e.body for e in self.earths.values() if e.body is not None)
        return tuple(seen) or (BODY,)

    @cached_property
    def reference(self) -> str:
        """The node that voltages refer to: the first body; where no earth point sits on one, the first battery's
        earthed pole."""
        if any(e.body is not None for e in self.earths.values()):
            return self.bodies()[0]
        return self.poles()[1] or BODY

    def poles(self) -> tuple[str, str]:
        """The live and the earthed pole; of batteries in series the outer ones. Empty where there is no battery."""
        return self._poles

    @cached_property
    def _poles(self) -> tuple[str, str]:  # asked for with every reading
        sources = [d for d in self.devices() if isinstance(d, Source)]
        if not sources:
            return "", ""
        copper: dict[str, list[str]] = {}
        for d in self.devices():
            if isinstance(d, (Conductor, Joint)):
                copper.setdefault(d.a, []).append(d.b)
                copper.setdefault(d.b, []).append(d.a)

        def outer(own: list[str], others: set[str]) -> str:
            """The first of these poles that no copper joins to one of the others."""
            for pole in own:
                seen, todo = {pole}, [pole]
                while todo:
                    new = [n for n in copper.get(todo.pop(), ()) if n not in seen]
                    seen.update(new)
                    todo += new
                if not seen & others:
                    return pole
            return own[0]

        plus, minus = [s.plus for s in sources], [s.minus for s in sources]
        top, bottom = outer(plus, set(minus)), outer(minus, set(plus))
        return (bottom, top) if self.positive_earth else (top, bottom)

    def devices(self) -> Iterator[Device]:
        """Every device of the vehicle, parts first, then joints, then conductors."""
        for part in self.parts.values():
            yield from part.devices
        yield from self.joints
        for wire in self.wires:
            yield from wire.segments

    @cached_property
    def copper(self) -> Mapping[str, Sequence[tuple[str, str, str]]]:
        """Node → what copper alone joins to it: the node, the connector whose way it is, empty for none, and the name
        of the wire or joint."""
        found: dict[str, list[tuple[str, str, str]]] = {}
        for d in self.devices():
            if isinstance(d, (Conductor, Joint)):
                way = node_of(d.a).owner if isinstance(d, Joint) and d.kind == "way" else ""
                found.setdefault(d.a, []).append((d.b, way, d.name))
                found.setdefault(d.b, []).append((d.a, way, d.name))
        return found

    def lamps(self) -> tuple[Filament, ...]:
        return self._lamps

    @cached_property
    def _lamps(self) -> tuple[Filament, ...]:
        return tuple(f for p in self.parts.values() for f in p.lamps)

    def lamp(self, name: str) -> Filament:
        for filament in self.lamps():
            if filament.lamp == name:
                return filament
        raise UnknownNameError(f"no lamp “{name}”", did_you_mean(name, [f.lamp for f in self.lamps()]))

    def state(self, positions: Mapping[str, str], engine_running: bool = False) -> VehicleState:
        """The vehicle state with the given positions; controls not named stand as assumed. Between two
        positions a control stands at "dipped/main".

        Raises:
            UnknownNameError: No such control or position.
        """
        for control, position in positions.items():
            if control not in self.controls:
                raise UnknownNameError(f"no control “{control}”", did_you_mean(control, self.controls))
            known = self.controls[control].positions
            between = position.partition("/")
            if position not in known and not (between[1] and between[0] in known and between[2] in known):
                raise UnknownNameError(
                    f"{control} has no position “{position}”", "positions: " + ", ".join(known)
                )
        chosen = tuple((n, positions.get(n, c.assumed)) for n, c in self.controls.items())
        return VehicleState(chosen, engine_running)

    def at_rest(self) -> VehicleState:
        """Everything at rest, the ignition off as well."""
        return self.state({name: control.positions[0] for name, control in self.controls.items()})

    def say_state(self, state: VehicleState) -> str:
        """A vehicle state in words: every control that is not at rest, or not where it is taken to be."""
        controls = self.controls
        said = [f"{c} {p}" for c, p in state.positions if p != controls[c].positions[0] or p != controls[c].assumed]
        if state.engine_running:
            said.append("engine running")
        return ", ".join(said) if said else "everything at rest"

    @cached_property
    def unsure(self) -> bool:
        """Whether there are lines that nobody followed on the vehicle, or that may run otherwise."""
        return (any(not w.traced or w.others for w in self.wires)
                or any(not p.traced or p.others for p in self.parts.values()))

    def plugs(self) -> tuple[Connector, ...]:
        """The connectors that have two halves."""
        return tuple(c for c in self.connectors.values() if c.kind == "plug")

    def block_of(self, node: str) -> Connector | None:
        """The block that a bullet is pushed into, or that the node itself is; None for any other node."""
        owner = self.connectors.get(node_of(node).owner)
        return owner if owner is not None and owner.kind == "bullets" else None

    def is_bullet(self, node: str) -> bool:
        """Whether a wire's own bullet lies there, which can be pulled out of its block."""
        return self.block_of(node) is not None and bool(node_of(node).terminal)

    def legs(self, node: str) -> tuple[Conductor, ...]:
        """The wires that begin or end at a terminal, splice or earth point."""
        return tuple(s for w in self.wires for s in w.segments if node in (s.a, s.b))

    def far_ends(self, node: str) -> tuple[str, ...]:
        """Where they lead to."""
        return tuple(s.b if s.a == node else s.a for s in self.legs(node))

    def place_of(self, node: str) -> tuple[str, float]:
        """Where a terminal is and the minutes to get at it the first time."""
        name = node_of(node).owner
        for table in (self.splices, self.earths):
            if name in table:
                item = table[name]
                return item.place or name, item.access_min
        for table2 in (self.parts, self.connectors):
            if name in table2:
                thing = table2[name]
                return thing.place or name, thing.access_min
        return name, 0.0
