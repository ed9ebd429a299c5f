"""Values that published standards define, each table with its source and how far it was confirmed.

"as quoted" means read on a page that quotes the standard; "memory" means recalled and not
confirmed by reading; nothing here was read in a paid standard itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class LampCategory:
    """A filament lamp category: watts on the glass and watts at test voltage, per filament."""

    watts: tuple[float, ...]
    test_watts: tuple[float, ...]  # typical value at the 12 V lamp's test voltage
    test_v: float = 13.5


# UN Regulation No. 37 categories. 13.5 V and the 26.5/6.6 W limits were read for the 21/5 W lamp
# (GRE/2012/34); the other rows are memory. The typical value is the limit less the older editions'
# tolerance (6 % for 21 W, 10 % for small lamps).
LAMPS: Final[dict[str, LampCategory]] = {
    "P21W": LampCategory((21,), (25,)),
    "PY21W": LampCategory((21,), (25,)),
    "P21/5W": LampCategory((21, 5), (25, 6)),
    "PY21/5W": LampCategory((21, 5), (25, 6)),
    "W21W": LampCategory((21,), (25,)),
    "W21/5W": LampCategory((21, 5), (25, 6)),
    "C21W": LampCategory((21,), (25,)),
    "R10W": LampCategory((10,), (10,)),
    "R5W": LampCategory((5,), (5,)),
    "W5W": LampCategory((5,), (5,)),
    "C5W": LampCategory((5,), (5,)),
    "T4W": LampCategory((4,), (4,)),
    "W3W": LampCategory((3,), (3,)),
    "W16W": LampCategory((16,), (19.4,)),
    "H1": LampCategory((55,), (62,), 13.2),
    "H3": LampCategory((55,), (62,), 13.2),
    "H4": LampCategory((60, 55), (68, 62), 13.2),
    "H7": LampCategory((55,), (55,), 13.2),
    "R2": LampCategory((45, 40), (48, 43), 13.2),
}

# Test voltages of UN R37 signalling lamps by system voltage (R119 quotes 6.75, 13.5 and 28.0 V).
TEST_V: Final[dict[float, float]] = {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}

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


# IEC 60757 letters, in the order in which combinations are written (as quoted via GOST 28763-90).
IEC_COLOURS: Final[dict[str, str]] = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green",
    "BU": "blue", "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold",
    "TQ": "turquoise", "SR": "silver", "GNYE": "green-and-yellow",
}
# BS AU 7 letters, main colour first, tracer second (as quoted for B U N R P G S W; K LG O Y memory).
BS_COLOURS: Final[dict[str, str]] = {
    "B": "black", "G": "green", "K": "pink", "LG": "light green", "N": "brown", "O": "orange",
    "P": "purple", "R": "red", "S": "slate", "U": "blue", "W": "white", "Y": "yellow",
}
COLOUR_CODES: Final = {"IEC 60757": IEC_COLOURS, "BS AU 7": BS_COLOURS}


def colour_words(letters: str, code: str) -> tuple[str, ...] | None:
    """The colours named by `letters` ("GNRD" → green, red), main colour first; None if unreadable."""
    table = COLOUR_CODES[code]
    rest, words = letters.replace("/", "").replace("-", "").upper(), []
    while rest:
        for size in (4, 2, 1):
            if rest[:size] in table and len(rest) >= size:
                words.append(table[rest[:size]])
                rest = rest[size:]
                break
        else:
            return None
    return tuple(words)


# Trailer sockets: function of each way (contact sheets of connector makers, as quoted).
SOCKETS: Final[dict[str, dict[int, str]]] = {
    "ISO 1724": {
        1: "left indicator", 2: "rear fog", 3: "earth", 4: "right indicator", 5: "right tail and plate",
        6: "stop", 7: "left tail",
    },
    "ISO 11446": {
        1: "left indicator", 2: "rear fog", 3: "return for 1, 2 and 4 to 8", 4: "right indicator",
        5: "right tail, marker, plate", 6: "stop", 7: "left tail, marker, plate", 8: "reversing lamp",
        9: "permanent supply", 10: "ignition-switched supply", 11: "return for 10", 12: "not used",
        13: "return for 9",
    },
}

# A fuse carries 1.35 × its rating for 600 s at most (ISO 8820-3, memory): a steady current above
# that blows it within the ten minutes anybody would watch.
FUSE_BLOWS_AT: Final = 1.35
