"""Classes of fault that published cases have and `faults` has not, drawn as often as the tool holds them.

Of 47 published cases and six answers of practitioners (their mix is told in `tracer/harness/base_rates.py`): ends of
wires R21, R25; holders that touch their shells R23, C05; two lamps dead of age R43; a flasher unit that does anything
but rest open R09; a switch that leaks R15. Two faults in one branch, 4 of 47, are drawn where they are asked for
(`two_faults`). Not drawn are lamps turned round, wrong ones in twin holders and what was added, of
which the tool holds less than one in a hundred. How bad each may be is judgement.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterator, Mapping, Sequence

from tests.bench.truth.circuit import Edit, Netlist, Path, Resistance
from tests.bench.truth.faults import WEIGHTS, Fault, Key, Maker, log_uniform, makers, ohms, stuck, wire_key, worse
from tests.bench.truth.person import mirror
from tests.bench.truth.two_faults import TWO


def every(net: Netlist, weights: Mapping[str, float] = WEIGHTS) -> dict[str, list[Maker]]:
    """Everything that can break on a vehicle, by class; of the classes that `weights` has, and has more than
    nothing for."""
    out = makers(net)
    for source in (_lamps, _holders, _ends_of_wires, _parts, _clamps):
        for kind, maker in source(net):
            out.setdefault(kind, []).append(maker)
    return {k: m for k, m in out.items() if weights.get(k, 0.0) > 0}


def draw(
    net: Netlist, rng: random.Random, kinds: Collection[str] = (), weights: Mapping[str, float] = WEIGHTS,
    places: Mapping[str, Sequence[float]] | None = None, two: Maker | None = None,
) -> Fault:
    """One fault of the vehicle under the bench's laws; of some classes only, if they are named. `places`: by class
    the weight of each of its makers, where they are not alike. `two`: makes two at once, if those are drawn."""
    found = {k: m for k, m in with_two(every(net, weights), two).items() if not kinds or k in kinds}
    kind = rng.choices(sorted(found), [weights[k] for k in sorted(found)])[0]
    if places is not None and kind != TWO:
        return rng.choices(found[kind], places[kind])[0](rng)
    return rng.choice(found[kind])(rng)


def with_two(found: dict[str, list[Maker]], two: Maker | None) -> dict[str, list[Maker]]:
    """All classes, two faults at once with them if those are drawn."""
    return found if two is None else {**found, TWO: [two]}


def _always(fault: Fault) -> Maker:
    return lambda _: fault


def _lamps(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for bulb, own in net.bulbs.items():
        keys: tuple[Key, ...] = (("lamp", bulb),)
        dead = Edit(lamp=tuple((x.name, 0.0) for x in own))
        yield "lamp dead", _always(Fault("lamp dead", f"{bulb} dead or not there", dead, keys, keys))
    for name, x in net.lamps.items():
        like = net.lamps.get(mirror(name))
        if name < mirror(name) and like is not None and like.law == x.law:
            both: tuple[Key, ...] = (("lamps", x.bulb, like.bulb),)
            edit = Edit(lamp=((name, 0.0), (like.name, 0.0)))
            says = f"{name} and {like.name} dead"
            yield "both lamps dead", _always(Fault("both lamps dead", says, edit, both, both))


def _holders(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for bulb, own in net.bulbs.items():
        part = own[0].part
        contacts = [net.resistances[f"{bulb} shell"], *(net.resistances[f"{x.name} holder"] for x in own)]
        keys: tuple[Key, ...] = (("holder", bulb), ("unit", part))

        def crust(rng: random.Random, bulb=bulb, contacts=contacts, keys=keys) -> Fault:  # type: ignore[no-untyped-def]
            ohm = log_uniform(rng, 0.3, 100.0)
            edit = Edit(ohm=tuple((r.name, r.ohm + ohm * rng.uniform(0.7, 1.4)) for r in contacts))
            return Fault("holder full of crust", f"holder of {bulb}, every contact {ohms(ohm)}", edit, keys, keys[:1])
        yield "holder full of crust", crust
        for r in contacts[1:]:

            def shell(rng: random.Random, r=r, part=part, keys=keys) -> Fault:  # type: ignore[no-untyped-def]
                path = Path(r.a, f"{part}.earth", log_uniform(rng, 0.005, 3.0))
                return Fault("holder shorted", f"{r.name} on its shell, {ohms(path.ohm)}", Edit(add=(path,)), keys,
                             keys[:1])
            yield "holder shorted", shell


def _ends_of_wires(net: Netlist) -> Iterator[tuple[str, Maker]]:
    for r in net.resistances.values():
        if r.kind != "wire":
            continue
        key = wire_key(r.a, r.b)
        yield "old repair", worse(r, "old repair", (key,), 0.4)
        for node in (r.a, r.b):
            owner, _, terminal = node.rpartition(".")
            if owner in net.vehicle.parts and terminal not in ("+", "-"):
                keys: tuple[Key, ...] = (("terminal", node), key, ("part", owner), ("clip", owner), ("unit", owner))
                yield "terminal bad", worse(r, "terminal bad", keys, 0.0, keys[:3], node)


def _parts(net: Netlist) -> Iterator[tuple[str, Maker]]:
    contacts: dict[str, list[Resistance]] = {}
    for r in net.resistances.values():
        part = r.name.rsplit(" ", 1)[0]
        keys: tuple[Key, ...] = (("part", part),)
        if r.kind == "flasher" and r.name.endswith("contact"):
            yield "flasher stuck", stuck(r, "flasher stuck", keys, True)
            yield "flasher bad", worse(r, "flasher bad", keys, 0.0)
        if r.kind == "switch" and r.contact is not None and r.contact.kind == "switch":
            contacts.setdefault(part, []).append(r)

            def leaks(rng: random.Random, r=r, keys=keys) -> Fault:  # type: ignore[no-untyped-def]
                path = Path(r.a, r.b, log_uniform(rng, 2.0, 300.0))
                return Fault("switch leaking", f"{r.name} leaks, {ohms(path.ohm)}", Edit(add=(path,)), keys, ())
            yield "switch leaking", leaks
    for part, own in contacts.items():
        if len(own) > 1:
            edit = Edit(stuck=tuple((r.name, False) for r in own))
            yield "switch dead", _always(Fault("switch dead", f"no contact of {part} makes", edit, (("part", part),)))


def _clamps(net: Netlist) -> Iterator[tuple[str, Maker]]:
    """A clamp carries all that the battery gives."""
    for b in net.batteries if len(net.batteries) == 1 else ():
        for pole in (b.plus, b.minus):

            def clamp(rng: random.Random, pole=pole) -> Fault:  # type: ignore[no-untyped-def]
                ohm = log_uniform(rng, 0.03, 10.0)
                keys: tuple[Key, ...] = (("clamp", pole),)
                return Fault("clamp bad", f"clamp on {pole} {ohms(ohm)}", Edit(series_ohm=ohm), keys, keys)
            yield "clamp bad", clamp
