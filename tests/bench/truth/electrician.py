"""Who does the job: sets the vehicle, looks, holds a meter to it, and tells what it shows.

Eyes with soft borders by day or by night; meters with 1 % and the last digit; habits: some round to one decimal,
some have no clamp or LED tester, some work alone, some cannot do a test.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tests.bench.truth.circuit import INF, Edit, Path
from tests.bench.truth.faults import Fault, Key, wire_key
from tests.bench.truth.laws import NO_LIGHT, WORDS, Lamp, word_chances
from tests.bench.truth.picture import Known, Shown, show
from tests.bench.truth.solve import OHMMETER_OHM, OHMMETER_V, Point, settle

LEAD_OHM, LEAD_FUSE_A = 0.04, 10.0
TEST_LAMP = {6.0: Lamp(6.75, 5 / 6.75), 12.0: Lamp(13.5, 5 / 13.5), 24.0: Lamp(28.0, 5 / 28.0)}
LED_TESTER = Lamp(3.1, 1.3 / 680, True)  # 1.8 V and 680 Ω (common practice, no source)
_FINDS, _FALSE_FIND, _WIGGLES, _WORKED = 0.75, 0.05, 0.1, 0.9


class UnknownPointError(Exception):
    """A probe point that this reading of the file does not have."""


class UnknownTestError(Exception):
    """A kind of test that nobody here can make."""


# Kinds of tests that nobody here makes → why; every other one is proposed or can be asked for.
NOT_MADE: dict[str, str] = {}


@dataclass
class Electrician:
    """One person at one vehicle. `fault` is None as soon as it is cured."""

    known: Known
    tolerance: Edit
    fault: Fault | None
    rng: random.Random
    when: str
    gain: float = field(init=False)
    rounds: bool = field(init=False)
    leads_ohm: float = field(init=False)
    skips: float = field(init=False)

    def __post_init__(self) -> None:
        self.gain = 1 + self.rng.uniform(-0.01, 0.01)
        self.rounds = self.rng.random() < 0.2
        self.leads_ohm = self.rng.uniform(0.1, 0.3)
        self.skips = self.rng.choice((0.0, 0.0, 0.06))
        self._rest: dict[Edit, Point] = {}
        self._judged: dict[tuple[Any, ...], str] = {}
        self._blown: frozenset[str] = frozenset()  # since a state was set last: renewed before the next one

    @property
    def edit(self) -> Edit:
        return self.tolerance | self.fault.edit if self.fault is not None else self.tolerance

    # --- what is done

    def done(self, interventions: Any) -> Edit:
        """The vehicle as it is after things were done to it on purpose."""
        out, net = self.edit, self.known.net
        for i in interventions:
            match i.action:
                case "unplug":
                    ways = tuple((f"way {i.target}.{w}", INF) for w in net.vehicle.ways.get(i.target, ()))
                    out = out | Edit(ohm=ways, gone=(f"unplug {i.target}",))
                case "pull bullet":
                    out = out | Edit(ohm=((f"bullet {i.target}", INF),))
                case "pull fuse":
                    out = out | Edit(ohm=((i.target, INF),))
                case "new fuse":
                    out = out | Edit(ohm=((i.target, net.resistances[i.target].ohm),))
                case "take out lamp":
                    dark = tuple((x.name, 0.0) for x in net.bulbs[i.target])
                    out = out | Edit(lamp=dark, gone=(f"lamp {i.target}",))
                case "earth lead":
                    out = out | Edit(add=(Path(i.target, net.ground, LEAD_OHM),))
                case "feed lead":
                    out = out | Edit(add=(Path(i.other, i.target, LEAD_OHM),))
                case "part splice":
                    away = [r for r in net.resistances.values() if r.kind == "wire" and i.target in (r.a, r.b)
                            and i.other not in (r.a, r.b)]
                    out = out | Edit(ohm=tuple((r.name, INF) for r in away))
                case "take wires off":
                    out = out | self._bare(i.target)
                case "swap lamps":
                    out = self._changed_over(out, i.target, i.other)
                case "disconnect battery":
                    out = out | Edit(battery_off=True)
                case other:
                    raise UnknownPointError(other)
        return out

    def _bare(self, part: str) -> Edit:
        inner = (f"{part}.", f"{part}/")
        own = [r.name for r in self.known.net.resistances.values()
               if r.kind not in ("wire", "way") and r.a.startswith(inner) and r.b.startswith(inner)]
        lamps = tuple((x.name, 0.0) for x in self.known.net.lamps.values() if x.part == part)
        return Edit(ohm=tuple((n, INF) for n in own), lamp=lamps)

    def _changed_over(self, edit: Edit, one: str, two: str) -> Edit:
        bulbs = self.known.net.bulbs
        moves = [*zip(bulbs[one], bulbs[two], strict=False), *zip(bulbs[two], bulbs[one], strict=False)]
        place = {a.name: b.name for a, b in moves}
        node = {p: q for a, b in moves for p, q in ((a.a, b.a), (a.b, b.b))}
        tags = {f"lamp {one}": f"lamp {two}", f"lamp {two}": f"lamp {one}"}
        lamp = tuple((place.get(n, n), f) for n, f in edit.lamp)
        add = tuple(Path(node.get(p.a, p.a), node.get(p.b, p.b), p.ohm, tags[p.tag]) if p.tag in tags else p
                    for p in edit.add)
        return Edit(edit.ohm, edit.stuck, lamp, add, edit.swap, edit.emf, edit.series_ohm, edit.gone)

    def _from_rest(self, edit: Edit) -> Point:
        """Contacts as they stand before the state is set; whatever blew is renewed."""
        if edit not in self._rest:
            point = settle(self.known.net, edit, self.known.states[0])
            self._rest[edit] = Point({}, {}, {}, {}, frozenset(), point.pulled)
        return self._rest[edit]

    # --- what is seen

    def shown(self, state: Mapping[str, str], engine: bool = False, edit: Edit | None = None) -> tuple[Shown, Point]:
        edit = edit or self.edit
        here, point = show(self.known.net, edit, state, engine, self._from_rest(edit))
        self._blown = point.blown
        return here, point

    def look(self, lamp: str, here: Shown, key: tuple[Any, ...]) -> str:
        """The lamp in words; who looks twice at the same light says the same."""
        light = here.light[lamp]
        chances = word_chances(self.known.relative(light, lamp), self.when)
        own = (lamp, round(light, 2), *key)
        if own not in self._judged:
            self._judged[own] = self.rng.choices(WORDS, chances.tolist())[0]
        word = self._judged[own]
        flash = here.flash.get(lamp, "")
        if word == "dark" or not flash:
            return word
        return word + {"flashing": ", flashing", "fast": ", flashes fast", "slow": ", flashes slow",
                       "steady": ", steady"}[flash]

    # --- tests

    def answer(self, test: Any, thing: Key = ()) -> str:
        """What a proposed test shows, as one would type it; `thing` is what is looked over or moved."""
        if self.rng.random() < self.skips and test.kind != "look":
            return "could not"
        state = dict(test.state.positions)
        engine = bool(test.state.engine_running)
        edit = self.done(test.done)
        match test.kind:
            case "look":
                here, point = self.shown(state, engine, edit)
                if self._lead_blew(test, point):
                    return "lead fuse blew"
                return self.look(test.lamp, here, ())
            case "volts" | "drop":
                return self._volts(test, state, engine, edit)
            case "ohms":
                return self._ohms(test, state, edit)
            case "test lamp" | "LED tester" | "lamp for fuse" | "known-good lamp":
                return self._tester(test, state, engine, edit)
            case "current":
                return self._amps(test, state, engine, edit)
            case "crimp":
                return self._crimp(test, state, engine)
            case "inspect":
                return self._over(thing)
            case "wiggle":
                return "changes" if self.rng.random() < self._moves(thing) else "does not"
        raise UnknownTestError(f"nobody on this bench can make a test of kind “{test.kind}”")

    def _lead_blew(self, test: Any, point: Point) -> bool:
        leads = [i for i in test.done if i.action in ("earth lead", "feed lead")]
        return bool(leads) and any(
            abs(a) > 1.35 * LEAD_FUSE_A for n, a in point.amps.items()
            if n.startswith("path ") and any(i.target in n for i in leads)
        )

    def _node(self, name: str) -> str:
        name = name or self.known.net.ground
        if name not in self._nodes():
            raise UnknownPointError(name)
        return name

    def _nodes(self) -> set[str]:
        net = self.known.net
        return {net.ground} | {n for r in net.resistances.values() for n in (r.a, r.b)} | {
            n for b in net.batteries for n in (b.plus, b.minus)} | {
            n for d in net.diodes.values() for n in (d.a, d.b)}

    def _shown_digits(self, value: float, unit: str, decimals: int) -> str:
        value = value * self.gain + self.rng.choice((-1, 0, 0, 1)) * 10.0**-decimals * 0.5
        if self.rounds:
            decimals = min(decimals, 1)
        return f"{value:.{decimals}f} {unit}"

    def _volts(self, test: Any, state: Mapping[str, str], engine: bool, edit: Edit) -> str:
        meter = self._node(test.plus), self._node(test.minus)
        point = settle(self.known.net, edit, state, engine, meter=meter, rest=self._from_rest(edit))
        self._blown = point.blown
        if self._lead_blew(test, point):
            return "could not"
        return self._shown_digits(point.meter, "V", 2)

    def _crimp(self, test: Any, state: Mapping[str, str], engine: bool) -> str:
        """Volts between the end of a wire and its copper behind the crimp: what is bad there loses its share of all
        that the wire loses; what is bad further along loses nothing between these two points."""
        net, edit = self.known.net, self.edit
        own = {r.name for r in net.resistances.values() if r.kind == "wire" and {r.a, r.b} == {test.plus, test.minus}}
        bad = [n for n, end in self.fault.ends if n in own and end == test.plus] if self.fault is not None else []
        if not bad:
            return self._shown_digits(0.0, "V", 2)
        ends = self._node(test.plus), self._node(test.minus)
        point = settle(net, edit, state, engine, meter=ends, rest=self._from_rest(edit))
        ohm = dict(edit.ohm)[bad[0]]
        return self._shown_digits(point.meter * (1 - net.resistances[bad[0]].ohm / ohm), "V", 2)

    def _ohms(self, test: Any, state: Mapping[str, str], edit: Edit) -> str:
        net = self.known.net
        plus, minus = self._node(test.plus), self._node(test.minus)
        hand = test.in_hand
        if hand and hand in net.resistances:
            ohm = dict(edit.ohm).get(hand, net.resistances[hand].ohm)
            ohm = INF if hand in self._blown else dict(self.edit.ohm).get(hand, ohm)  # pulled is not broken
        else:
            if hand:  # nothing but the glass
                own = {n for x in net.bulbs[hand] for n in (x.a, x.b)}
                away = tuple((r.name, INF) for r in net.resistances.values() if {r.a, r.b} & own)
                edit = self.edit | Edit(ohm=away)
            edit = edit | Edit(ohmmeter=(plus, minus))
            point = settle(net, edit, state, flasher=False)
            v = abs(point.volts[plus] - point.volts[minus])
            ohm = OHMMETER_OHM * v / max(OHMMETER_V - v, 1e-12)
        if ohm > 2e6:
            return "open"
        ohm += self.leads_ohm
        if ohm > 2000:
            return f"{ohm * self.gain / 1000:.2f} kohm"
        return self._shown_digits(ohm, "ohm", 1 if ohm < 200 else 0)

    def _tester(self, test: Any, state: Mapping[str, str], engine: bool, edit: Edit) -> str:
        ends, turned = (self._node(test.plus), self._node(test.minus)), self.known.net.vehicle.positive_earth
        match test.kind:
            case "LED tester":
                lamp, usual = LED_TESTER, 0.9
            case "known-good lamp":
                own = next((x for x in self.known.net.lamps.values() if x.terminal == test.plus), None)
                if own is None:
                    raise UnknownPointError(test.plus)
                lamp, usual = own.law, self.known.usual[own.name]
            case _:
                lamp, usual = TEST_LAMP[self.known.net.volts], -0.2
        if turned and lamp.led:
            ends = (ends[1], ends[0])
        if test.kind == "lamp for fuse":  # in the clips of the fuse, which is out
            edit = edit | Edit(ohm=((test.plus.rpartition(".")[0], INF),))
        edit = edit | Edit(tester=(*ends, lamp))
        point = settle(self.known.net, edit, state, engine, rest=self._from_rest(edit))
        chances = word_chances(point.light.get("tester", NO_LIGHT) - usual, self.when)
        return self.rng.choices(WORDS, chances.tolist())[0]

    def _amps(self, test: Any, state: Mapping[str, str], engine: bool, edit: Edit) -> str:
        found = [r.name for r in self.known.net.resistances.values()
                 if r.kind == "wire" and {r.a, r.b} == {test.plus, test.minus}]
        if not found:
            raise UnknownPointError(f"wire {test.plus} – {test.minus}")
        point = settle(self.known.net, edit, state, engine, rest=self._from_rest(edit))
        return self._shown_digits(abs(point.amps[found[0]]), "A", 2)

    def _at(self, thing: Key) -> bool:
        """Whether the fault can be seen on what is looked over."""
        if self.fault is None:
            return False
        return any(k == thing or (k[0] == "way" and thing == ("connector", k[1].rpartition(".")[0]))
                   for k in self.fault.seen)

    def _moves(self, thing: Key) -> float:
        """How often a lamp changes while a thing is moved; a switch is worked by hand."""
        if self.fault is None or not self._at(thing):
            return 0.02
        return _WORKED if self.fault.kind == "switch set wrong" else _WIGGLES

    def _over(self, thing: Key) -> str:
        found = self.rng.random() < (_FINDS if self._at(thing) else _FALSE_FIND)
        return "found" if found else "nothing"


def thing_key(kind: str, name: str, other: str) -> Key:
    """What is looked over, named as the faults name it."""
    if kind == "wire":
        return wire_key(name, other)
    return ({"earth point": "earth"}.get(kind, kind), name)
