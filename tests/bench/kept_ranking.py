"""All single faults of one vehicle ranked for case after case, from likelihoods that are worked out once.

Every fault is simulated once in every state. What a lamp's look says about it is then a row of numbers that is kept
by state, lamp, look and observer; a case adds such rows. This gives what `Investigator.diagnose(…, pairs=False)`
gives, some hundred times faster; the bench checks that (`--check`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from tracer.circuit.model import NO_CHANGE, Change, Floats, Ints
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.model import Harness, VehicleState
from tracer.inference.bayes import posterior
from tracer.inference.diagnose import Investigator
from tracer.inference.likelihood import (
    OTHERS_FLOOR,
    OTHERS_LOOKED_AT,
    as_meant,
    carelessly,
    flash_probabilities,
    note_said,
    slip_of,
    undescribed_loglik,
    word_at_random,
)
from tracer.inference.repeated_judgements import Masks, SaidBefore, cells_of, mask_of
from tracer.inference.shown import Shown as ShownNow
from tracer.inference.unmodelled_cause import Undescribed
from tracer.inference.weighing import HOPELESS
from tracer.inference.word_model import (
    CARELESS_SHARE,
    SHIFT_WEIGHTS,
    SHIFTS,
    UNSHIFTED,
    WORD_SLIP,
    Eye,
    by_habit,
    grid_place,
    known_again,
    likely_words,
    sticking,
)
from tracer.observation.evidence import WORDS, Flash, LampSeen, Symptom
from tracer.observation.forward_model import Panel, Predictor

OBSERVERS = np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)
# A look's code is the index of its word in WORDS times len(FLASHES), plus an index in FLASHES.
FLASHES: Final[tuple[Flash | None, ...]] = (None, "flashing", "slow", "fast", "steady")


def seen_as(lamp: str, look: int) -> LampSeen:
    word, flash = divmod(int(look), len(FLASHES))
    return LampSeen(lamp, frozenset([WORDS[word]]), FLASHES[flash])


@dataclass(frozen=True)
class Weighed:
    """The singles weighed: share (H,) of each row, share of "not described", ln likelihood (H,) of all evidence."""

    share: Floats
    undescribed: float
    loglik: Floats


class Searching(Investigator):
    """An investigator that takes the panels of the single faults from where they are kept."""

    def __init__(self, kept: KeptRanking) -> None:
        super().__init__(kept.harness)
        self.predictor = kept.predictor
        self._kept = kept
        self._singles = kept.singles

    def shown(self, changes: Sequence[Change]) -> ShownNow:
        """What changes show: of all singles what is kept."""
        return _KeptShown(self, changes) if len(changes) == self._kept.healthy else super().shown(changes)


class _KeptShown(ShownNow):
    """What all single faults show in the states that are kept."""

    def __init__(self, searching: Searching, changes: Sequence[Change]) -> None:
        super().__init__(searching.sayable, changes)
        self._kept = searching._kept

    def _solve(self, state: VehicleState) -> Panel:
        return self._kept.panels_of(state, self.active)


class KeptRanking:
    """Every single fault of a harness simulated in some states.

    Attributes:
        change_of: (H,) index of each single's change; `healthy` is that of the sound vehicle.
        looks: (changes, states × lamps) how every lamp looks.
        alike: (changes,) number of the set of changes that look the same in all states.
    """

    def __init__(self, harness: Harness, states: Sequence[VehicleState]) -> None:
        self.harness, self.states = harness, list(states)
        self.investigator = Investigator(harness)
        self.predictor = self.investigator.predictor
        self.singles = self.investigator.singles
        index: dict[Change, int] = {}
        self.change_of = np.array([index.setdefault(h.change, len(index)) for h in self.singles], dtype=np.intp)
        self.healthy = index.setdefault(NO_CHANGE, len(index))
        self.prior = np.array([h.prior for h in self.singles])
        self.lamps = [f.lamp for f in self.predictor.lamps]
        table = self.predictor.table(list(index))
        self.panels = [self.predictor.panel(self.predictor.setup(s), table) for s in self.states]
        self._number: dict[bytes, int] = {}
        self.looks = np.hstack([self.say(p) for p in self.panels])
        self.alike = np.array([self._alike(row) for row in self.looks], dtype=np.intp)
        self._known = {change: int(self.alike[k]) for change, k in index.items()}
        self._known_looks = {change: self.looks[k] for change, k in index.items()}
        repairs: dict[str, int] = {}
        self.repair_of = np.array([repairs.setdefault(h.repair, len(repairs)) for h in self.singles], dtype=np.intp)
        by_repair = np.argsort(self.repair_of, kind="stable")
        self._rows_of = np.split(by_repair, np.flatnonzero(np.diff(self.repair_of[by_repair])) + 1)
        self._place = {s: k for k, s in enumerate(self.states)}
        self._shown: dict[int, Shown] = {}
        self._looks: dict[tuple[int, LampSeen], Floats] = {}
        self._rest: dict[tuple[int, frozenset[str]], Floats] = {}

    # How things look.

    def say(self, panel: Panel) -> Ints:
        """Each lamp's look (H, lamps), as a code."""
        out = likely_words(panel.flux) * len(FLASHES)
        if self.predictor.flasher is None:
            return np.asarray(out)
        for i in range(len(self.lamps)):
            chance = flash_probabilities(panel, i, self.predictor.electronic)
            flashing = chance["flashing"] >= 0.5
            slow, fast = (chance[r] > 0.5 * chance["flashing"] for r in ("slow", "fast"))
            steady = ~np.isnan(panel.load) & (panel.flux[:, i] - panel.least[:, i] > 0.3)
            code = np.where(flashing, np.where(slow, 2, np.where(fast, 3, 1)), np.where(steady, 4, 0))
            out[:, i] += np.where(out[:, i] > 0, code, 0)
        return np.asarray(out)

    def _alike(self, looks: Ints) -> int:
        return self._number.setdefault(looks.astype(np.int8).tobytes(), len(self._number))

    def alike_of(self, changes: Sequence[Change]) -> list[int]:
        """Numbers of the sets that look the same, for any changes; those not known are simulated together."""
        new = [c for c in dict.fromkeys(changes) if c not in self._known]
        if new:
            table = self.predictor.table(new)
            looks = np.hstack([self.say(self.predictor.panel(self.predictor.setup(s), table)) for s in self.states])
            self._known_looks |= dict(zip(new, looks, strict=True))
            self._known |= {c: self._alike(row) for c, row in zip(new, looks, strict=True)}
        return [self._known[c] for c in changes]

    def looks_of(self, change: Change) -> Ints:
        """(states × lamps,) codes."""
        self.alike_of([change])
        return np.asarray(self._known_looks[change], dtype=np.intp)

    def panels_of(self, state: VehicleState, changes: Ints) -> Panel:
        """The lamps in a state, for changes given by index."""
        return self.panels[self._place[state]].rows(changes)

    # Weighing.

    def weigh(self, evidence: Sequence[Symptom]) -> Weighed:
        """As `Investigator.diagnose` weighs the singles; each state at most once, looks and "everything else normal"
        only."""
        heard = [as_meant(e, self.predictor) for e in evidence]
        evidence = [e for e in heard if isinstance(e, Symptom)]
        random = np.array([undescribed_loglik(e, self.predictor) for e in evidence])
        undescribed = Undescribed(self.investigator.sayable)
        beyond = sum(undescribed.weigh(e) for e in evidence)
        order = np.argsort(np.round(self._healthy(evidence), 6), kind="stable")
        kept, columns = np.arange(len(self.singles)), self.change_of
        total = np.log(np.maximum(self.prior, 1e-300))
        out = np.zeros(len(kept))
        observer = np.repeat(np.log(OBSERVERS)[:, None], len(kept), axis=1)
        level = np.zeros(len(kept))
        given_up: list[tuple[Ints, Floats, float]] = []  # rows, their level, and `idle` at that time
        idle = 0.0
        said, local = SaidBefore(0, len(self.lamps)), np.zeros(0, dtype=np.intp)
        for n, e in enumerate(order):
            item = evidence[e]
            observer += self._later(item, columns, said, local) if n else self._at_first(item)[:, columns]
            now = np.logaddexp.reduce(observer, axis=0)
            total += now - level
            lead = int(total.argmax())
            idle += min(random[e], now[lead] - level[lead])
            level = now
            hopeful = total > total.max() - HOPELESS
            if not hopeful.all():
                given_up.append((kept[~hopeful], level[~hopeful], idle))
                kept, total, level = kept[hopeful], total[hopeful], level[hopeful]
                observer, columns = observer[:, hopeful], columns[hopeful]
                local = local[hopeful] if n else local
            if n == 0:  # what has no hope by now need not be remembered
                said, local = SaidBefore(len(kept), len(self.lamps)), np.arange(len(kept))
            note_said(said, self.predictor, item, cells_of(self.panels[self._place[item.state]].flux[columns]), local)
        out[kept] = level
        for rows, reached, then in given_up:  # they come no nearer to the row that leads
            out[rows] = reached + idle - then
        result = posterior(self.prior, out[None], UNDESCRIBED, [float(beyond)])
        return Weighed(result.share, result.undescribed, out)

    def _healthy(self, evidence: Sequence[Symptom]) -> Floats:
        """ln probability (E,) of each piece of evidence, given those before it, on a sound vehicle."""
        column, one, said = np.array([self.healthy]), np.zeros(1, dtype=np.intp), SaidBefore(1, len(self.lamps))
        observer, levels = np.log(OBSERVERS)[:, None], [0.0]
        for n, item in enumerate(evidence):
            observer = observer + (self._later(item, column, said, one) if n else self._at_first(item)[:, column])
            levels.append(float(np.logaddexp.reduce(observer, axis=0)[0]))
            note_said(said, self.predictor, item, cells_of(self.panels[self._place[item.state]].flux[column]), one)
        return np.asarray(np.diff(levels))

    def _at_first(self, item: Symptom) -> Floats:
        """ln probability (observers, changes) of all that a symptom says if nothing was said before."""
        k = self._place[item.state]
        assert not item.only and not item.light
        found = [self._look(k, s) for s in item.seen if isinstance(s, LampSeen)]
        assert len(found) == len(item.seen)
        if item.others_normal:
            found.append(self._others(k, item.lamps_named()))
        return np.asarray(sum(found))

    def _look(self, k: int, s: LampSeen) -> Floats:
        if (k, s) not in self._looks:
            shown = self.shown(k)
            eyes = np.log(np.where(shown.usable, shown.word(s)[0] * shown.flash(s), shown.anything(s)))
            self._looks[k, s] = self._with_careless(eyes, Symptom(self.states[k], (s,)))
        return self._looks[k, s]

    def _others(self, k: int, named: frozenset[str]) -> Floats:
        if (k, named) not in self._rest:
            rest = [i for i, lamp in enumerate(self.lamps) if lamp not in named]
            eyes = np.maximum(self.shown(k).unsaid[:, :, rest].sum(axis=2), OTHERS_FLOOR)
            self._rest[k, named] = self._with_careless(eyes, Symptom(self.states[k], (), True))
        return self._rest[k, named]

    def _later(self, item: Symptom, columns: Ints, said: SaidBefore, local: Ints) -> Floats:
        """ln probability (observers, columns) of all that a symptom says, with what was said before."""
        k = self._place[item.state]
        shown = self.shown(k)
        before = said.recall(cells_of(self.panels[k].flux[columns]), local, "")
        assert before is not None
        total = np.zeros((len(OBSERVERS), len(columns)))
        for s in item.seen:
            assert isinstance(s, LampSeen)
            i = self.predictor.lamp_index[s.lamp]
            p, slip = shown.word(s)
            p = p[:, columns]
            place, known = shown.place[:, columns, i].astype(np.intp), shown.known[columns, i]
            own, earlier = np.uint8(mask_of(s.words)), before[None, :, i]
            sticks = sticking(earlier, place, known, shown.usual[i])
            p = p + sticks * (by_habit(own, earlier, slip, place, known, shown.usual[i]) - p)
            p = p * shown.flash(s)[columns]
            eyes = np.log(np.where(shown.usable[columns], p, shown.anything(s)))
            total += self._with_careless(eyes, Symptom(item.state, (s,)))
        if item.others_normal:
            # Nearly all lamps were called normal before when they shone alike: their sum is kept, the others are put
            # right one by one.
            spoken_of = item.lamps_named()
            named = np.array([lamp in spoken_of for lamp in self.lamps])
            row, lamp = np.nonzero((before != shown.usual[None]) | named[None])
            change = columns[row]
            new = before[row, lamp]
            terms = shown.unsaid[:, change, lamp]
            other = np.flatnonzero(new)
            if len(other):
                terms[:, other] = shown.normal_after(new[other], change[other], lamp[other])
            terms[:, named[lamp]] = 0.0
            terms -= shown.as_usual[:, change, lamp]
            eyes = shown.all_as_usual[:, columns] + np.array([np.bincount(row, t, len(columns)) for t in terms])
            total += self._with_careless(np.maximum(eyes, OTHERS_FLOOR), Symptom(item.state, (), True))
        return total

    def _with_careless(self, eyes: Floats, item: Symptom) -> Floats:
        """(observers, changes): the three eyes, and a careless person."""
        return np.vstack([eyes, carelessly(eyes[UNSHIFTED][None], item, self.predictor)])

    def shown(self, k: int) -> Shown:
        if k not in self._shown:
            self._shown[k] = Shown(self.panels[k], self.predictor, self.states[k])
        return self._shown[k]

    def by_repair(self, share: Floats, most: int) -> list[tuple[int, float, int]]:
        """The leading repairs: its number, share, and its likeliest row."""
        total = np.bincount(self.repair_of, share)
        return [
            (int(r), float(total[r]), int(self._rows_of[r][share[self._rows_of[r]].argmax()]))
            for r in np.argsort(-total, kind="stable")[:most]
        ]


class Shown:
    """What one state's lamps are called, for the three eyes (E), all changes (C) and lamps (L).

    Attributes:
        place: (E, C, L) where the light stands on the grid of brightness.
        known: (C, L) how likely the lamp is taken for as it always was.
        usual: (L,) the word that each lamp deserves on a sound vehicle, as bits.
        unsaid: (E, C, L) ln probability of "everything else normal" for that lamp, if nothing was said before.
        as_usual: The same if it was called so before; `all_as_usual` (E, C) their sum.
        usable: (C,) the solution converged.
    """

    def __init__(self, panel: Panel, predictor: Predictor, state: VehicleState) -> None:
        self._predictor, self._sound, self.usable = predictor, predictor.healthy(state), panel.usable
        self._panel = panel
        self._words: dict[tuple[str, frozenset[str]], tuple[Floats, float]] = {}
        self._chances: dict[int, dict[str, Floats]] = {}
        self.place = np.array([grid_place(panel.flux + by) for by in SHIFTS]).astype(np.int16)
        sound = self._sound.flux[0]
        self.known = known_again(panel.flux, sound)
        words = likely_words(sound)
        self.usual = (1 << words).astype(np.uint8)
        self._normal = np.stack(
            [self._called(i, frozenset([WORDS[w]]), WORD_SLIP) for i, w in enumerate(words)], axis=2
        )
        self._flashes = np.ones_like(panel.flux)
        for i in np.flatnonzero(self._sound.flux[0] - self._sound.least[0] > 0.5):
            self._flashes[:, i] = self.chance(int(i))["flashing"]
        self.unsaid = _looked_at(self._normal * self._flashes)
        every = np.broadcast_to(self.usual, panel.flux.shape)
        change, lamp = (x.ravel() for x in np.indices(panel.flux.shape))
        self.as_usual = self.normal_after(every.ravel(), change, lamp).reshape(self.unsaid.shape)
        self.all_as_usual = self.as_usual.sum(axis=2)

    def normal_after(self, before: Masks, change: Ints, lamp: Ints) -> Floats:
        """(E, N) like `unsaid`, for N changes and lamps, if those words were used before."""
        p = self._normal[:, change, lamp]
        place, known, usual = self.place[:, change, lamp].astype(np.intp), self.known[change, lamp], self.usual[lamp]
        sticks = sticking(before[None], place, known, usual)
        p = p + sticks * (by_habit(usual, before[None], WORD_SLIP, place, known, usual) - p)
        return _looked_at(p * self._flashes[change, lamp])

    def word(self, s: LampSeen) -> tuple[Floats, float]:
        """Probability (E, C) of a look's words, and how often they are a slip."""
        if (s.lamp, s.words) not in self._words:
            i = self._predictor.lamp_index[s.lamp]
            slip = slip_of(s, float(self._sound.flux[0, i]))
            self._words[s.lamp, s.words] = self._called(i, s.words, slip), slip
        return self._words[s.lamp, s.words]

    def anything(self, s: LampSeen) -> float:
        """Probability of a look's words if any were as likely as any other."""
        return word_at_random(s.words, float(self._sound.flux[0, self._predictor.lamp_index[s.lamp]]))

    def _called(self, lamp: int, words: frozenset[str], slip: float) -> Floats:
        """Probability (E, C) of words for a lamp of which nothing was said before."""
        flux, usual = self._panel.flux[:, lamp], float(self._sound.flux[0, lamp])
        return np.array([Eye(by).calls(flux, words, slip, usual) for by in SHIFTS])

    def chance(self, lamp: int) -> dict[str, Floats]:
        """As `flash_probabilities`; no eye sees that differently."""
        if lamp not in self._chances:
            self._chances[lamp] = flash_probabilities(self._panel, lamp, self._predictor.electronic)
        return self._chances[lamp]

    def flash(self, s: LampSeen) -> Floats:
        """Probability (C,) of what is said of its flashing."""
        if s.flash is None or self._predictor.flasher is None:
            return np.ones(len(self.usable))
        return self.chance(self._predictor.lamp_index[s.lamp])[s.flash]


def _looked_at(p: Floats) -> Floats:
    """ln probability of "everything else normal" for one lamp that would be called normal with probability p."""
    return np.asarray(np.log(1 - OTHERS_LOOKED_AT + OTHERS_LOOKED_AT * p))
