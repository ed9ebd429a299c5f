"""The questions of a new vehicle as data: identity, text, choices, default, and what each depends on.

A terminal and a page ask them alike: `due` says which come next, `answers.Answers` holds what was said. Texts,
choices and defaults are trade practice (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct, field

Condition = Mapping[str, tuple[str, ...]]  # question → the answers with which it holds; all of them must
MOTOR: Final = ("car", "van", "lorry", "bus", "tractor", "motorcycle")
FOUR_WHEELS: Final = ("car", "van", "lorry", "bus", "tractor")
TOWED: Final = ("trailer", "caravan")


class Question(Struct, frozen=True):
    """One question.

    Attributes:
        id: Its name in an answers file.
        text: As it is asked.
        choices: What may be answered, each with what it means; empty: any text.
        default: What is taken where nobody knows.
        usual: Defaults that hold under a condition; the first that fits.
        when: Asked only where earlier answers are these.
        unasked: Its answer where it is not asked.
        part: The heading under which it stands.
    """

    id: str
    text: str
    choices: Mapping[str, str]
    default: str
    part: str
    usual: tuple[tuple[Condition, str], ...] = ()
    when: Condition = field(default_factory=dict)
    unasked: str = "none"


COUNTS: Final[Mapping[str, str]] = {"none": "0", "one": "1", "two": "2", "three": "3", "four": "4"}


def numbers_of(question: Question) -> dict[str, str]:
    """The number that may be typed for a choice: how many, where choices count something; nothing where they begin
    with digits themselves; else its place."""
    choices = list(question.choices)
    if {"one", "two", "four"} & set(choices):
        return {COUNTS[c]: c for c in choices if c in COUNTS}
    if any(c[0].isdigit() for c in choices):
        return {}
    return {str(n): c for n, c in enumerate(choices, 1)}


def holds(condition: Condition, known: Mapping[str, str]) -> bool:
    """Whether all answers that a condition names are among those it allows."""
    return all(known.get(question) in allowed for question, allowed in condition.items())


_MOTORED: Final[Condition] = {"vehicle": MOTOR}
_WHEELS4: Final[Condition] = {"vehicle": FOUR_WHEELS}
_OLD: Final = ("before 1955", "1955 to 1969")
_LATER: Final = ("1985 or later",)
_MOTORCYCLE: Final[Condition] = {"vehicle": ("motorcycle",)}
_NUMBERS: Final = {"none": "", "one": "", "two": ""}

_VEHICLE: Final = (
    Question("title", "What is it called?", {}, "Unnamed vehicle", "vehicle"),
    Question("vehicle", "What kind of vehicle is it?", {
        "car": "", "van": "or pick-up", "lorry": "", "bus": "or coach", "tractor": "", "motorcycle": "",
        "trailer": "alone, its plug fed by some towing vehicle", "caravan": "alone, likewise",
    }, "car", "vehicle"),
    Question("built", "When was it built?", {
        "before 1955": "", "1955 to 1969": "", "1970 to 1984": "", "1985 or later": "",
    }, "1955 to 1969", "vehicle"),
    Question("volts", "How many volts?", {"6 V": "", "12 V": "", "24 V": ""}, "12 V", "vehicle", (
        ({"vehicle": ("lorry", "bus")}, "24 V"), ({"vehicle": ("motorcycle",), "built": _OLD}, "6 V"),
    ), _MOTORED, "12 V"),
    Question("earth", "Which pole of the battery is earthed?", {"negative": "", "positive": ""}, "negative",
             "vehicle", (({"vehicle": ("car", "motorcycle", "tractor"), "built": ("before 1955",)}, "positive"),)),
    Question("body", "Does the body conduct?", {
        "steel": "it is the earth return", "does not conduct": "glass fibre, wood: every lamp has its earth wire",
    }, "steel", "vehicle", when=_MOTORED, unasked="does not conduct"),
    Question("ignition", "What ignition has the engine?", {
        "contact breaker": "points", "electronic": "", "none": "a diesel engine",
    }, "contact breaker", "vehicle", (
        ({"vehicle": ("lorry", "bus", "tractor")}, "none"), ({"built": _LATER}, "electronic"),
    ), _MOTORED),
    Question("colours", "Which colour code do the wires have?", {
        "BS AU 7": "British: brown is the battery feed, black is earth",
        "IEC 60757": "continental: red is the battery feed, brown is earth",
        "not written": "their colours are not known",
    }, "not written", "vehicle", unasked="not written"),
    Question("road", "Which side of the road was it built for?", {"left": "", "right": ""}, "left", "vehicle"),
)

_FRONT: Final = (
    Question("headlamps", "Headlamps?", {
        "two": "one on each side", "four": "two on each side, the inner ones for main beam only", "none": "",
    }, "two", "front", when=_WHEELS4),
    Question("headlamp bulbs", "Which bulbs do the headlamps have?", {
        "tungsten": "R2 or sealed, 45/40 W", "halogen": "H4, 60/55 W",
    }, "tungsten", "front", (({"built": _LATER}, "halogen"),),
        {"volts": ("12 V", "24 V"), "headlamps": ("two", "four")}, "tungsten"),
    Question("headlamp switching", "How are main and dipped beam switched?", {
        "dip switch": "the lighting switch feeds a dip switch, that feeds the lamps",
        "relays": "the dip switch works relays",
        "lighting switch": "the lighting switch itself has positions for dipped and main",
    }, "dip switch", "front", (({"built": _LATER}, "relays"),), {"headlamps": ("two", "four")}, "none"),
    Question("side lamps", "Where are the front side lamps?", {
        "front unit": "in a unit below or beside the headlamp", "headlamp": "in the headlamp", "none": "",
    }, "front unit", "front", when=_WHEELS4),
    Question("indicators", "Flashing indicators?", {
        "own lamps": "with bulbs of their own", "stop lamps": "the stop lamps flash at the rear", "none": "",
    }, "own lamps", "indicators", (({"built": ("before 1955",), "vehicle": ("car", "van")}, "stop lamps"),
                                   ({"vehicle": ("motorcycle",), "built": _OLD}, "none")), _MOTORED, "own lamps"),
    Question("front indicators", "And at the front?", {
        "own bulb": "a bulb of its own in the front unit", "side lamp": "second filament of the side lamp's bulb",
    }, "own bulb", "indicators", (({"indicators": ("stop lamps",)}, "side lamp"),),
        {"vehicle": FOUR_WHEELS, "indicators": ("own lamps", "stop lamps"), "side lamps": ("front unit",)},
        "own bulb"),
    Question("repeaters", "Side repeaters on the wings?", {"none": "", "one a side": ""}, "none", "indicators",
             (({"built": _LATER}, "one a side"),), {"vehicle": FOUR_WHEELS, "indicators": ("own lamps",)}),
    Question("hazards", "A hazard warning switch?", {
        "yes": "with a flasher unit whose rate does not follow the load", "no": "",
    }, "no", "indicators",
             (({"built": _LATER}, "yes"),),
             {"vehicle": FOUR_WHEELS, "indicators": ("own lamps",)}, "no"),
    Question("flasher", "What kind of flasher unit?", {
        "thermal": "its rate follows the load", "electronic": "it does not",
    }, "thermal", "indicators", (({"built": _LATER}, "electronic"),),
        {"indicators": ("own lamps", "stop lamps"), "hazards": ("no",)}, "electronic"),
    Question("flasher in", "Where is the flasher unit?", {
        "feed": "between fuse and stalk", "return": "between stalk and earth: the stalk earths the lamps",
    }, "feed", "indicators", when={"vehicle": FOUR_WHEELS, "indicators": ("own lamps",), "hazards": ("no",)},
        unasked="feed"),
    Question("tell-tales", "Tell-tale lamps of the indicators?", {
        "one": "from the flasher unit's own terminal", "between": "one, between the two sides",
        "two": "one a side", "none": "",
    }, "one", "indicators", (({"built": ("1970 to 1984",)}, "between"),),
        {"vehicle": MOTOR, "indicators": ("own lamps", "stop lamps"), "flasher in": ("feed",)}, "none"),
    Question("tell-tales beside the lamps", "Tell-tale lamps of the indicators?", {
        "two": "one a side, beside its lamps", "none": "",
    }, "two", "indicators", when={"flasher in": ("return",)}),
)

_REAR: Final = (
    Question("rear lamps", "Stop and tail lamp at the rear?", {
        "one bulb": "a bulb with two filaments", "two bulbs": "one each",
    }, "one bulb", "rear", (({"vehicle": ("car", "van"), "built": _LATER}, "two bulbs"),), _MOTORED, "one bulb"),
    Question("stop feed", "What feeds the brake switch?", {
        "ignition": "stop lamps with the ignition on only", "battery": "at any time",
    }, "ignition", "rear", when=_MOTORED, unasked="battery"),
    Question("high stop lamp", "A high stop lamp?", {"yes": "", "no": ""}, "no", "rear",
             when={"vehicle": ("car", "van"), "built": _LATER, "indicators": ("own lamps", "none")}, unasked="no"),
    Question("reversing lamps", "Reversing lamps?", {"none": "", "one": "on the side of the kerb", "two": ""}, "none",
             "rear", (({"built": ("1970 to 1984", *_LATER), "vehicle": ("car", "van")}, "two"),), _WHEELS4),
    Question("rear fog lamps", "Rear fog lamps?", {"none": "", "one": "on the driver's side", "two": ""}, "none",
             "rear", (({"built": _LATER, "vehicle": ("car", "van", "lorry", "bus")}, "one"),),
             {"vehicle": FOUR_WHEELS, "headlamps": ("two", "four")}),
    Question("plate lamps", "Number-plate lamps?", _NUMBERS, "one", "rear",
             when={"vehicle": FOUR_WHEELS}, unasked="none"),
    Question("work lamps", "Work lamps?", _NUMBERS, "one", "rear", when={"vehicle": ("tractor",)}),
)

_INSIDE: Final = (
    Question("panel lamps", "Lamps of the instruments?", {"none": "", "one": "", "two": "", "three": ""}, "two",
             "inside", ((_MOTORCYCLE, "one"),), _MOTORED),
    Question("interior lamp", "Interior lamp?", {
        "none": "", "own switch": "switched at the lamp", "door switches": "switched to earth by the doors",
    }, "door switches", "inside", (({"built": ("before 1955",)}, "own switch"),),
        {"vehicle": ("car", "van", "lorry", "bus")}),
    Question("horn", "How is the horn switched?", {
        "button to earth": "live at the horn", "button in feed": "earthed at the horn", "relay": "", "none": "",
    }, "button to earth", "inside", when=_MOTORED),
)

_SUPPLY: Final = (
    Question("fuses", "How many fuses?", {
        "none": "", "one": "for everything, at the battery",
        "two": "one for what the ignition switch feeds, one for the rest; the switch itself has none",
        "four": "and one for the lamps of each side", "each": "a fuse for each circuit",
    }, "two", "supply", (({"vehicle": FOUR_WHEELS, "built": ("1970 to 1984",)}, "four"),
                         ({"vehicle": FOUR_WHEELS, "built": _LATER}, "each"), (_MOTORCYCLE, "one")),
        _MOTORED, "one"),
    Question("fuse type", "Which fuses?", {
        "British glass": "marked with the current that blows them", "glass": "", "ceramic": "pointed ends",
        "blade": "flat, of plastic",
    }, "British glass", "supply", (({"built": _LATER}, "blade"), ({"colours": ("IEC 60757",)}, "ceramic")),
        {"vehicle": MOTOR, "fuses": ("one", "two", "four", "each")}, "blade"),
    Question("joints", "How are the looms joined?", {
        "plugs": "plugs of several ways", "bullets": "single bullets, and blocks of them",
        "in one piece": "no plugs that are known",
    }, "bullets", "supply", (({"built": _LATER}, "plugs"), ({"colours": ("IEC 60757",)}, "plugs")), unasked="plugs"),
    Question("front earths", "How are the front lamps earthed?", {
        "own": "a wire and a bolt on each side", "shared": "wires to one bolt", "holder": "where they are bolted on",
    }, "own", "supply", when={"vehicle": MOTOR, "body": ("steel",)}, unasked="own"),
    Question("rear earths", "How are the rear lamps earthed?", {
        "own": "a wire and a bolt on each side", "shared": "wires to one bolt", "holder": "where they are bolted on",
    }, "own", "supply", when={"vehicle": MOTOR, "body": ("steel",)}, unasked="own"),
    Question("socket", "A trailer socket?", {
        "none": "", "7 ways": "ISO 1724", "13 ways": "ISO 11446",
    }, "none", "supply", when={"vehicle": FOUR_WHEELS, "volts": ("12 V",), "indicators": ("own lamps",),
                               "flasher in": ("feed",)}),
    Question("plug", "Which plug does it have?", {"7 ways": "ISO 1724", "13 ways": "ISO 11446"}, "7 ways", "supply",
             when={"vehicle": TOWED}),
    Question("coupled", "What is coupled to it?", {
        "none": "nothing now", "trailer": "", "caravan": "",
    }, "none", "supply", when={"vehicle": FOUR_WHEELS, "socket": ("7 ways", "13 ways")}),
    Question("fog cut-out", "Does the plug cut the vehicle's own rear fog lamp out?", {"yes": "", "no": ""}, "no",
             "supply", unasked="no",
             when={"vehicle": FOUR_WHEELS, "socket": ("7 ways", "13 ways"), "rear fog lamps": ("one", "two")}),
)

QUESTIONS: Final[tuple[Question, ...]] = (*_VEHICLE, *_FRONT, *_REAR, *_INSIDE, *_SUPPLY)
BY_ID: Final[Mapping[str, Question]] = {q.id: q for q in QUESTIONS}

# What follows from the answers: patterns may ask for these as well.
DERIVED: Final[Mapping[str, tuple[str, ...]]] = {
    "ways": ("none", "7 ways", "13 ways"),  # of the plug or the socket
    "towed": ("none", *TOWED),  # alone, or coupled
}


def derived(known: Mapping[str, str]) -> dict[str, str]:
    """The values of `DERIVED` by the answers."""
    alone = known["vehicle"] in TOWED
    return {"ways": known["plug"] if alone else known["socket"],
            "towed": known["vehicle"] if alone else known["coupled"]}
