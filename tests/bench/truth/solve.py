"""Operating points by Newton's method on the loops of a circuit, and relays and fuses in the order of time.

What hangs on one end only carries no current: such twigs are cut off first and get the voltage of what they hang
on, so that the matrix is small.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.bench.truth.circuit import Contact, Edit, Netlist
from tests.bench.truth.laws import (
    NO_LIGHT,
    RELAY_S,
    Floats,
    Lamp,
    fuse_seconds,
    lamp_light,
    leak_s,
    led_current,
    led_soft_v,
    tungsten_current,
)
from tests.bench.truth.vehicle import number

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.intp]
METER_OHM = 10e6
OPEN = 1e11  # Ω; what is above it conducts nothing
DIODE = (0.62, 0.06, 0.03)  # threshold V, Ω, softness V of a silicon diode
OHMMETER_V, OHMMETER_OHM = 1.2, 1500.0
# Through a flasher unit, above which it works (judgement): of one made for LED lamps a quarter of its own load, or it
# would stand still with the first lamp missing, which it has to tell of.
_WORKS_A, _WORKS_SHARE = 0.15, 0.25
_MOST_EVENTS = 40


def works_above(net: Netlist) -> float:
    """A through the vehicle's flasher unit, above which it works."""
    unit = next((p for p in net.vehicle.parts.values() if p.kind == "flasher unit"), None)
    watts = number(unit.given.get("load"), 47.0) if unit is not None else 47.0
    return min(_WORKS_A, _WORKS_SHARE * watts / {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}[net.volts])


class NoSolutionError(Exception):
    """Newton's method did not settle."""


@dataclass
class Point:
    """One solved circuit: volts by node, A through resistances and lamps, fuses blown, coils pulled in."""

    volts: dict[str, float]
    amps: dict[str, float]
    lamp_v: dict[str, float]
    light: dict[str, float]
    blown: frozenset[str] = frozenset()
    pulled: frozenset[str] = frozenset()
    chatters: bool = False
    meter: float = 0.0


class Wired:
    """A circuit with a fault in it, laid out once: ends, Ω and laws; contacts are decided state by state."""

    def __init__(self, net: Netlist, edit: Edit, meter: tuple[str, str] | None) -> None:
        self.net, self.edit, self.meter = net, edit, meter
        self.nodes: dict[str, int] = {net.ground: 0}
        self.names: list[str] = []
        self.laws: list[tuple[str, Lamp, float]] = []
        self.contacts: list[tuple[int, str, Contact, bool | None]] = []
        ends: list[tuple[int, int]] = []
        ohm: list[float] = []
        self._joints(ends, ohm)
        for path in edit.add:
            if path.tag not in edit.gone:
                self._put(f"path {path.a} – {path.b}", path.a, path.b, path.ohm, ends, ohm)
        if meter is not None:
            self._put("meter", meter[0], meter[1], METER_OHM, ends, ohm)
        self.ohm = np.maximum(np.array(ohm), 1e-4)
        law_ends = self._laws()
        self.rest_sources: list[tuple[int, int, float, float, float]] = []
        if edit.ohmmeter is not None:
            a, b = (self.node(x) for x in edit.ohmmeter)
            self.rest_sources.append((a, b, OHMMETER_V, OHMMETER_V, OHMMETER_OHM))
        elif not edit.battery_off:
            for x in net.batteries:
                self.rest_sources.append((self.node(x.plus), self.node(x.minus), x.rest_v * edit.emf,
                                          x.running_v * edit.emf, x.ohm + edit.series_ohm))
        self.linear, self.law_count = len(ends), len(law_ends)
        self.every = np.array([*ends, *law_ends, *[x[:2] for x in self.rest_sources]], dtype=np.intp).reshape(-1, 2)
        self.law_ends = law_ends
        self.sound = np.concatenate([self.ohm < OPEN, np.ones(len(self.every) - len(ends), dtype=bool)])
        self.law = _Law(self.laws)

    def node(self, name: str) -> int:
        return self.nodes.setdefault(name, len(self.nodes))

    def _put(self, name: str, a: str, b: str, value: float, ends: list[tuple[int, int]], ohm: list[float]) -> None:
        self.names.append(name)
        ends.append((self.node(a), self.node(b)))
        ohm.append(value)

    def _joints(self, ends: list[tuple[int, int]], ohm: list[float]) -> None:
        edit, net = self.edit, self.net
        changed, stuck, gone = dict(edit.ohm), dict(edit.stuck), set(edit.gone)
        at = {r.name: [r.a, r.b] for r in net.resistances.values()}
        for (one, i), (two, j) in edit.swap:
            at[one][i], at[two][j] = at[two][j], at[one][i]
        for r in net.resistances.values():
            value = math.inf if f"off {r.name}" in gone else changed.get(r.name, r.ohm)
            if r.contact is not None:
                self.contacts.append((len(ohm), r.name, r.contact, stuck.get(r.name)))
            self._put(r.name, at[r.name][0], at[r.name][1], value, ends, ohm)

    def _laws(self) -> list[tuple[int, int]]:
        factor: dict[str, float] = {}
        for name, f in self.edit.lamp:
            factor[name] = factor.get(name, 1.0) * f
        out = []
        for x in self.net.lamps.values():
            ends = self.node(x.a), self.node(x.b)
            if factor.get(x.name, 1.0) > 0:
                self.laws.append((x.name, x.law, factor.get(x.name, 1.0)))
                out.append(ends)
        for d in self.net.diodes.values():
            self.laws.append((d.name, Lamp(0, 0, True), 1.0))
            out.append((self.node(d.a), self.node(d.b)))
        if self.edit.tester is not None:
            self.laws.append(("tester", self.edit.tester[2], 1.0))
            out.append((self.node(self.edit.tester[0]), self.node(self.edit.tester[1])))
        return out

    def at(
        self, state: Mapping[str, str], engine: bool, pulled: frozenset[str], blown: frozenset[str], flasher: bool
    ) -> Arrays:
        """Which elements conduct, with relays and fuses standing as they do."""
        live, ohm = self.sound.copy(), self.ohm
        for k, name, c, stuck in self.contacts:
            if c.kind == "switch":
                closed = state.get(c.by) in c.closed
            elif c.kind == "relay":
                closed = (c.by in pulled) == c.makes
            elif c.kind == "flasher":
                closed = flasher and (c.by not in self.net.coils or c.by in pulled)
            elif c.kind == "tell-tale":
                closed = flasher and f"{c.by} loaded" in pulled
            elif c.kind == "fuse":
                closed = name not in blown
            else:
                step = c.steps.get(state.get(c.by, ""), math.inf)
                closed = step < math.inf
                ohm = ohm.copy()
                ohm[k] += step if closed else 0.0
            if not (closed if stuck is None else stuck):
                live[k] = False
        sources = [(a, b, running if engine else rest, r) for a, b, rest, running, r in self.rest_sources]
        return Arrays(self, live, ohm, sources)


@dataclass
class Arrays:
    """A circuit with everything decided."""

    wired: Wired
    live: Bools
    ohm: Floats
    sources: list[tuple[int, int, float, float]]


_last: list[Wired] = []


def wired(net: Netlist, edit: Edit, meter: tuple[str, str] | None) -> Wired:
    """The circuit laid out; the last few are kept."""
    for w in _last:
        if w.net is net and w.edit is edit and w.meter == meter:
            return w
    _last.insert(0, Wired(net, edit, meter))
    del _last[4:]
    return _last[0]


def solve(arrays: Arrays) -> tuple[Floats, Floats]:
    """Node voltages and currents of the laws, in their order.

    Raises:
        NoSolutionError: Newton's method did not settle.
    """
    w = arrays.wired
    n, m, laws = len(w.nodes), w.linear, w.law_count
    emf = np.concatenate([np.zeros(m + laws), [s[2] for s in arrays.sources]])
    live, order = _loops(n, w.every, arrays.live)
    volts, amps = np.zeros(n), np.zeros(laws)
    core = np.unique(w.every[live]) if live.any() else np.zeros(0, dtype=np.intp)
    core = core[core != 0]
    if len(core):
        _newton(arrays, live, core, volts, amps)
    for leaf, edge in reversed(order):
        a, b = w.every[edge]
        volts[leaf] = volts[b] + emf[edge] if leaf == a else volts[a] - emf[edge]
    return volts, amps


def _loops(n: int, every: Ints, conducts: Bools) -> tuple[Bools, list[tuple[int, int]]]:
    """Edges that lie in loops, and the twigs cut off: (outer node, edge), outermost first."""
    live = conducts & (every[:, 0] != every[:, 1])
    order: list[tuple[int, int]] = []
    while True:
        at = np.flatnonzero(live)
        ends = every[at]
        degree = np.bincount(ends.ravel(), minlength=n)
        degree[0] = 99
        outer = degree[ends] == 1
        cut = outer.any(axis=1)
        if not cut.any():
            return live, order
        for (a, _), first, e in zip(ends[cut].tolist(), outer[cut, 0].tolist(), at[cut].tolist(), strict=True):
            order.append((a if first else int(every[e, 1]), e))
        live[at[cut]] = False


def _newton(arrays: Arrays, live: Bools, core: Ints, volts: Floats, amps: Floats) -> None:
    w = arrays.wired
    every, m, laws, n = w.every, w.linear, w.law_count, len(core)
    place = np.full(len(volts), -1)
    place[core] = np.arange(n)
    ends = place[every]
    linear, own = np.flatnonzero(live[:m]), np.flatnonzero(live[m:m + laws])
    G = np.zeros((n + 1, n + 1))  # the last row and column stand for the reference
    I0 = np.zeros(n + 1)

    def stamp(matrix: Floats, edges: Ints, g: Floats) -> None:
        a, b = ends[edges, 0], ends[edges, 1]
        np.add.at(matrix, (a, a), g)
        np.add.at(matrix, (b, b), g)
        np.add.at(matrix, (a, b), -g)
        np.add.at(matrix, (b, a), -g)

    stamp(G, linear, 1 / arrays.ohm[linear])
    for k, (_, _, emf, ohm) in enumerate(arrays.sources):
        if live[m + laws + k]:
            stamp(G, np.array([m + laws + k]), np.array([1 / ohm]))
            I0[ends[m + laws + k, 0]] += emf / ohm
            I0[ends[m + laws + k, 1]] -= emf / ohm
    G[np.arange(n), np.arange(n)] += leak_s()
    if not len(own):
        volts[core] = np.linalg.solve(G[:n, :n], I0[:n])
        return
    # Nodes without a lamp are eliminated once: Newton's steps then turn on the others alone.
    touched = np.zeros(n + 1, dtype=bool)
    touched[ends[own + m].ravel()] = True
    p, q = np.flatnonzero(touched[:n]), np.flatnonzero(~touched[:n])
    inner = np.linalg.solve(G[np.ix_(q, q)], np.column_stack([G[np.ix_(q, p)], I0[q]]))
    small_g = G[np.ix_(p, p)] - G[np.ix_(p, q)] @ inner[:, :-1]
    small_i = I0[p] - G[np.ix_(p, q)] @ inner[:, -1]
    at = np.full(n + 1, len(p))
    at[p] = np.arange(len(p))
    found, amps[own] = _steps(small_g, small_i, at[ends[own + m]], w.law.of(own))
    whole = np.zeros(n)
    whole[p], whole[q] = found, inner[:, -1] - inner[:, :-1] @ found
    volts[core] = whole


def _steps(G: Floats, I0: Floats, ends: Ints, law: _Law) -> tuple[Floats, Floats]:
    """Newton's steps on nodes that all carry lamps; the index past the last node is the reference."""
    n, (a, b) = len(I0), ends.T
    v, x = np.zeros(len(ends)), np.zeros(n + 1)
    for step in range(150):
        i, g = law.at(v)
        if step < 4:  # secants first: they cannot diverge
            small = np.abs(v) < 1e-9
            g = np.where(small, g if step else law.rated_s, i / np.where(small, 1.0, v))
        full, rest = np.zeros((n + 1, n + 1)), np.append(I0, 0.0)
        full[:n, :n] = G
        for one, two, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            np.add.at(full, (one, two), sign * g)
        np.add.at(rest, a, g * v - i)
        np.add.at(rest, b, i - g * v)
        new = np.append(np.linalg.solve(full[:n, :n], rest[:n]), 0.0)
        change = new[a] - new[b] - v
        limit = law.limit(v) * (0.5 if step > 60 else 1.0)
        v = v + np.clip(change, -limit, limit)
        if step >= 4 and np.abs(change).max() < 2e-6 and np.abs(new - x).max() < 2e-6:
            return new[:n], law.at(v)[0]
        x = new
    raise NoSolutionError


class _Law:
    """The laws of some lamps and diodes, over arrays."""

    def __init__(self, found: list[tuple[str, Lamp, float]]) -> None:
        lamps = [x[1] for x in found]
        self.factor = np.array([x[2] for x in found])
        self.led = np.array([x.led for x in lamps])
        diode = [x.led and x.v0 == 0 for x in lamps]
        self.v0 = np.array([1.0 if x.led else x.v0 for x in lamps])
        self.a0 = np.array([1.0 if x.led else x.a0 for x in lamps])
        self.threshold = np.array([DIODE[0] if d else x.threshold if x.led else 1.0
                                   for x, d in zip(lamps, diode, strict=True)])
        self.ohm = np.array([DIODE[1] if d else x.ohm if x.led else 1.0 for x, d in zip(lamps, diode, strict=True)])
        self.soft = np.array([DIODE[2] if d else led_soft_v(x.v0) for x, d in zip(lamps, diode, strict=True)])
        self.rated_s = self.factor * np.where(self.led, 0.01, self.a0 / self.v0)

    def of(self, chosen: Ints) -> _Law:
        out = _Law([])
        for name, value in vars(self).items():
            setattr(out, name, value[chosen])
        return out

    def at(self, v: Floats) -> tuple[Floats, Floats]:
        i, g = tungsten_current(v / self.v0)
        j, h = led_current(v, self.threshold, self.ohm, self.soft)
        return (self.factor * np.where(self.led, j, i * self.a0),
                self.factor * np.where(self.led, h, g * self.a0 / self.v0))

    def limit(self, v: Floats) -> Floats:
        """Volts that one step may go: little about a diode's threshold, or it overshoots for ever."""
        return np.where(self.led & (v > self.threshold - 20 * self.soft), 1.0, 20.0)


def settle(
    net: Netlist, edit: Edit, state: Mapping[str, str], engine: bool = False, flasher: bool = True,
    meter: tuple[str, str] | None = None, rest: Point | None = None,
) -> Point:
    """The vehicle in a state that was set from `rest`: contacts and fuses move one after the other, as time goes.

    A coil needs 8 ms; a fuse as long as its overload says; what comes first changes the circuit for the others.
    """
    pulled = rest.pulled if rest is not None else frozenset()
    blown = rest.blown if rest is not None else frozenset()
    toggled: dict[str, int] = {}
    for _ in range(_MOST_EVENTS):
        arrays = wired(net, edit, meter).at(state, engine, pulled, blown, flasher)
        volts, amps = solve(arrays)
        point = _point(net, arrays, volts, amps, pulled, blown, meter)
        events = [(t, "fuse", f) for f, t in _melting(net, edit, point)]
        for name, coil in net.coils.items():
            r = net.resistances[coil.resistance]
            across = abs(point.volts[r.a] - point.volts[r.b]) if coil.resistance in point.amps else 0.0
            across = abs(point.amps.get(coil.resistance, 0.0)) * r.ohm if across else 0.0
            moves = across < coil.drop_out_v if name in pulled else across >= coil.pick_up_v
            if moves and toggled.get(name, 0) < 6:
                events.append((RELAY_S, "coil", name))
        for r in net.resistances.values():
            if r.contact is not None and r.contact.kind == "tell-tale":
                key = f"{r.contact.by} loaded"
                loaded = abs(point.amps.get(f"{r.contact.by} contact", 0.0)) > works_above(net)
                if loaded != (key in pulled) and toggled.get(key, 0) < 3:
                    events.append((RELAY_S, "coil", key))
        if not events:
            point.chatters = any(t >= 6 for t in toggled.values())
            return point
        _, kind, name = min(events)
        if kind == "fuse":
            blown = blown | {name}
        else:
            toggled[name] = toggled.get(name, 0) + 1
            pulled = pulled ^ {name}
    return point


def _melting(net: Netlist, edit: Edit, point: Point) -> list[tuple[str, float]]:
    out = []
    for r in net.resistances.values():
        if r.contact is not None and r.contact.kind == "fuse" and r.name not in point.blown:
            t = fuse_seconds(abs(point.amps.get(r.name, 0.0)) / r.contact.rating)
            if t < math.inf:
                out.append((r.name, t))
    return out


def _point(
    net: Netlist, arrays: Arrays, volts: Floats, amps: Floats, pulled: frozenset[str], blown: frozenset[str],
    meter: tuple[str, str] | None,
) -> Point:
    w = arrays.wired
    values = volts.tolist()
    by_name = {n: values[i] for n, i in w.nodes.items()}
    ends = w.every[:w.linear]
    through = np.where(arrays.live[:w.linear], (volts[ends[:, 0]] - volts[ends[:, 1]]) / arrays.ohm, 0.0)
    current = dict(zip(w.names, through.tolist(), strict=True))
    lamp_v, light = {}, {}
    for (name, lamp, factor), (a, b), i in zip(w.laws, w.law_ends, amps.tolist(), strict=True):
        v = lamp_v[name] = values[a] - values[b]
        current[name] = i
        if name in net.lamps or name == "tester":
            light[name] = lamp_light(lamp, v, factor) if abs(v) > 0.1 else NO_LIGHT
    reading = by_name[meter[0]] - by_name[meter[1]] if meter is not None else 0.0
    return Point(by_name, current, lamp_v, light, blown, pulled, False, reading)
