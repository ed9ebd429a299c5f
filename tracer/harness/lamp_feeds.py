"""Which terminal of a part feeds which of its lamps."""

from __future__ import annotations

from tracer.harness.devices import Filament, Joint, RelayContact, SwitchContact
from tracer.harness.model import Part
from tracer.harness.node import node_of


def fed_by(part: Part, terminal: str) -> tuple[Filament, ...]:
    """The filaments that hang on a terminal, by its node's name: in their holders, and behind contacts of the part's
    own."""
    own = [d for d in part.devices if isinstance(d, (Joint, RelayContact, SwitchContact)) and node_of(d.b).inner]
    reached, ahead = {terminal}, [terminal]
    while ahead:
        beyond = {d.b for d in own if d.a in ahead} - reached
        reached, ahead = reached | beyond, [*beyond]
    return tuple(f for f in part.lamps if {f.a, f.b} & (reached - {terminal}))
