"""Tests that could be made next, each with the outcomes that the living hypotheses predict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from tracer.circuit import OPEN_OHM, Change, Floats
from tracer.costs import ALSO_MIN, Standing, minutes_of
from tracer.devices import FilamentLaw, FuseLink, Joint
from tracer.direct import isolated, spans
from tracer.evidence import BY_HAND, Intervention, LampSeen, Reading, Symptom, Test, inspection, wiggling
from tracer.eyes import WORD_SLIP, Eye, word_probability
from tracer.harness import Harness, Part, VehicleState
from tracer.in_hand import InHand
from tracer.in_sight import standpoints, telling, together
from tracer.inspection import (
    CHANGES,
    CHANGES_NOT,
    FOUND,
    NOTHING,
    find_chances,
    move_chances,
    shows_in,
    worth_inspecting,
    worth_moving,
)
from tracer.likelihood import flash_probabilities, note_said, ohm_scale, reading_sigma
from tracer.outcomes import OHM_SIGMA, reading_outcomes
from tracer.predictions import Panel, Predictor
from tracer.said_before import SaidBefore, cells_of
from tracer.settle import Settled
from tracer.suspects import Diagnosis, basic_states

LEAD_BLOWS = "the lead's fuse blows"
LOOK_OUTCOMES: tuple[str, ...] = ("dark", "faint", "dim", "normal", "flashing")
_TOUCHING = 12
_MOST_IN_SIGHT = 8
_MOST_NEW_FUSES, _NEW_FUSE_STATES = 2, 10
_UNSEEN = -2.8  # log10 of light below which a lamp is as good as dark
_SAME_LOOK = 0.15  # decades of light that nobody tells from the same
_DOUBT = 0.02  # a hundredth held by suspects that contradict what was seen
_SAME_SHARE = 0.03  # of the supply: a reading that close would be no new one


@dataclass(frozen=True)
class Candidate:
    """A test and, for each outcome, its probability under each living hypothesis, (O, H). `also`: lamps that are
    seen with the one looked at and told as well."""

    test: Test
    outcomes: tuple[str, ...]
    likelihood: Floats
    also: tuple[str, ...] = ()

    def minutes(self, standing: Standing, harness: Harness) -> float:
        return minutes_of(self.test, standing, harness) + ALSO_MIN * len(self.also)


class Candidates:
    """Generates candidates for the living hypotheses, `rows` of a diagnosis."""

    def __init__(self, diagnosis: Diagnosis, rows: Sequence[int]) -> None:
        self.diagnosis = diagnosis
        self.predictor: Predictor = diagnosis.predictor
        self.harness: Harness = diagnosis.predictor.harness
        self.rows = list(rows)
        # What changes the same thing is simulated once: `_one_of` says which of the changes is that of each row.
        found: dict[Change, int] = {}
        self._one_of = np.array([found.setdefault(diagnosis.hypotheses[i].change, len(found)) for i in rows])
        self.changes: list[Change] = list(found)
        self._table = self.predictor.table(self.changes)
        self._panels: dict[tuple[VehicleState, tuple[Intervention, ...]], Panel] = {}
        self._settleds: dict[VehicleState, Settled] = {}
        self.nodes = sorted({n for i in rows for f in diagnosis.hypotheses[i].faults for n in self._fault_nodes(f)})

    def _fault_nodes(self, fault: object) -> Iterator[str]:
        across = getattr(fault, "across", None) or ()
        for node in (getattr(fault, "node", ""), *across):
            if node:
                yield node

    def all(self) -> Iterator[Candidate]:
        """Every candidate: looks first, then voltages, drops, continuity, test lamp, interventions."""
        for c in self._of_changes():
            if c.test.kind in BY_HAND:  # eyes and hands part what no current tells apart
                yield c
            else:
                yield Candidate(c.test, c.outcomes, c.likelihood[:, self._one_of], c.also)

    def _of_changes(self) -> Iterator[Candidate]:
        """The same, with likelihoods by `changes`; those of what is done by hand by `rows`."""
        states = self.work_states()
        # What is solved together takes far less time than one after the other.
        self._solve([
            *((state, ()) for state in self.look_states()),
            *((state, (done,)) for state in states[:2] for done in self._things_to_do()),
        ])
        yield from self._looks()
        setups = [self.predictor.setup(state) for state in states]
        settled = self.predictor.settler.solve_several([(setup, self._table) for setup in setups])
        self._settleds |= zip(states, settled, strict=True)
        for state in states:
            yield from self._voltages(state)
        yield from self._continuity()
        yield from self._in_hand()
        yield from self._new_fuses()
        lit = [test for state in states[:2] for test in self._test_lamps(state)]
        light = dict(zip(lit, self.predictor.observed_several(lit, self.changes), strict=True))
        for state in states[:2]:
            for test in (t for t in lit if t.state == state):
                looks = (["dark"], ["faint"], ["dim"], ["normal", "bright"])
                words = [word_probability(light[test], frozenset(w)) for w in looks]
                yield Candidate(test, LOOK_OUTCOMES[:4], np.array(words))
            yield from self._interventions(state)
        yield from self._inspections()
        yield from self._wiggles()

    def work_states(self) -> list[VehicleState]:
        """States in which something was wrong, likeliest to be worth measuring in; else all that were seen."""
        found: dict[VehicleState, float] = {}
        for e, item in enumerate(self.diagnosis.evidence):
            if isinstance(item, Reading) and item.test.kind == "inspect":
                continue  # made at rest
            state = item.state if isinstance(item, Symptom) else item.test.state
            wrong = float(np.max(self.diagnosis.loglik[e]) - self.diagnosis.healthy[e])
            found[state] = max(wrong, found.get(state, 0.0))
        order = sorted(found, key=lambda s: -found[s])
        return self._engine_off(order)[:3] or basic_states(self.harness)[:3]

    def _engine_off(self, states: Sequence[VehicleState]) -> list[VehicleState]:
        """The states with the engine stopped wherever every suspect then lights every lamp as before: the higher
        voltage of a running engine alone is no reason to start it."""
        out: list[VehicleState] = []
        for state in states:
            stopped = replace(state, engine_running=False)
            out.append(stopped)
            if state.engine_running:
                here, there = self._panel(state), self._panel(stopped)
                same = np.abs(np.maximum(here.flux, _UNSEEN) - np.maximum(there.flux, _UNSEEN)) < _SAME_LOOK
                if not same.all():
                    out.append(state)
        return list(dict.fromkeys(out))

    def affected_lamps(self) -> list[str]:
        """Lamps named in the evidence, those that were not as they should be first."""
        named: dict[str, bool] = {}
        for e, item in enumerate(self.diagnosis.evidence):
            wrong = bool(self.diagnosis.healthy[e] < -2.5)
            for seen in item.seen if isinstance(item, Symptom) else [item.value.seen]:
                if isinstance(seen, LampSeen) and seen.lamp in self.predictor.lamp_index:  # not a test lamp
                    named[seen.lamp] = named.get(seen.lamp, False) or wrong
        return sorted(named, key=lambda n: not named[n])

    # --- looks

    def _looks(self) -> Iterator[Candidate]:
        seen = {
            (i.state, s.lamp) for i in self.diagnosis.evidence if isinstance(i, Symptom)
            for s in i.seen if isinstance(s, LampSeen)
        } | {
            (i.test.state, i.test.lamp) for i in self.diagnosis.evidence
            if isinstance(i, Reading) and i.test.kind == "look" and not i.test.done
        }
        known: dict[str, list[Floats]] = {}
        for state, lamp in seen:
            known.setdefault(lamp, []).append(self._light(self._panel(state), lamp))
        states = self.look_states()
        stirred = self.predictor.disturbed([(self.predictor.setup(state), self._table) for state in states])
        for state, rows in zip(states, stirred, strict=True):
            if not rows.any():
                continue  # to every suspect all looks as on a healthy vehicle
            panel = self._panel(state)
            # Where no suspect expects the lamp to look otherwise than it did, it was looked at already.
            again = {
                lamp for lamp, lights in known.items()
                if any(float(np.abs(self._light(panel, lamp) - k).max()) < _SAME_LOOK for k in lights)
            }
            lamps = list(dict.fromkeys([*self.affected_lamps(), *self.predictor.lamp_index]))
            tables = self._look_outcomes(panel, lamps, state)
            for lamp, table in zip(lamps, tables, strict=True):
                # Twice only where a suspect lives by what was said being wrong: see the fault with your own eyes.
                if lamp not in again or self._doubted(table):
                    yield Candidate(Test("look", state, lamp=lamp), LOOK_OUTCOMES, table)
            new = zip(lamps, tables, strict=True)
            yield from self._looks_round(state, {x: t for x, t in new if x not in again and telling(t)})

    def _doubted(self, table: Floats) -> bool:
        """Whether what a second look shows, (O, H), is open: on average over the shares of the suspects."""
        share = np.bincount(self._one_of, weights=self.diagnosis.share[self.rows])
        share = share / share.sum()
        apart = np.abs(table - (table @ share)[:, None]).max(axis=0)
        return float(apart @ share) > _DOUBT

    def _looks_round(self, state: VehicleState, tables: dict[str, Floats]) -> Iterator[Candidate]:
        """Looks at all the lamps that are seen from one place and tell something."""
        by_place: dict[str, list[str]] = {}
        for lamp in tables:
            by_place.setdefault(self._standpoints[lamp], []).append(lamp)
        for lamps in by_place.values():
            if len(lamps) > 1:
                some = lamps[:_MOST_IN_SIGHT]
                outcomes, table = together(some, [tables[x] for x in some], LOOK_OUTCOMES)
                yield Candidate(Test("look", state, lamp=some[0]), outcomes, table, tuple(some[1:]))

    @cached_property
    def _standpoints(self) -> dict[str, str]:
        return standpoints(self.harness)

    def _panel(self, state: VehicleState, done: tuple[Intervention, ...] = ()) -> Panel:
        self._solve([(state, done)])
        return self._panels[state, done]

    def _solve(self, looks: Iterable[tuple[VehicleState, tuple[Intervention, ...]]]) -> None:
        """Find what the lamps do in states, with things done to them, that are not known yet."""
        new = [x for x in dict.fromkeys(looks) if x not in self._panels]
        asked = []
        for state, done in new:
            change = Test("look", state, done=done).change(self.predictor.circuit)
            table = self.predictor.table(self.changes, change) if change.remakes else self._table
            asked.append((self.predictor.setup(state, change), table))
        self._panels |= zip(new, self.predictor.looks(asked), strict=True)

    def _light(self, panel: Panel, lamp: str) -> Floats:
        """(2, H) light of a lamp in both phases, as far as it can be seen."""
        at = self.predictor.lamp_index[lamp]
        return np.asarray(np.maximum(np.array([panel.flux[:, at], panel.least[:, at]]), _UNSEEN))

    def look_states(self) -> list[VehicleState]:
        """Single-control states, the states seen, and those with one more control moved."""
        states = basic_states(self.harness)
        seen = self.work_states()
        moved = []
        for state in seen:
            for name, control in self.harness.controls.items():
                for position in control.positions:
                    if position != state[name] and name != "ignition":
                        positions = dict(state.positions) | {name: position}
                        moved.append(VehicleState(tuple(positions.items()), state.engine_running))
        return list(dict.fromkeys([*seen, *states, *moved]))[:36]

    def _look_outcomes(self, panel: Panel, lamps: Sequence[str], state: VehicleState) -> Floats:
        """(lamps, outcomes, H) probabilities of what looks at several lamps show."""
        chosen = [self.predictor.lamp_index[lamp] for lamp in lamps]
        before = self._said_before.recall(cells_of(panel.flux), np.arange(len(self.changes)), "")
        if before is not None:
            before = before[:, chosen]
        usual = self.predictor.healthy(state).flux[0, chosen]

        def called(*words: str) -> Floats:
            return Eye().calls(panel.flux[:, chosen], frozenset(words), WORD_SLIP, usual, before).T

        flashing = flash_probabilities(panel, slice(None), self.predictor.electronic)["flashing"][:, chosen].T
        words, normal = [called(w) for w in ("dark", "faint", "dim")], called("normal", "bright")
        steady = 1 - flashing
        found = np.stack(
            [words[0], words[1] * steady, words[2] * steady, normal * steady, (1 - words[0]) * flashing], axis=1
        )
        found /= found.sum(axis=1, keepdims=True)
        return found

    @cached_property
    def _said_before(self) -> SaidBefore:
        """What the lamps were called in the job so far."""
        said, every = SaidBefore(len(self.changes), len(self.predictor.lamps)), np.arange(len(self.changes))
        for item in self.diagnosis.evidence:
            if isinstance(item, Symptom):
                panel = self._panel(item.state)
            elif item.test.kind == "look":
                panel = self._panel(item.test.state, item.test.done)
            else:
                continue
            note_said(said, self.predictor, item, cells_of(panel.flux), every)
        return said

    # --- meter

    def probe_nodes(self) -> list[str]:
        """Terminals where a probe can go: those of the suspects and of the lamps concerned, and all
        connector ways, splices and earth points next to them."""
        lamps = set(self.affected_lamps())
        wanted = {n for n in self.nodes if "/" not in n}
        for part in self.harness.parts.values():
            if any(f.lamp in lamps for f in part.lamps):
                wanted |= {f"{part.name}.{t}" for t in part.terminals}
        near = set(wanted)
        for wire in self.harness.wires:
            for s in wire.segments:
                if {s.a, s.b} & wanted:
                    near |= {s.a, s.b}
        for joint in self.harness.joints:
            if joint.kind == "way" and {joint.a, joint.b} & near:
                near |= {joint.a, joint.b}
        known = {*self.harness.bodies(), self.harness.reference}
        return sorted(n for n in near if "/" not in n and n not in known)

    def _voltages(self, state: VehicleState) -> Iterator[Candidate]:
        settled = self._settled(state)
        body, circuit = self.harness.reference, self.predictor.circuit
        for node in self.probe_nodes():
            v = settled.solution.volts[:, circuit.node(node)]
            if not self._measured(node, body, v):
                yield from self._binned(Test("volts", state, node, body), v)
        pairs = {
            f.across for i in self.rows for f in self.diagnosis.hypotheses[i].faults
            if f.across and all("/" not in n or n.endswith("shell") for n in f.across)
        } | set(self._over_splices(settled))
        lamps = set(self.affected_lamps())
        for part in self.harness.parts.values():
            # The whole supply across the lamp's two terminals: the feed and the earth are both good.
            if "earth" in part.terminals and any(f.lamp in lamps for f in part.lamps):
                live = {t for t in part.terminals if t != "earth"}
                pairs |= {(f"{part.name}.{t}", f"{part.name}.earth") for t in live if self._feeds(part, t) & lamps}
        bodies = {*self.harness.bodies(), self.harness.reference}
        for a, b in sorted(p for p in pairs if not {*p} & bodies):  # against the body: measured above
            across = settled.solution.volts[:, circuit.node(a)] - settled.solution.volts[:, circuit.node(b)]
            if not self._measured(a, b, across):
                yield from self._binned(Test("drop", state, a, b), across)

    def _over_splices(self, settled: Settled) -> Iterator[tuple[str, str]]:
        """For each suspect that has nothing across it, the pair of terminals with the largest drop between."""
        for row, i in zip(self._one_of, self.rows, strict=True):
            for f in self.diagnosis.hypotheses[i].faults:
                pairs = spans(f, self.harness) if f.across is None and f.renews else ()
                if pairs:
                    ends = np.array([[self.predictor.circuit.node(n) for n in pair] for pair in pairs])
                    volts = settled.solution.volts[row, ends]
                    yield pairs[int(np.abs(volts[:, 0] - volts[:, 1]).argmax())]

    def _settled(self, state: VehicleState) -> Settled:
        if state not in self._settleds:
            self._settleds[state] = self.predictor.settled(self.predictor.setup(state), self._table)
        return self._settleds[state]

    def _measured(self, a: str, b: str, values: Floats) -> bool:
        """Whether the voltage between these points was measured in a state in which every suspect expects the
        same: a second reading at the same spot repeats the errors of the first."""
        circuit = self.predictor.circuit
        for item in self.diagnosis.evidence:
            if not isinstance(item, Reading) or item.test.kind not in ("volts", "drop") or item.test.done:
                continue
            if {item.test.plus, item.test.minus} == {a, b}:
                volts = self._settled(item.test.state).solution.volts
                before = volts[:, circuit.node(a)] - volts[:, circuit.node(b)]
                if float(np.abs(before - values).max()) < _SAME_SHARE * self.predictor.emf:
                    return True
        return False

    @staticmethod
    def _feeds(part: Part, terminal: str) -> set[str]:
        """Lamps of a part that hang on one of its terminals."""
        inner = {d.b for d in part.devices if isinstance(d, Joint) and d.a == f"{part.name}.{terminal}"}
        return {f.lamp for f in part.lamps if f.a in inner}

    def _continuity(self) -> Iterator[Candidate]:
        """Ohms of suspect wires, ways and earths with the battery off; connectors at the ends unplugged
        where that isolates the run."""
        pairs = dict.fromkeys(
            f.across for i in self.rows[:60] for f in self.diagnosis.hypotheses[i].faults if f.across
        )
        state, tests = self.harness.state({}), list[Test]()
        for a, b in [p for p in pairs if all("/" not in n for n in p)][:24]:
            owners = {n.rstrip("'").rsplit(".", 1)[0] for n in (a, b)}
            unplug = sorted(o for o in owners if o in self.harness.connectors)
            if len(owners) == 1:  # the two halves of one way: it must stay plugged
                unplug = []
            tests.append(Test("ohms", state, a, b, done=tuple(Intervention("unplug", c) for c in unplug)))
        touching = (isolated(f, self.harness) for i in self.rows[:60] for f in self.diagnosis.hypotheses[i].faults)
        tests += [t for t in dict.fromkeys(touching) if t is not None][:_TOUCHING]
        for test, shown in zip(tests, self.predictor.observed_several(tests, self.changes), strict=True):
            yield from self._binned(test, ohm_scale(shown))

    def _in_hand(self) -> Iterator[Candidate]:
        """Suspect lamps and fuses taken out, looked at and measured: cheap, and it condemns or clears the
        part itself (common practice, no source)."""
        state = self.work_states()[0]
        faults = [f for i in self.rows for f in self.diagnosis.hypotheses[i].faults]
        in_hand = InHand(self.harness, self.changes)
        part_of = {f.bulb: p.name for p in self.harness.parts.values() for f in p.lamps}
        for bulb in dict.fromkeys(f.bulb for f in self.harness.lamps()):
            if not any(f.repair == f"new lamp: {bulb}" for f in faults):
                continue
            own = [f for f in self.harness.lamps() if f.bulb == bulb]
            if not all(isinstance(f.law, FilamentLaw) for f in own):
                continue  # an ohmmeter does not light an LED: good and dead ones look the same
            points = [(f.a, f.b) for f in own] + [(f.a, g.a) for f, g in combinations(own, 2)]
            for a, b in points:
                test = Test("ohms", state, a, b, done=(Intervention("take out lamp", bulb),))
                yield from self._binned(test, ohm_scale(in_hand.ohms(test, part_of[bulb])))
        for name in dict.fromkeys(f.name.partition(": ")[2] for f in faults if f.kind == "fuse blown"):
            link = next(d for d in self.harness.parts[name].devices if isinstance(d, FuseLink))
            test = Test("ohms", state, link.a, link.b, done=(Intervention("pull fuse", name),))
            yield from self._binned(test, ohm_scale(in_hand.ohms(test, name)))

    def _binned(self, test: Test, mu: Floats) -> Iterator[Candidate]:
        here = np.arange(len(mu))
        sigma = np.full(len(mu), OHM_SIGMA) if test.kind == "ohms" else reading_sigma(
            mu, self.predictor.emf, self.predictor.supply_measured, here, here
        )
        words, table = reading_outcomes(mu, sigma, test.kind == "ohms")
        if len(words) > 1:
            yield Candidate(test, words, table)

    def _test_lamps(self, state: VehicleState) -> list[Test]:
        body = self.harness.reference
        lamps = set(self.affected_lamps()[:4])
        nodes = [f"{f.a}" for f in self.harness.lamps() if f.lamp in lamps]
        terminals = {
            d.a for p in self.harness.parts.values() for d in p.devices
            if isinstance(d, Joint) and d.kind == "holder" and d.b in nodes
        }
        return [Test("test lamp", state, node, body) for node in sorted(terminals)[:4]]

    def _inspections(self) -> Iterator[Candidate]:
        """Looks along wires and into plugs, where a suspect's fault may be in sight."""
        living = [self.diagnosis.hypotheses[i] for i in self.rows]
        for thing in worth_inspecting(living, self.diagnosis.share[self.rows], self.diagnosis.evidence, self.harness):
            found = find_chances(living, thing, self.harness)
            yield Candidate(inspection(self.harness, thing), (FOUND, NOTHING), np.array([found, 1 - found]))

    def _wiggles(self) -> Iterator[Candidate]:
        """A lamp complained of is watched while what may be loose is moved."""
        living = [self.diagnosis.hypotheses[i] for i in self.rows]
        state = self.work_states()[0]
        for lamp in self.affected_lamps()[:1]:
            shows = shows_in(self._panel(state), self.predictor.healthy(state), self.predictor.lamp_index[lamp])
            for thing in worth_moving(living, self.diagnosis.share[self.rows], self.harness):
                moves = move_chances(living, thing, shows[self._one_of], self.harness)
                test = wiggling(self.harness, thing, state, lamp)
                yield Candidate(test, (CHANGES, CHANGES_NOT), np.array([moves, 1 - moves]))

    # --- interventions

    def _interventions(self, state: VehicleState) -> Iterator[Candidate]:
        lamps = self.affected_lamps()[:4]
        for done in self._things_to_do():
            panel = self._panel(state, (done,))
            watched = list(lamps)
            if done.action == "swap lamps":
                watched += [f.lamp for f in self.harness.lamps() if f.bulb in (done.target, done.other)]
            taken = {f.lamp for f in self.harness.lamps() if f.bulb == done.target and done.action == "take out lamp"}
            watched = [lamp for lamp in dict.fromkeys(watched) if lamp not in taken]
            for lamp, table in zip(watched, self._look_outcomes(panel, watched, state), strict=True):
                test, outcomes = Test("look", state, lamp=lamp, done=(done,)), LOOK_OUTCOMES
                if panel.lead_blown.any():
                    blown = np.where(panel.lead_blown, 0.95, 0.02)
                    table, outcomes = np.vstack([table * (1 - blown), blown]), (*outcomes, LEAD_BLOWS)
                yield Candidate(test, outcomes, table)

    def _new_fuses(self) -> Iterator[Candidate]:
        """A new fuse under watch: in which positions of the controls it blows tells what it feeds there is shorted
        (common practice, no source)."""
        opened = {name for c in self.changes for name, ohm in c.set_ohm if ohm >= OPEN_OHM}
        fuses = [f for f in self.predictor.fuses if f"{f} link" in opened][:_MOST_NEW_FUSES]
        if not fuses:
            return
        states = list(dict.fromkeys([*self.work_states(), *basic_states(self.harness)]))[:_NEW_FUSE_STATES]
        looks = [(state, (Intervention("new fuse", f),)) for f in fuses for state in states]
        self._solve(looks)
        lamps = [*dict.fromkeys([*self.affected_lamps(), *self.predictor.lamp_index])]
        told = [i.test for i in self.diagnosis.evidence if isinstance(i, Reading) and i.test.kind == "look"]
        for state, done in looks:
            panel = self._panel(state, done)
            # Where every suspect's fuse does as it did, it was seen.
            if any(t.done == done and bool((self._panel(t.state, done).blown == panel.blown).all()) for t in told):
                continue
            tables = self._look_outcomes(panel, lamps, state)
            spread = (tables.max(axis=2) - tables.min(axis=2)).max(axis=1)
            best = int(spread.round(2).argmax())
            if telling(tables[best]):
                yield Candidate(Test("look", state, lamp=lamps[best], done=done), LOOK_OUTCOMES, tables[best])

    def _things_to_do(self) -> list[Intervention]:
        lamps = set(self.affected_lamps())
        out: list[Intervention] = []
        for part in self.harness.parts.values():
            if any(f.lamp in lamps for f in part.lamps) and "earth" in part.terminals:
                out.append(Intervention("earth lead", f"{part.name}.earth"))
        faults = [f for i in self.rows[:40] for f in self.diagnosis.hypotheses[i].faults]
        bulbs = {f.bulb: f for f in reversed(self.harness.lamps())}
        suspect_bulbs = [b for b in bulbs if any(b in f.repair for f in faults)]
        out += [Intervention("take out lamp", b) for b in suspect_bulbs[:5]]
        for one, two in combinations(bulbs, 2):
            like = self.predictor.circuit.bulbs
            if (one in suspect_bulbs or two in suspect_bulbs) and len(like[one]) == len(like[two]) and (
                bulbs[one].law == bulbs[two].law and _same_but_side(one, two)
            ):
                out.append(Intervention("swap lamps", one, two))
        owners = {n.rstrip("'").rsplit(".", 1)[0] for n in self.nodes}
        out += [Intervention("unplug", c) for c in sorted(owners & set(self.harness.connectors))[:6]]
        if any(f.kind in ("wires joined", "ways joined", "filaments bridged", "switch never breaks") for f in faults):
            out += [Intervention("pull fuse", f) for f in self.predictor.fuses[:6]]
        return out[:22]


def _same_but_side(one: str, two: str) -> bool:
    def swap(name: str) -> str:
        return name.replace("left", "\0").replace("right", "left").replace("\0", "right")

    return swap(one) == two
