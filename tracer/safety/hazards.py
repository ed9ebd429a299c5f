"""Which hazards go with each kind of test, each thing done on purpose, and each kind of fault that is repaired.

This is the one place that names them; `rules` says what each asks for.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

KIND_HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    "look": (), "volts": ("probe",), "drop": ("probe",), "ohms": (), "test lamp": ("probe", "draws current"),
    "LED tester": ("probe",), "current": ("clamp",), "inspect": (), "wiggle": ("wires moved",),
}
ACTION_HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    "unplug": ("plug",), "pull fuse": (), "new fuse": ("new fuse",), "take out lamp": ("lamp in the hand",),
    "earth lead": ("lead",), "feed lead": ("lead",), "swap lamps": ("lamp in the hand",),
    "part splice": ("bare ends",), "take wires off": ("bare ends",), "disconnect battery": ("battery lead off",),
}
_LAMP: Final = ("lamp in the hand", "lamp fitted")
_LEAD_OFF: Final = ("battery lead off",)
_JOINING: Final = ("battery lead off", "heat", "wire renewed")
# Kinds of fault whose repair is not done with the battery's earthed lead off and nothing else.
FAULT_HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    **dict.fromkeys(("filament open", "filaments bridged", "wrong lamp", "lamp missing", "single lamp for twin",
                     "twin lamp for single", "LED fitted", "LED fitted reversed"), _LAMP),
    **dict.fromkeys(("lamp turned round", "lamps exchanged", "holder bad", "holder open"), ("lamp in the hand",)),
    **dict.fromkeys(("fuse blown", "wrong fuse"), ("new fuse",)), "clip bad": ("battery lead off", "new fuse"),
    "lamp unit wet": ("battery lead off", "lamp in the hand"),
    **dict.fromkeys(("connector unplugged",), ("plug",)),
    **dict.fromkeys(("way bad", "way open", "ways crossed", "ways joined", "connector wet"),
                    ("battery lead off", "plug")),
    **dict.fromkeys(("wire open", "wire bad", "wire to body", "wires joined", "splice bad", "splice open",
                     "splice leg bad", "splice leg open", "strap bad", "strap open"), _JOINING),
    **dict.fromkeys(("added load", "added joint", "added feed"), ("battery lead off", "wire renewed")),
    "battery low": ("battery lead off", "charging"), "not charging": ("battery lead off", "charging"),
    "charging too high": ("battery lead off", "charging"), "battery terminal bad": _LEAD_OFF,
}
TRACE_HAZARDS: Final = ("battery lead off", "probe", "lead", "new fuse", "plug")


def of_fault(kind: str) -> tuple[str, ...]:
    """Hazards of the repair of a kind of fault."""
    return FAULT_HAZARDS.get(kind, _LEAD_OFF)
