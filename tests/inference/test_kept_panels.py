"""What all single faults show, kept between commands."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS
from tracer.cache import Kept
from tracer.circuit.model import Change, Floats
from tracer.harness.file.text import load_harness
from tracer.inference import shown
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import by_change
from tracer.inference.kept_panels import as_arrays, fits, of_arrays
from tracer.observation import flasher_at_rest
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.one_for_all import Asked
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom


def test_what_all_single_faults_show_is_found_by_the_next_question(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Something more is told: what was solved of all single faults for what was told before is not solved again, of
    lamps and of readings, and every last digit is as if nobody had asked before."""
    harness = load_harness(MODELS / "rear_end.yaml")
    told: list[Evidence] = [parse_symptom("left rear stop dim when brake pedal pressed", harness)]
    test = parse_test("volts at left rear.earth when brake pedal pressed", harness)
    told.append(Reading(test, parse_value("2.1 V", test.kind)))
    more = [*told, parse_symptom("left rear tail normal when lamp switch side", harness)]

    def solved(kept: Kept, evidence: Sequence[Evidence]) -> tuple[list[str], Diagnosis]:
        """The states and tests in which all single faults were solved."""
        asked: list[str] = []
        tool = Investigator(harness, None, kept)
        tables, count = Predictor.looks, len(by_change(tool.singles)[0])
        read = flasher_at_rest.either_way

        def looks(self: Predictor, of: Asked) -> list[Panel]:
            asked.extend(str(setup.state) for setup, table in of if len(table) == count)
            return tables(self, of)

        def either(predictor: Predictor, tests: Sequence[Test], changes: Sequence[Change]) -> list[Floats]:
            asked.extend(t.says(harness) for t in tests if len(changes) == count)
            return read(predictor, tests, changes)

        with monkeypatch.context() as patch:
            patch.setattr(Predictor, "looks", looks)
            patch.setattr(shown, "either_way", either)
            return asked, tool.diagnose(evidence)

    first, _ = solved(Kept(tmp_path), told)
    again, found = solved(Kept(tmp_path), more)
    every, fresh = solved(Kept(), more)
    assert first and test.says(harness) in first
    assert set(again) == set(every) - set(first), "what was solved before is solved again"
    np.testing.assert_array_equal(found.loglik, fresh.loglik)
    np.testing.assert_array_equal(found.share, fresh.share)


@pytest.mark.parametrize("spoilt", ["others", "flux", "blown", "falling", "beyond", "short"])
def test_a_panel_that_cannot_be_is_not_taken(spoilt: str) -> None:
    """Arrays of another form, or rows that there are not."""
    tool = Investigator(load_harness(MODELS / "rear_end.yaml"))
    predictor, changes = tool.predictor, by_change(tool.singles)[0]
    panel = predictor.looks([(predictor.setup(tool.harness.state({"brake pedal": "pressed"})),
                              predictor.table(changes))])[0]
    arrays = dict(as_arrays(panel))
    assert len(arrays["flux"]) < len(changes) and fits(arrays, panel)
    back = of_arrays(arrays, len(changes))
    for name in ("flux", "least", "blown", "blow_s", "load", "usable", "power"):
        np.testing.assert_array_equal(getattr(back, name), getattr(panel, name))
    assert back.steady == panel.steady
    others = arrays["others"]
    arrays |= {
        "others": {"others": others.astype(float)}, "flux": {"flux": arrays["flux"][:, :-1]},
        "blown": {"blown": arrays["blown"].astype(float)}, "falling": {"others": others[::-1].copy()},
        "beyond": {"others": others + len(changes)}, "short": {"flux": arrays["flux"][:-1]},
    }[spoilt]
    assert not fits(arrays, panel)
