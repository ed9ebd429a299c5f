"""Trailer sockets: function of each way (contact sheets of connector makers, as quoted)."""

from __future__ import annotations

from typing import Final

SOCKETS: Final[dict[str, dict[int, str]]] = {
    "ISO 1724": {
        1: "left indicator", 2: "rear fog", 3: "earth", 4: "right indicator", 5: "right tail and plate",
        6: "stop", 7: "left tail",
    },
    "ISO 3732": {
        1: "reversing lamp", 2: "ignition-switched supply", 3: "earth", 4: "permanent supply", 5: "spare or sensing",
        6: "refrigerator supply", 7: "refrigerator return",
    },
    "ISO 11446": {
        1: "left indicator", 2: "rear fog", 3: "return for 1, 2 and 4 to 8", 4: "right indicator",
        5: "right tail, marker, plate", 6: "stop", 7: "left tail, marker, plate", 8: "reversing lamp",
        9: "permanent supply", 10: "ignition-switched supply", 11: "return for 10", 12: "not used",
        13: "return for 9",
    },
}
# Marks of DIN 72552 and colours (IEC letters) of the ways of ISO 1724.
ISO_1724_MARKS: Final[dict[int, str]] = {1: "L", 2: "54g", 3: "31", 4: "R", 5: "58R", 6: "54", 7: "58L"}
ISO_1724_COLOURS: Final[dict[int, str]] = {1: "YE", 2: "BU", 3: "WH", 4: "GN", 5: "BN", 6: "RD", 7: "BK"}
# Least cross-section of the ways of ISO 11446 in mm².
ISO_11446_MM2: Final[dict[int, float]] = {
    1: 1.5, 2: 1.5, 3: 2.5, 4: 1.5, 5: 1.5, 6: 1.5, 7: 1.5, 8: 1.5, 9: 2.5, 10: 2.5, 11: 2.5, 13: 2.5,
}
