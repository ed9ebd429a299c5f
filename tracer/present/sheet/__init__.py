"""The plan on a sheet: the coming steps of a job worked out ahead, for where there is no connection.

In comes a job; out go its next steps as a tree (`tree`), that tree as one self-contained page for a phone in flight
mode or for paper (`page`), and what was answered there as one line that is recorded in the job (`line`). The job is
asked on copies in memory; nothing is written but what comes back.
"""
