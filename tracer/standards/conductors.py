"""Resistance of copper conductors."""

from __future__ import annotations

from typing import Final

# Maximum resistance at 20 °C in mΩ/m. IEC 60228 class 5, plain copper, as quoted on five cable pages.
# Road-vehicle cable (ISO 6722) is a steady 4–5 % below (memory).
CONDUCTOR_MOHM_PER_M: Final[dict[float, float]] = {
    0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91,
    16.0: 1.21, 25.0: 0.780, 35.0: 0.554, 50.0: 0.386,
}
COPPER_OHM_MM2_PER_M: Final = 0.017241  # IEC 60028, 100 % IACS, as quoted
COPPER_PER_KELVIN: Final = 0.00393  # IEC 60028, memory


def conductor_ohm(section_mm2: float, length_m: float, celsius: float = 20.0) -> float:
    """Resistance of a copper conductor in Ω.

    Listed sections use the table's maximum; others the copper formula with the 13 % that
    stranding and lay add in the table on average.
    """
    per_m = CONDUCTOR_MOHM_PER_M.get(round(section_mm2, 3))
    ohm_per_m = per_m / 1000 if per_m else 1.13 * COPPER_OHM_MM2_PER_M / section_mm2
    return ohm_per_m * length_m * (1 + COPPER_PER_KELVIN * (celsius - 20.0))
