"""What was seen or measured, as values: words for lamps, symptoms, tests and their readings."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeGuard

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, TestLamp
from tracer.harness.devices import Filament, FilamentLaw, LedLaw
from tracer.harness.inspectable import Thing, points_of, say_look, say_moved, thing_at
from tracer.harness.model import Harness, VehicleState
from tracer.harness.terminal_words import say_node, say_terminal, splice_between
from tracer.observation.actions import Intervention

# Brightness words in order. Their borders stand in `likelihood`.
WORDS: Final = ("dark", "faint", "dim", "normal", "bright")
ALL_WORDS: Final = frozenset(WORDS)
LIT: Final = frozenset(WORDS[1:])
Flash = Literal["steady", "flashing", "slow", "fast"]
Comparison = Literal["dimmer", "alike", "brighter"]
Sound = Literal["clicks", "silent", "buzzes"]
Light = Literal["", "day", "night"]


@dataclass(frozen=True)
class LampSeen:
    """How one lamp looked: any of `words` (several where the person was not sure), and whether it
    flashed where that was said. `sometimes`: now and then so, otherwise as it should be. `doubtful`: the
    person said perhaps."""

    lamp: str
    words: frozenset[str]
    flash: Flash | None = None
    sometimes: bool = False
    doubtful: bool = False

    def says(self) -> str:
        word = "lit" if self.words == LIT else " or ".join(w for w in WORDS if w in self.words)
        before = "perhaps " * self.doubtful + "sometimes " * self.sometimes
        return f"{self.lamp} {before}{word}" + (f", {self.flash}" if self.flash else "")


@dataclass(frozen=True)
class FuseSeen:
    """A fuse was found blown or whole after the state was set."""

    fuse: str
    blown: bool

    def says(self) -> str:
        return f"fuse {self.fuse} {'blows' if self.blown else 'holds'}"


@dataclass(frozen=True)
class Compared:
    """Two lamps looked at side by side: how `lamp` looked against `other`. Far sharper than a look at one."""

    lamp: str
    other: str
    how: Comparison
    doubtful: bool = False

    def says(self) -> str:
        words = {"alike": "as bright as"}.get(self.how, f"{self.how} than")
        return f"{self.lamp} {'perhaps ' * self.doubtful}{words} {self.other}"


@dataclass(frozen=True)
class RelaySeen:
    """What was heard of a relay or flasher unit when the state was set."""

    relay: str
    does: Sound

    def says(self) -> str:
        return f"{self.relay} {'does not click' if self.does == 'silent' else self.does}"


Seen = LampSeen | FuseSeen | Compared | RelaySeen


@dataclass(frozen=True)
class Symptom:
    """What was seen in one vehicle state.

    Attributes:
        others_normal: Every lamp not named behaved as it should.
        light: Looked at by day, when a glow is missed, or in the dark; empty where that was not said.
        only: Controls without which the lamps named did not look so ("only with the side lights on").
        asked: Somebody was sent to look at just these; otherwise he came with it, of all that could be told.
    """

    state: VehicleState
    seen: tuple[Seen, ...]
    others_normal: bool = False
    text: str = ""
    light: Light = ""
    only: tuple[str, ...] = ()
    asked: bool = False

    def lamps_named(self) -> frozenset[str]:
        return frozenset(s.lamp for s in self.seen if isinstance(s, (LampSeen, Compared)))

    def says(self) -> str:
        """Everything seen, in words, without the vehicle state."""
        said = [s.says() for s in self.seen] + (["everything else normal"] if self.others_normal else [])
        by = {"day": ", by day", "night": ", in the dark", "": ""}[self.light]
        only = "".join(f", only with {c} at {self.state[c]}" for c in self.only)
        return "; ".join(said) + by + only

    def without(self, control: str, harness: Harness) -> VehicleState:
        """The state with one control back where it stands when nobody mentions it."""
        positions = dict(self.state.positions) | {control: harness.controls[control].assumed}
        return VehicleState(tuple(positions.items()), self.state.engine_running)


METER_OHM = 10e6  # input of a common multimeter on volts (electrician training pages)
# An LED and 680 Ω: 15 mA at 12 V (testers take 5 to 20 mA; common practice, no source). It lights through a
# contact that could not carry a lamp.
LED_TESTER = LedLaw(threshold_v=1.8, ohm=680.0, soft_v=0.045, v_normal=12.0)
TEST_LAMP = FilamentLaw(i0=5 / 13.5, v0=13.5, watts=5.0)


TestKind = Literal["look", "volts", "drop", "ohms", "test lamp", "LED tester", "current", "inspect", "wiggle"]
BY_HAND: Final = ("inspect", "wiggle")  # what they show goes by the thing at hand, not by a node
LAMP_TESTERS: Final = ("test lamp", "LED tester")  # they show light, not a number


@dataclass(frozen=True)
class Test:
    """A set-up and one observation.

    Attributes:
        kind: look at `lamp`; volts at `plus` against `minus` (the body); volt drop from `plus` to
            `minus` under load; ohms of a dead run; test lamp or LED tester between `plus` and `minus`;
            current in the wire from `plus` to `minus`; inspect: look a thing over for damage (`things` says how
            `plus`, `minus` and `lamp` name it), everything at rest; wiggle: move a thing (`plus`, `minus`) and watch
            `lamp`.
        state: Vehicle state to be set.
        done: What is done on purpose beforehand, in order.
    """

    kind: TestKind
    state: VehicleState
    plus: str = ""
    minus: str = ""
    lamp: str = ""
    done: tuple[Intervention, ...] = ()
    __test__ = False  # not a test class for pytest

    @property
    def in_hand(self) -> str:
        """The lamp or fuse that is measured out of the vehicle, in the hand; "" if none is.

        Nobody gets an ohmmeter onto the inside of a holder: between the contacts of a lamp or fuse that
        was taken out it is that lamp or fuse that is measured.
        """
        if self.kind != "ohms" or "/" not in self.plus:
            return ""
        out = [i.target for i in self.done if i.action == "take out lamp" and "/" in self.minus]
        return next(iter(out + [i.target for i in self.done if i.action == "pull fuse"]), "")

    def thing(self, harness: Harness) -> Thing:
        """What an inspection looks over, or what is wiggled."""
        return thing_at(harness, self.plus, self.minus, self.lamp if self.kind == "inspect" else "")

    def looking_for(self, harness: Harness) -> str:
        """What an inspection looks over, and for what; what is wiggled, and what is watched; in words."""
        ends = [say_node(n).removesuffix(" (incoming half)") for n in (self.plus, self.minus)]
        if self.kind == "wiggle":
            return f"wiggle {say_moved(harness, self.thing(harness), *ends)}, and watch {_lamp_words(self.lamp)}"
        return say_look(harness, self.thing(harness), *ends)

    @property
    def at_rest(self) -> bool:
        """Whether everything is off and nothing moves meanwhile: no vehicle state is set, and none is tried by it."""
        return self.kind == "inspect"

    @property
    def dead(self) -> bool:
        """Whether no circuit is live meanwhile: at rest, or in ohms, where switches still join what they join."""
        return self.at_rest or self.kind == "ohms"

    def battery_off(self, harness: Harness) -> bool:
        """Whether the battery is disconnected for it."""
        if self.at_rest:
            return self.thing(harness).bare
        return self.kind == "ohms" and not self.in_hand

    def change(self, circuit: Circuit) -> Change:
        total = Change()
        if self.in_hand:
            inner = {self.plus, self.minus}
            for p in circuit.ports:
                if isinstance(p, Filament) and p.bulb == self.in_hand:
                    inner |= {p.a, p.b}
            own = {self.plus, self.minus}
            away = [d.name for d in circuit.linear if {d.a, d.b} & inner and {d.a, d.b} != own]
            total = Change(set_ohm=tuple((name, OPEN_OHM) for name in away))
        for intervention in self.done:
            if not (self.in_hand and intervention.target == self.in_hand):
                total = total | intervention.change(circuit)
        if self.kind in ("volts", "drop"):
            total = total | Change(added=(AddedBranch(self.plus, self.minus, METER_OHM),))
        if self.kind == "test lamp":
            total = total | Change(lamps=(TestLamp(self.plus, self.minus, TEST_LAMP),))
        if self.kind == "LED tester":  # held so that it can light: against the body, which may be the plus side
            ends = (self.minus, self.plus) if circuit.harness.positive_earth else (self.plus, self.minus)
            total = total | Change(lamps=(TestLamp(*ends, LED_TESTER),))
        if self.kind == "ohms":
            total = total | Change(disconnected=True, ohmmeter=(self.plus, self.minus))
        return total

    @property
    def parted(self) -> str:
        """The splice that is parted for it; "" if none is."""
        return next((i.target for i in self.done if i.action == "part splice"), "")

    @property
    def has_lead(self) -> bool:
        """Whether a temporary lead is fitted, whose fuse may blow."""
        return any(i.action in ("earth lead", "feed lead") for i in self.done)

    @property
    def instrument(self) -> str:
        names = {
            "look": "eyes", "volts": "voltmeter", "drop": "voltmeter", "ohms": "ohmmeter", "current": "clamp ammeter",
            "inspect": "eyes", "wiggle": "eyes",
        }
        return names.get(self.kind, self.kind)

    def sets_state(self, harness: Harness) -> bool:
        """Whether the vehicle has to be set for it. With the battery off switches still join what they join."""
        if self.at_rest:
            return False
        return self.kind != "ohms" or (not self.in_hand and self.state != harness.state({}))

    def says(self, harness: Harness) -> str:
        """The test in words: what to set, what to do, where to look or probe."""
        parts = [f"set {harness.say_state(self.state)}"] if self.sets_state(harness) else []
        parts += [i.says(harness) for i in self.done]
        a, b = say_terminal(harness, self.plus), say_terminal(harness, self.minus)
        match self.kind:
            case "look":
                parts.append(f"look at {_lamp_words(self.lamp)}")
            case "volts":
                parts.append(f"voltmeter: red on {a}, black on {b}")
            case "drop":
                over = splice_between(harness, self.plus, self.minus)
                parts.append(f"volt drop{f' across splice {over}' if over else ''}: voltmeter from {a} to {b}, "
                             "everything connected and working")
            case "ohms" if self.in_hand:
                parts.append(f"in the hand: look at it, then ohmmeter {self._contacts(harness)}")
            case "ohms":
                end = f"its end at {self.plus}" if self.parted else a
                parts.append(f"ohmmeter between {end} and {b}")
            case "test lamp":
                parts.append(f"test lamp from {a} to {b}")
            case "LED tester":
                parts.append(f"LED tester from {a} to {b}")
            case "current":
                parts.append(f"clamp ammeter round the wire from {a} to {b}, that wire alone")
            case "inspect" | "wiggle":
                parts.append(self.looking_for(harness))
        return "; ".join(parts)

    def _contacts(self, harness: Harness) -> str:
        """The two contacts of a lamp or fuse in the hand, in words."""
        own = [f for f in harness.lamps() if f.bulb == self.in_hand]
        named = [f.lamp for f in own if f.a in (self.plus, self.minus)]
        if not named:
            return "across it"
        if len(named) == 2:
            return f"between its two live contacts ({named[0]}, {named[1]})"
        return f"across its {named[0]} filament" if len(own) > 1 else "across its filament"


def _lamp_words(lamp: str) -> str:
    named = lamp.rstrip("0123456789 ").endswith(("lamp", "tell-tale"))
    return f"the {lamp}" + ("" if named else " lamp")


def wiggling(harness: Harness, thing: Thing, state: VehicleState, lamp: str) -> Test:
    """The test that moves a thing and watches a lamp; a lamp is moved in its holder."""
    plus, minus, _ = points_of(harness, Thing("holder", thing.name) if thing.kind == "lamp" else thing)
    return Test("wiggle", state, plus, minus, lamp)


def inspection(harness: Harness, thing: Thing) -> Test:
    """The test that looks a thing over, with what is done to get to see it."""
    done: tuple[Intervention, ...] = ()
    if thing.kind in ("lamp", "holder"):
        done = (Intervention("take out lamp", thing.name),)
    elif thing.kind == "fuse":
        done = (Intervention("pull fuse", thing.name),)
    elif thing.kind == "connector":
        done = (Intervention("unplug", thing.name),)
    return Test("inspect", harness.at_rest(), *points_of(harness, thing), done)


@dataclass(frozen=True)
class Value:
    """What a test showed: a number with tolerance, a range, words for a lamp, or whether damage was found.

    `low` and `high` bound it in V, Ω or A (equal for a plain number; `high` inf for open);
    `resolution` is the last digit shown.
    """

    low: float = 0.0
    high: float = 0.0
    resolution: float = 0.01
    seen: LampSeen | None = None
    text: str = ""
    lead_blew: bool = False  # the fuse of the temporary lead, instead of anything that could be seen
    found: bool | None = None  # whether something was found where a thing was looked over, or changed as it was moved

    def turned(self) -> Value:
        """The same number the other way round."""
        return replace(self, low=-self.high, high=-self.low)

    @property
    def told_nothing(self) -> bool:
        """The test could not be done."""
        return self.low == -math.inf and self.seen is None

    @property
    def is_range(self) -> bool:
        return self.high > self.low

    @property
    def wiggled(self) -> bool:
        """The least and the most that showed while something was moved."""
        return self.is_range and "wiggl" in self.text.casefold()


@dataclass(frozen=True)
class Reading:
    """A test and what it showed."""

    test: Test
    value: Value


Evidence = Symptom | Reading


def by_hand(item: Evidence) -> TypeGuard[Reading]:
    """Whether a thing was looked over or moved."""
    return isinstance(item, Reading) and item.test.kind in BY_HAND
