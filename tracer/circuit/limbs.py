"""Finds the limbs of a circuit that are built alike and hang on the same nodes.

A *limb* is a piece of the circuit that is joined to the rest at a few *hubs* only, nodes where many things meet: a
lamp with its wire and its joints between a splice and an earth point. Limbs are twins if they hang on the same hubs
and have the same elements in the same places, number for number. A *branch of limbs* is one level further up: a fuse
with all that hangs on it, where a splice of many twins counts as if it had one of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from msgspec import Struct, field

from tracer.circuit.model import Bools, Circuit, Ints
from tracer.harness.devices import Conductor, Diode, Filament, FuseLink, Joint, Resistor

_HUB: Final = 8  # more things than these meet there
MOST_PLACES: Final = 1000  # nodes, branches or ports of a limb


class Limbs(Struct, frozen=True):
    """Limbs that have twins.

    Attributes:
        kind: (limbs,) twins have one number.
        of_node, of_branch, of_port: The limb of each, −1 for none (the last two branches are none); `node`, `branch`,
            `port`: its place there, in the same order for twins.
        ports, fuses: (limbs, most) those of each limb, −1 for none, in the same order for twins.
    """

    kind: Ints
    of_node: Ints
    of_branch: Ints
    of_port: Ints
    node: Ints
    branch: Ints
    port: Ints
    ports: Ints
    fuses: Ints


class _Limb(Struct, frozen=True):
    """The nodes, branches and ports of one limb, rising."""

    nodes: list[int] = field(default_factory=list)
    branches: list[int] = field(default_factory=list)
    ports: list[int] = field(default_factory=list)

    def built(self, circuit: Circuit) -> Any:
        """What it is made of and where that hangs: equal for twins."""
        place = {n: ~k for k, n in enumerate(self.nodes)}  # below 0, where hubs have their own numbers

        def ends(of: tuple[Ints, Ints], k: int) -> tuple[int, int]:
            a, b = int(of[0][k]), int(of[1][k])
            return place.get(a, a), place.get(b, b)

        return (
            len(self.nodes),
            tuple((ends(circuit.branch_ends, k), _element(circuit, k)) for k in self.branches),
            tuple((ends(circuit.port_ends, k), _law(circuit.ports[k])) for k in self.ports),
        )


def find_limbs(circuit: Circuit, few: int, within: Limbs | None = None) -> Limbs | None:
    """Limbs of which at least `few` are twins; with limbs found already, those one level further up, in which fuses
    may lie."""
    limb, count = _parted(circuit, _hubs(circuit, within))
    every = [_Limb() for _ in range(count)]
    for k in np.flatnonzero(limb >= 0).tolist():
        every[limb[k]].nodes.append(k)
    for which, (a, b) in (("branches", circuit.branch_ends), ("ports", circuit.port_ends)):
        for k, i in enumerate(np.maximum(limb[a], limb[b]).tolist()):
            if i >= 0:
                getattr(every[i], which).append(k)
    kinds: dict[Any, list[_Limb]] = {}
    for one in every:
        if max(len(one.nodes), len(one.branches), len(one.ports)) <= MOST_PLACES:
            kinds.setdefault(one.built(circuit), []).append(one)
    twins = [several for several in kinds.values() if len(several) >= few and several[0].ports]
    return _arranged(circuit, twins) if twins else None


def _hubs(circuit: Circuit, within: Limbs | None) -> Bools:
    """Nodes (n,) that belong to no limb. What moves, melts or is heard stands between hubs; a fuse may lie in a limb
    that has others in it."""
    (a, b), (pa, pb), index = circuit.branch_ends, circuit.port_ends, circuit.index
    n = len(circuit.nodes)
    one, two = np.append(a, pa), np.append(b, pb)
    if within is None:
        met = np.bincount(np.append(one, two), minlength=n)
    else:
        own = np.append(within.of_branch[:-2], within.of_port)
        met = np.bincount(np.append(one[own < 0], two[own < 0]), minlength=n)
        ends = [(node, int(within.kind[limb])) for x in (one, two)
                for node, limb in zip(x[own >= 0].tolist(), own[own >= 0].tolist(), strict=True)]
        met += np.bincount([node for node, _ in set(ends)], minlength=n)
    hub = met > _HUB
    hub[0] = True
    still = np.array([_plain(circuit, k, within is not None) for k in range(len(a))], dtype=bool)
    hub[a[~still]] = hub[b[~still]] = True
    for k, port in enumerate(circuit.ports):
        if isinstance(port, Diode) and port.role == "buzzer":
            hub[pa[k]] = hub[pb[k]] = True
    for s in circuit.sources:
        hub[index[s.plus]] = hub[index[s.minus]] = True
    return np.asarray(hub)


def _plain(circuit: Circuit, k: int, fuses: bool) -> bool:
    """Whether a branch does nothing but carry current."""
    device = circuit.linear[k]
    if isinstance(device, FuseLink):
        return fuses
    if isinstance(device, Resistor):
        return device.role == "resistor"
    return isinstance(device, (Joint, Conductor))


def _parted(circuit: Circuit, hub: Bools) -> tuple[Ints, int]:
    """The limb (n,) of each node, −1 for hubs, and how many there are."""
    (a, b), (pa, pb) = circuit.branch_ends, circuit.port_ends
    near: list[list[int]] = [[] for _ in circuit.nodes]
    for x, y in zip(np.append(a, pa).tolist(), np.append(b, pb).tolist(), strict=True):
        if not (hub[x] or hub[y]):
            near[x].append(y)
            near[y].append(x)
    limb, count = np.full(len(near), -1, dtype=np.intp), 0
    for begin in np.flatnonzero(~hub).tolist():
        if limb[begin] < 0:
            limb[begin], waiting = count, [begin]
            while waiting:
                for y in near[waiting.pop()]:
                    if limb[y] < 0:
                        limb[y] = count
                        waiting.append(y)
            count += 1
    return limb, count


def _element(circuit: Circuit, branch: int) -> Any:
    device = circuit.linear[branch]
    fuse = (device.rating_a, device.kind) if isinstance(device, FuseLink) else None
    return float(circuit.closed_s[branch]), fuse


def _law(port: Filament | Diode) -> Any:
    if isinstance(port, Filament):
        return port.law
    return port.threshold_v, port.ohm, port.soft_v, port.leak_ohm


def _arranged(circuit: Circuit, twins: Sequence[Sequence[_Limb]]) -> Limbs:
    counts = len(circuit.nodes), len(circuit.linear) + 2, len(circuit.ports)  # the last two stand for no branch
    of, place = ([np.full(x, -1, dtype=np.intp) for x in counts] for _ in range(2))
    links = {k: i for i, k in enumerate(i for i, d in enumerate(circuit.linear) if isinstance(d, FuseLink))}
    every = [one for several in twins for one in several]
    kind = np.array([kind for kind, several in enumerate(twins) for _ in several], dtype=np.intp)
    for i, one in enumerate(every):
        for k, its in enumerate((one.nodes, one.branches, one.ports)):
            of[k][its], place[k][its] = i, np.arange(len(its))
    ports, fuses = _rows([one.ports for one in every]), _rows([[links[k] for k in one.branches if k in links]
                                                              for one in every])
    return Limbs(kind, of[0], of[1], of[2], place[0], place[1], place[2], ports, fuses)


def _rows(lists: Sequence[Sequence[int]]) -> Ints:
    out = np.full((len(lists), max(map(len, lists))), -1, dtype=np.intp)
    for row, its in zip(out, lists, strict=True):
        row[:len(its)] = its
    return out
