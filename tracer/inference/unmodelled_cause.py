"""How likely all that was seen is if the cause is something that the harness file does not describe.

Nobody knows what such a cause does. But it stands in the same vehicle and is seen by the same people: it touches some
of the lamps, nobody knows which or how many, and those show anything now and then; all other lamps are as on a sound
vehicle, and what is said of them otherwise is a slip, as it is under every described fault. So the share of "not
described" grows with each thing that no described fault explains; but to have one lamp after the other at odds, each
once, is no better an explanation than a person who errs now and then. And who comes unasked is as silent on it as on
what is described (`silence`): if it touched twice as many lamps as he spoke of, and twice as many again, that would
have struck him each time.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.model import VehicleState
from tracer.inference.likelihood import (
    ONLY_OF_ANYTHING,
    OTHERS_LOOKED_AT,
    SOMETIMES_OF_LASTING,
    lamp_loglik,
    other_loglik,
    undescribed_loglik,
    undescribed_seen,
)
from tracer.inference.silence import MOST_SILENCE, UNMENTIONED
from tracer.inference.statement_model import REST, Sayable
from tracer.inference.word_model import CARELESS_SHARE, CARELESS_SLIP, at_random, usual_word
from tracer.observation.evidence import Evidence, LampSeen, LensSeen, Light, Symptom

# Share of the lamps that it touches, with weights: that it touches all of them, and a short list of complaints pays
# nothing for the choice of its lamps, is rare, since then more would be told. (No source; in a list that speaks of
# many lamps the likelihood decides between these.)
TOUCHED: Final = np.array([1.0, 0.3, 0.1, 0.03])
TOUCHED_WEIGHTS: Final = np.array([0.1, 0.3, 0.3, 0.3])
# Share of the states in which a lamp that it touches shows anything, and not just what it should; one as likely as
# the other.
AT_ODDS: Final = np.array([1.0, 0.3])
# How likely it is that what it does is a fuse that blows or a relay that does otherwise, any of them. (Judgement.)
ELSE_COMPLAINED: Final = 0.02
_OBSERVERS = np.log([1 - CARELESS_SHARE, CARELESS_SHARE])


class Undescribed:
    """The evidence so far under "not described by the harness file"."""

    def __init__(self, sayable: Sayable) -> None:
        self._sayable = sayable
        self._predictor = predictor = sayable.predictor
        lamps = len(predictor.lamps)
        # ln probability of what was said of each lamp: by a careful and a careless person if it is not touched (2,
        # lamps), and if it is touched, at each of AT_ODDS (2, lamps); of what no lamp has to do with, (2,).
        self._sound, self._touched = np.zeros((2, lamps)), np.zeros((len(AT_ODDS), lamps))
        self._else = np.zeros(2)
        self._complained: set[str] = set()  # lamps that somebody complained of unasked
        self._others: dict[tuple[VehicleState, Light], Floats] = {}
        self._level = 0.0

    def weigh(self, item: Evidence) -> float:
        """ln probability of a piece of evidence, given those before it."""
        if isinstance(item, Symptom):
            for seen in item.seen:
                unasked = not item.asked and self._sayable.complains(seen, item.state)
                look = seen.looks[0] if unasked and isinstance(seen, LensSeen) else seen
                if isinstance(look, LampSeen):
                    if unasked and look.flash is None:  # a rate is the flasher's, and there is one of it
                        self._complained.add(look.lamp)
                    self._look(look, item.state, item.light, unasked)
                elif unasked:
                    self._else += np.log(ELSE_COMPLAINED / self._others_sayable())
                else:
                    self._else += undescribed_seen(seen, item.state, self._predictor)
            self._else += ONLY_OF_ANYTHING * len(item.only)
            if item.others_normal:
                self._rest(item)
        elif item.test.row.of_lamps and item.value.seen is not None and not item.test.done:
            self._look(item.value.seen, item.test.state)
        else:
            self._else += undescribed_loglik(item, self._predictor)
        before, self._level = self._level, self._sum()
        return self._level - before

    def _others_sayable(self) -> int:
        """How many fuses and relays can be complained of."""
        return max(len(self._predictor.fuses) + 2 * len(self._predictor.relays), 1)

    def _look(self, seen: LampSeen, state: VehicleState, light: Light = "", unasked: bool = False) -> None:
        """`unasked`: a complaint that nobody asked for; of a lamp that is not touched it has nothing behind it."""
        lamp, healthy = self._predictor.lamp_index[seen.lamp], self._predictor.healthy(state)
        if unasked:
            at_random = self._sayable.at_random(seen)
            self._sound[:, lamp] += np.log([REST * at_random, (REST + CARELESS_SLIP) * at_random])
            anything = np.exp(undescribed_seen(seen, state, self._predictor))
            self._touched[:, lamp] += np.log((1 - AT_ODDS) * REST * at_random + AT_ODDS * anything)
            return
        p = np.exp(lamp_loglik(healthy, self._predictor, seen, healthy)[0]) * SOMETIMES_OF_LASTING**seen.sometimes
        anything = np.exp(undescribed_seen(seen, state, self._predictor))
        self._sound[:, lamp] += np.log([p, (1 - CARELESS_SLIP) * p + CARELESS_SLIP * anything])
        self._touched[:, lamp] += np.log((1 - AT_ODDS) * p + AT_ODDS * anything)

    def _rest(self, item: Symptom) -> None:
        """Everything else normal."""
        predictor, key = self._predictor, (item.state, item.light)
        if key not in self._others:
            healthy = predictor.healthy(item.state)
            self._others[key] = np.array([
                other_loglik(healthy, healthy, predictor, i)[0] for i in range(len(predictor.lamps))
            ])
        named = item.lamps_named()
        rest = [i for i, f in enumerate(predictor.lamps) if f.lamp not in named]
        usual = self._others[key][rest]
        self._sound[:, rest] += usual
        self._else[1] += np.log(1 - CARELESS_SLIP)
        words = usual_word(predictor.healthy(item.state).flux[0, rest])
        anything = 1 - OTHERS_LOOKED_AT + OTHERS_LOOKED_AT * at_random(words.astype(np.uint8), words)
        self._touched[:, rest] += np.log((1 - AT_ODDS[:, None]) * np.exp(usual) + AT_ODDS[:, None] * anything)

    def _sum(self) -> float:
        touched = np.logaddexp.reduce(self._touched, axis=0) - np.log(len(AT_ODDS))
        with np.errstate(divide="ignore"):
            left = np.log(1 - TOUCHED)[:, None, None] + self._sound
        lamps = np.logaddexp(left, np.log(TOUCHED)[:, None, None] + touched).sum(axis=2)
        weight = np.log(TOUCHED_WEIGHTS) + self._unsaid()
        return float(np.logaddexp.reduce((weight[:, None] + lamps + (_OBSERVERS + self._else)[None]).ravel()))

    def _unsaid(self) -> Floats:
        """ln of what it costs, at each of TOUCHED, that no more lamps were spoken of."""
        if not self._complained:
            return np.zeros(len(TOUCHED))
        times = TOUCHED * len(self._predictor.lamps) / (2 * len(self._complained))
        doublings = np.log2(np.maximum(times, 1.0))
        return np.asarray(np.maximum(doublings * np.log(UNMENTIONED), np.log(MOST_SILENCE)))
