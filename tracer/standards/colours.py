"""Colour letters of wires and fuses."""

from __future__ import annotations

from typing import Final

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

# What BS AU 7 uses a colour for (as quoted by an owners' club; GR, GW, GP, GN and LGN are memory).
BS_USES: Final[dict[str, str]] = {
    "B": "earth", "N": "battery feed", "W": "ignition feed, not fused", "G": "ignition feed, fused",
    "P": "feed that the ignition does not switch, fused", "R": "side and rear lamps",
    "U": "lighting switch to dip switch", "UW": "main beam", "UR": "dipped beam", "GR": "left indicators",
    "GW": "right indicators", "GP": "stop lamps", "GN": "reversing lamps", "LGN": "flasher unit to its switch",
}

# Blade fuses (ISO 8820-3, formerly DIN 72581-3 and SAE J1284): two lists agree for 2 to 30 A, a third for 1 to 3 A.
BLADE_COLOURS: Final[dict[float, str]] = {
    1.0: "black", 2.0: "grey", 3.0: "violet", 4.0: "pink", 5.0: "tan", 7.5: "brown", 10.0: "red", 15.0: "blue",
    20.0: "yellow", 25.0: "clear", 30.0: "green", 40.0: "orange",
}
# Ceramic fuses with pointed ends (DIN 72581-1, memory).
CERAMIC_COLOURS: Final[dict[float, str]] = {5.0: "yellow", 8.0: "white", 16.0: "red", 25.0: "blue"}


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
