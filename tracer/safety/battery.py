"""The battery's leads by name: which pole is earthed on this vehicle, and in which order leads come off and go on."""

from __future__ import annotations

from tracer.harness.model import Harness
from tracer.harness.node import node_of


def earthed_pole(harness: Harness) -> str:
    """The pole that is earthed on this vehicle."""
    return "plus" if harness.positive_earth else "minus"


def batteries(harness: Harness) -> tuple[str, ...]:
    """Names of the batteries, the one with the earthed pole first."""
    first = node_of(harness.poles()[1]).owner
    named = [p.name for p in harness.parts.values() if p.kind == "battery"]
    return tuple(sorted(named, key=lambda n: n != first))


def earthed_lead(harness: Harness, first: bool = False) -> str:
    """The earthed lead in words. `first`: in a sentence that goes on with "off first"."""
    pole, names = earthed_pole(harness), batteries(harness)
    if len(names) > 1:
        others = "the lead of " + " and ".join(names[1:])
        lead = f"the {pole} lead of {names[0]}"
        return f"{lead}, then {others}," if first else f"both batteries ({pole} lead of {names[0]} first)"
    return f"the {pole} lead" if first else f"the battery's {pole} lead"


def lead_off(harness: Harness) -> str:
    """How the battery is taken off for a step."""
    pole, names = earthed_pole(harness), batteries(harness)
    if len(names) > 1:
        return (f"Take both batteries off: the {pole} lead of {names[0]} first ({pole} is earthed here), then the "
                f"lead of {' and '.join(names[1:])}.")
    return f"Take the battery's {pole} lead off ({pole} is earthed here) and keep it clear of the post."


def lead_on(harness: Harness) -> str:
    """How the battery is put back for a live step."""
    pole, names = earthed_pole(harness), batteries(harness)
    if len(names) > 1:
        return f"Batteries on again: the {pole} lead of {names[0]} (earthed) last."
    return f"Battery on again: its {pole} lead back on."


def still_off(harness: Harness) -> str:
    """What is said where the battery is off already."""
    pole, names = earthed_pole(harness), batteries(harness)
    return f"The {'batteries stay' if len(names) > 1 else 'battery stays'} off ({pole} lead)."
