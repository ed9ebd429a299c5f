"""The kinds of tests, one row each: `KINDS`.

A row says how a test is typed and said, which points it takes, what it does to the circuit, what its reading is and
how that is worked out, what it costs and what may hurt. Whatever else must know one kind from another asks a row for
a property; nothing compares the names of kinds (a test holds that).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from tracer.harness.devices import Source
from tracer.harness.inspectable import say_look, say_moved
from tracer.harness.node import node_of
from tracer.harness.terminal_words import say_node, splice_between
from tracer.observation.instruments import (
    fuse_ends,
    known_good,
    lamp_ends,
    lamp_for_fuse,
    led_tester,
    no_fuse_there,
    no_lamp_there,
    ohmmeter,
    test_lamp,
    voltmeter,
)
from tracer.observation.quantities import CURRENT, RESISTANCE, VOLTAGE
from tracer.observation.test_row import Kind, Spot

TestKind = Literal[
    "volts", "drop", "ohms", "test lamp", "LED tester", "known-good lamp", "lamp for fuse", "current", "look",
    "inspect", "wiggle", "crimp",
]

_USUAL_V: Final = 12.0  # of a test lamp that nobody says more of
LOOKS: Final = ("dark", "faint", "dim", "normal", "flashing", "slow", "fast", "steady")
_STEADY_LOOKS: Final = LOOKS[:4]
EYES: Final = "eyes"  # the instrument that everybody has at hand


def lamp_words(lamp: str) -> str:
    """A lamp of the vehicle with its article, and with the word lamp if its name has none."""
    named = lamp.rstrip("0123456789 ").endswith(("lamp", "tell-tale"))
    return f"the {lamp}" + ("" if named else " lamp")


def _called_test_lamp(spot: Spot) -> str:
    """With its volts where they are not those that everybody has at hand."""
    volts = spot.harness.system_v
    return "test lamp" if volts == _USUAL_V else f"{volts:g} V test lamp"


def _say_drop(spot: Spot) -> str:
    over = splice_between(spot.harness, spot.plus, spot.minus)
    return (f"volt drop{f' across splice {over}' if over else ''}: voltmeter from {spot.a} to {spot.b}, "
            "everything connected and working")


def _say_ohms(spot: Spot) -> str:
    if spot.in_hand:
        return f"in the hand: look at it, then ohmmeter {_contacts(spot)}"
    end = f"its end at {spot.plus}" if spot.parted else spot.a
    return f"ohmmeter between {end} and {spot.b}"


def _contacts(spot: Spot) -> str:
    """The two contacts of a lamp or fuse in the hand, in words."""
    own = [f for f in spot.harness.lamps() if f.bulb == spot.in_hand]
    named = [f.lamp for f in own if f.a in (spot.plus, spot.minus)]
    if not named:
        return "across it"
    if len(named) == 2:
        return f"between its two live contacts ({named[0]}, {named[1]})"
    return f"across its {named[0]} filament" if len(own) > 1 else "across its filament"


def _say_inspected(spot: Spot) -> str:
    return say_look(spot.harness, spot.thing(at_rest=True), *spot.ends)


def _say_wiggled(spot: Spot) -> str:
    moved = say_moved(spot.harness, spot.thing(at_rest=False), *spot.ends)
    return f"wiggle {moved}, and watch {lamp_words(spot.lamp)}"


def _inspected(spot: Spot) -> str:
    if spot.lamp:
        return f"inspect {'holder' if node_of(spot.plus).inner else 'lamp'} {spot.lamp}"
    return f"inspect {' to '.join(filter(None, [spot.plus, spot.minus]))}"


def _wiggled(spot: Spot) -> str:
    moved = " to ".join(filter(None, [spot.plus, spot.minus]))
    return f"wiggle {moved} and watch {spot.lamp}"


def _wiggled_short(spot: Spot) -> str:
    return f"wiggle {' to '.join(say_node(n, spot.harness) for n in (spot.plus, spot.minus) if n)}, watch {spot.lamp}"


def _say_crimp(spot: Spot) -> str:
    harness = spot.harness
    if any(isinstance(d, Source) and spot.plus in (d.plus, d.minus) for d in harness.devices()):
        return (f"volt drop over the clamp at {spot.a}: voltmeter from the post itself to the lead to {spot.b}, "
                "close behind its clamp")
    joint = "joint" if spot.plus in harness.splices else "bolt" if spot.plus in harness.earths else "terminal"
    return (f"volt drop over the crimp at {spot.a}: voltmeter from the {joint} to a pin through the insulation of "
            f"the wire to {spot.b}, a finger's width behind it")


KINDS: Final[Mapping[TestKind, Kind]] = {
    "volts": Kind(
        "V", "voltmeter", "point", r"volt(?:age|s)?", "volts at left rear.stop when brake pressed",
        lambda spot: f"volts at {spot.typed}", lambda spot: f"volts {spot.plus}",
        lambda spot: f"voltmeter: red on {spot.a}, black on {spot.b}", ("Voltmeter, red on {a}.", "Black on {b}."),
        0.45, "voltage", ("probe at live contacts",), "by a generator", voltmeter, VOLTAGE, between="drop",
    ),
    "drop": Kind(
        "D", "voltmeter", "two points", r"volt(?:age|s)?[\s-]*drop", "volt drop A to B when …",
        lambda spot: f"volt drop {spot.plus} to {spot.minus}", lambda spot: f"drop {spot.plus} to {spot.minus}",
        _say_drop, ("Voltmeter, red on {a}.", "Black on {b}; all else stays connected and working."),
        0.75, "voltage", ("probe at live contacts",), "by a generator", voltmeter, VOLTAGE,
        needs="a volt drop lies between two",
    ),
    "ohms": Kind(
        "R", "ohmmeter", "two points", r"ohms?|resistance|continuity", "ohms A to B",
        lambda spot: f"ohms {spot.plus} to {spot.minus}", lambda spot: f"ohms {spot.plus} to {spot.minus}",
        _say_ohms, ("Ohmmeter, one probe on {a}.", "Other probe on {b}."),
        0.75, "resistance", ("ohmmeter on a fed circuit",), "by a generator", ohmmeter, RESISTANCE,
        needs="a resistance has two ends", battery_off=True,
    ),
    "test lamp": Kind(
        "G", "test lamp", "point", r"test[\s-]*(?:lamp|light)", "test lamp at A when …",
        lambda spot: f"test lamp at {spot.typed}", lambda spot: f"test lamp {spot.typed}",
        lambda spot: f"{_called_test_lamp(spot)} from {spot.a} to {spot.b}",
        ("Test lamp for {system_v} V, probe on {a}.", "Clip on {b}."),
        0.45, "light across", ("current through electronics", "probe at live contacts"), "feed to body", test_lamp,
        called="a test lamp", choices=_STEADY_LOOKS, asks="How does it look?",
    ),
    "LED tester": Kind(
        "E", "LED tester", "point", r"led[\s-]*(?:tester|test[\s-]*(?:lamp|light))", "",
        lambda spot: f"LED tester at {spot.typed}", lambda spot: f"LED tester {spot.typed}",
        lambda spot: f"LED tester from {spot.a} to {spot.b}", ("LED tester, probe on {a}.", "Clip on {b}."),
        0.45, "light across", ("probe at live contacts",), "when asked for", led_tester,
        called="an LED tester", choices=_STEADY_LOOKS, asks="How does it look?",
        unproposed="a voltmeter at that point draws less still and tells more",
    ),
    "known-good lamp": Kind(
        "K", "known-good lamp", "two points", r"known[\s-]*good[\s-]*(?:lamp|bulb)", "",
        lambda spot: f"known-good lamp {spot.plus} to {spot.minus}",
        lambda spot: f"known-good lamp {spot.plus} to {spot.minus}",
        lambda spot: f"a lamp known to be good, of the watts that belong there, held from {spot.a} to {spot.b}",
        ("A lamp known to be good, of the watts that belong there, on two short leads.",
         "One lead on {a}.", "The other on {b}."),
        0.95, "light across", ("hot lamp", "probe at live contacts"), "when asked for", known_good,
        called="the light of a lamp", choices=_STEADY_LOOKS, asks="How does the lamp in your hand look?",
        needs="a lamp hangs between two", named="lamp", ends=lamp_ends, refuses=no_lamp_there,
        unproposed="volts, and the volt drop between these two terminals, part the same causes in less time",
        spares="it takes what the lamp of that place takes, and its feed was made for that",
    ),
    "lamp for fuse": Kind(
        "F", "test lamp", "two points",
        r"test[\s-]*(?:lamp|light)\s+(?:in\s+(?:the\s+)?place\s+of|instead\s+of|for)(?:\s+the)?", "",
        lambda spot: f"test lamp in place of {node_of(spot.plus).owner}",
        lambda spot: f"test lamp in place of {node_of(spot.plus).owner}",
        lambda spot: f"pull fuse {node_of(spot.plus).owner} and put the {_called_test_lamp(spot)} in its place, "
                     f"from {spot.a} to {spot.b}",
        ("{says}.",),
        0.85, "light across", ("plug or fuse pulled", "current through electronics"), "when asked for", lamp_for_fuse,
        called="a test lamp", choices=_STEADY_LOOKS, asks="How does the test lamp look?",
        needs="a fuse sits between two", named="fuse", ends=fuse_ends, refuses=no_fuse_there,
        unproposed="an ohmmeter at the pulled fuse finds what its circuit lies on without feeding it",
    ),
    "current": Kind(
        "A", "clamp ammeter", "wire",
        r"(?:clamp(?:[\s-]*(?:ammeter|meter))?[\s,]*)?(?:amp(?:ere)?s|current)|clamp(?:[\s-]*(?:ammeter|meter))?",
        "amps A to B when …",
        lambda spot: f"amps {spot.plus} to {spot.minus}", lambda spot: f"current {spot.plus} to {spot.minus}",
        lambda spot: f"clamp ammeter round the wire from {spot.a} to {spot.b}, that wire alone",
        ("Clamp ammeter, zeroed, round the wire from {a}", "to {b}, that wire alone."),
        0.55, "wire current", ("clamp at a wire",), "when asked for", quantity=CURRENT,
        unproposed="volts on both sides of a fault tell as much, and nobody has to part one wire from its loom",
    ),
    "look": Kind(
        "L", EYES, "lamp at sight", r"looks?(?:\s+at)?", "look left rear tail when …",
        lambda spot: f"look at {spot.lamp}", lambda spot: f"look: {spot.lamp}",
        lambda spot: f"look at {lamp_words(spot.lamp)}", ("Look at: {lamp}.",),
        0.15, "lamps", (), "by a generator", called="the look of a lamp", choices=LOOKS,
        asks="How does it look?", hands_free=True,
    ),
    "inspect": Kind(
        "I", EYES, "thing", r"inspect(?:ion(?:\s+of)?)?|looks?\s+(?:along|over|into)", "inspect A to B",
        _inspected, _inspected, _say_inspected, ("{says}",),
        0.35, "by hand", ("hands at what may move",), "by a generator",
        choices=("found", "nothing"), findings=("found", "nothing"),
        chance="by {} of 10", asks="What was found?", answer="found|nothing", at_rest=True,
    ),
    "wiggle": Kind(
        "W", EYES, "thing and lamp", r"wiggl(?:e|ed|ing)|shak(?:e|ing)|tap(?:ping)?", "",
        _wiggled, _wiggled_short, _say_wiggled, ("{says}.",),
        0.75, "by hand", ("wires moved while live",), "by a generator",
        choices=("changes", "does not"), findings=("changes", "does not"),
        chance="in {} of 10", asks="Does the lamp change?", answer='"changes|does not"', moves=True,
    ),
    # Nobody sees whether a terminal, its wire or the joint at the wire's other end is bad, and each shows the same at
    # every other probe: a terminal that is good loses less than a tenth of a volt to its own copper (common practice,
    # no source).
    "crimp": Kind(
        "J", "voltmeter", "wire end", r"crimp(?:[\s-]+drop)?", "",
        lambda spot: f"crimp {spot.plus} to {spot.minus}", lambda spot: f"crimp {spot.plus}, wire to {spot.minus}",
        _say_crimp,
        ("{says}; all stays connected and working.", "Seal the hole of a pin afterwards."),
        1.0, "by hand", ("probe at live contacts",), "by a generator",
        choices=("volts lost", "none lost"), findings=("volts lost", "none lost"), chance="in {} of 10",
        asks="Is more than 0.1 V lost there?", answer='"volts lost|none lost"',
    ),
}
INSTRUMENTS: Final = tuple(dict.fromkeys((EYES, *(row.instrument for row in KINDS.values()))))


def kind_named(name: str) -> TestKind:
    """The kind of a name that a row gives."""
    return next(kind for kind in KINDS if kind == name)
