"""Which terminal of a part feeds which of its lamps."""

from __future__ import annotations

from tracer.harness.devices import Filament, Joint, RelayContact, SwitchContact
from tracer.harness.model import Part
from tracer.harness.node import node_of, terminal_at


def fed_by(part: Part, terminal: str) -> tuple[Filament, ...]:
    """The filaments that hang on a terminal, by its node's name: in their holders, and behind contacts of the part's
    own."""
    own = [d for d in part.devices if isinstance(d, (Joint, RelayContact, SwitchContact)) and node_of(d.b).inner]
    reached, ahead = {terminal}, [terminal]
    while ahead:
        beyond = {d.b for d in own if d.a in ahead} - reached
        reached, ahead = reached | beyond, [*beyond]
    return tuple(f for f in part.lamps if {f.a, f.b} & (reached - {terminal}))


def earthed_at(part: Part, filament: Filament) -> str:
    """The terminal that takes a filament's current on, by its node's name: through its shell, or the filament's own
    end; "" if it ends inside the part."""
    ends, outside = {filament.a, filament.b}, {terminal_at(part.name, t) for t in part.terminals}
    shells = [d.b for d in part.devices if isinstance(d, Joint) and d.a in ends and d.b in outside]
    own = [t for t in (filament.a, filament.b) if t in outside and filament not in fed_by(part, t)]
    return next(iter(shells + own), "")
