"""The conversation of a job, the same for every face: what comes next, what may be answered, what is said back.

In come a job and a reply as values; out go a screen as values and what the reply did. `core` holds both; `screens`
says what the values are; `vehicle_plan` places the lamps of any harness on a view from above. Nothing here knows how
a face shows them, and nothing reasons: `Job` does.
"""
