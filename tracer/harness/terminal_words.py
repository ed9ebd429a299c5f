"""Terminals in words, as somebody with a probe in the hand looks for them."""

from __future__ import annotations

from tracer.harness.devices import Source
from tracer.harness.model import Harness
from tracer.harness.node import node_of


def parts_wired(harness: Harness) -> tuple[str, ...]:
    """Parts from which the wires can be taken off; at the battery that is another matter."""
    return tuple(p.name for p in harness.parts.values() if not any(isinstance(d, Source) for d in p.devices))


def say_node(node: str, harness: Harness | None = None) -> str:
    """A terminal in words: "terminal stop of left rear", "way 3 of C1, lamp side". Only the harness knows which are
    bullets, and which numbers are terminals of parts."""
    of = node_of(node)
    if harness is not None and harness.block_of(node) is not None:
        return f"bullet {of.terminal} of {of.owner}" if of.terminal else f"block {node}"
    if of.inner:
        return f"{of.inner} in {of.owner}"
    if of.is_way and (harness is None or of.owner not in harness.parts):
        return f"way {of.terminal} of {of.owner} ({'outgoing' if of.far else 'incoming'} half)"
    return f"terminal {of.terminal} of {of.owner}" if of.terminal else node


def say_terminal(harness: Harness, node: str) -> str:
    """A terminal in words, a connector way by where its wire leads: "way 3 of C2, on the wire to terminal
    indicator of left rear"."""
    if node in harness.bodies():
        return "clean body metal"
    of = node_of(node)
    if harness.block_of(node) is not None:
        lead_to = [f", on the wire to {say_node(node_of(n).near, harness)}" for n in harness.far_ends(node)[:1]]
        return say_node(node, harness) + "".join(lead_to)
    if not of.is_way or of.owner in harness.parts:
        return say_node(node, harness)
    ends = [s.b if s.a == node else s.a for w in harness.wires for s in w.segments if node in (s.a, s.b)]
    if not ends:
        return f"way {of.terminal} of {of.owner}, the side without a wire"
    far = say_node(node_of(ends[0]).near, harness).removesuffix(" (incoming half)")
    return f"way {of.terminal} of {of.owner}, on the wire to {far}"


def splice_between(harness: Harness, plus: str, minus: str) -> str:
    """The splice in which two wires meet that lead to these terminals; "" if there is none."""
    at: dict[str, set[str]] = {}
    for wire in harness.wires:
        for s in wire.segments:
            for end, far in ((s.a, s.b), (s.b, s.a)):
                if end in (plus, minus) and far in harness.splices:
                    at.setdefault(far, set()).add(end)
    return next((splice for splice, ends in at.items() if len(ends) == 2), "")
