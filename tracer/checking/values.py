"""Values that can be read and yet cannot be right: a battery of another system, a relay that never moves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from tracer.checking.findings import Finding, Severity
from tracer.checking.scene import Rule, Scene
from tracer.checking.wiring_graph import batteries, behind_contact, reached
from tracer.circuit.flasher_rate import HEALTHY_PER_MIN
from tracer.harness.devices import FlasherContact, RelayContact, Resistor
from tracer.harness.model import VehicleState

# A lead-acid battery at rest is between flat (11.8 V of 12) and just charged (13 V); a maker's 12 V is 12.6.
_BATTERY_LEAST, _BATTERY_MOST = 0.85, 1.2


def battery_voltage(scene: Scene) -> Iterator[Finding]:
    """One battery of a voltage that the stated system does not have."""
    sources = batteries(scene.harness)
    if len(sources) != 1:  # of several, only their sum would mean something
        return
    share = sources[0].volts / scene.harness.system_v
    if not _BATTERY_LEAST <= share <= _BATTERY_MOST:
        part = scene.part_of[sources[0].name]
        yield Finding("battery voltage", "error",
                      f"{part.name} has {sources[0].volts:g} V in a {scene.harness.system_v:g} V system",
                      "at rest it has 1.05 times the system's voltage; correct it, or the line “system”", part.mark)


def relay_voltages(scene: Scene) -> Iterator[Finding]:
    """A relay that lets go above the voltage at which it pulls in, or that no battery can move."""
    most = max([scene.harness.system_v, *(s.emf(True) for s in batteries(scene.harness))])
    for part in scene.harness.parts.values():
        contact = next((d for d in part.devices if isinstance(d, RelayContact)), None)
        if contact is None:
            continue
        if contact.drop_out_v >= contact.pick_up_v:
            yield Finding("relay voltages", "error",
                          f"{part.name} lets go at {contact.drop_out_v:g} V and pulls in at {contact.pick_up_v:g} V",
                          "the drop-out voltage is the lower one", part.mark)
        elif contact.pick_up_v > most:
            yield Finding("relay voltages", "error",
                          f"{part.name} pulls in at {contact.pick_up_v:g} V, more than the vehicle has",
                          "usual is 0.6 of the system's voltage", part.mark)


def resistor_overloaded(scene: Scene) -> Iterator[Finding]:
    """A resistor that turns more into heat than it is said to bear."""
    if not scene.seen:
        return
    index = scene.survey.predictor.circuit.branch_index
    for part in scene.harness.parts.values():
        bears = part.settings.get("power")
        ohmic = next((d for d in part.devices if isinstance(d, Resistor) and d.role == "resistor"), None)
        if bears is None or ohmic is None:
            continue
        most = max(scene.seen, key=lambda h: float(np.abs(h.amps[:, index[ohmic.name]]).max()))
        watts = float(np.abs(most.amps[:, index[ohmic.name]]).max()) ** 2 * ohmic.ohm
        if watts > 1.05 * bears:
            yield Finding("resistor overloaded", "warning",
                          f"{part.name} turns {watts:.1f} W into heat and bears {bears:g} W "
                          f"({scene.harness.say_state(most.state)})",
                          "check its resistance and its watts", part.mark)


def flasher_rate(scene: Scene) -> Iterator[Finding]:
    """A flasher unit that does not flash 60 to 120 times a minute on the healthy vehicle (UN R6, R48)."""
    predictor = scene.survey.predictor
    units = [p for p in scene.harness.parts.values() if any(isinstance(d, FlasherContact) for d in p.devices)]
    if len(units) != 1:
        return
    low, high = HEALTHY_PER_MIN
    at_rest = {name: control.positions[0] for name, control in scene.harness.controls.items()}
    right: list[set[tuple[str, str]]] = []
    for h in sorted(scene.seen, key=lambda h: len(_moved(h.state, at_rest))):
        panel = predictor.healthy(h.state)
        rate, moved = float(panel.per_min[0]), _moved(h.state, at_rest)
        if low <= rate <= high:
            right.append(moved)
        # Where a further control feeds the same lamps as well, the flasher unit has less to carry.
        if np.isnan(rate) or low <= rate <= high or any(less < moved for less in right):
            continue
        if rate == 0 and not scene.lone and not any(s.blown for s in scene.seen):
            return  # said under “indicators do not flash”, with the lamps
        how = "holds its lamps steady" if rate == 0 else f"flashes {rate:.0f} times a minute"
        yield Finding("flasher rate", "warning",
                      f"{units[0].name} {how} on the healthy vehicle: {100 * panel.load[0]:.0f} % of its load "
                      f"({scene.harness.say_state(h.state)})",
                      "set “load” to the watts of one side's lamps; LED lamps need an electronic unit made for them",
                      units[0].mark)
        return


def _moved(state: VehicleState, at_rest: Mapping[str, str]) -> set[tuple[str, str]]:
    return {(control, position) for control, position in state.positions if position != at_rest[control]}


def relays_in_a_ring(scene: Scene) -> Iterator[Finding]:
    """Relays whose contacts feed each other's coils."""
    relays = {
        p.name: ([d for d in p.devices if isinstance(d, RelayContact)], p.coils[0])
        for p in scene.harness.parts.values() if p.coils
    }
    contacts = frozenset(c.name for found, _ in relays.values() for c in found)
    alone = reached(scene.graph, scene.live, without=contacts) if scene.live else frozenset()
    makes_of: dict[tuple[str, str], bool] = {}  # relay, the one whose coil it feeds → by closing?
    for name, (found, _) in relays.items():
        for contact in found:
            at = behind_contact(contact, alone)
            behind = reached(scene.graph, at, without=contacts)
            if at in scene.from_earth:
                continue
            for other, (_, coil) in relays.items():
                if other != name and ({coil.a, coil.b} - scene.from_earth) & behind:
                    makes_of[name, other] = makes_of.get((name, other), True) and contact.makes
    if not makes_of:
        return
    import networkx as nx  # slow to import, and few vehicles have such relays

    for ring in nx.simple_cycles(nx.DiGraph(list(makes_of))):
        makes = all(makes_of[a, b] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))
        fed = any({relays[r][1].a, relays[r][1].b} & alone - scene.from_earth for r in ring)
        severity: Severity = "warning"
        if not makes:
            what = "one of them may buzz"
        elif not fed:
            what = "none of them ever pulls in"
        else:
            what, severity = "once pulled in they hold each other", "note"
        names = " and ".join(sorted(ring))
        yield Finding("relays feed each other", severity, f"{names} feed each other's coils: {what}",
                      "feed one of the coils from the control", scene.harness.parts[min(ring)].mark)


RULES: tuple[Rule, ...] = (battery_voltage, relay_voltages, resistor_overloaded, flasher_rate, relays_in_a_ring)
