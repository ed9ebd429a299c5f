"""After the repair: the smallest set of looks that proves it, and what could still be wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.explanation import say_lamp
from tracer.inference.hypotheses import basic_states
from tracer.inference.likelihood import relay_loglik
from tracer.inference.load_likelihood import load_loglik
from tracer.inference.word_model import likely_word
from tracer.observation.evidence import (
    Compared,
    Evidence,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    Reading,
    Symptom,
)
from tracer.planning.proof_reading import Remeasured, to_measure_again
from tracer.planning.uncovering import RISK, uncovering
from tracer.safety.advice import Caution, Now, Step, cautions_of, of_look, of_test, said_by, steps_of
from tracer.safety.facts import UNKNOWN
from tracer.safety.permitted import permitted_states, safe_states

Cautions = tuple[Caution, ...]


class ProofCheck(Struct, frozen=True):
    """One vehicle state to be set after the repair, and the lamps that must then look so; or the reading that must be
    made `again`."""

    number: int
    state: VehicleState
    expected: tuple[tuple[str, str], ...]  # (lamp, look)
    because: str
    cautions: tuple[Caution, ...] = ()
    steps: tuple[Step, ...] = ()
    again: Remeasured | None = None

    def measured(self, harness: Harness) -> str:
        """What is measured once more and what it must show, in words; "" for a look at the lamps."""
        return f"{self.again.test.says(harness)}: {self.again.reads}" if self.again is not None else ""

    def seen_instead(self, result: str, harness: Harness) -> Symptom | Reading | None:
        """What somebody saw or measured in place of what is expected, in words; None for "ok".

        Raises:
            TracerError: The words cannot be understood.
        """
        if result.strip().casefold() in ("ok", "good", "as expected", "yes", "normal"):
            return None
        if self.again is not None:
            return self.again.seen_instead(result)
        from tracer.observation.words.symptoms import parse_symptom  # of use here alone, and much to read in

        said = ", ".join(f"{c} {p}" for c, p in self.state.positions)
        return parse_symptom(result if " when " in f" {result} " else f"{result} when {said}", harness)


class Proof(Struct, frozen=True):
    """The checks, and the probability of a further fault before and after they all come out right."""

    checks: tuple[ProofCheck, ...]
    risk_before: float
    risk_after: float


def plan_proof(investigator: Investigator, evidence: Sequence[Evidence], now: Now = UNKNOWN) -> Proof:
    """Looks that show every symptom gone, and then those that uncover most of what else could be wrong; last the
    reading that was furthest from right, where a look is not sure to tell.

    A fault counts as uncovered by a state when some lamp would get another word, or flash otherwise,
    than on a healthy vehicle. Faults weigh by base rate. `now`: how things stand before the first check.
    """
    harness = investigator.harness
    odd = [i for i in evidence if _complains(i, investigator)]
    seen_in = [i.state if isinstance(i, Symptom) else i.test.state for i in odd]
    complaints = safe_states(seen_in, harness)  # seen in gear with the engine running: looked at without it
    states = permitted_states(dict.fromkeys([*complaints, *basic_states(harness)]), harness)
    chosen, left = uncovering(investigator, complaints, states)
    checks = tuple(
        ProofCheck(
            n, state, _expected(investigator, state),
            "the complaint" if state in complaints else "what else could be wrong", *told,
        )
        for (n, state), told in zip(enumerate(chosen, 1), _told(chosen, harness, now), strict=True)
    )
    return Proof((*checks, *_measured_again(investigator, evidence, odd, checks, now)), RISK, left)


def _measured_again(
    investigator: Investigator, evidence: Sequence[Evidence], odd: Sequence[Evidence], checks: Sequence[ProofCheck],
    now: Now,
) -> Iterator[ProofCheck]:
    """The check with a meter that follows the looks, if there is one."""
    again = to_measure_again(investigator, evidence, odd)
    if again is not None:
        state = checks[-1].state if checks else now.state
        facts = of_test(again.test, investigator.harness, Now(state, False, now.said))
        yield ProofCheck(len(checks) + 1, again.test.state, (), "what was measured", cautions_of(facts),
                         steps_of(facts), again)


def _told(states: Sequence[VehicleState], harness: Harness, now: Now) -> Iterator[tuple[Cautions, tuple[Step, ...]]]:
    """Cautions and steps of each check, one made after the other."""
    for state in states:
        facts = of_look(state, harness, now, proof=True)
        yield cautions_of(facts), steps_of(facts)
        now = Now(state, False, now.said | said_by([facts]))


def _complains(item: Evidence, investigator: Investigator) -> bool:
    """Whether something other than healthy was seen by eye."""
    seen = list(item.seen) if isinstance(item, Symptom) else [item.value.seen] if item.value.seen else []
    state = item.state if isinstance(item, Symptom) else item.test.state
    if not isinstance(item, Symptom) and (item.test.done or not item.test.row.of_lamps):
        return False  # a lamp that a test connects is none of the vehicle's
    healthy, predictor = investigator.predictor.healthy(state), investigator.predictor
    for s in [one for whole in seen for one in (whole.looks if isinstance(whole, LensSeen) else (whole,))]:
        if isinstance(s, LampSeen):
            i = predictor.lamp_index[s.lamp]
            word = likely_word(float(healthy.flux[0, i]))
            flashes = bool(healthy.flux[0, i] - healthy.least[0, i] > 0.5)
            if word not in s.words or (s.flash == "steady" and flashes) or (s.flash in ("slow", "fast")):
                return True
        elif isinstance(s, FuseSeen):
            if s.blown:
                return True
        elif isinstance(s, Compared):
            if s.how != "alike":
                return True
        elif isinstance(s, LoadSeen):
            if load_loglik(healthy, predictor, s)[0] < np.log(0.5) or s.sometimes:
                return True
        elif relay_loglik(healthy, predictor, s)[0] < np.log(0.2):
            return True
    return False


def _expected(investigator: Investigator, state: VehicleState) -> tuple[tuple[str, str], ...]:
    predictor = investigator.predictor
    healthy = predictor.healthy(state)
    looks = [(f.lamp, say_lamp(healthy, predictor, f.lamp)) for f in predictor.lamps]
    return tuple((lamp, look) for lamp, look in looks if look != "dark")
