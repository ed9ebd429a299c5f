"""Which way current runs in a harness, and which devices a sub-circuit needs."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from functools import lru_cache

import numpy as np

from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness.devices import (
    Device,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
    ends,
)
from tracer.harness.model import Harness
from tracer.harness.node import node_of

CONSUMER_S = 0.01  # a consumer's conductance beside a wire's 1: enough to tell upstream from downstream


def is_consumer(device: Device) -> bool:
    return isinstance(device, (Filament, Resistor))


class Slope:
    """A height for every node of a healthy harness with all contacts closed: supply high, earth low."""

    def __init__(self, harness: Harness) -> None:
        self.devices = tuple(harness.devices())
        self.by_name = {d.name: d for d in self.devices}
        self.at: dict[str, list[Device]] = defaultdict(list)
        for device in self.devices:
            for node in ends(device):
                self.at[node].append(device)
        sources = [d for d in self.devices if isinstance(d, Source)]
        earthy = harness.positive_earth
        # What moves the thing that a lamp sits in, as the coil of an arm.
        self.beside = {f.name: moved for part in harness.parts.values() for f in part.lamps if (moved := [
            d for d in part.devices if isinstance(d, Resistor) and d.role == "coil"])}
        self.live = {s.minus if earthy else s.plus for s in sources}
        self.poles = {s.plus if earthy else s.minus for s in sources}
        self.bodies = set(harness.bodies()) & set(self.at)
        self.height = self._heights()
        self.depth = self._depths()
        self.feed = self._reached_without_consumers()

    def key(self, node: str) -> tuple[float, int]:
        """Greater is nearer to the supply."""
        return self.height.get(node, 0.0), -self.depth.get(node, 10**6)

    def _heights(self) -> dict[str, float]:
        nodes = {n: i for i, n in enumerate(self.at)}
        if not nodes:
            return {}
        g = np.eye(len(nodes)) * 1e-9
        rhs = np.zeros(len(nodes))
        for d in self.devices:
            if isinstance(d, Source):
                continue
            s = CONSUMER_S if is_consumer(d) else 1.0
            i, j = (nodes[n] for n in ends(d))
            g[i, i] += s
            g[j, j] += s
            g[i, j] -= s
            g[j, i] -= s
        for fixed, value in ((self.live, 1.0), (self.poles | self.bodies, 0.0)):
            for node in fixed:
                i = nodes[node]
                g[i, :] = 0.0
                g[i, i], rhs[i] = 1.0, value
        solved = np.linalg.solve(g, rhs)
        return {n: round(float(solved[i]), 6) for n, i in nodes.items()}

    def _depths(self) -> dict[str, int]:
        depth = dict.fromkeys(self.live, 0)
        queue = deque(depth)
        while queue:
            node = queue.popleft()
            for d in self.at[node]:
                for other in ends(d):
                    if not isinstance(d, Source) and other not in depth:
                        depth[other] = depth[node] + 1
                        queue.append(other)
        return depth

    def _reached_without_consumers(self) -> set[str]:
        seen = set(self.live)
        queue = deque(seen)
        while queue:
            for d in self.at[queue.popleft()]:
                if not is_consumer(d) and not isinstance(d, Source):
                    for other in ends(d):
                        if other not in seen and other not in self.bodies:
                            seen.add(other)
                            queue.append(other)
        return seen


@lru_cache(maxsize=8)
def _slope_by_id(_key: int, holder: _Holder) -> Slope:
    return Slope(holder.harness)


class _Holder:
    """Lets a cache keep a harness that is not hashable."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness

    def __hash__(self) -> int:
        return id(self.harness)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Holder) and other.harness is self.harness


def slope_of(harness: Harness) -> Slope:
    """The slope of a harness, remembered for the last few."""
    return _slope_by_id(id(harness), _Holder(harness))


def devices_named(harness: Harness, name: str) -> tuple[Device, ...]:
    """What a name stands for: a lamp, part, device, wire, connector, splice, earth point or terminal.

    Raises:
        UnknownNameError: It stands for nothing in this harness.
    """
    slope = slope_of(harness)
    if name in slope.by_name:
        return (slope.by_name[name],)
    for lamp in harness.lamps():
        if lamp.lamp == name:
            return (lamp,)
    for part in harness.parts.values():
        if name == part.name or name in part.also:
            return part.devices
    if name in harness.connectors:
        return tuple(j for j in harness.joints if j.kind in ("way", "bullet") and node_of(j.a).owner == name)
    for wire in harness.wires:
        if name == wire.name:
            return wire.segments
    if name in slope.at:
        return tuple(slope.at[name])
    known = [
        *(f.lamp for f in harness.lamps()), *harness.parts, *harness.connectors, *harness.splices, *harness.earths,
        *slope.at, *slope.by_name,
    ]
    raise UnknownNameError(f"nothing is called “{name}”", did_you_mean(name, dict.fromkeys(known)))


def sub_circuit(harness: Harness, names: Iterable[str], *, with_supply: bool = True) -> frozenset[str]:
    """Names of the devices on the paths from the supply to earth through what is named.

    A name on the feed side that already lies on the path of a named consumer adds nothing, so that
    naming a lamp and its fuse shows the lamp's circuit and not everything behind the fuse. Without
    the supply the picture begins at the nearest switch, fuse or relay.

    Raises:
        UnknownNameError: A name that the harness does not have.
    """
    slope = slope_of(harness)
    walk = _Walk(slope, with_supply)
    named = [(n, devices_named(harness, n)) for n in names]
    late: list[tuple[str, tuple[Device, ...]]] = []
    for name, devices in named:
        if any(is_consumer(d) for d in devices) and name not in slope.at:
            walk.through([d for d in devices if is_consumer(d)])
        else:
            late.append((name, devices))
    for name, devices in late:
        reached = {n for d in devices for n in ends(d)} if name not in slope.at else {name}
        on_feed = any(n in slope.feed for n in reached)
        if on_feed and any(d.name in walk.found for d in devices):
            walk.found.update(d.name for d in devices if name not in slope.at)
        elif name in slope.at:
            walk.through_node(name)
        else:
            walk.through(devices)
    if walk.found and with_supply:
        walk.close_to_battery()
    return frozenset(walk.found)


class _Walk:
    """Collects devices by going up to the supply and down to earth."""

    def __init__(self, slope: Slope, with_supply: bool) -> None:
        self.slope = slope
        self.with_supply = with_supply
        self.found: set[str] = set()

    def through(self, devices: Iterable[Device]) -> None:
        for d in devices:
            self._take(d)
            high, low = sorted(ends(d), key=self.slope.key, reverse=True)
            if isinstance(d, Source):
                continue
            self._go(high, up=True)
            # A lamp that hangs between two feeds has its return through what the other one feeds.
            self._go(low, up=False, flat=is_consumer(d) and low in self.slope.feed)

    def through_node(self, node: str) -> None:
        self._go(node, up=True)
        self._go(node, up=False)

    def _take(self, device: Device) -> None:
        new = device.name not in self.found
        self.found.add(device.name)
        if new and isinstance(device, RelayContact) and device.coil in self.slope.by_name:
            self.through([self.slope.by_name[device.coil]])
        elif new and device.name in self.slope.beside:
            self.through(self.slope.beside[device.name])

    def _go(self, start: str, up: bool, flat: bool = False) -> None:
        slope, seen, queue = self.slope, {start}, deque([start])
        while queue:
            node = queue.popleft()
            if node in slope.bodies or (up and node in slope.live):
                continue
            for d in slope.at[node]:
                a, b = ends(d)
                other = b if a == node else a
                level = flat and slope.height[other] == slope.height[node]
                if isinstance(d, Source) or ((slope.key(other) > slope.key(node)) != up and not level):
                    continue
                # A consumer between two feeds (a tell-tale) is no part of the way to another one.
                if is_consumer(d) and node in slope.feed and (up or other in slope.feed):
                    continue
                self._take(d)
                stops = up and not self.with_supply and isinstance(
                    d, (SwitchContact, FuseLink, RelayContact, FlasherContact, Diode)
                )
                if stops:  # a fuse with its clip
                    self.found.update(c.name for c in slope.at[other] if isinstance(c, Joint) and c.kind == "clip")
                if other not in seen and not stops:
                    seen.add(other)
                    queue.append(other)

    def close_to_battery(self) -> None:
        """The battery, and the way back to it from each body that was reached."""
        slope = self.slope
        nodes = {n for name in self.found for n in ends(slope.by_name[name])}
        for d in slope.devices:
            if isinstance(d, Source) and nodes & set(ends(d)):
                self.found.add(d.name)
                for body in [n for n in nodes if n in slope.bodies] or sorted(slope.bodies)[:1]:
                    self._shortest(body, slope.poles & set(ends(d)))

    def _shortest(self, start: str, goals: set[str]) -> None:
        came: dict[str, tuple[str, Device]] = {}
        queue, seen = deque([start]), {start}
        while queue:
            node = queue.popleft()
            if node in goals:
                while node != start:
                    node, device = came[node]
                    self.found.add(device.name)
                return
            for d in self.slope.at[node]:
                for other in ends(d):
                    if other not in seen and not is_consumer(d) and not isinstance(d, Source):
                        seen.add(other)
                        came[other] = (node, d)
                        queue.append(other)


def place_words(harness: Harness, name: str) -> str:
    """Where a device or terminal is, or nothing."""
    slope = slope_of(harness)
    node = name if name in slope.at else next(iter(ends(slope.by_name[name])), "") if name in slope.by_name else name
    device = slope.by_name.get(name)
    if isinstance(device, Joint) and device.kind == "earth":
        node = device.a
    place, _ = harness.place_of(node)
    return "" if place in (node, node_of(node).owner) else place
