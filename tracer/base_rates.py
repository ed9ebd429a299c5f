"""How often each kind of fault turns up, relative to the others, how long its repair takes, and how
bad a bad joint gets. One place, so that they can be argued with.

No published data describe old vehicles' lighting: sheltered-equipment tables (MIL-HDBK-217F) put 99 %
on the lamp and know no corroded earths. The order lamp ≫ joint > switch ≫ wire is theirs; the earths,
holders and connector ways are lifted to what workshops see (common practice, no source). A harness
file may override any of them under `base rates:`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Rate:
    """Relative base rate of one fault kind on one element, and the minutes its repair takes."""

    rate: float
    repair_min: float


RATES: Final[Mapping[str, Rate]] = {
    "filament open": Rate(10.0, 3.0),
    "filaments bridged": Rate(0.4, 3.0),
    "wrong lamp": Rate(0.3, 3.0),
    "holder bad": Rate(1.5, 6.0),
    "holder open": Rate(0.7, 6.0),
    "earth bad": Rate(4.0, 10.0),
    "earth open": Rate(2.0, 10.0),
    "mounting bad": Rate(2.0, 10.0),
    "mounting open": Rate(1.0, 10.0),
    "way bad": Rate(0.5, 8.0),
    "way open": Rate(0.3, 8.0),
    "ways crossed": Rate(0.10, 8.0),
    "wires changed over": Rate(0.08, 6.0),
    "ways joined": Rate(0.05, 10.0),
    "wire open": Rate(0.12, 25.0),
    "wire bad": Rate(0.10, 25.0),
    "wire to body": Rate(0.06, 25.0),
    "wires joined": Rate(0.02, 30.0),
    "splice bad": Rate(0.4, 20.0),
    "splice open": Rate(0.15, 20.0),
    "clip bad": Rate(0.8, 5.0),
    "fuse blown": Rate(1.5, 3.0),
    "switch never makes": Rate(0.7, 20.0),
    "switch bad": Rate(0.7, 20.0),
    "switch never breaks": Rate(0.15, 20.0),
    "flasher dead": Rate(1.5, 6.0),
    "flasher stuck": Rate(0.4, 6.0),
    "relay coil open": Rate(0.3, 5.0),
    "relay stuck open": Rate(0.5, 5.0),
    "relay stuck closed": Rate(0.3, 5.0),
    "diode open": Rate(0.1, 10.0),
    "diode short": Rate(0.1, 10.0),
    "load open": Rate(0.3, 15.0),
    "battery low": Rate(1.0, 30.0),
}

# Resistance of a bad joint, Ω, and how the probability spreads: about log-uniform over the range that
# lamps show and meters find, tapering where a joint is as good as open.
SEVERITIES: Final[tuple[tuple[float, float], ...]] = (
    (0.3, 0.10), (1.0, 0.20), (3.0, 0.24), (10.0, 0.20), (40.0, 0.12), (200.0, 0.09), (3000.0, 0.05),
)
SHORT_OHM: Final = ((0.05, 0.8), (2.0, 0.2))
JOINED_OHM: Final = ((0.2, 0.7), (10.0, 0.3))
WET_OHM: Final = ((0.2, 0.4), (10.0, 0.3), (150.0, 0.3))
BRIDGE_OHM: Final = ((0.2, 1.0),)

# Expected number of further, independent faults on a vehicle that already has one.
FURTHER_FAULTS: Final = 0.15
# Share kept at the start for something that the harness file does not describe.
UNDESCRIBED: Final = 0.01
