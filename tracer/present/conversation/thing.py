"""What is known of one thing of the vehicle: where it is, what ends there, what was measured, what is suspected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at
from tracer.job.job import Job
from tracer.job.photos import Noted, Photo, about, notes_of, photos_of
from tracer.observation.evidence import LampSeen, Reading, Symptom
from tracer.present.conversation.screens import WireMark
from tracer.present.conversation.step import wires_at
from tracer.present.job_words import say_event

_LEAST = 0.005  # share from which a suspect is named


class Thing(Struct, frozen=True):
    """A part, connector, splice or earth point.

    Attributes:
        name, kind, place, minutes: What it is called, what it is, where it is, and how long it takes to get at.
        terminals: Each with the wires that end there.
        lamps: Of a part.
        told: Entries of the job that speak of it, in words.
        suspects: Repairs at it with their shares, likeliest first.
    """

    name: str
    kind: str
    place: str
    minutes: float
    terminals: tuple[tuple[str, tuple[WireMark, ...]], ...]
    lamps: tuple[str, ...]
    told: tuple[str, ...]
    suspects: tuple[tuple[str, float], ...]
    photos: tuple[Photo, ...]
    notes: tuple[Noted, ...]


def thing_of(job: Job, name: str) -> Thing:
    """What is known of the thing with that name; of a terminal or a lamp, of what it belongs to.

    Raises:
        UnknownNameError: The vehicle has none.
    """
    harness = job.harness
    name = owner_in(harness, name)
    nodes = _nodes(harness, name)
    lamps = tuple(f.lamp for f in harness.parts[name].lamps) if name in harness.parts else ()
    place, minutes = harness.place_of(nodes[0] if nodes else name)
    suspects = tuple((s.repair, s.share) for s in job.suspects() if s.share >= _LEAST and any(
        name in {node_of(n).owner for n in (f.node, *(f.across or ())) if n} for f in s.best.faults))
    return Thing(
        name, _kind(harness, name), place, minutes,
        tuple((n.removeprefix(f"{name}."), wires_at(harness, n)) for n in nodes), lamps,
        tuple(_told(job, name, lamps)), suspects if job.evidence else (),
        tuple(p for p in photos_of(job) if about(name, p.at) or p.at in lamps),
        tuple(n for n in notes_of(job) if about(name, n.at) or n.at in lamps),
    )


def owner_in(harness: Harness, name: str) -> str:
    """The part, connector, splice or earth point that a name stands for or belongs to.

    Raises:
        UnknownNameError: There is none.
    """
    tables = (harness.parts, harness.connectors, harness.splices, harness.earths)
    known = [n for t in tables for n in t]
    of_lamp = {f.lamp: p.name for p in harness.parts.values() for f in p.lamps}
    for found in (name, node_of(name).owner, of_lamp.get(name, "")):
        if found in known:
            return found
    raise UnknownNameError(f"there is no “{name}” in this vehicle", did_you_mean(name, known))


def _nodes(harness: Harness, name: str) -> tuple[str, ...]:
    """Where probes go at a thing."""
    if name in harness.parts:
        return tuple(terminal_at(name, t) for t in harness.parts[name].terminals)
    if name in harness.connectors:
        used = {n for w in harness.wires for s in w.segments for n in (s.a, s.b) if node_of(n).owner == name}
        return tuple(n for k in range(1, harness.connectors[name].ways + 1)
                     for n in (terminal_at(name, k), terminal_at(name, k, True)) if n in used)
    return (name,)


def _kind(harness: Harness, name: str) -> str:
    if name in harness.parts:
        return harness.parts[name].kind
    if name in harness.connectors:
        return f"connector of {harness.connectors[name].ways} ways"
    return "splice" if name in harness.splices else "earth point"


def _told(job: Job, name: str, lamps: Sequence[str]) -> Iterator[str]:
    for e in job.record.living:
        for item in (i.item for i in job.entries if i.number == e.number):
            if isinstance(item, Reading):
                here = {node_of(n).owner for n in (item.test.plus, item.test.minus) if n}
                here |= {item.test.lamp} & {*lamps}
                near = name in here or bool(here & {*lamps})
            else:
                assert isinstance(item, Symptom)
                near = any(isinstance(s, LampSeen) and s.lamp in lamps for s in item.seen)
            if near:
                yield " ".join(say_event(job, e).split()[1:])
                break
