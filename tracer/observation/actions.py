"""What is done to a vehicle on purpose for a test: unplug, pull, take out, change over, part, fit a lead.

`ACTIONS` has a row for each: how it is typed and said, what it changes in the circuit, what it costs, what may hurt.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, Literal

from msgspec import Struct

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, wires_at
from tracer.harness.devices import Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at
from tracer.harness.terminal_words import say_node, say_terminal
from tracer.observation.hazards import Hazard

Action = Literal[
    "unplug", "pull fuse", "new fuse", "take out lamp", "good lamp", "earth lead", "feed lead", "swap lamps",
    "pull bullet", "part splice", "take wires off", "disconnect battery",
]
Target = Literal["connector", "bullet", "fuse", "lamp", "node", "splice", "leg", "part", "battery"]
LEAD_OHM = 0.03  # a temporary lead with its clips and its fuse
LEAD_FUSE_A = 10.0  # which a blade fuse of this rating protects (common practice, no source)
PART_MIN: Final = 8.0  # a splice cut out, and a new one crimped, insulated and taped, once for all its wires


def _no_lamps(harness: Harness, target: str, other: str) -> tuple[str, ...]:
    return ()


def _nothing_opened(target: str) -> Mapping[str, float]:
    return {}


class ActionKind(Struct, frozen=True):
    """What is known of one thing that is done on purpose. All functions get its target and its other target.

    Attributes:
        target: What it is done to; `observation.words.probes` finds each sort by what is typed.
        typed: Patterns of how it is typed, with groups `target` and `other`; "fit", "a" and "the" may stand before.
            Empty where only the thing's name tells what was done, as in "C2 out" (`taken_out`).
        words: How it is typed, with {target} and {other}.
        example: The same with names, as the hint shows it.
        says: What to do, in the imperative.
        change: What it changes in the circuit.
        minutes: With its undoing, without the way there (common practice, no source).
        nodes: Where one must get to for it.
        hazards: What may hurt or be spoilt.
        other: What the second target is.
        opens: Further places that are opened for it, with their minutes.
        dark: Lamps that cannot light meanwhile, whatever is wrong.
        watched: Lamps worth watching meanwhile.
        refuses: Why it cannot be done to these, and what can; None if it can.
        taken_out: Whether it takes something out, off or apart that is put back as it was.
        bench_ends: At how many ends an ohmmeter must be inside for it to be what is taken out that is measured, in
            the hand; 0 where nothing comes into the hand.
        lead: Whether a temporary lead is fitted, whose fuse may blow.
        parts: Whether a splice is parted for it, of which one wire is left alone.
        disconnects: Whether the battery is off meanwhile.
        undone: How it is put back, as an order; "" where it stays.
        bare: Terminals that it lays bare.
    """

    target: Target
    words: str
    example: str
    says: Callable[[Harness, str, str], str]
    change: Callable[[Circuit, str, str], Change]
    minutes: float
    nodes: Callable[[Harness, str, str], list[str]]
    hazards: tuple[Hazard, ...]
    typed: tuple[str, ...] = ()
    other: Target | None = None
    opens: Callable[[str], Mapping[str, float]] = _nothing_opened
    dark: Callable[[Harness, str, str], tuple[str, ...]] = _no_lamps
    watched: Callable[[Harness, str, str], tuple[str, ...]] = _no_lamps
    refuses: Callable[[Harness, str, str], tuple[str, str] | None] = lambda harness, target, other: None
    taken_out: bool = False
    bench_ends: int = 0
    lead: bool = False
    parts: bool = False
    disconnects: bool = False
    undone: str = ""
    bare: Callable[[Harness, str], tuple[str, ...]] = lambda harness, target: ()


class Intervention(Struct, frozen=True):
    """One thing done on purpose for a test. `target`: connector, fuse, bulb, node, splice or part; `other` the
    second bulb of a swap, the live end of a feed lead, or the far end of the wire that is left at a parted splice."""

    action: Action
    target: str
    other: str = ""

    @property
    def row(self) -> ActionKind:
        return ACTIONS[self.action]

    def says(self, harness: Harness) -> str:
        return self.row.says(harness, self.target, self.other)

    def change(self, circuit: Circuit) -> Change:
        """The circuit change that the intervention makes."""
        return self.row.change(circuit, self.target, self.other)

    def words(self) -> str:
        """The same as `parse_test` reads it."""
        return self.row.words.format(target=self.target, other=self.other)

    def dark(self, harness: Harness) -> tuple[str, ...]:
        """Lamps that cannot light meanwhile, whatever is wrong."""
        return self.row.dark(harness, self.target, self.other)

    def watched(self, harness: Harness) -> tuple[str, ...]:
        """Lamps worth watching because of it."""
        return self.row.watched(harness, self.target, self.other)


def _unplugged(circuit: Circuit, connector: str, other: str) -> Change:
    ways = [
        d.name for d in circuit.linear
        if isinstance(d, Joint) and d.kind in ("way", "bullet") and node_of(d.a).owner == connector
    ]
    return Change(set_ohm=tuple((w, OPEN_OHM) for w in ways), removed=(connector,))


def _link_open(circuit: Circuit, fuse: str, other: str) -> Change:
    link = _link(fuse)
    return Change(set_ohm=tuple((d.name, OPEN_OHM) for d in circuit.linear if d.name == link))


def _link(fuse: str) -> str:
    return f"{fuse} link"


def _parted(circuit: Circuit, splice: str, far: str) -> Change:
    away = [s for s in circuit.harness.legs(splice) if {s.a, s.b} != {splice, far}]
    return Change(set_ohm=tuple((s.name, OPEN_OHM) for s in away))


def _wires_off(circuit: Circuit, part: str, other: str) -> Change:
    inner = circuit.harness.parts[part].devices
    return Change(
        set_ohm=tuple((d.name, OPEN_OHM) for d in inner if d.name in circuit.branch_index),
        dead=tuple(d.name for d in inner if d.name in circuit.port_index),
        removed=(wires_at(part),),
    )


def _say_parted(harness: Harness, splice: str, far: str) -> str:
    wire = f"the wire to {say_terminal(harness, far).partition(', on the wire to ')[0]}"
    return f"part splice {splice} (to be remade afterwards) and take {wire} alone"


def _say_pulled(harness: Harness, node: str, other: str) -> str:
    return f"pull {say_terminal(harness, node)}, out of its block"


def _say_earthed(harness: Harness, node: str, other: str) -> str:
    earth = say_terminal(harness, harness.reference)
    return f"fit a temporary earth lead (fused) from {say_node(node, harness)} to {earth}"


def _lamps_of(harness: Harness, bulb: str, other: str) -> tuple[str, ...]:
    return tuple(f.lamp for f in harness.lamps() if f.bulb in {bulb, other} - {""})


def _contacts_of(harness: Harness, bulb: str, other: str) -> list[str]:
    return [f.a for f in harness.lamps() if f.bulb in {bulb, other} - {""}]


def _refuses_swap(harness: Harness, one: str, two: str) -> tuple[str, str] | None:
    count = {bulb: sum(f.bulb == bulb for f in harness.lamps()) for bulb in (one, two)}
    if one == two:
        return f"{one} cannot be changed over with itself", "name two lamps"
    if count[one] != count[two]:
        return f"{one} and {two} do not fit each other's holder", "change over lamps of the same kind"
    return None


_ONE = r"(?P<target>(?:(?! and ).)+?) and (?P<other>(?:(?! and ).)+?)"
_AT_FUSE = r"new fuse (?:in |at |for )?(?:the )?(?P<target>.+)"

ACTIONS: Final[Mapping[Action, ActionKind]] = {
    "unplug": ActionKind(
        "connector", "{target} unplugged", "C2 unplugged", lambda harness, target, other: f"unplug {target}",
        _unplugged, 0.8, lambda harness, target, other: [terminal_at(target, 1)], ("plug or fuse pulled",),
        taken_out=True, undone="plug {target} together",
    ),
    "pull bullet": ActionKind(
        "bullet", "bullet {target} pulled", "bullet B1.2 pulled", _say_pulled,
        lambda circuit, target, other: Change(set_ohm=tuple(
            (d.name, OPEN_OHM) for d in circuit.linear if isinstance(d, Joint) and d.kind == "bullet"
            and d.a == target)),
        0.6, lambda harness, target, other: [target], ("bare ends",), taken_out=True,
        undone="push bullet {target} home", bare=lambda harness, target: (target,),
    ),
    "pull fuse": ActionKind(
        "fuse", "fuse {target} pulled", "F3 pulled", lambda harness, target, other: f"pull fuse {target}",
        _link_open, 0.4, lambda harness, target, other: [terminal_at(target, "in")], ("plug or fuse pulled",),
        taken_out=True, bench_ends=1, undone="fuse {target} back in",
    ),
    "new fuse": ActionKind(
        "fuse", "new fuse {target}", "new fuse F3",
        lambda harness, target, other: f"fit a new fuse {target} with everything off first",
        lambda circuit, target, other: Change(renewed=(_link(target),)),
        1.0, lambda harness, target, other: [terminal_at(target, "in")], ("fuse in a short",), typed=(_AT_FUSE,),
    ),
    "take out lamp": ActionKind(
        "lamp", "lamp {target} out", "lamp left rear stop out",
        lambda harness, target, other: f"take out the lamp {target}",
        lambda circuit, target, other: Change(dead=circuit.bulbs[target], removed=(target,)),
        0.5, _contacts_of, ("hot lamp",), dark=_lamps_of, taken_out=True, bench_ends=2,
        undone="the lamp {target} back in",
    ),
    "good lamp": ActionKind(
        "lamp", "known-good lamp in {target}", "known-good lamp in left rear stop",
        lambda harness, target, other: f"put a lamp known to be good into the holder of {target}",
        lambda circuit, target, other: Change(renewed=(*circuit.bulbs[target], target)),
        1.0, _contacts_of, ("hot lamp",), watched=_lamps_of, undone="the lamp {target} back in its own place",
        typed=(r"known[\s-]*good (?:lamp|bulb) (?:put |fitted )?(?:into|in|at|for) (?:the holder of )?(?:the )?"
               r"(?P<target>.+)",),
    ),
    "earth lead": ActionKind(
        "node", "earth lead at {target}", "earth lead at left rear.earth", _say_earthed,
        lambda circuit, target, other: Change(
            added=(AddedBranch(target, circuit.nodes[0], LEAD_OHM, fuse_a=LEAD_FUSE_A),)),
        1.0, lambda harness, target, other: [target], ("unfused lead",), lead=True,
        undone="take the lead off {target}",
        typed=(
            r"earth(?:ing)?(?: lead| wire)?(?: \(fused\))? (?:at|on|to|from) (?P<target>.+?)"
            r"(?: to (?:clean )?body(?: metal)?)?",
        ),
    ),
    "feed lead": ActionKind(
        "node", "feed lead from {other} to {target}", "feed lead from A to B",
        lambda harness, target, other: f"feed {say_node(target, harness)} from "
        f"{say_node(other, harness)} with a fused lead",
        lambda circuit, target, other: Change(added=(AddedBranch(other, target, LEAD_OHM, fuse_a=LEAD_FUSE_A),)),
        1.2, lambda harness, target, other: [target, other], ("unfused lead",), other="node", lead=True,
        undone="take the lead off {target}",
        typed=(
            r"(?:fused )?feed(?: lead| wire)? from (?P<other>.+?) to (?P<target>.+)",
            r"(?:fused )?feed(?: lead| wire)? (?:at |on |to )?(?P<target>.+?) from (?P<other>.+)",
            r"(?P<target>.+?) fed from (?P<other>.+)",
        ),
    ),
    "swap lamps": ActionKind(
        "lamp", "lamps {target} and {other} swapped", "lamps A and B swapped",
        lambda harness, target, other: f"change over the lamps {target} and {other}",
        lambda circuit, target, other: Change(swapped=((target, other),)),
        2.5, _contacts_of, ("hot lamp",), other="lamp", watched=_lamps_of, refuses=_refuses_swap,
        undone="change the lamps {target} and {other} back",
        typed=(
            rf"(?:lamps? |bulbs? )?{_ONE} (?:swapped|changed over|exchanged)",
            rf"(?:swap|change over|exchange) (?:the )?(?:lamps? |bulbs? )?{_ONE}",
        ),
    ),
    "part splice": ActionKind(
        "splice", "splice {target} parted at the wire to {other}", "splice S1 parted at the wire to B", _say_parted,
        _parted, 0.0, lambda harness, target, other: [target], ("wires cut", "bare ends"), other="leg",
        parts=True, undone="remake splice {target} for the size of its wires, insulated",
        bare=lambda harness, target: (target,),
        opens=lambda target: {f"splice {target} (parted)": PART_MIN},
        typed=(r"(?:splice )?(?P<target>\S+) parted (?:at |with )?(?:the )?(?:wire |leg )?to (?P<other>.+)",),
    ),
    "take wires off": ActionKind(
        "part", "wires off {target}", "wires off light switch",
        lambda harness, target, other: f"take the wires off {target} (mark them)", _wires_off,
        1.5, lambda harness, target, other: [terminal_at(target, harness.parts[target].terminals[0])],
        ("bare ends",), undone="wires back on {target} as marked",
        bare=lambda harness, target: tuple(terminal_at(target, t) for t in harness.parts[target].terminals),
        dark=lambda harness, target, other: tuple(f.lamp for f in harness.parts[target].lamps),
        typed=(r"(?:take )?(?:the )?wires (?:taken )?off (?:the )?(?P<target>.+)",),
    ),
    "disconnect battery": ActionKind(
        "battery", "battery disconnected", "battery disconnected",
        lambda harness, target, other: "disconnect the battery",
        lambda circuit, target, other: Change(disconnected=True),
        2.0, lambda harness, target, other: [target], ("battery lead off",), taken_out=True,
        disconnects=True,
    ),
}
