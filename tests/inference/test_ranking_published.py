"""Ranking and hitting sets against published systems and closed forms; the source stands at each check."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Mapping
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hitting_sets import minimal_hitting_sets, minimal_sets
from tracer.inference.bayes import (
    brier,
    expected_calibration_error,
    group_shares,
    interval_loglik,
    log_loss,
    ordered_word_probabilities,
    passed_test_probability,
    posterior,
    reading_loglik,
    tempered,
)
from tracer.planning.engine import entropy_bits, information_gain

Sets = set[frozenset[str]]


def family(text: str) -> Sets:
    return {frozenset(member.split(",")) for member in text.split()}


# --- Small systems: gates that, when faulty, may put out anything -------------------------------------

Gates = Mapping[str, tuple[Callable[..., int], tuple[str, ...]]]


def explains(gates: Gates, inputs: Mapping[str, int], seen: Mapping[str, int], faulty: frozenset[str]) -> bool:
    """Can free outputs of the faulty gates give what was seen?"""
    for free in itertools.product((0, 1), repeat=len(faulty)):
        forced = dict(zip(sorted(faulty), free, strict=True))
        value = dict(inputs)
        for name, (function, ends) in gates.items():
            value[name] = forced[name] if name in forced else function(*(value[end] for end in ends))
        if all(value[name] == shown for name, shown in seen.items()):
            return True
    return False


def conflicts_and_diagnoses(names: list[str], consistent: Callable[[frozenset[str]], bool]) -> tuple[Sets, Sets]:
    """Minimal sets that cannot all be sound, and (by enumeration, without hitting sets) diagnoses."""
    subsets = [frozenset(c) for n in range(len(names) + 1) for c in itertools.combinations(names, n)]
    possible = [s for s in subsets if consistent(s)]
    impossible = [frozenset(names) - s for s in subsets if s not in set(possible)]
    return set(minimal_sets(impossible)), set(minimal_sets(possible))


def test_reiter_hitting_set_tree() -> None:
    # R. Reiter, Artificial Intelligence 32 (1987), the example of the hitting-set tree.
    conflicts = [{2, 4, 5}, {1, 2, 3}, {1, 3, 5}, {2, 4, 6}, {2, 4}, {2, 3, 5}, {1, 6}]
    expected = [{1, 2}, {1, 3, 4}, {1, 4, 5}, {2, 3, 6}, {2, 5, 6}, {3, 4, 6}]
    assert minimal_hitting_sets(conflicts) == [frozenset(s) for s in expected]
    assert minimal_hitting_sets(conflicts, max_size=2) == [frozenset({1, 2})]


@settings(max_examples=200)
@given(st.lists(st.sets(st.integers(0, 6), min_size=0, max_size=4), max_size=7), st.integers(0, 7))
def test_hitting_sets_equal_enumeration(conflicts: list[set[int]], size: int) -> None:
    # Definition of a minimal hitting set, by trying all 128 subsets; the families need not be minimal.
    every = [frozenset(c) for n in range(8) for c in itertools.combinations(range(7), n)]
    hitting = [s for s in every if all(s & conflict for conflict in conflicts)]
    minimal = {s for s in hitting if not any(other < s for other in hitting)}
    assert set(minimal_hitting_sets(conflicts)) == minimal
    assert set(minimal_hitting_sets(conflicts, max_size=size)) == {s for s in minimal if len(s) <= size}


def test_full_adder() -> None:
    # R. Reiter, Artificial Intelligence 32 (1987): inputs 1, 0, carry 1; sum 1 and carry 0 seen.
    gates: Gates = {
        "X1": (lambda a, b: a ^ b, ("a", "b")),
        "A1": (lambda a, b: a & b, ("a", "b")),
        "X2": (lambda a, b: a ^ b, ("X1", "c")),
        "A2": (lambda a, b: a & b, ("X1", "c")),
        "O1": (lambda a, b: a | b, ("A1", "A2")),
    }
    conflicts, diagnoses = conflicts_and_diagnoses(
        list(gates), lambda s: explains(gates, {"a": 1, "b": 0, "c": 1}, {"X2": 1, "O1": 0}, s)
    )
    assert conflicts == family("X1,X2 X1,A2,O1")
    assert diagnoses == family("X1 X2,A2 X2,O1")
    assert set(minimal_hitting_sets(conflicts)) == diagnoses


C17: Gates = {
    name: (lambda a, b: 1 - a * b, ends)
    for name, ends in {
        "10": ("1", "3"), "11": ("3", "6"), "16": ("2", "11"), "19": ("11", "7"), "22": ("10", "16"),
        "23": ("16", "19"),
    }.items()
}
C17_INPUTS = ("1", "2", "3", "6", "7")


def c17(inputs: Mapping[str, int], line: str = "", pin: tuple[str, int] | None = None, stuck: int = 0) -> str:
    """Outputs with one line stuck: a whole net, or only the branch of it that ends at one gate input."""
    value = {name: stuck if name == line and pin is None else v for name, v in inputs.items()}
    for name, (function, ends) in C17.items():
        shown = [stuck if pin == (name, k) and end == line else value[end] for k, end in enumerate(ends)]
        value[name] = stuck if name == line and pin is None else function(*shown)
    return f"{value['22']}{value['23']}"


def test_c17_stuck_at_faults() -> None:
    # F. Brglez, H. Fujiwara, ISCAS 1985: 17 lines, 22 faults left after collapsing equivalent ones.
    loads: dict[str, list[tuple[str, int]]] = {}
    for name, (_, ends) in C17.items():
        for k, end in enumerate(ends):
            loads.setdefault(end, []).append((name, k))
    lines: list[tuple[str, tuple[str, int] | None]] = [(net, None) for net in (*C17_INPUTS, *C17)]
    lines += [(net, pin) for net, pins in loads.items() if len(pins) > 1 for pin in pins]
    vectors = [dict(zip(C17_INPUTS, bits, strict=True)) for bits in itertools.product((0, 1), repeat=5)]
    sound = tuple(c17(v) for v in vectors)
    responses = [
        tuple(c17(v, net, pin, stuck) for v in vectors) for net, pin in lines for stuck in (0, 1)
    ]
    assert len(lines) == 17
    assert len(responses) == 34
    assert sound not in responses
    assert len(set(responses)) == 22


def test_c17_minimal_diagnoses() -> None:
    # F. Brglez, H. Fujiwara, ISCAS 1985 (netlist); counts by enumeration of all wrong outputs.
    sizes: Counter[int] = Counter()
    for bits in itertools.product((0, 1), repeat=5):
        inputs = dict(zip(C17_INPUTS, bits, strict=True))
        for wrong in {"00", "01", "10", "11"} - {c17(inputs)}:
            seen = {"22": int(wrong[0]), "23": int(wrong[1])}
            conflicts, diagnoses = conflicts_and_diagnoses(
                list(C17), partial(explains, C17, inputs, seen)
            )
            found = minimal_hitting_sets(conflicts)
            assert set(found) == diagnoses
            sizes.update(len(s) for s in found)
            if bits == (0,) * 5 and wrong == "10":
                assert conflicts == family("10,16,22 10,22,23")
                assert diagnoses == family("10 22 16,23")
            if bits == (1,) * 5 and wrong == "00":
                assert conflicts == family("10,22")
    assert sizes == {1: 158, 2: 221, 3: 20}


# --- Three multipliers and two adders: J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) ---

POLYBOX = ["M1", "M2", "M3", "A1", "A2"]


def polybox_chance(faulty: frozenset[str], span: int, adder_span: int) -> dict[tuple[int, int, int], float]:
    """P(X, Y, Z and F = 10, G = 12 | faulty parts): a faulty part puts out 0..span-1 with equal chance."""
    choices = [
        [(v, 1 / span) for v in range(span)] if part in faulty else [(6, 1.0)] for part in ("M1", "M2", "M3")
    ]
    joint = {}
    for (x, px), (y, py), (z, pz) in itertools.product(*choices):
        f = 1 / adder_span if "A1" in faulty else float(x + y == 10)
        g = 1 / adder_span if "A2" in faulty else float(y + z == 12)
        if f * g > 0:
            joint[x, y, z] = px * py * pz * f * g
    return joint


def test_polybox_conflicts() -> None:
    conflicts, diagnoses = conflicts_and_diagnoses(POLYBOX, lambda s: bool(polybox_chance(s, 16, 32)))
    assert conflicts == family("A1,M1,M2 A1,A2,M1,M3")
    assert diagnoses == family("A1 M1 A2,M2 M2,M3")
    assert set(minimal_hitting_sets(conflicts)) == diagnoses
    subsets = [frozenset(c) for n in range(6) for c in itertools.combinations(POLYBOX, n)]
    assert sum(bool(polybox_chance(s, 16, 32)) for s in subsets) == 27


@pytest.mark.parametrize(
    ("adder", "multiplier", "shares", "entropy", "after"),
    [
        (0.01, 0.01, [0.4950, 0.4950, 0.0050, 0.0050], 1.0808, [0.0809, 1.0000, 1.0354]),
        (0.01, 0.03, [0.2388, 0.7312, 0.0074, 0.0226], 0.9996, [0.1598, 0.8052, 0.8437]),
    ],
)
def test_polybox_probe_choice(
    adder: float, multiplier: float, shares: list[float], entropy: float, after: list[float]
) -> None:
    odds = {name: p / (1 - p) for name in POLYBOX for p in [adder if name[0] == "A" else multiplier]}
    diagnoses = [["A1"], ["M1"], ["A2", "M2"], ["M2", "M3"]]
    found = posterior([math.prod(odds[part] for part in d) for d in diagnoses], np.zeros((1, 4)))
    assert found.share == pytest.approx(shares, abs=5e-5)
    assert entropy_bits(found.share) == pytest.approx(entropy, abs=5e-5)
    values = {"X": [6, 4, 6, 6], "Y": [6, 6, 4, 4], "Z": [6, 6, 6, 8]}
    left = []
    for shown in values.values():
        table = np.array([[float(v == k) for v in shown] for k in sorted(set(shown))])
        left.append(entropy_bits(found.share) - information_gain(found.share, range(4), table))
    assert left == pytest.approx(after, abs=5e-5)
    assert int(np.argmin(left)) == 0


@pytest.mark.parametrize(
    ("multiplier", "evidence", "entropy", "m1", "a1", "a1m1", "after"),
    [
        (0.01, 9.0560e-4, 0.9748, 0.6630, 0.3315, 0.0033, [0.0320, 0.9670, 0.9693]),
        (0.03, 2.0326e-3, 0.6883, 0.8507, 0.1389, 0.0043, [0.0672, 0.6675, 0.6699]),
    ],
)
def test_polybox_all_mode_sets(
    multiplier: float, evidence: float, entropy: float, m1: float, a1: float, a1m1: float, after: list[float]
) -> None:
    # Exact Bayes over all 32 sets of faulty parts (recomputed by enumeration outside this project).
    subsets = [frozenset(c) for n in range(6) for c in itertools.combinations(POLYBOX, n)]
    rate = {name: 0.01 if name[0] == "A" else multiplier for name in POLYBOX}
    prior = [math.prod(rate[n] if n in s else 1 - rate[n] for n in POLYBOX) for s in subsets]
    joint = [polybox_chance(s, 16, 32) for s in subsets]
    with np.errstate(divide="ignore"):
        found = posterior(prior, np.log([[sum(j.values()) for j in joint]]))
    assert math.exp(found.log_evidence) == pytest.approx(evidence, rel=1e-4)
    assert entropy_bits(found.share) == pytest.approx(entropy, abs=5e-5)
    share = dict(zip(subsets, found.share, strict=True))
    single = [share[frozenset(s)] for s in (["M1"], ["A1"], ["A1", "M1"])]
    assert single == pytest.approx([m1, a1, a1m1], abs=5e-5)
    left = []
    for axis in range(3):
        table = np.zeros((16, 32))
        for h, cells in enumerate(joint):
            for values, p in cells.items():
                table[values[axis], h] += p / sum(cells.values())
        left.append(entropy_bits(found.share) - information_gain(found.share, range(32), table))
    assert left == pytest.approx(after, abs=5e-5)
    if multiplier == 0.01:
        marginal = [sum(p for s, p in share.items() if name in s) for name in ("A1", "A2", "M1", "M2", "M3")]
        assert marginal == pytest.approx([0.3354, 0.0005, 0.6674, 0.0013, 0.0011], abs=5e-5)


# --- Posterior, likelihoods, scores ------------------------------------------------------------------


def test_part_shares_can_outrank_the_first_diagnosis() -> None:
    # R. Stern, M. Kalech, S. Rogov, A. Feldman, AAAI 2015: {C1,C2} leads with .2, but C3 is in five of .16.
    diagnoses = [("C1", "C2"), ("C3", "C4"), ("C3", "C5"), ("C3", "C6"), ("C3", "C7"), ("C3", "C8")]
    share = posterior([0.2] + [0.16] * 5, np.zeros((0, 6))).share
    assert diagnoses[int(share.argmax())] == ("C1", "C2")
    by_part = group_shares(share, ["C3" if "C3" in d else "other" for d in diagnoses])
    assert by_part == pytest.approx({"C3": 0.8, "other": 0.2})
    assert list(by_part) == ["C3", "other"]


@given(
    st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=8), st.integers(0, 5), st.floats(0.0, 0.9),
    st.integers(0, 2**32 - 1),
)
def test_posterior_sums_to_one_and_ignores_the_order(
    prior: list[float], pieces: int, beyond: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    table, outside = rng.normal(-300, 200, (pieces, len(prior))), rng.normal(-300, 200, pieces)
    found = posterior(prior, table, beyond, outside)
    assert found.share.sum() + found.undescribed == pytest.approx(1.0, abs=1e-12)
    assert found.surprise.sum() == pytest.approx(-found.log_evidence, abs=1e-9)
    order = rng.permutation(pieces)
    again = posterior(prior, table[order], beyond, outside[order])
    assert again.share == pytest.approx(found.share, rel=1e-9, abs=1e-300)
    # What was not looked at is no evidence.
    blank = posterior(prior, np.vstack([table, np.zeros(len(prior))]), beyond, np.append(outside, 0.0))
    assert blank.share == pytest.approx(found.share, rel=1e-12, abs=1e-300)


def test_impossible_evidence_is_refused() -> None:
    nothing = np.full((1, 2), -np.inf)
    with pytest.raises(ValueError, match="impossible"):
        posterior([1.0, 1.0], nothing)
    assert posterior([1.0, 1.0], nothing, 0.01, [math.log(1e-3)]).undescribed == 1.0
    with pytest.raises(ValueError, match="undescribed_loglik"):
        posterior([1.0, 1.0], np.zeros((2, 2)), 0.1, [0.0])
    with pytest.raises(ValueError, match="NaN"):
        posterior([1.0, 1.0], [[np.nan, 0.0]])


def test_three_fault_posterior_after_a_noisy_test() -> None:
    # Priors .5 .3 .2, errors 5 %; own calculation; pgmpy gives the same.
    first = np.log([0.05, 0.95, 0.95])
    second = np.log([0.95, 0.95, 0.05])
    assert posterior([0.5, 0.3, 0.2], [first]).share == pytest.approx([0.05, 0.57, 0.38], abs=5e-5)
    assert posterior([0.5, 0.3, 0.2], [first, second]).share == pytest.approx([0.0781, 0.8906, 0.0313], abs=5e-5)


@pytest.mark.parametrize(
    ("flux", "row"),
    [
        (1.0, [0.0050, 0.0109, 0.8696, 0.1144]),
        (0.62, [0.0050, 0.2188, 0.7697, 0.0066]),
        (0.50, [0.0050, 0.4950, 0.4949, 0.0051]),
        (0.20, [0.0050, 0.9846, 0.0054, 0.0050]),
        (0.003, [0.4950, 0.4950, 0.0050, 0.0050]),
        (1.8, [0.0050, 0.0050, 0.1829, 0.8071]),
        (0.0, [0.9850, 0.0050, 0.0050, 0.0050]),
    ],
)
def test_brightness_words(flux: float, row: list[float]) -> None:
    # Ordered probit with lapse (P. McCullagh 1980), borders .003, .5, 1.4, s = .12 decade, slip .02.
    with np.errstate(divide="ignore"):
        x = np.log10(flux)
    words = ordered_word_probabilities(x, np.log10([0.003, 0.5, 1.4]), 0.12, 0.02)
    assert words == pytest.approx(row, abs=5.1e-5)


def test_words_stay_probabilities_when_borders_differ_in_softness() -> None:
    x = np.linspace(-12, 12, 400)
    words = ordered_word_probabilities(x, [-1.0, 0.0, 0.5], [3.0, 0.1, 1.0], 0.0)
    assert words.shape == (400, 4)
    assert words.min() >= 0.0
    assert words.sum(axis=1) == pytest.approx(np.ones(400), abs=1e-12)


def test_meter_reading() -> None:
    # Normal distribution over the display step: mu 12.3, sigma .3, step .1 -> .1324 (own calculation).
    assert np.exp(reading_loglik(12.3, [12.3], 0.3, 0.1)) == pytest.approx([0.1324], abs=5e-5)
    steps = np.exp([reading_loglik(k / 10, [12.3, 0.0], [0.3, 0.05], 0.1, 0.02, (-0.05, 15.05))
                    for k in range(-30, 181)])
    assert steps.sum(axis=0) == pytest.approx([1.0, 1.0], abs=1e-9)
    # Far from every prediction only the stray readings are left: .02 over 151 display steps.
    assert np.exp(reading_loglik(6.0, [12.3], 0.1, 0.1, 0.02, (-0.05, 15.05))) == pytest.approx(0.02 / 151)
    # Nine sigma up the right tail: Phi(-9) - Phi(-10) = 1.1286e-19 (tables of the normal integral).
    assert np.exp(interval_loglik(9.0, 10.0, [0.0], 1.0)) == pytest.approx(1.12858e-19, rel=1e-4)
    assert interval_loglik(-np.inf, np.inf, [3.0], 1.0) == pytest.approx([0.0], abs=1e-12)
    assert np.exp(interval_loglik(11.0, np.inf, [11.0], 1.0)) == pytest.approx([0.5])


def test_leak_takes_what_nothing_explains() -> None:
    # Reference 6.3: densities over 0..15 V, leak .05, sigma .3.
    prior, volts, outside = [0.40, 0.35, 0.20], [12.3, 9.0, 0.0], [math.log(1 / 15)]
    at_nine = posterior(prior, [reading_loglik(9.3, volts, 0.3, 0.0)], 0.05, outside)
    assert at_nine.share[1] == pytest.approx(0.9883, abs=5e-5)
    assert at_nine.undescribed == pytest.approx(0.0117, abs=5e-5)
    at_five = posterior(prior, [reading_loglik(5.0, volts, 0.3, 0.0)], 0.05, outside)
    assert at_five.undescribed > 0.999
    # Without a leak the nonsense is certain, and the surprise is what gives it away.
    closed = posterior(prior, [reading_loglik(5.0, volts, 0.3, 0.0)])
    assert closed.share[1] > 0.9999
    assert closed.surprise[0] > 80.0
    assert at_nine.surprise[0] < 2.0


def test_intermittent_fault() -> None:
    # Reference 6.4: awake 30 % of the time, prior .5.
    shares = [
        posterior([0.5, 0.5], [[math.log(passed_test_probability(0.3, n)), 0.0]]).share[0] for n in (1, 3, 6, 10)
    ]
    assert shares == pytest.approx([0.4118, 0.2554, 0.1053, 0.0275], abs=5e-5)


def test_scores() -> None:
    # G. W. Brier 1950; log loss and calibration error by their definitions.
    p = [[0.7, 0.2, 0.1], [0.5, 0.3, 0.2], [0.2, 0.6, 0.2], [0.1, 0.1, 0.8], [0.4, 0.35, 0.25]]
    truth = [0, 1, 1, 2, 2]
    assert brier(p, truth) == pytest.approx(0.4130, abs=5e-5)
    assert log_loss(p, truth) == pytest.approx(0.7362, abs=5e-5)
    assert expected_calibration_error(p, truth, bins=5) == pytest.approx(0.3600, abs=5e-5)


def test_handbook_rates_become_a_prior() -> None:
    # MIL-HDBK-217F, lamps: .074 V^1.29 per 1e6 h × utilisation × current type × environment.
    base = {volts: 0.074 * volts**1.29 for volts in (12, 28)}
    assert base[28] == pytest.approx(5.4458, rel=1e-4)
    assert 0.72 * base[28] == pytest.approx(3.9, rel=0.01)  # its own table: 28 V, AC, ground benign
    lamp = base[12] * 0.72 * 3.3 * 3
    assert lamp == pytest.approx(13.01, abs=5e-3)
    rates = [lamp, 0.11, 0.018, 0.018, 0.0018]  # connector, toggle switch, solder, crimp: parts count
    assert 100 * tempered(rates, 1.0) == pytest.approx([98.9, 0.84, 0.14, 0.14, 0.01], abs=0.05)
    assert tempered([*rates, 0.0], 0.0) == pytest.approx([0.2] * 5 + [0.0])
    flat = tempered(rates, 0.5)
    assert np.all(np.diff(flat) <= 0)
    assert flat[0] / flat[1] == pytest.approx(math.sqrt(lamp / 0.11))


def test_shares_are_calibrated_on_cases_drawn_from_the_model() -> None:
    # S. R. Cook, A. Gelman, D. B. Rubin, J. Comput. Graph. Stat. 15 (2006): faults and evidence drawn from
    # the model itself must be believed exactly as often as they are true. 99 % binomial band per bin.
    rng = np.random.default_rng(20)
    prior, volts, flux = np.array([0.35, 0.3, 0.2, 0.15]), np.array([12.0, 11.0, 6.0, 0.0]), [1.0, 0.7, 0.2, 0.001]
    borders, words = np.log10([0.003, 0.5, 1.4]), 4
    table = ordered_word_probabilities(np.log10(flux), borders, [0.3, 0.15, 0.15], 0.04)
    cases, leak, sigma, tail = 5000, 0.05, 0.6, 0.03
    share, truth = np.zeros((cases, 5)), np.zeros(cases, dtype=int)
    for n in range(cases):
        h = truth[n] = rng.choice(5, p=[*(prior * (1 - leak)), leak])
        word = rng.choice(words, p=table[h] if h < 4 else np.full(words, 1 / words))
        stray = h == 4 or rng.random() < tail
        volt = round(rng.uniform(-0.05, 15.05) if stray else rng.normal(volts[h], sigma), 1)
        rows = [np.log(table[:, word]), reading_loglik(volt, volts, sigma, 0.1, tail, (-0.05, 15.05))]
        inside = -0.05 <= volt <= 15.05
        beyond = [math.log(1 / words), math.log(1 / 151) if inside else -math.inf]
        found = posterior(prior, rows, leak, beyond)
        share[n] = [*found.share, found.undescribed]
    assert expected_calibration_error(share, truth) <= 0.02
    top = share.argmax(axis=1)
    confidence, right = share.max(axis=1), top == truth
    tested = 0
    for low in np.arange(0.0, 1.0, 0.1):
        here = (confidence >= low) & (confidence < low + 0.1 + 1e-9 * (low > 0.85))
        if here.sum() >= 30:
            band = 2.576 * math.sqrt(float((confidence[here] * (1 - confidence[here])).sum()))
            assert abs(float(right[here].sum() - confidence[here].sum())) <= band
            tested += 1
    assert tested >= 4
