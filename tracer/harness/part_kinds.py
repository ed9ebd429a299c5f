"""The kinds of part a harness may name: their settings, their terminals and what is inside them.

To add a kind: write one `_build_…` function and one row of `KINDS`; reader, schema and starter follow from the row.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tracer.errors import TracerError
from tracer.harness.built_parts import Built, Kind, Setting, lamp_in_holder, mounting
from tracer.harness.devices import (
    Device,
    Dimmer,
    Diode,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.lamp_purposes import PURPOSES
from tracer.harness.node import inside, terminal_at
from tracer.standards.terminals import RELAY_CONTACTS


def _build_lamp(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    bulb = lamp_in_holder(name, [name], ["feed"], s["lamp"], system_v)
    return Built(("feed", "earth"), (*bulb, *mounting(name, s)))


def _build_lamp_unit(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    devices: list[Device] = []
    terminals: list[str] = []
    own: Mapping[str, str] = s["own earth"] or {}
    earths = ["earth"]
    for key, lamp in s["lamps"].items():
        short = [k.strip() for k in key.split("+")]
        terminals += short
        earthed = next((own[k] for k in short if k in own), "earth")
        earths.append(earthed)
        devices += lamp_in_holder(name, [f"{name} {k}" for k in short], short, lamp, system_v, earthed)
    return Built((*terminals, *dict.fromkeys(earths)), tuple(devices + mounting(name, s)))


def _build_battery(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    source = Source(
        name, terminal_at(name, "+"), terminal_at(name, "-"), s["voltage"] or 1.05 * system_v, s["resistance"],
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
        SwitchContact(
            f"{name} {a}-{b}", terminal_at(name, a), terminal_at(name, b), s["control"], frozenset(positions),
            overlaps=bool(s["make before break"]),
        )
        for (a, b), positions in closed.items()
    )
    if s["earth at"] and "31" not in terminals:
        raise TracerError(f"{name}: “earth at” goes with a terminal 31", "write its contacts like {open: [31b-31]}")
    return Built(terminals, (*devices, *mounting(name, s, "31")))


def _build_fuse(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    clip = inside(name, "clip")
    joint = Joint(f"{name} clip", terminal_at(name, "in"), clip, "clip")
    return Built(("in", "out"), (
        joint, FuseLink(f"{name} link", clip, terminal_at(name, "out"), s["rating"], kind=s["type"])
    ))


# A tell-tale terminal closes with the lamps once a few turns in series with the contact carry enough: C for
# the vehicle's own lamps (it stays dark with a main lamp out), C2 and C3 for those of a first and a second
# trailer (marks of DIN 72552; the shares are common practice, no source).
_TELL_TALE_SHARES = {"C2": 1.2, "C3": 1.65}
_OWN_LAMPS_SHARE = 0.8
_WINDING_OHM = 0.02
_ELECTRONICS_A = 0.02


def _build_flasher(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    full_a, inner, terminals = s["load"] / system_v, terminal_at(name, "49a"), ["49", "49a"]
    devices: list[Device] = []
    if s["tell-tale"]:
        inner, winding = inside(name, "winding"), f"{name} winding"
        turns_ohm = _WINDING_OHM * min(1.0, (system_v / 12.0) ** 2)  # at 6 V fewer turns of thicker wire
        devices.append(Joint(winding, inner, terminal_at(name, "49a"), "winding", turns_ohm))
        for terminal in s["tell-tale"]:
            at_v = turns_ohm * full_a * _TELL_TALE_SHARES.get(terminal, _OWN_LAMPS_SHARE)
            devices.append(RelayContact(
                f"{name} tell-tale {terminal}", terminal_at(name, "49"), terminal_at(name, terminal), winding, True,
                at_v, 0.9 * at_v,
            ))
            terminals.append(terminal)
    fed = terminal_at(name, "49")
    if s["earth"]:
        # Electronics that have lost their earth close nothing.
        fed, electronics = inside(name, "electronics"), f"{name} electronics"
        ends = terminal_at(name, "49"), terminal_at(name, "31")
        devices.append(Resistor(electronics, *ends, system_v / _ELECTRONICS_A, "input"))
        devices.append(RelayContact(
            f"{name} output", terminal_at(name, "49"), fed, electronics, True, 0.6 * system_v, 0.5 * system_v
        ))
        terminals.append("31")
    contact = FlasherContact(f"{name} contact", fed, inner, s["works"], full_a)
    return Built(tuple(terminals), (contact, *devices))


_COIL_OHM = 85.0
_QUENCH_OHM = 680.0  # of a 12 V relay; common practice, no source


def _build_relay(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    coil = f"{name} coil"
    pick_up = s["pick-up"] or 0.6 * system_v
    drop_out = s["drop-out"] or 0.2 * system_v
    contacts = RELAY_CONTACTS[s["numbering"], s["contacts"]]
    ohm = s["coil"] or _COIL_OHM * (system_v / 12.0) ** 2  # the same watts at any voltage
    devices: list[Device] = [Resistor(coil, terminal_at(name, "86"), terminal_at(name, "85"), ohm, "coil")]
    devices += [
        RelayContact(f"{name} {a}-{b}", terminal_at(name, a), terminal_at(name, b), coil, makes, pick_up, drop_out)
        for a, b, makes in contacts
    ]
    if s["quench"] == "diode":  # 86 is the plus end: fed the wrong way round, the diode is a short
        devices.append(Diode(f"{name} quench diode", terminal_at(name, "85"), terminal_at(name, "86"), role="quench"))
    elif s["quench"] == "resistor":
        ohm = _QUENCH_OHM * (system_v / 12.0) ** 2
        ends = terminal_at(name, "86"), terminal_at(name, "85")
        devices.append(Resistor(f"{name} quench resistor", *ends, ohm, "resistor"))
    named = dict.fromkeys(t for a, b, _ in contacts for t in (a, b))
    return Built((*named, "86", "85"), tuple(devices))


_INPUT_OHM = 10_000.0  # what an input of an electronic unit takes: a milliampere
_OUTPUT_OHM = 0.05  # of a transistor that switches a lamp (common practice, no source)


def _build_control_unit(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    """Each output passes the unit's own feed on while its input is live and the unit has its earth."""
    devices: list[Device] = []
    for output, source in s["outputs"].items():
        sensed = f"{name} input {source}"
        if not any(d.name == sensed for d in devices):
            devices.append(Resistor(sensed, terminal_at(name, source), terminal_at(name, "31"), _INPUT_OHM, "input"))
        devices.append(RelayContact(
            f"{name} output {output}", terminal_at(name, "30"), terminal_at(name, output), sensed, True,
            0.5 * system_v, 0.35 * system_v, _OUTPUT_OHM,
        ))
    terminals = dict.fromkeys(["30", "31", *s["outputs"].values(), *s["outputs"]])
    return Built(tuple(terminals), tuple(devices))


def _build_diode(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    return Built(("anode", "cathode"), (Diode(name, terminal_at(name, "anode"), terminal_at(name, "cathode")),))


def _build_resistor(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    ends = terminal_at(name, "a"), terminal_at(name, "b")
    return Built(("a", "b"), (Resistor(name, *ends, s["resistance"], "resistor"),))


def _build_load(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    device = Resistor(name, terminal_at(name, "feed"), terminal_at(name, "earth"), system_v**2 / s["power"])
    return Built(("feed", "earth"), (device, *mounting(name, s)))


def _build_motor(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    device = Resistor(name, terminal_at(name, "feed"), terminal_at(name, "earth"), system_v**2 / s["power"], "motor")
    return Built(("feed", "earth"), (device, *mounting(name, s)))


def _build_buzzer(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    threshold = _BUZZER_THRESHOLD * system_v
    device = Diode(
        name, terminal_at(name, "feed"), terminal_at(name, "earth"), threshold, (system_v - threshold) / s["current"],
        threshold / 40, 1e6, "buzzer",
    )
    return Built(("feed", "earth"), (device, *mounting(name, s)))


def _build_dimmer(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    ends = terminal_at(name, "in"), terminal_at(name, "out")
    device = Dimmer(f"{name} track", *ends, s["control"], tuple(s["steps"].items()))
    return Built(("in", "out"), (device,))


_BUZZER_THRESHOLD = 0.15  # of system voltage: its transistor and its coil; common practice, no source
_MEANT = "what it is meant for, where its name does not say it: " + ", ".join(PURPOSES)
_BOLTED = {"earth at": Setting("earth", means="earth point it is bolted to, if it has no earth wire (a switch’s 31)"),
           "or": Setting("earths", default=(), means="earth points to which it may be bolted instead")}

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
            "make before break": Setting("yes or no", default=False,
                                         means="between two positions it joins what either of them joins"),
            **_BOLTED,
        },
        _build_switch,
    ),
    "fuse": Kind(
        "a fuse",
        {
            "rating": Setting("current", required=True, means="amperes printed on it, like 8 A"),
            "type": Setting("choice", default="blade", choices=("blade", "glass", "ceramic", "British glass"),
                            means="decides how long it holds; British glass prints the current that blows it"),
        },
        _build_fuse,
        spare=True,  # a rule of its own
    ),
    "lamp": Kind(
        "a single lamp with a feed and an earth (number-plate lamp, tell-tale, side lamp)",
        {
            "lamp": Setting("lamp", required=True, means="UN R37 category, watts, or LED 2 W"),
            "for": Setting("purposes", means=_MEANT),
            **_BOLTED,
        },
        _build_lamp,
    ),
    "lamp unit": Kind(
        "several lamps in one housing with one common earth; one terminal a lamp",
        {
            "lamps": Setting("lamps", required=True,
                             means="name: category, watts or LED 2 W; twin: “stop + tail: P21/5W”"),
            "own earth": Setting("lamp terminals", means="by lamp, where it has an earth terminal of its own, like "
                                                         "{indicator: earth 2}; the others share “earth”"),
            "for": Setting("lamp purposes", means=f"by lamp, like {{left: [stop, indicator left]}}: {_MEANT}"),
            **_BOLTED,
        },
        _build_lamp_unit,
    ),
    "flasher unit": Kind(
        "a flasher unit: 49 in, 49a out; 31 and tell-tale terminals if it has them",
        {
            "works": Setting("choice", default="thermal", choices=("thermal", "electronic"),
                             means="thermal: its rate follows the load; electronic: it does not"),
            "load": Setting("power", default=47.0, means="watts of one side's full lamp set"),
            "tell-tale": Setting("terminals", means="its tell-tale terminals: C, or [C, C2] with a trailer's"),
            "earth": Setting("yes or no", default=False, means="it has a terminal 31 and needs it"),
        },
        _build_flasher,
    ),
    "relay": Kind(
        "a relay: ISO 7588 numbers its contacts 30, 87 (make), 87a (break), DIN 72552 88-88a or 87, 87b, 87a; "
        "coil 86 (plus) and 85",
        {
            "contacts": Setting("choice", default="make", choices=("make", "break", "change-over"),
                                means="change-over has both"),
            "numbering": Setting("choice", default="ISO 7588", choices=("ISO 7588", "DIN 72552"),
                                 means="which standard numbers its contacts"),
            "quench": Setting("choice", default="none", choices=("none", "diode", "resistor"),
                              means="what lies across the coil; a diode makes 86 and 85 plus and minus"),
            "coil": Setting("resistance", means="of the coil; usual 85 ohm in a 12 V system"),
            "pick-up": Setting("voltage", means="usual 0.6 of the system voltage"),
            "drop-out": Setting("voltage", means="usual 0.2 of the system voltage"),
        },
        _build_relay,
        spare=True,  # its break contact
    ),
    "control unit": Kind(
        "an electronic unit (trailer module, converter, switched output): 30 feed, 31 earth, inputs and outputs",
        {
            "outputs": Setting("outputs", required=True,
                               means="output: the input that it follows, like {58L: tail in, 54: stop in}"),
        },
        _build_control_unit,
        spare=True,
    ),
    "diode": Kind("a diode", {}, _build_diode),
    "resistor": Kind(
        "a resistor",
        {
            "resistance": Setting("resistance", required=True, means="like 10 ohm"),
            "power": Setting("power", means="what it may turn into heat, like 5 W"),
        },
        _build_resistor,
    ),
    "dimmer": Kind(
        "a dimmer: a resistance in series, set in steps by a control",
        {
            "control": Setting("control", required=True, means="the control that moves it"),
            "steps": Setting("steps", required=True, means="position: resistance; open in positions not named"),
        },
        _build_dimmer,
    ),
    "buzzer": Kind(
        "an electronic buzzer; sounds only with plus on its feed (minus in a positive-earth vehicle)",
        {
            "current": Setting("current", required=True, means="at system voltage, like 0.1 A"),
            **_BOLTED,
        },
        _build_buzzer,
    ),
    "motor": Kind(
        "a motor under its usual load",
        {
            "power": Setting("power", required=True, means="at system voltage, like 40 W"),
            **_BOLTED,
        },
        _build_motor,
    ),
    "load": Kind(
        "an ohmic consumer: horn, heater",
        {
            "power": Setting("power", required=True, means="at system voltage, like 40 W"),
            **_BOLTED,
        },
        _build_load,
    ),
}
