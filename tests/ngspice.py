"""Circuits at random, and the ngspice program to confirm what the solver says about them.

ngspice (Debian's package) is wanted by the tests only. Many netlists are run in one process.
"""

from __future__ import annotations

import math
import random
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from tests.circuits import circuit_of
from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, Setup, TestLamp
from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FilamentLaw,
    FuseLink,
    Joint,
    LampLaw,
    LedLaw,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import VehicleState

Floats = npt.NDArray[np.float64]
PROGRAM = shutil.which("ngspice")
needs_ngspice = pytest.mark.skipif(PROGRAM is None, reason="the program ngspice is not installed")


@dataclass(frozen=True)
class Case:
    """One circuit in one set-up with one fault."""

    circuit: Circuit
    setup: Setup
    change: Change


class NoOperatingPointError(Exception):
    """ngspice found no solution for netlist `number`."""

    def __init__(self, number: int, said: str) -> None:
        super().__init__(f"netlist {number}: {said}")
        self.number = number


def operating_points(netlists: Sequence[str], folder: Path) -> list[dict[str, float] | str]:
    """Node voltages and source currents of each netlist, by ngspice's names ("n3", "v2#branch"); what ngspice said
    where it found none."""
    assert PROGRAM is not None
    script = ["* all of them", ".control", "set filetype=ascii"]
    for i, text in enumerate(netlists):
        (folder / f"{i}.cir").write_text(text, encoding="utf-8")
        script += [f"source {i}.cir", "op", f"write {i}.raw", "destroy all", "remcirc"]
    script += ["quit", ".endc", ".end"]
    (folder / "run.cir").write_text("\n".join(script) + "\n", encoding="utf-8")
    for old in folder.glob("*.raw"):
        old.unlink()
    done = subprocess.run([PROGRAM, "-b", "run.cir"], cwd=folder, capture_output=True, text=True, timeout=600)
    found: list[dict[str, float] | str] = []
    for i in range(len(netlists)):
        raw = folder / f"{i}.raw"
        text = raw.read_text(encoding="utf-8", errors="replace") if raw.exists() else ""
        found.append(
            _read_raw(text) if "Operating Point" in text else f"{done.stdout[-500:]}{done.stderr[-1500:]}"
        )
    return found


def run_ngspice(netlists: Sequence[str], folder: Path) -> list[dict[str, float]]:
    """Node voltages and source currents of each netlist.

    Raises:
        NoOperatingPointError: For any of them.
    """
    found = []
    for i, one in enumerate(operating_points(netlists, folder)):
        if isinstance(one, str):
            raise NoOperatingPointError(i, one)
        found.append(one)
    return found


def _read_raw(text: str) -> dict[str, float]:
    head, _, values = text.partition("Values:\n")
    names = []
    for line in head.partition("Variables:\n")[2].splitlines():
        if line.strip():
            names.append(line.split()[1])
    numbers = [float(line.split()[-1]) for line in values.splitlines() if line.strip()]
    result = {}
    for name, number in zip(names, numbers, strict=True):
        result[name.removeprefix("v(").removesuffix(")") if name.startswith("v(") else name] = number
    return result


def node_volts(circuit: Circuit, found: dict[str, float]) -> Floats:
    """ngspice's voltage of every node, in the circuit's order."""
    return np.array([0.0] + [found[f"n{i}"] for i in range(1, len(circuit.nodes))])


def port_amps(ports: int, found: dict[str, float]) -> Floats:
    """ngspice's current of every port; 0 for one that the netlist leaves out."""
    amps = []
    for k in range(1, ports + 1):
        name = next((n for n in (f"v{k}#branch", f"i(v{k})") if n in found), None)
        amps.append(found[name] if name else 0.0)
    return np.array(amps)


def _log_uniform(rng: random.Random, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def random_law(rng: random.Random) -> FilamentLaw:
    watts = rng.choice([1.2, 2.2, 5.0, 6.0, 10.0, 21.0, 25.0, 55.0])
    return FilamentLaw(
        watts / 13.5, 13.5, rng.choice([0.55, 0.55, 0.541, 0.58]), rng.uniform(10, 15),
        rng.choice([4.0, 4.0, 4.0, 2.0, 8.0, math.inf]), watts,
    )


def random_led(rng: random.Random) -> LedLaw:
    """LEDs of 0.2 to 5 W at 6, 12 or 24 V, good and bad ones."""
    system_v = rng.choice([6.0, 12.0, 12.0, 24.0])
    threshold = rng.uniform(0.3, 0.75) * system_v
    ohm = (system_v - threshold) * system_v / _log_uniform(rng, 0.2, 5.0)
    return LedLaw(threshold, ohm, threshold / rng.uniform(30, 60), _log_uniform(rng, 1e5, 1e7), v_normal=system_v)


def _random_device(rng: random.Random, name: str, a: str, b: str) -> Device:
    kind = rng.choices(
        ["wire", "joint", "resistor", "switch", "fuse", "filament", "diode", "led", "dimmer", "relay coil", "buzzer"],
        [20, 15, 8, 13, 6, 18, 4, 9, 3, 3, 2],
    )[0]
    if kind == "wire":
        return Conductor(name, a, b, _log_uniform(rng, 1e-3, 0.2))
    if kind == "joint":
        return Joint(name, a, b, "way", _log_uniform(rng, 1e-3, 1.0))
    if kind == "resistor":
        return Resistor(name, a, b, _log_uniform(rng, 0.5, 1e5))
    if kind == "switch":
        closed = frozenset({"on"}) if rng.random() < 0.7 else frozenset({"off"})
        return SwitchContact(name, a, b, rng.choice(["sw1", "sw2", "sw3"]), closed, 0.01)
    if kind == "fuse":
        return FuseLink(name, a, b, rng.choice([5.0, 8.0, 15.0]))
    if kind == "filament":
        return Filament(name, a, b, name, name, random_law(rng))
    if kind == "led":
        return Filament(name, a, b, name, name, random_led(rng))
    if kind == "dimmer":
        return Dimmer(name, a, b, rng.choice(["sw1", "sw2"]), (("off", rng.choice([0.0, 5.0])), ("on", 20.0)))
    if kind == "relay coil":
        return Resistor(name, a, b, _log_uniform(rng, 50, 400), "coil")
    if kind == "buzzer":
        return Diode(name, a, b, 1.8, 102.0, 0.045, 1e6, "buzzer")
    threshold = rng.uniform(0.3, 2.2)
    return Diode(name, a, b, threshold, rng.uniform(0.02, 2.0), rng.uniform(threshold / 60, threshold / 16),
                 rng.choice([math.inf, math.inf, 1e6]))


def random_circuit(rng: random.Random) -> Circuit:
    """4 to 16 nodes, mostly joined, with a battery and sometimes a second one."""
    nodes = ["body"] + [f"k{i}" for i in range(1, rng.randint(4, 16))]
    pairs = [(n, rng.choice(nodes[:i])) for i, n in enumerate(nodes) if i]
    pairs = [p if rng.random() < 0.5 else (p[1], p[0]) for p in pairs]
    for _ in range(rng.randint(0, len(nodes))):
        a, b = rng.sample(nodes, 2)
        pairs.append((a, b))
    devices: list[Device] = [_random_device(rng, f"d{i}", a, b) for i, (a, b) in enumerate(pairs)]
    # Every other relay coil has its quench diode, blocking or turned the wrong way.
    for d in [d for d in devices if isinstance(d, Resistor) and d.role == "coil"]:
        if rng.random() < 0.5:
            devices.append(Diode(f"{d.name} quench", d.b, d.a, role="quench"))
    plus, volts = rng.choice(nodes[1:]), rng.choice([6.3, 12.6, 25.2, -12.6])
    devices.append(Source("battery", plus, "body", volts, rng.uniform(0.005, 0.1), 14.2))
    if rng.random() < 0.2:
        # Earthed too: between floating batteries and the body only leaks of a gigaohm decide.
        plus, volts = rng.choice(nodes[1:]), rng.choice([12.6, -12.6])
        devices.append(Source("second battery", plus, "body", volts, rng.uniform(0.005, 0.1)))
    return circuit_of(devices, {f"sw{i}": ["off", "on"] for i in (1, 2, 3)})


def random_change(rng: random.Random, circuit: Circuit, most: int = 3) -> Change:
    """Up to `most` faults: opens, bad joints, contacts that stick, paths between any two nodes, dead
    or wrong lamps, a weak battery."""
    change = Change()
    for _ in range(rng.randint(0, most)):
        kind = rng.choice(["open", "bad", "stuck", "path", "path", "dead", "wrong", "battery"])
        if kind in ("open", "bad", "stuck") and circuit.linear:
            d = rng.choice(circuit.linear)
            healthy = float(1 / circuit.closed_s[circuit.branch_index[d.name]])
            ohm = {"open": OPEN_OHM, "bad": healthy + _log_uniform(rng, 0.2, 5000), "stuck": healthy}[kind]
            change = change | Change(set_ohm=((d.name, ohm),))
        elif kind == "path":
            a, b = rng.sample(circuit.nodes, 2)
            change = change | Change(added=(AddedBranch(a, b, _log_uniform(rng, 0.01, 1000)),))
        elif kind == "battery":
            inside = rng.choice([0.0, _log_uniform(rng, 0.01, 2.0)])
            change = change | Change(emf_factor=rng.uniform(0.7, 1.1), battery_ohm=inside)
        elif circuit.ports:
            p = rng.choice(circuit.ports)
            wrong = isinstance(p, Filament) and kind == "wrong"
            change = change | (Change(scaled=((p.name, rng.uniform(0.1, 5)),)) if wrong else Change(dead=(p.name,)))
    return change


def random_setup(rng: random.Random, circuit: Circuit) -> Setup:
    """Controls anywhere; sometimes an instrument, a temporary lead, a lamp or a joint taken out."""
    state = VehicleState(
        tuple((f"sw{i}", rng.choice(["off", "on", "on"])) for i in (1, 2, 3)), rng.random() < 0.3
    )
    done = Change()
    for _ in range(rng.choice([0, 0, 1, 2])):
        a, b = rng.sample(circuit.nodes, 2)
        law: LampLaw = random_led(rng) if rng.random() < 0.5 else random_law(rng)
        done = done | rng.choice([
            Change(lamps=(TestLamp(a, b, law),)),
            Change(disconnected=True, ohmmeter=(rng.choice(circuit.nodes[1:]), "body")),
            Change(added=(AddedBranch(a, b, 0.05),)),
            Change(emf_factor=rng.uniform(0.8, 1.05)),
            Change(dead=tuple(p.name for p in circuit.ports[:1])),
            Change(set_ohm=tuple((d.name, OPEN_OHM) for d in circuit.linear[-2:-1])),
        ])
    return Setup(state, "lit", done)


def random_case(seed: int) -> Case:
    rng = random.Random(seed)
    circuit = random_circuit(rng)
    return Case(circuit, random_setup(rng, circuit), random_change(rng, circuit))
