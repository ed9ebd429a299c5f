"""What is one piece of copper: nodes that wires and joints alone hold together, whatever switches and fuses do."""

from __future__ import annotations

import heapq
from collections.abc import Mapping

from tracer.harness.devices import Conductor, Joint, Source, SwitchContact, ends
from tracer.harness.model import Harness

_PLUG = 3  # a plug away is further than a terminal away
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


def unguarded(harness: Harness) -> frozenset[str]:
    """Nodes that the battery feeds through copper and switches alone, in one position or another: no fuse ends a
    short there. Which contacts can be closed at once is not asked."""
    beside: dict[str, list[str]] = {}
    earths = {*harness.bodies(), *harness.earths, harness.poles()[1]}
    for d in harness.devices():
        if isinstance(d, (Conductor, Joint, SwitchContact)):
            a, b = ends(d)
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
    found: set[str] = set()
    todo = [harness.poles()[0]]
    while todo:
        node = todo.pop()
        if node and node not in found and node not in earths:
            found.add(node)
            todo += beside.get(node, ())
    return frozenset(found)


def bodies_near(harness: Harness) -> Mapping[str, str]:
    """For each node the conducting body that lies nearest to it by the drawing: that of the first earth point on the
    way through wires, plugs and parts. A trailer's wire rubs through to the trailer, a wing's to the wing. Empty
    where nothing conducts."""
    metal = {name: point.body for name, point in harness.earths.items() if point.body is not None}
    beside: dict[str, list[tuple[str, int]]] = {}
    for d in harness.devices():
        if isinstance(d, Source) or {*ends(d)} & {*metal.values()}:
            continue
        a, b = ends(d)
        far = _PLUG if isinstance(d, Joint) and d.kind == "way" else 1
        beside.setdefault(a, []).append((b, far))
        beside.setdefault(b, []).append((a, far))
    first = {body: k for k, body in enumerate(harness.bodies())}
    todo = [(0, first[body], name, body) for name, body in metal.items()]
    heapq.heapify(todo)
    found: dict[str, str] = {}
    while todo:
        way, order, node, body = heapq.heappop(todo)
        if node in found:
            continue
        found[node] = body
        for other, far in beside.get(node, ()):
            if other not in found:
                heapq.heappush(todo, (way + far, order, other, body))
    return found
