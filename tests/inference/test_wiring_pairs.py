"""A fault and wiring that is otherwise than the file says: neither shows alone, and both are found together."""

from __future__ import annotations

from functools import cache

import pytest

from tests.faults.test_deviations import SMALL
from tracer.faults import list_deviations, list_faults
from tracer.harness.base_rates import DIFFERENCE_ALONE, FURTHER_FAULTS
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis, deviating, together
from tracer.inference.multiple_faults import key_of
from tracer.inference.settled_lines import settled_lines
from tracer.job.wiring import overlay_text
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom

# Three lamps on one earth point.
SHARED = SMALL.replace("place: right rear, earth at: E3}", "place: right rear}").replace(
    "  horn: {kind: load", "  plate lamp: {kind: lamp, lamp: C5W, place: boot lid}\n  horn: {kind: load") + (
    "  - S1 > plate lamp.feed\n  - {run: right tail.earth > E2, name: right}\n"
    "  - {run: plate lamp.earth > E2, name: plate}\n  - {run: E3 > E1, name: spare}\n")
SIDE = "when lights side"


@cache
def investigator(text: str) -> Investigator:
    return Investigator(read_harness(text))


def found(text: str, said: str, *readings: tuple[str, str]) -> Diagnosis:
    own = investigator(text)
    evidence: list[Evidence] = [parse_symptom(said, own.harness)]
    for words, value in readings:
        test = parse_test(words, own.harness)
        evidence.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    return own.diagnose(evidence)


def untraced(text: str, *names: str) -> str:
    for name in names:
        text = text.replace(f"name: {name}}}", f"name: {name}, traced: no}}")
    return text


def test_a_lamp_that_does_not_suffer_is_earthed_elsewhere() -> None:
    """E2 open takes all three by the file; the right one works, and E2 stands at 12.4 V under the other two."""
    d = found(untraced(SHARED, "right"), f"left tail dark, plate lamp dark, right tail normal {SIDE}",
              (f"volts at E2 {SIDE}", "12.4 V"))
    assert d.suspects[0].repair == "clean and remake earth point E2" and d.suspects[0].share > 0.9
    says = {f.says for f in d.suspects[0].best.deviations}
    assert says and all(s.startswith("right tail") for s in says), says


def test_a_lamp_that_suffers_is_earthed_there() -> None:
    """By the file the plate lamp alone is at E3. That its filament is dead besides is half as likely as that it is
    earthed at E2 (by hand: 20 of 109 of all rates, 0.15 of them a second time: 0.028; odds of the line 0.05 / 0.85:
    0.059); its earth terminal tells which."""
    text = untraced(SHARED, "plate").replace("plate lamp.earth > E2", "plate lamp.earth > E3")
    said = f"left tail dark, right tail dark, plate lamp dark {SIDE}"
    points = ((f"volts at E2 {SIDE}", "12.4 V"), (f"volts at E3 {SIDE}", "0 V"))
    assert found(text, said, *points).suspects[0].repair == "clean and remake earth point E2"
    d = found(text, said, *points, (f"volts at plate lamp.earth {SIDE}", "12.4 V"))
    assert d.suspects[0].repair == "clean and remake earth point E2" and d.suspects[0].share > 0.8
    assert "plate lamp.earth leads to E2, not to E3" in d.deviating
    settled = {x.line: x for x in settled_lines(investigator(text), d.evidence, d.suspects[0].best)}
    assert settled["plate"].says == "plate lamp.earth leads to E2, not to E3"


def test_an_earth_that_a_later_hand_added_saves_all_that_share_the_point() -> None:
    """Through the wire from the added earth to E2 the other lamps find it as well: E2 off the body shows nowhere,
    until that wire is open too."""
    own = investigator(SHARED)
    faults = {f.name: f for f in own.faults}
    added = next(f for f in own.deviations if f.name == "earth added: right tail").variants[0].change
    off = faults["earth open: E2"].variants[0].change
    cut = faults["wire open: right tail.earth – E2"].variants[0].change
    side = own.harness.state({"lights": "side"})
    test = parse_test(f"volts at E2 {SIDE}", own.harness)
    saved, alone, apart = own.predictor.observed(test, [added | off, off, added | off | cut])
    assert saved == pytest.approx(0, abs=0.1) and alone > 12 and apart > 12
    flux = own.predictor.panel(own.predictor.setup(side), own.predictor.table([added | off, added | off | cut])).flux
    right, left = (own.predictor.lamp_index[f"{s} tail"] for s in ("right", "left"))
    assert flux[0, left] > -0.5 and flux[1, left] < -3 and flux[1, right] > -0.5


def test_the_prior_of_a_pair_is_that_of_the_fault_times_the_odds() -> None:
    """Worked by hand: 0.15 for a deviation, so that 0.85 is left for the line as typed; a third of 0.15 for where it
    sits: odds 0.05 / 0.85. Two faults need a second misfortune besides; a fault and two deviations need none."""
    harness = read_harness(untraced(SHARED, "right", "plate"))
    own, other = (next(h for h in deviating(list_deviations(harness)) if h.faults[0].name == n) for n in (
        "earthed elsewhere: right tail.earth where it sits", "earthed elsewhere: plate lamp.earth where it sits"))
    assert own.prior / DIFFERENCE_ALONE == pytest.approx(0.05 / 0.85)
    faults = {f.name: f for f in list_faults(harness)}
    one, two = (Hypothesis((f,), (f.variants[0],), 0.01) for f in (
        faults["earth open: E2"], faults["filament open: left tail"]))
    pair = together(one, own)
    assert pair is not None and pair.prior == pytest.approx(0.01 * 0.05 / 0.85)
    three = together(pair, other)
    assert three is not None and three.prior == pytest.approx(0.01 * (0.05 / 0.85) ** 2)
    faulty = together(one, two)
    assert faulty is not None and faulty.prior == pytest.approx(0.01 * 0.01 * FURTHER_FAULTS)
    assert pair.repair == one.repair and pair.repair_min == one.repair_min and pair.defects == one.faults


def test_a_deviation_is_no_likelier_for_lying_in_the_branch_of_the_fault() -> None:
    """Two faults in one branch are likelier than anywhere; a line that leads elsewhere was there all along. And a
    pair is one pair, whichever of the two was found first."""
    own = investigator(untraced(SHARED, "right"))
    faulty = next(h for h in own.singles if h.faults[0].name == "earth open: E2")
    line = next(h for h in own.singles if h.faults[0].name == "earthed elsewhere: right tail.earth where it sits")
    dead = next(h for h in own.singles if h.faults[0].name == "wire open: left tail.earth – E2")
    several = own._several
    one, two = several.both(faulty, line), several.both(line, faulty)
    assert one is not None and two is not None and one == two
    assert one.prior == pytest.approx(faulty.prior * 0.05 / 0.85)
    both, turned = several.both(faulty, dead), several.both(dead, faulty)
    assert both is not None and turned is not None and key_of(both) == key_of(turned)
    assert both.prior == turned.prior


def test_two_lines_may_be_otherwise_beside_a_fault() -> None:
    """Right and plate lamp are both earthed elsewhere, and E2 is open: only the left one suffers, which its own
    filament explains as well until E2 was measured, and more than one reading is wrong for it."""
    d = found(untraced(SHARED, "right", "plate"), f"left tail dark, plate lamp normal, right tail normal {SIDE}",
              (f"volts at E2 {SIDE}", "12.4 V"), (f"volts at left tail.earth {SIDE}", "12.4 V"))
    assert d.suspects[0].repair == "clean and remake earth point E2"
    assert d.suspects[0].share > 0.9
    assert {f.rewired.line for f in d.suspects[0].best.deviations if f.rewired} == {"right", "plate"}


def test_what_is_traced_has_no_such_suspects() -> None:
    d = found(SHARED, f"left tail dark {SIDE}")
    assert sum(share for share in d.deviating.values()) < 0.01


def test_a_fault_between_two_severities_moves_no_line() -> None:
    """A reading in the middle between what two neighbouring severities show: neither fits well, and that says nothing
    of where another lamp is earthed."""
    text = SHARED.replace("> E2, name: plate}", "> E2, name: plate, or: plate lamp.earth > E3}")
    own = investigator(text)
    bad = [h for h in own.singles if h.faults[0].name == "wire bad: left tail.earth – E2"]
    words = f"volt drop left tail.earth to E2 {SIDE}"
    shown = own.predictor.observed(parse_test(words, own.harness), [h.change for h in bad])
    low = max(range(len(bad) - 1), key=lambda k: shown[k + 1] - shown[k])
    assert shown[low + 1] - shown[low] > 2
    d = found(text, f"left tail dim {SIDE}", (words, f"{(shown[low] + shown[low + 1]) / 2:.2f} V"))
    for h in bad[low : low + 2]:
        assert not [x.says for x in settled_lines(own, d.evidence, h) if x.deviation is not None]


def test_a_part_that_may_be_bolted_elsewhere_is_found_there() -> None:
    """By the file the right lamp sits on E3. With E2 off the body both are dead and it stands at the battery's
    voltage; the next job reads where the right one sits."""
    text = SMALL.replace("place: right rear, earth at: E3", "place: right rear, earth at: E3, or: E2")
    d = found(text, f"left tail dark, right tail dark {SIDE}", (f"volts at E2 {SIDE}", "12.4 V"),
              (f"volts at right tail.earth {SIDE}", "12.4 V"))
    assert d.suspects[0].repair == "clean and remake earth point E2"
    lines = settled_lines(investigator(text), d.evidence, d.suspects[0].best)
    assert "right tail is bolted at E2, not at E3" in [x.says for x in lines]
    harness = investigator(text).harness
    laid = read_harness(text, "f", [(overlay_text(harness, lines), "learned")])
    own = laid.parts["right tail"]
    assert own.settings["earth at"] == "E2" and not own.others and own.traced
    assert not [f.name for f in list_deviations(laid) if "right tail at" in f.name]


def own_point() -> str:
    """By the file the plate lamp is earthed at E3 too, and the right one is bolted there."""
    return untraced(SHARED, "plate").replace("plate lamp.earth > E2", "plate lamp.earth > E3").replace(
        "right tail: {kind: lamp, lamp: R5W, place: right rear}",
        "right tail: {kind: lamp, lamp: R5W, place: right rear, earth at: E3}").replace(
        "  - {run: right tail.earth > E2, name: right}\n", "").replace("  - {run: E3 > E1, name: spare}\n", "")


def test_a_point_that_one_lamp_has_to_itself_is_told_from_that_lamps_own_mounting() -> None:
    """The plate lamp is not at E3, and works. The right lamp's bolt, or E3, has 12 Ω: between two severities of
    either. At the lamp both read the same; E3 itself tells."""
    text = own_point()
    own = investigator(text)
    moved = next(f for f in own.deviations if f.name == "earthed elsewhere: plate lamp.earth at E1")
    bad = next(f for f in own.faults if f.name == "earth bad: E3")
    change = moved.variants[0].change | bad.at(12.0).change
    words = [f"volts at {n} {SIDE}" for n in ("right tail.earth", "E3")]
    shown = (float(own.predictor.observed(parse_test(w, own.harness), [change])[0]) for w in words)
    at_lamp, at_point = ((w, f"{v:.2f} V") for w, v in zip(words, shown, strict=True))
    said = f"right tail faint, plate lamp normal, left tail normal {SIDE}"
    d = found(text, said, at_lamp)
    mounting = [k for k, h in enumerate(d.hypotheses) if h.repair == "clean the mounting of right tail" and h.prior
                and len(h.faults) == 1 and h.faults[0].kind == "mounting bad"]
    beside = [k for k, h in enumerate(d.hypotheses) if h.faults[0] == bad and h.prior
              and h.one_defect and h.deviations]
    bolt, point = ({round(d.hypotheses[k].variants[0].severity or 0.0, 1): k for k in rows}
                   for rows in (mounting, beside))
    assert 14.1 in bolt and 14.1 in point, "a severity that neither grid has"
    assert d.loglik[:, point[14.1]] == pytest.approx(d.loglik[:, bolt[14.1]], abs=0.02)
    # By hand: rates 3.0 and 2.4, odds 0.15 / 0.85 that the line leads elsewhere: 0.141 times as likely.
    assert float(d.share[beside].sum() / d.share[mounting].sum()) == pytest.approx(0.141, rel=0.3)
    d = found(text, said, at_lamp, at_point)
    assert d.suspects[0].repair == "clean and remake earth point E3"
    assert sum(s.share for s in d.suspects if "E3" in s.repair) > 0.95, "alone, or with the lamp beside it"
    assert sum(s.share for s in d.suspects if s.repair == "clean the mounting of right tail") < 0.02
