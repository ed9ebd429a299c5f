"""Every fault a harness can have, with base rate, repair and what it changes in the circuit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import networkx as nx

from tracer.base_rates import BRIDGE_OHM, JOINED_OHM, RATES, SEVERITIES, SHORT_OHM, WET_OHM
from tracer.circuit import OPEN_OHM, AddedBranch, Change
from tracer.devices import (
    Conductor,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness import Connector, Harness, Part


@dataclass(frozen=True)
class Variant:
    """One severity of a fault; `weight`s of a fault's variants sum to one."""

    weight: float
    change: Change
    says: str = ""


@dataclass(frozen=True)
class Fault:
    """One physical defect.

    Attributes:
        name: Unique, readable: "earth open: E3".
        kind: Key of `base_rates.RATES`.
        says: What is wrong, in words.
        repair: What one would do; faults with the same repair are counted together.
        repair_min: Minutes for the repair, access excluded.
        rate: Relative base rate.
        node: Where a probe or an eye goes first.
        across: The two terminals whose volt drop confirms it, if it has any.
    """

    name: str
    kind: str
    says: str
    repair: str
    repair_min: float
    rate: float
    variants: tuple[Variant, ...]
    node: str
    across: tuple[str, str] | None = None
    elements: tuple[str, ...] = ()


def list_faults(harness: Harness) -> tuple[Fault, ...]:
    """All single faults of the harness, in the order parts, joints, wires."""
    found: list[Fault] = []
    for part in harness.parts.values():
        found += _part_faults(part)
    for joint in harness.joints:
        found += _joint_faults(joint)
    for connector in harness.connectors.values():
        found += _connector_faults(harness, connector)
    for wire in harness.wires:
        for segment in wire.segments:
            found += _wire_faults(segment, harness)
    found += _changed_over(harness)
    found += _splice_faults(harness)
    found += _joined_wires(harness)
    scaled = []
    for fault in found:
        rate = harness.base_rates.get(fault.kind, fault.rate)
        scaled.append(fault if rate == fault.rate else replace(fault, rate=rate))
    return tuple(scaled)


def find_fault(faults: Sequence[Fault], name: str) -> Fault:
    """The fault called `name`, or the one whose number in the list it is (from 1).

    Raises:
        UnknownNameError: With the nearest names.
    """
    if name.isdigit() and 1 <= int(name) <= len(faults):
        return faults[int(name) - 1]
    wanted = name.casefold().replace("–", "-")
    for fault in faults:
        if fault.name.casefold().replace("–", "-") == wanted:
            return fault
    raise UnknownNameError(f"no fault “{name}”", did_you_mean(name, [f.name for f in faults]))


def _fault(
    kind: str, element: str, says: str, repair: str, variants: Sequence[Variant], node: str,
    across: tuple[str, str] | None = None, elements: tuple[str, ...] = (),
) -> Fault:
    rate = RATES[kind]
    return Fault(
        f"{kind}: {element}", kind, says, repair, rate.repair_min, rate.rate, tuple(variants), node, across,
        elements or (element,),
    )


def _opened(*names: str) -> tuple[Variant, ...]:
    return (Variant(1.0, Change(set_ohm=tuple((n, OPEN_OHM) for n in names)), "open"),)


def _resistive(*names: str) -> tuple[Variant, ...]:
    return tuple(
        Variant(w, Change(set_ohm=tuple((n, ohm) for n in names)), f"about {ohm:g} Ω") for ohm, w in SEVERITIES
    )


def _part_faults(part: Part) -> Iterator[Fault]:
    for d in part.devices:
        match d:
            case Filament():
                yield _fault("filament open", d.lamp, f"the {d.lamp} filament is broken", f"new lamp: {d.bulb}",
                             [Variant(1.0, Change(dead=(d.name,)))], d.a, (d.a, d.b), (d.name,))
            case Joint(kind="clip"):
                yield from _joint_pair("clip bad", None, d, f"the clip of {part.name} is corroded",
                                       f"clean the clips of {part.name}")
            case Joint(kind="holder") | Joint(kind="holder earth"):
                yield from _joint_pair("holder bad", "holder open", d, f"{d.name} makes poor contact",
                                       f"clean the holder of {_bulb_of(part, d)}")
            case Joint(kind="stud"):
                yield from _joint_pair("mounting bad", "mounting open", d, f"{d.name} makes poor contact",
                                       f"clean the mounting of {part.name}")
            case FuseLink():
                yield _fault("fuse blown", part.name, f"fuse {part.name} is blown (and something blew it)",
                             f"new fuse {part.name}", _opened(d.name), d.a, (d.a, d.b), (d.name,))
            case SwitchContact():
                repair = f"repair or renew {part.name}"
                yield _fault("switch never makes", d.name, f"contact {d.name} never makes", repair,
                             _opened(d.name), d.b, (d.a, d.b))
                yield _fault("switch bad", d.name, f"contact {d.name} is burnt", repair,
                             _resistive(d.name), d.b, (d.a, d.b))
                yield _fault("switch never breaks", d.name, f"contact {d.name} never opens", repair,
                             [Variant(1.0, Change(set_ohm=((d.name, d.ohm),)))], d.b, (d.a, d.b))
            case FlasherContact():
                yield _fault("flasher dead", part.name, f"{part.name} does not close", f"renew {part.name}",
                             _opened(d.name), d.b, (d.a, d.b), (d.name,))
                yield _fault("flasher stuck", part.name, f"{part.name} stays closed", f"renew {part.name}",
                             [Variant(1.0, Change(set_ohm=((d.name, d.ohm),)))], d.b, (d.a, d.b), (d.name,))
            case Resistor(role="coil"):
                yield _fault("relay coil open", part.name, f"the coil of {part.name} is open", f"renew {part.name}",
                             _opened(d.name), d.a, (d.a, d.b), (d.name,))
            case RelayContact():
                yield _fault("relay stuck open", d.name, f"contact {d.name} does not close", f"renew {part.name}",
                             _opened(d.name), d.b, (d.a, d.b))
                yield _fault("relay stuck closed", d.name, f"contact {d.name} is welded", f"renew {part.name}",
                             [Variant(1.0, Change(set_ohm=((d.name, d.ohm),)))], d.b, (d.a, d.b))
            case Diode():
                yield _fault("diode open", part.name, f"{part.name} is open", f"renew {part.name}",
                             [Variant(1.0, Change(dead=(d.name,)))], d.a, (d.a, d.b))
                yield _fault("diode short", part.name, f"{part.name} conducts both ways", f"renew {part.name}",
                             [Variant(1.0, Change(added=(AddedBranch(d.a, d.b, 0.05),)))], d.a, (d.a, d.b))
            case Resistor():
                yield _fault("load open", part.name, f"{part.name} is open", f"renew {part.name}",
                             _opened(d.name), d.a, (d.a, d.b), (d.name,))
            case Source():
                low = [Variant(0.6, Change(emf_factor=0.92), "tired"), Variant(0.4, Change(emf_factor=0.8), "flat")]
                yield _fault("battery low", part.name, f"{part.name} is low", f"charge or renew {part.name}",
                             low, d.plus, (d.plus, d.minus))
    yield from _bulb_faults(part)


def _bulb_of(part: Part, joint: Joint) -> str:
    return next((f.bulb for f in part.lamps if joint.name in f.holder), part.name)


def _bulb_faults(part: Part) -> Iterator[Fault]:
    bulbs: dict[str, list[Filament]] = {}
    for f in part.lamps:
        bulbs.setdefault(f.bulb, []).append(f)
    for bulb, filaments in bulbs.items():
        repair = f"new lamp: {bulb}"
        for one, two in combinations(filaments, 2):
            bridged = [
                Variant(w, Change(added=(AddedBranch(one.a, two.a, ohm, bulb),))) for ohm, w in BRIDGE_OHM
            ]
            yield _fault("filaments bridged", bulb, f"the filaments of {bulb} touch inside the glass", repair,
                         bridged, one.a, None, tuple(f.name for f in filaments))
        if len(filaments) == 1 and filaments[0].law.watts in (5.0, 21.0):
            f = filaments[0]
            other = 5 / 25 if f.law.watts == 21 else 25 / 5
            says = f"{bulb} is a {5 if f.law.watts == 21 else 21} W lamp where {f.law.watts:g} W belongs"
            yield _fault("wrong lamp", bulb, says, repair, [Variant(1.0, Change(scaled=((f.name, other),)))],
                         f.a, None, (f.name,))


def _joint_pair(bad: str, opened: str | None, d: Joint, says: str, repair: str) -> Iterator[Fault]:
    yield _fault(bad, d.name, says, repair, _resistive(d.name), d.a, (d.a, d.b))
    if opened:
        yield _fault(opened, d.name, says.replace("makes poor contact", "is open").replace("is corroded", "is open"),
                     repair, _opened(d.name), d.a, (d.a, d.b))


def _joint_faults(d: Joint) -> Iterator[Fault]:
    if d.kind == "earth":
        yield from _joint_pair("earth bad", "earth open", d, f"earth point {d.a} makes poor contact",
                               f"clean and remake earth point {d.a}")
    elif d.kind == "way":
        yield from _joint_pair("way bad", "way open", d, f"way {d.a} makes poor contact", f"clean or renew way {d.a}")


def _wire_faults(d: Conductor, harness: Harness) -> Iterator[Fault]:
    # Which half of a way a wire sits in follows from its other end; people do not read primes.
    span = f"{d.a} – {d.b}".replace("'", "")
    wire = f"{d.colour} wire".strip()
    repair = f"repair the {wire} {span}"
    where = d.a
    yield _fault("wire open", span, f"the {wire} {span} is broken", repair, _opened(d.name), where, (d.a, d.b),
                 (d.name,))
    yield _fault("wire bad", span, f"the {wire} {span} is corroded or hangs by a few strands", repair,
                 _resistive(d.name), where, (d.a, d.b), (d.name,))
    if not (d.a in harness.earths or d.b in harness.earths):
        body = harness.bodies()[0]
        if any(e.body for e in harness.earths.values()):
            shorts = [Variant(w, Change(added=(AddedBranch(d.a, body, ohm),))) for ohm, w in SHORT_OHM]
            yield _fault("wire to body", span, f"the {wire} {span} is rubbed through to the body", repair, shorts,
                         where, None, (d.name,))


def connector_halves(harness: Harness, connector: Connector) -> dict[int, bool]:
    """For each way: does its primed node belong to the same half as that of the first way?

    A harness lists an earth wire from the lamp and a feed wire from the fuse, so the side at which
    a conductor "arrives" is not one half of the plug. Ways whose ends meet elsewhere in the wiring
    (through the lamps of one unit, say) tell which ends lie together; where nothing tells, the
    direction as written stands.
    """
    graph = nx.Graph()
    bodies = set(harness.bodies())
    own = {f"{connector.name}.{w}" for w in range(1, connector.ways + 1)}
    for d in harness.devices():
        ends = (d.plus, d.minus) if isinstance(d, Source) else (d.a, d.b)
        if bodies & set(ends) or (isinstance(d, Joint) and d.kind == "way" and d.a in own):
            continue
        graph.add_edge(*ends)
    label: dict[str, int] = {}
    for i, component in enumerate(nx.connected_components(graph)):
        label.update(dict.fromkeys(component, i))
    used = [w for w in range(1, connector.ways + 1) if f"{connector.name}.{w}" in label]
    same: dict[int, bool] = {}
    for way in used:
        a, b = label.get(f"{connector.name}.{way}", -1), label.get(f"{connector.name}.{way}'", -2)
        votes = 0
        for other, other_same in same.items():
            oa, ob = label.get(f"{connector.name}.{other}", -3), label.get(f"{connector.name}.{other}'", -4)
            straight, turned = (a == oa) + (b == ob), (a == ob) + (b == oa)
            votes += (straight - turned) * (1 if other_same else -1)
        same[way] = votes >= 0
    return same


def _connector_faults(harness: Harness, connector: Connector) -> Iterator[Fault]:
    halves = connector_halves(harness, connector)
    for i, j in connector.neighbours():
        if i not in halves or j not in halves:
            continue
        ai, bi = f"{connector.name}.{i}", f"{connector.name}.{i}'"
        aj, bj = f"{connector.name}.{j}", f"{connector.name}.{j}'"
        if halves[i] != halves[j]:
            aj, bj = bj, aj
        names = (f"{connector.name} way {i}", f"{connector.name} way {j}")
        tag = f"{connector.name} ways {i} and {j}"
        crossed = Change(
            set_ohm=tuple((n, OPEN_OHM) for n in names),
            added=(AddedBranch(ai, bj, 0.003, connector.name), AddedBranch(aj, bi, 0.003, connector.name)),
        )
        yield _fault("ways crossed", tag, f"ways {i} and {j} of {connector.name} are changed over",
                     f"change ways {i} and {j} of {connector.name} back", [Variant(1.0, crossed)], ai, None, names)
        wet = [Variant(w, Change(added=(AddedBranch(ai, aj, ohm, connector.name),)), f"about {ohm:g} Ω")
               for ohm, w in WET_OHM]
        yield _fault("ways joined", tag, f"ways {i} and {j} of {connector.name} are joined (water, corrosion)",
                     f"dry and clean {connector.name}", wet, ai, None, names)


def _changed_over(harness: Harness) -> Iterator[Fault]:
    """Two wires put on each other's terminals at a part, after a repair."""
    for part in harness.parts.values():
        if part.kind not in ("lamp unit", "switch", "flasher unit", "relay"):
            continue
        nodes = {f"{part.name}.{t}": t for t in part.terminals}
        ends: dict[str, list[Conductor]] = {}
        for wire in harness.wires:
            for s in wire.segments:
                for node in (s.a, s.b):
                    if node in nodes:
                        ends.setdefault(node, []).append(s)
        single = [(n, s[0]) for n, s in ends.items() if len(s) == 1]
        for (n1, s1), (n2, s2) in combinations(single, 2):
            if "earth" in (nodes[n1], nodes[n2]) or s1.name == s2.name:
                continue
            far1, far2 = (s.b if s.a == n else s.a for n, s in ((n1, s1), (n2, s2)))
            change = Change(
                set_ohm=((s1.name, OPEN_OHM), (s2.name, OPEN_OHM)),
                added=(AddedBranch(far1, n2, s1.ohm), AddedBranch(far2, n1, s2.ohm)),
            )
            pair = f"{nodes[n1]} and {nodes[n2]}"
            yield _fault("wires changed over", f"{part.name} {pair}",
                         f"the wires on {pair} of {part.name} are changed over",
                         f"change the wires {pair} at {part.name} back", [Variant(1.0, change)], n1, None,
                         (s1.name, s2.name))


def _splice_faults(harness: Harness) -> Iterator[Fault]:
    for splice in harness.splices:
        legs = tuple(s.name for w in harness.wires for s in w.segments if splice in (s.a, s.b))
        if len(legs) > 1:
            repair = f"remake splice {splice}"
            yield _fault("splice open", splice, f"splice {splice} has come apart", repair, _opened(*legs), splice,
                         None, legs)
            yield _fault("splice bad", splice, f"splice {splice} is corroded", repair, _resistive(*legs), splice,
                         None, legs)


def _joined_wires(harness: Harness) -> Iterator[Fault]:
    """Wires that run side by side: same loom, and both leave from or arrive at one place."""
    segments = [s for w in harness.wires for s in w.segments if s.loom]

    def owners(s: Conductor) -> set[str]:
        return {n.rstrip("'").rsplit(".", 1)[0] for n in (s.a, s.b)}

    for one, two in combinations(segments, 2):
        if one.loom != two.loom or not owners(one) & owners(two) or {one.a, one.b} & {two.a, two.b}:
            continue
        if any(n in harness.earths for n in (one.a, one.b, two.a, two.b)):
            continue
        joined = [Variant(w, Change(added=(AddedBranch(one.b, two.b, ohm),)), f"about {ohm:g} Ω")
                  for ohm, w in JOINED_OHM]
        tag = f"{one.a} – {one.b} and {two.a} – {two.b}".replace("'", "")
        # Where along the loom they touch is found by opening it: one repair for all runs of two colours.
        both = " and ".join(sorted({one.colour, two.colour})) if one.colour and two.colour else ""
        repair = f"part and repair the {both} wires in the {one.loom} loom" if both else f"part and repair {tag}"
        yield _fault("wires joined", tag, f"the wires {tag} are rubbed or melted together",
                     repair, joined, one.b, None, (one.name, two.name))
