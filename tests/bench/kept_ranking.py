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

from tracer.base_rates import UNDESCRIBED
from tracer.circuit import NO_CHANGE, Change, Floats, Ints
from tracer.evidence import WORDS, Flash, LampSeen, Symptom
from tracer.harness import Harness, VehicleState
from tracer.likelihood import (
    CARELESS_SHARE,
    OTHERS_FLOOR,
    SHIFT_WEIGHTS,
    SHIFTS,
    UNSHIFTED,
    carelessly,
    flash_probabilities,
    lamp_loglik,
    likely_words,
    other_loglik,
    undescribed_loglik,
)
from tracer.predictions import Panel
from tracer.ranking import posterior
from tracer.suspects import _HOPELESS, Investigator

OBSERVERS = np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)
# A look's code is the index of its word in WORDS times len(FLASHES), plus an index in FLASHES.
FLASHES: Final[tuple[Flash | None, ...]] = (None, "flashing", "slow", "fast", "steady")
KEPT_BYTES = 6e9


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
        self._kept = kept.panels_of
        self._singles = kept.singles

    def _weigh(self, rows, *rest):  # type: ignore[no-untyped-def]
        self._all = len(rows) == len(self.singles)
        return super()._weigh(rows, *rest)

    def _panel(self, state, table, active, known):  # type: ignore[no-untyped-def]
        return self._kept(state, active) if self._all else super()._panel(state, table, active, known)


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
        self._lamp_rows: dict[tuple[int, LampSeen], Floats] = {}
        self._other_terms: dict[int, Floats] = {}
        self._other_rows: dict[tuple[int, frozenset[str]], Floats] = {}

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
        beyond = np.array([undescribed_loglik(e, self.predictor) for e in evidence])
        parts = [self._parts(e) for e in evidence]
        usual = np.array([sum(p[:, self.healthy] for p in own) for own in parts]).reshape(-1, len(OBSERVERS))
        levels = np.logaddexp.reduce(np.log(OBSERVERS) + np.cumsum(usual, axis=0), axis=1)
        healthy = np.diff(levels, prepend=0.0)
        kept, columns = np.arange(len(self.singles)), self.change_of
        total = np.log(np.maximum(self.prior, 1e-300))
        out = np.zeros(len(kept))
        observer = np.repeat(np.log(OBSERVERS)[:, None], len(kept), axis=1)
        level = np.zeros(len(kept))
        left = beyond.sum()  # of what was not weighed yet
        for e in np.argsort(healthy, kind="stable"):
            for part in parts[e]:
                observer += part[:, columns]
            now = np.logaddexp.reduce(observer, axis=0)
            total += now - level
            level = now
            left -= beyond[e]
            hopeful = total > total.max() - _HOPELESS
            if not hopeful.all():
                out[kept[~hopeful]] = level[~hopeful] + left  # as likely from here on as without an explanation
                kept, total, level = kept[hopeful], total[hopeful], level[hopeful]
                observer, columns = observer[:, hopeful], columns[hopeful]
        out[kept] = level
        result = posterior(self.prior, out[None], UNDESCRIBED, [float(beyond.sum())])
        return Weighed(result.share, result.undescribed, out)

    def _parts(self, item: Symptom) -> list[Floats]:
        """ln probability (observers, changes) of each thing said."""
        k = self._place[item.state]
        found = [self._lamp(k, s) for s in item.seen if isinstance(s, LampSeen)]
        assert len(found) == len(item.seen) and not item.only and not item.light
        return [*found, self._others(k, item.lamps_named())] if item.others_normal else found

    def _lamp(self, k: int, s: LampSeen) -> Floats:
        if (k, s) not in self._lamp_rows:
            if len(self._lamp_rows) * self.panels[k].flux[:, 0].nbytes * len(OBSERVERS) > KEPT_BYTES:
                self._lamp_rows.clear()
            usual = self.predictor.healthy(self.states[k])
            eyes = [lamp_loglik(self.panels[k].shifted(by), self.predictor, s, usual) for by in SHIFTS]
            self._lamp_rows[k, s] = _with_careless(np.array(eyes), Symptom(self.states[k], (s,)))
        return self._lamp_rows[k, s]

    def _others(self, k: int, named: frozenset[str]) -> Floats:
        if (k, named) not in self._other_rows:
            if k not in self._other_terms:
                usual = self.predictor.healthy(self.states[k])
                self._other_terms[k] = np.array([
                    [other_loglik(panel, usual, self.predictor, i) for i in range(len(self.lamps))]
                    for panel in (self.panels[k].shifted(by) for by in SHIFTS)
                ])
            if named and len(self._other_rows) * self.panels[k].flux[:, 0].nbytes * len(OBSERVERS) > KEPT_BYTES:
                self._other_rows.clear()
            rest = [i for i, lamp in enumerate(self.lamps) if lamp not in named]
            eyes = np.maximum(self._other_terms[k][:, rest].sum(axis=1), OTHERS_FLOOR)
            self._other_rows[k, named] = _with_careless(eyes, Symptom(self.states[k], (), True))
        return self._other_rows[k, named]

    def by_repair(self, share: Floats, most: int) -> list[tuple[int, float, int]]:
        """The leading repairs: its number, share, and its likeliest row."""
        total = np.bincount(self.repair_of, share)
        return [
            (int(r), float(total[r]), int(self._rows_of[r][share[self._rows_of[r]].argmax()]))
            for r in np.argsort(-total, kind="stable")[:most]
        ]


def _with_careless(eyes: Floats, item: Symptom) -> Floats:
    """(observers, changes): the three eyes, and a careless person."""
    return np.vstack([eyes, carelessly(eyes[UNSHIFTED][None], item)])
