"""Every doubtful thing about a harness that reads without errors: the rules, and how they are told.

To add a rule: write one function from a `Scene` to findings in the module whose subject it is, and
enter it in that module's `RULES`. A rule that explains the effect of another comes before it.
"""

from __future__ import annotations

from typing import Final

from tracer.checking import behaviour, safe, standards, together, values, wiring
from tracer.checking.findings import Finding, Severity, findings_data, findings_text, in_order
from tracer.checking.scene import Rule, Scene
from tracer.checking.survey import Survey
from tracer.harness.model import Harness

__all__ = ["RULES", "Finding", "Severity", "check", "findings_data", "findings_text"]

RULES: Final[tuple[Rule, ...]] = (
    *wiring.RULES, *standards.RULES, *behaviour.RULES, *together.RULES, *values.RULES, *safe.RULES,
)


def check(harness: Harness, survey: Survey | None = None) -> tuple[Finding, ...]:
    """What every rule finds, in the order of the file. `survey` holds states that were solved already."""
    scene = Scene(harness, survey)
    return in_order([finding for rule in RULES for finding in rule(scene)])
