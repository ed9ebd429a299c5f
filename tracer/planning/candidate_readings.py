"""Measurements that could be made next: voltages, volt drops, ohms in place and in the hand, what is
held to lamps."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property, partial
from itertools import combinations

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import OPEN_OHM, Bools, Floats
from tracer.circuit.settled import Settled
from tracer.harness.devices import Filament, FilamentLaw, FlasherContact, FuseLink, ends
from tracer.harness.lamp_feeds import earthed_at, fed_by
from tracer.harness.model import Part, VehicleState
from tracer.harness.node import node_of, terminal_at
from tracer.inference.reading_likelihood import ohm_scale, ohm_sigma, reading_sigma
from tracer.inference.unknown_to_ohmmeters import unknown_things
from tracer.inference.word_model import word_probability
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Reading, Test
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.test_kinds import KINDS
from tracer.observation.test_row import AT_LAMPS
from tracer.planning.candidate_looks import LOOK_OUTCOMES
from tracer.planning.confirmation import isolated, parted, spans, unplugged
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate, reading_outcomes
from tracer.planning.removed_part import ohms_in_hand

_MOST_LAMPS = 4  # complained of, at whose terminals something is held
_MOST_HYPOTHESES = 60  # whose runs are measured with the ohmmeter
_TOUCHING = 12
_INSIDE = ("added joint", "holder shorted")  # what joins two terminals of one part inside it
_SAME_SHARE = 0.03  # of the supply: a reading that close would be no new one


class Measurements:
    """What meters show to the living hypotheses."""

    def __init__(self, living: Living) -> None:
        self.living, self.predictor, self.harness = living, living.predictor, living.harness

    def probe_nodes(self) -> list[str]:
        """Terminals where a probe can go: those of the suspects and of the lamps concerned, and all
        connector ways, splices and earth points next to them."""
        lamps = set(self.living.affected_lamps())
        wanted = {n for n in self.living.nodes if not node_of(n).inner}
        for part in self.harness.parts.values():
            if any(f.lamp in lamps for f in part.lamps):
                wanted |= {terminal_at(part.name, t) for t in part.terminals}
        near = set(wanted)
        for wire in self.harness.wires:
            for s in wire.segments:
                if {s.a, s.b} & wanted:
                    near |= {s.a, s.b}
        for joint in self.harness.joints:
            if joint.kind in ("way", "bullet") and {joint.a, joint.b} & near:
                near |= {joint.a, joint.b}
        known = {*self.harness.bodies(), self.harness.reference}
        return sorted(n for n in near if not node_of(n).inner and n not in known)

    def voltages(self, state: VehicleState) -> Iterator[Candidate]:
        """Voltages against the body and volt drops in one state."""
        settled = self.living.settled(state)
        body, circuit = self.harness.reference, self.predictor.circuit
        for node in self.probe_nodes():
            v = settled.solution.volts[:, circuit.node(node)]
            if not self._measured(node, body, v):
                yield from self._binned(Test("volts", state, node, body), v)
        pairs = {
            f.across for f in self.living.faults()
            if f.across and all(not node_of(n).inner or node_of(n).shell for n in f.across)
        } | set(self._over_splices(settled))
        lamps = set(self.living.affected_lamps())
        for part in self.harness.parts.values():
            # The whole supply across the lamp's two terminals: the feed and the earth are both good.
            if "earth" in part.terminals and any(f.lamp in lamps for f in part.lamps):
                live = {t for t in part.terminals if t != "earth" and self._feeds(part, t) & lamps}
                pairs |= {(terminal_at(part.name, t), terminal_at(part.name, "earth")) for t in live}
        bodies = {*self.harness.bodies(), self.harness.reference}
        for a, b in sorted(p for p in pairs if not {*p} & bodies):  # against the body: measured above
            across = settled.solution.volts[:, circuit.node(a)] - settled.solution.volts[:, circuit.node(b)]
            across[self._adrift(a) | self._adrift(b)] = 0.0
            if not self._measured(a, b, across):
                yield from self._binned(Test("drop", state, a, b), across)

    def _adrift(self, node: str) -> Bools:
        """(changes,) whether all that meets in a splice or on an earth point has come off it: to a meter at it the
        other probe is the only path, and it shows nothing, whatever the circuit has there."""
        harness = self.harness
        out = np.zeros(len(self.living.changes), dtype=bool)
        if node in harness.splices or node in harness.earths:
            meeting = {s.name for s in harness.legs(node)} | {j.name for j in harness.joints if node in (j.a, j.b)}
            if meeting:
                out[:] = [meeting <= off for off in self._opened]
        return out

    @cached_property
    def _opened(self) -> list[frozenset[str]]:
        """Of each change what is open by it."""
        return [frozenset(name for name, ohm in c.set_ohm if ohm >= OPEN_OHM) for c in self.living.changes]

    def _over_splices(self, settled: Settled) -> Iterator[tuple[str, str]]:
        """For each suspect that has nothing across it, the pair of terminals with the largest drop between."""
        for row, hypothesis in zip(self.living.one_of, self.living.hypotheses, strict=True):
            for f in hypothesis.faults:
                pairs = spans(f, self.harness) if f.across is None and f.renews else ()
                if pairs:
                    ends = np.array([[self.predictor.circuit.node(n) for n in pair] for pair in pairs])
                    volts = settled.solution.volts[row, ends]
                    yield pairs[int(np.abs(volts[:, 0] - volts[:, 1]).argmax())]

    def _measured(self, a: str, b: str, values: Floats) -> bool:
        """Whether the voltage between these points was measured in a state in which every suspect expects the
        same: a second reading at the same spot repeats the errors of the first."""
        circuit = self.predictor.circuit
        for state in self._voltages_known.get(frozenset((a, b)), ()):
            volts = self.living.settled(state).solution.volts
            before = volts[:, circuit.node(a)] - volts[:, circuit.node(b)]
            if float(np.abs(before - values).max()) < _SAME_SHARE * self.predictor.emf:
                return True
        return False

    @cached_property
    def _voltages_known(self) -> Mapping[frozenset[str], Collection[VehicleState]]:
        """Two points → the states in which the voltage between them was measured."""
        known: dict[frozenset[str], dict[VehicleState, None]] = {}
        for item in self.living.diagnosis.evidence:
            if isinstance(item, Reading) and item.test.row.plain_volts and not item.test.done:
                known.setdefault(frozenset((item.test.plus, item.test.minus)), {})[item.test.state] = None
        return known

    @staticmethod
    def _feeds(part: Part, terminal: str) -> set[str]:
        """Lamps of a part that hang on one of its terminals."""
        return {f.lamp for f in fed_by(part, terminal_at(part.name, terminal))}

    def battery_at_rest(self) -> Iterator[Candidate]:
        """A battery that is pulled down by what it feeds comes up again when that is off; a flat one does not (common
        practice, no source)."""
        if any(f.kind == "battery low" for f in self.living.faults()):
            state, live = self.harness.at_rest(), self.harness.poles()[0]
            volts = self.living.settled(state).solution.volts[:, self.predictor.circuit.node(live)]
            if not self._measured(live, self.harness.reference, volts):
                yield from self._binned(Test("volts", state, live, self.harness.reference), volts)

    def continuity(self) -> Iterator[Candidate]:
        """Ohms of suspect wires, ways and earths with the battery off; connectors at the ends unplugged
        where that isolates the run."""
        faults = list({id(f): f for f in self.living.faults(_MOST_HYPOTHESES)}.values())  # at every severity the same
        # What a flasher unit's contact does at rest no file says, nor what electronics show: an ohmmeter across them
        # does not tell a sound one from a dead one (common practice, no source).
        contacts = [d for d in self.harness.devices() if isinstance(d, FlasherContact)]
        unknown = {frozenset(ends(d)) for d in [*contacts, *unknown_things(self.harness)]}
        pairs = dict.fromkeys(f.across for f in faults if f.across and frozenset(f.across) not in unknown)
        state, tests = self.harness.state({}), list[Test]()
        for a, b in [p for p in pairs if not any(node_of(n).inner for n in p)][:24]:
            owners = {node_of(n).owner for n in (a, b)}
            # Not for the two halves of one way, nor for a bullet in its block: these must stay plugged.
            tests.append(Test("ohms", state, a, b, done=unplugged([a, b], self.harness) if len(owners) > 1 else ()))
        for one in (isolated, partial(isolated, lamps_out=True), parted):
            touching: dict[Test, None] = {}
            for test in (one(f, self.harness) for f in faults):
                if test is not None:
                    touching[test] = None
                if len(touching) == _TOUCHING:
                    break
            tests += touching
        inside = (isolated(f, self.harness) for f in faults if f.kind in _INSIDE)
        for alone in [t for t in dict.fromkeys(inside) if t is not None][:_TOUCHING]:
            # With its wires off the part what touches inside it is gone, and what touches along them is not.
            off = Intervention("take wires off", node_of(alone.plus).owner)
            tests.append(replace(alone, done=(off, *alone.done)))
        yield from self.ohms(list(dict.fromkeys(tests)))

    def ohms(self, tests: Sequence[Test]) -> Iterator[Candidate]:
        """What the ohmmeter shows of these, through a flasher unit as often open as closed."""
        for test, shown in zip(tests, either_way(self.predictor, tests, self.living.changes), strict=True):
            yield from self._binned(test, *ohm_scale(shown))

    def in_hand(self) -> Iterator[Candidate]:
        """Suspect lamps and fuses taken out, looked at and measured: cheap, and it condemns or clears the
        part itself (common practice, no source)."""
        state = self.living.work_states()[0]
        faults = self.living.faults()
        tests: dict[Test, str] = {}
        part_of = {f.bulb: p.name for p in self.harness.parts.values() for f in p.lamps}
        for bulb in dict.fromkeys(f.bulb for f in self.harness.lamps()):
            if not any(f.repair == f"new lamp: {bulb}" for f in faults):
                continue
            own = [f for f in self.harness.lamps() if f.bulb == bulb]
            if not all(isinstance(f.law, FilamentLaw) for f in own):
                continue  # an ohmmeter does not light an LED: good and dead ones look the same
            points = [(f.a, f.b) for f in own] + [(f.a, g.a) for f, g in combinations(own, 2)]
            out = (Intervention("take out lamp", bulb),)
            tests |= {Test("ohms", state, a, b, done=out): part_of[bulb] for a, b in points}
        for name in dict.fromkeys(f.name.partition(": ")[2] for f in faults if f.kind == "fuse blown"):
            link = next(d for d in self.harness.parts[name].devices if isinstance(d, FuseLink))
            tests[Test("ohms", state, link.a, link.b, done=(Intervention("pull fuse", name),))] = name
        for test, ohm in zip(tests, ohms_in_hand(self.harness, self.living.changes, tests), strict=True):
            yield from self._binned(test, ohm_scale(ohm))

    def _binned(self, test: Test, *mu: Floats) -> Iterator[Candidate]:
        """A reading that is one of these, as likely each."""
        sigma = [ohm_sigma(x, *self.living.beside) if test.row.log_scale else reading_sigma(
            x, self.predictor.emf, self.predictor.supply_measured, *self.living.beside
        ) for x in mu]
        shares = np.vstack([self.living.by_repair / len(mu)] * len(mu))
        words, table = reading_outcomes(np.concatenate(mu), np.concatenate(sigma), test.row.log_scale, shares)
        if len(words) > 1:
            yield Candidate(test, words, table.reshape(len(words), len(mu), -1).mean(axis=1))

    def at_lamps(self, states: Sequence[VehicleState]) -> list[Candidate]:
        """What is held to the terminals of lamps complained of, in several states: the test lamp, and whatever else
        the row of its kind says so of."""
        found = list[Candidate]()
        for test in self.held_to_lamps(states):
            shown = self.living.shown(test)
            if not test.row.shows_light:
                found += self._binned(test, shown)
                continue
            words = (["dark"], ["faint"], ["dim"], ["normal", "bright"])
            table = np.array([word_probability(shown, frozenset(w)) for w in words])
            found.append(Candidate(test, LOOK_OUTCOMES[:4], table))
        return found

    def held_to_lamps(self, states: Sequence[VehicleState]) -> list[Test]:
        """The tests of `at_lamps`."""
        return [test for state in states for test in self._at_lamps(state)]

    def _at_lamps(self, state: VehicleState) -> Iterator[Test]:
        lamps, fed = set(self.living.affected_lamps()[:_MOST_LAMPS]), dict[str, tuple[Part, Filament]]()
        for part in self.harness.parts.values():
            for node in (terminal_at(part.name, t) for t in part.terminals):
                fed.update((node, (part, f)) for f in fed_by(part, node)[::-1] if f.lamp in lamps)
        for kind, row in KINDS.items():
            for node in sorted(fed)[:_MOST_LAMPS] if row.proposed in AT_LAMPS else ():
                other = self.harness.reference if row.proposed == "feed to body" else earthed_at(*fed[node])
                if other and row.refuses(self.harness, node, other) is None:
                    yield Test(kind, state, node, other)
