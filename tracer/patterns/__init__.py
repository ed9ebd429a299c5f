"""Patterns of the trade: from a few answers to a whole harness that is healthy at once.

In come answers to questions (kind of vehicle, how it is lit, how it is switched); out goes the text of an ordinary
harness file, or a model made alike. The patterns are files in `trade/`, written from trade practice (common practice,
no source); nothing here knows of faults or jobs. `job.harnesses` hands it to the faces.
"""
