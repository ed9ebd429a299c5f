"""Random pairs of state and fault: every lamp's voltage by the tool beside that of the independent truth.

Faults that both sides can name are used; where one has a severity, its Ω is taken from the tool's own list as a plain
number and everything else (which ends, which path, what follows) is the truth's own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.truth import circuit as parts
from tests.bench.truth.circuit import INF, Edit, Netlist
from tests.bench.truth.further_faults import draw
from tests.bench.truth.laws import HEAD_V, TEST_V, leaks_of_the_tool, leds_of_the_tool, power_law
from tests.bench.truth.solve import Arrays, NoSolutionError, Point, settle, wired
from tests.bench.truth.spice import PROGRAM, by_ngspice
from tracer import TracerError, list_faults, load_harness, simulate

OFF_V = 0.2
# What the tool takes, where that differs by choice.
TOOL_BATTERY_OHM, TOOL_WINDING_OHM, TOOL_OUTPUT_OHM = 0.02, 0.02, 0.01
TOOL_WORKS_OHM_PER_V = 50.0
# Watts of headlamps with a category, and those of the 6 V lamp of 21 W, at the same volts.
_TOOL_WATTS = {70.8: 68.0, 64.2: 62.0, 47.0: 48.0}
_TALE_DARK = "a tell-tale that stays dark below four fifths of the load"
_TOOL_DIP_OF_R2_W, _TOOL_21_W_OF_6_V = 43.0, 26.04


@dataclass
class Pair:
    """One state with one fault, and by how much the two sides differ."""

    vehicle: str
    fault: str
    state: Mapping[str, str]
    lamps: int = 0
    off: list[tuple[str, float, float]] = field(default_factory=list)  # lamp, V by the truth, V by the tool
    broken: list[tuple[str, float, float]] = field(default_factory=list)  # the same at filaments that are broken
    blown: tuple[str, ...] = ()
    tool_blown: tuple[str, ...] = ()
    law: str = ""  # by which other law no lamp is off any more; "" if by none of those that are tried
    left: int = 0  # of the lamps that are off, those that are still so by all of them together
    error: str = ""

    def says(self) -> str:
        moved = ", ".join(f"{c} {p}" for c, p in self.state.items())
        worst = sorted(self.off, key=lambda x: -abs(x[1] - x[2]))[:3]
        lamps = "; ".join(f"{n}: truth {t:.2f} V, tool {v:.2f} V" for n, t, v in worst)
        fuses = f"; blown: truth {self.blown}, tool {self.tool_blown}" if self.blown != self.tool_blown else ""
        law = f" (law: {self.law})" if self.law else f" (NOT NAMED: {self.left} still off)" if self.off else ""
        return f"{self.vehicle} | {self.fault} | {moved} | {lamps}{law}{fuses} {self.error}"


def named(net: Netlist, name: str, ohm: float) -> Edit | None:
    """The truth's own version of a fault that the tool's list calls `name`; None where it has none."""
    kind, _, what = name.partition(": ")
    what = what.partition(", half to ")[0]  # while a plug is together all its halves are one
    r = net.resistances
    vehicle = net.vehicle
    match kind:
        case "filament open":
            return Edit(lamp=((what, 0.0),)) if what in net.lamps else None
        case "wire open" | "strap open":
            return Edit(ohm=((f"wire {what}", INF),)) if f"wire {what}" in r else None
        case "way open":
            way = "way " + what.replace(" way ", ".")
            return Edit(ohm=((way, INF),)) if way in r else None
        case "ways crossed" | "ways joined":
            connector, _, pair = what.partition(" ways ")
            i, j = (int(x) for x in pair.split(" and "))
            same = ((connector, i) in vehicle.flipped) == ((connector, j) in vehicle.flipped)
            if kind == "ways crossed":
                return Edit(swap=(((f"way {connector}.{i}", 1), (f"way {connector}.{j}", 1 if same else 0)),))
            return Edit(add=(parts.Path(f"{connector}.{i}", f"{connector}.{j}" + ("" if same else "'"), ohm),))
        case "fuse blown":
            return Edit(ohm=((what, INF),))
        case "splice open":
            legs = [x.name for x in r.values() if x.kind == "wire" and what in (x.a, x.b)]
            return Edit(ohm=tuple((n, INF) for n in legs))
        case "earth open":
            point = what.removesuffix(" earth joint")
            if f"earth {point}" in r:
                return Edit(ohm=((f"earth {point}", INF),))
            # On what does not conduct a point is what meets there: all its eyelets.
            return Edit(ohm=tuple((x.name, INF) for x in r.values() if x.kind in ("wire", "mounting")
                                  and point in (x.a, x.b)))
        case "holder open":
            lamp = what.removesuffix(" holder contact")
            return Edit(ohm=((f"{lamp} holder", INF),)) if f"{lamp} holder" in r else None
        case "mounting open":
            return Edit(ohm=((what, INF),)) if what in r else None
        case "connector unplugged":
            return Edit(ohm=tuple((f"way {what}.{w}", INF) for w in vehicle.ways[what]))
        case "wires changed over":
            return _changed(net, what)
        case "wire to body":
            b = what.partition(" – ")[2]
            metal = [x for x in vehicle.bodies.values() if x is not None]
            near = vehicle.metal_near(b) if metal else ""
            return Edit(add=(parts.Path(b, near, ohm),)) if metal and f"wire {what}" in r else None
        case "wires joined":
            one, _, two = what.partition(" and ")
            if f"wire {one}" not in r or f"wire {two}" not in r:
                return None
            return Edit(add=(parts.Path(one.split(" – ")[1], two.split(" – ")[0], ohm),))
    return _of_contacts(net, kind, what)


def _of_contacts(net: Netlist, kind: str, what: str) -> Edit | None:
    if kind in ("switch never makes", "switch never breaks", "relay stuck open", "relay stuck closed"):
        closed = kind in ("switch never breaks", "relay stuck closed")
        return Edit(stuck=((what, closed),)) if what in net.resistances else None
    if kind == "relay coil open":
        return Edit(ohm=((f"{what} coil", INF),))
    return None


def _changed(net: Netlist, what: str) -> Edit | None:
    """Wires changed over at a part: "left rear stop and tail"."""
    for part in net.vehicle.parts:
        rest = what.removeprefix(f"{part} ")
        one, _, two = rest.partition(" and ")
        ends = []
        for t in (one, two):
            at = [(x.name, int(x.b == f"{part}.{t}")) for x in net.resistances.values()
                  if x.kind == "wire" and f"{part}.{t}" in (x.a, x.b)]
            ends.append(at)
        if rest != what and len(ends[0]) == len(ends[1]) == 1:
            return Edit(swap=((ends[0][0], ends[1][0]),))
    return None


def pairs(models: Mapping[str, tuple[Path, Netlist]], count: int, seed: int) -> Iterator[Pair]:
    """Random pairs, one after the other; the vehicles in turn, the kinds of faults alike often."""
    rng = random.Random(f"{seed} voltages")
    loaded: dict[str, tuple[Any, dict[str, list[Any]]]] = {}
    names = sorted(models)
    made = 0
    while made < count:
        name = names[made % len(names)]
        path, net = models[name]
        if name not in loaded:
            harness = load_harness(path)
            by_kind: dict[str, list[Any]] = {}
            for f in list_faults(harness):
                by_kind.setdefault(f.kind, []).append(f)
            loaded[name] = harness, by_kind
        harness, by_kind = loaded[name]
        fault = rng.choice(by_kind[rng.choice(sorted(by_kind))])
        edit = named(net, fault.name, _ohm(fault))
        if edit is None:
            continue
        made += 1
        state = {c.name: rng.choice(c.positions) if rng.random() < 0.6 else c.assumed
                 for c in net.vehicle.controls.values()}
        yield _compared(name, net, harness, fault.name, edit, state, _ohm(fault))


def _ohm(fault: Any) -> float:
    change = max(fault.variants, key=lambda v: v.weight).change
    return float(change.added[0].ohm) if change.added else INF


def _compared(
    name: str, net: Netlist, harness: Any, fault: str, edit: Edit, state: dict[str, str], ohm: float
) -> Pair:
    pair = Pair(name, fault, state)
    try:
        point = settle(net, edit, state, rest=_rest(net, edit))
        tool = simulate(harness, state, faults=[fault])
    except (NoSolutionError, TracerError) as error:
        pair.error = f"{type(error).__name__} {error}"
        return pair
    dead = {n for n, f in edit.lamp if f == 0}
    pair.blown, pair.tool_blown = tuple(sorted(point.blown)), tuple(sorted(tool.fuses_blow))
    for x in tool.lamps:
        own = net.lamps[x.lamp]
        volts = abs(point.volts[own.a] - point.volts[own.b])
        pair.lamps += 1
        if abs(volts - x.volts) > OFF_V:
            (pair.broken if x.lamp in dead else pair.off).append((x.lamp, volts, x.volts))
    if pair.off:
        _explain(net, edit, state, pair, ohm)
    return pair


def _explain(net: Netlist, edit: Edit, state: dict[str, str], pair: Pair, ohm: float) -> None:
    """Solve the pair again by each law in which the tool is known to differ, then by all together, until no lamp is
    off; then with the fault as its name may mean it as well, and from relays that stand otherwise, each with and
    without all the laws."""
    laws = _laws(net)
    together = Law("several of these together", Edit(), True, True, True)
    lit = together  # a tell-tale that does not stay dark
    for law in laws:
        together = replace(together, edit=together.edit | law.edit)
        lit = replace(lit, edit=lit.edit | (law.edit if law.name != _TALE_DARK else Edit()))
    own: list[tuple[Law, frozenset[str] | None]] = [
        (replace(law, edit=edit | law.edit), None) for law in (*laws, lit, together)]
    all_in, none_in = frozenset(net.coils), frozenset[str]()
    places = [("the name means another place", meant, None) for meant in _otherwise(net, pair.fault, ohm)]
    for name, meant, begin in (
        *places, ("a relay has two resting states", edit, all_in), ("a relay has two resting states", edit, none_in),
    ):
        own += [(Law(name, meant), begin), (replace(together, name=name, edit=meant | together.edit), begin)]
    for law, begin in own:
        left = _still_off(net, law, state, pair, begin)
        pair.left = min(left, pair.left or left)
        if not left:
            pair.law, pair.left = law.name, 0
            return


def _otherwise(net: Netlist, name: str, ohm: float) -> list[Edit]:
    """The fault where its name leaves open where it lies: the other end of a wire, other ends of two that touch, the
    ends of two ways on the other halves of their plug."""
    kind, _, what = name.partition(": ")
    if kind == "wire to body":
        a = what.partition(" – ")[0]
        return [Edit(add=(parts.Path(a, net.vehicle.metal_near(a), ohm),))]
    if kind == "wires joined":
        (a, b), (c, d) = (wire.split(" – ") for wire in what.split(" and "))
        return [Edit(add=(parts.Path(one, two, ohm),)) for one, two in ((b, d), (a, c), (a, d))]
    edit = named(net, name, ohm)
    if kind == "ways crossed" and edit is not None:
        (one, (two, end)), = edit.swap
        return [Edit(swap=((one, (two, 1 - end)),))]
    return []


@dataclass(frozen=True)
class Law:
    """A law by which the tool does otherwise than this bench: what it does to the circuit, whether filaments lose
    nothing to gas, and whether LEDs and the leaks of what floats are the tool's."""

    name: str
    edit: Edit
    no_gas: bool = False
    leds: bool = False
    leaks: bool = False


def _laws(net: Netlist) -> list[Law]:
    """The laws that differ by choice, on this vehicle. The tool's figures are plain numbers here: 20 mΩ inside a
    battery, 10 mΩ more in a flasher unit with an earth, and 20 mΩ more in one that counts its lamps for a tell-tale,
    which then stays dark if it carries less than four fifths of its load. Its electronics take 20 mA."""
    found = [Law("filaments lose nothing to gas", Edit(), True),
             Law("by what leak a part that floats is held", Edit(), leaks=True), *_laws_of_loads(net)]
    rest = {b.ohm for b in net.batteries}
    if rest:
        found.append(Law("20 mΩ inside the battery", Edit(series_ohm=TOOL_BATTERY_OHM - max(rest))))
    for p in net.vehicle.parts.values():
        if p.kind == "flasher unit":
            tale = str(p.given.get("tell-tale", ""))
            turns = TOOL_WINDING_OHM * min(1.0, (net.volts / 12.0) ** 2) if tale else 0.0
            output = TOOL_OUTPUT_OHM if f"{p.name} works" in net.resistances else 0.0
            own = net.resistances[f"{p.name} contact"]
            if output:
                found.append(Law("what the electronics of a flasher unit take",
                                 Edit(ohm=((f"{p.name} works", TOOL_WORKS_OHM_PER_V * net.volts),))))
            if turns + output:
                found.append(Law("windings and output inside the flasher unit",
                                 Edit(ohm=((own.name, own.ohm + turns + output),))))
            if tale:
                dark = Edit(ohm=((own.name, own.ohm + turns + output),), stuck=((f"{p.name} {tale}", False),))
                found.append(Law(_TALE_DARK, dark))
    return found


def _laws_of_loads(net: Netlist) -> Iterator[Law]:
    """Of loads: the watts of a horn or motor at the system's own volts, not at those of a charged battery; a buzzer
    that lets no current back; the watts and volts that a lamp is rated at."""
    loads = {n: r for n, r in net.resistances.items() if r.kind == "load" and n in net.vehicle.parts}
    kinds = {n: net.vehicle.parts[n].kind for n in loads}
    at_system = tuple((n, r.ohm * (net.volts / parts.REST_V[net.volts]) ** 2) for n, r in loads.items()
                      if kinds[n] != "resistor")
    if at_system:
        yield Law("watts of loads at the system's volts", Edit(ohm=at_system))
    buzzers = tuple((n, INF) for n in loads if kinds[n] == "buzzer")
    if buzzers:
        yield Law("a buzzer lets no current back", Edit(ohm=buzzers))
    if any(x.law.led for x in net.lamps.values()):
        yield Law("threshold, softness and leak of LEDs", Edit(), leds=True)
    lamps = tuple((x.name, f) for x in net.lamps.values() if not x.law.led and abs((f := rated(net, x)) - 1) > 1e-3)
    if lamps:
        yield Law("watts and volts that lamps are rated at", Edit(lamp=lamps))


def rated(net: Netlist, x: parts.LampAt) -> float:
    """The tool's current of a lamp as a share of the truth's, at the same volts."""
    watts = round(x.law.v0 * x.law.a0, 1)
    beside = {round(y.law.v0 * y.law.a0, 1) for y in net.bulbs[x.bulb]}
    if watts in _TOOL_WATTS:
        return _TOOL_WATTS[watts] / watts
    if watts == 42.0 and 47.0 in beside:
        return _TOOL_DIP_OF_R2_W / watts
    if net.volts == 6.0 and watts == 25.0:
        return _TOOL_21_W_OF_6_V / watts
    if x.law.v0 == HEAD_V[net.volts] != TEST_V[net.volts] and watts == round(watts):  # named by their watts alone
        return float((HEAD_V[net.volts] / TEST_V[net.volts]) ** 1.55)
    return 1.0


def _still_off(
    net: Netlist, law: Law, state: dict[str, str], pair: Pair, pulled: frozenset[str] | None
) -> int:
    """How many of the lamps that are off are so by other laws as well; `pulled`: relays that stand so before, if not
    as at rest."""
    with power_law() if law.no_gas else nullcontext(), leds_of_the_tool() if law.leds else nullcontext(), (
            leaks_of_the_tool() if law.leaks else nullcontext()):
        try:
            rest = _rest(net, law.edit) if pulled is None else Point({}, {}, {}, {}, frozenset(), pulled)
            point = settle(net, law.edit, state, rest=rest)
        except NoSolutionError:
            return len(pair.off)
    volts = {n: abs(point.volts[net.lamps[n].a] - point.volts[net.lamps[n].b]) for n, _, _ in pair.off}
    return sum(abs(volts[n] - tool) > OFF_V for n, _, tool in pair.off)


def _rest(net: Netlist, edit: Edit) -> Point:
    point = settle(net, edit, net.vehicle.state({}))
    return Point({}, {}, {}, {}, frozenset(), point.pulled)


def against_ngspice(models: Mapping[str, tuple[Path, Netlist]], count: int, seed: int) -> tuple[int, float, int]:
    """The bench's own solver beside ngspice on random faults: circuits, worst V at a lamp, those without answer."""
    if PROGRAM is None:
        return 0, 0.0, 0
    rng = random.Random(f"{seed} ngspice")
    arrays: list[Arrays] = []
    points: list[tuple[Netlist, Point]] = []
    while len(arrays) < count:
        _, net = models[rng.choice(sorted(models))]
        edit = draw(net, rng).edit
        state = net.vehicle.state({c.name: rng.choice(c.positions) for c in net.vehicle.controls.values()})
        try:
            point = settle(net, edit, state)
        except NoSolutionError:
            continue
        arrays.append(wired(net, edit, None).at(state, False, point.pulled, point.blown, True))
        points.append((net, point))
    worst, missing = 0.0, 0
    for found, (net, point) in zip(by_ngspice(arrays), points, strict=True):
        if found is None:
            missing += 1
            continue
        worst = max([worst, *(abs(found[x.a] - found[x.b] - point.volts[x.a] + point.volts[x.b])
                              for x in net.lamps.values())])
    return len(arrays) - missing, float(np.round(worst, 4)), missing
