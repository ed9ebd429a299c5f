"""What somebody added to the vehicle that the harness file does not show: a trailer socket or an alarm
tapped into a feed, feeds joined in it, a lamp fed from a new wire."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from tracer.circuit.model import AddedBranch, Change, wires_at
from tracer.faults.making import Fault, Variant, fault, leak, sure
from tracer.harness.base_rates import JOINED_OHM
from tracer.harness.devices import Filament, FilamentLaw, Joint
from tracer.harness.model import Harness, Part
from tracer.harness.node import terminal_at

_TAPPED_W = 5.0  # nobody feeds a trailer from an instrument lamp
_ADDED_OHM = 0.1


def additions(harness: Harness) -> Iterator[Fault]:
    """Additions at the feeds of the lamps outside."""
    live, _ = harness.poles()
    for part in harness.parts.values():
        lamps = {f: _feed(part, f) for f in part.lamps if _tapped(f)}
        earth = terminal_at(part.name, "earth")
        repair, at = f"take off what was added at {part.name}", wires_at(part.name)
        for f, feed in lamps.items():
            if feed is None:
                continue
            ohm = harness.system_v**2 / f.law.watts
            loads = [
                Variant(0.6, Change(added=(AddedBranch(feed, earth, ohm, at),)), "one more lamp"),
                Variant(0.4, Change(added=(AddedBranch(feed, earth, ohm / 2, at),)), "two more lamps"),
            ] if "earth" in part.terminals else []
            if loads:
                yield fault("added load", f.lamp, f"something is tapped into the feed of {f.lamp}", repair, loads,
                            feed, None, (f.name,))
            if live:
                yield fault("added feed", f.lamp, f"{f.lamp} is fed by an added wire", repair,
                            sure(Change(added=(AddedBranch(live, feed, _ADDED_OHM, at),))), feed, None,
                            (f.name,))
        for (one, a), (two, b) in combinations(lamps.items(), 2):
            if a is None or b is None or a == b:
                continue
            joined = leak(a, b, JOINED_OHM, at)
            yield fault("added joint", f"{one.lamp} and {two.lamp}",
                        f"something added joins the feeds of {one.lamp} and {two.lamp}", repair, joined, a, None,
                        (one.name, two.name))


def _tapped(f: Filament) -> bool:
    return f.law.watts >= _TAPPED_W or not isinstance(f.law, FilamentLaw)


def _feed(part: Part, lamp: Filament) -> str | None:
    """The terminal that feeds a lamp."""
    return next((d.a for d in part.devices if isinstance(d, Joint) and d.kind == "holder" and d.b == lamp.a), None)
