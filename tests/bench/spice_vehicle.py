"""A vehicle with a fault that answers tests through ngspice, not through the solver under test.

Drawn once a job and told to nobody: wire lengths within 20 %, filament currents within 8 %, a battery of
11.8 to 12.8 V (scaled for 6 and 24 V), the resistance of every joint and contact, how bad a bad contact is
within its step of severity, the eye and the meter of the person.
"""

from __future__ import annotations

import math
import random
import tempfile
from collections.abc import Sequence
from copy import copy
from pathlib import Path

import numpy as np
from msgspec.structs import replace

from tests.bench.drawn import drawn, looked_over, severity
from tests.ngspice import NoOperatingPointError, run_ngspice
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.model import (
    LEAST_OHM,
    NO_CHANGE,
    OHMMETER_LEADS_OHM,
    OHMMETER_OHM,
    OHMMETER_V,
    OPEN_OHM,
    Change,
    Setup,
    build_circuit,
)
from tracer.circuit.spice import netlist
from tracer.faults import Fault
from tracer.harness.devices import (
    Conductor,
    Filament,
    FilamentLaw,
    FlasherContact,
    FuseLink,
    RelayContact,
)
from tracer.harness.model import Harness, VehicleState
from tracer.inference.hypotheses import basic_states
from tracer.inference.wire_ends import across, at_end
from tracer.observation.evidence import Test
from tracer.standards.fuses import blows_at

_PASSES = 10
_FLUX_EXPONENT = 3.4  # light of a filament goes with about V^3.4 (lamp-rerating tables)
# log10 of flux at which a person's word changes, and the words. The person's own borders are drawn around.
_BORDERS = ((math.log10(0.003), 0.25), (math.log10(0.06), 0.12), (math.log10(0.5), 0.06), (math.log10(1.45), 0.05))
_FULLY = 0.3  # decades from the rated light within which a lamp burns fully
_WORDS = ("dark", "faint", "dim", "normal", "bright")


class SpiceVehicle:
    """Answers what an electrician would see and measure; every answer is an operating point by ngspice."""

    def __init__(
        self, harness: Harness, truth: Change, rng: random.Random, tolerances: bool = True, fault: Fault | None = None
    ) -> None:
        """`fault`: what the change is of, for who looks it over; without it nobody can."""
        self.harness, self.rng, self.fault = harness, rng, fault
        own = random.Random()
        own.setstate(rng.getstate())  # its draws leave those of the instruments as they are
        self._dice = own.random()
        nominal = build_circuit(harness)
        self.circuit = drawn(nominal, rng) if tolerances else nominal
        self.truth = severity(truth, rng) if tolerances else truth
        rest = next((s.volts for s in self.circuit.sources), harness.system_v)
        self.supply = rng.uniform(11.8, 12.8) / 12.6 if tolerances else 1.0
        self.emf = rest * self.supply
        self._borders = [b + (rng.gauss(0, s) if tolerances else 0.0) for b, s in _BORDERS]
        self._gain = 1 + (rng.gauss(0, 0.005) if tolerances else 0.0)
        self._noise = 1.0 if tolerances else 0.0
        self._leads = rng.uniform(-0.05, 0.1) if tolerances else 0.0
        self._flasher = next((d for d in self.circuit.linear if isinstance(d, FlasherContact)), None)
        self._known: dict[Setup, tuple[dict[str, float], frozenset[str]]] = {}
        # Where a relay finds no rest: the voltages of the other state that it is in.
        self._between: dict[Setup, dict[str, float]] = {}
        self._usual: dict[str, float] = {}
        self.answers = 0

    # --- circuits

    def solve(self, setups: Sequence[Setup]) -> list[tuple[dict[str, float], frozenset[str]]]:
        """Node voltages by name and the fuses that blew, for each set-up; one ngspice process a pass."""
        setups = [self._with_supply(s) for s in setups]
        todo = [s for s in dict.fromkeys(setups) if s not in self._known]
        for s in todo:
            self._between.pop(s, None)
        blown: dict[Setup, frozenset[str]] = {s: frozenset() for s in todo}
        pulled: dict[Setup, frozenset[str]] = {s: frozenset() for s in todo}
        for _ in range(_PASSES):
            if not todo:
                break
            texts = [
                netlist(self.circuit, s, self.truth | _links_open(blown[s]), pulled[s]) for s in todo
            ]
            again = []
            with tempfile.TemporaryDirectory() as folder:
                found = run_ngspice(texts, Path(folder))
            for s, result in zip(todo, found, strict=True):
                volts = {"0": 0.0} | {n: result[f"n{i}"] for i, n in enumerate(self.circuit.nodes) if i}
                volts[self.circuit.nodes[0]] = 0.0
                before = self._known.get(s)
                self._known[s] = volts, blown[s]
                over, held = self._over(volts, s, blown[s]), self._held(volts, pulled[s])
                if over or held != pulled[s]:
                    # Fuses go before relays settle, one at a time, as in life.
                    blown[s], pulled[s] = (blown[s] | over, pulled[s]) if over else (blown[s], held)
                    again.append(s)
                    if before is not None and not over:
                        self._between[s] = before[0]
                else:
                    self._between.pop(s, None)
            todo = again
        return [self._known[s] for s in setups]

    def _with_supply(self, setup: Setup) -> Setup:
        return replace(setup, done=setup.done | Change(emf_factor=self.supply))

    def _states(self, setups: Sequence[Setup]) -> list[list[dict[str, float]]]:
        """Node voltages of each set-up; where a relay buzzes, of both states that it is in."""
        found = self.solve(setups)
        other = [self._between.get(self._with_supply(s)) for s in setups]
        return [[v] if o is None else [v, o] for (v, _), o in zip(found, other, strict=True)]

    def _over(self, volts: dict[str, float], setup: Setup, blown: frozenset[str]) -> frozenset[str]:
        held = dict(self.truth.set_ohm) | dict(setup.done.set_ohm)
        ratings = dict(self.truth.ratings)
        worst: tuple[float, str] = (1.0, "")
        for d in self.circuit.linear:
            if isinstance(d, FuseLink) and d.name not in blown:
                ohm = held.get(d.name, d.cold_ohm())
                most = blows_at(d.kind) * d.rating_a * ratings.get(d.name, 1.0)
                load = abs(volts[d.a] - volts[d.b]) / ohm / most if ohm < OPEN_OHM else 0.0
                worst = max(worst, (load, d.name))
        return frozenset([worst[1]] if worst[1] else [])

    def _held(self, volts: dict[str, float], pulled: frozenset[str]) -> frozenset[str]:
        """Coils that hold at these voltages."""
        out = set()
        opened = {n for n, ohm in self.truth.set_ohm if ohm >= OPEN_OHM}
        at = {d.name: d for d in self.circuit.linear}
        for d in self.circuit.linear:
            if isinstance(d, RelayContact) and d.coil not in opened:
                coil = at[d.coil]
                across = abs(volts[coil.a] - volts[coil.b])
                if across >= (d.drop_out_v if d.coil in pulled else d.pick_up_v):
                    out.add(d.coil)
        return frozenset(out)

    def copy(self) -> SpiceVehicle:
        """The same vehicle, for another person to work on."""
        other = copy(self)
        other._known, other._between = dict(self._known), dict(self._between)
        return other

    def sound(self) -> SpiceVehicle:
        """The same vehicle before the fault."""
        other = self.copy()
        other.truth = NO_CHANGE
        other._known = {}
        return other

    def remember(self, states: Sequence[VehicleState]) -> SpiceVehicle:
        """Whoever knows this vehicle has in mind how its own lamps shine when they burn fully, and calls that normal,
        be its battery a little fuller or its bulbs a little stronger than another's. Returns the sound vehicle."""
        sound = self.sound()
        sound.prepare(states)
        found = [sound.flux(state) for state in states]
        best = {lamp: max(f[lamp][0] for f in found) for lamp in found[0]}
        self._usual = sound._usual = {lamp: x for lamp, x in best.items() if abs(x) < _FULLY}
        return sound

    def keep_blown(self, state: VehicleState, done: Change = NO_CHANGE) -> None:
        """Fuses that blow in a state stay blown for the rest of the job."""
        names = self.solve([Setup(state, "lit", done)])[0][1]
        if names - {n for n, ohm in self.truth.set_ohm if ohm >= OPEN_OHM}:
            self.truth = self.truth | _links_open(names)
            self._known.clear()

    def renew_fuse(self, name: str) -> bool:
        """Fit a new fuse; True if the old one had blown. What blew it blows the new one as well."""
        left = tuple((n, ohm) for n, ohm in self.truth.set_ohm if n != f"{name} link")
        blown = len(left) < len(self.truth.set_ohm)
        self.truth = replace(self.truth, set_ohm=left)
        self._known.clear()
        return blown

    def repair(self, faults: Sequence[Fault]) -> bool:
        """Carry out one repair, given all the faults that it mends; True if any of it was needed."""
        left = _mended(self.truth, faults, self.fault)
        needed = left != self.truth
        if needed:
            self.truth = left
            self._known.clear()
        return needed

    def is_sound(self) -> bool:
        """Whether every lamp looks as it did before the fault, in every basic state."""
        own = Change(set_ohm=tuple(x for x in self.truth.set_ohm if not x[0].endswith(" link")))
        if replace(self.truth, set_ohm=own.set_ohm) == NO_CHANGE:
            return True
        sound, states = self.sound(), basic_states(self.harness)
        sound.prepare(states)
        self.prepare(states)
        for state in states:
            right, now = sound.flux(state), self.flux(state)
            if any(log_flux_differs(right[x][k], now[x][k]) for x in right for k in (0, 1)):
                return False
        return True

    # --- what is seen and measured

    def answer(self, test: Test) -> str:
        """What the test shows, as the electrician would type it."""
        self.answers += 1
        if test.at_rest:
            return self._look_over(test)
        if test.row.at_end:
            return self._crimp(test)
        if test.row.moves:  # the faults of this bench stay
            return "changes" if random.Random(f"{self._dice} {test}").random() < 0.05 * self._noise else "does not"
        done = test.change(self.circuit)
        if done.renewed:  # the old fuse goes back in when the test is over
            other = self.copy()
            other.truth, other._known = self.truth.with_new(done.renewed), {}
            return other.answer(replace(test, done=tuple(i for i in test.done if not i.change(self.circuit).renewed)))
        try:
            if not test.row.battery_off and not done.swapped:
                self.keep_blown(test.state, done)
            if test.row.of_lamps:
                if done.added and self._lead_blows(test, done):
                    return "the lead's fuse blew"
                return self._looks(test.state, done)[test.lamp]
            volts, _ = self.solve([Setup(test.state, "lit", done)])[0]
        except NoOperatingPointError:
            return "could not do it"
        across = volts[test.plus] - volts[test.minus]
        if test.row.shows_light:
            light = float(PortLaws([done.lamps[0].law]).log_light(np.array([across]))[0])
            return self._word(light)
        if test.row.takes_wire:
            amps = abs(across) * self._wire_s(test)
            return f"{amps * self._gain + self._noise * abs(self.rng.gauss(0, 0.02 + 0.02 * amps)):.2f} A"
        if test.row.log_scale:
            ohm = across / (max(OHMMETER_V - across, 1e-9) / OHMMETER_OHM) + OHMMETER_LEADS_OHM
            shown = max(ohm * self._gain + self._noise * (self._leads + self.rng.gauss(0, 0.03)), 0.0)
            return "open" if ohm > 5e6 else f"{shown:.1f} ohm"
        shown = across * self._gain + self._noise * self.rng.gauss(0, 0.01 + 0.004 * abs(across))
        return f"{shown:.2f} V"

    def _look_over(self, test: Test) -> str:
        """What is found where a thing is looked over: who looks twice sees the same."""
        if self.fault is None:
            return "could not"
        dice = random.Random(f"{self._dice} {test.plus} {test.minus} {test.lamp}")
        found = looked_over(test, self.fault, self.truth, self.harness, dice, bool(self._noise))
        return "found" if found else "nothing"

    def _crimp(self, test: Test) -> str:
        """What the end of a wire loses of all that the wire does."""
        if self.fault is None:
            return "could not"
        volts, _ = self.solve([Setup(test.state, "lit", across(test).change(self.circuit))])[0]
        there, share = at_end(test, [self.fault], self.truth, self.harness)
        shown = share * (volts[test.plus] - volts[test.minus]) if there > 0.5 else 0.0
        return f"{shown * self._gain + self._noise * self.rng.gauss(0, 0.01):.2f} V"

    def _wire_s(self, test: Test) -> float:
        """Conductance of the wires between the points of a clamp reading."""
        bad = dict(self.truth.set_ohm)
        ohms = [
            bad.get(d.name, d.ohm) for d in self.circuit.linear
            if isinstance(d, Conductor) and {d.a, d.b} == {test.plus, test.minus}
        ]
        return sum(1 / max(ohm, LEAST_OHM) for ohm in ohms if ohm < OPEN_OHM)

    def _lead_blows(self, test: Test, done: Change) -> bool:
        """Whether the fuse of a temporary lead blows (the tool's lead stands as a plain branch in ngspice)."""
        volts, _ = self.solve([Setup(test.state, "lit", done)])[0]
        return any(
            abs(volts[x.a] - volts[x.b]) / x.ohm > blows_at("blade") * x.fuse_a for x in done.added if x.fuse_a
        )

    def looks(self, state: VehicleState) -> dict[str, str]:
        """Every lamp's look in a state."""
        return self._looks(state, NO_CHANGE)

    def prepare(self, states: Sequence[VehicleState]) -> None:
        """Solve many states in few processes."""
        setups = [Setup(s) for s in states]
        self.solve(setups + ([s.dark_phase() for s in setups] if self._flasher else []))

    def flux(self, state: VehicleState, done: Change = NO_CHANGE) -> dict[str, tuple[float, float, float]]:
        """log10 of flux by lamp in the brighter and the other phase, and the flasher's load. What a buzzing relay
        feeds is lit half of the time, too briefly for the eye to tell."""
        setup = Setup(state, "lit", done)
        setups = [setup, setup.dark_phase()] if self._flasher else [setup]
        lit, *rest = self._states(setups)
        dark = rest[0] if rest else lit
        load = 0.0
        if self._flasher is not None:
            own = dict(self.truth.set_ohm).get(self._flasher.name, self._flasher.ohm)
            across = max(abs(v[self._flasher.a] - v[self._flasher.b]) for v in lit)
            amps = across / own if own < OPEN_OHM else 0.0
            load = amps / (self._flasher.load_a * self.truth.flasher_load) if amps > 0.05 else 0.0
        source = next(iter(self.circuit.sources), None)
        normal = source.emf(state.engine_running) / source.volts if source else 1.0
        dead, factors = {*self.truth.dead, *done.dead}, {**dict(self.truth.scaled), **dict(done.scaled)}
        beyond, found = {**dict(self.truth.light), **dict(done.light)}, {}
        for f in self.circuit.ports:
            if isinstance(f, Filament):
                both = [_mean_light([_light(f, v[f.a] - v[f.b], normal) for v in phase]) for phase in (lit, dark)]
                both = [x + math.log10(max(factors.get(f.name, 1.0), 1e-6)) if x > -6 else x for x in both]
                both = [x + beyond.get(f.name, 0.0) if x > -6 else x for x in both]
                if f.name in dead:
                    both = [-6.0, -6.0]
                found[f.lamp] = max(both), min(both), load
        return found

    def _looks(self, state: VehicleState, done: Change) -> dict[str, str]:
        moved = self._with_swaps(done)
        return {
            lamp: self._say(bright - self._usual.get(lamp, 0.0), least - self._usual.get(lamp, 0.0), load)
            for lamp, (bright, least, load) in moved.flux(state, done).items()
        }

    def _with_swaps(self, done: Change) -> SpiceVehicle:
        return self if not done.swapped else _Swapped(self, done)

    def _say(self, bright: float, least: float, load: float) -> str:
        word = self._word(bright)
        if word == "dark" or self._flasher is None:
            return word
        if bright - least < 0.3:
            return f"{word}, steady" if load else word
        # What flashers do with their load is common knowledge of the trade and the rule that the model states.
        if self._flasher.working == "electronic":
            return f"{word}, flashing fast" if load < 0.8 else f"{word}, flashing"
        if load < 0.5:
            return f"{word}, steady"
        return f"{word}, flashing slow" if load < 0.8 else f"{word}, flashing"

    def _word(self, flux: float) -> str:
        seen = flux + self._noise * self.rng.gauss(0, 0.03)
        return _WORDS[sum(seen > b for b in self._borders)]


class _Swapped(SpiceVehicle):
    """The same vehicle with two lamps in each other's place: their own faults go with them."""

    def __init__(self, plain: SpiceVehicle, done: Change) -> None:
        from tracer.circuit.change_table import moved

        self.__dict__.update(plain.__dict__)
        self.truth_in_netlist = plain.truth
        self.truth = moved(plain.circuit, plain.truth, done.swapped)
        self._known, self._between = {}, {}

    def solve(self, setups: Sequence[Setup]) -> list[tuple[dict[str, float], frozenset[str]]]:
        # The fault is moved already: the netlist must not move it back.
        return super().solve([replace(s, done=replace(s.done, swapped=())) for s in setups])


def _mended(truth: Change, faults: Sequence[Fault], real: Fault | None = None) -> Change:
    """What is left of a fault when the elements of these faults are as they should be. One act mends all of them:
    drying a connector cleans its ways, and who repairs a wire up to a splice has its leg in his hands. Not so the
    other wires of the splice: which of them is rubbed through no current tells, but to renew the wrong one mends
    nothing (`real`: the fault there is)."""
    names = {e for f in faults for e in f.elements}
    own = [f for f in faults if real is None or set(real.elements) & set(f.elements)]
    changes = [v.change for f in own for v in f.variants]
    joined = {frozenset((x.a, x.b)) for c in changes for x in c.added}
    return replace(
        truth,
        set_ohm=tuple(x for x in truth.set_ohm if x[0] not in names),
        added=tuple(x for x in truth.added if frozenset((x.a, x.b)) not in joined),
        dead=tuple(x for x in truth.dead if x not in names),
        scaled=tuple(x for x in truth.scaled if x[0] not in names),
        light=tuple(x for x in truth.light if x[0] not in names),
        contacts=tuple(x for x in truth.contacts if x[0] not in names),
        inverted=tuple(x for x in truth.inverted if x not in names),
        ratings=tuple(x for x in truth.ratings if x[0] not in names),
        flasher_load=1.0 if any(c.flasher_load != 1 for c in changes) else truth.flasher_load,
        emf_factor=1.0 if any(c.emf_factor != 1 for c in changes) else truth.emf_factor,
        running_factor=1.0 if any(c.running_factor != 1 for c in changes) else truth.running_factor,
    )


def _links_open(names: frozenset[str]) -> Change:
    return Change(set_ohm=tuple((n, OPEN_OHM) for n in sorted(names)))


def _light(lamp: Filament, volts: float, running: float) -> float:
    """log10 of a lamp's light relative to normal."""
    if isinstance(lamp.law, FilamentLaw):
        return _flux(volts, lamp.law.v_normal * running)
    return float(PortLaws([lamp.law]).log_light(np.array([volts]), running)[0])  # no law of LEDs of its own


def _mean_light(light: Sequence[float]) -> float:
    """log10 of light that is now this, now that, in turn."""
    return light[0] if len(light) == 1 else math.log10(sum(10**x for x in light) / len(light))


def _flux(volts: float, normal: float) -> float:
    return max(_FLUX_EXPONENT * math.log10(max(abs(volts) / normal, 1e-9)), -6.0)


def log_flux_differs(a: float, b: float) -> bool:
    """Whether two looks differ by more than a person would pass over."""
    return abs(max(a, -2.6) - max(b, -2.6)) > 0.2
