"""The signs of a chain of devices: their rows of the table, and the words beside them."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from tracer.harness.devices import Device, Diode, Filament, SwitchContact, ends
from tracer.harness.model import Part
from tracer.present.drawing.chains import Chain
from tracer.present.drawing.lettering import width_of
from tracer.present.drawing.signs import LINE, SIZE, Look
from tracer.present.drawing.symbols import Symbol, symbol_of

GAP = 5.0  # between two signs one below the other


class Sign(Struct, frozen=True):
    """One device of a chain: its row of the table, and the lines beside it."""

    device: Device
    symbol: Symbol
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        return max(self.symbol.height, LINE * len(self.lines) if len(self.lines) > 1 else 0.0)

    @property
    def width(self) -> float:
        """Of the lettering beside it, from the line."""
        return self.symbol.half + 3 + max((width_of(t, SIZE) for t in self.lines), default=0.0)


def signs_of(chain: Chain, part: Part, look: Look) -> tuple[Sign, ...]:
    """The signs of a chain in its order; what lies across it is told beside the first."""
    found = []
    for n, device in enumerate(chain.signs):
        symbol = symbol_of(device, part)
        lines = symbol.says(device, part, look)
        if chain.across and n == 0:
            told = "diode" if any(isinstance(d, Diode) for d in chain.across) else "resistor"
            lines = (f"{lines[0]} + {told}", *lines[1:])
        found.append(Sign(device, symbol, lines))
    return tuple(found)


def need_of(signs: Sequence[Sign]) -> float:
    """The least height of signs one below the other."""
    return sum(s.height for s in signs) + GAP * (len(signs) - 1)


def said_alone(signs: Sequence[Sign]) -> list[str]:
    """The words of a part's only chain, as they stand below the part's name."""
    # Alone, a bare position would read as the one in which the switch stands.
    return [f"closed: {line}" if isinstance(s.device, SwitchContact) else line for s in signs for line in s.lines]


def markable(chain: Chain) -> tuple[str, ...]:
    """The names under which what is in a chain may be suspected."""
    return (*chain.names, *(d.lamp for d in chain.devices if isinstance(d, Filament)))


def first_end(chain: Chain, device: Device) -> str:
    """The end of a device that comes first in its chain."""
    node = chain.start
    for d in chain.devices:
        a, b = ends(d)
        if node not in (a, b):  # a contact that is drawn with another chain lies between
            node = a
        if d is device:
            break
        node = b if node == a else a
    return node
