"""Rows that are about things built alike: what one of them shows is what all show, each at its own place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar, Protocol, Self, TypeVar

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import Bools, Floats, Ints, Setup
from tracer.circuit.twins import Alike, Twins

Asked = Sequence[tuple[Setup, ChangeTable]]


class _Lights(Protocol):
    """As `forward_model.Panel`."""

    __struct_fields__: ClassVar[tuple[str, ...]]

    def __replace__(self, /, **changes: Any) -> Self: ...

    @property
    def flux(self) -> Floats: ...

    @property
    def least(self) -> Floats: ...

    @property
    def blown(self) -> Bools: ...

    @property
    def blow_s(self) -> Floats: ...


Panel = TypeVar("Panel", bound=_Lights)


def each_once(
    asked: Asked, solve: Callable[[Asked], list[Panel]], twins: Twins, lamp_of: Ints
) -> list[Panel]:
    """What `solve` finds, of rows that are images of each other one for all. `lamp_of` (P,): the lamp of each port,
    −1 for none."""
    alike = [twins.alike(*one) for one in asked]
    found = solve([(s, t if x is None else t.rows(x.first)) for (s, t), x in zip(asked, alike, strict=True)])
    return [p if x is None else _spread(p, x, lamp_of) for p, x in zip(found, alike, strict=True)]


def _spread(panel: Panel, alike: Alike, lamp_of: Ints) -> Panel:
    flux = alike.of_ports(panel.flux, lamp_of)
    moved = {
        "flux": flux, "least": flux if panel.least is panel.flux else alike.of_ports(panel.least, lamp_of),
        "blown": alike.of_fuses(panel.blown), "blow_s": alike.of_fuses(panel.blow_s),
    }
    others = {n: getattr(panel, n)[alike.of] for n in panel.__struct_fields__ if n not in moved}
    return panel.__replace__(**moved, **others)
