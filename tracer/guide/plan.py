"""The next step for the guide: tests that could not be done are not proposed again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tracer.errors import TracerError
from tracer.evidence import Reading, Test, Value
from tracer.guide.text import test_words
from tracer.job import Job
from tracer.next_test import Proposal, propose
from tracer.reading_text import NO_INFORMATION, test_key


def plan(job: Job) -> Proposal:
    """The next step; after a test that was skipped, the best of the others."""
    since = job.repairs[-1].number if job.repairs else 0
    passed = [
        e.item.test for e in job.entries
        if e.number > since and isinstance(e.item, Reading) and e.item.value.low == NO_INFORMATION[0]
    ]
    proposal = job.next() if not passed else _without(job, passed)
    while proposal.test is not None and (proposal.test in passed or not test_name(job, proposal.test)):
        if proposal.test not in passed:
            passed.append(proposal.test)
        proposal = _without(job, passed)
    return proposal


def _without(job: Job, passed: list[Test]) -> Proposal:
    """The best of the other tests: one without information counts as done, and tells nothing."""
    d, none = job.diagnosis, np.zeros(len(passed))
    known = replace(
        d,
        evidence=(*d.evidence, *(Reading(t, Value(*NO_INFORMATION)) for t in passed)),
        loglik=np.vstack([d.loglik, np.zeros((len(passed), len(d.share)))]),
        healthy=np.append(d.healthy, none),
        beyond=np.append(d.beyond, none),
    )
    return propose(known, job.standing)


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
