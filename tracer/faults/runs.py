"""Faults that are one search: the same kind of repair somewhere along one run, at places nobody tells apart from
outside.

A short to the body is the same to every lamp and fuse wherever on its piece of copper it lies, and so is a break
wherever along a run without a branch. An electrician then says "there is a short on the tail-light run", looks for
it as a whole, and finds the place by parting the run or by eye.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from tracer.faults.copper import Nets
from tracer.faults.making import Fault
from tracer.harness.devices import Conductor, Joint
from tracer.harness.model import Harness
from tracer.harness.node import terminal_at

# Kind of fault → the search that it belongs to. Other kinds are looked for by themselves.
SEARCHES: Final = {
    **dict.fromkeys(("wire to body", "wires joined", "holder shorted", "stray live end"), "short"),
    **dict.fromkeys(("wire open", "wire bad", "old repair open", "old repair bad"), "break"),
    **dict.fromkeys(("mounting open", "mounting bad", "earth open", "earth bad", "eyelet open", "eyelet bad",
                     "strap open", "strap bad"), "earth"),
}
Run = tuple[str, str]  # the search, and what stands for the run


class Runs:
    """The runs of one harness."""

    def __init__(self, harness: Harness) -> None:
        self._harness, self._nets = harness, Nets(harness)
        self._up = self._joined_up(harness)
        self._known: dict[str, Run | None] = {}

    @staticmethod
    def _joined_up(harness: Harness) -> dict[str, str]:
        """Of each wire and joint another one of the same run, or itself."""
        at: dict[str, list[str]] = {}
        passive: dict[str, Conductor | Joint] = {}
        for d in harness.devices():
            ends = [n for n in (getattr(d, "a", None), getattr(d, "b", None)) if n is not None]
            for node in ends:
                at.setdefault(node, []).append(d.name)
            if isinstance(d, (Conductor, Joint)):
                passive[d.name] = d
        up = {name: name for name in passive}
        bodies = {harness.bodies()[0], harness.reference}
        for node, names in at.items():
            # Two and no more, both of them passed without a branch. The vehicle's own body is a branch for all.
            if len(names) == 2 and set(names) <= passive.keys() and node not in bodies:
                up[_top(up, names[0])] = _top(up, names[1])
        return up

    def of(self, fault: Fault) -> Run | None:
        """The run along which a fault is looked for; None if it is looked for by itself."""
        if fault.name not in self._known:
            self._known[fault.name] = self._found(fault)
        return self._known[fault.name]

    def _found(self, fault: Fault) -> Run | None:
        search = SEARCHES.get(fault.kind)
        if search == "short":
            (branch,) = fault.variants[0].change.added
            shell = fault.kind == "holder shorted"  # which finds its own way to the body
            live = [n for n in (branch.a, branch.b) if not self._nets.earth(n) and not (shell and n == branch.b)]
            # Between two live wires it is another search: either of two runs would do.
            return (search, self._nets.of(live[0])) if len(live) == 1 else None
        if search is None or len(fault.elements) != 1 or fault.elements[0] not in self._up:
            return None
        return search, _top(self._up, fault.elements[0])

    def ends(self, run: Run) -> list[str]:
        """Where a run of copper is fed or leads to other than lamps: terminals of switches, fuses, relays."""
        own: list[str] = []
        for part in self._harness.parts.values():
            if part.lamps:
                continue
            own += [n for n in (terminal_at(part.name, t) for t in part.terminals) if self._nets.of(n) == run[1]]
        return own

    def colours(self, run: Run) -> list[str]:
        """The colours of the wires of a run of copper, the commonest first."""
        count: dict[str, int] = {}
        for w in self._harness.wires:
            for s in w.segments:
                if s.colour and self._nets.of(s.a) == run[1]:
                    count[s.colour] = count.get(s.colour, 0) + 1
        return sorted(count, key=lambda c: (-count[c], c))



def _top(up: Mapping[str, str], name: str) -> str:
    while up[name] != name:
        name = up[name]
    return name
