"""Filament lamp categories of UN Regulation No. 37: watts on the glass and at test voltage, light, cap.

Sources. Read: 13.5 V, 26.5 W and 6.6 W, 270 and 21 lm for the amber 21/5 W lamp (ECE/TRANS/WP.29/GRE/2012/34);
6.75, 13.5 and 28.0 V for signalling lamps (UN R119, consolidated page); H1 and H3 at 12 V as quoted in an
encyclopaedia's list; the reference fluxes below. Everything else is memory, and a bound rather than a value.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct, field


class LampCategory(Struct, frozen=True):
    """A filament lamp category, per filament (the brighter first).

    Attributes:
        watts: On the glass of the 12 V lamp.
        test_watts: Typical at the 12 V lamp's test voltage: the limit less the tolerance of older
            editions (6 % for 21 W, 10 % for small lamps).
        test_v: Test voltage of the 12 V lamp.
        most_watts: Limit at test voltage by system voltage, where known.
        named: Watts on the glass where another system voltage has others.
        lumens: Objective flux of the 12 V lamp at test voltage.
        cap: Lamp cap.
    """

    watts: tuple[float, ...]
    test_watts: tuple[float, ...]
    test_v: float = 13.5
    most_watts: Mapping[float, tuple[float, ...]] = field(default_factory=dict)
    named: Mapping[float, tuple[float, ...]] = field(default_factory=dict)
    lumens: tuple[float, ...] = ()
    cap: str = ""

    def watts_at(self, system_v: float) -> tuple[float, ...]:
        """Watts on the glass of the lamp for that system."""
        return self.named.get(system_v, self.watts)

    def test_watts_at(self, system_v: float) -> tuple[float, ...]:
        """Typical watts at that lamp's test voltage."""
        most, most_12 = self.most_watts.get(system_v), self.most_watts.get(12.0)
        if most is None or most_12 is None or system_v == 12.0:
            return self.test_watts
        return tuple(round(m * t / m12, 2) for m, t, m12 in zip(most, self.test_watts, most_12, strict=True))

    def test_v_at(self, system_v: float) -> float:
        """Test voltage of the lamp for that system."""
        if self.test_v == 13.5:
            return TEST_V.get(system_v, self.test_v * system_v / 12.0)
        return HEADLAMP_TEST_V.get(system_v, self.test_v * system_v / 12.0)


# Test voltages by system voltage: signalling lamps as quoted in UN R119; headlamps 13.2 V read for the H17
# (UN R37 Supplement 39), 6.3 and 28.0 V memory.
TEST_V: Final[dict[float, float]] = {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}
HEADLAMP_TEST_V: Final[dict[float, float]] = {6.0: 6.3, 12.0: 13.2, 24.0: 28.0}

_21: Final = {6.0: (27.6,), 12.0: (26.5,), 24.0: (29.7,)}
_21_5: Final = {6.0: (27.6, 6.6), 12.0: (26.5, 6.6), 24.0: (29.7, 11.0)}
_5: Final = {6.0: (5.5,), 12.0: (5.5,), 24.0: (7.7,)}
_55: Final = {6.0: (63.0,), 12.0: (68.0,), 24.0: (84.0,)}

LAMPS: Final[dict[str, LampCategory]] = {
    "P21W": LampCategory((21,), (25,), 13.5, _21, lumens=(460,), cap="BA15s"),
    "PY21W": LampCategory((21,), (25,), 13.5, _21, lumens=(280,), cap="BAU15s"),
    "P21/5W": LampCategory((21, 5), (25, 6), 13.5, _21_5, lumens=(440, 35), cap="BAY15d"),
    "PY21/5W": LampCategory((21, 5), (25, 6), 13.5, _21_5, lumens=(270, 21)),
    "W21W": LampCategory((21,), (25,), 13.5, {12.0: (26.5,)}, lumens=(460,), cap="W3x16d"),
    "W21/5W": LampCategory((21, 5), (25, 6), 13.5, {12.0: (26.5, 6.6)}, lumens=(440, 35), cap="W3x16q"),
    "C21W": LampCategory((21,), (25,), 13.5, {12.0: (26.5,)}, lumens=(460,), cap="SV8.5"),
    "R10W": LampCategory((10,), (10,), 13.5, {6.0: (11,), 12.0: (11,), 24.0: (14,)}, lumens=(125,), cap="BA15s"),
    "R5W": LampCategory((5,), (5,), 13.5, _5, lumens=(50,), cap="BA15s"),
    "W5W": LampCategory((5,), (5,), 13.5, _5, lumens=(50,), cap="W2.1x9.5d"),
    "C5W": LampCategory((5,), (5,), 13.5, _5, lumens=(45,), cap="SV8.5"),
    "T4W": LampCategory((4,), (4,), 13.5, {6.0: (4.4,), 12.0: (4.4,), 24.0: (5.5,)}, lumens=(35,), cap="BA9s"),
    "W3W": LampCategory((3,), (3,), 13.5, {6.0: (3.45,), 12.0: (3.45,), 24.0: (4.6,)}, lumens=(22,), cap="W2.1x9.5d"),
    "W16W": LampCategory((16,), (19.4,), 13.5, {12.0: (21.35,)}, lumens=(310,), cap="W2.1x9.5d"),
    "H1": LampCategory((55,), (62,), 13.2, _55, {24.0: (70,)}, lumens=(1550,), cap="P14.5s"),
    "H3": LampCategory((55,), (62,), 13.2, _55, {24.0: (70,)}, lumens=(1450,), cap="PK22s"),
    "H4": LampCategory((60, 55), (68, 62), 13.2, {12.0: (75, 68), 24.0: (85, 80)}, {24.0: (75, 70)},
                       lumens=(1650, 1000), cap="P43t"),
    "H7": LampCategory((55,), (55,), 13.2, {12.0: (58,), 24.0: (75,)}, {24.0: (70,)}, lumens=(1500,), cap="PX26d"),
    "R2": LampCategory((45, 40), (48, 43), 13.2, named={24.0: (55, 50)}, cap="P45t"),
}

# (volts, lumens) pairs that the regulation itself prints for one filament: read in GRE-54-7 (H21W, H27W) and in
# Supplement 39 (H17, main and dipped).
REFERENCE_LUMENS: Final[dict[str, tuple[tuple[float, float], tuple[float, float]]]] = {
    "H21W": ((12.0, 415.0), (13.5, 600.0)),
    "H27W": ((12.0, 350.0), (13.5, 477.0)),
    "H17 main": ((12.0, 700.0), (13.2, 900.0)),
    "H17 dipped": ((12.0, 450.0), (13.2, 600.0)),
}
