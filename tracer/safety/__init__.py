"""Hazards, cautions, the order of work, and what is never asked for.

In come a test, a repair or a vehicle state, how the vehicle stands, and a diagnosis where a feed may lie on the body.
Out go graded cautions, the ordered lines of the step, and whether it may be proposed at all. Planning asks what is
permitted, the faces ask for the lines; it weighs no evidence itself.
"""
