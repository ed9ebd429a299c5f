"""What was seen or measured, as values: words for lamps, symptoms, tests and their readings."""

from __future__ import annotations

import math
from typing import ClassVar, Final, Literal, TypeGuard

from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import OPEN_OHM, Change, Circuit
from tracer.harness.devices import Filament
from tracer.harness.inspectable import Thing, points_of
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.harness.partly_compared import PartlyCompared
from tracer.observation.actions import Intervention
from tracer.observation.hazards import Hazard
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.test_row import Kind, Spot

# Brightness words in order. Their borders stand in `likelihood`.
WORDS: Final = ("dark", "faint", "dim", "normal", "bright")
ALL_WORDS: Final = frozenset(WORDS)
LIT: Final = frozenset(WORDS[1:])
Flash = Literal["steady", "flashing", "slow", "fast"]
Comparison = Literal["dimmer", "alike", "brighter"]
Sound = Literal["clicks", "silent", "buzzes"]
Light = Literal["", "day", "night"]
FuseTime = Literal["", "at once", "after a while", "sometimes"]


class LampSeen(PartlyCompared, frozen=True):
    """How one lamp looked: any of `words` (several where the person was not sure), and whether it
    flashed where that was said. `sometimes`: now and then so, otherwise as it should be. `doubtful`: the
    person said perhaps. `moved`: it changes when something is tapped, slammed or driven over. `fine`: dark was
    said by saying that all is well with it. `amiss`: it is told as wrong, though it should look so; who weighs what
    was told finds that out."""

    UNCOMPARED: ClassVar = ("fine",)

    lamp: str
    words: frozenset[str]
    flash: Flash | None = None
    sometimes: bool = False
    doubtful: bool = False
    moved: bool = False
    fine: bool = False
    amiss: bool = False

    @property
    def plain(self) -> bool:
        """Whether it was said for certain, and of all the time."""
        return not (self.sometimes or self.doubtful or self.moved)

    def look(self) -> str:
        """The look without the lamp, in words."""
        word = "lit" if self.words == LIT else " or ".join(w for w in WORDS if w in self.words)
        if self.words == ALL_WORDS and self.flash == "steady":
            return "does not flash"  # it may be dark
        before = "perhaps " * self.doubtful + "sometimes " * self.sometimes
        return f"{before}{word}" + ", as it is moved" * self.moved + (f", {self.flash}" if self.flash else "")

    def says(self) -> str:
        return f"{self.lamp} {self.look()}"


class LensSeen(Struct, frozen=True):
    """One light was seen that may be any of several lamps (the filaments behind one lens, a unit at an end that was
    not named): at least one of `looks`, which differ by the lamp alone, is so."""

    looks: tuple[LampSeen, ...]

    @property
    def lamps(self) -> tuple[str, ...]:
        return tuple(k.lamp for k in self.looks)

    def says(self) -> str:
        return f"{' or '.join(self.lamps)} {self.looks[0].look()}"


class FuseSeen(Struct, frozen=True):
    """A fuse was found blown or whole after the state was set.

    `when`: how soon it blew, or that it blows only sometimes; "" where that was not said. `once`: it was found
    blown, and nobody has said that a new one blows too. `whenever`: nobody said in which state; it is taken to be
    one in which something hangs on it.
    """

    fuse: str
    blown: bool
    when: FuseTime = ""
    once: bool = False
    whenever: bool = False

    def says(self) -> str:
        if not self.blown:
            return f"fuse {self.fuse} holds"
        before, after = ("sometimes ", "") if self.when == "sometimes" else ("", f" {self.when}" if self.when else "")
        return f"fuse {self.fuse} {before}{'blew' if self.once else 'blows'}{after}"


class LoadSeen(Struct, frozen=True):
    """A horn, motor or other load that is no lamp: whether it works; `weak`: it does, but croaks or turns slowly."""

    load: str
    works: bool
    sometimes: bool = False
    weak: bool = False

    def says(self) -> str:
        does = "weak" if self.weak else "works" if self.works else "does not work"
        return f"{self.load} {'sometimes ' * self.sometimes}{does}"


class Compared(Struct, frozen=True):
    """Two lamps looked at side by side: how `lamp` looked against `other`. Far sharper than a look at one."""

    lamp: str
    other: str
    how: Comparison
    doubtful: bool = False

    def says(self) -> str:
        words = {"alike": "as bright as"}.get(self.how, f"{self.how} than")
        return f"{self.lamp} {'perhaps ' * self.doubtful}{words} {self.other}"


class RelaySeen(Struct, frozen=True):
    """What was heard of a relay or flasher unit when the state was set."""

    relay: str
    does: Sound

    def says(self) -> str:
        return f"{self.relay} {'does not click' if self.does == 'silent' else self.does}"


Seen = LampSeen | LensSeen | FuseSeen | Compared | RelaySeen | LoadSeen


class Symptom(Struct, frozen=True):
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
        either = {lamp for s in self.seen if isinstance(s, LensSeen) for lamp in s.lamps}
        return frozenset(s.lamp for s in self.seen if isinstance(s, (LampSeen, Compared))) | either

    def says(self) -> str:
        """Everything seen, in words, without the vehicle state."""
        said = [s.says() for s in self.seen] + (["everything else normal"] if self.others_normal else [])
        by = {"day": ", by day", "night": ", in the dark", "": ""}[self.light]
        only = "".join(f", only with {c} at {self.state[c]}" for c in self.only)
        return "; ".join(said) + by + only

    def without(self, control: str, harness: Harness) -> VehicleState:
        """The state with one control back where it stands when nobody mentions it."""
        return self.state.having(control, harness.controls[control].assumed)


BY_HAND: Final = tuple(kind for kind, row in KINDS.items() if row.by_hand)
LAMP_TESTERS: Final = tuple(kind for kind, row in KINDS.items() if row.shows_light)


class Test(Struct, frozen=True):
    """A set-up and one observation.

    Attributes:
        kind: Look at `lamp`; a meter or tester between `plus` and `minus` (the body); the wire from `plus` to
            `minus`; a thing that is looked over or moved (`inspectable` says how `plus`, `minus` and `lamp` name
            it). `test_kinds.KINDS` has a row for each.
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
    def row(self) -> Kind:
        """What is known of tests of its kind."""
        return KINDS[self.kind]

    @property
    def in_hand(self) -> str:
        """The lamp or fuse that is measured out of the vehicle, in the hand; "" if none is.

        Nobody gets an ohmmeter onto the inside of a holder: between the contacts of a lamp or fuse that
        was taken out it is that lamp or fuse that is measured.
        """
        if not self.row.battery_off or not node_of(self.plus).inner:
            return ""
        inside = 2 if node_of(self.minus).inner else 1
        out = [i for i in self.done if 0 < i.row.bench_ends <= inside]
        return max(out, key=lambda i: i.row.bench_ends).target if out else ""

    def spot(self, harness: Harness) -> Spot:
        """Where it is made."""
        return Spot(harness, self.plus, self.minus, self.lamp, self.in_hand, self.parted)

    @property
    def touched(self) -> tuple[str, ...]:
        """The points that probes or hands come to. Of a wire's end the other end only says which wire it is."""
        return tuple(n for n in (self.plus, "" if self.row.at_end else self.minus) if n)

    def thing(self, harness: Harness) -> Thing:
        """What an inspection looks over, or what is wiggled."""
        return self.spot(harness).thing(self.at_rest)

    @property
    def at_rest(self) -> bool:
        """Whether everything is off and nothing moves meanwhile: no vehicle state is set, and none is tried by it."""
        return self.row.at_rest

    @property
    def dead(self) -> bool:
        """Whether no circuit is live meanwhile: at rest, or in ohms, where switches still join what they join."""
        return self.at_rest or self.row.battery_off

    def battery_off(self, harness: Harness) -> bool:
        """Whether the battery is disconnected for it."""
        if self.at_rest:
            return self.thing(harness).bare
        return self.row.battery_off and not self.in_hand

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
        return total | self.row.change(circuit, self.plus, self.minus)

    @property
    def parted(self) -> str:
        """The splice that is parted for it; "" if none is."""
        return next((i.target for i in self.done if i.row.parts), "")

    @property
    def has_lead(self) -> bool:
        """Whether a temporary lead is fitted, whose fuse may blow."""
        return any(i.row.lead for i in self.done)

    @property
    def instrument(self) -> str:
        return self.row.instrument

    @property
    def hazards(self) -> tuple[Hazard, ...]:
        """What may hurt or be spoilt by it and by what is done for it."""
        return tuple(dict.fromkeys((*self.row.hazards, *(h for i in self.done for h in i.row.hazards))))

    def sets_state(self, harness: Harness) -> bool:
        """Whether the vehicle has to be set for it. With the battery off switches still join what they join."""
        if self.at_rest:
            return False
        return not self.row.battery_off or (not self.in_hand and self.state != harness.state({}))

    def says(self, harness: Harness) -> str:
        """The test in words, in the order in which it is done: what to unplug or fit (everything is off then), what
        to set, where to look or probe."""
        parts = [i.says(harness) for i in self.done]
        parts += [f"set {harness.say_state(self.state)}"] if self.sets_state(harness) else []
        return "; ".join((*parts, self.reading_words(harness)))

    def reading_words(self, harness: Harness) -> str:
        """Where to look or probe, in words."""
        return self.row.says(self.spot(harness))


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
    elif thing.kind == "connector" and not harness.block_of(thing.name):
        done = (Intervention("unplug", thing.name),)
    return Test("inspect", harness.at_rest(), *points_of(harness, thing), done)


class Value(Struct, frozen=True):
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


class Reading(Struct, frozen=True):
    """A test and what it showed; `times`: how often, where readings alike are weighed as one."""

    test: Test
    value: Value
    times: int = 1


Evidence = Symptom | Reading


def by_hand(item: Evidence) -> TypeGuard[Reading]:
    """Whether a thing was looked over or moved."""
    return isinstance(item, Reading) and item.test.row.by_hand
