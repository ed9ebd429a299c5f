"""Repairs that are one search rank as one, and what was measured parts them (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS, evidence_from, tool_on
from tracer import Job
from tracer.inference.diagnosis import Suspect


@pytest.fixture
def job(tmp_path: Path) -> Job:
    made = Job.create(tmp_path / "job.yaml", Path(MODELS) / "rear_end.yaml", "")
    made.symptom("F3 blows when brake pedal pressed")
    return made


def first(job: Job) -> Suspect:
    return job.diagnosis.searches[0]


def test_the_short_leads_as_a_whole(job: Job) -> None:
    """Every wire of the stop lamps may be the one: each alone is a small suspect, together they are nearly sure."""
    found = first(job)
    places = [s for s in job.suspects() if s.repair in {found.repair, *found.along}]
    assert len(places) > 3 and "short to the body" in found.search
    assert found.search_share == pytest.approx(sum(s.share for s in places))
    assert found.search_share > 2 * max(s.share for s in places)
    assert [s.leads for s in places].count(True) == 1
    assert {s.search for s in places} == {found.search}
    # Nothing is lost or counted twice.
    whole = sum(s.search_share for s in job.diagnosis.searches)
    assert whole == pytest.approx(sum(s.share for s in job.suspects()))


def test_a_plug_parts_the_search(job: Job) -> None:
    """With C1 apart the fuse holds: what lies before the plug is cleared, and the search is that behind it."""
    before = {first(job).repair, *first(job).along}
    job.symptom("F3 holds with C1 unplugged")
    after = {first(job).repair, *first(job).along}
    assert after < before
    assert all("F3.out" not in repair for repair in after)


def test_what_is_looked_for_is_named_by_what_it_would_do() -> None:
    """Both stop lamps dark: a break somewhere in the one wire that feeds both, in each length of it."""
    tool = tool_on(MODELS / "rear_end.yaml")
    found = tool.diagnose(evidence_from(tool.harness, "left rear stop dark, right rear stop dark when brake pressed"),
                          pairs=False)
    breaks = [s for s in found.suspects if s.search.startswith("find the break along one run: ")]
    assert breaks and all(s.search == f"find the break along one run: {len(s.along) + 1} places" for s in breaks)
    assert {f.kind for s in breaks for f in s.best.faults} <= {"wire open", "old repair open"}
    assert {s.search for s in found.suspects if not s.along} == {""}
