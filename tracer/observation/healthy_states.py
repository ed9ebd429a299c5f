"""In which vehicle states a statement means something: what the healthy vehicle lights, runs and feeds, and where.

Everything is found when it is first asked for; nothing is solved for a sentence that names its own state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import combinations

import numpy as np

from tracer.circuit.model import NO_CHANGE
from tracer.harness.lamp_purposes import lamp_purposes
from tracer.harness.model import Harness, VehicleState
from tracer.observation.actions import Intervention
from tracer.observation.forward_model import Predictor

LIT_FLUX = np.log10(0.06)  # log10 of light relative to normal: what is more than a glow is meant to be lit
RUNS_POWER = 0.25
_AT_ONCE = 24  # states that are solved together while the first is looked for in which something is on

Moves = Mapping[str, str]  # control → position


class HealthyStates:
    """What the healthy vehicle does in the states that people mean."""

    def __init__(self, harness: Harness, predictor: Predictor | None = None) -> None:
        self.harness = harness
        self._given = predictor
        self._on: dict[VehicleState, frozenset[str]] = {}
        self._own: dict[str, tuple[VehicleState, ...]] = {}
        self.base = harness.state({})

    @cached_property
    def predictor(self) -> Predictor:
        return self._given or Predictor(self.harness)

    @cached_property
    def purposes(self) -> Mapping[str, frozenset[str]]:
        """What each lamp is for."""
        return lamp_purposes(self.harness)

    def on(self, state: VehicleState) -> frozenset[str]:
        """Lamps that are lit and loads that run in a state."""
        if state not in self._on:
            panel = self.predictor.healthy(state)
            lamps = (f.lamp for f, flux in zip(self.predictor.lamps, panel.flux[0], strict=True) if flux > LIT_FLUX)
            loads = (n for n, power in zip(self.predictor.loads, panel.power[0], strict=True) if power > RUNS_POWER)
            self._on[state] = frozenset((*lamps, *loads))
        return self._on[state]

    def state(self, moves: Moves, running: bool = False) -> VehicleState:
        """The state in which only these controls stand otherwise than assumed."""
        return self.harness.state(dict(moves), running)

    def moves(self, state: VehicleState) -> dict[str, str]:
        """The controls that stand otherwise than assumed."""
        return {c: p for c, p in state.positions if p != self.base[c]}

    @cached_property
    def _single(self) -> list[tuple[str, str]]:
        """Moves of one control, the starter last: nobody means what is lit only while cranking."""
        found = [(c.name, p) for c in self.harness.controls.values() for p in c.positions if p != c.assumed]
        return sorted(found, key=lambda m: m[1] == "start" or "hazard" in m[0])

    def own(self, name: str) -> tuple[VehicleState, ...]:
        """The states of fewest moves in which a lamp lights or a load runs, without those that do the same and more:
        several for a tell-tale that both sides light; of two moves and more the first. Empty if it is never on."""
        if name not in self._own:
            self._own[name] = self._found(name)
        return self._own[name]

    def _found(self, name: str) -> tuple[VehicleState, ...]:
        if name in self.on(self.base):
            return (self.base,)
        for count in (1, 2, 3):
            found: list[VehicleState] = []
            every = [m for m in map(dict, combinations(self._single, count)) if len(m) == count]
            for state in self._solved([m for m in every if count == 1 or "start" not in m.values()]):
                if count > 1 and found:
                    break
                if name in self.on(state) and not any(self.on(f) <= self.on(state) for f in found):
                    found.append(state)
            found = [f for f in found if not any(self.on(o) < self.on(f) for o in found)]
            if found:
                return tuple(found)
        return ()

    def pulled_in(self, state: VehicleState) -> frozenset[str]:
        """Relays whose coil pulls in in a state."""
        panel = self.predictor.healthy(state)
        return frozenset(n for n, on in zip(self.predictor.relays, panel.pulled_in[0], strict=True) if on)

    def pulls_in(self, relay: str) -> VehicleState | None:
        """The state of fewest moves in which a relay pulls in; None if it never does."""
        for count in (0, 1, 2, 3):
            every = [m for m in map(dict, combinations(self._single, count)) if len(m) == count]
            for state in self._solved([m for m in every if count < 2 or "start" not in m.values()]):
                if relay in self.pulled_in(state):
                    return state
        return None

    @cached_property
    def _key_out(self) -> dict[str, str]:
        key = self.harness.controls.get("ignition")
        return {"ignition": "off"} if key is not None and "off" in key.positions else {}

    @property
    def parked(self) -> VehicleState:
        """The state in which a vehicle is left: key out, where it has one."""
        return self.state(self._key_out)

    def lit_at_rest(self) -> list[str]:
        """Lamps that may burn unseen in a parked vehicle: one that light inside, then one of each function that
        is fed with the key out."""
        found: dict[frozenset[str], str] = {}
        for name, purposes in self.purposes.items():
            if "tell-tale" in purposes or purposes in found:
                continue
            if any(name in self.on(self.state({**self.moves(s), **self._key_out})) for s in self.own(name)[:1]):
                found[purposes] = name
        return sorted(found.values(), key=lambda n: bool(self.purposes[n]))

    def by_another_control(self, name: str, state: VehicleState) -> VehicleState | None:
        """The first state of one move, by another control than in `state`, in which a lamp lights or a load runs."""
        moved = self.moves(state)
        others = (self.state({c: p}) for c, p in self._single if c not in moved)
        return next((s for s in others if name in self.on(s)), None)

    def _solved(self, every: Sequence[Moves]) -> Iterator[VehicleState]:
        """States with controls moved, some of them solved at once, which takes far less time than one by one."""
        for first in range(0, len(every), _AT_ONCE):
            states = [self.state(moves) for moves in every[first:first + _AT_ONCE]]
            self.predictor.know(s for s in states if s not in self._on)
            yield from states

    def own_for(self, name: str, purpose: str | None = None) -> tuple[VehicleState, ...]:
        """The same for a lamp of several purposes, or one by which another purpose is meant: the state that lights
        most lamps of it."""
        states = self.own(name)
        mine = self.purposes.get(name, frozenset())
        if purpose == "indicator":  # on either side
            purpose = next((p for p in sorted(mine) if p.startswith("indicator")), None)
        wanted = purpose or (next(iter(mine)) if len(mine) == 1 else None)
        if len(states) < 2 or wanted is None or "tell-tale" in mine:
            return states
        alike = {lamp for lamp, own in self.purposes.items() if wanted in own and "tell-tale" not in own}
        return (max(states, key=lambda s: len(self.on(s) & alike)),)

    def of_purpose(self, purposes: Iterable[str]) -> VehicleState | None:
        """The state of fewest moves that lights lamps for the first of these purposes that the vehicle has."""
        for purpose in purposes:
            lamps = [lamp for lamp, own in self.purposes.items() if purpose in own and "tell-tale" not in own]
            for lamp in sorted(lamps, key=lambda n: len(self.purposes[n])):
                states = self.own_for(lamp, purpose)
                if states:
                    return states[0]
        return None

    @cached_property
    def _fed(self) -> Mapping[str, Mapping[VehicleState, frozenset[str]]]:
        """Fuse → state → what goes off there when it is pulled."""
        fuses, circuit = self.predictor.fuses, self.predictor.circuit
        changes = [NO_CHANGE, *(Intervention("pull fuse", f).change(circuit) for f in fuses)]
        names = [f.lamp for f in self.predictor.lamps]
        states = dict.fromkeys(s for n in (*names, *self.predictor.loads) for s in self.own(n))
        table = self.predictor.table(changes)
        found: dict[str, dict[VehicleState, frozenset[str]]] = {f: {} for f in fuses}
        for state, panel in zip(states, self.predictor.panels([(self.predictor.setup(s), table) for s in states]),
                                strict=True):
            on = np.concatenate([panel.flux > LIT_FLUX, panel.power > RUNS_POWER], axis=1)
            everything = np.array([*names, *self.predictor.loads])
            for row, fuse in enumerate(fuses, 1):
                off = everything[on[0] & ~on[row]]
                if len(off):
                    found[fuse][state] = frozenset(map(str, off))
        return found

    def fed(self, fuse: str) -> Mapping[VehicleState, frozenset[str]]:
        """State → the lamps and loads that go off there when the fuse is pulled; of two states in which the same go
        off, the one with fewer moves alone."""
        out: dict[VehicleState, frozenset[str]] = {}
        for state, off in sorted(self._fed.get(fuse, {}).items(), key=lambda x: len(self.moves(x[0]))):
            if not any(off <= o for o in out.values()):
                out[state] = off
        return out

    def fuses_of(self, name: str, state: VehicleState) -> list[str]:
        """The fuses through which a lamp or load is fed in a state."""
        circuit = self.predictor.circuit
        changes = [Intervention("pull fuse", f).change(circuit) for f in self.predictor.fuses]
        if not changes:
            return []
        panel = self.predictor.panels([(self.predictor.setup(state), self.predictor.table(changes))])[0]
        on = np.concatenate([panel.flux > LIT_FLUX, panel.power > RUNS_POWER], axis=1)
        place = [*(f.lamp for f in self.predictor.lamps), *self.predictor.loads].index(name)
        return [f for f, lit in zip(self.predictor.fuses, on[:, place], strict=True) if not lit]


_latest: list[HealthyStates] = []  # a job reads all its sentences against one harness


def healthy_states(harness: Harness, predictor: Predictor | None = None) -> HealthyStates:
    """The healthy states of a harness, gathered once as long as the same one is asked for; `predictor` if its
    predictions are wanted."""
    known = _latest[0] if _latest else None
    if known is None or known.harness is not harness or (predictor is not None and known.predictor is not predictor):
        known = HealthyStates(harness, predictor)
        _latest[:] = [known]
    return known
