"""Faults of earth points: the point as a whole, on metal or not, and single eyelets on it."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.faults.making import Fault, fault, in_common, opened, resistive
from tracer.harness.devices import Conductor, Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of


def earth_faults(harness: Harness) -> Iterator[Fault]:
    """Every earth point: bad or off as a whole, and each eyelet on it where there are several."""
    to_body = {j.a: j for j in harness.joints if j.kind == "earth"}
    mounted: dict[str, list[str]] = {}
    for d in harness.devices():
        if isinstance(d, Joint) and d.kind == "stud":
            mounted.setdefault(d.b, []).append(d.name)
    for name, point in harness.earths.items():
        wires = [s for s in harness.legs(name) if s.a != s.b]
        repair = f"clean and remake earth point {name}"
        if name in to_body:
            d = to_body[name]
            yield fault("earth bad", name, f"earth point {name} makes poor contact", repair, resistive(d.name), d.a,
                        (d.a, d.b), (d.name,))
            yield fault("earth open", name, f"earth point {name} is open", repair, opened(d.name), d.a, (d.a, d.b),
                        (d.name,))
        elif point.body is None:
            yield from _collecting_bolt(name, repair, [s.name for s in wires] + mounted.get(name, []))
        if len(wires) > 1:
            for s in wires:
                yield from _eyelet(name, s)


def _collecting_bolt(name: str, repair: str, legs: list[str]) -> Iterator[Fault]:
    """A bolt on what does not conduct: whatever meets there meets nowhere else, and its crust lies under every
    eyelet."""
    if len(legs) < 2:
        return
    own = tuple(legs)
    yield fault("earth bad", name, f"earth point {name} is corroded: all its eyelets", repair, in_common(own), name,
                None, own)
    yield fault("earth open", name, f"earth point {name} has come loose: none of its eyelets makes contact", repair,
                opened(*own), name, None, own)


def _eyelet(name: str, s: Conductor) -> Iterator[Fault]:
    far = node_of(s.b if s.a == name else s.a).near
    eyelet = f"the eyelet of the {s.colour} wire from {far} on earth point {name}".replace("the  wire", "the wire")
    tag, repair = f"{name} from {far}", f"clean or renew {eyelet}"
    yield fault("eyelet bad", tag, f"{eyelet} makes poor contact", repair, resistive(s.name), name, (s.a, s.b),
                (s.name,))
    yield fault("eyelet open", tag, f"{eyelet} is off", repair, opened(s.name), name, (s.a, s.b), (s.name,))
