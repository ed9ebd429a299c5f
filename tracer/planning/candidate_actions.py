"""Looks while something is done to the vehicle that could be made next: unplug, pull, take out, change over, lead."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from tracer.circuit.model import OPEN_OHM
from tracer.harness.devices import SwitchContact
from tracer.harness.model import VehicleState
from tracer.harness.node import node_of, terminal_at
from tracer.inference.hypotheses import basic_states
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Reading, Test
from tracer.planning.candidate_looks import Looks, possible
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate
from tracer.planning.viewpoints import telling
from tracer.safety.facts import is_electronic
from tracer.safety.permitted import permitted_states

LEAD_BLOWS = "the lead's fuse blows"
_MOST_HYPOTHESES = 40  # whose parts are taken out, changed over or isolated
_MOST_NEW_FUSES, _NEW_FUSE_STATES = 2, 10
_MOST_PARTS = 4  # of which the wires are taken off
_MOST_BRIDGED = 3  # switches over which a lead is fitted
CONDUCTS = (
    "switch never breaks", "switch bypassed", "relay stuck closed", "added joint", "added feed", "added load",
    "lamp unit wet",
)


def interventions(living: Living, looks: Looks, state: VehicleState) -> Iterator[Candidate]:
    """Looks at the lamps complained of in one state, with one of the `things_to_do` done."""
    for done in things_to_do(living):
        yield from _watched(living, looks, state, done)


def bridged(living: Living, looks: Looks) -> Iterator[Candidate]:
    """Looks at the lamps complained of, with a lead over the contact of a suspected switch: what shines then has all
    but the switch in order. Nobody has to hold its pedal for it (common practice, no source)."""
    for state, done in bridges(living):
        yield from _watched(living, looks, state, done)


def bridges(living: Living) -> Iterator[tuple[VehicleState, Intervention]]:
    """Leads over contacts of suspected switches, each in the state in which something was wrong, but with that
    switch let go of where it springs back."""
    harness, worst = living.harness, living.work_states()[0]
    contacts = {d.name: d for d in harness.devices() if isinstance(d, SwitchContact)}
    own = dict.fromkeys(
        e for f in living.faults(_MOST_HYPOTHESES) for e in f.elements
        if e in contacts and f.kind not in CONDUCTS and contacts[e].closed_at(worst[contacts[e].control])
    )
    for contact in [contacts[e] for e in own][:_MOST_BRIDGED]:
        if not is_electronic(harness, contact.a):  # both its ends are terminals of one part
            control = harness.controls[contact.control]
            free = control.positions[0] if control.needs_holding(worst[control.name]) else worst[control.name]
            yield worst.having(control.name, free), Intervention("feed lead", contact.b, contact.a)


def _watched(living: Living, looks: Looks, state: VehicleState, done: Intervention) -> Iterator[Candidate]:
    """Looks at the lamps complained of in one state with something done."""
    lamps, panel, taken = living.affected_lamps()[:4], living.panel(state, (done,)), done.dark(living.harness)
    watched = [lamp for lamp in dict.fromkeys((*lamps, *done.watched(living.harness))) if lamp not in taken]
    for lamp, table in zip(watched, looks.outcomes(panel, watched, state), strict=True):
        test, (outcomes, table) = Test("look", state, lamp=lamp, done=(done,)), possible(table)
        if panel.lead_blown.any():
            blown = np.where(panel.lead_blown, 0.95, 0.02)
            table, outcomes = np.vstack([table * (1 - blown), blown]), (*outcomes, LEAD_BLOWS)
        yield Candidate(test, outcomes, table)


def fuses_to_try(living: Living) -> list[tuple[VehicleState, tuple[Intervention, ...]]]:
    """New fuses in the holders of those that suspects have blown, and in which states."""
    opened = {name for c in living.changes for name, ohm in c.set_ohm if ohm >= OPEN_OHM}
    fuses = [f for f in living.predictor.fuses if f"{f} link" in opened][:_MOST_NEW_FUSES]
    if not fuses:
        return []
    every = dict.fromkeys([*living.work_states(), *basic_states(living.harness)])
    states = permitted_states(every, living.harness)[:_NEW_FUSE_STATES]
    return [(state, (Intervention("new fuse", f),)) for f in fuses for state in states]


def new_fuses(living: Living, looks: Looks) -> Iterator[Candidate]:
    """A new fuse under watch: in which positions of the controls it blows tells what it feeds there is shorted
    (common practice, no source)."""
    tried = fuses_to_try(living)
    living.solve(tried)
    lamps = [*dict.fromkeys([*living.affected_lamps(), *living.predictor.lamp_index])]
    told = [i.test for i in living.diagnosis.evidence if isinstance(i, Reading) and i.test.row.of_lamps]
    for state, done in tried:
        panel = living.panel(state, done)
        # Where every suspect's fuse does as it did, it was seen.
        if any(t.done == done and bool((living.panel(t.state, done).blown == panel.blown).all()) for t in told):
            continue
        tables = looks.outcomes(panel, lamps, state)
        spread = (tables.max(axis=2) - tables.min(axis=2)).max(axis=1)
        best = int(spread.round(2).argmax())
        if telling(tables[best]):
            yield Candidate(Test("look", state, lamp=lamps[best], done=done), *possible(tables[best]))


def things_to_do(living: Living) -> list[Intervention]:
    """What can be done to the vehicle that may tell something, in the order in which it is thought of."""
    lamps = set(living.affected_lamps())
    out: list[Intervention] = []
    for part in living.harness.parts.values():
        if any(f.lamp in lamps for f in part.lamps) and "earth" in part.terminals:
            out.append(Intervention("earth lead", terminal_at(part.name, "earth")))
    faults = living.faults(_MOST_HYPOTHESES)
    bulbs = {f.bulb: f for f in reversed(living.harness.lamps())}
    suspect_bulbs = [b for b in bulbs if any(b in f.repair for f in faults)]
    out += [Intervention("take out lamp", b) for b in suspect_bulbs[:5]]
    for one, two in combinations(bulbs, 2):
        like = living.predictor.circuit.bulbs
        if (one in suspect_bulbs or two in suspect_bulbs) and len(like[one]) == len(like[two]) and (
            bulbs[one].law == bulbs[two].law and _same_but_side(one, two)
        ):
            out.append(Intervention("swap lamps", one, two))
    owners = {node_of(n).owner for n in living.nodes}
    out += [Intervention("unplug", c) for c in sorted(owners & {c.name for c in living.harness.plugs()})[:6]]
    out += [Intervention("pull bullet", n) for n in living.nodes if living.harness.is_bullet(n)][:4]
    # What conducts where it should not, inside a part or at it: it stays when the wires are off, if it is elsewhere.
    owner = {d.name: p.name for p in living.harness.parts.values() for d in p.devices}
    parts = dict.fromkeys(owner[e] for f in faults if f.kind in CONDUCTS for e in f.elements if e in owner)
    out += [Intervention("take wires off", p) for p in list(parts)[:_MOST_PARTS]]
    if any(f.kind in ("wires joined", "ways joined", "filaments bridged", "switch never breaks") for f in faults):
        out += [Intervention("pull fuse", f) for f in living.predictor.fuses[:6]]
    return out[:22]


def _same_but_side(one: str, two: str) -> bool:
    def swap(name: str) -> str:
        return name.replace("left", "\0").replace("right", "left").replace("\0", "right")

    return swap(one) == two
