"""How likely a reading is under each prediction: the error model of instruments.

All its parameters stand here, with their reasons.
"""

from __future__ import annotations

import numpy as np

from tracer.circuit.model import Floats, Ints
from tracer.inference.bayes import interval_loglik
from tracer.inference.visual_inspection import FOUND_UNDESCRIBED, MOVES_UNDESCRIBED
from tracer.inference.word_model import word_probability
from tracer.observation.evidence import WORDS, Reading, Value
from tracer.observation.test_kinds import KINDS, TestKind

METER_GAIN = 0.008  # 0.5–0.8 % of reading and a digit: workshop multimeters
METER_OFFSET_V = 0.015
SUPPLY_SHARE = 0.03  # battery voltage not measured: 11.8 to 12.9 V
SUPPLY_SHARE_MEASURED = 0.006
DROP_SHARE = 0.15  # model: wire lengths, lamp tolerance, contacts, as a share of the drop
JOINT_V = 0.06  # sound joints differ so much: quoted workshop limits are 0.1 V for an earth, 0.3 V for a switch
# Sound contacts of switches and plugs have from a few to some 30 mΩ, and one cannot tell which: a small drop is as
# uncertain as its size, so that what is too much at 2 A is nothing at 13 A. (Common practice, no source.)
CONTACT_SHARE, CONTACT_V = 0.8, 0.4
STRAY_SHARE = 0.03  # slipped probe, wrong pin, dirty contact
OHM_DECADES = 0.06
OHM_LEADS = 0.15  # Ω: how far leads differ, and whether their own resistance was taken off the reading
# Above 100 kΩ nothing in a lighting harness is meant: what shows there is damp, dirt, fingers and the meter itself,
# and no two of them show the same. (Common practice, no source.)
INSULATION_DECADES, INSULATION_FROM = 0.7, 5.0
CLAMP_GAIN = 0.03  # 2 to 3 % of reading for direct current, and …
CLAMP_OFFSET_A = 0.03  # … its zero, which drifts with every magnet near by (common practice, no source)
CURRENT_SHARE = 0.08  # model: lamps of one name differ by 10 % in current (a lamp maker's terminology page)
BETWEEN_SEVERITIES = 0.35  # the grid of severities is coarse: what lies between two steps belongs to both
IMPOSSIBLE = -50.0  # ln probability of what no hypothesis allows for
MOST_A = 30.0  # of a lighting circuit's wire that a fuse still lets pass
# A reading that moves while something is wiggled: of a loose contact it covers a third or more of the way between bad
# and sound; of anything else it is the probe or another wire that was moved. (Common practice, no source.)
WIGGLED_PART, WIGGLED_ELSE, WIGGLED_UNDESCRIBED = 0.3, 0.05, 0.2


def reading_sigma(predicted: Floats, emf: float, supply_measured: bool, prev: Ints, following: Ints) -> Floats:
    """Standard deviation (H,) in V of a voltage reading around its prediction.

    `prev` and `following` index the row with the next lower and higher severity of the same fault.
    """
    v = np.abs(predicted)
    supply = SUPPLY_SHARE_MEASURED if supply_measured else SUPPLY_SHARE
    lost = np.minimum(v, np.abs(emf - v))
    drop = np.hypot(DROP_SHARE * lost + JOINT_V, CONTACT_SHARE * np.minimum(lost, CONTACT_V))
    gap = np.maximum(np.abs(predicted - predicted[prev]), np.abs(predicted - predicted[following]))
    return np.asarray(np.sqrt(
        (METER_GAIN * v) ** 2 + METER_OFFSET_V**2 + (supply * v) ** 2 + drop**2 + (BETWEEN_SEVERITIES * gap) ** 2
    ))


def current_sigma(predicted: Floats, prev: Ints, following: Ints) -> Floats:
    """Standard deviation (H,) in A of a clamp ammeter's reading around its prediction."""
    gap = np.maximum(np.abs(predicted - predicted[prev]), np.abs(predicted - predicted[following]))
    return np.asarray(np.sqrt(
        ((CLAMP_GAIN**2 + CURRENT_SHARE**2) * predicted**2) + CLAMP_OFFSET_A**2 + (BETWEEN_SEVERITIES * gap) ** 2
    ))


def ohm_scale(ohm: Floats) -> Floats:
    """log10 of what an ohmmeter shows, leads included; open is 7."""
    return np.asarray(np.log10(np.minimum(np.where(np.isfinite(ohm), ohm, 1e7), 1e7) + OHM_LEADS))


def ohm_sigma(mu: Floats, prev: Ints, following: Ints) -> Floats:
    """Standard deviation (H,) of an ohmmeter's reading around its prediction, both on that scale."""
    gap = np.maximum(np.abs(mu - mu[prev]), np.abs(mu - mu[following]))
    leads = OHM_LEADS / (10**mu * np.log(10))
    insulation = np.where(mu > INSULATION_FROM, INSULATION_DECADES, 0.0)
    return np.asarray(np.sqrt(OHM_DECADES**2 + leads**2 + insulation**2 + (BETWEEN_SEVERITIES * gap) ** 2))


def value_loglik(
    predicted: Floats, value: Value, reading: Reading, emf: float, supply_measured: bool, prev: Ints, following: Ints
) -> Floats:
    """ln probability (H,) of a reading; rows without a usable prediction count as stray."""
    row = reading.test.row
    if value.told_nothing:  # "could not do it" tells nothing
        return np.zeros(len(predicted))
    usable = np.isfinite(predicted) if not row.log_scale else np.ones(len(predicted), dtype=bool)
    if row.shows_light:
        words = value.seen.words if value.seen else frozenset(WORDS)
        return np.asarray(np.log(word_probability(predicted, words)))
    if row.log_scale:
        mu = ohm_scale(predicted)
        sigma = ohm_sigma(mu, prev, following)
        low, high = (float(ohm_scale(np.array(x))) for x in (value.low, value.high))
        if not value.is_range:
            low, high = low - 0.02, high + 0.02
        if np.isinf(value.high):
            low, high = min(low, 6.3) if value.low == value.high else low, np.inf
        return _loglik(low, high, mu, sigma, (-1.0, 7.5))
    low, high = value.low, value.high
    if not value.is_range:
        low, high = low - value.resolution / 2, high + value.resolution / 2
    mu = np.where(usable, predicted, 0.0)
    if not row.of_supply:
        p = _loglik(low, high, mu, current_sigma(mu, prev, following), (-0.1, MOST_A))
        return np.where(usable, p, undescribed_value(value, reading.test.kind, emf))
    sigma = reading_sigma(mu, emf, supply_measured, prev, following)
    p = _loglik(low, high, mu, sigma, (-1.2 * emf, 1.2 * emf))
    return np.where(usable, p, undescribed_value(value, reading.test.kind, emf))


def _loglik(low: float, high: float, mu: Floats, sigma: Floats, span: tuple[float, float]) -> Floats:
    """Of a reading that no vehicle gives as well: all hypotheses may find it so, and one has to be left."""
    return np.maximum(interval_loglik(low, high, mu, sigma, STRAY_SHARE, span), IMPOSSIBLE)


def wiggled_loglik(
    predicted: Floats, sound: float, value: Value, kind: TestKind, emf: float
) -> tuple[Floats, Floats]:
    """ln probability (H,) of a reading that moved while something was wiggled: of a fault that stays, and of one that
    comes and goes. That one takes the reading from what the fault shows to what a sound vehicle shows and back,
    with everything between; of one that stays, something else was moved."""
    if KINDS[kind].log_scale:
        low, high, shown, healthy = (ohm_scale(np.asarray(x)) for x in (value.low, value.high, predicted, sound))
        loose = 4 * OHM_DECADES
    else:
        low, high, shown, healthy = np.asarray(value.low), np.asarray(value.high), predicted, np.asarray(sound)
        loose = 2 * SUPPLY_SHARE * emf + JOINT_V
    least, most = np.minimum(shown, healthy), np.maximum(shown, healthy)
    moves = np.nan_to_num(most - least, nan=0.0, posinf=0.0)
    reached = (low > least - loose) & (high < most + loose) & (high - low > WIGGLED_PART * moves) & (moves > loose)
    now_and_then = np.log(np.where(reached, 1 - WIGGLED_ELSE, WIGGLED_ELSE))
    return np.full(len(predicted), np.log(WIGGLED_ELSE)), np.asarray(now_and_then)


def undescribed_value(value: Value, kind: TestKind, emf: float) -> float:
    """ln probability of a reading under "not described": uniform over what the meter may show."""
    if value.told_nothing:
        return 0.0
    if value.wiggled:
        return float(np.log(WIGGLED_UNDESCRIBED))
    row = KINDS[kind]
    if row.by_hand:
        p = MOVES_UNDESCRIBED if row.moves else FOUND_UNDESCRIBED  # at the end of a wire as in sight
        return float(np.log(p if value.found else 1 - p))
    if row.shows_light:
        return float(np.log(len(value.seen.words) / len(WORDS))) if value.seen else 0.0
    if row.log_scale:
        if np.isinf(value.high):
            return float(np.log(0.3))
        low, high = (float(ohm_scale(np.array(x))) for x in (value.low, value.high))
        return float(np.log(max(high - low, 0.04) / 8.0))  # the scale ends at 7
    width = value.high - value.low if value.is_range else value.resolution
    if not row.of_supply:
        return float(np.log(min(width / MOST_A, 1.0)))
    return float(np.log(min(width / (1.3 * emf), 1.0)))
