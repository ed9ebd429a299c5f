"""One doubtful thing about a harness: what, where, and what would be right."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, Final, Literal

from msgspec import Struct

from tracer.errors import Mark

Severity = Literal["error", "warning", "note"]
SEVERITIES: Final[tuple[Severity, ...]] = ("error", "warning", "note")


class Finding(Struct, frozen=True):
    """What one rule found.

    Attributes:
        rule: Short name of the rule: "lamp without earth".
        severity: error: the harness cannot work like this; warning: probably copied wrong; note: legal,
            but worth knowing.
        hint: What would put it right.
        mark: Where the thing is written; None for a harness that was not read from a file.
    """

    rule: str
    severity: Severity
    message: str
    hint: str = ""
    mark: Mark | None = None

    def __str__(self) -> str:
        text = f"{self.severity}: {self.message}"
        if self.mark is not None:
            text = f"{self.mark}: {text}"
        return f"{text} ({self.hint})" if self.hint else text

    def as_data(self) -> dict[str, Any]:
        """Plain values for other programs."""
        where = self.mark
        return {
            "rule": self.rule, "severity": self.severity, "message": self.message, "hint": self.hint,
            "file": where.file if where else None, "line": where.line if where else None,
            "column": where.column if where else None,
        }


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings in the order of the file, each thing said once."""
    def place(f: Finding) -> tuple[str, int, int, int]:
        mark = f.mark or Mark("", 0, 0)
        return (mark.file, mark.line, mark.column, SEVERITIES.index(f.severity))

    return tuple(sorted(dict.fromkeys(findings), key=place))


def findings_text(findings: Sequence[Finding], width: int = 80) -> str:
    """The findings for people, one paragraph each."""
    if not findings:
        return "nothing doubtful found"
    said = [textwrap.fill(str(f), width, subsequent_indent="    ", break_on_hyphens=False) for f in findings]
    counts = [(sum(f.severity == s for f in findings), s) for s in SEVERITIES]
    said.append(", ".join(f"{n} {s}{'s' * (n != 1)}" for n, s in counts if n))
    return "\n".join(said)


def findings_data(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    return [f.as_data() for f in findings]


def folded(findings: Iterable[Finding], most: int = 3) -> list[str]:
    """Findings in words, of one kind no more than a few: what puts one lamp out puts out all that hang there."""
    by_rule: dict[str, list[Finding]] = {}
    for found in findings:
        by_rule.setdefault(found.rule, []).append(found)
    out: list[str] = []
    for own in by_rule.values():
        shown = own if len(own) <= most else own[:1]
        out += [str(f) for f in shown]
        if len(own) > len(shown):
            out.append(f"{len(own) - len(shown)} more like it, which “tracer check” lists")
    return out
