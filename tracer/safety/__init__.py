"""Hazards, cautions and the order of work.

In come a test, a repair or a vehicle state; out goes what must be said before it. Planning and the job ask it; it
reads no evidence.
"""
