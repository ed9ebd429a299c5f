"""Whether the vehicle may be driven as it leaves: what is still open, as local law says."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from tracer.harness.lamp_purposes import lamp_purposes
from tracer.harness.model import Harness

# Lamps without which a vehicle is not let onto a road. (Common practice, no source; local law decides.)
NEEDED: Final = frozenset({"stop", "indicator left", "indicator right", "side", "dipped", "number plate"})
APPROVED: Final = "Lamps that were or will be fitted: only those of the category approved for that place."


def not_for_the_road(harness: Harness, wrong: Iterable[str]) -> str:
    """What is said of a vehicle that leaves while these lamps are not known to work."""
    purposes, lamps = lamp_purposes(harness), list(dict.fromkeys(wrong))
    needed = [lamp for lamp in lamps if purposes.get(lamp, frozenset()) & NEEDED]
    if needed:
        return (f"Not for the road until stop, direction and side lamps work, as local law says; not proven to work: "
                f"{', '.join(needed)}.")
    if lamps:
        return f"Not proven to work: {', '.join(lamps)}. Whether it may be driven so, local law says."
    return "Not for the road until stop, direction and side lamps are seen to work, as local law says."
