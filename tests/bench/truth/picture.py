"""What a vehicle shows to somebody who walks round it: every lamp and fuse in the states that people know."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from tests.bench.truth.circuit import Edit, Netlist
from tests.bench.truth.laws import NO_LIGHT
from tests.bench.truth.solve import NoSolutionError, Point, settle, works_above
from tests.bench.truth.vehicle import number

LIT = -2.0  # decades below its rated light at which a sound lamp counts as lit
_FLASHES = 0.7  # decades between the two phases that are seen as flashing
# What dark filaments pass round a loop because of some millivolts along the body; LEDs glow on less.
_NO_AMPS, _NO_AMPS_LED, _NO_VOLTS = 1e-3, 1e-6, 5e-3
_PULLS_W = 25 / 21  # what a 21 W lamp takes at its test voltage
_STEADY_BELOW, _SLOW_BELOW, _FAST_BELOW = 0.55, 0.75, 0.8


@dataclass(frozen=True)
class Shown:
    """One state: light of every lamp (decades of its rated light), how it flashes where it does, and fuses."""

    light: Mapping[str, float]
    flash: Mapping[str, str]
    blown: frozenset[str]
    pulled: frozenset[str]
    chatters: bool = False


def tolerances(net: Netlist, rng: random.Random) -> Edit:
    """How one vehicle of the type differs from the paper: lengths, joints, lamps, battery."""
    ohm = tuple(
        (r.name, r.ohm * (rng.uniform(0.85, 1.15) if r.kind == "wire" else rng.lognormvariate(0.0, 0.4)))
        for r in net.resistances.values() if r.kind not in ("coil", "load")
    )
    lamp = tuple((x.name, rng.uniform(0.94, 1.06)) for x in net.lamps.values() if not x.law.led)
    return Edit(ohm=ohm, lamp=lamp, emf=rng.uniform(0.965, 1.015))


def show(
    net: Netlist, edit: Edit, state: Mapping[str, str], engine: bool = False, rest: Point | None = None
) -> tuple[Shown, Point]:
    """The lamps in a state, in both phases of the flasher unit where it works; of one that flashes the brighter one,
    which is that in which the unit rests where its current goes the wrong way."""
    lit = settle(net, edit, state, engine, rest=rest)
    flash: dict[str, str] = {}
    load = max((abs(lit.amps.get(r.name, 0.0)) for r in net.resistances.values()
                if r.kind == "flasher" and r.name.endswith(" contact")), default=0.0)
    light = {n: lit.light.get(n, NO_LIGHT) for n in net.lamps}
    if load > works_above(net) or any(n in lit.pulled for n in net.coils):
        unit = next((p for p in net.vehicle.parts.values() if p.kind == "flasher unit"), None)
        if unit is not None and load > 0.02:
            dark = settle(net, edit, state, engine, flasher=False, rest=rest)
            rate = _rate(net, load, unit.given)
            for n, one in light.items():
                between = dark.light.get(n, NO_LIGHT)
                if abs(max(one, -4.0) - max(between, -4.0)) > _FLASHES:
                    flash[n], light[n] = rate, max(one, between)
    return Shown(light, flash, lit.blown, lit.pulled, lit.chatters), lit


def _rate(net: Netlist, load_a: float, given: Mapping[str, object]) -> str:
    volts = {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}[net.volts]
    share = load_a / (number(given.get("load"), 47.0) * _PULLS_W / volts)
    if str(given.get("works", "thermal")) == "electronic":
        return "fast" if share < _FAST_BELOW else "flashing"
    return "steady" if share < _STEADY_BELOW else "slow" if share < _SLOW_BELOW else "flashing"


@dataclass
class Known:
    """What everybody knows of a sound vehicle of this type: the states people use, and how its lamps look there."""

    net: Netlist
    states: list[dict[str, str]]
    usual: dict[str, float]  # lamp → its light where it is meant to be lit
    sound: list[Shown]

    def lit(self, at: int, lamp: str) -> bool:
        return self.sound[at].light[lamp] > LIT

    def relative(self, light: float, lamp: str) -> float:
        """Decades against how that lamp always looked."""
        return light - self.usual[lamp]


def know(net: Netlist) -> Known:
    """Walk round the sound vehicle: rest, every control alone, and what else lights lamps, by fewest controls."""
    vehicle = net.vehicle
    moves = [(c.name, p) for c in vehicle.controls.values() for p in c.positions if p != c.assumed]
    states: list[dict[str, str]] = [vehicle.state({})]
    found: dict[str, float] = {}

    def look(moved: Sequence[tuple[str, str]], keep: bool) -> None:
        state = vehicle.state(dict(moved))
        shown, _ = show(net, Edit(), state)
        new = [n for n, light in shown.light.items() if light > LIT and n not in found]
        for n, light in shown.light.items():
            if light > LIT:
                found[n] = max(found.get(n, NO_LIGHT), light)
        if (keep or new) and state not in states:
            states.append(state)

    look([], True)
    for move in moves:
        look([move], True)
    for count in (2, 3):
        for several in combinations(moves, count):
            if len(found) == len(net.lamps):
                break
            if len({c for c, _ in several}) == count:
                look(several, False)
    together = [(c, p) for c, p in moves if any(w in f"{c} {p}" for w in ("side", "pilot", "brake pressed"))]
    brakes = [(c, p) for c, p in moves if "brake" in c]
    for one in [m for m in together if m not in brakes][:1]:
        for two in brakes[:1]:
            look([one, two], True)
    sound = [show(net, Edit(), s)[0] for s in states]
    return Known(net, states, {n: found.get(n, 0.0) for n in net.lamps}, sound)


@dataclass
class Walked:
    """One vehicle in all states that people know."""

    edit: Edit
    shown: list[Shown]
    points: list[Point]


def walk_round(known: Known, edit: Edit) -> Walked:
    """What a vehicle shows in all states.

    Raises:
        NoSolutionError: Where the circuit has no solution.
    """
    out = Walked(edit, [], [])
    for state in known.states:
        rest = _without_blown(out.points[0]) if out.points else None
        shown, point = show(known.net, edit, state, rest=rest)
        out.shown.append(shown)
        out.points.append(point)
    return out


def walk(known: Known, edit: Edit) -> list[Shown] | None:
    """What a vehicle shows in all states that people know; None where the circuit has no solution."""
    try:
        return walk_round(known, edit).shown
    except NoSolutionError:
        return None


def walk_again(known: Known, sound: Walked, fault: Edit) -> list[Shown] | None:
    """The same vehicle with a fault: states in which the fault has nothing to change are not solved again.

    A joint or lamp that carries as good as no current may become worse, and a path may join two points at one
    voltage, without anything that moves.
    """
    if not all(_idle(known, sound.points[0], fault)):
        return walk(known, sound.edit | fault)
    try:
        out, edit = [sound.shown[0]], sound.edit | fault
        for state, shown, point in zip(known.states[1:], sound.shown[1:], sound.points[1:], strict=True):
            if all(_idle(known, point, fault)):
                out.append(shown)
            else:
                out.append(show(known.net, edit, state, rest=_without_blown(sound.points[0]))[0])
        return out
    except NoSolutionError:
        return None


def _idle(known: Known, point: Point, fault: Edit) -> Iterator[bool]:
    """For each thing that a fault changes, whether nothing comes of it where a sound vehicle stands so."""
    yield not fault.swap and fault.emf == 1.0 and fault.series_ohm == 0.0
    no_amps = _NO_AMPS_LED if any(x.law.led for x in known.net.lamps.values()) else _NO_AMPS
    for name, _ in (*fault.ohm, *fault.lamp):
        yield abs(point.amps.get(name, 0.0)) < no_amps
    for path in fault.add:
        yield abs(point.volts[path.a] - point.volts[path.b]) < _NO_VOLTS
    for name, _ in fault.stuck:
        r = known.net.resistances[name]
        yield abs(point.volts[r.a] - point.volts[r.b]) < _NO_VOLTS and abs(point.amps.get(name, 0.0)) < no_amps


def _without_blown(point: Point) -> Point:
    """Whoever goes on puts a new fuse in first."""
    return Point({}, {}, {}, {}, frozenset(), point.pulled)
