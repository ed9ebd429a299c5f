"""Faults of lamps themselves: what is fitted in the holder, and water in the unit around it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from tracer.circuit.model import AddedBranch, Change, wires_at
from tracer.faults.making import Fault, Variant, fault, graded, leak, sure
from tracer.harness.base_rates import BRIDGE_OHM, HOLDER_OHM, HOLDER_SHORT_OHM, LED_SHARE, OTHER_WATTS, WATER_OHM
from tracer.harness.devices import Filament, FilamentLaw, Joint, LedLaw
from tracer.harness.model import Harness, Part
from tracer.harness.node import terminal_at

_UNLIKE = 1.5  # filaments whose currents differ by less than this look alike when they change places
# The one filament of a single lamp in a twin holder is fed from both contacts and seen in both places: its
# current and light are shared out so that their sum is right.
_SEEN_IN_BIG, _SEEN_IN_SMALL = 0.6, 0.4
_SEVERAL = 4  # holders, of which it makes sense to say "all of them"
_BAYONET = (5.0, 10.0, 21.0)  # watts of the lamps that share the 15 mm bayonet base


def lamp_faults(part: Part, harness: Harness) -> Iterator[Fault]:
    """Every lamp fault of one part, and water in it."""
    bulbs: dict[str, list[Filament]] = {}
    for f in part.lamps:
        bulbs.setdefault(f.bulb, []).append(f)
    for bulb, filaments in bulbs.items():
        repair, names = f"new lamp: {bulb}", tuple(f.name for f in filaments)
        yield fault("lamp missing", bulb, f"{bulb} is not in its holder, or all of it is dead", repair,
                    sure(Change(dead=names)), filaments[0].a, None, names)
        if all(isinstance(f.law, FilamentLaw) for f in filaments):
            # Its law stays that of a filament: right for the load, not for what glows through a leak.
            led = Change(
                scaled=tuple((n, LED_SHARE) for n in names), light=tuple((n, -math.log10(LED_SHARE)) for n in names)
            )
            yield fault("LED fitted", bulb, f"an LED lamp is fitted as {bulb}, where a filament lamp belongs", repair,
                        sure(led), filaments[0].a, None, names)
        if len(filaments) == 1:
            yield from _single_faults(bulb, filaments[0], repair)
        for one, two in combinations(filaments, 2):
            yield from _twin_faults(bulb, one, two, repair)
        yield from _holder_faults(bulb, filaments, part)
    yield from _exchanged(part, bulbs)
    yield from _water(part, harness)


def _holder_faults(bulb: str, filaments: list[Filament], part: Part) -> Iterator[Fault]:
    """Every contact of a holder corroded alike, and a live contact that touches the shell. What touches there stays
    behind when the lamp is taken out: it lies on the wires' side of the contacts."""
    joints = tuple(dict.fromkeys(j for f in filaments for j in f.holder))
    clean = f"clean the holder of {bulb}"
    if len(joints) > 1:
        bad = graded(lambda ohm: Change(tuple([(j, ohm) for j in joints])), HOLDER_OHM, "each about {:.3g} Ω")
        yield fault("holder corroded", bulb, f"all contacts in the holder of {bulb} are corroded", clean, bad,
                    filaments[0].a, None, joints)
    contacts = {d.name: d for d in part.devices if isinstance(d, Joint)}
    for f in filaments:
        if f.holder:
            live, shell = (_wired_side(n, [contacts[j] for j in f.holder]) for n in (f.a, f.b))
            yield fault("holder shorted", f.lamp, f"the live contact of {f.lamp} touches the shell of its holder",
                        f"free the contact in the holder of {bulb}",
                        leak(live, shell, HOLDER_SHORT_OHM, wires_at(part.name), wording=""), f.a, None, f.holder[:1])


def several_shorted(shorts: Sequence[Fault]) -> Iterator[Fault]:
    """Holders of one age and make that all touch their shells, from the faults of each. Which of them do is found by
    going through all; here all do, which shows where any is switched on."""
    own = [f for f in shorts if f.kind == "holder shorted"]
    if len(own) < _SEVERAL:
        return
    added = tuple(b for f in own for b in f.variants[0].change.added)
    names = tuple(e for f in own for e in f.elements)
    yield fault("holders shorted", "several of one age", "several lamp holders touch their shells",
                "go through all lamp holders and free or renew those that touch their shells",
                sure(Change(added=added)), own[0].node, None, names)


def _wired_side(end: str, contacts: list[Joint]) -> str:
    """What the wires lead to at one end of a filament: beyond its contact in the holder, where it has one."""
    return next((c.b if c.a == end else c.a for c in contacts if end in (c.a, c.b)), end)


def aged_alike(harness: Harness) -> Iterator[Fault]:
    """Two equal lamps, left and right, that burnt for the same hours: the second goes soon after the first, and often
    nobody noticed the first."""
    lamps = {f.lamp: f for f in harness.lamps()}
    for name, f in lamps.items():
        other = lamps.get(name.replace("left", "right", 1)) if "left" in name else None
        if other is not None and other is not f and other.law == f.law:
            both = f"{name} and {other.lamp}"
            yield fault("both lamps dead", both, f"the lamps {both} have both died of age",
                        f"new lamps: {f.bulb} and {other.bulb}", sure(Change(dead=(f.name, other.name))), f.a, None,
                        (f.name, other.name))


def _single_faults(bulb: str, f: Filament, repair: str) -> Iterator[Fault]:
    own = f.law.watts
    if own <= 10.0:
        yield fault("LED fitted reversed", bulb, f"an LED lamp is fitted the wrong way round as {bulb}",
                    f"turn the LED lamp {bulb} round", sure(Change(dead=(f.name,))), f.a, None, (f.name,))
    if isinstance(f.law, LedLaw):
        return
    others = OTHER_WATTS.get(own, ())
    if others:
        variants = graded(
            lambda watts: Change(scaled=((f.name, _factor(watts, own)),)), others, "a {:.3g} W lamp", "W", 3.0
        )
        says = f"a wrong lamp is fitted as {bulb}, where {own:g} W belongs"
        yield fault("wrong lamp", bulb, says, repair, variants, f.a, None, (f.name,))
    if own == 21.0:
        # The single contact of the holder lies between the two of the lamp: it touches both, one or none.
        touching = [
            Variant(0.5, Change(scaled=((f.name, 1 + _factor(5.0, 21.0)),)), "both filaments lit"),
            Variant(0.3, Change(scaled=((f.name, _factor(5.0, 21.0)),)), "only its small filament lit"),
            Variant(0.2, Change(dead=(f.name,)), "neither filament lit"),
        ]
        yield fault("twin lamp for single", bulb, f"a twin-filament lamp is fitted as {bulb}", repair, touching, f.a,
                    None, (f.name,))


def _factor(watts: float, own: float) -> float:
    """Factor on the current of a lamp of `own` watts that makes it one of `watts`: small lamps take a fifth
    more than their name at test voltage, as the large ones do (UN R37: 21 W takes 25 W, 5 W takes 5 or 6 W)."""
    taken = {21.0: 25.0}
    return taken.get(watts, watts) / taken.get(own, own)


def _twin_faults(bulb: str, one: Filament, two: Filament, repair: str) -> Iterator[Fault]:
    names = (one.name, two.name)
    bridged = leak(one.a, two.a, BRIDGE_OHM, bulb)
    yield fault("filaments bridged", bulb, f"the filaments of {bulb} touch inside the glass", repair, bridged, one.a,
                None, names)
    if not isinstance(one.law, FilamentLaw) or not isinstance(two.law, FilamentLaw):
        return
    ratio = two.law.i0 / one.law.i0
    if 1 / _UNLIKE < ratio < _UNLIKE:
        return
    turned = Change(scaled=((one.name, ratio), (two.name, 1 / ratio)))
    says = f"{bulb} sits turned round in its holder: its filaments have changed places"
    yield fault("lamp turned round", bulb, says, f"turn {bulb} round in its holder", sure(turned), one.a, None, names)
    big, small = (one, two) if ratio < 1 else (two, one)
    whole = max(ratio, 1 / ratio)
    single = Change(
        added=(AddedBranch(one.a, two.a, 0.01, bulb),),
        scaled=((big.name, _SEEN_IN_BIG), (small.name, _SEEN_IN_SMALL * whole)),
    )
    yield fault("single lamp for twin", bulb, f"a single-filament lamp is fitted as {bulb} and joins its two feeds",
                repair, sure(single), one.a, None, names)


def _exchanged(part: Part, bulbs: dict[str, list[Filament]]) -> Iterator[Fault]:
    """Two lamps of one base and other watts that changed places in one unit."""
    single = {
        b: (f[0], f[0].law) for b, f in bulbs.items()
        if len(f) == 1 and isinstance(f[0].law, FilamentLaw) and f[0].law.watts in _BAYONET
    }
    for (one, (f1, law1)), (two, (f2, law2)) in combinations(single.items(), 2):
        if law1.watts == law2.watts or not isinstance(law1, FilamentLaw) or not isinstance(law2, FilamentLaw):
            continue
        change = Change(scaled=((f1.name, law2.i0 / law1.i0), (f2.name, law1.i0 / law2.i0)))
        yield fault("lamps exchanged", f"{one} and {two}", f"the lamps {one} and {two} have changed places",
                    f"change the lamps {one} and {two} back", sure(change), f1.a, None, (f1.name, f2.name))


def _water(part: Part, harness: Harness) -> Iterator[Fault]:
    """Water in a lamp unit: leaks between its contacts and to its earth, and every contact corroded at once."""
    if len(part.lamps) < 2 or "earth" not in part.terminals:
        return
    earth = terminal_at(part.name, "earth")
    joints = [d for d in part.devices if isinstance(d, Joint) and d.kind in ("holder", "holder earth")]
    feeds = list(dict.fromkeys(d.a for d in joints if d.kind == "holder"))
    variants = []
    for between, contact, weight in WATER_OHM:
        at = wires_at(part.name)
        added = [AddedBranch(a, b, between, at) for a, b in pairwise(feeds)]
        added += [AddedBranch(a, earth, 3 * between, at) for a in feeds]
        ohms = tuple((d.name, contact) for d in joints)
        variants.append(Variant(weight, Change(set_ohm=ohms, added=tuple(added)), f"contacts about {contact:g} Ω"))
    yield fault("lamp unit wet", part.name, f"water has got into {part.name}: contacts corroded, leaks between them",
                f"dry, clean and seal {part.name}", variants, feeds[0], None, tuple(d.name for d in joints))
