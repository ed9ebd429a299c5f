"""Which controls light a lamp: found on the drawing, by following closed contacts from pole to pole.

No voltages: a lamp counts as lit when one end reaches the one pole and the other end the other, over wires, joints,
fuses and closed contacts alone. That is all it takes to know what to switch on; how bright it is, the circuit tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, islice, product

from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    LedLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import Harness, VehicleState

_KEPT = "_lighting_states"
_MOST_STATES = 3000
_MOST_CONTROLS = 4
_RELAYS_TRIED = 6

Links = dict[str, list[tuple[str, Device]]]


def lighting_states(harness: Harness) -> tuple[VehicleState, ...]:
    """For each lamp that no single control lights a state with the fewest controls moved that does; each state once.

    A lamp that nothing lights, or that is lit only through another, has none.
    """
    if _KEPT not in harness.__dict__:  # asked for again and again, and a harness never changes
        harness.__dict__[_KEPT] = _searched(harness)
    found: tuple[VehicleState, ...] = harness.__dict__[_KEPT]
    return found


def _searched(harness: Harness) -> tuple[VehicleState, ...]:
    drawing = _Drawing(harness)
    lamps = {f.name: f for f in harness.lamps()}
    for state in moved(harness, harness.controls, range(2)):
        lit = drawing.lit(state)
        lamps = {n: f for n, f in lamps.items() if n not in lit}
    found: list[VehicleState] = []
    while lamps:
        wanted = next(iter(lamps.values()))
        near = drawing.controls_near(wanted)
        several = islice(moved(harness, near, range(2, _MOST_CONTROLS + 1)), _MOST_STATES)
        hit = next((s for s in several if wanted.name in drawing.lit(s)), None)
        del lamps[wanted.name]
        if hit is not None:
            found.append(hit)
            lit = drawing.lit(hit)
            lamps = {n: f for n, f in lamps.items() if n not in lit}
    return tuple(found)


def moved(harness: Harness, controls: Iterable[str], counts: Iterable[int]) -> Iterator[VehicleState]:
    """States with so many of these controls away from their assumed position, the fewest first."""
    movable = [harness.controls[c] for c in harness.controls if c in set(controls)]
    for count in counts:
        for chosen in combinations(movable, count):
            for positions in product(*([p for p in c.positions if p != c.assumed] for c in chosen)):
                yield harness.state({c.name: p for c, p in zip(chosen, positions, strict=True)})


class _Drawing:
    """The wiring as a graph, current flowing from plus to minus."""

    def __init__(self, harness: Harness) -> None:
        self._harness = harness
        self._out: Links = {}
        self._into: Links = {}
        self._both: Links = {}
        self._coils: dict[str, Device] = {}
        self._known: dict[VehicleState, frozenset[str]] = {}
        devices = [d for d in harness.devices() if not isinstance(d, Source)]
        for d in devices:
            self._both.setdefault(d.a, []).append((d.b, d))
            self._both.setdefault(d.b, []).append((d.a, d))
            self._coils[d.name] = d
        # What is joined in every state is one piece: few of them are left, and states are many.
        self._piece = _pieces(self._both)
        for d in devices:
            if not isinstance(d, (SwitchContact, Dimmer, RelayContact, Diode)) or _consumes(d):
                continue
            a, b = self._piece[d.a], self._piece[d.b]
            for one, other in [(a, b)] if isinstance(d, Diode) else [(a, b), (b, a)]:
                self._out.setdefault(one, []).append((other, d))
                self._into.setdefault(other, []).append((one, d))
        self._lamps = harness.lamps()
        self._relays = dict.fromkeys(d.coil for d in devices if isinstance(d, RelayContact))
        poles = harness.poles()
        self._plus, self._minus = reversed(poles) if harness.positive_earth else poles

    def lit(self, state: VehicleState) -> frozenset[str]:
        """Names of the filaments that are lit in a state."""
        if state not in self._known:
            holding = frozenset[str]()
            for _ in range(_RELAYS_TRIED):
                fed, drained = self._sides(state, holding)
                now = frozenset(c for c in self._relays if self._carries(self._coils[c], fed, drained))
                if now == holding:
                    break
                holding = now
            self._known[state] = frozenset(f.name for f in self._lamps if self._carries(f, fed, drained))
        return self._known[state]

    def _sides(self, state: VehicleState, holding: frozenset[str]) -> tuple[set[str], set[str]]:
        """Pieces that the plus pole reaches, and pieces that reach the minus pole."""
        plus, minus = (self._piece.get(pole, pole) for pole in (self._plus, self._minus))
        return _reached(self._out, plus, state, holding), _reached(self._into, minus, state, holding)

    def _carries(self, d: Device, fed: set[str], drained: set[str]) -> bool:
        """Whether a current flows through a lamp or a coil between these sides; LEDs let it through one way only."""
        if isinstance(d, Source):
            return False
        a, b = self._piece[d.a], self._piece[d.b]
        if isinstance(d, Joint):  # a few turns in series: some current flows wherever it is fed
            return a in fed
        back = not (isinstance(d, Filament) and isinstance(d.law, LedLaw))
        return (a in fed and b in drained) or (back and b in fed and a in drained)

    def controls_near(self, lamp: Filament) -> set[str]:
        """Controls whose contacts lie between a lamp and the poles, those that feed a relay's coil there included."""
        seen, todo, found = {self._plus, self._minus}, [lamp.a, lamp.b], set[str]()
        while todo:
            node = todo.pop()
            if node in seen:
                continue
            seen.add(node)
            for other, d in self._both.get(node, ()):
                if _consumes(d):
                    continue
                if isinstance(d, (SwitchContact, Dimmer)):
                    found.add(d.control)
                if isinstance(d, RelayContact) and not isinstance(coil := self._coils[d.coil], Source):
                    todo += [coil.a, coil.b]
                todo.append(other)
        return found


def _consumes(d: Device) -> bool:
    """Whether it stands between the poles rather than on the way to something."""
    return isinstance(d, (Filament, Resistor)) or (isinstance(d, Diode) and d.role != "diode")


def _pieces(both: Links) -> dict[str, str]:
    """For each node one node that stands for all that it is joined to whatever the controls do."""
    out: dict[str, str] = {}
    for start in both:
        if start in out:
            continue
        out[start], todo = start, [start]
        while todo:
            for other, d in both[todo.pop()]:
                if other not in out and isinstance(d, (Joint, Conductor, FuseLink, FlasherContact)):
                    out[other] = start
                    todo.append(other)
    return out


def _reached(links: Links, pole: str, state: VehicleState, holding: frozenset[str]) -> set[str]:
    seen, todo = {pole}, [pole]
    while todo:
        for other, d in links.get(todo.pop(), ()):
            if other not in seen and _closed(d, state, holding):
                seen.add(other)
                todo.append(other)
    return seen


def _closed(d: Device, state: VehicleState, holding: frozenset[str]) -> bool:
    if isinstance(d, SwitchContact):
        return d.closed_at(state[d.control])
    if isinstance(d, Dimmer):
        return state[d.control] in dict(d.steps)
    if isinstance(d, RelayContact):
        return (d.coil in holding) == d.makes
    return isinstance(d, Diode)
