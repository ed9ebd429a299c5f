"""Looks at lamps that could be made next, at one or at all that are seen from one place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.model import VehicleState
from tracer.inference.hypotheses import basic_states
from tracer.inference.lens_light import LENS_SEEN_ASKED, all_as_lenses, seen_as_one
from tracer.inference.likelihood import as_meant, flash_probabilities, note_said
from tracer.inference.repeated_judgements import SaidBefore, cells_of
from tracer.inference.word_model import WORD_SLIP, Eye
from tracer.observation.evidence import LampSeen, LensSeen, Reading, Symptom, Test
from tracer.observation.forward_model import Panel
from tracer.planning.live_hypotheses import SAME_LOOK, UNSEEN, Living
from tracer.planning.outcomes import LEAST_BITS, Candidate, doubt
from tracer.planning.viewpoints import standpoints, telling, together
from tracer.safety.permitted import permitted_states

LOOK_OUTCOMES: tuple[str, ...] = ("dark", "faint", "dim", "normal", "flashing", "dim, flashing", "bright")
_FINER = {LOOK_OUTCOMES.index(finer): LOOK_OUTCOMES.index(plain)  # with what else each is counted
          for finer, plain in (("dim, flashing", "flashing"), ("bright", "normal"))}
_MOST_IN_SIGHT = 8
_HARDLY = 0.03  # share of the suspects, for which nobody looks at the same lamp again
_DOUBT = 0.05  # more than is held by slips of the side or of the lamp beside it, which are met in every complaint


def possible(table: Floats) -> tuple[tuple[str, ...], Floats]:
    """The outcomes of a look that are possible, and their probabilities, (O, H)."""
    shown = [k for k, row in enumerate(table) if row.any()]
    return tuple(LOOK_OUTCOMES[k] for k in shown), table[shown]


class Looks:
    """What looks at lamps show to the living hypotheses."""

    def __init__(self, living: Living) -> None:
        self.living, self.predictor, self.harness = living, living.predictor, living.harness

    def candidates(self) -> Iterator[Candidate]:
        """Looks at lamps of the undisturbed vehicle, where the suspects differ in what one sees and it was not seen
        before."""
        known: dict[str, list[Floats]] = {}
        for state, lamp in self._seen():
            known.setdefault(lamp, []).append(self._light(self.living.panel(state), lamp))
        states = self.states()
        stirred = self.predictor.disturbed([(self.predictor.setup(state), self.living.table) for state in states])
        for state, rows in zip(states, stirred, strict=True):
            if not rows.any():
                continue  # to every suspect all looks as on a healthy vehicle
            panel = self.living.panel(state)
            # Where hardly a suspect expects the lamp to look otherwise than it did, it was looked at already.
            again = {
                lamp for lamp, lights in known.items()
                if any(self._otherwise(self._light(panel, lamp), k) < _HARDLY for k in lights)
            }
            lamps = list(dict.fromkeys([*self.living.affected_lamps(), *self.predictor.lamp_index]))
            tables = self.outcomes(panel, lamps, state)
            for lamp, table in zip(lamps, self._by_lens(tables, panel, lamps, state), strict=True):
                # Twice only where a suspect lives by what was said being wrong: see the fault with your own eyes.
                if lamp not in again or self._doubted(table):
                    yield Candidate(Test("look", state, lamp=lamp), *possible(table), again=lamp in again)
            new = zip(lamps, tables, strict=True)
            yield from self._looks_round(state, {x: t for x, t in new if x not in again and telling(t)})

    def _seen(self) -> dict[tuple[VehicleState, str], None]:
        """Which lamps were told of in which state, in order; of "everything else normal" all others."""
        out: dict[tuple[VehicleState, str], None] = {}
        for item in self.living.diagnosis.evidence:
            if isinstance(item, Reading):
                if item.test.row.of_lamps and not item.test.done:
                    out[item.test.state, item.test.lamp] = None
                continue
            looks = [s for s in item.seen if isinstance(s, (LampSeen, LensSeen))]
            named = [lamp for s in looks for lamp in (s.lamps if isinstance(s, LensSeen) else (s.lamp,))]
            lamps = list(self.predictor.lamp_index) if item.others_normal else named
            out |= dict.fromkeys((item.state, lamp) for lamp in lamps)
        return out

    @cached_property
    def _shares(self) -> Floats:
        """(H,) shares of what the living hypotheses change; together one."""
        share = np.bincount(self.living.one_of, weights=self.living.shares)
        return np.asarray(share / share.sum())

    def _otherwise(self, light: Floats, before: Floats) -> float:
        """How much the suspects hold that make a lamp look otherwise than before; both (2, H)."""
        return float((np.abs(light - before).max(axis=0) >= SAME_LOOK) @ self._shares)

    def _doubted(self, table: Floats) -> bool:
        """Whether what a second look shows, (O, H), is open: on average over the shares of the suspects."""
        share = self._shares
        apart = np.abs(table - (table @ share)[:, None]).max(axis=0)
        return float(apart @ share) > _DOUBT

    def _looks_round(self, state: VehicleState, tables: dict[str, Floats]) -> Iterator[Candidate]:
        """Looks at all the lamps that are seen from one place and tell something."""
        by_place: dict[str, list[str]] = {}
        for lamp in tables:
            by_place.setdefault(self._standpoints[lamp], []).append(lamp)
        for lamps in by_place.values():
            if len(lamps) > 1:
                some = lamps[:_MOST_IN_SIGHT]
                outcomes, table = together(some, [tables[x] for x in some], LOOK_OUTCOMES)
                yield Candidate(Test("look", state, lamp=some[0]), outcomes, table, tuple(some[1:]))

    @cached_property
    def _standpoints(self) -> dict[str, str]:
        return standpoints(self.harness)

    def _light(self, panel: Panel, lamp: str) -> Floats:
        """(2, H) light of a lamp in both phases, as far as it can be seen."""
        at = self.predictor.lamp_index[lamp]
        return np.asarray(np.maximum(np.array([panel.flux[:, at], panel.least[:, at]]), UNSEEN))

    def states(self) -> list[VehicleState]:
        """Single-control states, the states seen, and those with one more control moved."""
        states = basic_states(self.harness)
        seen = self.living.work_states()
        moved = []
        for state in seen:
            for name, control in self.harness.controls.items():
                for position in control.positions:
                    if position != state[name] and name != "ignition":
                        moved.append(state.having(name, position))
        return permitted_states(dict.fromkeys([*seen, *states, *moved]), self.harness)[:36]

    def outcomes(self, panel: Panel, lamps: Sequence[str], state: VehicleState) -> Floats:
        """(lamps, outcomes, H) probabilities of what looks at several lamps show. Of a lamp that flashes dimly and of
        one too bright apart from the others only where that tells of the repair."""
        chosen = [self.predictor.lamp_index[lamp] for lamp in lamps]
        before = self._said_before.recall(cells_of(panel.flux), np.arange(len(self.living.changes)), "")
        if before is not None:
            before = before[:, chosen]
        usual = self.predictor.healthy(state).flux[0, chosen]

        flashing = flash_probabilities(panel, slice(None), self.predictor.electronic)["flashing"][:, chosen].T
        each = [frozenset((word,)) for word in ("dark", "faint", "dim", "normal", "bright")]
        called = Eye().calls_each(panel.flux[:, chosen], each, WORD_SLIP, usual, before)
        dark, faint, dim, normal, bright = (p.T for p in called)
        steady = 1 - flashing
        found = np.stack([
            dark, faint * steady, dim * steady, normal * steady, (normal + bright) * flashing,
            (faint + dim) * flashing, bright * steady,
        ], axis=1)
        found /= found.sum(axis=1, keepdims=True)
        for finer, plain in _FINER.items():
            own, rest = found[:, finer] @ self.living.by_repair, found[:, plain] @ self.living.by_repair
            same = doubt(own + rest) - doubt(own) - doubt(rest) < LEAST_BITS
            found[same, plain] += found[same, finer]
            found[same, finer] = 0.0
        return found

    def _by_lens(self, tables: Floats, panel: Panel, lamps: Sequence[str], state: VehicleState) -> Floats:
        """`tables` of what looks show, for looks at one lamp alone, which some judge by its lens."""
        lens = all_as_lenses(panel, self.predictor.healthy(state), self.predictor, self._seen_as_one)
        if lens is None:
            return tables
        return (1 - LENS_SEEN_ASKED) * tables + LENS_SEEN_ASKED * self.outcomes(lens, lamps, state)

    @cached_property
    def _seen_as_one(self) -> dict[int, tuple[int, ...]]:
        return seen_as_one(self.predictor)

    @cached_property
    def _said_before(self) -> SaidBefore:
        """What the lamps were called in the job so far."""
        count = len(self.living.changes)
        said, every = SaidBefore(count, len(self.predictor.lamps)), np.arange(count)
        for item in self.living.diagnosis.evidence:
            if isinstance(item, Symptom):
                panel = self.living.panel(item.state)
            elif item.test.row.of_lamps:
                panel = self.living.panel(item.test.state, item.test.done)
            else:
                continue
            note_said(said, self.predictor, as_meant(item, self.predictor), cells_of(panel.flux), every)
        return said
