"""What the leading suspects would show in a test, suspect by suspect and outcome by outcome."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from msgspec import Struct

from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.explanation import chances_by_hand, say_either, say_lamp
from tracer.inference.likelihood import as_meant, undescribed_loglik
from tracer.inference.visual_inspection import say_chance
from tracer.observation.evidence import Reading, Test
from tracer.observation.flasher_at_rest import either_way


class Expectation(Struct, frozen=True):
    """What one suspect would show; for a look at several lamps also lamp by lamp (lamp, look)."""

    repair: str
    share: float
    shows: str
    looks: tuple[tuple[str, str], ...] = ()


def expectations(
    diagnosis: Diagnosis, test: Test, count: int = 5, also: Sequence[str] = ()
) -> tuple[Expectation, ...]:
    """What each leading suspect predicts for a test, likeliest suspect first; with `also`, lamp by lamp."""
    predictor, out = diagnosis.predictor, []
    leading = [s for s in diagnosis.suspects if s.share >= 0.005][:count] or list(diagnosis.suspects[:count])
    changes = [s.best.change for s in leading]
    if test.row.of_lamps:
        done = test.change(predictor.circuit)
        setup = predictor.setup(test.state, done)
        panel = predictor.panel(setup, predictor.table(changes, done))
        for k, s in enumerate(leading):
            own = panel.rows(np.array([k]))
            looks = tuple((x, say_lamp(own, predictor, x)) for x in (test.lamp, *also))
            shows = ", ".join(f"{x} {look}" for x, look in looks) if also else looks[0][1]
            out.append(Expectation(s.repair, s.share, shows, looks if also else ()))
    elif test.row.by_hand:
        chances = chances_by_hand(predictor, test, [s.best for s in leading])
        for s, p in zip(leading, chances.tolist(), strict=True):
            out.append(Expectation(s.repair, s.share, say_chance(p, test.kind)))
    else:
        values = either_way(predictor, [test], changes)[0]
        for s, own in zip(leading, values.T, strict=True):
            out.append(Expectation(s.repair, s.share, say_either(test.kind, own)))
    return tuple(out)


def fits(reading: Reading, diagnosis: Diagnosis, investigator: Investigator) -> float:
    """ln probability of a reading under the leading suspect to which it is likeliest."""
    rows = sorted(i for s in diagnosis.suspects[:12] for i in s.rows[:8])
    return float(investigator.loglik_of([diagnosis.hypotheses[i] for i in rows], reading).max(initial=-np.inf))


def unexpected(reading: Reading, diagnosis: Diagnosis, investigator: Investigator) -> str:
    """What to say at once of a reading that no leading suspect expected; "" if one did."""
    anything = undescribed_loglik(as_meant(reading, diagnosis.predictor), diagnosis.predictor)
    if fits(reading, diagnosis, investigator) >= anything:
        return ""
    if reading.test.at_rest:
        said = "no leading suspect lies there: an old mark that does no harm, or a second fault. It is kept."
        return said if reading.value.found else ""
    nearest = "; ".join(f"{e.shows} if {e.repair}" for e in expectations(diagnosis, reading.test, 3))
    return (
        f"no leading suspect predicts this ({nearest}). Check the probe point and the meter's earth; else the "
        "harness file is wrong here, or there is a second fault. The reading is kept."
    )


class Outcome(Struct, frozen=True):
    """One thing that a test may show, and the leading suspects that predict it, likeliest first."""

    shows: str
    share: float
    repairs: tuple[str, ...]


def by_outcome(expected: Collection[Expectation]) -> tuple[Outcome, ...]:
    """Expectations tied together where no meter and no eye could tell them apart, the likeliest outcome first."""
    groups: list[list[Expectation]] = []
    for e in sorted(expected, key=lambda e: -e.share):
        own = next((g for g in groups if _look_alike(g[0].shows, e.shows)), None)
        if own is None:
            groups.append([e])
        else:
            own.append(e)
    found = [Outcome(g[0].shows, sum(e.share for e in g), tuple(e.repair for e in g)) for g in groups]
    return tuple(sorted(found, key=lambda o: -o.share))


def _look_alike(one: str, two: str) -> bool:
    """The same words, or two values of one unit within 3 % and 0.2 of each other."""
    if one == two:
        return True
    (a, _, unit), (b, _, other) = one.partition(" "), two.partition(" ")
    try:
        x, y = float(a), float(b)
    except ValueError:
        return False
    return unit == other and abs(x - y) <= max(0.2, 0.03 * max(abs(x), abs(y)))
