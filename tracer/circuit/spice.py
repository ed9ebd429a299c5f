"""A set-up of a vehicle as plain SPICE text, so that any circuit simulator can confirm a prediction.

Only resistors, voltage sources and B sources (currents given by an expression) are used. The laws
are those of `filament`; opens are left out; every node leaks to the reference by `LEAK_S` as in the
solver, so that what floats reads 0 V. Fuses do not melt and relays do not move here: pass a blown
fuse as an open link and the coils that hold as `pulled_in`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from tracer.circuit.change_table import moved
from tracer.circuit.model import (
    LEAST_OHM,
    NO_CHANGE,
    OHMMETER_OHM,
    OHMMETER_V,
    AddedBranch,
    Change,
    Circuit,
    Linear,
    Setup,
    conductance_of,
)
from tracer.circuit.network import LEAK_S
from tracer.harness.devices import (
    Dimmer,
    Diode,
    Filament,
    FilamentLaw,
    FlasherContact,
    FuseLink,
    LampLaw,
    LedLaw,
    RelayContact,
    SwitchContact,
)

_PER_LINE = 8
_STUCK_SHARE = 0.999  # a change that leaves a contact less than this of its healthy conductance is no stuck one


def node_number(circuit: Circuit, name: str) -> str:
    """The SPICE name of a node: 0 for the reference, else n1, n2, …

    Raises:
        SolverError: No such node.
    """
    return _number(circuit.node(name))


def netlist(
    circuit: Circuit, setup: Setup, change: Change = NO_CHANGE, pulled_in: frozenset[str] = frozenset(),
    title: str = "",
) -> str:
    """SPICE text of `circuit` in `setup` with `change` as its fault.

    Node voltages are printed as v(n1), v(n2), …; the current of port k (filaments and diodes in
    the circuit's order, from 1, then test lamps) as i(vk), positive from its first node to its second.

    Args:
        circuit: The harness as a circuit.
        setup: Vehicle state, phase of the flasher and what was done on purpose, instruments included.
        change: The fault; instruments in it are ignored, as in the solver.
        pulled_in: Names of the relay coils that hold.
        title: First line of the file.
    """
    if setup.done.swapped:
        change = moved(circuit, change, setup.done.swapped)
    lines = [f"* {_plain(title or circuit.harness.title)}", "* nodes: 0 is the reference"]
    lines += [f"*   {_number(i):<5} {_plain(n)}" for i, n in enumerate(circuit.nodes)]
    lines.append(".options reltol=1e-9 vntol=1e-6 abstol=1e-13 itl1=1000")
    lines += _supplies(circuit, setup, change)
    lines += _branches(circuit, setup, change, pulled_in)
    ports = list(_ports(circuit, setup, change))
    lines += [line for _, text in ports for line in text]
    lines.append("* what floats reads 0 V")
    lines += [f"RL{i} n{i} 0 {_text(1 / LEAK_S)}" for i in range(1, len(circuit.nodes))]
    lines.append(".op")
    shown = [f"v(n{i})" for i in range(1, len(circuit.nodes))] + [f"i({name})" for name, text in ports if name]
    lines += [".print op " + " ".join(shown[i:i + _PER_LINE]) for i in range(0, len(shown), _PER_LINE)]
    lines.append(".end")
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    return " ".join(text.split())


def _text(value: float) -> str:
    return repr(float(value))


def _number(i: int) -> str:
    return f"n{i}" if i else "0"


def _supplies(circuit: Circuit, setup: Setup, change: Change) -> Iterator[str]:
    supplies: list[tuple[str, str, str, float, float]] = []
    if setup.done.disconnected:
        yield "* the battery is disconnected"
    else:
        running = setup.state.engine_running
        factor = setup.done.emf_in(running) * change.emf_in(running)
        times = circuit.weakened(change.battery_ohm)
        for s in circuit.sources:
            supplies.append((s.name, s.plus, s.minus, s.emf(running) * factor, times * max(s.ohm, LEAST_OHM)))
    if setup.done.ohmmeter:
        supplies.append(("ohmmeter", *setup.done.ohmmeter, OHMMETER_V, OHMMETER_OHM))
    for k, (name, plus, minus, volts, ohm) in enumerate(supplies, 1):
        yield f"* {_plain(name)}"
        yield f"VS{k} s{k} {node_number(circuit, minus)} {_text(volts)}"
        yield f"RS{k} s{k} {node_number(circuit, plus)} {_text(max(ohm, LEAST_OHM))}"


def _branches(circuit: Circuit, setup: Setup, change: Change, pulled_in: frozenset[str]) -> Iterator[str]:
    on_purpose, fault, closing = dict(setup.done.set_ohm), dict(change.set_ohm), dict(change.contacts)
    position = dict(setup.state.positions)
    for k, d in enumerate(circuit.linear, 1):
        ohm = on_purpose.get(d.name, _ohm_in(d, setup, pulled_in))
        held_open = d.name in on_purpose and conductance_of(ohm) == 0.0
        if d.name in closing and not held_open:
            closed = position.get(circuit.control_of(d.name)) in closing[d.name]
            ohm = _closed_ohm(d) if closed else math.inf
        elif d.name in change.inverted and not held_open:
            ohm = math.inf if conductance_of(ohm) else _closed_ohm(d)
        if d.name in fault and not held_open:
            burnt = conductance_of(fault[d.name]) < _STUCK_SHARE * conductance_of(_closed_ohm(d))
            if conductance_of(ohm) or not burnt:
                ohm = fault[d.name]
        yield from _resistor(f"R{k}", d.name, circuit, d.a, d.b, ohm)
    own: list[AddedBranch] = [x for x in change.added if not x.through or x.through not in setup.done.removed]
    for k, x in enumerate([*setup.done.added, *own], 1):
        yield from _resistor(f"RA{k}", "added path", circuit, x.a, x.b, x.ohm)


def _resistor(label: str, name: str, circuit: Circuit, a: str, b: str, ohm: float) -> Iterator[str]:
    if conductance_of(ohm) == 0.0:
        yield f"* open: {_plain(name)}"
    elif circuit.node(a) != circuit.node(b):
        yield f"* {_plain(name)}"
        yield f"{label} {node_number(circuit, a)} {node_number(circuit, b)} {_text(max(ohm, LEAST_OHM))}"


def _closed_ohm(d: Linear) -> float:
    return d.cold_ohm() if isinstance(d, FuseLink) else d.ohm


def _ohm_in(d: Linear, setup: Setup, pulled_in: frozenset[str]) -> float:
    """Resistance of a healthy branch in the set-up's state; infinite if it stands open."""
    closed = True
    if isinstance(d, Dimmer):
        return d.ohm_at(dict(setup.state.positions).get(d.control))
    if isinstance(d, SwitchContact):
        closed = d.closed_at(dict(setup.state.positions).get(d.control))
    elif isinstance(d, FlasherContact):
        closed = setup.phase == "lit"
    elif isinstance(d, RelayContact):
        closed = (d.coil in pulled_in) == d.makes
    return _closed_ohm(d) if closed else math.inf


def _ports(circuit: Circuit, setup: Setup, change: Change) -> Iterator[tuple[str, list[str]]]:
    """(name of its ammeter, lines) of each port and test lamp; no name for one that conducts nothing."""
    dead = {*setup.done.dead, *change.dead}
    for k, p in enumerate(circuit.ports, 1):
        factor = 1.0
        for name, f in (*setup.done.scaled, *change.scaled):
            factor *= f if name == p.name else 1.0
        if p.name in dead or factor == 0.0:
            yield "", [f"* conducts nothing: {_plain(p.name)}"]
            continue
        yield f"v{k}", _port(k, p.name, circuit, p.a, p.b, p.law if isinstance(p, Filament) else p, factor)
    for k, lamp in enumerate(setup.done.lamps, len(circuit.ports) + 1):
        yield f"v{k}", _port(k, "test lamp", circuit, lamp.a, lamp.b, lamp.law, 1.0)


def _port(
    k: int, name: str, circuit: Circuit, a: str, b: str, law: LampLaw | Diode, factor: float
) -> list[str]:
    a, b = node_number(circuit, a), node_number(circuit, b)
    across = f"v(p{k},{b})" if b != "0" else f"v(p{k})"
    current = filament_expression(law, across) if isinstance(law, FilamentLaw) else diode_expression(law, across)
    if factor != 1.0:
        current = f"{_text(factor)}*{current}"
    return [f"* {_plain(name)}", f"V{k} {a} p{k} 0", f"B{k} p{k} {b} I={current}"]


def filament_expression(law: FilamentLaw, v: str) -> str:
    """The filament's current as a SPICE expression in the voltage `v`: v over its resistance, which is
    (Rc^k + Rp^k)^(1/k) with Rc cold and Rp by the power law, or the larger of the two for k = inf."""
    cold = law.cold_ohm
    ratio = f"{_text(law.v0 / law.i0 / cold)}*pow(max(abs({v}),1e-12)/{_text(law.v0)},{_text(1 - law.exponent)})"
    k = law.sharpness
    relative = f"max({ratio},1)" if math.isinf(k) else f"pow(1+pow({ratio},{_text(k)}),{_text(1 / k)})"
    return f"{v}/({_text(cold)}*{relative})"


def diode_expression(d: Diode | LedLaw, v: str) -> str:
    """The current of a diode or LEDs as a SPICE expression: s/r · (ln(1 + exp(x)) − its value at 0 V) with
    x = (v − threshold)/s, written so that exp cannot overflow, and the leakage."""
    at_zero = math.log1p(math.exp(-d.threshold_v / d.soft_v))
    x = f"({v}-{_text(d.threshold_v)})/{_text(d.soft_v)}"
    leak = "" if math.isinf(d.leak_ohm) else f"+{v}/{_text(d.leak_ohm)}"
    return f"({_text(d.soft_v / d.ohm)}*(max({x},0)+ln(1+exp(-abs({x})))-{_text(at_zero)}){leak})"
