"""What is known of one kind of test (`Kind`, a row of `test_kinds.KINDS`), and of the place where one is made."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from tracer.circuit.model import Change, Circuit
from tracer.harness.inspectable import Thing, thing_at
from tracer.harness.model import Harness
from tracer.harness.terminal_words import say_node, say_terminal
from tracer.observation.hazards import Hazard
from tracer.observation.quantities import Quantity

# Which points a test takes: one lamp; one point against the body (two are allowed); two points; the two ends of one
# wire; one end of a wire, named by its other; a thing that is looked over; a thing that is moved and a lamp that is
# watched.
Points = Literal["lamp at sight", "point", "two points", "wire", "wire end", "thing", "thing and lamp"]
# How what it shows is worked out: as the light of the vehicle's own lamps; as that of a lamp or LED that the test
# connects; as a voltage between its points; by the ohmmeter's own voltage; as the current in a wire; by what is the
# matter with the thing at hand, which no circuit tells.
Model = Literal["lamps", "light across", "voltage", "resistance", "wire current", "by hand"]


class Spot(Struct, frozen=True):
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


class Kind(Struct, frozen=True):
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
        between: The name of the kind that it becomes between two points other than the body; "" for none.
        at_rest: Whether everything is off and nothing moves meanwhile: no vehicle state is set.
        battery_off: Whether the battery is disconnected for it, unless it is made in the hand.
        moves: Whether a thing is moved meanwhile.
        hands_free: Whether who holds a pedal can make it alone.
        loads: Whether the instrument draws a current that changes the voltage it reads.
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
    between: str = ""
    at_rest: bool = False
    battery_off: bool = False
    moves: bool = False
    hands_free: bool = False
    loads: bool = False

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
    def plain_volts(self) -> bool:
        """Whether it reads the voltage that stands there, by an instrument that draws next to nothing."""
        return self.of_supply and not self.loads

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
