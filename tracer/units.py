"""Quantities as the trade writes them: "1.5 mm²", "14 AWG", "21 W", "0.4 m" to SI floats and back."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final

from tracer.errors import UnitError

# Factor to the base unit of each dimension. Both commas and points are accepted as decimal
# mark; "Ω" has two code points in use (U+03A9, U+2126).
_UNITS: Final[Mapping[str, Mapping[str, float]]] = {
    "voltage": {"V": 1.0, "mV": 1e-3, "volt": 1.0, "volts": 1.0},
    "current": {"A": 1.0, "mA": 1e-3, "amp": 1.0, "amps": 1.0},
    "power": {"W": 1.0, "mW": 1e-3, "watt": 1.0, "watts": 1.0},
    "resistance": {
        "Ω": 1.0, "\u2126": 1.0, "ohm": 1.0, "ohms": 1.0, "R": 1.0,
        "mΩ": 1e-3, "m\u2126": 1e-3, "mohm": 1e-3,
        "kΩ": 1e3, "k\u2126": 1e3, "kohm": 1e3, "MΩ": 1e6, "M\u2126": 1e6, "Mohm": 1e6,
    },
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "ft": 0.3048, "in": 0.0254},
    "section": {"mm²": 1.0, "mm2": 1.0, "mm^2": 1.0, "sqmm": 1.0},
    "duration": {"min": 1.0, "minutes": 1.0, "minute": 1.0, "h": 60.0, "s": 1 / 60},
    "temperature": {"°C": 1.0, "C": 1.0, "degC": 1.0},
}
_EXAMPLE: Final = {
    "voltage": "12.6 V", "current": "8 A", "power": "21 W", "resistance": "0.3 ohm", "length": "0.4 m",
    "section": "1.5 mm² or 14 AWG", "duration": "5 min", "temperature": "20 °C",
}
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}")
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*([^\s\d.,][^\s]*)?\s*\Z")


def awg_section(gauge: int) -> float:
    """Cross-section in mm² of an American wire gauge number (-3 for 4/0).

    Source: ASTM B258, d = 0.005 in × 92^((36 − n)/39), as quoted by vendors' tables.
    """
    diameter_mm: float = 0.127 * 92.0 ** ((36 - gauge) / 39)
    return math.pi / 4 * float(diameter_mm) ** 2


def ambiguous(number: str) -> bool:
    """Whether a number could mean thousands as well as a decimal comma: "2,100"."""
    return _THOUSANDS.fullmatch(number.strip()) is not None


def unit_names(dimension: str) -> tuple[str, ...]:
    """The units that a quantity of this dimension may be written in."""
    return tuple(_UNITS[dimension])


def parse_quantity(text: object, dimension: str) -> float:
    """Read a quantity with its unit.

    Args:
        text: What was written, e.g. "1.5 mm²". A bare number is refused: a missing unit is
            the commonest way to be wrong by a thousand.
        dimension: One of the keys of the unit table ("voltage", "section", …).

    Returns:
        The value in V, A, W, Ω, m, mm², minutes or °C.

    Raises:
        UnitError: No number, no unit, or a unit of another dimension.
    """
    example = _EXAMPLE[dimension]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"expected a {dimension}, found {text!r}", f"write it like {example}")
    written = str(text)
    if dimension == "section":
        gauge = re.fullmatch(r"\s*(\d{1,2}|[1-4]/0)\s*AWG\s*", written, re.IGNORECASE)
        if gauge:
            number = gauge.group(1)
            return awg_section(1 - int(number[0]) if "/" in number else int(number))
    match = _QUANTITY.match(written)
    if match is None:
        raise UnitError(f"“{written}” is not a {dimension}", f"write it like {example}")
    if ambiguous(match.group(1)):
        raise UnitError(f"“{written}” could mean thousands or a decimal comma", "write the decimal mark as a point")
    number, unit = match.group(1).replace(",", "."), match.group(2)
    if unit is None:
        raise UnitError(f"“{written}” has no unit", f"write it like {example}")
    factor = _UNITS[dimension].get(unit)
    if factor is None:
        lowered = {k.lower(): v for k, v in _UNITS[dimension].items() if k.lower() not in ("mω", "mohm")}
        factor = lowered.get(unit.lower())
    if factor is None:
        raise UnitError(f"“{unit}” is not a unit of {dimension}", f"write it like {example}")
    value = float(number) * factor
    if not math.isfinite(value):
        raise UnitError(f"“{written}” is too large", f"write it like {example}")
    return value


def percent(share: float) -> str:
    """A probability on a screen: never "0 %" for what is possible, never "100 %" for what is not certain."""
    return "<1 %" if 0 < share < 0.005 else ">99 %" if 0.995 < share < 1 else f"{share * 100:.0f} %"


def minutes(value: float) -> str:
    """A duration for people: "0.5 min", "12 min"."""
    return f"{value:.1f} min" if value < 9.95 else f"{value:.0f} min"


def whole_number(text: str) -> int | None:
    """A count or a rank as people type it; None for anything else, such as “²” or five thousand digits."""
    return int(text) if re.fullmatch(r"\s*[0-9]{1,6}\s*", text) else None


def capital(text: str) -> str:
    """The text as a sentence begins; what stands in capitals further on stays."""
    return text[:1].upper() + text[1:]
