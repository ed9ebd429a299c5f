"""A second solver that shares nothing with the engine: plain loops over the devices, its own laws, full
nodal Newton. Slow, and meant to be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt

from tracer.circuit.model import OHMMETER_OHM, OHMMETER_V, OPEN_OHM, Change, Circuit, Linear, Setup
from tracer.circuit.network import LEAK_S
from tracer.harness.devices import (
    Dimmer,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    LampLaw,
    LedLaw,
    RelayContact,
    SwitchContact,
)

Floats = npt.NDArray[np.float64]
LEAST_OHM = 1e-4


def healthy_ohm(d: Linear) -> float:
    return d.cold_ohm() if isinstance(d, FuseLink) else d.ohm


def ohm_in(d: Linear, setup: Setup) -> float:
    """Resistance of a healthy linear device in the set-up, relays excepted."""
    assert not isinstance(d, RelayContact)
    closed = True
    if isinstance(d, Dimmer):
        ohms = [ohm for position, ohm in d.steps if position == dict(setup.state.positions)[d.control]]
        return ohms[0] + d.contact_ohm if ohms else math.inf
    if isinstance(d, SwitchContact):
        closed = dict(setup.state.positions)[d.control] in d.closed_in
    if isinstance(d, FlasherContact):
        closed = setup.phase == "lit"
    return healthy_ohm(d) if closed else math.inf


def edges_of(circuit: Circuit, setup: Setup, change: Change) -> Iterator[tuple[str, str, float]]:
    for d in circuit.linear:
        ohm, opened = ohm_in(d, setup), False
        for name, where in change.contacts:  # it closes in other positions
            if name == d.name and isinstance(d, SwitchContact):
                ohm = d.ohm if dict(setup.state.positions)[d.control] in where else math.inf
        for name, r in setup.done.set_ohm:
            if name == d.name:
                ohm, opened = r, r >= OPEN_OHM
        for name, r in change.set_ohm:
            # a burnt contact does not close a switch that stands open
            if name == d.name and not opened and (ohm < OPEN_OHM or r <= healthy_ohm(d) * 1.0005):
                ohm = r
        if ohm < OPEN_OHM:
            yield d.a, d.b, 1 / max(ohm, LEAST_OHM)
    for x in (*setup.done.added, *change.added):
        if not (x in change.added and x.through and x.through in setup.done.removed):
            yield x.a, x.b, 1 / max(x.ohm, LEAST_OHM)


def law_of(law: LampLaw | Diode, factor: float) -> Callable[[float], tuple[float, float]]:
    """Current and slope at a voltage, by formula and by a central difference."""

    def soft(v: float, d: Diode | LedLaw) -> float:
        x = (v - d.threshold_v) / d.soft_v
        return max(x, 0.0) + math.log1p(math.exp(-abs(x)))

    def amps(v: float) -> float:
        if isinstance(law, (Diode, LedLaw)):
            return factor * (law.soft_v / law.ohm * (soft(v, law) - soft(0.0, law)) + v / law.leak_ohm)
        cold = law.v0 / law.i0 / law.cold_ratio
        power = law.v0 / law.i0 * (abs(v) / law.v0) ** (1 - law.exponent)
        k = law.sharpness
        ohm = max(cold, power) if math.isinf(k) else (cold**k + power**k) ** (1 / k)
        return float(factor * v / ohm)

    def both(v: float) -> tuple[float, float]:
        step = 1e-6 * max(abs(v), 1e-3)
        return amps(v), (amps(v + step) - amps(v - step)) / (2 * step)

    return both


class Dense:
    """Nodal equations of one set-up and change, assembled with plain loops."""

    def __init__(self, circuit: Circuit, setup: Setup, change: Change) -> None:
        n = len(circuit.nodes)
        at = {name: i for i, name in enumerate(circuit.nodes)}
        self.matrix, self.injected = np.zeros((n, n)), np.zeros(n)
        for i in range(n):
            self.matrix[i, i] += LEAK_S
        edges = list(edges_of(circuit, setup, change))
        factor = setup.done.emf_factor * change.emf_factor
        if setup.state.engine_running:
            factor *= setup.done.running_factor * change.running_factor
        share = change.battery_ohm / sum(s.ohm for s in circuit.sources) if change.battery_ohm else 0.0
        sources = [] if setup.done.disconnected else [
            (s.plus, s.minus, s.emf(setup.state.engine_running) * factor, s.ohm * (1 + share))
            for s in circuit.sources
        ]
        if setup.done.ohmmeter:
            sources.append((*setup.done.ohmmeter, OHMMETER_V, OHMMETER_OHM))
        for plus, minus, emf, ohm in sources:
            edges.append((plus, minus, 1 / max(ohm, LEAST_OHM)))
            self.injected[at[plus]] += emf / max(ohm, LEAST_OHM)
            self.injected[at[minus]] -= emf / max(ohm, LEAST_OHM)
        for a, b, s in edges:
            self.stamp(self.matrix, at[a], at[b], s)
        self.ports: list[tuple[int, int, Callable[[float], tuple[float, float]]]] = []
        for p in circuit.ports:
            weight = 0.0 if p.name in (*setup.done.dead, *change.dead) else 1.0
            for name, f in (*setup.done.scaled, *change.scaled):
                weight *= f if name == p.name else 1.0
            if weight:
                law = law_of(p.law if isinstance(p, Filament) else p, weight)
                self.ports.append((at[p.a], at[p.b], law))
        self.ports += [(at[t.a], at[t.b], law_of(t.law, 1.0)) for t in setup.done.lamps]

    @staticmethod
    def stamp(matrix: Floats, a: int, b: int, s: float) -> None:
        matrix[a, a] += s
        matrix[b, b] += s
        matrix[a, b] -= s
        matrix[b, a] -= s

    def residual(self, volts: Floats) -> float:
        """Largest breach of Kirchhoff's current law at any node but the reference, A."""
        net = self.matrix @ volts - self.injected
        for a, b, law in self.ports:
            amps, _ = law(volts[a] - volts[b])
            net[a] += amps
            net[b] -= amps
        return float(np.abs(net[1:]).max())

    def solve(self, start: Floats) -> Floats:
        """Newton from `start` until its steps are below a nanovolt; the reference is struck out."""
        volts = start.copy()
        for _ in range(200):
            matrix, rhs = self.matrix.copy(), self.injected.copy()
            for a, b, law in self.ports:
                v = volts[a] - volts[b]
                amps, slope = law(v)
                self.stamp(matrix, a, b, slope)
                rhs[a] -= amps - slope * v
                rhs[b] += amps - slope * v
            new = np.concatenate([[0.0], np.linalg.solve(matrix[1:, 1:], rhs[1:])])
            step = np.abs(new - volts).max()
            volts = new
            if step < 1e-8:
                return volts
        raise AssertionError("the dense solver did not converge")
