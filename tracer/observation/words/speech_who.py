"""Which lamps were spoken of, word by word as it was said."""

from __future__ import annotations

from msgspec import Struct, field


class Who(Struct):
    """What was said of which lamps, part by part, as it was said."""

    said: list[str] = field(default_factory=list)
    sides: list[str] = field(default_factory=list)
    ends: list[str] = field(default_factory=list)
    functions: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)  # other words of the harness's names
    noun: bool = False
    plural: bool = False
    quantity: str = ""
    other: bool = False  # "the other side"
    that: bool = False  # "that reverse light"
    one: bool = False  # "the back one"
    own: bool = False  # the vehicle's, not its trailer's
    exact: tuple[str, ...] = ()  # a lamp's own name
    joined: bool = False  # to the one before, by "and" or a comma
    colour: str = ""  # of a tell-tale

    @property
    def empty(self) -> bool:
        return not (self.functions or self.names or self.exact or self.noun or self.whole)

    @property
    def place_only(self) -> bool:
        return self.empty and bool(self.sides or self.ends or self.other)

    @property
    def whole(self) -> bool:
        return self.quantity in ("everything", "nothing")

    @property
    def of_those(self) -> bool:
        """"They all work": those that were spoken of."""
        return self.quantity in ("all", "both", "each") and self.empty and not (
            self.sides or self.ends or self.other or self.own)

    @property
    def words(self) -> str:
        return " ".join(self.said)
