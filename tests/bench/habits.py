"""Habits of the workshop, each as sensible as its kind allows: what the tool is measured against.

All pay the minutes of `tracer.planning.costs`, start from the same symptoms, get their answers from the same
vehicle and look at the lamps after every repair (`PROVE_MIN`), which tells them whether the job is done.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal
from unittest import mock

from msgspec.structs import replace

from tests.bench.ledger import Ledger
from tests.bench.spice_vehicle import SpiceVehicle
from tracer.circuit.model import NO_CHANGE
from tracer.faults import Fault
from tracer.harness.devices import Filament, FuseLink
from tracer.harness.model import VehicleState
from tracer.inference.current_paths import Branch, flow, path_through
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import basic_states
from tracer.job.history import IN_VAIN
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.planning.candidates import Candidates
from tracer.planning.constraints import Limits, allowed
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.engine import information_gain
from tracer.planning.next_step import propose
from tracer.planning.outcomes import Candidate

# Faults that make a lamp light which should not: nobody renews a lamp or a wire for that.
_FALSE_LIGHT = frozenset({
    "filaments bridged", "earth bad", "earth open", "mounting bad", "mounting open", "ways joined", "ways crossed",
    "wires joined", "wires changed over", "switch never breaks", "flasher stuck", "relay stuck closed",
    "diode short", "splice open",
})
_MOST_STEPS = 20
_TELLS_BITS = 0.05


# --- the tool


def evenly(investigator: Investigator, vehicle: SpiceVehicle, ledger: Ledger, evidence: list[Evidence],
           diagnosis: Diagnosis) -> None:
    """The tool where every test is taken to cost a minute and nothing is confirmed before a repair: as few tests as
    its rule can do with, which is what a bound by entropy speaks of."""
    with mock.patch.object(Candidate, "minutes", lambda *_: 1.0):
        ours(investigator, vehicle, ledger, evidence, diagnosis, confirms=False)


def ours(investigator: Investigator, vehicle: SpiceVehicle, ledger: Ledger, evidence: list[Evidence],
         diagnosis: Diagnosis, confirms: bool = True) -> None:
    """Every step as the tool proposes it, the direct confirmation before a repair included."""
    evidence = list(evidence)
    tried: dict[str, float] = {}
    before: dict[str, int] = {}  # how much evidence there was when a repair was tried
    skipped: list[Test] = []
    for _ in range(_MOST_STEPS):
        step = propose(diagnosis, ledger.standing, skipped=skipped, tried=before)
        if not ledger.log:
            ledger.expected, ledger.bound = step.minutes, step.bound
        leading = [f"{s.repair} {s.share:.3f}" for s in diagnosis.suspects[:4]]
        leading += [f"undescribed {diagnosis.undescribed:.3f}", f"{step.kind}, {step.minutes:.0f} min"]
        ledger.log.append(f"  [{'; '.join(leading)}]")
        if step.test is not None and (confirms or step.kind == "test"):
            purpose = "after a repair in vain" if before else "choosing" if step.kind == "test" else "confirming"
            spent = ledger.minutes
            value = parse_value(ledger.test(step.test, vehicle, step.also), step.test.kind, step.test.lamp)
            ledger.spent.setdefault(purpose, []).append(ledger.minutes - spent)
            if value.told_nothing:
                skipped.append(step.test)
                continue
            evidence += [Reading(step.test, value), *ledger.seen_with(step.test, vehicle, step.also)]
        elif step.kind == "repair" and step.suspect is not None:
            if ledger.repair(step.suspect.best.faults, vehicle):
                return
            tried[step.suspect.repair] = IN_VAIN * tried.get(step.suspect.repair, 1.0)
            before[step.suspect.repair] = len(evidence)
        else:
            ledger.log.append(f"GIVE UP {step.says}")
            return
        diagnosis = investigator.diagnose(evidence, discount=tried)


# --- random


Pool = Literal["any", "near", "telling"]


def at_random(investigator: Investigator, vehicle: SpiceVehicle, ledger: Ledger, evidence: list[Evidence],
              diagnosis: Diagnosis, rng: random.Random, pool: Pool) -> None:
    """Tests made in random order, the engine off; every reading weighed as the tool weighs it. When one repair is
    95 % sure it is made. (So only the choice of the test is left to chance: a person who measures at random and
    reasons like the tool.)

    Args:
        pool: What the tests are drawn from. "any": a look at any lamp and the voltage at any terminal that a probe
            reaches, in any state of `basic_states` and of what was seen; any lamp or fuse in the hand. "near": the
            candidates that the tool has picked out after the symptoms, which is half the choice already.
            "telling": of these, at every step, those that part the suspects still living, as the tool predicts.
    """
    evidence = list(evidence)
    tried: dict[str, float] = {}
    done: set[tuple[Test, tuple[str, ...]]] = set()
    every: list[tuple[Test, tuple[str, ...]]] = []
    while not ledger.patience_out:
        top = diagnosis.suspects[0]
        if pool == "telling" or not done:
            every = _anything(diagnosis) if pool == "any" else _possible(diagnosis, pool == "telling")
            rng.shuffle(every)
        every = [t for t in every if t not in done]
        if top.share < 0.95 and every and ledger.tests < _MOST_STEPS:
            test, also = every.pop()
            done.add((test, also))
            value = parse_value(ledger.test(test, vehicle, also), test.kind, test.lamp)
            if not value.told_nothing:
                evidence += [Reading(test, value), *ledger.seen_with(test, vehicle, also)]
        else:
            if ledger.repair(top.best.faults, vehicle):
                return
            tried[top.repair] = IN_VAIN * tried.get(top.repair, 1.0)
        diagnosis = investigator.diagnose(evidence, pairs=False, discount=tried)


def _anything(diagnosis: Diagnosis) -> list[tuple[Test, tuple[str, ...]]]:
    """Every look, every voltage against the body, every lamp and fuse in the hand, whatever the suspects are."""
    predictor = diagnosis.predictor
    harness, circuit = predictor.harness, predictor.circuit
    seen = [i.state if isinstance(i, Symptom) else i.test.state for i in diagnosis.evidence]
    states = [s for s in dict.fromkeys([*seen, *basic_states(harness)]) if not s.engine_running]
    bodies = {*harness.bodies(), harness.reference}
    nodes = [n for n in circuit.nodes if "/" not in n and n not in bodies]
    found = [Test("look", s, lamp=lamp) for s in states for lamp in predictor.lamp_index]
    found += [Test("volts", s, n, harness.reference) for s in states for n in nodes]
    for f in harness.lamps():
        found.append(Test("ohms", states[0], f.a, f.b, done=(Intervention("take out lamp", f.bulb),)))
    for d in circuit.linear:
        if isinstance(d, FuseLink):
            out = Intervention("pull fuse", d.name.removesuffix(" link"))
            found.append(Test("ohms", states[0], d.a, d.b, done=(out,)))
    return [(t, ()) for t in found]


def _possible(diagnosis: Diagnosis, telling: bool) -> list[tuple[Test, tuple[str, ...]]]:
    """Tests with the engine off; `telling`: those that tell anything about the repair."""
    rows, shares = rows_to_plan_with(diagnosis)
    found = [c for c in Candidates(diagnosis, rows).all()
             if allowed(c.test, diagnosis.predictor.harness, Limits(engine_off=True))]
    if telling:
        _, label = cures(diagnosis, rows)
        found = [c for c in found if information_gain(shares, label, c.likelihood) > _TELLS_BITS]
    return [(c.test, c.also) for c in found]


# --- most probable part first


def most_probable_first(investigator: Investigator, vehicle: SpiceVehicle, ledger: Ledger,
                        evidence: list[Evidence]) -> None:
    """Renew or remake what fails most often, no instrument: first of what lies on the current path of the
    lamps complained of (for a lamp that lights when it should not: of the faults that can do that), the
    commonest first; then the rest of the vehicle. Where lamps only flash otherwise than they should, the flasher
    unit comes before all that. A look after each. The path is that of the circuit
    diagram, and the rates are the same base rates as the tool's."""
    for fault in _by_rate(investigator, evidence, frozenset()):
        if ledger.repair([fault], vehicle):
            return


def likeliest_first(vehicle: SpiceVehicle, ledger: Ledger, diagnosis: Diagnosis) -> None:
    """Repairs in the order of the tool's own ranking after the symptoms, no tests: harder to beat."""
    for suspect in diagnosis.suspects:
        if len(suspect.best.faults) == 1 and ledger.repair(suspect.best.faults, vehicle):
            return


def _by_rate(
    investigator: Investigator, evidence: Sequence[Evidence], cleared: frozenset[str]
) -> Iterator[Fault]:
    """One fault a repair, commonest first: on the paths of the odd lamps, then anywhere."""
    near = _near(investigator, evidence)
    rate: dict[str, float] = {}
    best: dict[str, Fault] = {}
    for f in investigator.faults:
        rate[f.repair] = rate.get(f.repair, 0.0) + f.rate
        if f.repair not in best or f.rate > best[f.repair].rate:
            best[f.repair] = f
    unit = {f.repair for f in investigator.faults if f.kind.startswith(("flasher", "wrong flasher"))}
    first = unit if _only_rhythm(evidence) else set()
    order = sorted(best, key=lambda r: (r not in first, r not in near, r in cleared, -rate[r]))
    yield from (best[r] for r in order)


def _only_rhythm(evidence: Sequence[Evidence]) -> bool:
    """Whether lamps light as they should and only flash otherwise: everybody thinks of the flasher unit first."""
    seen = [s for i in evidence if isinstance(i, Symptom) for s in i.seen if isinstance(s, LampSeen)]
    return all(s.words & {"normal", "bright"} and s.flash is not None for s in seen)


def _near(investigator: Investigator, evidence: Sequence[Evidence]) -> set[str]:
    """Repairs of what lies on the healthy current path of an odd lamp, or can make it light falsely."""
    elements: set[str] = set()
    false_light = False
    for symptom in evidence:
        assert isinstance(symptom, Symptom)
        healthy = investigator.predictor.healthy(symptom.state)
        for seen in symptom.seen:
            assert isinstance(seen, LampSeen)
            lit = healthy.flux[0, investigator.predictor.lamp_index[seen.lamp]] > -1
            false_light |= not lit
            states = [symptom.state] if lit else []
            for state in states:
                elements |= {x.name for x in path_of(investigator, state, seen.lamp)}
    out = {f.repair for f in investigator.faults if elements & set(f.elements)}
    if false_light:
        out |= {f.repair for f in investigator.faults if f.kind in _FALSE_LIGHT}
    return out


def path_of(investigator: Investigator, state: VehicleState, lamp: str) -> tuple[Branch, ...]:
    """The current path of a lamp on the circuit diagram, from the battery's live pole to the body."""
    predictor, harness = investigator.predictor, investigator.harness
    found = flow(predictor, predictor.setup(state), NO_CHANGE)
    path = path_through(found, harness.lamp(lamp), predictor)
    if harness.positive_earth:  # the current comes from the body
        path = tuple(replace(x, a=x.b, b=x.a) for x in reversed(path))
    return path


# --- half-splitting


def half_splitting(investigator: Investigator, vehicle: SpiceVehicle, ledger: Ledger,
                   evidence: list[Evidence]) -> None:
    """A meter and the circuit diagram: for each lamp that does not light as it should, the voltage at the
    middle of its path from battery to body, then at the middle of the half that is left, until one part,
    wire or joint is left between a good point and a bad one. On the feed side a point is good within a
    tenth of the battery's voltage (which he is told), on the earth side below a twenty-fifth of it. If
    the lamp and its holder are left he takes the lamp out and measures it. Then he mends what is left,
    commonest first, and looks. Where no lamp is dark or dim, or the path did not hold the fault, he
    renews by experience, sparing what he has measured to be good."""
    cleared: set[str] = set()
    paths: dict[str, tuple[VehicleState, tuple[Branch, ...]]] = {}
    for symptom in evidence:
        assert isinstance(symptom, Symptom)
        for seen in symptom.seen:
            assert isinstance(seen, LampSeen)
            path = path_of(investigator, symptom.state, seen.lamp)
            if path:
                paths.setdefault(seen.lamp, (symptom.state, path))
    for _lamp, (state, path) in [] if _only_rhythm(evidence) else list(paths.items())[:2]:
        left = _bracket(vehicle, ledger, state, path)
        names = {x.name for x in left}
        cleared |= {
            f.repair for f in investigator.faults
            if {x.name for x in path} & set(f.elements) and not names & set(f.elements)
        }
        filament = next((x.device for x in left if isinstance(x.device, Filament)), None)
        own = sorted((f for f in investigator.faults if names & set(f.elements)), key=lambda f: -f.rate)
        if filament is not None:
            out = (Intervention("take out lamp", filament.bulb),)
            shown = ledger.test(Test("ohms", state, filament.a, filament.b, done=out), vehicle)
            lamp_bad = shown == "open"
            own.sort(key=lambda f: (f.repair == f"new lamp: {filament.bulb}") != lamp_bad)
        for fault in _first_of_each(own):
            if len(ledger.wrong) < 6 and ledger.repair([fault], vehicle):
                return
    tried = set(ledger.wrong)
    for fault in _by_rate(investigator, evidence, frozenset(cleared)):
        if fault.repair not in tried and ledger.repair([fault], vehicle):
            return


def _first_of_each(faults: Iterable[Fault]) -> list[Fault]:
    found: dict[str, Fault] = {}
    for f in faults:
        found.setdefault(f.repair, f)
    return list(found.values())


def _bracket(
    vehicle: SpiceVehicle, ledger: Ledger, state: VehicleState, path: tuple[Branch, ...]
) -> tuple[Branch, ...]:
    """What is left of a path after half-splitting it."""
    harness = ledger.harness
    body = harness.reference
    middle = next(i for i, x in enumerate(path) if isinstance(x.device, Filament))
    low, high = 0, len(path)  # the fault lies in path[low:high]
    while high - low > 1:
        # Point k stands between path[k-1] and path[k]; points inside parts cannot be reached.
        points = [k for k in range(low + 1, high) if "/" not in path[k].a and path[k].a not in harness.bodies()]
        if not points:
            break
        k = min(points, key=lambda p: abs(p - (low + high) / 2))
        shown = ledger.test(Test("volts", state, path[k].a, body), vehicle)
        volts = abs(float(shown.split()[0])) if shown[0] in "-0123456789" else 0.0
        good = volts > 0.9 * vehicle.emf if k <= middle else volts > 0.04 * vehicle.emf
        low, high = (k, high) if good else (low, k)
    return path[low:high]
