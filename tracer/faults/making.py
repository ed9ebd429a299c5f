"""What a fault is, and how the generators make one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import ClassVar

from msgspec import Struct

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.errors import TracerError
from tracer.harness.base_rates import RATES, RENEWS_NOTHING, SEVERITIES, brought
from tracer.harness.partly_compared import PartlyCompared


class Variant(Struct, frozen=True):
    """One severity of a fault; `weight`s of a fault's variants sum to one.

    `severity`: how bad, as a number in the unit of its fault (mostly Ω); None where there are no degrees.
    """

    weight: float
    change: Change
    says: str = ""
    severity: float | None = None


class Scale(Struct, frozen=True):
    """A fault's severities as a continuum, of which its variants are samples.

    Attributes:
        change: What a severity does to the circuit.
        unit: Of the severity: "Ω", "W", or "" for a share.
        low, high: Between these the severity lies; beyond them it is another fault, or none.
        wording: Says a severity, like "about {:.2g} Ω".
    """

    change: Callable[[float], Change]
    unit: str
    low: float
    high: float
    wording: str

    def variant(self, severity: float, weight: float = 0.0) -> Variant:
        return Variant(weight, self.change(severity), self.wording.format(severity), severity)


class Rewired(Struct, frozen=True):
    """How the wiring is where a deviation holds: what the file of this vehicle has to say instead.

    Attributes:
        line: The wire, or the part, of which the file says otherwise; "" where it says nothing.
        run: The wire's run.
        earth: The earth point that the part is bolted to.
        bolt: A new earth point that the run leads to.
        beside: Lengths of wire whose loss it makes good.
    """

    line: str
    run: tuple[str, ...] = ()
    earth: str = ""
    bolt: str = ""
    beside: tuple[str, ...] = ()


class Fault(PartlyCompared, frozen=True):
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
        scale: Its severities as a continuum, if it has any.
        rewired: Of a deviation of the wiring, which is no fault, how it is wired; then `rate` is its odds against
            the line as the file has it.
    """

    UNCOMPARED: ClassVar = ("scale",)

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
    scale: Scale | None = None
    rewired: Rewired | None = None

    def at(self, severity: float) -> Variant:
        """The fault at any severity between its grid's points, in the unit of its scale. Its weight is 0: what the
        variants' weights stand for is the range between their neighbours, and a point has none of it.

        Raises:
            TracerError: The fault knows no degrees, or not this one.
        """
        if self.scale is None:
            raise TracerError(f"“{self.name}” knows no degrees")
        if not self.scale.low <= severity <= self.scale.high:
            raise TracerError(f"“{self.name}” at {severity:g} {self.scale.unit}".rstrip() + " cannot be",
                              f"from {self.scale.low:g} to {self.scale.high:g}")
        return self.scale.variant(severity)


class Graded(Struct, frozen=True):
    """The severities of a fault: a scale, and the points of it that are simulated from the start."""

    scale: Scale
    variants: tuple[Variant, ...]


def fault(
    kind: str, element: str, says: str, repair: str, variants: Sequence[Variant] | Graded, node: str,
    across: tuple[str, str] | None = None, elements: tuple[str, ...] = (), minutes: float | None = None,
) -> Fault:
    """A fault of a kind in the table; what the table says of the kind is taken from there. With `minutes` of its
    own the repair is another than usual, and taken to renew something."""
    if kind not in RATES:
        raise TracerError(f"no base rate for faults of the kind “{kind}”", "a row in RATES of harness/base_rates.py")
    rate = RATES[kind]
    scale, points = (variants.scale, variants.variants) if isinstance(variants, Graded) else (None, tuple(variants))
    return Fault(
        f"{kind}: {element}", kind, says, repair, rate.repair_min if minutes is None else minutes, brought(kind),
        points, node, across, elements or (element,), rate.needs, rate.comes_and_goes,
        rate.source, kind not in RENEWS_NOTHING or minutes is not None, scale,
    )


def sure(change: Change, says: str = "") -> tuple[Variant, ...]:
    """The only severity there is."""
    return (Variant(1.0, change, says),)


def opened(*names: str) -> tuple[Variant, ...]:
    return sure(Change(tuple([(n, OPEN_OHM) for n in names])), "open")


def graded(
    change: Callable[[float], Change], grid: Iterable[tuple[float, float]], wording: str = "about {:.3g} Ω",
    unit: str = "Ω", beyond: float = 10.0,
) -> Graded:
    """Severities at the points of a grid of (severity, weight). `beyond`: how far the scale goes on past its ends, as
    a factor."""
    points = list(grid)
    ends = [x for x, _ in points]
    scale = Scale(change, unit, min(ends) / beyond, max(ends) * beyond, wording)
    return Graded(scale, tuple([scale.variant(x, w) for x, w in points]))


def resistive(*names: str, grid: Sequence[tuple[float, float]] = SEVERITIES) -> Graded:
    """A bad joint, or several that are equally bad."""
    return graded(lambda ohm: Change(tuple([(n, ohm) for n in names])), grid)


def in_common(legs: tuple[str, ...]) -> Graded:
    """A bad joint of several wires: its resistance lies between any two of them, half of it at each. (All of it at
    each would set it apart from every other bad joint of its circuit, by nothing but the steps of severity.)"""
    return graded(lambda ohm: Change(tuple([(n, ohm / 2) for n in legs])), SEVERITIES,
                  "about {:.3g} Ω from wire to wire")


def leak(
    a: str, b: str, grid: Sequence[tuple[float, float]], through: str = "", wording: str = "about {:.3g} Ω"
) -> Graded:
    """A path that does not belong there; `through` as in `AddedBranch`."""
    return graded(lambda ohm: Change(added=(AddedBranch(a, b, ohm, through),)), grid, wording)
