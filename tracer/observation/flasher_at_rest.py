"""What an ohmmeter shows whose current flows through a flasher unit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import OPEN_OHM, Change, Floats
from tracer.harness.devices import FlasherContact
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.observation.meter_readings import asked_of, read


def either_way(predictor: Predictor, tests: Sequence[Test], changes: Sequence[Change]) -> list[Floats]:
    """What the instruments show, (1, H) each, as `Predictor.observed` has it. For an ohmmeter whose current flows
    through a flasher unit (2, H): as that is closed at rest, and as it is open. Hot-wire units stand open then,
    others closed, and no file says which (common practice, no source)."""
    make = predictor.circuit, predictor.setup, predictor.table
    found = read(predictor.settler, asked_of(tests, changes, *make))
    if not any(flows.any() for _, flows in found):  # as of every test but a few
        return [closed[None] for closed, _ in found]
    contacts = [d.name for d in predictor.circuit.linear if isinstance(d, FlasherContact)]
    opened = Change(set_ohm=tuple((name, OPEN_OHM) for name in contacts))
    held = np.array([any(name in contacts for name, _ in c.set_ohm) for c in changes], dtype=bool)
    rows = [np.flatnonzero(flows & ~held) for _, flows in found]
    # What is solved together takes far less time than one after the other.
    again = [asked_of([test], [changes[r] | opened for r in some.tolist()], *make)[0]
             for test, some in zip(tests, rows, strict=True) if len(some)]
    other, out = iter(read(predictor.settler, again)), []
    for (closed, _), some in zip(found, rows, strict=True):
        shown = [closed]
        if len(some):
            shown.append(closed.copy())
            shown[1][some] = next(other)[0]
        out.append(np.array(shown))
    return out
