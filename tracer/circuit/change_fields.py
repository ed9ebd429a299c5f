"""What is known of each field of a change: how two are merged, what it names, where it is applied."""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from typing import Any, Final, Literal

from msgspec import Struct

# What the entries of a field of `Change` name: each is a name, or begins with one; a path has two ends.
Names = Literal["", "branch", "port", "path"]
Named = Literal["branch", "port", "node", "through"]


class FieldRow(Struct, frozen=True):
    """What is known of one field of `Change`.

    Attributes:
        merge: Of its values in two changes, what stands in both at once.
        names: What of the circuit its entries name; only these can lie in a part of it, go with a lamp that changes
            places, and be gone when what they name is renewed.
        of_supply: Whether it is a matter of the battery alone, which goes on beside whatever is done.
        in_table: Whether, done on purpose, it alters what a fault is, and so is applied to the rows of faults.
    """

    merge: Callable[[Any, Any], Any] = operator.add
    names: Names = ""
    of_supply: bool = False
    in_table: bool = False


def higher(one: tuple[tuple[str, float], ...], two: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    """Where both set a branch, the higher resistance stands."""
    ohms = dict(one)
    for name, ohm in two:
        ohms[name] = max(ohm, ohms.get(name, 0.0))
    return tuple(ohms.items())


def either(one: Any, two: Any) -> Any:
    """What one of them says, where the other says nothing."""
    return one or two


# What is known of each field of `Change`, in their order.
CHANGE_ROWS: Final[Mapping[str, FieldRow]] = {
    "set_ohm": FieldRow(higher, "branch"),
    "added": FieldRow(names="path"),
    "dead": FieldRow(names="port"),
    "scaled": FieldRow(names="port"),
    "emf_factor": FieldRow(operator.mul, of_supply=True),
    "removed": FieldRow(),
    "lamps": FieldRow(),
    "swapped": FieldRow(in_table=True),
    "disconnected": FieldRow(either, of_supply=True),
    "ohmmeter": FieldRow(either),
    "running_factor": FieldRow(operator.mul, of_supply=True),
    "battery_ohm": FieldRow(operator.add, of_supply=True),
    "contacts": FieldRow(names="branch"),
    "inverted": FieldRow(names="branch"),
    "ratings": FieldRow(names="branch"),
    "light": FieldRow(names="port"),
    "flasher_load": FieldRow(operator.mul),
    "renewed": FieldRow(in_table=True),
}
