"""One row for each class of device: the sign for it inside a part, its room, and what is written beside it.

A device that has no row here is drawn as a box with its name, so that nothing is missing from a picture.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FlasherContact,
    FuseLink,
    Joint,
    LedLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import Part
from tracer.present.drawing.canvas import INK, PAPER, Canvas
from tracer.present.drawing.lettering import clean, shorten, wrap
from tracer.present.drawing.signs import SIZE, Look, draw_dot, draw_lamp, draw_led, draw_wire

_LONGEST: Final = 18.0  # of a rectangle
_ROUND: Final = 7.0  # radius of a lamp or a motor between contacts
_STATE: Final = 84.0  # of a line that says what a lamp does: "flashing" comes last and counts most


class Stand(Struct, frozen=True):
    """Where a sign stands: on a vertical line at `x` from `y1` down to `y2`."""

    canvas: Canvas
    x: float
    y1: float
    y2: float
    look: Look
    live: bool
    suspect: bool
    first_above: bool  # the device's first end is the upper one

    @property
    def width(self) -> float:
        return 2.2 if self.live else 1.2

    @property
    def middle(self) -> float:
        return (self.y1 + self.y2) / 2

    def leads(self, up: float, down: float) -> None:
        """The line above and below a sign that reaches so far up and down from the middle."""
        self.canvas.line([(self.x, self.y1), (self.x, max(self.y1, self.middle - up))], self.width)
        self.canvas.line([(self.x, min(self.y2, self.middle + down)), (self.x, self.y2)], self.width)


def _nothing(_device: Any, _part: Part, _look: Look) -> tuple[str, ...]:
    return ()


class Symbol(Struct, frozen=True):
    """How a device is drawn.

    Attributes:
        draw: Draws its sign.
        says: What is written beside the sign, line by line.
        height: The least room along the line, in points.
        half: How far the sign reaches to either side of the line.
    """

    draw: Callable[[Any, Stand], None]
    says: Callable[[Any, Part, Look], tuple[str, ...]] = _nothing
    height: float = 13.0
    half: float = 4.0


def symbol_of(device: Device, part: Part) -> Symbol:
    """The row of a device; of an unknown class, a box with its name."""
    if isinstance(device, Resistor) and device.role == "motor":
        return _MOTOR
    return SYMBOLS.get(type(device), UNKNOWN)


def class_words(device: object) -> str:
    """The class of a device in words: "switch contact"."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(device).__name__).lower()


# Signs -------------------------------------------------------------------------------------------


def _blade(device: SwitchContact | RelayContact | FlasherContact, s: Stand) -> None:
    canvas, x = s.canvas, s.x
    top = (x, s.y1 + 2) if s.look.closed(device) else (x - 6, s.y1 + 1.5)
    if s.suspect:
        canvas.line([(x, s.y2), top], 5.0, INK, (4.0, 2.5))
        canvas.line([(x, s.y2), top], 2.0, PAPER)
    canvas.line([(x, s.y2), top], max(s.width, 1.5))
    canvas.circle((x, s.y1 + 1), 1.7, PAPER, INK, 1.0)
    canvas.circle((x, s.y2), 1.7, INK, INK, 0.5)


def _rectangle(s: Stand) -> Stand:
    """A rectangle on the line, not drawn out longer than is usual; returns where it stands."""
    body = s
    if s.y2 - s.y1 > _LONGEST:
        s.leads(_LONGEST / 2, _LONGEST / 2)
        body = replace(s, y1=s.middle - _LONGEST / 2, y2=s.middle + _LONGEST / 2)
    s.canvas.rect(s.x - 4, body.y1, 8, body.y2 - body.y1, PAPER, INK, s.width)
    return body


def _resistor(device: Resistor, s: Stand) -> None:
    s = _rectangle(s)
    if device.works_contacts:
        s.canvas.line([(s.x - 4, s.y2 - 6), (s.x + 4, s.y1 + 6)], 1.0)


def _motor(_device: Resistor, s: Stand) -> None:
    s.leads(_ROUND, _ROUND)
    s.canvas.circle((s.x, s.middle), _ROUND, PAPER, INK, s.width)
    s.canvas.text(s.x, s.middle, "M", SIZE, "middle")


def _dimmer(_device: Dimmer, s: Stand) -> None:
    s = _rectangle(s)
    s.canvas.line([(s.x - 7, s.y2 - 2), (s.x + 7, s.y1 + 2)], 1.0)
    tip = [(s.x + 7, s.y1 + 2), (s.x + 3, s.y1 + 2.5), (s.x + 5.5, s.y1 + 5.5)]
    s.canvas.polygon(tip, INK, INK, 0.5)


def _fuse(_device: FuseLink, s: Stand) -> None:
    _rectangle(s)
    s.canvas.line([(s.x, s.y1), (s.x, s.y2)], 1.0)


def _diode(device: Diode, s: Stand) -> None:
    canvas, x = s.canvas, s.x
    if device.role == "buzzer":
        s.leads(6, 4)
        arc = [(x + 8 * math.cos(math.radians(t)), s.middle + 4 - 10 * math.sin(math.radians(t)))
               for t in range(0, 181, 15)]
        canvas.polygon(arc, PAPER, INK, s.width)
        return
    tip, base = (s.y2 - 4, s.y1 + 4) if s.first_above else (s.y1 + 4, s.y2 - 4)
    canvas.line([(x, s.y1), (x, s.y2)], s.width)
    canvas.polygon([(x - 5, base), (x + 5, base), (x, tip)], PAPER, INK, 1.2)
    canvas.line([(x - 5, tip), (x + 5, tip)], 1.6)


def _lamp(device: Filament, s: Stand) -> None:
    s.leads(_ROUND, _ROUND)
    draw = draw_led if isinstance(device.law, LedLaw) else draw_lamp
    draw(s.canvas, (s.x, s.middle), _ROUND, s.live, s.suspect)


def _cells(device: Source, s: Stand) -> None:
    s.leads(6, 6)
    sign = 1 if s.first_above else -1
    for step, (half, width) in enumerate(((7, 1.2), (4, 3.0), (7, 1.2), (4, 3.0))):
        y = s.middle + sign * (4 * step - 6)
        s.canvas.line([(s.x - half, y), (s.x + half, y)], width)


def _joint(_device: Joint, s: Stand) -> None:
    s.canvas.line([(s.x, s.y1), (s.x, s.y2)], s.width)
    draw_dot(s.canvas, (s.x, s.middle), s.suspect, 2.2)


def _wire(device: Conductor, s: Stand) -> None:
    draw_wire(s.canvas, [(s.x, s.y1), (s.x, s.y2)], device, s.look)


def _unknown(_device: object, s: Stand) -> None:
    s.leads(7, 7)
    s.canvas.rect(s.x - 6, s.middle - 7, 12, 14, PAPER, INK, s.width)
    s.canvas.text(s.x, s.middle, "?", SIZE, "middle")


# Words -------------------------------------------------------------------------------------------


def _positions(device: SwitchContact, _part: Part, _look: Look) -> tuple[str, ...]:
    """The positions in which a contact closes."""
    return (shorten(clean(", ".join(sorted(device.closed_in))), 120.0, SIZE),)


def _value(device: Resistor, part: Part, _look: Look) -> tuple[str, ...]:
    if device.works_contacts:
        return ("coil" if device.role == "coil" else "electronics",)
    power = part.settings.get("power")
    if power and device.role != "resistor":
        return (f"{power:g} W",)
    return (f"{device.ohm:.3g} Ω" if device.ohm < 1000 else f"{device.ohm / 1000:.3g} kΩ",)


def _rating(device: FuseLink, _part: Part, _look: Look) -> tuple[str, ...]:
    return (f"{device.rating_a:g} A",)


def _volts(device: Source, _part: Part, _look: Look) -> tuple[str, ...]:
    return (f"{device.volts:g} V",)


def lamp_words(device: Filament, look: Look) -> tuple[str, ...]:
    """What is written beside a lamp: its watts, what it does, whether it is fed backwards."""
    led = "LED " if isinstance(device.law, LedLaw) else ""
    lines = [f"{led}{device.law.watts:g} W" if device.law.watts else led.strip()]
    if look.lamps.get(device.lamp):
        lines += wrap(look.lamps[device.lamp], _STATE, SIZE, 3, bold=True)
    if device.name in look.back_feed:
        lines.append("back-feed")
    return tuple(lines)


def _lamp_of_part(device: Filament, part: Part, look: Look) -> tuple[str, ...]:
    own = clean(device.lamp.removeprefix(part.name))
    return (*((shorten(own, 90.0, SIZE),) if own else ()), *(line for line in lamp_words(device, look) if line))


def _class_and_name(device: Device, part: Part, _look: Look) -> tuple[str, ...]:
    own = clean(device.name.removeprefix(part.name)) or device.name
    return tuple(shorten(t, 110.0, SIZE) for t in dict.fromkeys((class_words(device), own)))


# Rows --------------------------------------------------------------------------------------------

UNKNOWN: Final = Symbol(_unknown, _class_and_name, 22.0, 6.0)
_MOTOR: Final = Symbol(_motor, _value, 16.0, 7.0)

SYMBOLS: Final[dict[type[Any], Symbol]] = {
    Joint: Symbol(_joint),
    Conductor: Symbol(_wire),
    SwitchContact: Symbol(_blade, _positions),
    RelayContact: Symbol(_blade),
    FlasherContact: Symbol(_blade),
    Filament: Symbol(_lamp, _lamp_of_part, 18.0, 7.0),
    Diode: Symbol(_diode),
    Resistor: Symbol(_resistor, _value),
    FuseLink: Symbol(_fuse, _rating),
    Source: Symbol(_cells, _volts, 20.0, 7.0),
    Dimmer: Symbol(_dimmer),
}
