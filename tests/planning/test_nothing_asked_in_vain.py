"""What is proposed after a complaint: nothing that was said already, and nothing held that need not be."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tracer import Job
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidates import Candidates
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.next_step import Proposal
from tracer.planning.outcomes import Candidate

_SAME = 0.05  # decades of light
_UNSEEN = -3.0


@cache
def investigator(model: str) -> Investigator:
    return tool_on(MODELS / f"{model}.yaml")


def looks(*said: str) -> tuple[Diagnosis, list[Candidate]]:
    own = investigator("rear_end")
    found = own.diagnose([parse_symptom(s, own.harness) for s in said])
    every = Candidates(found, rows_to_plan_with(found)[0]).all()
    return found, [c for c in every if c.test.row.of_lamps and not c.test.done]


@pytest.mark.parametrize(("said", "lamps"), [
    (["left rear stop dark when brake pressed"], {"left rear stop"}),
    (["left rear stop dark, everything else normal when brake pressed"], {"left rear stop", "right rear stop"}),
])
def test_what_was_told_is_not_asked_as_if_it_was_not(said: list[str], lamps: set[str]) -> None:
    """In that state no look is at a lamp that was told of, alone or as one of several, unless it says "once more"."""
    found, every = looks(*said)
    state = found.evidence[0].state  # type: ignore[union-attr]
    told = [c for c in every if c.test.state == state and lamps & {c.test.lamp, *c.also}]
    assert all(c.again and not c.also for c in told)


def test_a_second_look_says_so(tmp_path: Path) -> None:
    """How dim a stop lamp is may be looked at once more, in the state in which it was told of: that is to look again,
    and wherever such a look stands among the best steps it reads as one."""
    said = "left rear stop dim when brake pressed"
    _, every = looks(said)
    again = {c.test.says(investigator("rear_end").harness) for c in every if c.again}
    assert any("set brake pedal pressed; look at the left rear stop lamp" in x for x in again)
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml", "")
    job.symptom(said)
    for option in job.next().options:
        plain = option.says.removeprefix("check once more: ")
        assert (plain != option.says) == (plain in again)


def held(job: Job, step: Proposal) -> list[str]:
    """Controls that the proposed look has held although every suspect shows the same with them let go."""
    test, harness = step.test, job.harness
    if test is None or not test.row.of_lamps or test.done:
        return []
    predictor, d = job.investigator.predictor, job.diagnosis
    rows = [h.change for h, share in zip(d.hypotheses, d.share, strict=True) if share > 0.002]
    chosen = [predictor.lamp_index[x] for x in (test.lamp, *step.also)]

    def light(test: Test) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        panel = predictor.panel(predictor.setup(test.state), predictor.table(rows))
        return np.maximum(np.hstack([panel.flux[:, chosen], panel.least[:, chosen]]), _UNSEEN)

    out = []
    for name, position in test.state.positions:
        if harness.controls[name].needs_holding(position):
            let_go = dict(test.state.positions) | {name: harness.controls[name].assumed}
            other = replace(test, state=replace(test.state, positions=tuple(let_go.items())))
            if np.abs(light(test) - light(other)).max() < _SAME:
                out.append(name)
    return out


TOLD: Sequence[tuple[str, str]] = (
    ("lorry_24v", "n/s tail light dead, brake lights OK"),
    ("lorry_24v", "left rear marker dark when lamp switch side"),
    ("rear_end", "left brake light dead, tail lights OK"),
    ("saloon_1970s", "both stop lamps OK, left tail light dim"),
)


@pytest.mark.parametrize(("model", "said"), [
    pytest.param(*told, marks=[pytest.mark.long] if n < 2 else []) for n, told in enumerate(TOLD)])
def test_nothing_is_held_for_a_lamp_that_does_not_need_it(model: str, said: str, tmp_path: Path) -> None:
    """Whoever told of the stop lamps has taken his foot off the pedal since: the lamps that burn without it are
    looked at without it."""
    job = Job.create(tmp_path / "job.yaml", MODELS / f"{model}.yaml", "")
    job.symptom(said)
    standing = job.standing.state
    assert not any(c.needs_holding(standing[n]) for n, c in job.harness.controls.items())
    step = job.next()
    told = {(i.state, lamp) for i in job.evidence for lamp in i.lamps_named()}  # type: ignore[union-attr]
    assert not held(job, step)
    if step.test is not None and step.test.row.of_lamps and not step.says.startswith("check once more"):
        assert not {(step.test.state, x) for x in (step.test.lamp, *step.also)} & told


def test_what_is_propped_stays(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml", "")
    job.symptom("left rear stop dark when brake pressed")
    job.reading("volts at left rear.stop when brake pressed", "12.4")
    assert job.standing.state["brake pedal"] == "pressed" and "brake pedal" in job.standing.propped
    job.symptom("right rear stop normal when brake pressed")
    assert job.standing.state["brake pedal"] == "pressed"
