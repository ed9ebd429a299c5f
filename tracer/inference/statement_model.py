"""How likely it is that somebody comes with a statement: evidence that was volunteered, and not asked for.

Of all that can be said of a vehicle somebody chose this. What is striking under a hypothesis is told truly, or with
a slip that has a shape: a neighbouring word, the same lamp on the other side, the lamp beside it in the unit,
another state of the controls, another fuse. What has nothing behind it is one of the hundreds of statements that
could be made: a false one is as rare as any other of them. So a complaint that a hypothesis does not explain costs it
far more than a wrong look costs: there the question chose the lamp, and only the word could be wrong.

What is odd under h gives rise to one statement each: with 1 − ε it is told as it looks, P(word | light); with
ε_shape as that shape puts it; with ε_rest it is any of the N statements that could be made, each 1/N. For each odd
thing this sums to one over all statements. Which of the odd things are told is `silence`'s.

The shares of slips are judgement: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import OPEN_OHM, Change, Floats
from tracer.harness.lamp_purposes import BEAMS, lamp_purposes, other_side
from tracer.harness.model import VehicleState
from tracer.inference.counted_lamps import either_way
from tracer.inference.hypotheses import basic_states
from tracer.inference.lens_light import lenses, looked_at, seen_as_one
from tracer.inference.likelihood import compared_loglik, flash_probabilities, relay_loglik
from tracer.inference.load_likelihood import load_does
from tracer.inference.meant_states import LIT_ABOVE, MeantStates
from tracer.inference.pulsing_lamps import by_phases
from tracer.inference.repeated_judgements import Masks
from tracer.inference.word_model import LIT_IS_CALLED, Eye, likely_word
from tracer.observation.evidence import (
    LIT,
    WORDS,
    Compared,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    RelaySeen,
    Seen,
    Symptom,
)
from tracer.observation.forward_model import Panel, Predictor

# Of a hundred things told, so many are told with …
NEAR_WORD: Final = 0.03  # … the neighbouring word: dim for faint
# … of these for dark, unless another lamp shines behind that lens: who says "glows" has seen light. Of 17 published
# cases with lamps without any (R01, R07, R13, R19, R21, R25, R29, R31, R33, R35, R37, R43, R45, R47, C01, C07, C11)
# all were told as dark: by the rule of succession one in 19 at most, which leaves room for this and for much more.
LIGHT_IMAGINED: Final = 1 / 5
OTHER_SIDE: Final = 0.02  # … left for right
BESIDE: Final = 0.02  # … the lamp beside it in the unit
OTHER_STATE: Final = 0.02  # … a control told wrongly: the lights were on as well
OTHER_FUSE: Final = 0.03  # … another fuse's number
FUSE_TOLD: Final = 1 - OTHER_FUSE - OTHER_STATE
REST: Final = 0.01  # and so many statements have nothing behind them at all
BLOWN_EARLIER: Final = 0.1  # … a fuse that blows at rest already is told to blow with what is switched on
FUSE_IMAGINED: Final = 0.03  # that a fuse blew, so many times as seldom as that a lamp looks wrong
# Which filament behind one lens shines where none should is a guess: so often it is called by the name of another.
LENS_NAME: Final = 0.3
# "Lit", "comes on", "stays on" of a lamp that should be dark: whoever sees it glow or burn dimly mostly says just so.
LIT_SAID: Final = ((LIT_IS_CALLED, 1.0), (frozenset({"dim"}), 0.6), (frozenset({"faint"}), 0.3))
DOUBTS: Final = 3.0  # "perhaps": all slips are so many times as likely
VARIES: Final = 0.5  # decades between the phases of a lamp that is said to flash

PanelOf = Callable[[VehicleState], Panel]
Blows = Callable[[str, VehicleState, bool], Floats]  # fuse, state, found blown once


class _Shapes(Struct, frozen=True):
    """Where a slip may have put what was told of each lamp: its like on the other side, those beside it."""

    mirror: Mapping[int, int]
    beside: Mapping[int, tuple[int, ...]]
    lens: Mapping[int, tuple[int, ...]]  # others behind the same lens, in the same colour
    as_one: Mapping[int, tuple[int, ...]]  # … of no beam: nobody takes the side lamp in a headlamp for one


class Sayable:
    """All that could be said of one vehicle.

    Attributes:
        count: How many complaints there are: each lamp in each basic state called otherwise than usual, each fuse
            that blows in each of them, each relay or load that does otherwise.
        meant: Which state was meant where a control was told wrongly.
    """

    def __init__(self, predictor: Predictor) -> None:
        self.predictor, self.harness = predictor, predictor.harness
        self.states = basic_states(predictor.harness)
        words = 0
        predictor.know(self.states)
        for state in self.states:
            usual = predictor.healthy(state).flux[0]
            # Where a lamp should be dark, "normal" and "bright" are one word.
            words += sum(3 if likely_word(float(x)) == "dark" else len(WORDS) - 1 for x in usual)
        self.count = words + len(self.states) * (
            len(predictor.fuses) + len(predictor.loads) + 2 * len(predictor.relays)
        )
        self.meant = MeantStates(predictor, self.states)
        self._shapes = self._found()
        self._fed: dict[str, frozenset[str]] = {}

    def _found(self) -> _Shapes:
        index = self.predictor.lamp_index
        mirror = {i: index[other_side(n)] for n, i in index.items() if other_side(n) != n and other_side(n) in index}
        beside: dict[int, tuple[int, ...]] = {}
        for part in self.harness.parts.values():
            own = [index[f.lamp] for f in part.lamps if f.lamp in index]
            beside |= {i: tuple(k for k in own if k != i) for i in own if len(own) > 1}
        return _Shapes(mirror, beside, lenses(self.predictor), seen_as_one(self.predictor))

    def lens(self, lamp: int) -> tuple[int, ...]:
        """The other lamps behind its lens that shine in its colour."""
        return self._shapes.lens.get(lamp, ())

    def seen_as_one(self, lamp: int) -> tuple[int, ...]:
        """Those of `lens` whose light is taken for its own."""
        return self._shapes.as_one.get(lamp, ())

    def at_random(self, seen: Seen) -> float:
        """Probability of a complaint that has nothing behind it: one of all, but a fuse is held in the hand."""
        if isinstance(seen, LensSeen):
            return sum(self.at_random(look) for look in seen.looks)
        if isinstance(seen, FuseSeen):
            return FUSE_IMAGINED / self.count
        many = len(seen.words) if isinstance(seen, LampSeen) and not seen.words <= LIT_IS_CALLED else 1
        return many / self.count

    def mirror(self, lamp: int) -> int | None:
        return self._shapes.mirror.get(lamp)

    def beside(self, lamp: int) -> tuple[int, ...]:
        return self._shapes.beside.get(lamp, ())

    def behind_one_lens(self, lamp: str) -> list[str]:
        """Names of the other lamps behind its lens that shine in its colour."""
        own = self.predictor.lamp_index.get(lamp)
        return [] if own is None else [self.predictor.lamps[k].lamp for k in self.lens(own)]

    def beams_meant_by(self, lamp: str) -> list[str]:
        """Names of the other beams of a headlamp whose dipped beam is complained of: "the headlamp" is taken to speak
        of that, and may mean both. Whoever speaks of the main beam means just that."""
        purposes = lamp_purposes(self.harness)
        mates = self.behind_one_lens(lamp) if "dipped" in purposes.get(lamp, frozenset()) else []
        return [m for m in mates if purposes[m] & BEAMS]

    def fed_by(self, fuse: str) -> frozenset[str]:
        """The lamps that are dark without a fuse and should be lit, in any of the basic states."""
        if fuse not in self._fed:
            out = Change(set_ohm=((f"{fuse} link", OPEN_OHM),))
            table = self.predictor.table([out])
            panels = self.predictor.looks([(self.predictor.setup(s), table) for s in self.states])
            self._fed[fuse] = frozenset(
                f.lamp for state, panel in zip(self.states, panels, strict=True)
                for k, f in enumerate(self.predictor.lamps)
                if self.predictor.healthy(state).flux[0, k] > LIT_ABOVE > panel.flux[0, k]
            )
        return self._fed[fuse]

    def uses(self, fuse: str) -> list[VehicleState]:
        """The fewest basic states in which every lamp that hangs on a fuse is lit, each once."""
        left = {self.predictor.lamp_index[lamp] for lamp in self.fed_by(fuse)}
        found = []
        for state in self.states:
            lit = {k for k in left if self.predictor.healthy(state).flux[0, k] > LIT_ABOVE}
            if lit:
                found.append(state)
                left -= lit
        return found

    def used_in(self, fuse: str) -> VehicleState | None:
        """The first basic state in which a lamp that hangs on a fuse is lit."""
        return next(iter(self.uses(fuse)), None)

    def complains(self, seen: Seen, state: VehicleState) -> bool:
        """Whether it says that something is not as it should be."""
        healthy = self.predictor.healthy(state)
        match seen:
            case LampSeen():
                lamp = self.predictor.lamp_index[seen.lamp]
                if seen.amiss or likely_word(float(healthy.flux[0, lamp])) not in seen.words:
                    return True
                flashes = float(healthy.flux[0, lamp] - healthy.least[0, lamp]) > VARIES
                return seen.flash not in (None, "flashing" if flashes else "steady")
            case LensSeen():
                return all(self.complains(look, state) for look in seen.looks)
            case LoadSeen():
                return not bool(load_does(healthy, self.predictor, seen)[0])
            case FuseSeen():
                return seen.blown
            case Compared():
                return seen.how != "alike"
            case RelaySeen():
                usual = [float(relay_loglik(healthy, self.predictor, RelaySeen(seen.relay, d))[0])
                         for d in ("clicks", "silent", "buzzes")]
                return float(relay_loglik(healthy, self.predictor, seen)[0]) < max(usual)


def _coarse(words: frozenset[str], usual: str, again: bool) -> Sequence[tuple[frozenset[str], float]]:
    """Sets of words that what was said stands for, and how often each is put so; `again`: by who did so before."""
    return LIT_SAID if words == LIT and usual == "dark" and not again else ((words, 1.0),)


class Volunteer:
    """What somebody who came unasked may say of the lamps, fuses and relays in one state.

    Asked of hypotheses by their panels, (A,) each.
    """

    def __init__(
        self, sayable: Sayable, item: Symptom, panel_of: PanelOf, blows: Blows, again: frozenset[str] = frozenset()
    ) -> None:
        """`blows`: probability (A,) that a fuse is told to blow in a state, as in `Shown.blows`. `again`: lamps of
        which it is said that they are lit in the words in which that was said of others."""
        self._again = again
        self._sayable, self._item, self._panel_of, self._blows = sayable, item, panel_of, blows
        self._predictor = sayable.predictor
        self._slips: dict[Seen, Floats] = {}

    def loglik(self, seen: Seen, eye: Eye, before: Masks | None) -> Floats:
        """ln probability (A,) of one complaint; `before` (A, lamps) as in `Eye.calls`."""
        p = self._true(seen, eye, before)
        if seen not in self._slips:  # where nothing is behind it no eye differs
            self._slips[seen] = self._by_slip(seen)
        worse = DOUBTS if getattr(seen, "doubtful", False) else 1.0
        sure = 1 - worse * (1 - (FUSE_TOLD if isinstance(seen, FuseSeen) else 1 - _LAMP_SLIPS))
        rest = worse * REST * self._sayable.at_random(seen)
        panel = self._panel_of(self._item.state)
        return np.asarray(np.log(np.where(panel.usable, sure * p + worse * self._slips[seen], 0.0) + rest))

    def _true(self, seen: Seen, eye: Eye, before: Masks | None) -> Floats:
        panel = self._panel_of(self._item.state)
        match seen:
            case LampSeen():
                lamp = self._predictor.lamp_index[seen.lamp]
                again = None if before is None or seen.doubtful else before[:, lamp]
                return self._through_lens(seen, lamp, eye, again)
            case FuseSeen():
                return self._blowing(seen.fuse, self._item.state, seen)
            case LensSeen():
                own = [self._true(look, eye, before) for look in seen.looks]
                return np.asarray(1 - np.prod([1 - p for p in own], axis=0))
            case LoadSeen():
                return np.asarray(load_does(panel, self._predictor, seen), dtype=np.float64)
            case Compared():
                found, usual = (np.exp(compared_loglik(p, self._predictor, seen)) for p in (panel, self._sound()))
                return np.where(found > usual, found, 0.0)
            case RelaySeen():
                found, usual = (np.exp(relay_loglik(p, self._predictor, seen)) for p in (panel, self._sound()))
                return np.where(found > usual, found, 0.0)

    def _through_lens(self, seen: LampSeen, lamp: int, eye: Eye, again: Masks | None) -> Floats:
        """(A,) as `_called`. Of what shines behind a lens where it should be dark, the name is a guess."""
        p = self._called(seen, lamp, self._item.state, eye, again)
        usual = self._sound().flux[0]
        mates = [k for k in self._sayable.lens(lamp) if likely_word(float(usual[k])) == "dark"]
        if not mates or "dark" in seen.words or likely_word(float(usual[lamp])) != "dark":
            return p
        others = [self._called(seen, k, self._item.state, eye) for k in mates]
        return np.asarray((1 - LENS_NAME) * p + LENS_NAME * np.mean(others, axis=0))

    def _sound(self) -> Panel:
        return self._predictor.healthy(self._item.state)

    def _called(
        self, seen: LampSeen, lamp: int, state: VehicleState, eye: Eye, before: Masks | None = None
    ) -> Floats:
        """Probability (A,) that a lamp in a state is called so where that is a complaint of it, else 0."""
        about = LampSeen(self._predictor.lamps[lamp].lamp, seen.words, seen.flash)
        if not self._sayable.complains(about, state):  # then that state need not be solved
            return np.zeros(len(self._panel_of(self._item.state).flux))
        panel, healthy = self._panel_of(state), self._predictor.healthy(state)
        usual = float(healthy.flux[0, lamp])
        alone = usual > LIT_ABOVE and len(self._item.seen) == 1
        mates = self._sayable.seen_as_one(lamp) if alone else ()
        p = np.zeros(len(panel.flux))
        for chance, own in either_way(panel, healthy, self._predictor, lamp):
            looks = looked_at(own, healthy, self._predictor, lamp, mates)
            for words, share in _coarse(seen.words, likely_word(usual), seen.lamp in self._again):
                calls = partial(eye.calls, words=words, slip=0.0, usual=usual, before=before)
                for by, light, at in looks:
                    plain = seen.flash is None and light is own
                    called = by_phases(own, lamp, healthy, calls, True) if plain else calls(light.flux[:, at])
                    if seen.flash is not None and self._predictor.flasher is not None:
                        called = called * self._flashes_oddly(light, at, healthy, lamp, seen)
                    p = p + chance * share * by * called
        return p

    def _flashes_oddly(self, panel: Panel, at: int, healthy: Panel, lamp: int, seen: LampSeen) -> Floats:
        """Probability (A,) that somebody comes with it that a lamp, `at` its place in the panel, flashes so: as far
        as he would not say that of the sound vehicle, whose rate some call fast or slow if they are asked."""
        assert seen.flash is not None
        electronic, flash = self._predictor.electronic, seen.flash
        found, usual = (flash_probabilities(p, k, electronic, surely=True)[flash]
                        for p, k in ((panel, at), (healthy, lamp)))
        if likely_word(float(healthy.flux[0, lamp])) not in seen.words:  # it is the light that is complained of
            return found
        return np.asarray(np.maximum(found - usual, 0.0) / np.maximum(1 - usual, 1e-9))

    def _by_slip(self, seen: Seen) -> Floats:
        """(A,) probability that it is said of something else that is odd; without what has nothing behind it."""
        eye, state = Eye(0.0, self._item.light), self._item.state
        if isinstance(seen, FuseSeen):
            return self._other_fuse(seen)
        if isinstance(seen, LensSeen):
            return np.asarray(np.mean([self._by_slip(look) for look in seen.looks], axis=0))
        if not isinstance(seen, LampSeen):
            return np.zeros(len(self._panel_of(state).flux))
        lamp = self._predictor.lamp_index[seen.lamp]
        # Of a lamp that should be dark and is called so nothing is near: it is another's, or another state's.
        p = 0.0 if seen.amiss else NEAR_WORD * self._near(seen, lamp, eye)
        p = p + sum((meant for _, meant in self.of_another(seen)), np.zeros(len(self._panel_of(state).flux)))
        for s, share in self._sayable.meant.states(state, lamp if seen.amiss else None):
            p = p + OTHER_STATE * share * self._called(seen, lamp, s, eye)
        return np.asarray(p)

    def of_another(self, seen: LampSeen) -> list[tuple[int, Floats]]:
        """Each other lamp that may be meant, its like on the other side and those beside it in the unit, with the
        probability (A,) that this is said of it."""
        eye, state = Eye(0.0, self._item.light), self._item.state
        lamp = self._predictor.lamp_index[seen.lamp]
        other, beside = self._sayable.mirror(lamp), self._sayable.beside(lamp)
        shares = ([] if other is None else [(other, OTHER_SIDE)]) + [(k, BESIDE / len(beside)) for k in beside]
        return [(k, x * self._called(seen, k, state, eye)) for k, x in shares if not self._told(k, seen)]

    def _told(self, lamp: int, seen: LampSeen) -> bool:
        """Whether the same was told of that lamp itself: what is odd there gave rise to one statement, not to two."""
        name = self._predictor.lamps[lamp].lamp
        return any(isinstance(s, LampSeen) and s.lamp == name and s.words & seen.words for s in self._item.seen)

    def _near(self, seen: LampSeen, lamp: int, eye: Eye) -> Floats:
        """(A,) probability that the lamp deserves a word beside one that was said; its usual one is no complaint."""
        usual = likely_word(float(self._sound().flux[0, lamp]))
        flux = self._panel_of(self._item.state).flux
        stray = (flux[:, [*self._sayable.seen_as_one(lamp)]] > LIT_ABOVE).any(axis=1)
        imagined = np.where(stray, 1.0, LIGHT_IMAGINED)
        total = np.zeros(len(flux))
        for k, word in enumerate(WORDS):
            beside = [WORDS[n] for n in (k - 1, k + 1) if 0 <= n < len(WORDS)]
            share = sum(w in seen.words for w in beside) / len(beside)
            if word == usual or word in seen.words or not share:
                continue
            about = LampSeen(seen.lamp, frozenset({word}), seen.flash)
            called = self._called(about, lamp, self._item.state, eye)
            total = total + share * (called * imagined if word == "dark" else called)
        return total

    def _blowing(self, fuse: str, state: VehicleState, seen: FuseSeen) -> Floats:
        """(A,) probability that a fuse is told to blow in a state. What blows it as soon as it is fitted, with
        nothing else switched on, is seldom told as "when I brake"; where nobody said when, it does in any use."""
        p, rest = self._blows(fuse, state, seen.once), self._sayable.harness.state({}, state.engine_running)
        if seen.whenever and not seen.once:
            used = [self._blows(fuse, s, False) for s in self._sayable.uses(fuse)]
            return np.asarray(np.maximum.reduce([p, *used]))
        if seen.once or not seen.blown or state == rest:
            return p
        return np.asarray(p * (1 - (1 - BLOWN_EARLIER) * self._blows(fuse, rest, False)))

    def _other_fuse(self, seen: FuseSeen) -> Floats:
        state, others = self._item.state, [f for f in self._predictor.fuses if f != seen.fuse]
        p = np.zeros(len(self._panel_of(state).flux))
        for f in others:
            p = p + OTHER_FUSE / len(others) * self._blowing(f, state, seen)
        for s, share in self._sayable.meant.states(state):
            p = p + OTHER_STATE * share * self._blowing(seen.fuse, s, seen)
        return np.asarray(p, dtype=np.float64)


_LAMP_SLIPS: Final = NEAR_WORD + OTHER_SIDE + BESIDE + OTHER_STATE
