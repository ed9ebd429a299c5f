"""The kinds of tests, one row each: `KINDS`.

A row says how a test is typed and said, which points it takes, what it does to the circuit, what its reading is and
how that is worked out, what it costs and what may hurt. Whatever else must know one kind from another asks a row for
a property; nothing compares the names of kinds (a test holds that).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, TestLamp
from tracer.harness.devices import Filament, FilamentLaw, FuseLink, Joint, LedLaw, Source
from tracer.harness.inspectable import Thing, say_look, say_moved, thing_at
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at
from tracer.harness.terminal_words import say_node, say_terminal, splice_between
from tracer.observation.hazards import Hazard
from tracer.observation.quantities import CURRENT, RESISTANCE, VOLTAGE, Quantity
from tracer.standards.lamps import TEST_V

TestKind = Literal[
    "volts", "drop", "ohms", "test lamp", "LED tester", "known-good lamp", "lamp for fuse", "current", "look",
    "inspect", "wiggle", "crimp",
]

METER_OHM = 10e6  # input of a common multimeter on volts (electrician training pages)
# An LED and 680 Ω: 15 mA at 12 V (testers take 5 to 20 mA; common practice, no source). It lights through a
# contact that could not carry a lamp.
LED_TESTER = LedLaw(threshold_v=1.8, ohm=680.0, soft_v=0.045, v_normal=12.0)
TEST_LAMP_W = 5.0
_USUAL_V: Final = 12.0  # of a test lamp that nobody says more of

LOOKS: Final = ("dark", "faint", "dim", "normal", "flashing", "slow", "fast", "steady")
_STEADY_LOOKS: Final = LOOKS[:4]
EYES: Final = "eyes"  # the instrument that everybody has at hand

# Which points a test takes: one lamp; one point against the body (two are allowed); two points; the two ends of one
# wire; one end of a wire, named by its other; a thing that is looked over; a thing that is moved and a lamp that is
# watched.
Points = Literal["lamp at sight", "point", "two points", "wire", "wire end", "thing", "thing and lamp"]
# How what it shows is worked out: as the light of the vehicle's own lamps; as that of a lamp or LED that the test
# connects; as a voltage between its points; by the ohmmeter's own voltage; as the current in a wire; by what is the
# matter with the thing at hand, which no circuit tells.
Model = Literal["lamps", "light across", "voltage", "resistance", "wire current", "by hand"]


@dataclass(frozen=True)
class Spot:
    """Where a test is made. `in_hand`: the lamp or fuse that is measured out of the vehicle; `parted`: the splice
    that is parted for it."""

    harness: Harness
    plus: str
    minus: str
    lamp: str
    in_hand: str = ""
    parted: str = ""

    def thing(self, at_rest: bool) -> Thing:
        """What is looked over or moved. Where it is moved, the lamp is another that is watched."""
        return thing_at(self.harness, self.plus, self.minus, self.lamp if at_rest else "")

    @property
    def ends(self) -> tuple[str, str]:
        """Both points in words, a way by its number alone."""
        a, b = (say_node(n, self.harness).removesuffix(" (incoming half)") for n in (self.plus, self.minus))
        return a, b

    @property
    def a(self) -> str:
        return say_terminal(self.harness, self.plus)

    @property
    def b(self) -> str:
        return say_terminal(self.harness, self.minus)

    @property
    def typed(self) -> str:
        """Both points as they are typed, the body left out where it is meant anyhow."""
        both = self.minus and self.minus not in (self.harness.reference, *self.harness.bodies())
        return f"{self.plus} to {self.minus}" if both else self.plus


@dataclass(frozen=True)
class Kind:
    """What is known of one kind of test.

    Attributes:
        letter: Begins its short name ("V-3f2a"); none with which trouble codes begin (B, C, P, U).
        instrument: What is taken into the hand for it.
        points: Which points it takes.
        typed: Pattern of what it is called; of several that match the longest is meant.
        example: A whole test as it is typed, as the hint shows it; "" leaves it out there.
        words: It, without the vehicle state, as `parse_test` reads it.
        short: It in a list of what was done.
        says: What to do, in the imperative, after what is set and done beforehand.
        steps: The same step by step, with {a} and {b} for the probes, {lamp}, {system_v} for the vehicle's volts, and
            {says} for `says` as a sentence.
        minutes: To make it, without note, the way there, and what is done beforehand (common practice, no source).
        model: How what it shows is worked out.
        change: What connecting the instrument changes in the circuit.
        hazards: What may hurt or be spoilt.
        quantity: What is read as a number; None for tests that show light or something found.
        called: What a reading is said to be, where it is light.
        choices: Answers to choose from; empty for numbers.
        findings: Where something is found or not: the words for both.
        chance: How often it is found, in words, with {} for a number of ten.
        asks: The guide's question; "" for that of the reading.
        answer: What stands for the reading where a command is shown.
        needs: What a test with too few points is told.
        named: What may be named instead of two points, and `ends`: between which points it sits.
        refuses: Why it cannot be made between two points, and where it can; None if it can.
        between: The kind that it becomes between two points other than the body.
        at_rest: Whether everything is off and nothing moves meanwhile: no vehicle state is set.
        battery_off: Whether the battery is disconnected for it, unless it is made in the hand.
        moves: Whether a thing is moved meanwhile.
        hands_free: Whether who holds a pedal can make it alone.
    """

    letter: str
    instrument: str
    points: Points
    typed: str
    example: str
    words: Callable[[Spot], str]
    short: Callable[[Spot], str]
    says: Callable[[Spot], str]
    steps: tuple[str, ...]
    minutes: float
    model: Model
    hazards: tuple[Hazard, ...]
    change: Callable[[Circuit, str, str], Change] = lambda circuit, plus, minus: Change()
    quantity: Quantity | None = None
    called: str = ""
    choices: tuple[str, ...] = ()
    findings: tuple[str, str] | None = None
    chance: str = ""
    asks: str = ""
    answer: str = "VALUE"
    needs: str = ""
    named: Literal["", "lamp", "fuse"] = ""
    ends: Callable[[Harness, str], tuple[str, str]] = lambda harness, name: ("", "")
    refuses: Callable[[Harness, str, str], tuple[str, str] | None] = lambda harness, plus, minus: None
    between: TestKind | None = None
    at_rest: bool = False
    battery_off: bool = False
    moves: bool = False
    hands_free: bool = False

    @property
    def of_lamps(self) -> bool:
        """Whether it is a look at a lamp of the vehicle."""
        return self.model == "lamps"

    @property
    def by_hand(self) -> bool:
        """Whether what it shows goes by what is wrong at the thing at hand, not by the circuit alone."""
        return self.model == "by hand"

    @property
    def probes(self) -> bool:
        """Whether probes go to bare metal."""
        return self.at_end or not (self.of_lamps or self.by_hand)

    @property
    def shows_light(self) -> bool:
        """Whether it shows the light of something that it connects itself."""
        return self.model == "light across"

    @property
    def log_scale(self) -> bool:
        return self.quantity is not None and self.quantity.log_scale

    @property
    def of_supply(self) -> bool:
        return self.quantity is not None and self.quantity.of_supply

    @property
    def unit(self) -> str:
        """The sign of its unit; "" where no number is read."""
        return self.quantity.unit if self.quantity else ""

    @property
    def takes_lamp(self) -> bool:
        return self.points in ("lamp at sight", "thing and lamp")

    @property
    def takes_thing(self) -> bool:
        return self.points in ("thing", "thing and lamp")

    @property
    def one_point(self) -> bool:
        return self.points == "point"

    @property
    def two_points(self) -> bool:
        return self.points in ("two points", "wire", "wire end")

    @property
    def takes_wire(self) -> bool:
        return self.points in ("wire", "wire end")

    @property
    def at_end(self) -> bool:
        """Whether it is made at the first of its points alone: the second says which wire there is meant."""
        return self.points == "wire end"

    @property
    def question(self) -> str:
        """What the guide asks for its reading."""
        unit = self.unit
        return self.asks or f"Reading in {unit}" + (" (or: open)?" if self.log_scale else "?")


def _voltmeter(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(added=(AddedBranch(plus, minus, METER_OHM),))


def _ohmmeter(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(disconnected=True, ohmmeter=(plus, minus))


def lamp_of_tester(volts: float) -> FilamentLaw:
    """A lamp of the vehicle's own volts in the holder of the test lamp: of 12 V it glows at best on 6 V, where a full
    feed would look like a bad one, and burns out on 24 V."""
    v = TEST_V[volts]
    return FilamentLaw(i0=TEST_LAMP_W / v, v0=v, watts=TEST_LAMP_W, v_normal=volts)


def _called_test_lamp(spot: Spot) -> str:
    """With its volts where they are not those that everybody has at hand."""
    volts = spot.harness.system_v
    return "test lamp" if volts == _USUAL_V else f"{volts:g} V test lamp"


def _test_lamp(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(lamps=(TestLamp(plus, minus, lamp_of_tester(circuit.harness.system_v)),))


def _led_tester(circuit: Circuit, plus: str, minus: str) -> Change:
    """Held so that it can light: against the body, which may be the plus side."""
    ends = (minus, plus) if circuit.harness.positive_earth else (plus, minus)
    return Change(lamps=(TestLamp(*ends, LED_TESTER),))


def _right_lamp(harness: Harness, plus: str) -> Filament | None:
    """The filament that a terminal feeds through its holder."""
    part = harness.parts.get(node_of(plus).owner)
    inside = {d.b for d in part.devices if isinstance(d, Joint) and d.a == plus} if part else set()
    return next((f for f in part.lamps if {f.a, f.b} & inside), None) if part else None


def _known_good(circuit: Circuit, plus: str, minus: str) -> Change:
    """A lamp of the right watts; an LED the way round that it sits in its holder."""
    right = _right_lamp(circuit.harness, plus)
    if right is None:
        return Change()
    turned = isinstance(right.law, LedLaw) and circuit.harness.positive_earth
    return Change(lamps=(TestLamp(*((minus, plus) if turned else (plus, minus)), right.law),))


def _no_lamp_there(harness: Harness, plus: str, minus: str) -> tuple[str, str] | None:
    if _right_lamp(harness, plus) is not None:
        return None
    return f"no lamp hangs on {plus}", "name the lamp: “known-good lamp at left rear stop when …”"


def _lamp_ends(harness: Harness, lamp: str) -> tuple[str, str]:
    """The terminals that feed and earth a lamp."""
    part = next(p for p in harness.parts.values() if any(f.lamp == lamp for f in p.lamps))
    return next(
        t for t in (terminal_at(part.name, x) for x in part.terminals)
        if (f := _right_lamp(harness, t)) and f.lamp == lamp
    ), terminal_at(part.name, "earth")


def _lamp_for_fuse(circuit: Circuit, plus: str, minus: str) -> Change:
    """The fuse is out, and the test lamp in its clips."""
    fuse = circuit.harness.parts[node_of(plus).owner]
    links = tuple((d.name, OPEN_OHM) for d in fuse.devices if isinstance(d, FuseLink))
    return _test_lamp(circuit, plus, minus) | Change(set_ohm=links)


def _fuse_ends(harness: Harness, fuse: str) -> tuple[str, str]:
    return terminal_at(fuse, "in"), terminal_at(fuse, "out")


def _no_fuse_there(harness: Harness, plus: str, minus: str) -> tuple[str, str] | None:
    fuse = harness.parts.get(node_of(plus).owner)
    if fuse and any(isinstance(d, FuseLink) for d in fuse.devices) and node_of(minus).owner == fuse.name != minus:
        return None
    return f"no fuse sits between {plus} and {minus}", "name the fuse: “test lamp in place of F1 when …”"


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


def lamp_words(lamp: str) -> str:
    """A lamp of the vehicle with its article, and with the word lamp if its name has none."""
    named = lamp.rstrip("0123456789 ").endswith(("lamp", "tell-tale"))
    return f"the {lamp}" + ("" if named else " lamp")


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
        0.45, "voltage", ("probe at live contacts",), _voltmeter, VOLTAGE, between="drop",
    ),
    "drop": Kind(
        "D", "voltmeter", "two points", r"volt(?:age|s)?[\s-]*drop", "volt drop A to B when …",
        lambda spot: f"volt drop {spot.plus} to {spot.minus}", lambda spot: f"drop {spot.plus} to {spot.minus}",
        _say_drop, ("Voltmeter, red on {a}.", "Black on {b}; all else stays connected and working."),
        0.75, "voltage", ("probe at live contacts",), _voltmeter, VOLTAGE, needs="a volt drop lies between two",
    ),
    "ohms": Kind(
        "R", "ohmmeter", "two points", r"ohms?|resistance|continuity", "ohms A to B",
        lambda spot: f"ohms {spot.plus} to {spot.minus}", lambda spot: f"ohms {spot.plus} to {spot.minus}",
        _say_ohms, ("Ohmmeter, one probe on {a}.", "Other probe on {b}."),
        0.75, "resistance", ("ohmmeter on a fed circuit",), _ohmmeter, RESISTANCE,
        needs="a resistance has two ends", battery_off=True,
    ),
    "test lamp": Kind(
        "G", "test lamp", "point", r"test[\s-]*(?:lamp|light)", "test lamp at A when …",
        lambda spot: f"test lamp at {spot.typed}", lambda spot: f"test lamp {spot.typed}",
        lambda spot: f"{_called_test_lamp(spot)} from {spot.a} to {spot.b}",
        ("Test lamp for {system_v} V, probe on {a}.", "Clip on {b}."),
        0.45, "light across", ("current through electronics", "probe at live contacts"), _test_lamp,
        called="a test lamp", choices=_STEADY_LOOKS, asks="How does it look?",
    ),
    "LED tester": Kind(
        "E", "LED tester", "point", r"led[\s-]*(?:tester|test[\s-]*(?:lamp|light))", "",
        lambda spot: f"LED tester at {spot.typed}", lambda spot: f"LED tester {spot.typed}",
        lambda spot: f"LED tester from {spot.a} to {spot.b}", ("LED tester, probe on {a}.", "Clip on {b}."),
        0.45, "light across", ("probe at live contacts",), _led_tester,
        called="an LED tester", choices=_STEADY_LOOKS, asks="How does it look?",
    ),
    "known-good lamp": Kind(
        "K", "known-good lamp", "two points", r"known[\s-]*good[\s-]*(?:lamp|bulb)", "",
        lambda spot: f"known-good lamp {spot.plus} to {spot.minus}",
        lambda spot: f"known-good lamp {spot.plus} to {spot.minus}",
        lambda spot: f"a lamp known to be good, of the watts that belong there, held from {spot.a} to {spot.b}",
        ("A lamp known to be good, of the watts that belong there, on two short leads.",
         "One lead on {a}.", "The other on {b}."),
        0.95, "light across", ("hot lamp", "probe at live contacts"), _known_good,
        called="the light of a lamp", choices=_STEADY_LOOKS, asks="How does the lamp in your hand look?",
        needs="a lamp hangs between two", named="lamp", ends=_lamp_ends, refuses=_no_lamp_there,
    ),
    "lamp for fuse": Kind(
        "F", "test lamp", "two points",
        r"test[\s-]*(?:lamp|light)\s+(?:in\s+(?:the\s+)?place\s+of|instead\s+of|for)(?:\s+the)?", "",
        lambda spot: f"test lamp in place of {node_of(spot.plus).owner}",
        lambda spot: f"test lamp in place of {node_of(spot.plus).owner}",
        lambda spot: f"pull fuse {node_of(spot.plus).owner} and put the {_called_test_lamp(spot)} in its place, "
                     f"from {spot.a} to {spot.b}",
        ("{says}.",),
        0.85, "light across", ("plug or fuse pulled", "current through electronics"), _lamp_for_fuse,
        called="a test lamp", choices=_STEADY_LOOKS, asks="How does the test lamp look?",
        needs="a fuse sits between two", named="fuse", ends=_fuse_ends, refuses=_no_fuse_there,
    ),
    "current": Kind(
        "A", "clamp ammeter", "wire",
        r"(?:clamp(?:[\s-]*(?:ammeter|meter))?[\s,]*)?(?:amp(?:ere)?s|current)|clamp(?:[\s-]*(?:ammeter|meter))?",
        "amps A to B when …",
        lambda spot: f"amps {spot.plus} to {spot.minus}", lambda spot: f"current {spot.plus} to {spot.minus}",
        lambda spot: f"clamp ammeter round the wire from {spot.a} to {spot.b}, that wire alone",
        ("Clamp ammeter, zeroed, round the wire from {a}", "to {b}, that wire alone."),
        0.55, "wire current", ("clamp at a wire",), quantity=CURRENT,
    ),
    "look": Kind(
        "L", EYES, "lamp at sight", r"looks?(?:\s+at)?", "look left rear tail when …",
        lambda spot: f"look at {spot.lamp}", lambda spot: f"look: {spot.lamp}",
        lambda spot: f"look at {lamp_words(spot.lamp)}", ("Look at: {lamp}.",),
        0.15, "lamps", (), called="the look of a lamp", choices=LOOKS, asks="How does it look?", hands_free=True,
    ),
    "inspect": Kind(
        "I", EYES, "thing", r"inspect(?:ion(?:\s+of)?)?|looks?\s+(?:along|over|into)", "inspect A to B",
        _inspected, _inspected, _say_inspected, ("{says}",),
        0.35, "by hand", ("hands at what may move",), choices=("found", "nothing"), findings=("found", "nothing"),
        chance="by {} of 10", asks="What was found?", answer="found|nothing", at_rest=True,
    ),
    "wiggle": Kind(
        "W", EYES, "thing and lamp", r"wiggl(?:e|ed|ing)|shak(?:e|ing)|tap(?:ping)?", "",
        _wiggled, _wiggled_short, _say_wiggled, ("{says}.",),
        0.75, "by hand", ("wires moved while live",),
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
        1.0, "by hand", ("probe at live contacts",),
        choices=("volts lost", "none lost"), findings=("volts lost", "none lost"), chance="in {} of 10",
        asks="Is more than 0.1 V lost there?", answer='"volts lost|none lost"',
    ),
}
INSTRUMENTS: Final = tuple(dict.fromkeys((EYES, *(row.instrument for row in KINDS.values()))))
