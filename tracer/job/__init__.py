"""The record of one job and the one interface, `job.Job`, that every face works through.

In come words as typed; out go what was understood, suspects, the next step and the proof. It reasons nothing itself
and loses nothing: every entry is on disk before it is acknowledged.
"""
