"""The next step for the guide."""

from __future__ import annotations

from tracer.errors import TracerError
from tracer.guide.text import test_words
from tracer.job.job import Job
from tracer.observation.evidence import Test
from tracer.observation.words.readings import test_key
from tracer.planning.next_step import Proposal, propose


def plan(job: Job) -> Proposal:
    """The next step; a test that the job would not know again by name or words is passed over."""
    proposal, unnamed = job.next(), list(job.history.skipped)
    while proposal.test is not None and not test_name(job, proposal.test):
        unnamed.append(proposal.test)
        proposal = propose(job.diagnosis, job.standing, skipped=unnamed, tried=job.history.tried,
                           said=job.said)
    return proposal


def test_name(job: Job, test: Test) -> str:
    """What the job calls a test: its short name, else its words; empty if it would not know either."""
    for name in (test_key(test), test_words(test)):
        try:
            if job.find_test(name) == test:
                return name
        except TracerError:
            continue
    return ""


test_name.__test__ = False  # type: ignore[attr-defined]
