"""What a fault is, and how the generators make one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracer.circuit.model import OPEN_OHM, Change
from tracer.harness.base_rates import RATES, RENEWS_NOTHING, SEVERITIES


@dataclass(frozen=True)
class Variant:
    """One severity of a fault; `weight`s of a fault's variants sum to one."""

    weight: float
    change: Change
    says: str = ""


@dataclass(frozen=True)
class Fault:
    """One physical defect.

    Attributes:
        name: Unique, readable: "earth open: E3".
        kind: Key of `base_rates.RATES`.
        says: What is wrong, in words.
        repair: What one would do; faults with the same repair are counted together.
        repair_min: Minutes for the repair, access excluded.
        rate: Relative base rate.
        node: Where a probe or an eye goes first.
        across: The two terminals whose volt drop confirms it, if it has any.
        needs: Parts and tools for the repair.
        comes_and_goes: Probability that it is a loose contact rather than a lasting fault.
        source: Where its base rate comes from.
        renews: Whether the repair renews or remakes something, rather than cleaning or refitting it.
    """

    name: str
    kind: str
    says: str
    repair: str
    repair_min: float
    rate: float
    variants: tuple[Variant, ...]
    node: str
    across: tuple[str, str] | None = None
    elements: tuple[str, ...] = ()
    needs: str = ""
    comes_and_goes: float = 0.0
    source: str = ""
    renews: bool = True


def fault(
    kind: str, element: str, says: str, repair: str, variants: Sequence[Variant], node: str,
    across: tuple[str, str] | None = None, elements: tuple[str, ...] = (), minutes: float | None = None,
) -> Fault:
    """A fault of a kind in the table; what the table says of the kind is taken from there. With `minutes` of its
    own the repair is another than usual, and taken to renew something."""
    rate = RATES[kind]
    return Fault(
        f"{kind}: {element}", kind, says, repair, rate.repair_min if minutes is None else minutes, rate.rate,
        tuple(variants), node, across, elements or (element,), rate.needs, rate.comes_and_goes,
        rate.source, kind not in RENEWS_NOTHING or minutes is not None,
    )


def sure(change: Change, says: str = "") -> tuple[Variant, ...]:
    """The only severity there is."""
    return (Variant(1.0, change, says),)


def opened(*names: str) -> tuple[Variant, ...]:
    return sure(Change.of(tuple([(n, OPEN_OHM) for n in names])), "open")


def resistive(*names: str, grid: Sequence[tuple[float, float]] = SEVERITIES) -> tuple[Variant, ...]:
    return tuple([Variant(w, Change.of(tuple([(n, ohm) for n in names])), f"about {ohm:g} Ω") for ohm, w in grid])
