"""Rules about what the healthy harness does: which lamp lights, which fuse holds, what each wire carries."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import exp, log
from typing import Final

import numpy as np

from tracer.checking.findings import Finding
from tracer.checking.scene import Rule, Scene
from tracer.checking.survey import Healthy
from tracer.harness.devices import Conductor, Dimmer, FuseLink, Resistor, SwitchContact
from tracer.harness.lighting_states import lighting_states
from tracer.harness.model import Control, Part, VehicleState, Wire
from tracer.harness.node import terminal_at
from tracer.standards.fuses import blows_at

# Continuous current of single PVC conductors at 50 °C by cross-section in mm² (automotive handbook; memory,
# not confirmed by reading), so a loose rule that only warns. Between and below the rows a power of the section.
AMPACITY_50_C: Final = {
    1.0: 13.5, 1.5: 17.0, 2.5: 22.7, 4.0: 29.8, 6.0: 38.3, 10.0: 51.8, 16.0: 69.6, 25.0: 91.6, 35.0: 112.0,
    50.0: 140.0,
}


# A fuse's rating may be so much above what its wires bear at 50 °C: makers' lists have 0.5 mm² behind 10 A and
# 1 mm² behind 15 A (common practice, no source), and to tell that of a list copied rightly helps nobody.
PROTECTED_AT: Final = 1.15


def ampacity(section_mm2: float) -> float:
    """Continuous current in A that a conductor bears at 50 °C."""
    rows = list(AMPACITY_50_C.items())
    (s0, i0), (s1, i1) = next((p for p in pairwise(rows) if section_mm2 <= p[1][0]), (rows[-2], rows[-1]))
    return i0 * exp(log(section_mm2 / s0) * log(i1 / i0) / log(s1 / s0))


def not_solved(scene: Scene) -> Iterator[Finding]:
    """A state whose solution cannot be used, or in which a relay finds no rest."""
    bad = next((h for h in scene.seen if not h.usable), None)
    if bad:
        state = scene.harness.say_state(bad.state)
        yield Finding("not solved", "warning", f"the circuit could not be solved ({state})",
                      "look for values far from what the trade uses")
    buzzing = next((h for h in scene.seen if h.buzzing), None)
    if buzzing:
        predictor = scene.survey.predictor
        found = np.flatnonzero(predictor.healthy(buzzing.state).restless[0])
        relay = scene.harness.parts[predictor.relays[found[0]]] if len(found) else None
        name, state = relay.name if relay else "a relay", scene.harness.say_state(buzzing.state)
        yield Finding("relay buzzes", "warning", f"{name} finds no rest ({state})",
                      "its contact takes its own coil's feed away", relay.mark if relay else None)


def lamp_never_lit(scene: Scene) -> Iterator[Finding]:
    """A lamp that no state lights, or none fully. What a graph rule has reported already is left to it."""
    if not scene.seen:
        return
    idle = set(scene.survey.idle(scene.seen))
    for part in scene.harness.parts.values():
        for lamp in part.lamps:
            if lamp.lamp not in idle or not _wired(scene, part.name, lamp.lamp, lamp.a, lamp.b):
                continue
            looks = {h.looks[lamp.lamp] for h in scene.seen}
            brightest = next((w for w in ("dim", "faint") if any(k.startswith(w) for k in looks)), "")
            if brightest:
                yield Finding("lamp never bright", "warning", f"{lamp.lamp} is never more than {brightest}",
                              "is it wired in series with something, or over a very long thin wire?", part.mark)
            else:
                yield Finding("lamp never lit", "error", f"no vehicle state lights {lamp.lamp}",
                              "check the positions of the contacts between it and its fuse", part.mark)


def _wired(scene: Scene, part: str, lamp: str, a: str, b: str) -> bool:
    """Whether it has feed and earth, so that no other rule tells why it stays dark."""
    fed = a in scene.from_live or b in scene.from_live
    earthed = a in scene.from_earth or b in scene.from_earth or (a in scene.from_live and b in scene.from_live)
    return fed and earthed and not any(n.startswith(f"{part}.") and n in scene.lone for n in (
        terminal_at(part, "earth"), f"{part}.{lamp.removeprefix(part).strip() or 'feed'}"))


def lamp_always_lit(scene: Scene) -> Iterator[Finding]:
    """A lamp that no control puts out: a switch was passed by."""
    if len(scene.seen) < 2 or any(h.blown for h in scene.seen):
        return
    for part in scene.harness.parts.values():
        for lamp in part.lamps:
            if not any(h.looks[lamp.lamp].startswith(("dark", "faint")) for h in scene.seen):
                yield Finding("lamp always lit", "warning", f"{lamp.lamp} is lit in every vehicle state",
                              "a wire passes its switch by, or the switch itself is missing", part.mark)


def load_never_fed(scene: Scene) -> Iterator[Finding]:
    """A load or a coil without current in every state."""
    if not scene.seen or any(h.blown for h in scene.seen):
        return  # behind a blown fuse nothing is fed, and that is reported
    idle = set(scene.survey.idle(scene.seen))
    for part in scene.harness.parts.values():
        for d in part.devices:
            if isinstance(d, Resistor) and d.name in idle:
                what = f"the coil of {part.name}" if d.works_contacts else part.name
                yield Finding("load never fed", "warning", f"{what} is never fed",
                              "check the contacts on its feed and its way to earth", part.mark)


def control_without_effect(scene: Scene) -> Iterator[Finding]:
    """A control that no switch belongs to, or whose positions make no difference to any current."""
    used = {d.control for d in scene.harness.devices() if isinstance(d, (SwitchContact, Dimmer))}
    by_rest: dict[tuple[str, tuple[tuple[str, str], ...]], list[Healthy]] = {}
    for h in scene.seen:
        for control in used:
            rest = tuple(cp for cp in h.state.positions if cp[0] != control)
            by_rest.setdefault((control, rest), []).append(h)
    working = {c for (c, _), group in by_rest.items() if _differ(group)}
    for c in scene.harness.controls.values():
        if c.name not in used:
            yield Finding("control without effect", "warning", f"no switch is moved by the control “{c.name}”",
                          f"give a switch “control: {c.name}”, or leave the control out", c.mark)
        elif scene.seen and c.name not in working and not _explained(scene, c.name) and not _works_late(scene, c):
            yield Finding("control without effect", "warning",
                          f"the control “{c.name}” makes no difference to any consumer",
                          "check the contacts and the wires of its switch", c.mark)


def _works_late(scene: Scene, control: Control) -> bool:
    """Whether a control matters only once others have lit a lamp: a cut-out behind a switch behind the headlamps."""
    for state in lighting_states(scene.harness):
        moved = [tuple((c, p if c == control.name else q) for c, q in state.positions) for p in control.positions]
        if _differ([scene.survey.at(VehicleState(m, state.engine_running)) for m in moved]):
            return True
    return False


def _explained(scene: Scene, control: str) -> bool:
    """Whether a missing wire behind the control's switch was reported already."""
    own = [d for d in scene.harness.devices() if isinstance(d, SwitchContact) and d.control == control]
    names = [d.name for d in own]
    return any(scene.explained(node, names) for d in own for node in (d.a, d.b))


def _differ(group: list[Healthy]) -> bool:
    """Whether the consumers' currents differ between the states of a group."""
    first = group[0]
    for h in group[1:]:
        if h.blown != first.blown:
            return True
        # Whatever is not a lamp shows in the currents of the wires that feed it.
        for one, two, least in ((h.port_amps, first.port_amps, 1e-3), (h.amps, first.amps, 5e-3)):
            if np.abs(np.abs(one).max(axis=0) - np.abs(two).max(axis=0)).max(initial=0.0) > least:
                return True
    return False


def fuse_too_small(scene: Scene) -> Iterator[Finding]:
    """A fuse that blows in a healthy state, or carries more than is printed on it."""
    if not scene.seen:
        return
    index = scene.survey.predictor.circuit.branch_index
    for part in scene.harness.parts.values():
        link = next((d for d in part.devices if isinstance(d, FuseLink)), None)
        if link is None:
            continue
        blown = next((h for h in scene.seen if part.name in h.blown), None)
        if blown:
            yield Finding("fuse blows", "error",
                          f"{part.name} ({link.rating_a:g} A) blows on the healthy vehicle "
                          f"({scene.harness.say_state(blown.state)})",
                          "check its rating, the lamps behind it, and that no wire behind it ends at an earth",
                          part.mark)
            continue
        most = max(scene.seen, key=lambda h: float(np.abs(h.amps[:, index[link.name]]).max()))
        amps = float(np.abs(most.amps[:, index[link.name]]).max())
        if amps > link.carries_a:
            bears = f"is rated {link.rating_a:g} A"
            if link.carries_a < link.rating_a:
                bears = f"bears {link.carries_a:g} A: at the {link.rating_a:g} A printed on it, it blows"
            yield Finding("fuse overloaded", "warning",
                          f"{part.name} carries {amps:.1f} A and {bears} "
                          f"({scene.harness.say_state(most.state)})",
                          "fit the rating on paper; it blows above about "
                          f"{blows_at(link.kind) * link.rating_a:.1f} A",
                          part.mark)


def wire_too_thin(scene: Scene) -> Iterator[Finding]:
    """A wire that the nearest fuse on its way from the battery does not protect. Wires without a fuse are
    left alone: many older vehicles have them, and nothing says how thick is thick enough."""
    if not scene.seen or not scene.live:
        return
    protects: dict[str, FuseLink] = {}
    unfused: set[str] = set()
    for h in scene.seen:
        for name, fuse in _protection(scene, h):
            if fuse is None:
                unfused.add(name)
            elif name not in protects or protects[name].carries_a < fuse.carries_a:
                protects[name] = fuse
    behind: dict[str, list[tuple[Wire, FuseLink]]] = {}
    for wire in scene.harness.wires:
        fuses = [protects[s.name] for s in wire.segments if s.name in protects and s.name not in unfused]
        fuse = max(fuses, key=lambda f: f.carries_a, default=None)
        if fuse is not None and fuse.carries_a > PROTECTED_AT * ampacity(wire.section_mm2):
            behind.setdefault(fuse.name, []).append((wire, fuse))
    for name, thin in behind.items():
        yield from _thin_behind(scene.part_of[name], thin)


def _thin_behind(fuse: Part, thin: list[tuple[Wire, FuseLink]]) -> Iterator[Finding]:
    """Each thin wire by itself; where they are many, the fuse is what is wrong."""
    link = thin[0][1]
    rating = f"{link.rating_a:g} A"
    if link.carries_a < link.rating_a:
        rating += f" (which bears {link.carries_a:g} A for good)"
    if len(thin) > 3:
        wire = min((w for w, _ in thin), key=lambda w: w.section_mm2)
        yield Finding("wire too thin", "warning",
                      f"{fuse.name} of {rating} is too large for {len(thin)} wires behind it; the thinnest is "
                      f"{wire.name}, {_mm2(wire.section_mm2)}, good for about {ampacity(wire.section_mm2):.1f} A",
                      "a smaller fuse, or thicker wires", fuse.mark)
        return
    for wire, _ in thin:
        yield Finding("wire too thin", "warning",
                      f"wire {wire.name} ({_mm2(wire.section_mm2)}) bears about {ampacity(wire.section_mm2):.1f} A "
                      f"and is protected by {fuse.name} of {rating} only",
                      f"{_mm2(_thick_enough(link.carries_a))} or thicker, or a smaller fuse", wire.mark)


def wire_overloaded(scene: Scene) -> Iterator[Finding]:
    """A wire that carries more than it bears while all is well."""
    if not scene.seen or any(h.blown for h in scene.seen):
        return  # a blown fuse is reported, and the currents are not those of a healthy vehicle
    index = scene.survey.predictor.circuit.branch_index
    most = np.max([np.abs(h.amps).max(axis=0) for h in scene.seen], axis=0)
    for wire in scene.harness.wires:
        amps = max((float(most[index[s.name]]) for s in wire.segments), default=0.0)
        limit = ampacity(wire.section_mm2)
        if amps > limit:
            yield Finding("wire overloaded", "warning",
                          f"wire {wire.name} ({_mm2(wire.section_mm2)}) carries {amps:.1f} A and bears about "
                          f"{limit:.1f} A", f"{_mm2(_thick_enough(amps))} or thicker", wire.mark)


def _protection(scene: Scene, h: Healthy) -> set[tuple[str, FuseLink | None]]:
    """Conductors that live reaches in a state, each with the last fuse on the way (None: no fuse)."""
    index = scene.survey.predictor.circuit.branch_index
    start: tuple[str, FuseLink | None] = (scene.live, None)
    seen = {start}
    todo = [start]
    found: set[tuple[str, FuseLink | None]] = set()
    while todo:
        node, fuse = todo.pop()
        for other, d in scene.graph.get(node, ()):
            if d.name in index and not h.closed[index[d.name]]:
                continue
            behind = d if isinstance(d, FuseLink) else fuse
            if isinstance(d, Conductor):
                found.add((d.name, fuse))
            if (other, behind) not in seen:
                seen.add((other, behind))
                todo.append((other, behind))
    return found


def _thick_enough(amps: float) -> float:
    return next((s for s, i in AMPACITY_50_C.items() if i >= amps), 70.0)


def _mm2(section: float) -> str:
    return f"{section:.3g} mm²"


RULES: tuple[Rule, ...] = (
    not_solved, lamp_never_lit, lamp_always_lit, load_never_fed, control_without_effect, fuse_too_small,
    wire_too_thin, wire_overloaded,
)
