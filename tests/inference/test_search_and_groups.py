"""What a diagnosis says of itself: what it left out, how wrong a rate may be, what splits suspects that look
alike."""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tests.small_vehicle import ON, with_fault
from tests.small_vehicle import read as look_at
from tests.small_vehicle import tool as small_tool
from tracer.circuit.model import Change
from tracer.faults import Fault, Variant
from tracer.harness.base_rates import FURTHER_FAULTS, UNDESCRIBED
from tracer.harness.file.text import load_harness
from tracer.inference import diagnose as diagnose_module
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.explanation import would_be_wrong
from tracer.inference.hypotheses import Hypothesis, together
from tracer.inference.lookalikes import with_groups
from tracer.inference.multiple_faults import Several
from tracer.inference.rate_sensitivity import rate_margins
from tracer.inference.search_bound import PAIR_MUST_GAIN, as_share, left_out_loglik
from tracer.job.vehicle import Vehicle
from tracer.observation.evidence import Reading, Symptom
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
DIM = "left rear reversing lamp dim, left rear tail faint when gear reverse"


@cache
def investigator() -> Investigator:
    return tool_on(MODEL)


def diagnose(*texts: str, readings: tuple[tuple[str, str], ...] = ()) -> Diagnosis:
    harness = investigator().harness
    evidence: list[object] = [parse_symptom(t, harness) for t in texts]
    for words, value in readings:
        test = parse_test(words, harness)
        evidence.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return with_groups(investigator().diagnose(evidence))  # type: ignore[arg-type]


@cache
def dim() -> Diagnosis:
    return diagnose(DIM)


def invented(name: str, prior: float) -> Hypothesis:
    change = Change(dead=(name,))
    fault = Fault(name, "filament open", name, name, 1.0, 1.0, (Variant(1.0, change),), "n", None, (name,))
    return Hypothesis((fault,), fault.variants, prior)


def test_the_bound_on_pairs_left_out_equals_enumeration() -> None:
    """Faults that do not act on each other: for each thing said the better of the two, or the healthy vehicle."""
    rng = np.random.default_rng(3)
    rows = [invented(f"f{i}", p) for i, p in enumerate(rng.uniform(0.001, 0.1, 9))]
    gain = rng.normal(1.0, 3.0, (4, 9))
    alive = np.arange(9) != 8  # one was dropped on the way
    tried = [h for i, j in ((0, 1), (2, 5)) if (h := together(rows[i], rows[j]))]
    healthy = -20.0

    total = 0.0
    own = np.maximum(gain, 0).sum(axis=0)
    for i, j in combinations(range(8), 2):
        both = np.maximum(np.maximum(gain[:, i], gain[:, j]), 0).sum()
        rival = both > max(gain[:, i].sum(), gain[:, j].sum()) + PAIR_MUST_GAIN
        if own[i] > 1 and own[j] > 1 and rival and (i, j) not in ((0, 1), (2, 5)):
            total += rows[i].prior * rows[j].prior * FURTHER_FAULTS * math.exp(both + healthy)

    assert total > 0
    assert left_out_loglik(rows, gain, alive, tried, healthy) == pytest.approx(math.log(total))


def test_a_weight_left_out_as_a_share() -> None:
    """Prior 0.2 + 0.3 of which a share 1 - UNDESCRIBED: scale 0.5 / (1 - UNDESCRIBED). Evidence 0.1 of that."""
    prior = np.array([0.2, 0.3])
    searched = 0.1 * 0.5 / (1 - UNDESCRIBED)

    assert as_share(math.log(0.01), prior, math.log(0.1)) == pytest.approx(0.01 / (0.01 + searched))
    assert as_share(-math.inf, prior, math.log(0.1)) < 1e-200


def test_a_rate_wrong_by_the_margin_changes_the_first_suspect() -> None:
    """Weighed anew with that rate a little beyond the margin, and a little short of it."""
    found = dim()
    margin = rate_margins(found)[0]
    assert margin.kind == "way open" and margin.factor > 2 and margin.then == "clean or renew way C2.5"

    for beyond, first in ((1.1, margin.then), (0.9, found.suspects[0].repair)):
        other = Investigator(load_harness(MODEL), kept=Vehicle(MODEL, []).kept)
        other.faults = tuple(
            replace(f, rate=f.rate * margin.factor * beyond) if f.kind == margin.kind else f for f in other.faults
        )
        again = other.diagnose(found.evidence)
        assert again.suspects[0].repair == first


@pytest.mark.filterwarnings("error")
def test_a_rate_that_no_leading_suspect_goes_with_is_no_margin_and_warns_of_nothing() -> None:
    """Where two suspects have as much of a kind, or none, no factor brings one before the other; and no line of the
    numerics about a division by zero may come on the user's screen."""
    found = dim()
    kinds = [{f.kind for i in s.rows for f in found.hypotheses[i].faults} for s in found.suspects[:12]]
    assert len(set.union(*kinds)) > len(kinds[0] | kinds[1])  # some kind is that of neither of the first two
    margins = rate_margins(found, count=100)
    assert margins and all(m.factor > 0 and np.isfinite(m.factor) for m in margins)
    assert all(m.then != found.suspects[0].repair for m in margins)


def test_alike_suspects_name_the_reading_that_splits_them() -> None:
    """By the circuit, E4 open: 8.76 + 3.28 V less, about 3.4 V stand at E4; with the wire or way open, none."""
    found = dim()
    way = next(s for s in found.suspects if s.repair == "clean or renew way C2.5")
    split = next(s for s in way.splits if s.repair == "clean and remake earth point E4")

    assert split.repair in way.alike and way.inseparable == ()
    assert split.other_v == pytest.approx(3.4, abs=0.4) and abs(split.own_v) < 0.05
    assert split.test.kind == "volts"


def test_a_wire_and_its_leg_in_the_splice_are_one_suspect() -> None:
    """They are the same two points in the circuit: no electrical test splits them."""
    found = diagnose(
        "left rear stop dark, right rear stop normal when brake pressed",
        readings=(("volts C2.2 when brake pressed", "0 V"),),
    )
    wire = next(s for s in found.suspects if s.repair == "repair the BKYE wire S6 – C2.2")

    assert "remake splice S6" in wire.inseparable
    own = {s.repair: s for s in found.suspects}
    for s in found.suspects:  # it goes both ways, whichever of the two changes more of the circuit
        assert all(s.repair in own[other].inseparable for other in s.inseparable)
        assert all(s.repair in own[other].alike for other in s.alike)
    assert {found.suspects[0].repair, found.suspects[1].repair} == {wire.repair, "remake splice S6"}


def test_a_failure_to_explain_names_what_would_have_to_be_wrong() -> None:
    """Everything off: F1 and F2 are dead by the diagram, so that no fault lights the indicator and leaves the rest.
    The filament explains the dark lamp; what it does not explain is named lamp by lamp."""
    found = diagnose(
        "left rear stop dark, right rear stop normal when brake pressed",
        "left headlamp dip bright, right rear reversing bright, left front indicator bright when everything off",
    )
    lamp = next(s for s in found.suspects if s.repair.startswith("new lamp: left rear stop"))
    wrong = would_be_wrong(found, lamp)

    assert found.nothing_fits
    assert [w.split(" (")[0] for w in wrong] == [
        "left headlamp dip bright", "right rear reversing bright", "left front indicator bright"
    ]


def test_the_commands_say_all_this(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from tracer.commands import main

    job = str(tmp_path / "job.yaml")

    def run(*args: str) -> str:
        with pytest.raises(SystemExit) as ended:
            main(list(args))
        assert ended.value.code in (0, 1)
        return " ".join(capsys.readouterr().out.split())

    run("open", job, "--harness", str(MODEL))
    run("symptom", job, "left rear stop dark, right rear stop normal when brake pressed")
    run("reading", job, "volts C2.2 when brake pressed", "0 V")
    said = run("suspects", job, "--explain", "--triples")

    assert "or remake splice S6: no electrical test can tell them apart" in said
    assert "pairs and the likeliest triples; pairs left out could hold" in said
    assert "how wrong a base rate may be before another suspect comes first: if “" in said


@pytest.mark.parametrize("told", [
    (DIM,), ("left rear tail dark when lamp switch side",), (DIM, "right rear stop dark when brake pedal pressed"),
])
def test_what_was_left_unsaid_is_reckoned_of_all_that_can_matter(
    told: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Those left out hold less than a thousandth: with all of them reckoned no share moves by more."""
    usual = diagnose(*told)
    monkeypatch.setattr(diagnose_module, "NEGLIGIBLE", 1e-300)
    every = diagnose(*told)
    assert [h.says() for h in usual.hypotheses] == [h.says() for h in every.hypotheses]
    assert np.abs(usual.share - every.share).sum() < 2e-3
    assert abs(usual.undescribed - every.undescribed) < 1e-3


def test_what_lies_near_a_point_is_along_its_own_wires_and_not_through_the_body() -> None:
    """The one earth of the left rear unit: its joint at the body, its wire and terminal, the holders and the
    filaments on it. The other unit's earth is joined to it by the body alone. Of the body itself nothing is near."""
    tool = tool_on(MODELS / "rear_end.yaml")
    several = Several(tool.predictor.circuit, tool.faults)
    near = {f.name for f in several.around("E1")}
    assert {"earth bad: E1", "wire open: left rear.earth – E1", "terminal bad: left rear.earth",
            "filament open: left rear tail"} <= near
    assert not any("right" in name or "E2" in name for name in near)
    assert not several.around(tool.harness.reference)


def test_rare_pairs_are_searched_for_what_no_single_fault_explains_however_much_was_told() -> None:
    """A blown lamp, told of once or looked at in every state: one fault explains each of it, and few pairs are
    thought of. A second lamp that is dim beside it takes two."""
    small, vehicle = small_tool(), with_fault("filament open: tail")[1]
    one = parse_symptom(f"tail dark, plate normal when {ON}", small.harness)
    off = [parse_symptom(f"tail dark, plate dark when ignition {ignition}, lights {lights}", small.harness)
           for ignition, lights in (("off", "on"), ("on", "off"), ("off", "off"))]
    looks = [look_at(parse_test(f"look {lamp} when {state}", small.harness), vehicle)
             for state in (ON, "lights on", "ignition on") for lamp in ("tail", "plate")]
    two = parse_symptom(f"tail dark, plate dim when {ON}", small.harness)
    every_told: tuple[tuple[bool, list[Symptom | Reading]], ...] = (
        (True, [one]), (True, [one, *off, *looks]), (False, [two]))
    for explained, told in every_told:
        few, every = (small.diagnose(told, triples=triples).search.pairs for triples in (False, True))
        assert few < every / 3 if explained else few == every
