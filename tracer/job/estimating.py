"""What a job will take from where it stands, asked of its plan."""

from __future__ import annotations

from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.planning.estimate import Case, Estimate, estimate
from tracer.planning.next_step import Proposal

__all__ = ["Case", "Estimate", "estimate_of"]


def estimate_of(job: Job, proposal: Proposal | None = None) -> Estimate:
    """Minutes with a range, parts, and the dearest plausible case.

    Args:
        proposal: The next step, where it was worked out before for the job as it stands.

    Raises:
        JobFileError: Nothing is left to do, or nothing was seen yet.
    """
    if job.closed:
        raise JobFileError("this job is closed: nothing is left to estimate")
    if job.proof is not None and all(r.good for r in job.proof_results.values()):
        raise JobFileError("what is left are the checks of the repair", "make them, or take the repair back")
    if not job.evidence:
        raise JobFileError("nothing was seen yet, so that there is nothing to estimate from",
                           "tracer symptom JOB “what was seen”")
    planned = (proposal or job.next(record=False)).planned
    assert planned is not None  # every proposal of a job has a plan behind it
    return estimate(planned, job.diagnosis, job.standing)
