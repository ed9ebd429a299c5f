"""How fast a flasher unit flashes: flashes per minute as a function of the current it carries.

UN R6 and R48 want 60 to 120 flashes per minute of a healthy vehicle (90 ± 30).
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.devices import FlasherContact

HEALTHY_PER_MIN: Final = (60.0, 120.0)
# A thermal unit is a strip that its load current heats until it snaps open, and that cools until it snaps
# back. Heat goes with the square of the current, so it takes τ ln(x² / (x² − x0²)) to snap at x times
# its full load and never does below x0. These three are common practice, no source: 86 per minute at full
# load, about 30 with one of two main lamps out, and under x0 steady light.
THERMAL_STOPS_AT: Final = 0.50
THERMAL_HEATING_S: Final = 0.25
THERMAL_COOLING_S: Final = 0.45
# An electronic unit keeps its rate and doubles it when it misses a lamp (the lamp-out indication of UN R48).
ELECTRONIC_PER_MIN: Final = 85.0
ELECTRONIC_MISSES_BELOW: Final = 0.80

_TAU_S: Final = THERMAL_HEATING_S / -math.log(1 - THERMAL_STOPS_AT**2)


def flashes_per_min(contact: FlasherContact, share: Floats) -> Floats:
    """Flashes per minute at `share` of the unit's full load, any shape; 0 where it stays closed: steady light."""
    if contact.working == "electronic":
        doubled = share < ELECTRONIC_MISSES_BELOW
        return np.asarray(np.where(doubled, 2 * ELECTRONIC_PER_MIN, ELECTRONIC_PER_MIN))
    snaps = share > THERMAL_STOPS_AT
    x2 = np.where(snaps, share, 1.0) ** 2
    lit_s = _TAU_S * np.log(x2 / (x2 - THERMAL_STOPS_AT**2))
    return np.asarray(np.where(snaps, 60.0 / (lit_s + THERMAL_COOLING_S), 0.0))


def say_rate(per_min: float) -> str:
    """The rate in words: "steady", "slow", "normal" or "fast"."""
    low, high = HEALTHY_PER_MIN
    return "steady" if per_min <= 0 else "slow" if per_min < low else "normal" if per_min <= high else "fast"
