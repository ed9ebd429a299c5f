"""The ranking given published circuits, and laws of identifiability: batteries, chains, wires in two pieces."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from tests.circuits import circuit_of
from tests.hitting_sets import minimal_hitting_sets, minimal_sets
from tracer.circuit.change_table import tabulate
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import Change, Setup
from tracer.harness.devices import Resistor, Source
from tracer.harness.file.text import read_harness
from tracer.harness.model import VehicleState
from tracer.inference import diagnose
from tracer.inference.bayes import group_shares, posterior
from tracer.inference.diagnose import Investigator
from tracer.inference.pair_candidates import candidate_pairs, pair_scores
from tracer.inference.word_model import likely_word
from tracer.observation.evidence import LIT
from tracer.observation.words.symptoms import parse_symptom

# --- P. Struss, O. Dressler, "Physical negation", IJCAI 1989 (from memory; no number is taken from it): a
# battery and three lamps in parallel, two of them dark and one lit. Without knowing how parts fail, "the
# battery is dead and the third lamp glows by itself" is a minimal diagnosis. It must not be one here.

THREE_LAMPS = """\
harness: A battery and three lamps
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls: {lights: [off, on]}
parts:
  battery: {kind: battery}
  switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  B1: {kind: lamp, lamp: R5W}
  B2: {kind: lamp, lamp: R5W}
  B3: {kind: lamp, lamp: R5W}
splices: {S1: one end, S2: other end}
earths: {E1: battery}
wires:
  - battery.- > E1
  - battery.+ > switch.in
  - switch.out > S1
  - S1 > B1.feed
  - S1 > B2.feed
  - S1 > B3.feed
  - B1.earth > S2
  - B2.earth > S2
  - B3.earth > S2
  - S2 > E1
"""


def test_a_dead_battery_does_not_light_the_third_lamp() -> None:
    found = Investigator(read_harness(THREE_LAMPS, "three lamps")).diagnose(
        [parse_symptom("B1 dark, B2 dark, B3 normal when lights on",
                       read_harness(THREE_LAMPS, "three lamps"))]
    )
    assert found.suspects[0].repair == "new lamp: B1 and new lamp: B2"
    state = found.predictor.harness.state({"lights": "on"})
    predictor = found.predictor
    table = predictor.table([h.change for h in found.hypotheses])
    flux = predictor.panel(predictor.setup(state), table).flux
    third = predictor.lamp_index["B3"]
    # What does not light the third lamp lives only on the chance that the wrong lamp was looked at.
    lit = np.array([likely_word(float(f)) in LIT for f in flux[:, third]])
    assert float(found.share[~lit].sum()) < 0.05
    assert sum(s.share for s in found.suspects if "battery" in s.repair) < 0.01


def test_fault_modes_take_the_self_lit_lamp_away() -> None:
    """The same by conflicts: S battery, 1 2 3 lamps. Sound battery and sound lamp: lit; lit: lamp and battery
    sound, once lamps have no mode that lights without a supply."""
    # Lamp 1 dark and lamp 2 dark against a sound battery; lamp 3 lit against a dead battery with a sound lamp.
    without_modes = [{"S", "1"}, {"S", "2"}]
    assert {frozenset(s) for s in minimal_hitting_sets(without_modes)} == {frozenset("S"), frozenset("12")}
    # With modes only "open": a lit lamp proves its supply, so S leaves every conflict.
    with_modes = minimal_sets([frozenset({"S", "1"}) - {"S"}, frozenset({"S", "2"}) - {"S"}])
    assert minimal_hitting_sets(with_modes) == [frozenset("12")]


# --- What can be told apart at all --------------------------------------------------------------------


def test_readings_that_tell_three_resistances_apart() -> None:
    """Rank of d(readings)/d(log R) in the chain V - R1 - n1 - R2 - n2 - R3 - earth, by calculus of the voltage
    divider: node n1 alone 1, both nodes 2, both nodes and the current 3 (the number of parameters that can be
    identified; N. Sen, R. Saeks, IEEE Trans. CAS 26, 1979, from memory)."""
    ohms = {"R1": 2.0, "R2": 5.0, "R3": 11.0}
    circuit = circuit_of([
        Source("battery", "p", "body", 12.0, 1e-6, 12.0),
        Resistor("R1", "p", "n1", ohms["R1"]), Resistor("R2", "n1", "n2", ohms["R2"]),
        Resistor("R3", "n2", "body", ohms["R3"]),
    ])
    step = 1e-4
    changes = [Change()] + [Change(set_ohm=((n, r * (1 + step)),)) for n, r in ohms.items()]
    volts = Settler(circuit).solve(Setup(VehicleState(()), "lit"), tabulate(circuit, changes, ())).solution.volts
    n1, n2 = (volts[:, circuit.index[n]] for n in ("n1", "n2"))
    current = n2 / np.array([ohms["R3"]] * 3 + [ohms["R3"] * (1 + step)])
    slopes = (np.array([n1, n2, current])[:, 1:] - np.array([n1, n2, current])[:, :1]) / step
    ranks = [int(np.linalg.matrix_rank(slopes[:k], tol=1e-2 * np.abs(slopes).max())) for k in (1, 2, 3)]
    assert ranks == [1, 2, 3]
    # d n1 / d ln R1 = -V R1 (R2 + R3) / (R1 + R2 + R3)^2 = -12 · 2 · 16 / 18² = -1.1852 V.
    assert slopes[0, 0] == pytest.approx(-12 * 2 * 16 / 18**2, rel=1e-3)


ONE_WIRE = """\
harness: One lamp, invented
system: 12 V negative earth
usual: {size: 1.5 mm², length: 2 m}
controls: {lights: [off, on]}
parts:
  battery: {kind: battery}
  switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  plate lamp: {kind: lamp, lamp: R5W}
earths: {E1: battery, E2: lamp}
splices: {}
wires:
  - battery.- > E1
  - battery.+ > switch.in
  - {run: switch.out > plate lamp.feed, length: 0.01 mm}
  - plate lamp.earth > E2
"""


def test_a_wire_described_in_two_halves_keeps_its_share(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two series pieces with no accessible node between them are one group, and its share does not depend on
    how many pieces the file makes of it, if the base rate is shared out too (laws of probability). What is
    left unsaid is reckoned of all: else each half alone is sooner among those that hold too little together."""
    monkeypatch.setattr(diagnose, "NEGLIGIBLE", 1e-12)
    text = "plate lamp dim when lights on"
    whole = Investigator(read_harness(ONE_WIRE, "one wire"))
    halves = Investigator(read_harness(
        ONE_WIRE.replace("splices: {}", "splices: {S1: middle}").replace(
            "  - {run: switch.out > plate lamp.feed, length: 0.01 mm}\n",
            "  - {run: switch.out > S1, length: 0.005 mm}\n  - {run: S1 > plate lamp.feed, length: 0.005 mm}\n",
        ), "two halves",
    ))
    # A short is no series element: it draws its current from where it lies. Only opens and bad joints here.
    shorts = ("wire to body", "stray live end")
    whole.faults = tuple(f for f in whole.faults if f.kind not in shorts)
    kept = [f for f in halves.faults if f.kind not in shorts and "splice" not in f.kind]
    halves.faults = tuple(replace(f, rate=f.rate / 2) if "S1" in f.name else f for f in kept)

    def shares(investigator: Investigator) -> dict[str, float]:
        found = investigator.diagnose([parse_symptom(text, investigator.harness)], pairs=False)
        names = [h.faults[0].kind if h.faults[0].node in ("switch.out", "S1") else h.repair
                 for h in found.hypotheses]
        return group_shares(found.share, ["wire" if n.startswith("wire") else n for n in names])

    one, two = shares(whole), shares(halves)
    assert set(one) == set(two)
    # The sound half stays in the circuit beside the bad one, which is worth a few millionths.
    for name, share in one.items():
        assert two[name] == pytest.approx(share, abs=1e-5)
    assert one["wire"] > 0.001


def test_a_cause_split_in_two_keeps_its_share() -> None:
    """The same law on the table alone: to 1e-12."""
    rng = np.random.default_rng(3)
    prior, rows = rng.gamma(0.5, size=5), rng.normal(-3, 2, (4, 5))
    whole = posterior(prior, rows, 0.01, [-2.0] * 4).share
    split = posterior(
        np.append(prior, 0.0) * [1, 1, 0.5, 1, 1, 0] + [0, 0, 0, 0, 0, prior[2] / 2],
        np.column_stack([rows, rows[:, 2]]), 0.01, [-2.0] * 4,
    ).share
    assert split[2] + split[5] == pytest.approx(whole[2], abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_the_best_pairs_are_proposed(seed: int) -> None:
    """Where the estimate of a pair is exact, the pairs proposed are the best of all (by trying every one)."""
    rng = np.random.default_rng(seed)
    pieces, rows = 6, 90
    gain = np.where(rng.random((pieces, rows)) < 0.3, rng.normal(0, 5, (pieces, rows)), 0.0)
    log_prior, fault = rng.normal(-6, 2, rows), (np.arange(rows) // 2).tolist()
    every = {
        (i, j): float(log_prior[i] + log_prior[j] + pair_scores(gain, i)[j])
        for i in range(rows) for j in range(i + 1, rows) if fault[i] != fault[j]
    }
    found = candidate_pairs(gain, log_prior, fault, np.ones(rows, dtype=bool), 400)
    assert len(set(found)) == len(found)
    best = sorted(every, key=lambda pair: -every[pair])
    assert found[0] == best[0]
    by_fault = list(dict.fromkeys((fault[i], fault[j]) for i, j in best))[:10]
    assert set(by_fault) <= {(fault[i], fault[j]) for i, j in found}
