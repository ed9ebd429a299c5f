"""Terminal marks of DIN 72552 and of plug-in relays (ISO 7588), and what each is for.

Marks as read in translated lists and an old-to-new conversion table; the functions of 56, 57, 61, 85 and 86 are
memory. The two relay numberings disagree: DIN has 87 as the common contact, ISO 7588 has 30.
"""

from __future__ import annotations

from typing import Final

TERMINALS: Final[dict[str, str]] = {
    "15": "feed behind the ignition switch", "15a": "feed behind the ignition switch",
    "30": "feed from the battery", "30a": "feed from a second battery", "31": "earth",
    "31b": "switched return to earth",
    "49": "flasher unit, in", "49a": "flasher unit, out", "49b": "flasher unit, second output",
    "49c": "flasher unit, third output", "C": "tell-tale of the flasher unit", "C2": "tell-tale of the first trailer",
    "C3": "tell-tale of the second trailer", "L": "left indicators", "R": "right indicators",
    "53": "wiper", "53a": "wiper, feed", "53b": "wiper, second speed", "53e": "wiper, brake winding",
    "54": "stop lamps", "54g": "trailer auxiliary", "55": "front fog lamps",
    "56": "headlamps, feed", "56a": "main beam", "56b": "dipped beam", "56d": "headlamp flash",
    "57": "side lamp of a motorcycle", "57a": "parking lamps", "57L": "left parking lamp",
    "57R": "right parking lamp",
    "58": "side, tail, plate and panel lamps", "58L": "left side lamps", "58R": "right side lamps",
    "58d": "panel lamps, dimmed", "61": "charging tell-tale", "75": "radio and cigar lighter",
    "85": "relay coil, earth end", "86": "relay coil, live end",
    "87": "relay, common contact", "87a": "relay, closed at rest", "87b": "relay, closed when pulled in",
    "88": "make contact, in", "88a": "make contact, out",
}
# Live by their number, and earth by it: 30 straight from the battery, 15 behind the ignition switch, 49 as the
# flasher unit's input.
LIVE: Final = ("30", "30a", "15", "15a", "49")
EARTH: Final = ("31",)

# (from, to, closed when pulled in) of a relay's contacts by numbering and kind.
RELAY_CONTACTS: Final[dict[tuple[str, str], tuple[tuple[str, str, bool], ...]]] = {
    ("ISO 7588", "make"): (("30", "87", True),),
    ("ISO 7588", "break"): (("30", "87a", False),),
    ("ISO 7588", "change-over"): (("30", "87", True), ("30", "87a", False)),
    ("DIN 72552", "make"): (("88", "88a", True),),
    ("DIN 72552", "break"): (("87", "87a", False),),
    ("DIN 72552", "change-over"): (("87", "87b", True), ("87", "87a", False)),
}
