"""After a repair that did not help: nothing is certain, and what was read before it was read beside two faults."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

import numpy as np
import pytest

from tests.inference.remembered import NotBelievedError, Remembered
from tests.library import MODELS, tool_on
from tests.real_cases.table import CASES
from tests.real_cases.telling import RealCase, played_once
from tracer.cache import Kept
from tracer.inference.bayes import Posterior
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.reading_likelihood import STRAY_SHARE
from tracer.inference.repaired_in_vain import MISLED, MISREAD, chastened
from tracer.job.job import Job


def test_a_failure_is_reckoned_by_hand() -> None:
    """0.999 on one repair, of which a failure leaves 0.03; in 0.05 of all jobs something misled, half the time a
    reading, which can have spoken against the other by 0.03 at the least: 0.0006 / 0.03 = 0.02 of it. By hand: 0.95 ×
    0.999 × 0.03 = 0.02847 against 0.95 × 0.0006 + 0.02 = 0.02057 and 0.95 × 0.0004 + 0.03 = 0.03038; of 0.07942
    together 0.358, 0.259 and 0.383."""
    assert (MISLED, MISREAD, STRAY_SHARE) == (0.05, 0.5, 0.03)
    share, undescribed = chastened(
        Posterior(np.array([0.999, 0.0006]), 0.0004, 0.0, np.zeros(0)), np.array([0.03, 1.0]), True
    )
    assert share == pytest.approx([0.358, 0.259], abs=0.001)
    assert undescribed == pytest.approx(0.383, abs=0.001)


def test_what_no_single_misreading_explains_is_not_believed_after_a_failure() -> None:
    """Nothing but the repair fits, and it was made: then rather the file is wrong than something at a millionth."""
    share, undescribed = chastened(
        Posterior(np.array([0.999, 1e-6]), 0.001, 0.0, np.zeros(0)), np.array([0.03, 1.0]), True
    )
    assert share[1] < 0.001 and undescribed > 0.6
    alone, beyond = chastened(Posterior(np.array([0.999]), 0.001, 0.0, np.zeros(0)), np.array([0.03]), True)
    assert alone[0] + beyond == pytest.approx(1.0) and beyond > 0.6


@pytest.fixture
def in_vain(tmp_path: Path) -> Job:
    job = Job.create(tmp_path / "job.yaml", MODELS / "trailer_7pin.yaml")
    said = "left lamp unit stop dark, everything else normal when brake switch pressed"
    job.symptom(said)
    job.repaired("1")
    job.symptom(said)
    return job


def test_no_share_stays_near_one_for_what_was_repaired_in_vain(in_vain: Job) -> None:
    first = str(in_vain.repairs[0].data["repair"])
    for _ in range(2):
        again = next((s.share for s in in_vain.suspects() if s.repair == first), 0.0)
        assert again < 0.4
        in_vain.repaired(first)
        in_vain.symptom("left lamp unit stop dark, everything else normal when brake switch pressed")


def test_a_diagnosis_after_a_repair_in_vain_is_kept_whole(in_vain: Job, tmp_path: Path) -> None:
    then, kept = in_vain.history, Kept(tmp_path / "kept", "1")
    first, again = (
        diagnosed(in_vain.investigator, then.evidence, then.made_in_vain, False, kept, since=then.tried)
        for _ in range(2)
    )
    assert any(h.mended for h in first.hypotheses)
    assert [h.says() for h in again.hypotheses] == [h.says() for h in first.hypotheses]
    assert again.share == pytest.approx(first.share) and again.undescribed == pytest.approx(first.undescribed)


def test_what_was_kept_of_a_repaired_fault_that_is_not_there_is_not_believed(in_vain: Job) -> None:
    """The row whose fault was mended in vain, and what was mended: numbers beyond the lists, or before them, name
    nothing; the last of each list is one."""
    then, tool, first = in_vain.history, in_vain.investigator, Remembered()
    diagnosed(tool, then.evidence, then.made_in_vain, False, first, since=then.tried)
    singles, faults = len(tool.singles), len(tool.faults)
    for column, number, there in ((0, -1, False), (0, singles, False), (0, singles - 1, True), (0, 0, True),
                                  (1, -2, False), (1, faults, False), (1, faults - 1, True)):
        mended = first.arrays["mended"].copy()
        mended[0, column] = number
        with nullcontext() if there else pytest.raises(NotBelievedError):
            diagnosed(tool, then.evidence, then.made_in_vain, False, Remembered({**first.arrays, "mended": mended}),
                      since=then.tried)


def test_two_faults_in_one_branch_are_found_one_after_the_other(tmp_path: Path) -> None:
    """A published case (R25): the earth lead mended in vain; a jumper straight to the lamp, dark because of it, had
    cleared the plug that was bad as well."""
    case: RealCase = next(c for c in CASES if c.id == "R25")
    _, after = played_once(case, tmp_path)
    assert after.rank == 1, after


def test_what_a_repair_holds_is_as_unlikely_after_it_as_what_it_is_named_after() -> None:
    """An earth point remade in vain had all its eyelets off (common practice, no source)."""
    own = tool_on(MODELS / "glass_fibre.yaml")
    rows = [next(h for h in own.singles if h.faults[0].name == n) for n in (
        "earth open: E1", "eyelet open: E1 from C1.8", "wire open: C1.8 – E1")]
    assert own.left_of(rows, {rows[0].repair: 0.03}).tolist() == [0.03, 0.03, 1.0]
    assert own.left_of(rows, {rows[2].repair: 0.03}).tolist() == [1.0, 0.03, 0.03]
    assert own.left_of(rows, {}).tolist() == [1.0, 1.0, 1.0]
