"""What a job costs whoever does it, by whatever habit, and the symptoms that it starts from."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from msgspec.structs import replace

from tests.bench.spice_vehicle import SpiceVehicle, log_flux_differs
from tracer.faults import Fault
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import basic_states
from tracer.observation.evidence import Evidence, LampSeen, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.planning.costs import ALSO_MIN, PROVE_MIN, Standing, after_test, minutes_of

PATIENCE_MIN = 240.0  # after that a job is handed on, whatever the habit


@dataclass
class Ledger:
    """What one job has cost so far."""

    harness: Harness
    truth: Fault
    standing: Standing
    faults: Sequence[Fault]
    number: int = 0
    minutes: float = 0.0
    tests: int = 0
    starts: int = 0
    wrong: list[str] = field(default_factory=list)
    cleaned: list[str] = field(default_factory=list)
    proven: bool = False
    expected: float = 0.0  # minutes that the tool expected from the symptoms on, and that no plan can stay below
    bound: float = 0.0
    spent: dict[str, list[float]] = field(default_factory=dict)  # the tool's tests in minutes, by what they were for
    log: list[str] = field(default_factory=list)

    def test(self, test: Test, vehicle: SpiceVehicle, also: Sequence[str] = ()) -> str:
        self.minutes += minutes_of(test, self.standing, self.harness) + ALSO_MIN * len(also)
        self.starts += test.state.engine_running and not self.standing.state.engine_running
        self.standing = after_test(test, self.standing, self.harness)
        self.tests += 1
        shown = vehicle.answer(test)
        self.log.append(f"{test.says(self.harness)} -> {shown}")
        return shown

    def seen_with(self, test: Test, vehicle: SpiceVehicle, also: Sequence[str]) -> list[Evidence]:
        """What lamps show that are seen from the same place."""
        seen = []
        for lamp in also:
            value = parse_value(vehicle.looks(test.state)[lamp], "look", lamp).seen
            assert value is not None
            seen.append(value)
        if seen:
            self.log.append(f"    and {', '.join(s.says() for s in seen)}")
        return [Symptom(test.state, tuple(seen))] if seen else []

    @property
    def patience_out(self) -> bool:
        return self.minutes > PATIENCE_MIN

    def repair(self, faults: Sequence[Fault], vehicle: SpiceVehicle) -> bool:
        """Carry out the repairs of these faults; True if the vehicle is right afterwards."""
        done = {f.repair: f for f in faults}
        by_repair = {r: [f for f in self.faults if f.repair == r] for r in done}
        helped = {r: vehicle.repair(own) for r, own in by_repair.items() if r != self.truth.repair}
        self.proven = self.truth.repair in done or (any(helped.values()) and vehicle.is_sound())
        for repair, fault in done.items():
            place, access = self.harness.place_of(fault.node)
            self.minutes += fault.repair_min + (0.0 if place in self.standing.opened else access)
            self.standing = replace(self.standing, opened=self.standing.opened | {place})
            self.log.append(f"REPAIR {repair}")
            # A fuse that had blown needed renewing whatever blew it.
            needed = fault.kind == "fuse blown" and vehicle.renew_fuse(fault.name.partition(": ")[2])
            if repair != self.truth.repair and not needed and not helped[repair]:
                (self.wrong if any(f.renews for f in by_repair[repair]) else self.cleaned).append(repair)
        self.minutes += PROVE_MIN
        return self.proven or self.patience_out


def symptoms_of(vehicle: SpiceVehicle, investigator: Investigator, rng: random.Random) -> list[Evidence]:
    """Up to two states in which something is wrong, up to three lamps in each, as a person would say who knows
    how this very vehicle looked before."""
    harness = investigator.harness
    states = basic_states(harness)
    good = vehicle.remember(states)
    vehicle.prepare(states)
    rng.shuffle(states)
    found: list[Evidence] = []
    for state in states:
        vehicle.keep_blown(state)
        right, now = good.looks(state), vehicle.looks(state)
        flux, own = good.flux(state), vehicle.flux(state)
        odd = [
            lamp for lamp in right if right[lamp] != now[lamp]
            and (log_flux_differs(flux[lamp][0], own[lamp][0]) or _flash(right[lamp]) != _flash(now[lamp]))
        ]
        seen = []
        for lamp in odd[:3]:
            value = parse_value(now[lamp], "look", lamp).seen
            assert value is not None
            seen.append(LampSeen(lamp, value.words, value.flash))
        if seen:
            found.append(Symptom(state, tuple(seen)))
        if len(found) == 2:
            break
    return found


def _flash(look: str) -> str:
    return look.partition(", ")[2]


def fresh(ledger: Ledger) -> Ledger:
    """The same job before anything was done."""
    return dataclasses.replace(ledger, wrong=[], cleaned=[], spent={}, log=[])
