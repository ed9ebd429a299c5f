"""What a job will take from where it stands, asked of its plan."""

from __future__ import annotations

from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.planning.estimate import Case, Estimate, estimate

__all__ = ["Case", "Estimate", "estimate_of"]


def estimate_of(job: Job) -> Estimate:
    """Minutes with a range, parts, and the dearest plausible case.

    Raises:
        JobFileError: Nothing is left to do, or nothing was seen yet.
    """
    if job.closed:
        raise JobFileError("this job is closed: nothing is left to estimate")
    if not job.evidence:
        raise JobFileError("nothing was seen yet, so that there is nothing to estimate from",
                           "tracer symptom JOB “what was seen”")
    planned = job.next(record=False).planned
    assert planned is not None  # every proposal of a job has a plan behind it
    return estimate(planned, job.diagnosis, job.standing)
