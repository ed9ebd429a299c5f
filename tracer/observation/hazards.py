"""What can hurt somebody, or what somebody can spoil, in a test: names that the tables of tests and actions give, and
that the safety room has sentences for."""

from __future__ import annotations

from typing import Final, Literal, get_args

Hazard = Literal[
    "ohmmeter on a fed circuit",  # a meter and a reading spoilt; sparks at the battery lead that is taken off
    "hands at what may move",  # a look along the loom, at rest: belts, fans, a vehicle that rolls
    "wires moved while live",
    "unfused lead",  # a temporary lead that feeds or earths
    "hot lamp",
    "fuse in a short",  # a new fuse where the old one blew
    "plug or fuse pulled",  # while fed; airbag and high-voltage connectors
    "wires cut",  # a splice parted
    "bare ends",  # of wires taken off or parted, which may be live
    "battery lead off",
    "clamp at a wire",
    "probe at live contacts",
    "current through electronics",  # a filament across the output of a control unit
]
HAZARDS: Final[tuple[Hazard, ...]] = get_args(Hazard)
