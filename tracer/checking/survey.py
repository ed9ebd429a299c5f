"""The healthy vehicle in many states: how each lamp looks, what each conductor carries."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import combinations, islice, product
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.checking.wiring_graph import neighbours, reached
from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import NO_CHANGE, Bools, Floats, Setup, conductance_of
from tracer.circuit.settled import Settled
from tracer.harness.devices import Conductor, Dimmer, FuseLink, Joint, RelayContact, Resistor, SwitchContact, ends
from tracer.harness.lighting_states import lighting_states
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.inference.explanation import say_lamp
from tracer.observation.forward_model import Predictor

MOST_STATES: Final = 200  # of a whole vehicle; the fewest controls moved first


def moved_states(harness: Harness, count: int, among: Collection[str] | None = None) -> Iterator[VehicleState]:
    """States with `count` controls away from their assumed position, in the order of the file.

    With each also the states in which the controls that are assumed on (ignition, battery master switch) stand
    at rest, each by itself and all together: nobody mentions them, and what happens then matters as much.
    `among` names the only controls to move.
    """
    movable = [c for c in harness.controls.values() if among is None or c.name in among]
    rest = {c.name: c.positions[0] for c in harness.controls.values() if c.assumed != c.positions[0]}
    bases = [{}, *({c: p} for c, p in rest.items()), rest]
    for base in [b for i, b in enumerate(bases) if b not in bases[:i]]:
        for controls in combinations(movable, count):
            for positions in product(*([p for p in c.positions if p != c.assumed] for c in controls)):
                yield harness.state({**base, **{c.name: p for c, p in zip(controls, positions, strict=True)}})


def states_up_to_pairs(harness: Harness, most: int | None = MOST_STATES) -> list[VehicleState]:
    """Everything as assumed, then one control moved, then two: each state once, the first `most`; and whatever else
    it takes to light every lamp."""
    found = dict.fromkeys(s for count in (0, 1, 2) for s in moved_states(harness, count))
    return list(dict.fromkeys([*list(found)[:most], *lighting_states(harness)]))


def amps_of(predictor: Predictor, setup: Setup, table: ChangeTable, settled: Settled) -> Floats:
    """Current (H, branches) from a to b of every linear branch, for all rows of a table at once."""
    circuit = predictor.circuit
    g = np.tile(circuit.conductances(setup), (len(table), 1))
    for contact in predictor.settler.contacts:
        pulled = settled.pulled_in[:, predictor.settler.coils.index(contact.coil)]
        closed = conductance_of(contact.ohm)
        g[:, circuit.branch_index[contact.name]] = np.where(pulled == contact.makes, closed, 0.0)
    for column in range(table.branch.shape[1]):
        rows = np.flatnonzero(table.branch[:, column] >= 0)
        at, target = table.branch[rows, column], table.target_s[rows, column]
        stands_open = (g[rows, at] == 0) & (target < 0.999 * circuit.closed_s[at])
        g[rows, at] = np.where(stands_open, 0.0, target)
    for k, fuse in enumerate(predictor.settler.fuses):
        g[settled.blown[:, k], circuit.branch_index[fuse.name]] = 0.0
    a, b = circuit.branch_ends
    v = settled.solution.volts
    return np.asarray(g * (v[:, a] - v[:, b]))


class Healthy(Struct, frozen=True):
    """The healthy vehicle in one state, lit and dark phase of the flasher (rows).

    Attributes:
        amps: (phases, branches) current a → b.
        port_amps: (phases, ports) the same for filaments and diodes.
        looks: lamp → words.
        closed: (branches,) whether it passes current, in the lit phase.
    """

    state: VehicleState
    amps: Floats
    port_amps: Floats
    looks: dict[str, str]
    blown: tuple[str, ...]
    buzzing: bool
    usable: bool
    closed: Bools


def _without_loose_parts(harness: Harness) -> Harness:
    """The harness without lamps and diodes that no wire reaches: they carry nothing, and each makes every state
    of a half-typed vehicle dearer to solve."""
    wired = {node_of(n).owner for w in harness.wires for s in w.segments for n in (s.a, s.b)}
    parts = {
        n: p for n, p in harness.parts.items()
        if n in wired or p.settings.get("earth at") or p.kind not in ("lamp", "lamp unit", "diode", "buzzer")
    }
    return harness if len(parts) == len(harness.parts) else replace(harness, parts=parts)


class Survey:
    """Solves the healthy vehicle in any state, each once."""

    def __init__(self, harness: Harness, predictor: Predictor | None = None) -> None:
        self.harness = harness
        self.predictor = predictor or Predictor(_without_loose_parts(harness))
        self._known: dict[VehicleState, Healthy] = {}

    def at(self, state: VehicleState) -> Healthy:
        if state not in self._known:
            self._known[state] = self._solve(state)
        return self._known[state]

    def together(self, states: Iterable[VehicleState]) -> list[Healthy]:
        """The same in several states, which takes far less time than one after the other."""
        states, p = list(states), self.predictor
        new = [s for s in states if s not in self._known]
        p.know(new)
        p.settler.know(p.setup(s).dark_phase() for s in new if not np.isnan(p.healthy(s).load[0]))
        return [self.at(s) for s in states]

    def _solve(self, state: VehicleState) -> Healthy:
        p = self.predictor
        table = p.table([NO_CHANGE])
        setup = p.setup(state)
        setups, solved = [setup], [p.settler.healthy(setup)]
        amps = [amps_of(p, setup, table, solved[0])]
        panel = p.healthy(state)
        if not np.isnan(panel.load[0]):  # some flasher unit is at work
            setups.append(setup.dark_phase())
            solved.append(p.settler.healthy(setups[1]))
            amps.append(amps_of(p, setups[1], table, solved[1]))
        coils = zip(p.settler.coils, solved[0].pulled_in[0], strict=True)
        closed = p.circuit.conductances(setup, frozenset(c for c, held in coils if held)) > 0
        return Healthy(
            state,
            np.vstack(amps),
            np.vstack([x.solution.port_i for x in solved]),
            {f.lamp: "dark" for f in self.harness.lamps()} | {f.lamp: say_lamp(panel, p, f.lamp) for f in p.lamps},
            tuple(f for f, b in zip(p.fuses, panel.blown[0], strict=True) if b),
            bool(panel.buzzing[0]), bool(panel.usable[0]), np.asarray(closed),
        )

    def until_all_used(self, hopeless: Collection[str] = (), most: int = 2 * MOST_STATES) -> list[Healthy]:
        """States with up to two controls moved; three where something has not been used by then.

        Used: every lamp shone normally, every load, coil and fuse carried current. `hopeless` are
        names that no state can help, because a wire is missing.
        """
        states = states_up_to_pairs(self.harness)
        seen = self.together(states)
        near = self._controls_near(set(self.idle(seen)) - set(hopeless))
        further = (s for count in (2, 3) for s in moved_states(self.harness, count, near) if s not in self._known)
        while len(seen) < most and not any(h.blown for h in seen):
            if set(self.idle(seen)) <= set(hopeless):
                break
            more = self.together(islice(further, 40))
            if not more:
                break
            seen += more
        return seen

    def _controls_near(self, names: Collection[str]) -> set[str]:
        """Controls whose contacts lie between one of the named lamps, loads, coils or fuses and the battery:
        no other control can help it."""
        graph = neighbours(self.harness)
        coils = {d.name: d for d in self.harness.devices() if isinstance(d, Resistor) and d.works_contacts}
        copper = neighbours(self.harness, lambda d: isinstance(d, (Conductor, Joint)))
        seen = set(reached(copper, self.harness.poles()))  # always live, or always earth
        named = (d for d in self.harness.devices() if d.name in names or getattr(d, "lamp", None) in names)
        todo = [n for d in named for n in ends(d)]
        found: set[str] = set()
        while todo:
            node = todo.pop()
            if node in seen:
                continue
            seen.add(node)
            for other, d in graph.get(node, ()):
                todo.append(other)
                if isinstance(d, (SwitchContact, Dimmer)):
                    found.add(d.control)
                elif isinstance(d, RelayContact) and d.coil in coils:
                    todo += ends(coils[d.coil])
        return found

    def idle(self, seen: list[Healthy]) -> tuple[str, ...]:
        """Names of lamps that never shone normally, and of loads, coils and fuses without current."""
        bright = {lamp for h in seen for lamp, look in h.looks.items() if look.startswith(("normal", "bright"))}
        names = [f.lamp for f in self.predictor.lamps if f.lamp not in bright]
        most = np.max([np.abs(h.amps).max(axis=0) for h in seen], axis=0) if seen else np.zeros(0)
        for d, amps in zip(self.predictor.circuit.linear, most, strict=False):
            if (isinstance(d, FuseLink) or hasattr(d, "role")) and amps < 1e-3:
                names.append(d.name)
        return tuple(names)
