"""What meters show as a number: volts, ohms, amperes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from msgspec import Struct


def say_volts(value: float) -> str:
    return f"{value + 0.0:.2f} V" if abs(value) >= 0.005 else "0.00 V"


def say_ohms(value: float) -> str:
    return "open" if value > 5e6 else f"{value:.1f} Ω" if value < 100 else f"{value:.0f} Ω"


class Quantity(Struct, frozen=True):
    """What a meter shows as a number, and how it is weighed.

    Attributes:
        dimension: Of `units.parse_quantity`.
        unit: Sign of the unit in which values are kept.
        called: The unit in words.
        example: A reading.
        most: What no reading exceeds, in the unit: above every one in a vehicle of 6, 12 or 24 V.
        beyond: What a reading above that is said to be, and what to look for.
        say: A value in words.
        log_scale: Whether readings are compared by their logarithm, may be open, and are never below zero.
        signless: Whether which way round it was connected says nothing.
        of_supply: Whether it goes up and down with the battery's voltage, which all such readings share.
    """

    dimension: str
    unit: str
    called: str
    example: str
    most: float
    beyond: tuple[str, str]
    say: Callable[[float], str]
    log_scale: bool = False
    signless: bool = False
    of_supply: bool = False


VOLTAGE: Final = Quantity(
    "voltage", "V", "volts", "11.9 V", 60.0, ("more than a vehicle has", "check the unit: `11.9 V`, `120 mV`"),
    say_volts, of_supply=True,
)
RESISTANCE: Final = Quantity(  # no meter shows more
    "resistance", "Ω", "ohms", "0.3 ohm", 1e9, ("more than a meter shows", "write `open`"), say_ohms, log_scale=True,
)
CURRENT: Final = Quantity(  # no more flows in lighting for longer than a fuse takes
    "current", "A", "amperes", "1.8 A", 200.0, ("more than a fuse lets pass", "check the unit: `1.8 A`, `300 mA`"),
    lambda value: f"{value:.2f} A", signless=True,
)
QUANTITIES: Final = (VOLTAGE, RESISTANCE, CURRENT)
