"""Tell-tales by the colour of their light, as drivers know them: "the blue one on the dash", "the green arrow"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from tracer.observation.words.words import name_words, singular, word_set

# Colour → words in the names of tell-tales that may have it. Main beam blue, indicators and position lamps green,
# rear fog lamp yellow, brakes, charging and hazard warning red: UN R121, its table of symbols and colours (memory).
# All other words, and that older vehicles show worn pads in red: common practice, no source.
_AMBER: Final = word_set("fog pad pads lining abs fuel choke glow preheater bulb lamp engine")
COLOURS: Final[Mapping[str, frozenset[str]]] = {
    "blue": word_set("main high beam full"),
    "green": word_set("indicator turn direction flasher trailer side position dip dipped sidelight"),
    "red": word_set("brake handbrake parking pad pads lining hazard charge charging battery alternator dynamo "
                    "generator ignition oil belt temperature water"),
    **dict.fromkeys(("amber", "orange", "yellow"), _AMBER),
}
_ANYWHERE: Final = frozenset({"blue", "green"})  # no lamp outside a vehicle has that colour
_SHOWN: Final = word_set(
    "light lamp one arrow warning symbol telltale indicator brake main beam flasher fog turn led")
_DASH: Final = word_set(
    "dash dashboard panel instrument instruments speedo speedometer cluster warning telltale clocks")
_WARNED: Final = word_set("handbrake parking charge charging ignition oil hazard abs")  # only instruments tell of it
_OUTSIDE: Final = word_set("front rear back tail head trailer caravan wire wires")


def colour_at(words: Sequence[str], at: int) -> str:
    """The colour that is said of a tell-tale at a word; "" if it is none, or that of another lamp."""
    colour = words[at]
    if colour not in COLOURS or not any(singular(w) in _SHOWN for w in words[at + 1:at + 4]):
        return ""
    near = {*words[max(at - 3, 0):at + 8]}
    if _WARNED & {*words[at + 1:at + 3]} or words[at + 2:at + 3] == ["for"]:  # "orange light for the fog"
        return colour
    if colour in _ANYWHERE:
        return "" if _OUTSIDE & {*words[at + 1:at + 7]} and not _DASH & near else colour
    return colour if _DASH & near else ""


def shines(lamp: str, colour: str) -> bool:
    """Whether a tell-tale may have a colour, by its name. That of an indicator may be called by its side alone."""
    said = name_words(lamp) - {"tell", "tale", "telltale", "lamp", "light"}
    sided = colour == "green" and said <= {"left", "right"}
    return sided or bool(COLOURS[colour] & said)
