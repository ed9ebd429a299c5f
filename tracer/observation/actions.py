"""What is done to a vehicle on purpose for a test: unplug, pull, take out, change over, part, fit a lead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, wires_at
from tracer.harness.devices import Joint
from tracer.harness.model import Harness
from tracer.harness.terminal_words import say_node, say_terminal

Action = Literal[
    "unplug", "pull fuse", "new fuse", "take out lamp", "earth lead", "feed lead", "swap lamps", "part splice",
    "take wires off", "disconnect battery",
]
LEAD_OHM = 0.03  # a temporary lead with its clips and its fuse
LEAD_FUSE_A = 10.0  # which a blade fuse of this rating protects (common practice, no source)


@dataclass(frozen=True)
class Intervention:
    """One thing done on purpose for a test. `target`: connector, fuse, bulb, node, splice or part; `other` the
    second bulb of a swap, the live end of a feed lead, or the far end of the wire that is left at a parted splice."""

    action: Action
    target: str
    other: str = ""

    def says(self, harness: Harness) -> str:
        match self.action:
            case "earth lead":
                earth = say_terminal(harness, harness.reference)
                return f"fit a temporary earth lead (fused) from {say_node(self.target)} to {earth}"
            case "feed lead":
                return f"feed {say_node(self.target)} from {say_node(self.other)} with a fused lead"
            case "swap lamps":
                return f"change over the lamps {self.target} and {self.other}"
            case "part splice":
                wire = f"the wire to {say_terminal(harness, self.other).partition(', on the wire to ')[0]}"
                return f"part splice {self.target} (to be remade afterwards) and take {wire} alone"
            case "take wires off":
                return f"take the wires off {self.target} (mark them)"
            case "disconnect battery":
                return "disconnect the battery"
            case "take out lamp":
                return f"take out the lamp {self.target}"
            case "unplug":
                return f"unplug {self.target}"
            case "new fuse":
                return f"fit a new fuse {self.target} with everything off first"
        return f"pull fuse {self.target}"

    def change(self, circuit: Circuit) -> Change:
        """The circuit change that the intervention makes."""
        match self.action:
            case "unplug":
                ways = [
                    d.name for d in circuit.linear
                    if isinstance(d, Joint) and d.kind == "way" and d.a.rsplit(".", 1)[0] == self.target
                ]
                return Change(set_ohm=tuple((w, OPEN_OHM) for w in ways), removed=(self.target,))
            case "new fuse":
                return Change(renewed=(f"{self.target} link",))
            case "pull fuse":
                link = f"{self.target} link"
                return Change(set_ohm=tuple((d.name, OPEN_OHM) for d in circuit.linear if d.name == link))
            case "take out lamp":
                return Change(dead=circuit.bulbs[self.target], removed=(self.target,))
            case "earth lead":
                return Change(added=(AddedBranch(self.target, circuit.nodes[0], LEAD_OHM, fuse_a=LEAD_FUSE_A),))
            case "feed lead":
                return Change(added=(AddedBranch(self.other, self.target, LEAD_OHM, fuse_a=LEAD_FUSE_A),))
            case "swap lamps":
                return Change(swapped=((self.target, self.other),))
            case "part splice":
                away = [s for s in circuit.harness.legs(self.target) if {s.a, s.b} != {self.target, self.other}]
                return Change(set_ohm=tuple((s.name, OPEN_OHM) for s in away))
            case "take wires off":
                inner = circuit.harness.parts[self.target].devices
                return Change(
                    set_ohm=tuple((d.name, OPEN_OHM) for d in inner if d.name in circuit.branch_index),
                    dead=tuple(d.name for d in inner if d.name in circuit.port_index),
                    removed=(wires_at(self.target),),
                )
        return Change(disconnected=True)
