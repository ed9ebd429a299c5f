"""How likely each hypothesis is, given what was told and measured, and why.

In come a harness and evidence; out goes a `diagnosis.Diagnosis`: suspects with shares that sum to one, what is not
described included, and their reasons. Planning and the job call it; it proposes nothing.
"""
