"""tracer: finds wiring faults in vehicle lighting circuits, from what was seen to a proven repair."""

from __future__ import annotations

import os

# The matrices here are a few hundred wide: one thread is several times faster than handing them
# round between cores. Whoever sets the variable themselves is not overruled.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
