"""What the battery feeds without a fuse, what is live with everything off, and whether such a feed lies on the body.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import Change, Floats
from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    FlasherContact,
    FuseLink,
    Joint,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test

MOST_SHARE: Final = 0.02  # held by shorts of unfused feeds, above which nothing is switched on any more
# A current that no consumer takes at a chafed spot for long without fire: 60 W at 12 V. (Common practice, no source.)
FIRE_A: Final = 5.0
# Above this no wire of a lighting circuit stays whole for a minute: a lasting short of such a feed was not there
# while somebody looked at lamps that shone. (Copper of 1.5 mm² melts at some 130 A in air: Preece's rule, from
# memory.)
_BURNS_A: Final = 30.0
_FAR_BELOW: Final = 1 / 3  # of the ohms that the sound vehicle would show
_LEAST_ROW: Final = 1e-6

Edges = dict[str, list[tuple[str, Device]]]


class Feeds:
    """The copper of one harness as safety sees it: which terminals are fed without a fuse, and which are earthed."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.live, self.earthed_pole = harness.poles()
        self._edges: Edges = {}
        for d in harness.devices():
            if isinstance(d, (Conductor, Joint, SwitchContact, FuseLink, FlasherContact, RelayContact, Dimmer)):
                self._edges.setdefault(d.a, []).append((d.b, d))
                self._edges.setdefault(d.b, []).append((d.a, d))
        copper = self._reached([self.earthed_pole], lambda d: isinstance(d, (Conductor, Joint)))
        self.earthed = frozenset(copper | {*harness.bodies(), harness.reference})
        self._fed: dict[VehicleState, frozenset[str]] = {}
        self._live_at_rest: frozenset[str] | None = None
        self.ends = {d.name: (d.a, d.b) for d in harness.devices() if isinstance(d, Resistor)}

    def _reached(self, starts: Iterable[str], passes: Callable[[Device], bool]) -> set[str]:
        seen = {s for s in starts if s}
        todo = list(seen)
        while todo:
            for other, d in self._edges.get(todo.pop(), ()):
                if other not in seen and passes(d):
                    seen.add(other)
                    todo.append(other)
        return seen

    def unfused(self, state: VehicleState) -> frozenset[str]:
        """Terminals that the live pole reaches in a state without a fuse; relays and flasher units taken as closed as
        soon as anything is switched on."""
        if state not in self._fed:
            moved = state != self.harness.at_rest()
            self._fed[state] = frozenset(self._reached(
                [self.live], lambda d: not isinstance(d, FuseLink) and _closed(d, state, relays=moved)
            ))
        return self._fed[state]

    @property
    def live_at_rest(self) -> frozenset[str]:
        """Terminals that are live with everything off, behind a fuse or not."""
        if self._live_at_rest is None:
            rest = self.harness.at_rest()
            self._live_at_rest = frozenset(self._reached([self.live], lambda d: _closed(d, rest, relays=False)))
        return self._live_at_rest

    def lies_on_body(self, change: Change, state: VehicleState) -> bool:
        """Whether what a fault adds lays a feed without a fuse on the body in this state, with a current that
        burns."""
        laid = self.laid_on_body(change)
        return bool(laid) and not laid.isdisjoint(self.unfused(state))

    def laid_on_body(self, change: Change) -> frozenset[str]:
        """Terminals that what a fault adds joins to the body, with a current that burns if they are fed."""
        most_ohm = self.harness.system_v / FIRE_A
        pairs = [(x.a, x.b) for x in change.added if x.ohm <= most_ohm]
        pairs += [self.ends[name] for name, ohm in change.set_ohm if ohm <= most_ohm and name in self.ends]
        return frozenset(n for a, b in pairs for n, other in ((a, b), (b, a)) if other in self.earthed)

    def across_battery(self, one: str, other: str) -> bool:
        """Whether two terminals lie across a battery while its earthed lead is off: an ohmmeter dies there. Where
        nothing but the earthed pole stands for the body, its name means the lead that was taken off it."""
        away = {self.earthed_pole}
        poles = {p for d in self.harness.devices() if isinstance(d, Source) for p in (d.plus, d.minus)}
        if self.harness.reference in {one, other} & away and not {one, other} <= poles:
            return False

        def copper(d: Device) -> bool:
            return isinstance(d, (Conductor, Joint, FuseLink)) and not {d.a, d.b} & away
        spread = [self._reached([one], copper), self._reached([other], copper)]
        if spread[0] & spread[1]:
            return False
        chain: list[set[str]] = []
        for d in self.harness.devices():
            if isinstance(d, Source):
                both = self._reached([d.plus], copper) | self._reached([d.minus], copper)
                joined = [c for c in chain if c & both]
                chain = [c for c in chain if not c & both] + [both.union(*joined)]
        return any(one in c and other in c for c in chain)

    def battery_bits(self) -> frozenset[str]:
        """The batteries' poles and the far ends of the leads at them."""
        poles = {p for d in self.harness.devices() if isinstance(d, Source) for p in (d.plus, d.minus)}
        far = {n for pole in poles for n in self.harness.far_ends(pole)}
        return frozenset(poles | far | {node_of(p).owner for p in poles})


def _closed(device: Device, state: VehicleState, relays: bool) -> bool:
    if isinstance(device, SwitchContact):
        return device.closed_at(dict(state.positions).get(device.control))
    if isinstance(device, RelayContact):
        return relays or not device.makes
    return True


_known: dict[int, Feeds] = {}
_MOST_KNOWN: Final = 16


def feeds_of(harness: Harness) -> Feeds:
    """The feeds of a harness, worked out once."""
    found = _known.get(id(harness))
    if found is None or found.harness is not harness:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        found = _known[id(harness)] = Feeds(harness)
    return found


class Shorts:
    """Whether, by what is known in a job, a feed without a fuse may lie on the body.

    Attributes:
        measured: Nodes that a reading has shown to lie on it.
    """

    def __init__(self, diagnosis: Diagnosis) -> None:
        self.harness = diagnosis.predictor.harness
        self.feeds = feeds_of(self.harness)
        rows = np.flatnonzero(np.asarray(diagnosis.share) > _LEAST_ROW)
        most = self.harness.system_v / FIRE_A
        seen = _seen_lit(diagnosis.evidence)
        self._laid = [
            (float(diagnosis.share[i]), laid) for i in rows.tolist()
            if _low((h := diagnosis.hypotheses[i]).change, most) and (laid := self.feeds.laid_on_body(h.change))
            and not self._burnt(h, seen)
        ]
        self.measured = _measured_shorts(diagnosis, self.feeds)
        self._known: dict[VehicleState, bool] = {}

    def _burnt(self, hypothesis: Hypothesis, seen: Iterable[VehicleState]) -> bool:
        """Whether a lasting short would have burnt its wire while lamps were seen to shine."""
        added = hypothesis.change.added
        hard = added and all(x.ohm <= self.harness.system_v / _BURNS_A for x in added) and hypothesis.awake == 1.0
        return bool(hard) and any(self.feeds.lies_on_body(hypothesis.change, state) for state in seen)

    def share(self, state: VehicleState) -> float:
        """How likely it is that a feed which is live in this state, and has no fuse, lies on the body."""
        fed = self.feeds.unfused(state)
        return sum(share for share, laid in self._laid if not laid.isdisjoint(fed))

    def likely(self, state: VehicleState) -> bool:
        """Whether nothing may be live in a state: a share above two in a hundred, or a reading that says so."""
        if state not in self._known:
            fed = self.feeds.unfused(state)
            self._known[state] = bool(self.measured & fed) or self.share(state) > MOST_SHARE
        return self._known[state]

    @property
    def anywhere(self) -> bool:
        """Whether the battery may not even be connected with everything off."""
        return self.likely(self.harness.at_rest())


def _seen_lit(evidence: Sequence[Evidence]) -> list[VehicleState]:
    """States in which a lamp was seen to shine on the undisturbed vehicle."""
    states: dict[VehicleState, None] = {}
    for item in evidence:
        if isinstance(item, Symptom):
            state, seen = item.state, list(item.seen)
        elif item.test.row.of_lamps and not item.test.done and item.value.seen is not None:
            state, seen = item.test.state, [item.value.seen]
        else:
            continue
        if any(isinstance(s, LampSeen) and "dark" not in s.words and not s.sometimes for s in seen):
            states[state] = None
    return list(states)


def _low(change: Change, most: float) -> bool:
    return any(x.ohm <= most for x in change.added) or any(ohm <= most for _, ohm in change.set_ohm)


def _measured_shorts(diagnosis: Diagnosis, feeds: Feeds) -> frozenset[str]:
    """Feeds without a fuse that the ohmmeter found on the body: far below what the sound vehicle would show, and low
    enough to burn. Of several readings between the same points the last counts."""
    last: dict[frozenset[str], tuple[Test, float]] = {}
    for item in _ohms(diagnosis.evidence):
        last[frozenset((item.test.plus, item.test.minus))] = (item.test, item.value.high)
    found: set[str] = set()
    for test, ohm in last.values():
        feed = [n for n in (test.plus, test.minus) if n not in feeds.earthed]
        if len(feed) != 1 or ohm > feeds.harness.system_v / FIRE_A:
            continue
        sound: Floats = diagnosis.predictor.observed(test, [Change()])
        if ohm < _FAR_BELOW * float(sound[0]):
            found.add(feed[0])
    return frozenset(found)


def _ohms(evidence: Sequence[Evidence]) -> list[Reading]:
    return [i for i in evidence if isinstance(i, Reading) and i.test.row.battery_off and not i.test.in_hand]
