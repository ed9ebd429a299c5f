"""tracer: finds wiring faults in vehicle lighting circuits, from what was seen to a proven repair.

    from tracer import Job, load_harness

What stands in `__all__` is the Python interface; each name is imported when it is first used, so that
`import tracer` stays quick.
"""

from __future__ import annotations

import os
from importlib import import_module
from typing import TYPE_CHECKING, Any

# The matrices here are a few hundred wide: one thread is several times faster than handing them
# round between cores. Whoever sets the variable themselves is not overruled.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"

if TYPE_CHECKING:
    from tracer.checking.chart import chart
    from tracer.checking.rules import check
    from tracer.checking.simulation import simulate
    from tracer.checking.sneak import sneak_scan
    from tracer.checking.truth_table import truth_table
    from tracer.errors import TracerError
    from tracer.faults import find_fault, list_faults
    from tracer.guide import run_guide
    from tracer.harness.file.schema import schema
    from tracer.harness.file.starter import starter_text
    from tracer.harness.file.text import load_harness, read_harness
    from tracer.job.job import Job
    from tracer.planning.constraints import Limits
    from tracer.present.drawing.draw import draw
    from tracer.present.drawing.selection import view_of_harness, view_of_job
    from tracer.present.report import report_data, report_html, report_markdown

__all__ = [
    "Job", "Limits", "TracerError", "chart", "check", "draw", "find_fault", "list_faults", "load_harness",
    "read_harness", "report_data", "report_html", "report_markdown", "run_guide", "schema", "simulate", "sneak_scan",
    "starter_text", "truth_table", "view_of_harness", "view_of_job",
]

_HOME = {
    "Job": "job.job", "Limits": "planning.constraints", "TracerError": "errors", "chart": "checking.chart",
    "check": "checking.rules", "draw": "present.drawing.draw", "find_fault": "faults", "list_faults": "faults",
    "load_harness": "harness.file.text", "read_harness": "harness.file.text", "report_data": "present.report",
    "report_html": "present.report", "report_markdown": "present.report", "run_guide": "guide",
    "schema": "harness.file.schema", "simulate": "checking.simulation", "sneak_scan": "checking.sneak",
    "starter_text": "harness.file.starter", "truth_table": "checking.truth_table",
    "view_of_harness": "present.drawing.selection", "view_of_job": "present.drawing.selection",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
