"""What kind of vehicle a harness belongs to, and how its engine is lit: both decide what is safe at it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

VEHICLES: Final[Mapping[str, str]] = {
    "car": "a car", "van": "a van or pick-up", "lorry": "a lorry", "bus": "a bus or coach",
    "tractor": "a tractor or other machine with a power take-off", "motorcycle": "a motorcycle or moped",
    "trailer": "a trailer without living quarters",
    "caravan": "a caravan or motor caravan: mains, second battery, gas",
}
IGNITIONS: Final[Mapping[str, str]] = {
    "contact breaker": "points: with the engine stopped the coil overheats while the ignition is on",
    "electronic": "no points", "none": "no spark ignition: a diesel engine, or no engine",
}
# Words of a title that name a kind, where the file does not.
_TITLE_WORDS: Final[Mapping[str, str]] = {
    "motorcycle": "motorcycle", "motorbike": "motorcycle", "moped": "motorcycle", "scooter": "motorcycle",
    "lorry": "lorry", "truck": "lorry", "bus": "bus", "coach": "bus", "tractor": "tractor", "caravan": "caravan",
    "motorhome": "caravan", "trailer": "trailer", "van": "van", "pickup": "van", "pick-up": "van", "car": "car",
    "saloon": "car", "estate": "car",
}
# Words of controls that can drive or roll a vehicle. (Common practice, no source.)
DRIVING_WORDS: Final = frozenset({"gear", "gears", "gearbox", "gearlever", "gearshift", "transmission", "selector"})
ROLLING_WORDS: Final = frozenset({"handbrake", "parkbrake"})
ROLLING_PAIRS: Final = (frozenset({"parking", "brake"}), frozenset({"hand", "brake"}), frozenset({"park", "brake"}))
CRANKING_WORDS: Final = frozenset({"start", "starter", "starting", "crank", "cranking"})


def kinds_in_title(title: str) -> tuple[str, ...]:
    """The kinds of vehicle that a title's words name."""
    words = title.casefold().replace(",", " ").split()
    return tuple(dict.fromkeys(_TITLE_WORDS[w] for w in words if w in _TITLE_WORDS))

# The side of the road it is driven on, which says what is near side and off side; the first where nothing is said.
TRAFFIC: Final = ("keeps left", "keeps right")
