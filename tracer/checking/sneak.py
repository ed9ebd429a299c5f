"""Sneak scan: where current takes ways that nobody meant, with every part sound and with each earth
or shared joint lost.

Two signs are looked for (reverse current and ground dome, after the published sneak circuit analysis:
Boeing D2-118341-1 for NASA, MIL-STD-785B task 205): a conductor that carries current both ways
over the vehicle states, and a consumer that is fed through another consumer, backwards through a
conductor, or in a state in which it should be dark.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import groupby
from typing import Any, Final

import numpy as np
from msgspec import Struct

from tracer.checking.survey import MOST_STATES, amps_of, states_up_to_pairs
from tracer.checking.wiring_graph import neighbours, reached
from tracer.circuit.change_table import ChangeTable
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Bools, Change, Floats, Ints, Setup
from tracer.errors import Mark
from tracer.harness.devices import Conductor, Filament, FilamentLaw, Joint, Resistor, Source
from tracer.harness.model import Harness, VehicleState
from tracer.harness.partly_compared import PartlyCompared
from tracer.inference.current_paths import flow, path_through, say_path
from tracer.inference.word_model import WORD_BORDERS
from tracer.observation.evidence import WORDS
from tracer.observation.forward_model import FLASHER_IDLE_A, Predictor

NO_FAILED_PART: Final = "no failed part"
_LEAST_A: Final = 2e-3  # less does nothing anybody would notice
# The volt drop of a common earth drives a little current back through cold lamps: that is no way of its
# own. A reverse current counts from this share of the forward one, or from this many amperes.
_REVERSE_SHARE: Final = 0.05
_REVERSE_A: Final = 0.1
_FED_SHARE: Final = 0.25  # of the system voltage: below that a radio or a relay does nothing
_FLASHES_DECADES: Final = 0.3


class BothWays(PartlyCompared, frozen=True):
    """A wire that carries current one way in one state and the other way in another.

    `by_design` says why that is as it should be; empty if nothing says so. In a case with an open
    joint `forward` is the healthy direction.
    """

    wire: str
    run: str
    forward: str
    forward_a: float
    backward: str
    backward_a: float
    by_design: str = ""
    mark: Mark | None = None

    def says(self) -> str:
        text = (f"wire {self.wire} ({self.run}) carries {self.forward_a:.2g} A one way ({self.forward}) and "
                f"{self.backward_a:.2g} A the other way ({self.backward})")
        return f"{text}. By design: {self.by_design}" if self.by_design else text


class Fed(Struct, frozen=True):
    """A consumer that is fed from where it should not be.

    Attributes:
        look: What it does in the first of `states`; `instead_of` what it does there when healthy.
        path: The way of the current in that state.
        through: Names of other consumers and of conductors passed backwards on that way.
    """

    consumer: str
    look: str
    instead_of: str
    states: tuple[str, ...]
    path: str
    through: tuple[str, ...]
    by_design: str = ""

    def says(self) -> str:
        healthy = "" if self.instead_of in ("", self.look) else f", {self.instead_of} when healthy"
        more = f"; {len(self.states) - 1} more state{'s' * (len(self.states) > 2)}" if len(self.states) > 1 else ""
        text = f"{self.consumer} {self.look}{healthy} ({self.states[0]}{more})"
        if self.through:
            text += f", by way of {' and '.join(self.through)}"
        return f"{text}. By design: {self.by_design}" if self.by_design else text


class Case(Struct, frozen=True):
    """The harness as it is (`opened` empty) or with one joint open, and what was found."""

    label: str
    opened: str
    both_ways: tuple[BothWays, ...]
    fed: tuple[Fed, ...]


class SneakReport(Struct, frozen=True):
    """All cases; the healthy harness first. `left_out` states with two controls moved were not looked at."""

    states: tuple[VehicleState, ...]
    cases: tuple[Case, ...]
    left_out: int = 0

    @property
    def healthy(self) -> Case:
        return self.cases[0]

    def as_data(self) -> dict[str, Any]:
        """Plain values for other programs."""
        return {"states": len(self.states), "states left out": self.left_out, "cases": [
            {
                "label": c.label, "opened": c.opened,
                "both ways": [
                    {"wire": b.wire, "run": b.run, "forward": b.forward, "forward A": round(b.forward_a, 4),
                     "backward": b.backward, "backward A": round(b.backward_a, 4), "by design": b.by_design,
                     "line": b.mark.line if b.mark else None} for b in c.both_ways
                ],
                "fed": [
                    {"consumer": f.consumer, "look": f.look, "when healthy": f.instead_of, "states": list(f.states),
                     "path": f.path, "through": list(f.through), "by design": f.by_design} for f in c.fed
                ],
            } for c in self.cases
        ]}

    def as_text(self, width: int = 80) -> str:
        """For people: each case with what it does, cases without effect only counted."""
        quiet = [c for c in self.cases[1:] if not (c.fed or c.both_ways)]
        alike: dict[tuple[object, ...], list[Case]] = {}
        for c in self.cases[1:]:
            alike.setdefault((c.both_ways, c.fed), []).append(c)
        skipped = f" ({self.left_out} more with two controls moved not looked at)" if self.left_out else ""
        out = [textwrap.fill(f"{len(self.states)} vehicle states{skipped}, the healthy harness and "
                             f"{len(self.cases) - 1} joints open one at a time", width)]
        for group in [[self.healthy], *alike.values()]:
            case = group[0]
            if case in quiet:
                continue
            label = f"{' or '.join(c.opened for c in group)} open" if case.opened else case.label
            out += ["", textwrap.fill(label, width, subsequent_indent="  ")]
            said = [b.says() for b in case.both_ways if not case.opened] + [f.says() for f in case.fed]
            if case.opened and case.both_ways:  # a lost earth turns many currents round: named, not described
                said.append("against their usual direction: " + ", ".join(
                    f"wire {b.wire} {b.backward_a:.2g} A" for b in case.both_ways))
            said = said or ["nothing found"]
            out += [textwrap.fill(x, width, initial_indent="  - ", subsequent_indent="    ") for x in said]
        if quiet:
            out += ["", textwrap.fill("feeds nothing by a wrong way when open: "
                                      + ", ".join(c.opened for c in quiet), width)]
        return "\n".join(out)


def sneak_scan(harness: Harness, predictor: Predictor | None = None) -> SneakReport:
    """Scan up to `MOST_STATES` vehicle states, healthy and with each earth or shared joint open."""
    return _Scan(harness, predictor or Predictor(harness)).report()


def open_joints(harness: Harness) -> dict[str, Change]:
    """What is opened in turn, by name: earth points, connector ways of earth wires, splices."""
    _, earth = harness.poles()
    copper = reached(neighbours(harness, lambda d: isinstance(d, (Conductor, Joint))), earth)
    found: dict[str, Change] = {}
    for joint in sorted(harness.joints, key=lambda j: j.kind != "earth"):
        if joint.kind == "earth":
            found[f"earth point {joint.a}"] = Change(set_ohm=((joint.name, OPEN_OHM),))
        elif joint.kind in ("way", "bullet") and joint.a in copper:
            found[f"{joint.kind} {joint.a.replace('.', '/')}"] = Change(set_ohm=((joint.name, OPEN_OHM),))
    for splice in harness.splices:
        legs = [s.name for w in harness.wires for s in w.segments if splice in (s.a, s.b)]
        if len(legs) > 1:
            found[f"splice {splice}"] = Change(set_ohm=tuple((n, OPEN_OHM) for n in legs))
    return found


class _Scan:
    """One walk over all states, all cases in each at once."""

    def __init__(self, harness: Harness, predictor: Predictor) -> None:
        self.harness, self.predictor = harness, predictor
        circuit = predictor.circuit
        self.joints = open_joints(harness)
        self.changes = [NO_CHANGE, *self.joints.values()]
        every = states_up_to_pairs(harness, None)
        self.states, self.left_out = tuple(every[:MOST_STATES]), len(every[MOST_STATES:])
        self.said = [harness.say_state(s) for s in self.states]
        self.conductors = [d for d in circuit.linear if isinstance(d, Conductor)]
        self.loads = [d for d in circuit.linear if isinstance(d, Resistor)]
        self._wire_at = np.array([circuit.branch_index[d.name] for d in self.conductors], dtype=np.intp)
        self._load_at = np.array([circuit.branch_index[d.name] for d in self.loads], dtype=np.intp)
        self._load_ohm = np.array([d.ohm for d in self.loads])
        self.consumers: list[Filament | Resistor] = [*predictor.lamps, *self.loads]
        self.part_of = {d.name: p.name for p in harness.parts.values() for d in p.devices}
        self.live, self.earth = harness.poles()
        self.graph = neighbours(harness)
        self.from_live, self.from_earth = (reached(self.graph, n) for n in (self.live, self.earth))
        shape = (len(self.states), len(self.changes))
        self.words = np.zeros((*shape, len(self.consumers)), dtype=np.intp)
        self.flashes = np.zeros((*shape, len(self.consumers)), dtype=bool)
        # Largest current each way, with the sign of the conductor as written.
        self.forward = np.zeros((*shape, len(self.conductors)))
        self.backward = np.zeros((*shape, len(self.conductors)))
        table = predictor.table(self.changes)
        for s, state in enumerate(self.states):
            self._solve(s, predictor.setup(state), table)

    def _solve(self, s: int, setup: Setup, table: ChangeTable) -> None:
        p = self.predictor
        amps, look = self._one(setup, table)
        wires, rest = [amps[:, self._wire_at]], look
        flasher = p.flasher
        if flasher is not None and (np.abs(amps[:, p.circuit.branch_index[flasher.name]]) > FLASHER_IDLE_A).any():
            dark_amps, rest = self._one(setup.dark_phase(), table)
            wires.append(dark_amps[:, self._wire_at])
        self.words[s] = np.searchsorted(WORD_BORDERS, np.maximum(look, rest))
        self.flashes[s] = np.abs(look - rest) > _FLASHES_DECADES
        self.forward[s] = np.maximum(np.max(wires, axis=0), 0.0)
        self.backward[s] = np.maximum(-np.min(wires, axis=0), 0.0)

    def _one(self, setup: Setup, table: ChangeTable) -> tuple[Floats, Floats]:
        """Branch currents (H, B) and log10 of relative light (H, consumers) in one phase."""
        p = self.predictor
        settled = p.settled(setup, table)
        amps = amps_of(p, setup, table, settled)
        volts = settled.solution.port_v[:, p.circuit.lamp_ports]
        light = PortLaws(p.lamps).log_light(volts)
        # A load has no light: "normal" stands for fed, "dark" for not fed.
        fed = np.abs(amps[:, self._load_at]) * self._load_ohm > _FED_SHARE * self.harness.system_v
        light = np.where(settled.usable[:, None], light, -6.0)
        return amps, np.hstack([light, np.where(fed, 0.0, -6.0)])

    def report(self) -> SneakReport:
        # The usual direction of a conductor: that of its largest current while every part is sound.
        forward, backward = self.forward[:, 0].max(axis=0), self.backward[:, 0].max(axis=0)
        usual: Bools = np.asarray(forward >= backward)
        cases = [Case(NO_FAILED_PART, "", self._both_ways_healthy(), self._fed_healthy(usual))]
        for row, name in enumerate(self.joints, start=1):
            cases.append(Case(f"{name} open", name, self._reversed(row, usual), self._fed_open(row)))
        return SneakReport(self.states, tuple(cases), self.left_out)

    # --- conductors -----------------------------------------------------------------------------

    def _both_ways_healthy(self) -> tuple[BothWays, ...]:
        forward, backward = self.forward[:, 0], self.backward[:, 0]
        return self._told(np.flatnonzero(_counts(forward.max(axis=0), backward.max(axis=0))), forward, backward)

    def _reversed(self, row: int, usual: Bools) -> tuple[BothWays, ...]:
        """Conductors that carry current against its direction in the healthy harness."""
        healthy_f, healthy_b = self.forward[:, 0], self.backward[:, 0]
        here = np.where(usual, self.backward[:, row], self.forward[:, row])
        one_way = ~_counts(healthy_f.max(axis=0), healthy_b.max(axis=0))
        most = np.maximum(healthy_f.max(axis=0), healthy_b.max(axis=0))
        found = np.flatnonzero(_counts(most, here.max(axis=0)) & one_way)
        return self._told(found, np.where(usual, healthy_f, healthy_b), here)

    def _told(self, found: Ints, forward: Floats, backward: Floats) -> tuple[BothWays, ...]:
        wires = {w.name: w for w in self.harness.wires}
        out = []
        for name, group in groupby(found, key=lambda i: self.conductors[i].wire):
            i = max(group, key=lambda k: float(min(forward[:, k].max(), backward[:, k].max())))
            f, b = self._clearest(forward[:, i]), self._clearest(backward[:, i])
            out.append(BothWays(
                name, " > ".join(wires[name].run), self.said[f], float(forward[f, i]), self.said[b],
                float(backward[b, i]), self._design_of_wire(self.conductors[i]), wires[name].mark,
            ))
        return tuple(out)

    def _clearest(self, amps: Floats) -> int:
        """The first state (fewest controls moved) in which nearly the largest current flows."""
        return int(np.argmax(amps > 0.8 * amps.max()))

    def _design_of_wire(self, conductor: Conductor) -> str:
        for lamp in self.predictor.lamps:
            if not self._between_feeds(lamp):
                continue
            cut = [reached(self.graph, n, without=(conductor.name,)) for n in (lamp.a, lamp.b)]
            if any(self.live not in c for c in cut):
                return f"it leads to {lamp.lamp}, which hangs between two feeds and lights from either"
        return ""

    def _between_feeds(self, lamp: Filament | Resistor) -> bool:
        """A lamp with a feed at both ends and no earth: a tell-tale for either of two sides."""
        return all(n in self.from_live and n not in self.from_earth for n in (lamp.a, lamp.b))

    # --- consumers ------------------------------------------------------------------------------

    def _fed_healthy(self, usual: Bools) -> tuple[Fed, ...]:
        """Consumers on a way through another consumer or backwards through a conductor."""
        forward, backward = self.forward[:, 0], self.backward[:, 0]
        both = _counts(forward.max(axis=0), backward.max(axis=0))
        against = both & (np.where(usual, backward, forward) > _LEAST_A)
        found: dict[int, list[int]] = {}
        for s, state in enumerate(self.states):
            working = np.flatnonzero(self.words[s, 0] > 0)
            if not len(working):
                continue
            ways = self._closed_ways(state)
            for k in working:
                d = self.consumers[k]
                ends = {n: (n in ways[0], n in ways[1]) for n in (d.a, d.b)}
                direct = any(ends[x][0] and ends[y][1] for x, y in ((d.a, d.b), (d.b, d.a)))
                if not direct or (against[s].any() and self._path(0, s, int(k), usual)[1]):
                    found.setdefault(int(k), []).append(s)
        return tuple(self._fed(0, k, states, usual) for k, states in found.items())

    def _closed_ways(self, state: VehicleState) -> tuple[frozenset[str], frozenset[str]]:
        circuit = self.predictor.circuit
        settled = self.predictor.settled(self.predictor.setup(state), self.predictor.table([NO_CHANGE]))
        coils = zip(self.predictor.settler.coils, settled.pulled_in[0], strict=True)
        g = circuit.conductances(self.predictor.setup(state), frozenset(c for c, p in coils if p))
        closed = {d.name for d, x in zip(circuit.linear, g, strict=True) if x > 0}
        graph = {n: tuple((o, d) for o, d in steps if d.name in closed or isinstance(d, Source))
                 for n, steps in self.graph.items()}
        return reached(graph, self.live), reached(graph, self.earth)

    def _path(self, row: int, s: int, k: int, usual: Bools | None) -> tuple[str, tuple[str, ...]]:
        """The way of the current through a consumer in words, and what on it is not meant."""
        lamp = _as_lamp(self.consumers[k], self.name_of(k))
        found = flow(self.predictor, self.predictor.setup(self.states[s]), self.changes[row])
        path = path_through(found, lamp, self.predictor)
        odd = [x.name for x in path if isinstance(x.device, (Filament, Resistor)) and x.name != lamp.name]
        if usual is not None:
            place = {d.name: i for i, d in enumerate(self.conductors)}
            for x in path:
                if isinstance(x.device, Conductor) and usual[place[x.name]] != (x.a == x.device.a):
                    odd.append(f"{x.name} backwards")
        return say_path(path, lamp, frozenset(odd)), tuple(dict.fromkeys(odd))

    def _fed_open(self, row: int) -> tuple[Fed, ...]:
        """Consumers that work where they are dark when healthy, or only through other consumers."""
        cut = {n for n, _ in self.changes[row].set_ohm}
        live, earth = (reached(self.graph, n, without=cut) for n in (self.live, self.earth))
        out = []
        for k, d in enumerate(self.consumers):
            here, healthy = self.words[:, row, k] > 0, self.words[:, 0, k] > 0
            wrong = np.flatnonzero(here & ~healthy)
            adrift = not any(a in live and b in earth for a, b in ((d.a, d.b), (d.b, d.a)))
            # With its earth gone it may still shine fully through its neighbours: the open joint is masked.
            drifting = adrift and not self._between_feeds(d)
            masked = np.flatnonzero(here & healthy & drifting)
            out += [self._fed(row, k, [int(s) for s in states], None) for states in (wrong, masked) if len(states)]
        return tuple(out)

    def _fed(self, row: int, k: int, states: Sequence[int], usual: Bools | None) -> Fed:
        path, through = self._path(row, states[0], k, usual)
        design = ""
        if row == 0 and self._between_feeds(self.consumers[k]):
            design = "it hangs between two feeds and finds earth through the lamps of the idle one"
        return Fed(
            self.name_of(k), self._look(states[0], row, k), self._look(states[0], 0, k) if row else "",
            tuple(self.said[s] for s in states), path, through, design,
        )

    def name_of(self, k: int) -> str:
        d = self.consumers[k]
        if isinstance(d, Filament):
            return d.lamp
        return d.name if d.works_contacts else self.part_of.get(d.name, d.name)

    def _look(self, s: int, row: int, k: int) -> str:
        word = WORDS[self.words[s, row, k]]
        if isinstance(self.consumers[k], Resistor):
            word = "fed" if self.words[s, row, k] else "not fed"
        return f"{word} flashing" if self.flashes[s, row, k] and self.words[s, row, k] else word


def _counts(one: Floats, two: Floats) -> Bools:
    """Whether currents one way and the other are both more than a volt drop's doing."""
    most, least = np.maximum(one, two), np.minimum(one, two)
    return np.asarray((least > _LEAST_A) & ((least > _REVERSE_SHARE * most) | (least > _REVERSE_A)))


def _as_lamp(d: Filament | Resistor, name: str) -> Filament:
    """Paths are told for lamps; a load is told like one."""
    return d if isinstance(d, Filament) else Filament(d.name, d.a, d.b, name, name, FilamentLaw(1.0, 12.0))
