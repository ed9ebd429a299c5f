"""A lamp that should burn steadily and burns now more and now less: a side lamp whose earth the indicators share.

Who sees it calls it by the one phase or by the other.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from tracer.circuit.model import Bools, Floats
from tracer.observation.forward_model import Panel

_PULSES: Final = 0.3  # decades between more and less that are seen
_STILL_BURNS: Final = -2.0  # log10 of light of the least phase
# Of who comes unasked with a lamp that goes dark in time with the indicators so many say that it "goes out when I
# signal", and nothing of flashing. (Judgement.)
GOES_OUT: Final = 0.3


def pulsing(panel: Panel, lamp: int, healthy: Panel) -> Bools:
    """(H,) whether a lamp that should burn steadily burns now more and now less, without ever going dark."""
    return _varying(panel, lamp, healthy) & _burns_on(panel, lamp)


def _burns_on(panel: Panel, lamp: int) -> Bools:
    return np.asarray(panel.least[:, lamp] > _STILL_BURNS)


def _varying(panel: Panel, lamp: int, healthy: Panel) -> Bools:
    here, usual = (x.flux[:, lamp] - x.least[:, lamp] for x in (panel, healthy))
    return np.asarray((here > _PULSES) & (usual[0] < _PULSES))


def by_phases(
    panel: Panel, lamp: int, healthy: Panel | None, called: Callable[[Floats], Floats], unasked: bool = False
) -> Floats:
    """(H,) probability of what a lamp is called. `called` gives it for a light, log10 flux (H,): where it pulses
    without going dark the one phase counts as much as the other for who is sent to look (judgement). Who comes
    `unasked` tells of either; where it goes dark in between `GOES_OUT` of them tell of that."""
    light = panel.flux[:, lamp]
    p = called(light)
    if healthy is None or not (varies := _varying(panel, lamp, healthy)).any():
        return p
    least = called(np.where(varies, panel.least[:, lamp], light))
    burns = varies & _burns_on(panel, lamp)
    if unasked:  # he tells of the phase that he comes with, and of all lamps by the same
        return np.where(varies, np.maximum(p, np.where(burns, 1.0, GOES_OUT) * least), p)
    return np.where(burns, 0.5 * (p + least), p)
