"""What a vehicle does in one state, with faults or without: lamps, voltages, currents, fuses, relays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Change, Setup
from tracer.circuit.spice import netlist
from tracer.errors import TracerError
from tracer.faults import Fault, find_fault, list_faults
from tracer.harness.devices import Resistor
from tracer.harness.model import Harness, VehicleState
from tracer.inference.current_paths import Flow, flow
from tracer.inference.explanation import say_lamp
from tracer.observation.forward_model import Predictor
from tracer.observation.words.terminals import terminals_of
from tracer.safety.advice import Caution, cautions_of, of_look
from tracer.safety.lines import above, as_data
from tracer.standards.fuses import say_time


class LampLit(Struct, frozen=True):
    """One lamp: how it looks, how it would look if all were well, V across the contacts of its holder (a broken
    filament has the full voltage there and no light), A through it."""

    lamp: str
    look: str
    healthy: str
    volts: float
    amps: float


class Simulation(Struct, frozen=True):
    """One solved case. Numbers are as they came out; what prints them rounds them, once.

    Attributes:
        lamps: Every lamp of the harness.
        fuses_blow: Fuse → when it blows, in words.
        relays_pulled_in, relays_buzzing: Names.
        coils_amps: Coil of a relay, an arm, a lock → A through it.
        flashes_per_minute: Of the flasher unit; 0 where it stays closed, None where it is idle.
        volts: Node → V against the body.
    """

    harness: Harness
    state: VehicleState
    faults: tuple[Fault, ...]
    lamps: tuple[LampLit, ...]
    fuses_blow: Mapping[str, str]
    relays_pulled_in: tuple[str, ...]
    relays_buzzing: tuple[str, ...]
    coils_amps: Mapping[str, float]
    buzzes: bool
    flashes_per_minute: int | None
    volts: Mapping[str, float]
    netlist: str

    def volts_at(self, terminal: str) -> float:
        """V against the body at a terminal, by any name that it may be called.

        Raises:
            TracerError: No such terminal.
        """
        return self.volts[terminals_of(self.harness).need(terminal)]

    def at_terminals(self, terminals: Sequence[str]) -> dict[str, float]:
        """V against the body at each of these, under its own name.

        Raises:
            TracerError: No such terminal.
        """
        return {t: self.volts[t] for t in map(terminals_of(self.harness).need, terminals)}

    def cautions(self) -> tuple[Caution, ...]:
        """What must be said before anybody sets the vehicle so."""
        return cautions_of(of_look(self.state, self.harness))

    def caution_lines(self) -> list[tuple[str, str]]:
        """(leading word, text) of each danger and caution."""
        return above(self.cautions())

    def as_data(self, terminals: Sequence[str] = ()) -> dict[str, Any]:
        """The case as plain data for JSON; units in the keys."""
        return {
            "cautions": as_data(self.cautions()),
            "state": dict(self.state.positions),
            "engine_running": self.state.engine_running,
            "faults": [f.name for f in self.faults],
            "lamps": [
                {"lamp": x.lamp, "look": x.look, "healthy": x.healthy, "volts": round(x.volts, 3),
                 "amps": round(x.amps, 4)}
                for x in self.lamps
            ],
            "fuses_blown": list(self.fuses_blow),
            "fuses_blow": dict(self.fuses_blow),
            "relays_pulled_in": list(self.relays_pulled_in),
            "coils_amps": {coil: round(amps, 3) for coil, amps in self.coils_amps.items()},
            "relay_buzzes": self.buzzes,
            "flashes_per_minute": self.flashes_per_minute,
            "terminals_volts": {t: round(v, 3) for t, v in self.at_terminals(terminals).items()},
        }


def _netlist(predictor: Predictor, setup: Setup, change: Change) -> str:
    """The case as it settled: relays where they stand, blown fuses open."""
    settler = predictor.settler
    settled = settler.solve(setup, predictor.table([change]))
    blown = [f.name for f, b in zip(settler.fuses, settled.blown[0], strict=True) if b]
    holding = frozenset(c for c, p in zip(settler.coils, settled.pulled_in[0], strict=True) if p)
    return netlist(predictor.circuit, setup, change | Change(set_ohm=tuple((f, OPEN_OHM) for f in blown)), holding)


def _coils(harness: Harness, flows: Flow) -> dict[str, float]:
    own = (d for d in harness.devices() if isinstance(d, Resistor) and d.role == "coil")
    return {d.name: abs(flows.signed.get(d.name, 0.0)) for d in own}


def simulate(
    harness: Harness, positions: Mapping[str, str] | None = None, engine_running: bool = False,
    faults: Sequence[str] = (),
) -> Simulation:
    """What the vehicle does.

    Args:
        harness: The vehicle.
        positions: Position by control; those not named stand as usual.
        engine_running: Whether the charging side feeds the vehicle.
        faults: Faults by name or number as `list_faults` has them, at the likeliest severity.

    Raises:
        TracerError: No such control, position or fault, or a circuit that could not be solved.
    """
    state = harness.state(positions or {}, engine_running)
    predictor = Predictor(harness)
    catalogue = list_faults(harness) if faults else ()
    found = tuple(find_fault(catalogue, n) for n in faults)
    change: Change = NO_CHANGE
    for f in found:
        change = change | max(f.variants, key=lambda v: v.weight).change
    setup: Setup = predictor.setup(state)
    table = predictor.table([change])
    panel = predictor.panel(setup, table)
    if not panel.usable[0]:
        raise TracerError("this circuit could not be solved", "please keep the harness file: it shows a weakness")
    flows, healthy = flow(predictor, setup, change), predictor.healthy(state)
    lamps = tuple(
        LampLit(
            f.lamp, say_lamp(panel, predictor, f.lamp), say_lamp(healthy, predictor, f.lamp),
            abs(flows.volts[f.a] - flows.volts[f.b]), abs(flows.signed.get(f.name, 0.0)),
        )
        for f in predictor.lamps
    )
    blow = {f: say_time(s) for f, s in zip(predictor.fuses, panel.blow_s[0], strict=True) if math.isfinite(s)}
    return Simulation(
        harness, state, found, lamps, blow,
        tuple(r for r, held in zip(predictor.relays, panel.pulled_in[0].tolist(), strict=True) if held),
        tuple(r for r, b in zip(predictor.relays, panel.restless[0], strict=True) if b),
        _coils(harness, flows),
        bool(panel.buzzing[0]),
        None if math.isnan(panel.per_min[0]) else round(float(panel.per_min[0])),
        flows.volts, _netlist(predictor, setup, change),
    )
