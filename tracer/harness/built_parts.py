"""What a row of `part_kinds.KINDS` is made of: its settings, and the terminals and devices that come of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tracer.errors import TracerError
from tracer.harness.devices import Device, Diode, Filament, Joint, LedLaw, RelayContact
from tracer.harness.lamp_laws import lamp_laws
from tracer.harness.node import inside, terminal_at


class Setting(Struct, frozen=True):
    """One key of a kind. `type` is a dimension of `units` or one of: text, choice, control, contacts (position → list
    of "a-b"), steps (position → resistance), lamps (lamp name or "stop + tail" → category or watts), lamp (category
    or watts), earth (name of an earth point), earths and terminals (one name or several), yes or no, purposes (of one
    lamp), lamp purposes (lamp name → purposes), lamp terminals (lamp → terminal), outputs (output → input)."""

    type: str
    required: bool = False
    default: Any = None
    choices: tuple[str, ...] = ()
    means: str = ""


class Built(Struct, frozen=True):
    """Terminals (short names) and devices of one part."""

    terminals: tuple[str, ...]
    devices: tuple[Device, ...]


class Kind(Struct, frozen=True):
    """A kind of part; `build(name, settings, system_v)` gets parsed settings, defaults filled in. `spare`: a terminal
    of it may be left without a wire."""

    means: str
    settings: Mapping[str, Setting]
    build: Callable[[str, Mapping[str, Any], float], Built]
    spare: bool = False


def coil_missing(built: Built) -> tuple[str, str] | None:
    """A contact that would follow a coil which is not in its part, and the name of that; None if there is none."""
    own = {d.name for d in built.devices}
    followers = (d for d in built.devices if isinstance(d, RelayContact))
    return next(((d.name, d.coil) for d in followers if d.coil not in own), None)


def for_positive_earth(built: Built) -> Built:
    """The part as it is made for a vehicle whose live side is the negative one: LEDs and buzzers look the
    other way. Relays with a quench diode and plain diodes are what they are; their terminals tell how."""

    def turned(d: Device) -> Device:
        polar = (isinstance(d, Filament) and isinstance(d.law, LedLaw)) or (
            isinstance(d, Diode) and d.role == "buzzer"
        )
        return replace(d, a=d.b, b=d.a) if polar and isinstance(d, (Filament, Diode)) else d

    return Built(built.terminals, tuple(turned(d) for d in built.devices))


def mounting(name: str, settings: Mapping[str, Any], terminal: str = "earth") -> list[Device]:
    """A lamp that earths through its holder needs no earth wire, but has a joint that corrodes."""
    earth = settings.get("earth at")
    return [Joint(f"{name} mounting", terminal_at(name, terminal), str(earth), "stud")] if earth else []


def lamp_in_holder(
    part: str, lamps: list[str], terminals: list[str], lamp: str, system_v: float, earthed: str = "earth",
    fed: str = "",
) -> list[Device]:
    """One glass in its holder: a live contact per filament, a common shell, an earth contact to the terminal
    `earthed`. `fed`: the inner point, behind a contact of the part, on which it hangs instead of its terminals."""
    laws = lamp_laws(lamp, system_v)
    if len(laws) != len(lamps):
        raise TracerError(
            f"{part}: “{lamp}” has {len(laws)} filament(s), {len(lamps)} lamp name(s) are given",
            "a twin-filament lamp is written like “stop + tail: P21/5W”",
        )
    bulb = " + ".join(lamps)
    shell = inside(part, f"{bulb} shell")
    contacts = [f"{name} holder contact" for name in lamps]
    earth = f"{bulb} holder earth"
    out: list[Device] = []
    for name, terminal, law, contact in zip(lamps, terminals, laws, contacts, strict=True):
        live = inside(part, f"{name} live")
        out.append(Joint(contact, fed or terminal_at(part, terminal), live, "holder", 0.005))
        out.append(Filament(f"{name} filament", live, shell, name, bulb, law, (contact, earth)))
    out.append(Joint(earth, shell, terminal_at(part, earthed), "holder earth", 0.005))
    return out
