"""The tell-tale of a flasher unit that counts its lamps, with one missing: no file says what it does then.

UN R48 lets a failed indicator be shown by a tell-tale that goes out or by one whose rate changes markedly (from
memory). The circuit knows the first, as units with a terminal of their own for it mostly do; others let it flash
along, at the doubled rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from weakref import WeakKeyDictionary

from msgspec.structs import replace

from tracer.faults.copper import Nets
from tracer.harness.devices import Joint
from tracer.harness.node import terminal_at
from tracer.observation.forward_model import Panel, Predictor

FLASHES_ALONG: Final = 0.3  # of such units, where the lamps are too few (judgement)
_COUNTED: Final = "C"  # the terminal for the vehicle's own lamps (DIN 72552); those for trailers count more
_TOO_FEW, _WORKS = 0.8, 0.1  # of its load: below the one it misses a lamp, above the other it works
_known: WeakKeyDictionary[Predictor, frozenset[int]] = WeakKeyDictionary()


def either_way(
    panel: Panel, usual: Panel | None, predictor: Predictor, lamp: int
) -> Sequence[tuple[float, Panel]]:
    """What a lamp may do, each with its chance: that of the panel, and of a tell-tale that it flashes with the lamps
    that are left. `usual`: the sound vehicle's panel."""
    if usual is None or lamp not in _tell_tales(predictor):
        return [(1.0, panel)]
    too_few = (panel.load > _WORKS) & (panel.load < _TOO_FEW)  # not where the unit is idle
    if not too_few.any():
        return [(1.0, panel)]
    flux, least = panel.flux.copy(), panel.least.copy()
    flux[too_few, lamp], least[too_few, lamp] = usual.flux[0, lamp], usual.least[0, lamp]
    return [(1 - FLASHES_ALONG, panel), (FLASHES_ALONG, replace(panel, flux=flux, least=least))]


def _tell_tales(predictor: Predictor) -> frozenset[int]:
    """Numbers of the lamps on the terminal of a flasher unit that counts."""
    if predictor not in _known:
        harness = predictor.harness
        fed = [terminal_at(p.name, _COUNTED) for p in harness.parts.values()
               if p.kind == "flasher unit" and _COUNTED in p.terminals]
        nets = Nets(harness) if fed else None
        _known[predictor] = frozenset() if nets is None else frozenset(
            predictor.lamp_index[f.lamp] for part in harness.parts.values() for f in part.lamps
            if any(isinstance(d, Joint) and d.b in (f.a, f.b) and any(nets.same(d.a, n) for n in fed)
                   for d in part.devices)
        )
    return _known[predictor]
