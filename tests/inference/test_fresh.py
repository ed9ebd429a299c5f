"""Readings that are made again and again: taken as one they come to what they come to one by one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.cache import Kept
from tracer.harness.file.text import load_harness
from tracer.inference import fresh as fresh_module
from tracer.inference.battery_voltage import FACTORS, SupplyDoubt
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.fresh import ByPiece, Fresh
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.readings import parse_test, parse_value
from tracer.observation.words.symptoms import parse_symptom

HARNESS = load_harness(MODELS / "pickup.yaml")


def _reading(value: str, node: str = "left rear.earth") -> Reading:
    return Reading(parse_test(f"volts {node} when lamp switch side", HARNESS), parse_value(value, "volts", ""))


def _sixty() -> list[Evidence]:
    return [parse_symptom("left rear tail dim when lamp switch side", HARNESS), *[_reading("3.4 V")] * 60]


def test_a_reading_made_many_times_tells_of_the_battery_what_it_tells_one_by_one() -> None:
    """By hand: ln p(n readings) = ln Σ over supplies of prior · p(reading | supply)^n, however it is added up."""
    active, loglik = np.arange(2), np.array([-0.5 * ((FACTORS - f) / 0.02) ** 2 for f in (0.96, 1.03)]).T
    one_by_one, at_once = SupplyDoubt(2), SupplyDoubt(2)
    told = np.array([one_by_one.weigh(active, loglik) for _ in range(50)])
    mean = at_once.weigh(active, loglik, 50)

    assert FACTORS.mean() == pytest.approx(1.0)  # as likely more as less than what the file says
    assert 50 * mean == pytest.approx(told.sum(axis=0), rel=1e-12)
    assert one_by_one.weigh(active, loglik) == pytest.approx(at_once.weigh(active, loglik), rel=1e-12)


def test_what_stands_for_what() -> None:
    """Two readings thirty times each and a sentence twice: 24 of each by themselves, the last for seven."""
    told = parse_symptom("left rear tail dim when lamp switch side", HARNESS)
    a, b = _reading("3.4 V"), _reading("0.1 V")
    evidence: list[Evidence] = [told, *[a, b] * 30, told]
    found = Fresh(evidence, {})

    assert len(found.told) == 1 + 2 * 24 and found.times.sum() == 61
    assert sorted(set(found.times.tolist())) == [1, 7]
    assert {i for i in found.told if isinstance(i, Reading) and i.times == 7} == {replace(x, times=7) for x in (a, b)}
    part = found.times * np.arange(float(len(found.told)))
    spread = found.spread(part)
    assert spread.sum() == part.sum() and spread[-1] == 0.0, "what was said again tells nothing new"
    assert spread[-2] == spread[-4] == part[-1] / 7 and spread[-3] == spread[-5]


def test_what_was_read_before_a_repair_is_not_taken_together_with_what_was_read_after() -> None:
    evidence: list[Evidence] = [_reading("3.4 V")] * 60
    assert Fresh(evidence, {"new lamp": 30}).times.tolist() == [1] * 23 + [7] + [1] * 23 + [7]


def test_numbers_by_piece_are_read_as_an_array_is() -> None:
    each, of = np.arange(12.0).reshape(4, 3), np.array([2, 0, -1, 2, 1])
    whole, by_piece = each[of], ByPiece(each, of)
    rows = np.array([True, False, True, True, False])

    assert by_piece.shape == whole.shape and len(by_piece) == 5
    for key in (0, slice(None), rows, [1, 3], (2, 1), (slice(1, 4), 2), (slice(None), [0, 2]), ([0, 3], 1), (2, [1])):
        assert np.array_equal(by_piece[key], whole[key]), key
    assert np.array_equal(np.asarray(by_piece), whole)
    assert by_piece.sum(axis=0) == pytest.approx(whole.sum(axis=0))
    assert {*map(tuple, by_piece[by_piece.once(np.arange(5))])} == {*map(tuple, whole)}


def test_shares_are_the_same_whether_readings_are_taken_together_or_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty readings of a bad earth, which all fit: with each by itself and with the last of them as one."""
    evidence = _sixty()
    investigator = Investigator(HARNESS)
    together = investigator.diagnose(evidence)
    monkeypatch.setattr(fresh_module, "_EACH_BY_ITSELF", 1000)
    apart = investigator.diagnose(evidence)

    assert isinstance(together.loglik, ByPiece) and isinstance(apart.loglik, np.ndarray)
    shares = [{s.repair: s.share for s in d.suspects if s.share > 1e-6} for d in (together, apart)]
    assert shares[0] == pytest.approx(shares[1], rel=1e-6)
    assert together.healthy.sum() == pytest.approx(apart.healthy.sum(), rel=1e-9)
    assert together.loglik.sum(axis=0)[together.suspects[0].rows[0]] == pytest.approx(
        apart.loglik.sum(axis=0)[apart.suspects[0].rows[0]], rel=1e-9)


def test_what_is_kept_of_them_is_found_again_to_the_last_bit(tmp_path: Path) -> None:
    kept, investigator = Kept(tmp_path, "pickup"), Investigator(HARNESS)
    cold, warm = (diagnosed(investigator, _sixty(), {}, False, kept) for _ in range(2))

    assert cold is not warm and isinstance(warm.loglik, ByPiece)
    assert np.array_equal(cold.share, warm.share) and np.array_equal(np.asarray(cold.loglik), np.asarray(warm.loglik))
