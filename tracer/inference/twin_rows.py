"""Hypotheses that are about things built alike: as long as nobody spoke of either, what was told fits both as well.

Two hundred lamps on one splice make thousands of faults. Where one of the lamps was named, a fault of any of the
others is as likely to lead to that as the same fault of another: one stands for all of them. So what somebody told
costs no more to weigh than on a vehicle with a few of these lamps. Nothing that was named has a twin, nor has a lamp
that the trade tells from its likes by its name: one with a like on the other side, or with others in its unit.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import cached_property
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import NO_CHANGE, Change, Floats, Ints, distinct
from tracer.harness.lamp_purposes import lamp_purposes
from tracer.inference.hypotheses import Hypothesis, by_change
from tracer.inference.meter_model import Steps
from tracer.inference.shown import Shown
from tracer.inference.silence import Silence
from tracer.inference.statement_model import Sayable
from tracer.inference.weighing import Parts, weigh
from tracer.observation.evidence import Evidence, FuseSeen, Symptom

_FEW: Final = 300  # changes are weighed one by one
_MOST_CHANGES: Final = 64  # things that one does to the circuit, if others may be like it


class TwinRows:
    """What is alike on one vehicle, whatever is said of other things."""

    def __init__(self, sayable: Sayable) -> None:
        self._sayable, self.predictor = sayable, sayable.predictor

    def weigh(
        self, rows: Sequence[Hypothesis], evidence: Sequence[Evidence], shown: Callable[[Sequence[Change]], Shown],
        steps: Steps, healthy: Floats | None = None, parts: Parts | None = None,
    ) -> Floats:
        """As `weighing.weigh`, rows that the evidence fits alike once for all; `shown`: what changes show."""
        changes, one_of = by_change(rows)
        same = self.changes(changes, evidence)
        if same is None:
            return weigh(rows, one_of, evidence, shown(changes), steps, healthy, parts)
        fewer, of = _fewer(rows, same[one_of])
        changes, one_of = by_change(fewer)
        own = None if parts is None else Parts()
        found = weigh(fewer, one_of, evidence, Shown(self._sayable, changes), steps, healthy, own)
        if parts is not None and own is not None:
            parts += [(*_spread(kept, gain, len(fewer), of), usual) for kept, gain, usual in own]
        return found[:, of]

    def silent(
        self, silence: Silence, changes: Sequence[Change], told: Sequence[Evidence], alive: bool, shown: Shown | None
    ) -> Floats:
        """As `Silence.loglik`, once for all that what was told fits alike."""
        same = self.changes(changes, told)
        if same is None:
            return silence.loglik(changes, told, alive, shown)
        first = distinct(same)
        return silence.loglik([changes[i] for i in first], told, alive)[np.searchsorted(first, same)]

    def changes(self, changes: Sequence[Change], evidence: Sequence[Evidence]) -> Ints | None:
        """(A,) for each change the number of one that the evidence fits as well; none where that saves little."""
        twins, predictor = self.predictor.settler.twins, self.predictor
        if len(changes) < _FEW or not twins.any or not all(isinstance(item, Symptom) for item in evidence):
            return None
        some = [i for i, c in enumerate(changes) if _count(c) <= _MOST_CHANGES]
        setup = predictor.setup(predictor.harness.state({}))
        table = predictor.table([changes[i] for i in some])
        alike = twins.alike(setup, table, {*self._named(evidence)}, self._tags)
        if alike is None:
            return None
        out, at = np.arange(len(changes)), np.array(some, dtype=np.intp)
        out[at] = at[alike.first[alike.of]]
        return out

    @cached_property
    def _tags(self) -> list[Hashable]:
        """Of each port: what the trade knows of its lamp, itself if that is told from others by its name."""
        circuit, index = self.predictor.circuit, self.predictor.lamp_index
        purposes = lamp_purposes(self.predictor.harness)
        out: list[Hashable] = [None] * len(circuit.ports)
        for port, name in zip(circuit.lamp_ports.tolist(), index, strict=True):
            lamp = index[name]
            own = self._sayable.mirror(lamp) is not None or self._sayable.beside(lamp) or self._sayable.lens(lamp)
            out[port] = name if own else purposes.get(name, frozenset())
        return out

    def _named(self, evidence: Sequence[Evidence]) -> Iterator[int]:
        """Nodes at what was spoken of."""
        predictor, circuit = self.predictor, self.predictor.circuit
        for item in evidence:
            assert isinstance(item, Symptom)
            for name in item.lamps_named():
                port = circuit.lamp_ports[predictor.lamp_index[name]]
                yield from (int(ends[port]) for ends in circuit.port_ends)
            for seen in item.seen:
                if isinstance(seen, FuseSeen):
                    branch = circuit.branch_index[f"{seen.fuse} link"]
                    yield from (int(ends[branch]) for ends in circuit.branch_ends)


def _fewer(rows: Sequence[Hypothesis], same: Ints) -> tuple[list[Hypothesis], Ints]:
    """Rows that stand for all, each the first of its own with the largest of their priors, and which of them stands
    for each row (H,). `same` (H,): the number of a change that stands for that of each row."""
    known: dict[Hashable, int] = {}
    of = np.array([known.setdefault((k, *_else_of(h)), len(known))
                   for h, k in zip(rows, same.tolist(), strict=True)], dtype=np.intp)
    prior, first = np.zeros(len(known)), np.full(len(known), len(rows))
    np.maximum.at(prior, of, [h.prior for h in rows])
    np.minimum.at(first, of, np.arange(len(rows)))
    return [replace(rows[i], prior=p) for i, p in zip(first.tolist(), prior.tolist(), strict=True)], of


def _spread(kept: Ints, gain: Floats, count: int, of: Ints) -> tuple[Ints, Floats]:
    """The rows for which those that are `kept`, of so many, stand, and their gain (N, rows)."""
    place = np.full(count, -1, dtype=np.intp)
    place[kept] = np.arange(len(kept))
    rows = np.flatnonzero(place[of] >= 0)
    return rows, gain[:, place[of[rows]]]


def _else_of(h: Hypothesis) -> tuple[Any, ...]:
    """What is to be the same of a hypothesis besides its change."""
    return h.awake, tuple((f.kind, v.severity) for f, v in zip(h.faults, h.variants, strict=True)), len(h.mended)


def _count(change: Change) -> int:
    """How many things it does to the circuit, as `change_table` counts them."""
    return (len(change.set_ohm) + len(change.added) + len(change.contacts) + len(change.inverted)
            + (NO_CHANGE.battery_ohm != change.battery_ohm))
