"""Terminals in words, as somebody with a probe in the hand looks for them."""

from __future__ import annotations

from tracer.harness.devices import Source
from tracer.harness.model import Harness


def parts_wired(harness: Harness) -> tuple[str, ...]:
    """Parts from which the wires can be taken off; at the battery that is another matter."""
    return tuple(p.name for p in harness.parts.values() if not any(isinstance(d, Source) for d in p.devices))


def say_node(node: str) -> str:
    """A terminal in words: "terminal stop of left rear", "way 3 of C1, lamp side"."""
    if "/" in node:
        part, inner = node.split("/", 1)
        return f"{inner} in {part}"
    if "." in node:
        owner, terminal = node.rsplit(".", 1)
        if terminal.rstrip("'").isdigit():
            half = "outgoing half" if terminal.endswith("'") else "incoming half"
            return f"way {terminal.rstrip(chr(39))} of {owner} ({half})"
        return f"terminal {terminal} of {owner}"
    return node


def say_terminal(harness: Harness, node: str) -> str:
    """A terminal in words, a connector way by where its wire leads: "way 3 of C2, on the wire to terminal
    indicator of left rear"."""
    if node in harness.bodies():
        return "clean body metal"
    if "/" in node or not node.rsplit(".", 1)[-1].rstrip("'").isdigit() or "." not in node:
        return say_node(node)
    ends = [s.b if s.a == node else s.a for w in harness.wires for s in w.segments if node in (s.a, s.b)]
    owner, way = node.rstrip("'").rsplit(".", 1)
    if not ends:
        return f"way {way} of {owner}, the side without a wire"
    far = ends[0].rstrip("'")
    return f"way {way} of {owner}, on the wire to {say_node(far).removesuffix(' (incoming half)')}"


def splice_between(harness: Harness, plus: str, minus: str) -> str:
    """The splice in which two wires meet that lead to these terminals; "" if there is none."""
    at: dict[str, set[str]] = {}
    for wire in harness.wires:
        for s in wire.segments:
            for end, far in ((s.a, s.b), (s.b, s.a)):
                if end in (plus, minus) and far in harness.splices:
                    at.setdefault(far, set()).add(end)
    return next((splice for splice, ends in at.items() if len(ends) == 2), "")
