"""Posteriors against exact inference by pgmpy, a general-purpose library for Bayesian networks.

The library eliminates variables in a network; the ranking adds up rows of a table. Both are given the same
numbers and must give the same shares to 1e-6. Where a number comes from a distribution it is computed here
by scipy. The systems are random, with fixed seeds.
"""

from __future__ import annotations

import itertools
import warnings
from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from tests.long import rest_long
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.file.text import read_harness
from tracer.inference.bayes import group_shares, ordered_word_probabilities, posterior, reading_loglik
from tracer.inference.diagnose import Investigator
from tracer.inference.unmodelled_cause import AT_ODDS, TOUCHED, TOUCHED_WEIGHTS
from tracer.inference.word_model import (
    CARELESS_SHARE,
    CARELESS_SLIP,
    COMPLAINT_SLIP,
    GLOW_BORDER_BY_DAY,
    KNOWN_WITHIN,
    SAME_AGAIN,
    SHIFT_WEIGHTS,
    SHIFTS,
    WORD_BORDERS,
    WORD_SLIP,
    WORD_SOFTNESS,
)
from tracer.observation.evidence import WORDS, LampSeen, Symptom

Floats = NDArray[np.float64]
TOLERANCE = 1e-6


def infer(
    tables: Mapping[str, tuple[Sequence[str], ArrayLike]], wanted: str, evidence: Mapping[str, int]
) -> Floats:
    """pgmpy's P(wanted | evidence). `tables`: variable -> (parents, P (states, parents' states …))."""
    with warnings.catch_warnings():  # taken in here, since every worker reads this file and one or two need it
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

    network = DiscreteBayesianNetwork()
    network.add_nodes_from(tables)
    network.add_edges_from((parent, child) for child, (parents, _) in tables.items() for parent in parents)
    states = {name: np.shape(table)[0] for name, (_, table) in tables.items()}
    for name, (parents, table) in tables.items():
        flat = np.asarray(table, dtype=float).reshape(states[name], -1)
        cards = [states[p] for p in parents]
        network.add_cpds(TabularCPD(name, states[name], flat, list(parents) or None, cards or None))
    found = VariableElimination(network).query([wanted], dict(evidence), show_progress=False)
    return np.asarray(found.values, dtype=float)


def chances(rng: np.random.Generator, outcomes: int, *parents: int) -> Floats:
    """A random table of probabilities: along axis 0 it sums to one; some entries are very small."""
    table = rng.gamma(0.3, size=(outcomes, *parents)) + 1e-12
    return np.asarray(table / table.sum(axis=0))


@pytest.mark.parametrize("seed", rest_long(range(40), 15))
def test_faults_with_severities_words_and_a_meter(seed: int) -> None:
    """Fault -> severity -> lamps called by words and a voltmeter; a share for "not described"."""
    rng = np.random.default_rng(seed)
    faults, severities, lamps = int(rng.integers(2, 7)), int(rng.integers(1, 5)), int(rng.integers(0, 4))
    undescribed = float(rng.choice([0.01, 0.1]))
    prior = chances(rng, faults)[:, ...]
    weight = chances(rng, severities, faults)
    flux = rng.uniform(-3.5, 0.5, (faults, severities, lamps))
    volts, sigma, step, stray = rng.uniform(0, 13, (faults, severities)), 0.4, 0.1, 0.03
    shown = np.arange(-50, 181) * step
    tail = (shown[0] - step / 2, shown[-1] + step / 2)

    # The fault variable has one more state, "not described", under which any word and any reading may come.
    beyond = np.full((severities, 1), 1 / severities)
    tables: dict[str, tuple[Sequence[str], ArrayLike]] = {
        "fault": ((), np.append(prior * (1 - undescribed), undescribed)),
        "severity": (("fault",), np.hstack([weight, beyond])),
    }
    edges = np.concatenate([[-np.inf], WORD_BORDERS, [np.inf]])
    soft = np.concatenate([[1.0], WORD_SOFTNESS, [1.0]])
    words = len(WORDS)
    slip = 0.02
    for k in range(lamps):
        below = norm.cdf((edges[:, None, None] - flux[None, :, :, k]) / soft[:, None, None])
        sure = np.diff(np.maximum.accumulate(below, axis=0), axis=0)
        said = np.concatenate([(1 - slip) * sure + slip / words, np.full((words, 1, severities), 1 / words)], axis=1)
        tables[f"lamp {k}"] = (("fault", "severity"), said)
    inside = norm.cdf((shown[:, None, None] + step / 2 - volts) / sigma) - norm.cdf(
        (shown[:, None, None] - step / 2 - volts) / sigma
    )
    flat = np.full((len(shown), 1, severities), 1 / len(shown))
    table = np.concatenate([(1 - stray) * inside + stray / len(shown), flat], axis=1)
    tables["meter"] = (("fault", "severity"), table / table.sum(axis=0))
    seen = {f"lamp {k}": int(rng.integers(words)) for k in range(lamps)}
    seen["meter"] = int(rng.integers(40, 190))
    expected = infer(tables, "fault", seen)

    rows = [
        np.log(ordered_word_probabilities(flux[..., k], WORD_BORDERS, WORD_SOFTNESS, slip)[..., seen[f"lamp {k}"]])
        .ravel()
        for k in range(lamps)
    ]
    rows.append(reading_loglik(float(shown[seen["meter"]]), volts.ravel(), sigma, step, stray, tail))
    outside = [np.log(1 / words)] * lamps + [np.log(1 / len(shown))]
    found = posterior((prior[:, None] * weight.T).ravel(), rows, undescribed, outside)
    by_fault = group_shares(found.share, np.repeat(np.arange(faults), severities).tolist())
    assert [by_fault[f] for f in range(faults)] == pytest.approx(expected[:-1], abs=TOLERANCE)
    assert found.undescribed == pytest.approx(expected[-1], abs=TOLERANCE)


@pytest.mark.parametrize("seed", range(20))
def test_several_faults_at_once(seed: int) -> None:
    """Independent parts with modes, each observation depending on some of them (de Kleer & Williams 1989:
    behavioural modes): shares of mode sets add up to the library's marginals."""
    rng = np.random.default_rng(1000 + seed)
    parts = [f"part {n}" for n in range(int(rng.integers(2, 6)))]
    modes = {p: int(rng.integers(2, 4)) for p in parts}
    tables: dict[str, tuple[Sequence[str], ArrayLike]] = {p: ((), chances(rng, modes[p])) for p in parts}
    seen = {}
    for n in range(int(rng.integers(1, 6))):
        parents = [str(p) for p in rng.choice(parts, int(rng.integers(1, min(3, len(parts)) + 1)), replace=False)]
        outcomes = int(rng.integers(2, 5))
        tables[f"sign {n}"] = (parents, chances(rng, outcomes, *(modes[p] for p in parents)))
        seen[f"sign {n}"] = int(rng.integers(outcomes))

    sets = [dict(zip(parts, m, strict=True)) for m in itertools.product(*(range(modes[p]) for p in parts))]
    prior = [np.prod([np.asarray(tables[p][1])[s[p]] for p in parts]) for s in sets]
    rows = [
        np.log([np.asarray(tables[sign][1])[(seen[sign], *(s[p] for p in tables[sign][0]))] for s in sets])
        for sign in seen
    ]
    share = posterior(prior, rows).share
    for part in parts:
        ours = group_shares(share, [s[part] for s in sets])
        theirs = infer(tables, part, seen)
        assert [ours[m] for m in range(modes[part])] == pytest.approx(theirs, abs=TOLERANCE)


LAMPS = """\
harness: Two lamps and a switch, invented
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m}
controls: {lights: [off, on], brake: [released, pressed]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  light switch: {kind: switch, control: lights, contacts: {on: [30-58]}}
  brake switch: {kind: switch, control: brake, contacts: {pressed: [30-54]}}
  left: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
  right: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
splices: {S1: dash, S2: rear, S3: rear}
earths: {E1: battery, E2: left, E3: right}
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > S1
  - S1 > light switch.30
  - S1 > brake switch.30
  - light switch.58 > S2
  - S2 > left.tail
  - S2 > right.tail
  - brake switch.54 > S3
  - S3 > left.stop
  - S3 > right.stop
  - left.earth > E2
  - right.earth > E3
"""


@cache
def two_lamps() -> Investigator:
    return Investigator(read_harness(LAMPS, "two lamps"))


def vocabulary(usual: int) -> Floats:
    """(words, WORDS) which of WORDS each word stands for, of a lamp whose usual word in that state is `usual`: where
    it should be dark, "normal" and "bright" both say that it is lit."""
    if usual > 0:
        return np.eye(5)
    return np.array([[1, 0, 0, 0, 0], [0, 1, 0, 0, 0], [0, 0, 1, 0, 0], [0, 0, 0, 1, 1]], dtype=float)


def said_after(
    sure: Floats, slip: float, own: Floats, now: Floats, others: Sequence[tuple[Floats, Floats]],
    beside: tuple[Floats, Floats] | None = None,
) -> Floats:
    """P(word | cause, eye, words of earlier looks at that lamp …) from the eye's P(one of WORDS | cause, eye) and its
    slips. What was said last of a light within a tenth of a decade is said again, as far as the eye had said it; of
    a word that stands for two, the one it had in mind. `now` is the vocabulary; `others` have flux and theirs.
    `beside` is the like lamp of the other side, named a moment ago: a light that differs from it by less than an
    eighth is called the same again, a brighter one that or a word of more light, a darker one that or of less."""
    of_others = [*others] if beside is None else [*others, beside]
    share = 1 / len(now)
    each = (now / now.sum(axis=1, keepdims=True)).sum(axis=0) * share  # of WORDS, by a slip
    said = (1 - slip) * np.tensordot(now, sure, 1) + slip * share
    shape = (*said.shape, *[len(then) for _, then in of_others])
    out = np.broadcast_to(said.reshape(*said.shape, *[1] * len(of_others)), shape).copy()
    last = np.full(len(own), -1)
    for n, (other, _) in enumerate(others):
        last[np.abs(np.rint(tenths(own)) - tenths(other)) < 1] = n
    groups = [(n, np.flatnonzero(last == n), then) for n, (_, then) in enumerate(others)]
    if beside is not None:
        more = own - beside[0]
        upward = (np.cumsum(beside[1], axis=1) > 0).astype(float)
        downward = (np.cumsum(beside[1][:, ::-1], axis=1)[:, ::-1] > 0).astype(float)
        for which, then in ((np.abs(more) < 0.05, beside[1]), (more >= 0.05, upward), (more <= -0.05, downward)):
            groups.append((len(others), np.flatnonzero(which & (last == -1)), then))
    for n, rows, then in groups:
        for v, stood_for in enumerate(then):
            in_mind = stood_for[:, None, None] * sure[:, rows]
            of_these = in_mind.sum(axis=0)
            by_eye = (1 - WORD_SLIP) * of_these
            sticks = SAME_AGAIN * by_eye / (by_eye + WORD_SLIP * each @ stood_for)
            one_of = np.tensordot(now, in_mind, 1) / np.maximum(of_these, 1e-300)
            again = said[:, rows] + sticks * ((1 - slip) * one_of + slip * share - said[:, rows])
            part = np.moveaxis(out, 3 + n, 0)[v]  # a view: everything after that word was said there
            part[:, rows] = again.reshape(*again.shape, *[1] * (len(of_others) - 1))
    return out


def tenths(flux: Floats) -> Floats:
    """Brightness in tenths of a decade, as far as the eye tells it apart."""
    return np.asarray((np.clip(flux, -3.0, 0.8) + 3.0) / 0.1)


@pytest.mark.parametrize("seed", [*range(12), 38, 57, 86])
def test_a_lamp_circuit(seed: int) -> None:
    """The whole way: the shares of a diagnosis equal a network made of its faults, severities and lamps. (In the last
    three seeds a light is called normal or bright where the lamp should be dark, and then where it should be lit.)"""
    rng = np.random.default_rng(2000 + seed)
    investigator = two_lamps()
    harness, predictor = investigator.harness, investigator.predictor
    single = investigator.singles
    both = {"lights": "on", "brake": "pressed"}
    states = [harness.state(s) for s in ({}, {"lights": "on"}, {"brake": "pressed"}, both)]
    symptoms = []
    for state in states:
        chosen = rng.choice(len(predictor.lamps), int(rng.integers(1, 3)), replace=False)
        # What one of the faults would show, so that something fits; a word at random now and then.
        row = predictor.table([single[int(rng.integers(len(single)))].change])
        flux = predictor.panel(predictor.setup(state), row).flux[0]
        nearest = np.searchsorted(WORD_BORDERS, flux[chosen])
        # Who finds a lamp fully lit that should be dark may say bright.
        dark = predictor.healthy(state).flux[0, chosen] < WORD_BORDERS[0]
        nearest[dark & (nearest == 3) & (rng.random(len(chosen)) < 0.5)] = 4
        heard = [int(rng.integers(5)) if rng.random() < 0.1 else int(n) for n in nearest]
        lamps = tuple(
            LampSeen(predictor.lamps[int(i)].lamp, frozenset([WORDS[n]])) for i, n in zip(chosen, heard, strict=True)
        )
        symptoms.append(Symptom(state, lamps, asked=True))  # the question chose the lamps

    repairs = list(dict.fromkeys(h.repair for h in single))
    prior = np.array([h.prior for h in single])
    tables: dict[str, tuple[Sequence[str], ArrayLike]] = {
        "cause": ((), np.append(prior / prior.sum() * (1 - UNDESCRIBED), UNDESCRIBED)),
        "repair": (("cause",), np.array(
            [[float(h.repair == r) for h in single] + [0.0] for r in repairs] + [[0.0] * len(single) + [1.0]]
        )),
        # What all judgements share: an eye's borders, or carelessness.
        "eye": ((), np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)),
        # What the file does not describe touches a share of the lamps; each of those is at odds always or at times.
        "share touched": ((), TOUCHED_WEIGHTS),
    }
    for filament in predictor.lamps:
        at_odds = [TOUCHED / len(AT_ODDS)] * len(AT_ODDS)
        tables[f"{filament.lamp} touched"] = (("share touched",), [1 - TOUCHED, *at_odds])
    found = investigator.diagnose(symptoms, pairs=False)
    seen = {}
    table = predictor.table([h.change for h in single])
    edges = np.concatenate([[-np.inf], WORD_BORDERS, [np.inf]])
    by_day = np.concatenate([[-np.inf, np.log10(GLOW_BORDER_BY_DAY)], edges[2:]])
    soft = np.concatenate([[1.0], WORD_SOFTNESS, [1.0]])
    earlier: dict[int, list[tuple[str, Floats, Floats]]] = {}  # looks at each lamp, its flux, the vocabulary
    for e in np.argsort(found.healthy, kind="stable"):  # the oddest is heard first
        symptom = symptoms[e]
        panel = predictor.panel(predictor.setup(symptom.state), table)
        healthy = predictor.healthy(symptom.state)
        at_once: dict[int, tuple[str, Floats, Floats]] = {}
        for look in symptom.seen:
            assert isinstance(look, LampSeen)
            lamp = predictor.lamp_index[look.lamp]
            # A complaint (a word that a healthy lamp would not get) is seldom a slip.
            usual = int(np.diff(norm.cdf((edges - healthy.flux[0, lamp]) / soft)).argmax())
            words = vocabulary(usual)
            word = int(words[:, WORDS.index(min(look.words))].argmax())
            slip = WORD_SLIP if word == usual else COMPLAINT_SLIP
            own = panel.flux[:, lamp]
            flux = own[None, :, None] + np.array([*SHIFTS, 0.0])
            # Nobody said by what light: half the looks are by day, when a glow is seen from another border on.
            below = [norm.cdf((e[:, None, None] - flux) / soft[:, None, None]) for e in (edges, by_day)]
            sure = np.mean([np.diff(np.maximum.accumulate(b, axis=0), axis=0) for b in below], axis=0)
            # A light that is as it always was is known, and called what it always is, by every eye.
            apart = np.maximum(own, -4.0) - max(float(healthy.flux[0, lamp]), -4.0)
            known = np.exp(-0.5 * (apart / KNOWN_WITHIN) ** 2)[:, None]
            sure = (1 - known) * sure + known * np.eye(5)[usual][:, None, None]
            other = investigator.sayable.mirror(lamp)
            like = at_once.get(other) if other is not None else None
            others = [(f, w) for _, f, w in earlier.get(lamp, [])]
            said = said_after(sure, slip, own, words, others, like and like[1:])
            anything = 1 / len(words)
            said[:, :, -1] = (1 - CARELESS_SLIP) * said[:, :, -1] + CARELESS_SLIP * anything
            name = f"{look.lamp} in {symptom.state}"
            before = [n for n, _, _ in earlier.get(lamp, [])] + ([like[0]] if like else [])
            # If the cause is not described, an untouched lamp is as ever, by both kinds of people.
            sound = (1 - slip) * words[:, usual] + slip * anything
            careless = (1 - CARELESS_SLIP) * sound + CARELESS_SLIP * anything
            untouched = np.repeat(np.array([sound, careless]), [len(SHIFTS), 1], axis=0).T
            ways = [untouched, *[np.repeat(((1 - r) * sound + r * anything)[:, None], 4, axis=1) for r in AT_ODDS]]
            beyond = np.stack(ways, axis=-1).reshape(len(words), 1, 4, *[1] * len(before), 3)
            beyond = np.broadcast_to(beyond, (len(words), 1, *said.shape[2:], 3))
            described = np.repeat((said / said.sum(axis=0))[..., None], 3, axis=-1)
            tables[name] = (("cause", "eye", *before, f"{look.lamp} touched"), np.hstack([described, beyond]))
            seen[name] = word
            earlier.setdefault(lamp, []).append((name, own, words))
            at_once[lamp] = name, own, words

    expected = infer(tables, "repair", seen)
    shares = {s.repair: s.share for s in found.suspects}
    # The brightness scale is kept on a grid of 0.0005 decades, which costs up to 1e-4 of a probability.
    assert [shares[r] for r in repairs] == pytest.approx(expected[:-1], abs=3e-4)
    assert found.undescribed == pytest.approx(expected[-1], abs=3e-4)
    assert found.share.sum() + found.undescribed == pytest.approx(1.0, abs=1e-9)
