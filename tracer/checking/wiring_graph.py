"""Which terminals are joined by copper and contacts alone, without a consumer between them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Source,
    SwitchContact,
    ends,
)
from tracer.harness.model import Harness

Neighbours = Mapping[str, tuple[tuple[str, Device], ...]]

# What current passes without being used up. A diode counts: whichever way it looks, it feeds something.
PASSING = (Conductor, Joint, SwitchContact, FuseLink, FlasherContact, RelayContact, Dimmer, Diode)


def batteries(harness: Harness) -> tuple[Source, ...]:
    return tuple(d for d in harness.devices() if isinstance(d, Source))


def neighbours(harness: Harness, passes: Callable[[Device], bool] | None = None) -> Neighbours:
    """Every node with the devices that lead away from it; `passes` chooses the devices
    (usual: everything that is not a consumer, all contacts closed)."""
    out: dict[str, list[tuple[str, Device]]] = {}
    for d in harness.devices():
        if not isinstance(d, PASSING) or (passes is not None and not passes(d)):
            continue
        if isinstance(d, Diode) and d.role != "diode":  # it blocks, or it is a consumer
            continue
        a, b = ends(d)
        out.setdefault(a, []).append((b, d))
        out.setdefault(b, []).append((a, d))
    return {n: tuple(x) for n, x in out.items()}


def reached(graph: Neighbours, start: str | Iterable[str], without: Collection[str] = ()) -> frozenset[str]:
    """Nodes joined to `start`, itself included. `without` names devices that do not pass."""
    seen = {start} if isinstance(start, str) else set(start)
    todo = list(seen)
    while todo:
        for node, device in graph.get(todo.pop(), ()):
            if node not in seen and device.name not in without:
                seen.add(node)
                todo.append(node)
    return frozenset(seen)


def behind_contact(contact: RelayContact, alone: Collection[str]) -> str:
    """The end of a relay's contact that it feeds; `alone` is live without it. A change-over contact may be fed at its
    resting side, and lead from there to the common one."""
    return contact.a if contact.b in alone and contact.a not in alone else contact.b


def way_to(graph: Neighbours, start: str, goal: str) -> tuple[Device, ...]:
    """The devices on a shortest way from `start` to `goal`; empty if there is none."""
    came: dict[str, tuple[str, Device] | None] = {start: None}
    todo = [start]
    for node in todo:
        for other, device in graph.get(node, ()):
            if other not in came:
                came[other] = (node, device)
                todo.append(other)
    steps: list[Device] = []
    at = came.get(goal)
    while at is not None:
        steps.append(at[1])
        at = came[at[0]]
    return tuple(reversed(steps))
