"""Electronics that an ohmmeter meets: what they show no harness file describes.

The output of a control unit, its inputs and a lamp made of LEDs show what the meter's voltage and polarity make of a
few transistors and diodes, and a sound one may show what a dead one shows (common practice, no source). So a reading
through one of them says nothing of it: whatever is or is not wrong with it, it may be open, conduct, or be anything
between. What lies in series with it or across it is told as ever, as far as that leaves anything to tell.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np
from msgspec import Struct

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Floats
from tracer.harness.devices import Device, Diode, Filament, LedLaw, RelayContact, Resistor
from tracer.harness.model import Harness, Part
from tracer.inference.reading_likelihood import ohm_scale
from tracer.observation.evidence import Value
from tracer.observation.forward_model import Predictor

# How often it is open, conducts as well as it can, or is anything between (uniform on the meter's scale). Judgement.
OPEN, CONDUCTS, BETWEEN = 0.5, 0.25, 0.25
_LEAST_OHM: Final = 10.0  # that LEDs and inputs of electronics may show
APART: Final = 0.05  # decades, below which it makes no difference what it is


class Unknown(Struct, frozen=True):
    """All such things of one vehicle: their names, and what makes all of them open, and conduct."""

    names: frozenset[str]
    apart: Change
    shut: Change


_known: WeakKeyDictionary[Predictor, Unknown | None] = WeakKeyDictionary()


def unknown_things(harness: Harness) -> list[Device]:
    """The devices of which nobody knows what an ohmmeter shows."""
    return [d for part in harness.parts.values() for d in _inside(part)]


def _inside(part: Part) -> Iterator[Device]:
    for d in part.devices:
        match d:
            case Filament(law=LedLaw()) | Diode(role="buzzer"):
                yield d
            case RelayContact() | Resistor(role="input") if part.electronic:
                yield d


def unknown_of(predictor: Predictor) -> Unknown | None:
    """What of a vehicle no ohmmeter tells, if it has any."""
    if predictor not in _known:
        found = unknown_things(predictor.harness)
        _known[predictor] = _unknown(found) if found else None
    return _known[predictor]


def _unknown(things: list[Device]) -> Unknown:
    lights = [d for d in things if isinstance(d, (Filament, Diode))]
    contacts = [d for d in things if isinstance(d, RelayContact)]
    inputs = [d for d in things if isinstance(d, Resistor)]
    return Unknown(
        frozenset(d.name for d in things),
        Change(set_ohm=tuple((d.name, OPEN_OHM) for d in things if d not in lights),
               dead=tuple(d.name for d in lights)),
        Change(set_ohm=(*((d.name, d.ohm) for d in contacts), *((d.name, _LEAST_OHM) for d in inputs)),
               added=tuple(AddedBranch(d.a, d.b, _LEAST_OHM, d.bulb if isinstance(d, Filament) else "")
                           for d in lights)),
    )


def it_matters(apart: Floats, shut: Floats) -> Floats:
    """(A,) whether it matters what it is: what shows where it is open, and where it conducts, Ω."""
    return np.asarray(np.abs(ohm_scale(apart) - ohm_scale(shut)) > APART)


def mixed(of_open: Floats, of_shut: Floats, apart: Floats, shut: Floats, value: Value) -> Floats:
    """ln probability (A,) of a reading, from those where it is open and where it conducts."""
    low, high = np.minimum(ohm_scale(apart), ohm_scale(shut)), np.maximum(ohm_scale(apart), ohm_scale(shut))
    least, most = (float(ohm_scale(np.array(x))) for x in (value.low, value.high))
    if not value.is_range:
        least, most = least - 0.02, most + 0.02
    inside = np.clip(np.minimum(most, high) - np.maximum(least, low), 0.0, None) / np.maximum(high - low, APART)
    parts = [np.log(OPEN) + of_open, np.log(CONDUCTS) + of_shut, np.log(np.maximum(BETWEEN * inside, 1e-300))]
    return np.asarray(np.logaddexp.reduce(parts, axis=0))
