"""What to do next: the step with the fewest expected minutes to a proven repair.

In come a diagnosis and where the job stands; out go a `next_step.Proposal` and, after a repair, the checks that prove
it. Only the job calls it.
"""
