"""What a job will take, in words, and as plain values."""

from __future__ import annotations

from typing import Any, Final

from tracer.planning.estimate import Estimate
from tracer.present.text_lines import wrap
from tracer.units import minutes, percent

_MOST: Final = 4
_WORTH: Final = 0.01


def estimate_lines(e: Estimate, width: int) -> list[str]:
    """The lines for a terminal; these are working minutes by the tables of the tool, no promise."""
    lines = wrap(
        f"To a proven repair: about {minutes(e.minutes)} more; in four of five jobs like this between "
        f"{minutes(e.low)} and {minutes(e.high)}.", width, "", "  ")
    parts = "; ".join(f"{needs} {percent(p)}" for needs, p in e.parts[:_MOST])
    lines += wrap(parts or "nothing", width, "may be needed: ", "  ")
    if e.dearest is not None:
        lines += wrap(
            f"{e.dearest.repair} ({percent(e.dearest.share)}), about {minutes(e.dearest.minutes)}; needs "
            f"{e.dearest.needs}", width, "dearest plausible case: ", "  ")
    if e.given_up >= _WORTH:
        lines += wrap(f"in {percent(e.given_up)} of them it has to be traced by hand: counted too", width, "", "  ")
    return [*lines, "(working minutes at the vehicle, without breaks or the way to fetch parts)"]


def estimate_data(e: Estimate) -> dict[str, Any]:
    """The same for other programs."""
    case = e.dearest
    return {
        "minutes": e.minutes, "minutes_10_percent": e.low, "minutes_90_percent": e.high,
        "parts": [{"needs": n, "probability": p} for n, p in e.parts], "traced_by_hand": e.given_up,
        "dearest_plausible": None if case is None else {
            "repair": case.repair, "share": case.share, "minutes": case.minutes, "needs": case.needs},
    }
