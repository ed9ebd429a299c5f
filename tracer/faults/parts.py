"""Faults inside parts: lamps' holders, fuses, switches, relays, flasher units, diodes, loads, the battery."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from tracer.circuit.model import AddedBranch, Change
from tracer.faults.making import Fault, Graded, Scale, Variant, fault, leak, opened, resistive, sure
from tracer.harness.base_rates import (
    BATTERY_INSIDE,
    BATTERY_LEFT,
    CLAMP_OHM,
    OTHER_FLASHER_LOAD,
    OUTPUT_OHM,
    SWITCH_LEAK_OHM,
)
from tracer.harness.devices import (
    Dimmer,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    LedLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.inspectable import is_linked
from tracer.harness.model import Control, Harness, Part
from tracer.harness.node import terminal_at

_SHORTED_COIL_OHM = 1.0  # turns burnt together: the coil no longer limits the current
_STALLED = 0.2  # resistance of a motor that stands still, as a share of what it shows running
_TOO_SMALL = 0.5  # a fuse of half the rating: the next but one size down


def part_faults(part: Part, harness: Harness) -> Iterator[Fault]:
    """Everything that can be wrong inside one part, lamps themselves excepted."""
    for d in part.devices:
        match d:
            case Filament():
                dead = "LED lamp is dead" if isinstance(d.law, LedLaw) else "filament is broken"
                yield fault("filament open", d.lamp, f"the {d.lamp} {dead}", f"new lamp: {d.bulb}",
                            sure(Change(dead=(d.name,))), d.a, (d.a, d.b), (d.name,))
            case Joint(kind="clip"):
                yield from joint_pair("clip bad", "clip open", d, f"the clip of {part.name} is corroded",
                                      f"clean the clips of {part.name}")
            case Joint(kind="holder") | Joint(kind="holder earth"):
                yield from joint_pair("holder bad", "holder open", d, f"{d.name} makes poor contact",
                                      f"clean the holder of {_bulb_of(part, d)}")
            case Joint(kind="winding"):
                yield _renew("flasher dead", part, d, "is burnt through")
            case Joint(kind="stud"):
                yield from joint_pair("mounting bad", "mounting open", d, f"{d.name} makes poor contact",
                                      f"clean the mounting of {part.name}")
            case FuseLink():
                yield from _fuse_faults(part, d)
            case SwitchContact():
                yield from _contact_faults(part, d, harness.controls[d.control])
            case FlasherContact():
                yield from _flasher_faults(part, d)
            case Resistor(role="coil" | "input") | RelayContact() if part.flashes:
                yield _renew("flasher dead", part, d, "is dead")
            case Resistor(role="input"):
                yield fault("unit input dead", d.name, f"{d.name} does not sense its feed", f"renew {part.name}",
                            opened(d.name), d.a, None, (d.name,))
            case RelayContact() if _electronic(part, d):
                yield from _output_faults(part, d)
            case Resistor(role="coil"):
                yield from _coil_faults(part, d)
            case RelayContact():
                yield from _relay_contact_faults(part, d)
            case Diode():
                yield from _diode_faults(part, d)
            case Dimmer():
                repair = f"clean or renew {part.name}"
                yield fault("dimmer open", part.name, f"the track of {part.name} is broken", repair, opened(d.name),
                            d.a, (d.a, d.b), (d.name,))
                yield fault("dimmer bad", part.name, f"the wiper of {part.name} makes poor contact", repair,
                            resistive(d.name), d.a, (d.a, d.b), (d.name,))
            case Resistor():
                yield from _load_faults(part, d)
            case Source():
                yield from _supply_faults(part, d, harness)
    yield from _whole_part_faults(part)
    yield from _terminal_faults(part, harness)


def _renew(kind: str, part: Part, d: Joint | Resistor | RelayContact, what: str) -> Fault:
    return fault(kind, d.name, f"{d.name} {what}", f"renew {part.name}", opened(d.name), d.b, (d.a, d.b))


def joint_pair(bad: str, open_kind: str | None, d: Joint, says: str, repair: str) -> Iterator[Fault]:
    """High resistance in a joint, and the joint open."""
    yield fault(bad, d.name, says, repair, resistive(d.name), d.a, (d.a, d.b))
    if open_kind:
        said = says.replace("makes poor contact", "is open").replace("is corroded", "is open")
        yield fault(open_kind, d.name, said, repair, opened(d.name), d.a, (d.a, d.b))


def _bulb_of(part: Part, joint: Joint) -> str:
    return next((f.bulb for f in part.lamps if joint.name in f.holder), part.name)


def _fuse_faults(part: Part, d: FuseLink) -> Iterator[Fault]:
    repair = f"new fuse {part.name}"
    yield fault("fuse blown", part.name, f"fuse {part.name} is blown (and something blew it)", repair,
                opened(d.name), d.a, (d.a, d.b), (d.name,))
    small = Change(ratings=((d.name, _TOO_SMALL),))
    yield fault("wrong fuse", part.name, f"fuse {part.name} is rated at half of what belongs there", repair,
                sure(small), d.a, (d.a, d.b), (d.name,))


def _contact_faults(part: Part, d: SwitchContact, control: Control) -> Iterator[Fault]:
    repair = f"repair or renew {part.name}"
    closed = Change(set_ohm=((d.name, d.ohm),))
    yield fault("switch never makes", d.name, f"contact {d.name} never makes", repair, opened(d.name), d.b,
                (d.a, d.b))
    yield fault("switch bad", d.name, f"contact {d.name} is burnt", repair, resistive(d.name), d.b, (d.a, d.b))
    yield fault("switch never breaks", d.name, f"contact {d.name} never opens", repair, sure(closed), d.b,
                (d.a, d.b))
    wrong = misplaced(d.closed_in, control)
    linked = is_linked(part, control)
    yield fault("switch leaking", d.name, f"contact {d.name} leaks when it is open (wet, dirty, burnt)", repair,
                leak(d.a, d.b, SWITCH_LEAK_OHM), d.b, (d.a, d.b), (d.name,))
    if wrong and (linked or len(control.positions) > 2):
        variants = [
            Variant(1 / len(wrong), Change(contacts=((d.name, where),)), f"closes {_when(where, control)}")
            for where in wrong
        ]
        yield fault("switch out of adjustment", d.name, f"{part.name} is out of adjustment: contact {d.name}",
                    f"adjust {part.name}" if linked else repair, variants, d.b, (d.a, d.b), (d.name,),
                    None if linked else 20.0)


def misplaced(closed_in: frozenset[str], control: Control) -> list[frozenset[str]]:
    """Sets of positions in which a contact may close when its switch has shifted by one position: one more
    at either end of its run, or one fewer."""
    order = list(control.positions)
    if {"left", "right"} <= set(order[1:]) and len(order) == 3:  # a stalk rests in the middle
        order = [order[1], order[0], order[2]]
    inside = [p in closed_in for p in order]
    found = []
    for i in range(len(order) - 1):
        if inside[i] != inside[i + 1]:  # an edge, which may stand one position to either side
            found += [closed_in ^ {order[i]}, closed_in ^ {order[i + 1]}]
    return list(dict.fromkeys(frozenset(f) for f in found))


def _when(where: frozenset[str], control: Control) -> str:
    return "in " + " and ".join(p for p in control.positions if p in where) if where else "in no position"


def _flasher_faults(part: Part, d: FlasherContact) -> Iterator[Fault]:
    repair = f"renew {part.name}"
    yield fault("flasher dead", part.name, f"{part.name} does not close", repair, opened(d.name), d.b,
                (d.a, d.b), (d.name,))
    yield fault("flasher stuck", part.name, f"{part.name} stays closed", repair,
                sure(Change(set_ohm=((d.name, d.ohm),))), d.b, (d.a, d.b), (d.name,))
    other = [
        Variant(w, Change(flasher_load=f), f"made for {'more' if f > 1 else 'fewer'} lamps")
        for f, w in OTHER_FLASHER_LOAD
    ]
    yield fault("wrong flasher", part.name, f"{part.name} is of a type for another load", repair, other, d.b, None,
                (d.name,))
    yield fault("flasher bad", part.name, f"the contact of {part.name} is burnt", repair, resistive(d.name), d.b,
                (d.a, d.b), (d.name,))


def _electronic(part: Part, contact: RelayContact) -> bool:
    """Whether no coil moves the contact: it is an output of electronics."""
    return any(isinstance(d, Resistor) and d.name == contact.coil and d.role == "input" for d in part.devices)


def _plugs_in(part: Part, contact: RelayContact) -> bool:
    """Whether the contact joins two terminals, so that a part of another type in the same socket turns it round."""
    own = {terminal_at(part.name, t) for t in part.terminals}
    return {contact.a, contact.b} <= own


def _for(part: Part, made: Fault) -> Fault:
    """What the repair of a coil and its contacts needs is the part that they are in."""
    return replace(made, needs=made.needs.replace("the relay", f"the {part.kind}"))


def _coil_faults(part: Part, d: Resistor) -> Iterator[Fault]:
    """Of any coil, whatever it moves; where a part has several, each goes by its own name."""
    alone = sum(isinstance(o, Resistor) and o.role == "coil" for o in part.devices) == 1
    called, says = (part.name, f"the coil of {part.name}") if alone else (d.name, d.name)
    repair = f"renew {part.name}"
    yield _for(part, fault("relay coil open", called, f"{says} is open", repair, opened(d.name), d.a, (d.a, d.b),
                           (d.name,)))
    shorted = Change(set_ohm=((d.name, _SHORTED_COIL_OHM),))
    yield _for(part, fault("relay coil shorted", called, f"{says} is shorted", repair, sure(shorted), d.a,
                           (d.a, d.b), (d.name,)))


def _relay_contact_faults(part: Part, d: RelayContact) -> Iterator[Fault]:
    repair = f"renew {part.name}"
    yield _for(part, fault("relay stuck open", d.name, f"contact {d.name} does not close", repair, opened(d.name),
                           d.b, (d.a, d.b)))
    yield _for(part, fault("relay stuck closed", d.name, f"contact {d.name} is welded", repair,
                           sure(Change(set_ohm=((d.name, d.ohm),))), d.b, (d.a, d.b)))
    yield _for(part, fault("relay bad", d.name, f"contact {d.name} is burnt", repair, resistive(d.name), d.b,
                           (d.a, d.b)))


def _output_faults(part: Part, d: RelayContact) -> Iterator[Fault]:
    """One output of an electronic unit: burnt out, shorted through, or weak."""
    repair = f"renew {part.name}"
    yield fault("unit output dead", d.name, f"{d.name} does not switch on", repair, opened(d.name), d.b, (d.a, d.b))
    yield fault("unit output stuck on", d.name, f"{d.name} is on all the time", repair,
                sure(Change(set_ohm=((d.name, d.ohm),))), d.b, (d.a, d.b))
    yield fault("unit output bad", d.name, f"{d.name} gives too little", repair, resistive(d.name, grid=OUTPUT_OHM),
                d.b, (d.a, d.b))


def _load_faults(part: Part, d: Resistor) -> Iterator[Fault]:
    kind = "motor open" if d.role == "motor" else "load open"
    called = part.name if all(o is d or isinstance(o, Joint) for o in part.devices) else d.name
    yield fault(kind, called, f"{called} is open", f"renew {part.name}", opened(d.name), d.a, (d.a, d.b), (d.name,))
    if d.role == "motor":
        stalled = Change(set_ohm=((d.name, _STALLED * d.ohm),))
        yield fault("motor seized", part.name, f"{part.name} is seized and draws its stall current",
                    f"free or renew {part.name}", sure(stalled), d.a, (d.a, d.b), (d.name,))


def _diode_faults(part: Part, d: Diode) -> Iterator[Fault]:
    if d.role == "buzzer":
        silent = sure(Change(dead=(d.name,)))
        yield fault("buzzer dead", part.name, f"{part.name} is dead", f"renew {part.name}", silent, d.a, (d.a, d.b),
                    (d.name,))
        yield fault("buzzer reversed", part.name, f"{part.name} is connected the wrong way round",
                    f"change over the wires at {part.name}", silent, d.a, (d.a, d.b), (d.name,))
        return
    called = part.name if part.devices == (d,) else d.name
    repair = f"renew {part.name}"
    yield fault("diode open", called, f"{called} is open", repair, sure(Change(dead=(d.name,))), d.a, (d.a, d.b),
                (d.name,))
    shorted = sure(Change(added=(AddedBranch(d.a, d.b, 0.05),)))
    yield fault("diode short", called, f"{called} conducts both ways", repair, shorted, d.a, (d.a, d.b), (d.name,))
    # Turned round, a diode in a feed blocks it, and one across a coil conducts as soon as the coil is fed.
    turned = shorted if d.role == "quench" else sure(Change(dead=(d.name,)))
    yield fault("diode reversed", called, f"{called} is connected the wrong way round",
                f"turn {called} round", turned, d.a, (d.a, d.b), (d.name,))


def _supply_faults(part: Part, d: Source, harness: Harness) -> Iterator[Fault]:
    yield from _low_battery(part, d, harness.system_v)
    rest, running = d.emf(False), d.emf(True)
    if running > rest:
        flat = Change(running_factor=rest / running)
        yield fault("not charging", part.name, "the generator does not charge", "put the charging right",
                    sure(flat), d.plus, (d.plus, d.minus))
        high = [Variant(0.6, Change(running_factor=1.1), "a tenth too high"),
                Variant(0.4, Change(running_factor=1.25), "a quarter too high")]
        yield fault("charging too high", part.name, "the regulator lets the voltage rise",
                    "put the regulator right", high, d.plus, (d.plus, d.minus))
    for pole in (d.plus, d.minus):
        leads = tuple(s.name for w in harness.wires for s in w.segments if pole in (s.a, s.b))
        if leads:
            yield fault("battery terminal bad", pole, f"the clamp on {pole} makes poor contact",
                        f"clean the clamp on {pole}", resistive(*leads, grid=CLAMP_OHM), pole, None, leads)


def _low_battery(part: Part, d: Source, system_v: float) -> Iterator[Fault]:
    """A low battery at each step of what it has inside: how low it is and how soon it gives way go their own ways."""
    for at_12_v, share in BATTERY_INSIDE:
        ohm = at_12_v * system_v / 12
        wording = "at {:.0%} of its voltage" + f", {ohm:.2g} Ω more inside" * bool(ohm)
        scale = Scale(lambda left, more=ohm: Change(emf_factor=left, battery_ohm=more), "", 0.05, 0.99,  # type: ignore[misc]
                      wording)
        low = Graded(scale, tuple([
            replace(scale.variant(left, weight), says=says + f", {ohm:.2g} Ω more inside" * bool(ohm))
            for left, weight, says in BATTERY_LEFT
        ]))
        tag, says = (f"{part.name}, {ohm:.2g} Ω inside", "low and gives way") if ohm else (part.name, "low")
        made = fault("battery low", tag, f"{part.name} is {says}", f"charge or renew {part.name}", low, d.plus,
                     (d.plus, d.minus), (part.name,))
        yield replace(made, rate=made.rate * share)


def _terminal_faults(part: Part, harness: Harness) -> Iterator[Fault]:
    """The push-on or screwed terminal at the end of a wire: what it changes is what the wire's own fault does, and
    two wires in one terminal fail together."""
    if any(isinstance(d, Source) for d in part.devices):
        return  # clamps
    for terminal in part.terminals:
        node = terminal_at(part.name, terminal)
        wires = tuple(s.name for s in harness.legs(node))
        if wires:
            says, repair = f"the terminal on {node}", f"clean and tighten or renew the terminal on {node}"
            yield fault("terminal bad", node, f"{says} makes poor contact", repair, resistive(*wires), node, None,
                        wires)
            yield fault("terminal off", node, f"{says} is off", repair, opened(*wires), node, None, wires)


def _whole_part_faults(part: Part) -> Iterator[Fault]:
    """Faults that take every contact of a part at once."""
    contacts = [d for d in part.devices if isinstance(d, SwitchContact)]
    if len(contacts) > 1:
        names = tuple(d.name for d in contacts)
        yield fault("switch dead", part.name, f"no contact of {part.name} makes (its plug is off, or it is broken)",
                    f"repair or renew {part.name}", opened(*names), contacts[0].b, None, names)
    for position in dict.fromkeys(p for d in contacts for p in sorted(d.closed_in)):
        own = [d for d in contacts if position in d.closed_in]
        if len(own) > 1 and any(d.closed_in != {position} for d in contacts):
            never = Change(contacts=tuple((d.name, d.closed_in - {position}) for d in own))
            yield fault("switch position dead", f"{part.name} {position}",
                        f"{part.name} makes no contact in its position “{position}”", f"repair or renew {part.name}",
                        sure(never), own[0].b, None, tuple(d.name for d in own))
    followers = [] if part.flashes else [d for d in part.devices if isinstance(d, RelayContact)]
    outputs = [d for d in followers if _electronic(part, d)]
    if len(outputs) > 1:
        names = tuple(d.name for d in outputs)
        yield fault("unit dead", part.name, f"{part.name} is dead: no output switches on", f"renew {part.name}",
                    opened(*names), outputs[0].a, None, names)
    moved = [d for d in followers if d not in outputs and _plugs_in(part, d)]
    if moved:
        names = tuple(d.name for d in moved)
        yield fault("wrong relay", part.name, f"{part.name} is of another type: it closes where it should open",
                    f"renew {part.name}", sure(Change(inverted=names)), moved[0].b, None, names)
