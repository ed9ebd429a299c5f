"""A harness as a circuit: numbered nodes, linear branches, non-linear ports, sources; and changes to it.

Faults and the things a person does while testing (unplug, pull a fuse, fit a temporary lead) are
both a `Change`: the solver knows only these.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Collection, Iterable
from functools import cached_property
from typing import Any, Final, Literal

import numpy as np
import numpy.typing as npt
from msgspec import Struct, field
from msgspec.structs import replace

from tracer.circuit.change_fields import CHANGE_ROWS, FieldRow, Named
from tracer.errors import SolverError
from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    LampLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import terminal_at

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]
Phase = Literal["lit", "dark"]
Linear = Joint | Conductor | SwitchContact | Resistor | FuseLink | FlasherContact | RelayContact | Dimmer

OPEN_OHM = 1e12  # stands for "open" in a change
LEAST_OHM = 1e-4  # zero-length wires and perfect joints are this
# An ohmmeter drives about a milliampere: too little to warm a filament.
OHMMETER_V = 2.0
OHMMETER_OHM = 2000.0
OHMMETER_LEADS_OHM = 0.2  # of its leads and clips, in every reading (common practice, no source)


def distinct(values: Ints) -> Ints:
    """Each value (N,) once, rising; `np.unique` would load numpy's masked arrays for this."""
    rising = np.sort(values)
    return np.asarray(rising[np.append(np.full(min(len(rising), 1), True), rising[1:] != rising[:-1])])


class AddedBranch(Struct, frozen=True):
    """A path that the healthy harness does not have. `through` names the connector or bulb whose
    unplugging or removal takes the path away, or the part (`wires_at`) whose wires are taken off; `fuse_a` is the
    rating of the fuse in a temporary lead (only in set-ups), 0 for none."""

    a: str
    b: str
    ohm: float
    through: str = ""
    fuse_a: float = 0.0


def wires_at(part: str) -> str:
    """What is taken off a part when its wires are: in `AddedBranch.through` and `Change.removed`."""
    return f"wires at {part}"


class TestLamp(Struct, frozen=True):
    """A test lamp or an LED tester (plus on `a`) connected between two nodes, with its own law."""

    a: str
    b: str
    law: LampLaw
    __test__ = False  # not a test class for pytest


class Change(Struct, frozen=True, dict=True):
    """How something differs from the healthy circuit.

    Attributes:
        set_ohm: (branch name, resistance in Ω); `OPEN_OHM` or more means open. A switched contact
            set to more than its healthy resistance still opens (burnt); set to its healthy
            resistance or less it never breaks.
        added: Additional branches.
        dead: Filaments and diodes that conduct nothing.
        scaled: (filament name, factor on its current): another lamp fitted.
        emf_factor: Factor on the supply's EMF.
        running_factor: Further factor on it while the engine runs (charging too high, not charging).
        battery_ohm: Ω inside the supply beyond its own, over all batteries together (flat, sulphated).
        contacts: (switch contact, the positions in which it closes instead): out of adjustment.
        inverted: Relay contacts that are closed at rest where they should be open, and the reverse.
        ratings: (fuse link, factor on its rating): a fuse of another rating fitted.
        light: (filament, log10 of a factor on its light beyond what its current gives): LEDs fitted.
        flasher_load: Factor on the load that the flasher unit is made for.
        removed: Names of connectors and bulbs taken out: added paths through them vanish too.
        lamps: Test lamps connected (only in set-ups, not in faults).
        swapped: Pairs of bulbs that changed places, so that a lamp's own fault goes with it.
        renewed: Fuse links, filaments and bulbs fitted new on purpose: a fault that has one blown, dead or wrong
            finds it as it should be (only in set-ups).
        disconnected: The battery is off (only in set-ups).
        ohmmeter: The two nodes of a resistance test, `OHMMETER_V` behind `OHMMETER_OHM`.
    """

    set_ohm: tuple[tuple[str, float], ...] = ()
    added: tuple[AddedBranch, ...] = ()
    dead: tuple[str, ...] = ()
    scaled: tuple[tuple[str, float], ...] = ()
    emf_factor: float = 1.0
    removed: tuple[str, ...] = ()
    lamps: tuple[TestLamp, ...] = ()
    swapped: tuple[tuple[str, str], ...] = ()
    disconnected: bool = False
    ohmmeter: tuple[str, str] | None = None
    running_factor: float = 1.0
    battery_ohm: float = 0.0
    contacts: tuple[tuple[str, frozenset[str]], ...] = ()
    inverted: tuple[str, ...] = ()
    ratings: tuple[tuple[str, float], ...] = ()
    light: tuple[tuple[str, float], ...] = ()
    flasher_load: float = 1.0
    renewed: tuple[str, ...] = ()

    def _told(self) -> dict[str, Any]:
        """The fields that say something."""
        said = zip(CHANGE_ROWS, _FIELDS(self), _DEFAULTS, strict=True)
        return {name: value for name, value, default in said if value != default}

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:  # changes are keys that are asked for thousands of times, and most differ in these
        return hash((self.set_ohm, self.added, self.dead, self.scaled, self.contacts, self.lamps))

    def emf_in(self, engine_running: bool) -> float:
        """The factor on the supply's EMF with the engine off or running."""
        return self.emf_factor * (self.running_factor if engine_running else 1.0)

    @property
    def gone(self) -> tuple[str, ...]:
        """What it takes out, the supply too where the battery is off: paths through that are no more."""
        return (*self.removed, SUPPLY) if self.disconnected else self.removed

    def __or__(self, other: Change) -> Change:
        """Both changes at once."""
        both = self._told()
        for name, value in other._told().items():
            both[name] = CHANGE_ROWS[name].merge(both[name], value) if name in both else value
        return Change(**both)

    def only(self, chosen: Callable[[FieldRow], bool]) -> Change:
        """What its fields of a sort say, without the others."""
        return Change(**{n: v for n, v in self._told().items() if chosen(CHANGE_ROWS[n])})

    @cached_property
    def remakes(self) -> bool:
        """Whether, done on purpose, it alters what a fault is."""
        return any(CHANGE_ROWS[n].in_table for n in self._told())

    def renamed(self, port: Callable[[str], str], path: Callable[[AddedBranch], AddedBranch]) -> Change:
        """It with filaments and diodes at other places, and added paths as `path` has them."""
        moved = self._told()
        for name, value in moved.items():
            match CHANGE_ROWS[name].names:
                case "port":
                    moved[name] = tuple(port(x) if isinstance(x, str) else (port(x[0]), *x[1:]) for x in value)
                case "path":
                    moved[name] = tuple(path(x) for x in value)
        return Change(**moved)

    def kept(self, keeps: Callable[[Named, str], bool]) -> Change:
        """It with the entries all of whose names are kept; fields that name nothing stay."""
        left = self._told()
        for name, value in left.items():
            names = CHANGE_ROWS[name].names
            if names == "path":
                left[name] = tuple(
                    x for x in value if keeps("node", x.a) and keeps("node", x.b)
                    and (not x.through or keeps("through", x.through)))
            elif names:
                left[name] = tuple(x for x in value if keeps(names, x if isinstance(x, str) else x[0]))
        return Change(**{n: v for n, v in left.items() if v != getattr(NO_CHANGE, n)})

    def with_new(self, renewed: Collection[str]) -> Change:
        """What is left of it when these fuse links, filaments and bulbs are new."""
        return self.kept(lambda names, name: name not in renewed) if renewed else self


NO_CHANGE = Change()
_FIELDS: Final = operator.attrgetter(*CHANGE_ROWS)
_DEFAULTS: Final[tuple[Any, ...]] = _FIELDS(NO_CHANGE)
SUPPLY = "the supply"  # among what a set-up takes out (`Change.gone`), and what changes inside it go through


class Setup(Struct, frozen=True, dict=True):
    """What the vehicle is made to do for one observation: its state, the flasher's phase, and what
    was done to it on purpose."""

    state: VehicleState
    phase: Phase = "lit"
    done: Change = NO_CHANGE

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:  # set-ups are keys that are asked for thousands of times
        return hash((self.state, self.phase, self.done))

    def dark_phase(self) -> Setup:
        return replace(self, phase="dark")


class Circuit(Struct, frozen=True, dict=True):
    """Nodes and elements of one harness.

    `nodes[0]` is the reference (the body): 0 V. Arrays index nodes in that order.
    """

    harness: Harness
    nodes: tuple[str, ...]
    linear: tuple[Linear, ...]
    ports: tuple[Filament | Diode, ...]
    sources: tuple[Source, ...]
    index: dict[str, int] = field(default_factory=dict)

    @cached_property
    def branch_index(self) -> dict[str, int]:
        return {d.name: i for i, d in enumerate(self.linear)}

    @cached_property
    def port_index(self) -> dict[str, int]:
        return {d.name: i for i, d in enumerate(self.ports)}

    @cached_property
    def branch_ends(self) -> tuple[Ints, Ints]:
        return _ends(self.linear, self.index)

    @cached_property
    def watched(self) -> Ints:
        """Indices of the branches whose voltage decides or shows something: fuses, relay coils, flasher contacts,
        loads that are heard or felt."""
        named = {d.coil for d in self.linear if isinstance(d, RelayContact)}
        named |= {d.name for p in self.harness.parts.values() for d in p.working}
        return np.array([
            i for i, d in enumerate(self.linear) if isinstance(d, (FuseLink, FlasherContact)) or d.name in named
        ], dtype=np.intp)

    @cached_property
    def watch_index(self) -> dict[str, int]:
        """Where a watched branch stands among them."""
        return {self.linear[i].name: k for k, i in enumerate(self.watched)}

    @cached_property
    def closed_s(self) -> Floats:
        """Conductance (B,) of each branch when healthy and closed."""
        ohms = [d.cold_ohm() if isinstance(d, FuseLink) else d.ohm for d in self.linear]
        return np.array([conductance_of(r) for r in ohms])

    @cached_property
    def flasher_contacts(self) -> tuple[int, ...]:  # their branches
        return tuple(i for i, d in enumerate(self.linear) if isinstance(d, FlasherContact))

    @cached_property
    def _moving(self) -> tuple[int, ...]:
        """Branches whose conductance is not the same in every set-up."""
        kinds = (SwitchContact, Dimmer, FlasherContact, RelayContact)
        return tuple(i for i, d in enumerate(self.linear) if isinstance(d, kinds))

    @cached_property
    def port_ends(self) -> tuple[Ints, Ints]:
        return _ends(self.ports, self.index)

    @cached_property
    def lamp_ports(self) -> Ints:
        """Indices of the ports that are filaments, in the order of `Harness.lamps()`."""
        return np.array([self.port_index[f.name] for f in self.harness.lamps()], dtype=np.intp)

    @cached_property
    def bulbs(self) -> dict[str, tuple[str, ...]]:
        """Filament names of each glass."""
        found: dict[str, list[str]] = {}
        for port in self.ports:
            if isinstance(port, Filament):
                found.setdefault(port.bulb, []).append(port.name)
        return {k: tuple(v) for k, v in found.items()}

    def control_of(self, contact: str) -> str:
        """The control that moves a switch contact; empty for another branch."""
        device = self.linear[self.branch_index[contact]]
        return device.control if isinstance(device, SwitchContact) else ""

    def weakened(self, battery_ohm: float) -> float:
        """How many times its own resistance the supply has with Ω more inside it, shared out among its batteries."""
        own = sum(max(s.ohm, LEAST_OHM) for s in self.sources)
        return 1 + battery_ohm / own if own else 1.0

    def node(self, name: str) -> int:
        try:
            return self.index[name]
        except KeyError:
            raise SolverError(f"no node “{name}” in the circuit") from None

    def conductances(self, setup: Setup, pulled_in: frozenset[str] = frozenset()) -> Floats:
        """Conductance of every linear branch in S, shape (branches,), with the set-up's own
        `set_ohm` applied; open is 0. `pulled_in` names the relay coils that hold."""
        positions = dict(setup.state.positions)
        g = self.closed_s.copy()
        for i in self._moving:
            g[i] = _conductance(self.linear[i], positions, setup.phase, pulled_in)
        for name, ohm in setup.done.set_ohm:
            g[self.branch_index[name]] = conductance_of(ohm)
        return g


def conductance_of(ohm: float) -> float:
    """1/R with R held above the least, and 0 for open."""
    return 0.0 if ohm >= OPEN_OHM else 1.0 / max(ohm, LEAST_OHM)


def _conductance(d: Linear, positions: dict[str, str], phase: Phase, pulled_in: frozenset[str]) -> float:
    if isinstance(d, SwitchContact):
        return conductance_of(d.ohm) if d.closed_at(positions.get(d.control)) else 0.0
    if isinstance(d, Dimmer):
        return conductance_of(d.ohm_at(positions.get(d.control)))
    if isinstance(d, FlasherContact):
        return conductance_of(d.ohm) if phase == "lit" else 0.0
    if isinstance(d, RelayContact):
        return conductance_of(d.ohm) if (d.coil in pulled_in) == d.makes else 0.0
    if isinstance(d, FuseLink):
        return conductance_of(d.cold_ohm())
    return conductance_of(d.ohm)


def _ends(devices: Iterable[Device], index: dict[str, int]) -> tuple[Ints, Ints]:
    pairs = [(index[d.a], index[d.b]) for d in devices if not isinstance(d, Source)]
    array = np.array(pairs, dtype=np.intp).reshape(-1, 2)
    return array[:, 0], array[:, 1]


def build_circuit(harness: Harness) -> Circuit:
    """Number the nodes of a harness and sort its devices into branches, ports and sources.

    The reference is that of `Harness.reference`.

    Raises:
        SolverError: Two devices with one name.
    """
    linear: list[Linear] = []
    ports: list[Filament | Diode] = []
    sources: list[Source] = []
    for device in harness.devices():
        if isinstance(device, Source):
            sources.append(device)
        elif isinstance(device, (Filament, Diode)):
            ports.append(device)
        else:
            linear.append(device)
    names = [d.name for d in (*linear, *ports, *sources)]
    if len(set(names)) != len(names):
        twice = sorted({n for n in names if names.count(n) > 1})
        raise SolverError(f"several devices are called “{twice[0]}”")
    order = dict.fromkeys([harness.reference])
    for d in (*linear, *ports):
        order.setdefault(d.a)
        order.setdefault(d.b)
    for s in sources:
        order.setdefault(s.plus)
        order.setdefault(s.minus)
    for part in harness.parts.values():
        for terminal in part.terminals:
            order.setdefault(terminal_at(part.name, terminal))
    index = {n: i for i, n in enumerate(order)}
    return Circuit(harness, tuple(order), tuple(linear), tuple(ports), tuple(sources), index)
