"""What the workshop's memory says, in words: of a suspect, and of itself."""

from __future__ import annotations

from typing import Any

from tracer.inference.diagnosis import Suspect
from tracer.memory.posterior import Rates, most_moved

_KINDS = 6


def seen_words(rates: Rates, suspect: Suspect) -> str:
    """How often what is suspected was found here: "seen 7 times in 212 jobs here"."""
    said = []
    for kind in dict.fromkeys(f.kind for f in suspect.best.defects):
        n, alike = rates.seen.get(kind, 0.0), rates.alike.get(kind, 0.0)
        often = "not seen" if n < 0.5 else f"seen {times(n)}"
        where = f", {times(alike)} on such a vehicle" if 0.5 <= alike < n - 0.4 else ""
        factor = rates.factor.get(kind, 1.0)
        now = "the shipped rate holds" if 0.95 < factor < 1.05 else f"taken as {factor:.2g} times the shipped rate"
        said.append(f"“{kind}” {often} in {jobs(rates.jobs)} here{where}; {now}")
    return "; ".join(said)


def memory_words(rates: Rates) -> str:
    """What is behind the rates, and which of them moved most."""
    out = f"{jobs(rates.jobs)} of this workshop"
    other = [f"{n} {what}" for n, what in ((rates.not_described, "not described by the harness file"),
                                           (rates.given_up, "given up")) if n]
    out += f" ({', '.join(other)})" if other else ""
    moved = [f"{kind} × {factor:.2g}" for kind, factor in most_moved(rates)[:_KINDS]]
    return out + (f"; base rates by that: {', '.join(moved)}" if moved else "; no base rate moved by it yet")


def memory_data(rates: Rates) -> dict[str, Any]:
    """The same as plain values for other programs."""
    return {
        "jobs": rates.jobs, "not_described": rates.not_described, "given_up": rates.given_up,
        "undescribed_share_at_the_start": rates.undescribed, "seen": dict(sorted(rates.seen.items())),
        "rate_factors": dict(most_moved(rates)),
    }


def times(n: float) -> str:
    """A number of finds: some are shared between kinds that are mended alike."""
    whole = round(n)
    said = {1: "once", 2: "twice"}.get(whole, f"{whole} times")
    return said if abs(n - whole) < 0.05 else f"about {said}"


def jobs(n: int) -> str:
    return f"{n} job{'s' * (n != 1)}"
