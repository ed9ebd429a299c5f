"""The classes of faults drawn here beside the kinds that the tool knows, so that priors can be told from hearing.

The classes are drawn flatter than life (`faults.WEIGHTS`), which an ideal observer knows and the tool does not. Two
ways to take that away: the tool is told the bench's classes as the vehicle's base rates, or the bench draws each
class as often as the tool holds it, and each of its places too where that is asked for.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping

from msgspec.structs import replace

from tests.bench.truth.faults import WEIGHTS, makers
from tests.bench.truth.further_faults import every
from tests.bench.truth.picture import Known
from tests.bench.truth.repairs import right
from tracer.faults import list_faults
from tracer.harness.base_rates import RATES
from tracer.harness.model import Harness

CLASS_OF: Mapping[str, str] = {
    "filament open": "filament broken", "wrong lamp": "wrong wattage", "filaments bridged": "filaments bridged",
    "holder bad": "holder corroded", "holder open": "holder corroded", "mounting bad": "holder corroded",
    "mounting open": "holder corroded", "wire open": "wire broken", "wire bad": "wire resistance",
    "terminal off": "terminal off", "wire to body": "rubbed to earth", "wires joined": "wires joined",
    "way bad": "way bad", "way open": "way bad", "ways joined": "leak between ways", "ways crossed": "ways crossed",
    "earth bad": "earth point bad", "earth open": "earth point bad", "eyelet bad": "eyelet bad",
    "eyelet open": "eyelet bad", "splice leg bad": "splice leg bad", "splice leg open": "splice leg bad",
    "splice bad": "splice bad", "splice open": "splice bad", "switch never makes": "switch bad",
    "switch bad": "switch bad", "switch never breaks": "switch welded", "relay stuck open": "relay contact stuck",
    "relay stuck closed": "relay contact stuck", "relay coil open": "relay coil open", "flasher dead": "flasher dead",
    "strap bad": "strap bad", "strap open": "strap bad",
    "clip bad": "fuse clip bad", "clip open": "fuse clip bad", "fuse blown": "fuse blown once",
    "bullet bad": "bullet bad", "bullet out": "bullet bad", "switch out of adjustment": "switch set wrong",
    "lamp missing": "lamp dead", "both lamps dead": "both lamps dead", "holder corroded": "holder full of crust",
    "holder shorted": "holder shorted", "old repair bad": "old repair", "old repair open": "old repair",
    "terminal bad": "terminal bad", "flasher stuck": "flasher stuck", "flasher bad": "flasher bad",
    "switch leaking": "switch leaking", "switch dead": "switch dead", "battery terminal bad": "clamp bad",
    "feeds exchanged": "feeds exchanged", "wires changed over": "feeds exchanged", "battery low": "battery flat",
}
_NEVER_DRAWN = 1e-3  # of its shipped rate, for a kind that the bench has no class of


def rates_told(harness: Harness, known: Known) -> dict[str, float]:
    """Base rates by kind under which the tool holds each class as often as the bench draws it on this vehicle."""
    drawn = [c for c in WEIGHTS if c in makers(known.net)]
    # As a file's own rates count: without what the tool adds for shared earths or what nobody followed.
    plain = replace(harness, base_rates={k: r.rate for k, r in RATES.items()})
    held = _held(plain)
    out = {}
    for kind, rate in RATES.items():
        name = CLASS_OF.get(kind, "")
        if name in drawn and held.get(name):
            out[kind] = rate.rate * WEIGHTS[name] / held[name]
        else:
            out[kind] = rate.rate * _NEVER_DRAWN
    return out


def weights_by_rates(harness: Harness, known: Known) -> dict[str, float]:
    """Weight of each class of the bench on this vehicle by the tool's own base rates."""
    held = _held(harness)
    return {c: held[c] for c in every(known.net, held)}


def places_by_rates(harness: Harness, known: Known) -> dict[str, list[float]]:
    """By class the weight of each of its places, as the tool's own base rates have it: an earth point that several
    wires share is rarer than that of one lamp. A class in which the tool names no place of the bench's has all alike.
    """
    rates: dict[str, dict[str, float]] = {}
    for fault in list_faults(harness):
        if fault.kind in CLASS_OF:
            own = rates.setdefault(CLASS_OF[fault.kind], {})
            own[fault.repair] = own.get(fault.repair, 0.0) + fault.rate
    out = {}
    for name, found in every(known.net, _held(harness)).items():
        cures = [m(random.Random(0)).cures[:1] for m in found]
        alike = Counter(cures)
        of = {c: sum(rate for repair, rate in rates.get(name, {}).items() if right(repair, c)) for c in alike}
        weights = [of[c] / alike[c] for c in cures]
        out[name] = weights if sum(weights) > 0 else [1.0] * len(found)
    return out


def _held(harness: Harness) -> dict[str, float]:
    out: dict[str, float] = {}
    for fault in list_faults(harness):
        name = CLASS_OF.get(fault.kind)
        if name:
            out[name] = out.get(name, 0.0) + fault.rate
    return out
