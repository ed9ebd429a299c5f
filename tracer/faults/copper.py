"""What is one piece of copper: nodes that wires and joints alone hold together, whatever switches and fuses do."""

from __future__ import annotations

from tracer.harness.devices import Conductor, Joint
from tracer.harness.model import Harness

_COPPER = ("way", "bullet", "splice", "earth", "strap", "stud")


class Nets:
    """The nets of a harness."""

    def __init__(self, harness: Harness) -> None:
        self._up: dict[str, str] = {}
        for d in harness.devices():
            if isinstance(d, Conductor) or (isinstance(d, Joint) and d.kind in _COPPER):
                self._up[self.of(d.a)] = self.of(d.b)
        self._earths = {self.of(n) for n in (*harness.bodies(), *harness.earths, harness.poles()[1])} - {""}

    def of(self, node: str) -> str:
        """A node that stands for the net."""
        top = node
        while (above := self._up.get(top, top)) != top:
            top = above
        while self._up.get(node, node) != top:  # the next time it is near
            self._up[node], node = top, self._up.get(node, node)
        return top

    def same(self, a: str, b: str) -> bool:
        """Whether two nodes are one piece of copper."""
        return self.of(a) == self.of(b)

    def earth(self, node: str) -> bool:
        """Whether a node is earth by copper alone."""
        return self.of(node) in self._earths
