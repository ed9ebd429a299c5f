"""The minutes of the same jobs for somebody who knows this bench's laws: a yardstick for the tool's minutes.

The oracle weighs the draws of the ideal observer (`observer.py`) by what was said, and goes on by Bayes: it knows
how every draw's lamps and voltages look on this bench's circuit, and how often an eye errs. Its steps and their
minutes are those of the tool (common practice, no source): a look at all lamps in a state, a voltage at any point
against earth in a state, and the direct check of a repair, which errs never here. It takes the step after which the
least is left to do (one step of look-ahead over checks in turn and tests at the present pace), and does the repair as
soon as its check is positive. What the right repair takes is what the tool was charged for it. Who is alone measures
nothing while he holds a pedal, as it is for the tool.

Before, it took the step that told most a minute, and was slower than the tool by two thirds.

What it may not do, and so is no bound: choose by looking further ahead, measure with plugs pulled, bridge a switch,
or take a lamp or fuse in the hand other than as the check of its repair. What it has better than anybody: no drop,
ohmmeter or look over a thing errs, since the check of a repair never does.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import yaml

from tests.bench.truth.electrician import Electrician
from tests.bench.truth.faults import Fault, Key
from tests.bench.truth.laws import WORDS, Floats, word_chances
from tests.bench.truth.observer import Observer
from tests.bench.truth.person import Statement, likelihood
from tests.bench.truth.picture import Known, Walked, walk_round
from tests.bench.truth.solve import NoSolutionError
from tests.bench.truth.vehicle import number

LOOK_MIN, ALSO_MIN, CONTROL_MIN, HOLD_MIN = 0.65, 0.1, 0.2, 1.5
VOLTS_MIN, CHECK_MIN, IN_HAND_MIN = 1.3, 3.0, 1.45  # a lamp or fuse is taken out and looked at
_MOST_DRAWS, _LEAST_SHARE = 160, 0.0005
_SLIP = 0.05  # of any reading that has nothing to do with a draw, whose severity is one of a few
_VOLTS_OFF, _VOLTS_SHARE = 0.15, 0.06  # a severity that is not quite the draw's, a battery not quite the same
_BIN_SIGMA = 4.0
_LEAST_TOLD = 0.01  # of the doubt, below which a test is not thought of
_SLOWER = 2.0  # the tests after the best one tell less a minute than it does
_MOST_STEPS = 60

Ints = np.ndarray[tuple[int], np.dtype[np.int64]]


@dataclass
class Oracle:
    """What is known of one type of vehicle before any job on it."""

    observer: Observer
    access: Mapping[str, tuple[str, float]]  # of parts, plugs, splices, earth points: the place, and minutes to it
    _walked: dict[int, Walked | None] = field(default_factory=dict)

    @classmethod
    def of(cls, observer: Observer, path: Path) -> Oracle:
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
        found = {}
        for section in ("parts", "connectors", "splices", "earths"):
            entries = data.get(section) or {}
            for name, given in entries.items() if isinstance(entries, dict) else ():
                own = given if isinstance(given, dict) else {}
                found[str(name)] = str(own.get("place") or name), number(own.get("access"), 0.0)
        return cls(observer, found)

    def minutes(
        self, said: Sequence[Statement], fault: Fault, person: Electrician, repair_min: float, alone: bool = False
    ) -> float | None:
        """How long the job takes; None where none of the likely draws has this fault."""
        weights, rows = self._likely(said, person.when)
        if not any(self.observer.draws[r].cures[0] in fault.cures for r in rows):
            return None
        job = _Job(self, [self.observer.draws[r].cures[0] for r in rows], weights,
                   [w for r in rows if (w := self._walk(r)) is not None], person, alone)
        return job.run(fault.cures, repair_min)

    def _likely(self, said: Sequence[Statement], when: str) -> tuple[Floats, list[int]]:
        known = self.observer.known
        p = np.array([d.weight * likelihood(known, d.day if when == "day" else d.night, said)
                      for d in self.observer.draws])
        p *= [self._walk(r) is not None if x > 0 else 0.0 for r, x in enumerate(p)]
        order = np.argsort(-p, kind="stable")[:_MOST_DRAWS]
        rows = [int(r) for r in order if p[r] > _LEAST_SHARE * p[order[0]]]
        return np.asarray(p[rows] / p[rows].sum()), rows

    def _walk(self, row: int) -> Walked | None:
        if row not in self._walked:
            try:
                self._walked[row] = walk_round(self.observer.known, self.observer.draws[row].edit)
            except NoSolutionError:
                self._walked[row] = None
        return self._walked[row]


class _Job:
    """One job: shares of the draws, and what was opened."""

    def __init__(
        self, oracle: Oracle, cures: Sequence[Key], shares: Floats, walked: Sequence[Walked], person: Electrician,
        alone: bool,
    ) -> None:
        self.oracle, self.cures, self.shares, self.walked, self.person = oracle, cures, shares, walked, person
        self.alone, self.bulbs = alone, {x.bulb: x.part for x in person.known.net.lamps.values()}
        known: Known = oracle.observer.known
        self.known, self.lamps = known, list(known.net.lamps)
        nodes = {n for r in known.net.resistances.values() for n in (r.a, r.b)}
        self.nodes = sorted(n for n in nodes if "/" not in n and n in walked[0].points[0].volts)
        self.volts = np.array([[[w.points[s].volts.get(n, 0.0) - w.points[s].volts.get(known.net.ground, 0.0)
                                 for n in self.nodes] for s in range(len(known.states))] for w in walked])
        # (draws, states, lamps, words): an eye's chances; where both flash otherwise the words are no help alone.
        self.words = np.array([[[word_chances(known.relative(w.shown[s].light[x], x), person.when)
                                 for x in self.lamps] for s in range(len(known.states))] for w in walked])
        self.flash = [[[w.shown[s].flash.get(x, "") for x in self.lamps] for s in range(len(known.states))]
                      for w in walked]
        self.opened: set[str] = set()
        self.state, self.taken, self.out = 0, set[tuple[str, int, str]](), 0.0
        self.labels = {c: k for k, c in enumerate(dict.fromkeys(cures))}
        self.label = np.array([self.labels[c] for c in cures])

    def run(self, right: Sequence[Key], repair_min: float) -> float | None:
        """Minutes until the right repair is made and seen to help."""
        for _ in range(_MOST_STEPS):
            if self.shares.sum() <= 0:
                return None
            self.shares = self.shares / self.shares.sum()
            kind, state, what = self._best()
            if kind == "check":
                self.out += self._check_minutes(what)
                self.opened.add(self._place(_owner(what))[0])
                if self._cure(what) in right:
                    return self.out + repair_min
                self.shares = np.where(self.label == self.labels[self._cure(what)], 0.0, self.shares)
            elif kind == "look":
                self._look(state)
            else:
                self._measure(state, what)
            self.taken.add((kind, state, what))
        return None

    def _cure(self, name: str) -> Key:
        return next(c for c in self.labels if "|".join(c) == name)

    def _best(self) -> tuple[str, int, str]:
        """The step after which least is left to do, itself included. What is left after an outcome is reckoned as the
        less of two: the checks of all repairs in turn, or tests at the pace of the best one that there is now."""
        share: Floats = np.bincount(self.label, self.shares, len(self.labels)).astype(float)
        names = ["|".join(c) for c in self.labels]
        self.checking = np.array([self._check_minutes(n) for n in names])
        tests = list(self._tests())
        doubt = _entropy(share)
        rates = [self._told(codes) / minutes for minutes, codes, _ in tests]
        self.pace = _SLOWER / max(rates, default=0.0) if max(rates, default=0.0) > 0 else np.inf
        found = [(minutes + self._left(self._joint(codes)), step) for (minutes, codes, step), rate
                 in zip(tests, rates, strict=True) if rate * minutes > _LEAST_TOLD * doubt]
        for k, name in enumerate(names):
            if share[k] > 0 and ("check", 0, name) not in self.taken:
                rest = share.copy()
                rest[k] = 0.0
                found.append((float(self.checking[k]) + self._left(rest[None]), ("check", 0, name)))
        return min(found)[1]

    def _tests(self) -> Iterator[tuple[float, Ints, tuple[str, int, str]]]:
        """Minutes of every look and voltage not taken yet, and a number for its outcome, draw by draw."""
        for s, state in enumerate(self.known.states):
            if ("look", s, "") not in self.taken:
                yield self._look_minutes(s), self._looks_of(s), ("look", s, "")
            if self.alone and any(c.sprung and state[n] != c.positions[0]
                                  for n, c in self.known.net.vehicle.controls.items()):
                continue
            # In units of what a reading is off by, counted from the most that a node has: what is told apart by less
            # is not told apart.
            size = np.abs(self.volts[:, s])
            scale = np.log1p(size * _VOLTS_SHARE / _VOLTS_OFF) / _VOLTS_SHARE
            bins = np.round((scale.max(axis=0) - scale) / _BIN_SIGMA).astype(int)
            for n, node in enumerate(self.nodes):
                if ("volts", s, node) not in self.taken and np.ptp(bins[self.shares > 0, n]):
                    yield self._volts_minutes(s, node), bins[:, n], ("volts", s, node)

    def _left(self, joint: Floats) -> float:
        """Minutes after outcomes with these masses (O, repairs), times their probability."""
        with np.errstate(divide="ignore"):
            order = np.argsort(np.where(joint > 0, self.checking / joint, np.inf), axis=1, kind="stable")
        ranked, costs = np.take_along_axis(joint, order, axis=1), self.checking[order]
        in_turn = (ranked * np.cumsum(costs, axis=1)).sum(axis=1)
        mass = joint.sum(axis=1)
        doubt = _xlogx(mass) - _xlogx(joint).sum(axis=1)
        measured = joint @ self.checking + (doubt * self.pace if np.isfinite(self.pace) else np.inf)
        return float(np.minimum(in_turn, measured).sum())

    def _joint(self, codes: Ints) -> Floats:
        _, place = np.unique(codes, return_inverse=True)
        joint = np.zeros((int(place.max()) + 1, len(self.labels)))
        np.add.at(joint, (place, self.label), self.shares)
        return joint

    def _told(self, codes: Ints) -> float:
        """Bits about the repair from a step whose outcome is these numbers, draw by draw."""
        joint = self._joint(codes)
        return float(_entropy(joint.sum(axis=0)) - (_xlogx(joint.sum(axis=1)).sum() - _xlogx(joint).sum()))

    def _looks_of(self, s: int) -> Ints:
        """A number for what is most likely seen in a state, draw by draw."""
        seen: dict[tuple[object, ...], int] = {}
        likely = self.words[:, s].argmax(axis=-1)
        return np.array([seen.setdefault((tuple(row), tuple(f[s])), len(seen))
                         for row, f in zip(likely.tolist(), self.flash, strict=True)])

    def _look(self, s: int) -> None:
        self.out += self._look_minutes(s)
        self.state = s
        here, _ = self.person.shown(self.known.states[s])
        for n, lamp in enumerate(self.lamps):
            word = self.person.look(lamp, here, ()).partition(",")[0]
            flash = here.flash.get(lamp, "")
            p = self.words[:, s, n, WORDS.index(word)]
            same = np.array([f[s][n] == flash for f in self.flash])
            self.shares = self.shares * ((1 - _SLIP) * p * np.where(same | (word == "dark"), 1.0, 0.1) + _SLIP / 5)

    def _measure(self, s: int, node: str) -> None:
        self.out += self._volts_minutes(s, node)
        self.state = s
        self.opened.add(self._place(_owner(node))[0])
        test = SimpleNamespace(plus=node, minus=self.known.net.ground, done=())
        told = self.person._volts(test, self.known.states[s], False, self.person.edit)
        read = float(told.split()[0])
        mu = self.volts[:, s, self.nodes.index(node)]
        sigma = _VOLTS_OFF + _VOLTS_SHARE * np.abs(mu)
        near = np.exp(-0.5 * ((read - mu) / sigma) ** 2)
        self.shares = self.shares * ((1 - _SLIP) * near + _SLIP)

    def _state_minutes(self, s: int) -> float:
        now, then, total = self.known.states[self.state], self.known.states[s], 0.0
        for name, position in then.items():
            if now[name] != position:
                control = self.known.net.vehicle.controls[name]
                total += CONTROL_MIN + (HOLD_MIN if control.sprung and position != control.positions[0] else 0.0)
        return total

    def _look_minutes(self, s: int) -> float:
        return LOOK_MIN + ALSO_MIN * (len(self.lamps) - 1) + self._state_minutes(s)

    def _volts_minutes(self, s: int, node: str) -> float:
        return VOLTS_MIN + self._state_minutes(s) + self._access(_owner(node))

    def _check_minutes(self, name: str) -> float:
        return (IN_HAND_MIN if name.startswith(("lamp|", "fuse|")) else CHECK_MIN) + self._access(_owner(name))

    def _access(self, owner: str) -> float:
        place, minutes = self._place(owner)
        return 0.0 if place in self.opened else minutes

    def _place(self, owner: str) -> tuple[str, float]:
        part = self.bulbs.get(owner, owner)
        return self.oracle.access.get(part, (part, 0.0))


def _owner(name: str) -> str:
    """The thing at which a node lies, or the element that a repair names."""
    name = name.split("|")[1] if "|" in name else name
    return name.rstrip("'").rpartition(".")[0] or name.rstrip("'")


def _entropy(p: Floats) -> float:
    return float(-_xlogx(p).sum())


def _xlogx(p: Floats) -> Floats:
    return np.asarray(p * np.log2(np.where(p > 0, p, 1.0)))


def person_of(known: Known, person: Electrician, fault: Fault, seed: str) -> Electrician:
    """Somebody with the same vehicle and fault, whose eyes and meter err by chances of their own."""
    return Electrician(known, person.tolerance, fault, random.Random(f"oracle {seed}"), person.when)

