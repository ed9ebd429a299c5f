"""Which hazards go with the repair of each kind of fault, and with tracing by hand; those of tests and of what is
done on purpose stand in their rows. `rules` says what each asks for.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from tracer.harness.base_rates import DEVIATION_CHANCE

_LAMP: Final = ("hot lamp", "lamp fitted")
_LEAD_OFF: Final = ("battery lead off",)
_JOINING: Final = ("battery lead off", "heat", "wire renewed")
# Kinds of fault whose repair is not done with the battery's earthed lead off and nothing else.
FAULT_HAZARDS: Final[Mapping[str, tuple[str, ...]]] = {
    **dict.fromkeys(("filament open", "filaments bridged", "wrong lamp", "lamp missing", "single lamp for twin",
                     "twin lamp for single", "LED fitted", "LED fitted reversed", "both lamps dead"), _LAMP),
    **dict.fromkeys(("lamp turned round", "lamps exchanged", "holder bad", "holder open", "holder corroded"),
                    ("hot lamp",)),
    "holders shorted": ("battery lead off", "hot lamp", "fuse in a short"),
    "holder shorted": ("battery lead off", "hot lamp", "fuse in a short"),
    **dict.fromkeys(("fuse blown", "wrong fuse"), ("fuse in a short",)),
    **dict.fromkeys(("clip bad", "clip open", "relay coil shorted"), ("battery lead off", "fuse in a short")),
    "lamp unit wet": ("battery lead off", "hot lamp"),
    **dict.fromkeys(("connector unplugged",), ("plug or fuse pulled",)),
    **dict.fromkeys(("way bad", "way open", "ways crossed", "ways joined", "connector wet"),
                    ("battery lead off", "plug or fuse pulled")),
    **dict.fromkeys(("bullet bad", "bullet out", "block bad", "bullet in the wrong block", "bullets changed over"),
                    ("battery lead off", "bare ends")),
    **dict.fromkeys(("wire open", "wire bad", "wire to body", "wires joined", "splice bad", "splice open",
                     "splice leg bad", "splice leg open", "strap bad", "strap open", "old repair bad",
                     "old repair open", "earth cut"), _JOINING),
    "stray live end": ("battery lead off", "bare ends"),
    **dict.fromkeys(("added load", "added joint", "added feed", "switch bypassed"),
                    ("battery lead off", "wire renewed")),
    "battery low": ("battery lead off", "charging"), "not charging": ("battery lead off", "charging"),
    "charging too high": ("battery lead off", "charging"), "battery terminal bad": _LEAD_OFF,
}
TRACE_HAZARDS: Final = (
    "battery lead off", "probe at live contacts", "unfused lead", "fuse in a short", "plug or fuse pulled",
)


def of_fault(kind: str) -> tuple[str, ...]:
    """Hazards of the repair of a kind of fault."""
    return () if kind in DEVIATION_CHANCE else FAULT_HAZARDS.get(kind, _LEAD_OFF)
