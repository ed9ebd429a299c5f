"""The kinds of part a harness may name: their settings, their terminals and what is inside them.

To add a kind: write one `_build_…` function and one row of `KINDS`; the reader, the schema and
the starter follow from the row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tracer import standards
from tracer.devices import (
    Device,
    Diode,
    Filament,
    FilamentLaw,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.errors import TracerError, did_you_mean
from tracer.purposes import PURPOSES


@dataclass(frozen=True)
class Setting:
    """One key of a kind. `type` is a dimension of `units` or one of: text, choice, control,
    contacts (position → list of "a-b"), lamps (lamp name or "stop + tail" → category or watts),
    lamp (category or watts), earth (name of an earth point), purposes (of one lamp), lamp purposes (lamp
    name → purposes)."""

    type: str
    required: bool = False
    default: Any = None
    choices: tuple[str, ...] = ()
    means: str = ""


@dataclass(frozen=True)
class Built:
    """Terminals (short names) and devices of one part."""

    terminals: tuple[str, ...]
    devices: tuple[Device, ...]


@dataclass(frozen=True)
class Kind:
    """A kind of part; `build(name, settings, system_v)` gets parsed settings, defaults filled in."""

    means: str
    settings: Mapping[str, Setting]
    build: Callable[[str, Mapping[str, Any], float], Built]


def filament_laws(lamp: str, system_v: float) -> tuple[FilamentLaw, ...]:
    """Laws of the filaments of a lamp given as category ("P21/5W") or watts ("21 W", "21/5 W").

    Raises:
        TracerError: Unknown category or unreadable watts.
    """
    category = standards.LAMPS.get(lamp.strip())
    if category is None:
        text = lamp.strip()
        numbers = text[:-1].strip() if text[-1:] in "Ww" else ""
        try:
            watts = tuple(float(n.replace(",", ".")) for n in numbers.split("/"))
        except ValueError:
            watts = ()
        if not watts or not all(0.1 <= w <= 250 for w in watts):
            raise TracerError(
                f"“{lamp}” is not a lamp", did_you_mean(lamp, standards.LAMPS) + " or watts like 21 W"
            )
        # A bare "21 W" means the usual 21 W lamp, which takes more than its name at test voltage.
        by_watts = {c.watts: c for c in reversed(standards.LAMPS.values()) if c.test_v == 13.5}
        category = by_watts.get(watts) or standards.LampCategory(watts, watts)
    test_v = category.test_v * system_v / 12.0
    if category.test_v == 13.5:
        test_v = standards.TEST_V.get(system_v, test_v)
    return tuple(
        FilamentLaw(i0=w / test_v, v0=test_v, watts=name, v_normal=system_v)
        for name, w in zip(category.watts, category.test_watts, strict=True)
    )


def _mounting(name: str, settings: Mapping[str, Any]) -> list[Device]:
    """A lamp that earths through its holder needs no earth wire, but has a joint that corrodes."""
    earth = settings.get("earth at")
    return [Joint(f"{name} mounting", f"{name}.earth", str(earth), "stud")] if earth else []


def _bulb(part: str, lamps: list[str], terminals: list[str], lamp: str, system_v: float) -> list[Device]:
    """One glass in its holder: a live contact per filament, a common shell, an earth contact."""
    laws = filament_laws(lamp, system_v)
    if len(laws) != len(lamps):
        raise TracerError(
            f"{part}: “{lamp}” has {len(laws)} filament(s), {len(lamps)} lamp name(s) are given",
            "a twin-filament lamp is written like “stop + tail: P21/5W”",
        )
    bulb = " + ".join(lamps)
    shell = f"{part}/{bulb} shell"
    contacts = [f"{name} holder contact" for name in lamps]
    earth = f"{bulb} holder earth"
    out: list[Device] = []
    for name, terminal, law, contact in zip(lamps, terminals, laws, contacts, strict=True):
        live = f"{part}/{name} live"
        out.append(Joint(contact, f"{part}.{terminal}", live, "holder", 0.005))
        out.append(Filament(f"{name} filament", live, shell, name, bulb, law, (contact, earth)))
    out.append(Joint(earth, shell, f"{part}.earth", "holder earth", 0.005))
    return out


def _build_lamp(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    bulb = _bulb(name, [name], ["feed"], s["lamp"], system_v)
    return Built(("feed", "earth"), (*bulb, *_mounting(name, s)))


def _build_lamp_unit(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    devices: list[Device] = []
    terminals: list[str] = []
    for key, lamp in s["lamps"].items():
        short = [k.strip() for k in key.split("+")]
        terminals += short
        devices += _bulb(name, [f"{name} {k}" for k in short], short, lamp, system_v)
    return Built((*terminals, "earth"), tuple(devices + _mounting(name, s)))


def _build_battery(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    source = Source(
        name, f"{name}.+", f"{name}.-", s["voltage"] or 1.05 * system_v, s["resistance"],
        s["charging"] or 1.18 * system_v,
    )
    return Built(("+", "-"), (source,))


def _build_switch(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    closed: dict[tuple[str, str], set[str]] = {}
    for position, pairs in s["contacts"].items():
        for pair in pairs:
            a, b = (x.strip() for x in pair.split("-", 1))
            closed.setdefault((a, b), set()).add(position)
    terminals = tuple(dict.fromkeys(t for pair in closed for t in pair))
    devices = tuple(
        SwitchContact(f"{name} {a}-{b}", f"{name}.{a}", f"{name}.{b}", s["control"], frozenset(positions))
        for (a, b), positions in closed.items()
    )
    return Built(terminals, devices)


def _build_fuse(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    clip = f"{name}/clip"
    return Built(
        ("in", "out"),
        (
            Joint(f"{name} clip", f"{name}.in", clip, "clip"),
            FuseLink(f"{name} link", clip, f"{name}.out", s["rating"]),
        ),
    )


def _build_flasher(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    return Built(
        ("49", "49a"),
        (FlasherContact(f"{name} contact", f"{name}.49", f"{name}.49a", s["works"], s["load"] / system_v),),
    )


def _build_relay(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    coil = f"{name} coil"
    pick_up = s["pick-up"] or 0.6 * system_v
    drop_out = s["drop-out"] or 0.2 * system_v
    contacts = [("87", True), ("87a", False)] if s["contacts"] == "change-over" else [("87", True)]
    devices: list[Device] = [Resistor(coil, f"{name}.86", f"{name}.85", s["coil"], "coil")]
    devices += [
        RelayContact(f"{name} 30-{t}", f"{name}.30", f"{name}.{t}", coil, makes, pick_up, drop_out)
        for t, makes in contacts
    ]
    return Built(("30", *(t for t, _ in contacts), "86", "85"), tuple(devices))


def _build_diode(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    return Built(("anode", "cathode"), (Diode(name, f"{name}.anode", f"{name}.cathode"),))


def _build_resistor(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    return Built(("a", "b"), (Resistor(name, f"{name}.a", f"{name}.b", s["resistance"]),))


def _build_load(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    device = Resistor(name, f"{name}.feed", f"{name}.earth", system_v**2 / s["power"])
    return Built(("feed", "earth"), (device, *_mounting(name, s)))


_MEANT = "what it is meant for, where its name does not say it: " + ", ".join(PURPOSES)
_EARTH_AT = Setting("earth", means="earth point its holder is bolted to, if it has no earth wire")

KINDS: dict[str, Kind] = {
    "battery": Kind(
        "a battery; the EMF with the engine off, and with it running",
        {
            "voltage": Setting("voltage", means="at rest; usual 12.6 V in a 12 V system"),
            "charging": Setting("voltage", means="with the engine running; usual 14.2 V"),
            "resistance": Setting("resistance", default=0.02, means="internal"),
        },
        _build_battery,
    ),
    "switch": Kind(
        "any switch; which terminals it joins in which position of its control",
        {
            "control": Setting("control", required=True, means="the control that moves it"),
            "contacts": Setting("contacts", required=True, means="position: list of pairs like 30-58"),
        },
        _build_switch,
    ),
    "fuse": Kind(
        "a fuse",
        {"rating": Setting("current", required=True, means="amperes printed on it, like 8 A")},
        _build_fuse,
    ),
    "lamp": Kind(
        "a single lamp with a feed and an earth (number-plate lamp, tell-tale, side lamp)",
        {
            "lamp": Setting("lamp", required=True, means="UN R37 category or watts"),
            "for": Setting("purposes", means=_MEANT),
            "earth at": _EARTH_AT,
        },
        _build_lamp,
    ),
    "lamp unit": Kind(
        "several lamps in one housing with one common earth; one terminal a lamp",
        {
            "lamps": Setting("lamps", required=True, means="name: category; twin: “stop + tail: P21/5W”"),
            "for": Setting("lamp purposes", means=f"by lamp, like {{left: [stop, indicator left]}}: {_MEANT}"),
            "earth at": _EARTH_AT,
        },
        _build_lamp_unit,
    ),
    "flasher unit": Kind(
        "a two-terminal flasher unit",
        {
            "works": Setting("choice", default="thermal", choices=("thermal", "electronic"),
                             means="thermal: its rate follows the load; electronic: it does not"),
            "load": Setting("power", default=47.0, means="watts of one side's full lamp set"),
        },
        _build_flasher,
    ),
    "relay": Kind(
        "a plug-in relay, terminals as ISO 7588: 30 common, 87 make, 87a break, 86/85 coil",
        {
            "contacts": Setting("choice", default="make", choices=("make", "change-over"),
                                means="change-over has 87a as well"),
            "coil": Setting("resistance", default=85.0, means="of the coil"),
            "pick-up": Setting("voltage", means="usual 0.6 of the system voltage"),
            "drop-out": Setting("voltage", means="usual 0.2 of the system voltage"),
        },
        _build_relay,
    ),
    "diode": Kind("a diode", {}, _build_diode),
    "resistor": Kind(
        "a resistor", {"resistance": Setting("resistance", required=True, means="like 10 ohm")}, _build_resistor
    ),
    "load": Kind(
        "an ohmic consumer: horn, motor, heater",
        {
            "power": Setting("power", required=True, means="at system voltage, like 40 W"),
            "earth at": _EARTH_AT,
        },
        _build_load,
    ),
}
