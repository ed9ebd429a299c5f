"""What is not mentioned: soft evidence, since who comes unasked tells the striking things.

He tells one thing or a few, however much is wrong: who tells one of two things that strike alike does so in half of
such cases, of five in a fifth. What strikes are groups: a function wrong on both sides, a whole corner, a blown fuse,
lamps that shine unasked; and, with ALONE of their weight, single lamps besides. So n statements of weights T in all,
with U left unsaid, are chosen as they were with the chance

    Π over i < n: T_i / (T_i + U),  T_i = (1 − i / n) T

which for things alike is one over the number of ways to choose n of them. And he leaves it at n, though a share
L = U / (T + U) of what strikes is left, with 1 − GOES_ON · L: of the published cases with several things wrong most
tell of several. With what was told by half it is never less than MOST_SILENCE. Plate lamps, tell-tales and
instrument lamps weigh next to nothing: hardly anybody looks at them, unless he has had them before his eyes
(`seldom_seen`). What was asked about is spoken of, whatever the answer. An indicator that stays lit strikes as well.

That nothing works at all costs another factor: he would have said that the vehicle is dead. That all is dim does not:
how bright a lamp should be is judged from memory, in the light that he happened to need, and one bad function is told
where all are.

What is odd already with fewer controls moved is seldom told as of more: nobody who finds the stop lamps lit all the
time says that they come on with the indicators. The factors are judgement: common practice, no source; a trial on
published cases chose the half between 0.2 and 0.5.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import Bools, Change, Floats
from tracer.harness.lamp_purposes import BEAMS, lamp_purposes
from tracer.harness.model import VehicleState
from tracer.inference.meant_states import LIT_ABOVE
from tracer.inference.met_in_use import met_by_night
from tracer.inference.same_lamp import complaints_in, corners_told
from tracer.inference.seldom_seen import ALONE, NOBODY_LOOKS, SeldomSeen
from tracer.inference.shown import Shown
from tracer.inference.statement_model import VARIES, Sayable
from tracer.observation.evidence import Compared, Evidence, FuseSeen, LampSeen, Reading
from tracer.observation.forward_model import Panel

UNMENTIONED: Final = 0.4  # what nobody describes, for each doubling of the lamps that it would touch
GOES_ON: Final = 0.5  # who has more to tell goes on so often, times the share of what strikes that is left
# A function wrong everywhere, told of one side, for each: who sees both says both. None of 12 published cases (R01,
# R03, 09, 11, 15, 19, 31, 35, 45, C07, 09, 11) was told so. Were it a fifth for each, that would be so once in 460.
# By the rule of succession 1 in 14 tells of one; but who writes of it has looked at both sides by then.
ONE_SIDE: Final = 0.1
MOST_SILENCE: Final = 1 / 50  # all of this together
SHONE_EARLIER: Final = 0.1  # odd with fewer controls moved already, and told as of more: what shines unasked
MET_EARLIER: Final = 0.2  # … and what should be lit
DEAD_UNMENTIONED: Final = 1 / 10  # a vehicle in which nothing works
DEAD_DENIED: Final = 1 / 200  # … or all is dim, and somebody said that it cranks and runs
_ODD: Final = 0.3  # decades of light: half of it, or twice as much
# … or as much as somebody complained of at another lamp, if that is less: who calls one lamp dim at three quarters of
# its light sees the others that have lost as much.
_LEAST_ODD: Final = 0.12
_AS_MUCH: Final = 0.01  # decades: two lamps that one fault dims alike are as odd as each other, whatever the rounding
_NEVER_SEEN: Final = -3.0  # light below which nobody sees a difference
_SHOULD_BE_DARK: Final = -2.5
_NEARLY_ALL: Final = 0.9
_PLACES: Final = frozenset({"rear", "front", "tail", "side", "left", "right", "high"})


class Spoken(Struct, frozen=True):
    """What was spoken of, whatever was said of it: lamps by state, and whether any fuse was."""

    lamps: frozenset[tuple[VehicleState, str]]
    dimmed: frozenset[tuple[VehicleState, str]]  # complained of, and neither dark nor lit where they should be dark
    complained: frozenset[tuple[VehicleState, str]]  # lamps, unasked, in which state
    beside: frozenset[tuple[VehicleState, str]]  # of `lamps` those that nobody named, behind a lens complained of
    fuses: bool
    told: tuple[tuple[VehicleState, frozenset[str]], ...]  # lamps complained of unasked, symptom by symptom

    @property
    def volunteered(self) -> bool:
        """Whether somebody complained of a lamp unasked, or of anything else."""
        return bool(self.told)


def spoken_of(evidence: Sequence[Evidence], sayable: Sayable) -> Spoken:
    """What the evidence speaks of; `told`: what somebody complained of unasked."""
    lamps, dimmed, complained, blown, beside, told = set(), set(), set(), set(), set(), []
    for item in evidence:
        if isinstance(item, Reading):
            if item.test.lamp and not item.test.at_rest:
                lamps.add((item.test.state, item.test.lamp))
            continue
        named = set(item.lamps_named())
        named |= {s.other for s in item.seen if isinstance(s, Compared)}
        if item.others_normal:
            named = set(sayable.predictor.lamp_index)
        lamps |= {(item.state, lamp) for lamp in named}
        blown |= {s.fuse for s in item.seen if isinstance(s, FuseSeen)}
        odd = [item.seen[k] for k in complaints_in(item, sayable)]
        complained |= {(item.state, s.lamp) for s in odd if isinstance(s, LampSeen)}
        looks = [s for s in odd if isinstance(s, LampSeen) and not s.amiss]
        # What shines through the lens that was complained of, in that state, is no further group; nor is the main
        # beam for who complained of the dipped one. That the stop lamp fails as well is, for who complained of the
        # tail lamp beside it.
        beside |= {(item.state, mate) for s in looks for mate in sayable.behind_one_lens(s.lamp)}
        beams = {mate for s in looks for mate in sayable.beams_meant_by(s.lamp)}
        lamps |= {(state, mate) for state in sayable.states for mate in beams}
        # Who speaks of a rate alone has said nothing of how bright it is.
        light = [s for s in looks if s.flash is None or sayable.complains(replace(s, flash=None), item.state)]
        dimmed |= {(item.state, s.lamp) for s in light if "dark" not in s.words}
        if odd:
            told.append((item.state, frozenset(s.lamp for s in looks)))
    # Whoever says that a fuse is blown has said what hangs on it.
    lamps |= {(state, lamp) for fuse in blown for state in sayable.states for lamp in sayable.fed_by(fuse)}
    return Spoken(frozenset(lamps | beside), frozenset(dimmed), frozenset(complained), frozenset(beside - lamps),
                  bool(blown), tuple(told))


class Silence:
    """The striking groups of one vehicle, and what it costs not to speak of them."""

    def __init__(self, sayable: Sayable) -> None:
        self._sayable, self.predictor = sayable, sayable.predictor
        self._states = [*sayable.states, *met_by_night(sayable.predictor, sayable.states)]
        self._names = [f.lamp for f in self.predictor.lamps]
        self._seldom = SeldomSeen(self.predictor)

    @cached_property
    def _purposes(self) -> Mapping[str, list[int]]:
        """Lamps of each function that has two or more: a side of indicators is a function."""
        found: dict[str, list[int]] = {}
        for lamp, purposes in lamp_purposes(self.predictor.harness).items():
            if lamp in self.predictor.lamp_index:
                for p in purposes:
                    found.setdefault(p, []).append(self.predictor.lamp_index[lamp])
        return {p: lamps for p, lamps in found.items() if len(lamps) > 1}

    @cached_property
    def _for_else(self) -> list[int]:
        """Lamps of no function that the trade has a name for: load lamps, lamps in a cabin."""
        purposes = lamp_purposes(self.predictor.harness)
        return [i for n, i in self.predictor.lamp_index.items() if not purposes.get(n)]

    def _functions(self, spoken: Spoken) -> list[list[int]]:
        """The lamps of each function that would be noticed: who complains of a plate lamp has looked at both."""
        named = {self.predictor.lamp_index[n] for _, lamps in spoken.told for n in lamps}
        return [lamps for p, lamps in self._purposes.items()
                if p not in NOBODY_LOOKS or (p != "tell-tale" and named & {*lamps})]

    @cached_property
    def _corners(self) -> list[list[int]]:
        """Lamps of each unit that has two or more, and the beams of each headlamp."""
        index, purposes = self.predictor.lamp_index, lamp_purposes(self.predictor.harness)
        own = [[index[f.lamp] for f in p.lamps if f.lamp in index] for p in self.predictor.harness.parts.values()]
        beams = [[i for i in lamps if purposes.get(self._names[i], frozenset()) & BEAMS] for lamps in own]
        return [lamps for lamps in [*own, *(b for b, whole in zip(beams, own, strict=True) if b != whole)]
                if len(lamps) > 1]

    def loglik(
        self, changes: Sequence[Change], evidence: Sequence[Evidence], alive: bool = False, shown: Shown | None = None
    ) -> Floats:
        """ln of the factor (A,) for what changes would make striking and nobody spoke of; 0 where nobody came with a
        complaint of his own. `alive`: somebody said that the vehicle cranks and runs as ever; `shown`: what was found
        of many of them already."""
        spoken = spoken_of(evidence, self._sayable)
        if not spoken.volunteered or not changes:
            return np.zeros(len(changes))
        also = {state for state, _ in spoken.complained}.difference(self._states)
        states = [*self._states, *sorted(also, key=repr)]  # in one order: what is solved together shares last digits
        found = (Shown(self._sayable, []) if shown is None else shown).looks(states, changes)
        panels, told = found[:len(self._states)], dict(zip(states, found, strict=True))
        least = self._least(told, spoken, len(changes))
        odd = self._odd(panels, least)
        silent = self._chosen(self._left_unsaid(panels, spoken, odd, self._meant(told, spoken, least)), spoken)
        for group, factor in self._half_told(panels, spoken, odd):
            silent += group * np.log(factor)
        silent = np.maximum(silent, np.log(MOST_SILENCE))
        out = odd & np.array([p.flux < LIT_ABOVE for p in panels])
        if alive:
            return np.asarray(silent + np.log(DEAD_DENIED) * self._everything(odd, spoken))
        return np.asarray(silent + np.log(DEAD_UNMENTIONED) * self._everything(out, spoken))

    def _chosen(self, unsaid: Floats, spoken: Spoken) -> Floats:
        """ln (A,) of the chance that of all that strikes just that was told which was; `unsaid` (A,): the weights of
        the rest."""
        told, out = [self._weight(state, lamps, spoken) for state, lamps in spoken.told], np.zeros(len(unsaid))
        for k in range(len(told)):
            left = sum(told) * (1 - k / len(told))
            out += np.log(left / (left + unsaid))
        return np.asarray(out + np.log(1 - GOES_ON * unsaid / (sum(told) + unsaid)))

    def _weight(self, state: VehicleState, lamps: frozenset[str], spoken: Spoken) -> float:
        """What was told, by how it strikes: one lamp that should be lit, or anything else."""
        index, usual = self.predictor.lamp_index, self.predictor.healthy(state).flux[0]
        if not lamps:  # of a lamp that was named for another, or of none at all
            return ALONE if any(where == state for where, _ in spoken.complained) else 1.0
        alone = len(lamps) == 1 and all(usual[index[n]] > _SHOULD_BE_DARK for n in lamps)
        return self._seldom.told(*lamps) if alone else 1.0

    def _left_unsaid(self, panels: Sequence[Panel], spoken: Spoken, odd: Bools, meant: Bools) -> Floats:
        """(A,) the weights of all that strikes and that nobody spoke of; `odd` as in `_odd`, `meant` in `_meant`."""
        lit = ~self._dark
        wrong = odd & lit[:, None]
        ever, whole = np.array(wrong.any(axis=0)), np.zeros(odd.shape[1:], dtype=bool)
        out = np.zeros(odd.shape[1])
        for lamps in self._functions(spoken):
            out += self._struck(_all_somewhere(lamps, odd, lit), lamps, whole) * (not self._named(lamps, spoken, lit))
        likes = _likes(spoken, self._sayable)
        for lamps in self._corners:
            some = [i for i in lamps if lit[:, i].any()]
            if len(some) > 1:
                struck = self._struck(np.array(ever[:, some].all(axis=1)), some, whole)
                out += struck * (self._named(some, spoken, lit) < 2 and not likes.issuperset(some))
        if not self._unasked_named(spoken):
            out += (self._shine(panels, odd) & self._seldom.looked_at).any(axis=(0, 2))
        if not spoken.fuses:
            out += _any(np.array([p.blown.any(axis=1) for p in panels]))
        for k, state in enumerate(self._states):
            wrong[k][:, [self.predictor.lamp_index[n] for s, n in spoken.beside if s == state]] = False
        alone = np.array(wrong.any(axis=0)) & ~whole & ~meant
        return np.asarray(out + alone @ self._seldom.untold(spoken.complained))

    def _struck(self, found: Bools, lamps: Sequence[int], whole: Bools) -> Bools:
        """(A,) as `found`; its lamps are noted in `whole` (A, lamps) as seen together."""
        whole[:, lamps] |= found[:, None]
        return found

    def _meant(self, told: Mapping[VehicleState, Panel], spoken: Spoken, least: Floats) -> Bools:
        """(A, lamps) which lamps were spoken of, or may have been meant: the like of one that was complained of, and
        those beside it, where nothing is wrong with that one itself. Several of one side are held against their likes
        as a whole (`_across`)."""
        index = self.predictor.lamp_index
        out = np.zeros((len(least), len(self._names)), dtype=bool)
        out[:, [index[n] for _, n in spoken.lamps - spoken.beside]] = True
        out[:, sorted(_likes(spoken, self._sayable))] = True
        for state, name in spoken.complained:
            lamp, other = index[name], self._sayable.mirror(index[name])
            mates = [*self._sayable.beside(lamp), *([] if other is None else [other])]
            out[:, mates] |= ~_looks_odd(told[state], self.predictor.healthy(state), least)[:, [lamp]]
        return out

    def _shine(self, panels: Sequence[Panel], odd: Bools) -> Bools:
        """(states, A, lamps) which lamps shine where they should be dark."""
        return np.asarray(np.array([p.flux > LIT_ABOVE for p in panels]) & odd & self._dark[:, None])

    def _half_told(self, panels: Sequence[Panel], spoken: Spoken, odd: Bools) -> Iterator[tuple[Bools, float]]:
        """(A,) for each group of which a part was told, whether all of it strikes, and its factor."""
        lit, one_side, corners = ~self._dark, dict[frozenset[str], Bools](), corners_told(spoken.told, self.predictor)
        for lamps in self._functions(spoken):
            named = self._named(lamps, spoken, lit)
            if named == 1:  # a corner was told of one side once, however many functions and sentences are in it
                own = {self._names[i] for i in lamps}
                told = next((c for c in corners if c & own), frozenset(own))
                one_side[told] = one_side.get(told, np.zeros(odd.shape[1], bool)) | _all_somewhere(lamps, odd, lit)
            elif named and (others := self._of_the_other(lamps, spoken, lit)):
                yield _all_somewhere(others, odd, lit), ONE_SIDE
            yield from ((both, ONE_SIDE) for both in self._across(lamps, odd, spoken))
        yield from ((both, ONE_SIDE) for both in one_side.values())
        yield from ((both, ONE_SIDE) for both in self._shines_beside(self._shine(panels, odd), spoken))
        yield self._met_earlier(odd, spoken, True), SHONE_EARLIER
        yield self._met_earlier(odd, spoken, False), MET_EARLIER

    def _shines_beside(self, shines: Bools, spoken: Spoken) -> Iterator[Bools]:
        """(A,) for each lamp that was told to shine where it should be dark, whether its like on the other side, or
        what hides behind that lens, does so as well in that state, of which nothing was said."""
        place = {state: k for k, state in enumerate(self._states)}
        for state, lamps in spoken.told:
            for name in lamps if state in place else ():
                other = self._sayable.mirror(self.predictor.lamp_index[name])
                if other is not None and (state, self._names[other]) not in spoken.lamps and (
                        self._dark[place[state], self.predictor.lamp_index[name]]):
                    yield np.array(shines[place[state]][:, [other, *self._sayable.lens(other)]].any(axis=1))

    def _across(self, lamps: Sequence[int], odd: Bools, spoken: Spoken) -> Iterator[Bools]:
        """(A,) for each symptom that tells of several `lamps`, all on one side, whether their likes on the other side
        are as odd in that state, of which nothing was said: who finds both sides out names no side."""
        place, index = {state: k for k, state in enumerate(self._states)}, self.predictor.lamp_index
        for state, names in spoken.told:
            own = {index[n] for n in names if index.get(n) in lamps}
            likes = {k for i in own if (k := self._sayable.mirror(i)) is not None}
            unsaid = not any((state, self._names[k]) in spoken.lamps for k in likes)
            if state in place and len(own) > 1 and len(likes) == len(own) and not likes & own and unsaid:
                yield np.array(odd[place[state]][:, sorted(likes)].all(axis=1))

    def _met_earlier(self, odd: Bools, spoken: Spoken, unasked: bool) -> Bools:
        """(A,) whether all that was told together of a state is odd with fewer controls moved as well, where the
        lamps should do the same, and nobody spoke of that. Whoever says left for right has met it as early, and
        so has who names the wrong filament behind a lens.
        `unasked`: of what shines where it should be dark."""
        rest, index = self.predictor.harness.state({}), self.predictor.lamp_index
        out = np.zeros(odd.shape[1], dtype=bool)
        for state, names in spoken.told:
            lamps, moved = [index[n] for n in names], _moved(state, rest)
            dark = self.predictor.healthy(state).flux[0] < _SHOULD_BE_DARK
            if not names or dark[lamps].any() != unasked:
                continue
            others = [{i, *([] if (k := self._sayable.mirror(i)) is None else [k])} for i in lamps]
            if unasked:  # which filament shines behind a lens is a guess
                others = [own | {*self._sayable.lens(i)} for own, i in zip(others, lamps, strict=True)]
            for k, earlier in enumerate(self._states):
                alike = self._alike_fed(earlier, state) and (self._dark[k, lamps] == dark[lamps]).all()
                if alike and _moved(earlier, rest) < moved and not any((earlier, n) in spoken.lamps for n in names):
                    early = [odd[k][:, [n for n in own if self._dark[k, n] == unasked]].any(axis=1) for own in others]
                    out |= np.array(early).all(axis=0)
        return out

    def _alike_fed(self, one: VehicleState, two: VehicleState) -> bool:
        """Whether all that is taken to be on (the ignition) stands alike: nobody says of it when it was on."""
        controls = self.predictor.harness.controls.items()
        return all(one[n] == two[n] for n, c in controls if c.assumed != c.positions[0])

    @cached_property
    def _dark(self) -> Bools:
        """(states, lamps) whether a lamp should be dark."""
        return np.array([self.predictor.healthy(s).flux[0] < _SHOULD_BE_DARK for s in self._states])

    def _odd(self, panels: Sequence[Panel], least: Floats) -> Bools:
        """(states, A, lamps) which lamps look otherwise than usual, by `least` (A,) decades."""
        sound = map(self.predictor.healthy, self._states)
        return np.array([_looks_odd(p, usual, least) for p, usual in zip(panels, sound, strict=True)])

    def _least(self, panels: Mapping[VehicleState, Panel], spoken: Spoken, count: int) -> Floats:
        """(A,), `count` of them: how far a lamp must differ to strike who complained of what he did."""
        least = np.full(count, _ODD)
        for state in dict.fromkeys(state for state, _ in spoken.dimmed):
            panel, usual = panels[state], self.predictor.healthy(state).flux[0]
            for lamp in (self.predictor.lamp_index[n] for s, n in spoken.dimmed if s == state):
                if usual[lamp] > _SHOULD_BE_DARK:
                    least = np.minimum(least, _apart(panel.flux[:, lamp], usual[lamp]))
        return np.asarray(np.maximum(least, _LEAST_ODD))

    def _of_the_other(self, lamps: Sequence[int], spoken: Spoken, lit: Bools) -> list[int]:
        """The lamps of the other vehicle, where those of one were named by its name: "both trailer stop lamps"."""
        named = [i for i in lamps if self._named([i], spoken, lit)]
        others = [i for i in lamps if i not in named]
        words = {i: {*self._names[i].split()} for i in lamps}
        own = set.intersection(*[words[i] for i in named]) - _PLACES
        return others if len(others) > 1 and own - set().union(*[words[i] for i in others]) else []

    def _named(self, lamps: Sequence[int], spoken: Spoken, lit: Bools) -> int:
        """How many of some lamps were spoken of in a state in which they should be lit."""
        named = {i for i in lamps for state, name in spoken.lamps
                 if name == self._names[i] and float(self.predictor.healthy(state).flux[0, i]) >= _SHOULD_BE_DARK}
        return len(named)

    def _unasked_named(self, spoken: Spoken) -> bool:
        index = self.predictor.lamp_index
        return any(
            name in index and float(self.predictor.healthy(state).flux[0, index[name]]) < _SHOULD_BE_DARK
            for state, name in spoken.lamps
        )

    def _everything(self, odd: Bools, spoken: Spoken) -> Bools:
        """(A,) whether nothing is but so, unless lamps of two functions were spoken of as one complaint."""
        lit = ~self._dark
        functions = sum(self._named(lamps, spoken, lit) > 1 for lamps in [*self._functions(spoken), self._for_else])
        count = int(lit.sum())
        if functions > 1 or not count:
            return np.zeros(odd.shape[1], dtype=bool)
        return np.asarray((odd & lit[:, None]).sum(axis=(0, 2)) > _NEARLY_ALL * count)


def _likes(spoken: Spoken, sayable: Sayable) -> set[int]:
    """The likes on the other side of lamps of which several were told together."""
    index = sayable.predictor.lamp_index
    found = (sayable.mirror(index[n]) for _, lamps in spoken.told if len(lamps) > 1 for n in lamps)
    return {k for k in found if k is not None}


def _moved(state: VehicleState, rest: VehicleState) -> frozenset[tuple[str, str]]:
    """The controls that stand otherwise than at rest. That the engine ran is said of the whole, and not of when."""
    return frozenset(state.positions) - frozenset(rest.positions)


def _apart(flux: Floats, usual: Floats) -> Floats:
    """Decades of light between two, as far as anybody sees them."""
    return np.asarray(np.abs(np.maximum(flux, _NEVER_SEEN) - np.maximum(usual, _NEVER_SEEN)))


def _looks_odd(panel: Panel, sound: Panel, least: Floats) -> Bools:
    """(A, lamps) which look otherwise than on a sound vehicle, by `least` (A,) decades, or no longer flash."""
    apart = _apart(panel.flux, sound.flux[0]) > least[:, None] - _AS_MUCH
    return np.asarray(apart | (_flashes(sound) & ~_flashes(panel)))


def _flashes(panel: Panel) -> Bools:
    """(A, lamps) which of them go on and off."""
    return np.asarray(panel.flux - panel.least > VARIES)


def _all_somewhere(lamps: Sequence[int], odd: Bools, lit: Bools) -> Bools:
    """(A,) whether in some state all of these lamps that should be lit there, two or more, are odd."""
    wanted = [[i for i in lamps if there[i]] for there in lit]
    every = [odd[k][:, w].all(axis=1) for k, w in enumerate(wanted) if len(w) > 1]
    return _any(np.array(every, dtype=bool).reshape(-1, odd.shape[1]))


def _any(found: Bools) -> Bools:
    """(A,) in any of the rows."""
    return np.asarray(found.any(axis=0), dtype=bool)
