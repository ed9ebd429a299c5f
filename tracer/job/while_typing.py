"""What a face needs while somebody types a harness: what is wrong and where, what lamps do, what may come next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from tracer.checking.rules import check
from tracer.checking.survey import Survey
from tracer.checking.truth_table import truth_table
from tracer.errors import ProblemsError, TracerError
from tracer.harness.file.schema import schema
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness
from tracer.harness.node import terminal_at

__all__ = ["Harness", "Looked", "completions", "look_at"]


class Looked(Struct, frozen=True):
    """A text as it stands.

    Attributes:
        findings: Severity, message, hint, line and column of each; line and column may be None.
        healthy: The table of what each lamp does; "" where the text cannot be read.
        harness: None where the text cannot be read.
    """

    findings: tuple[dict[str, Any], ...]
    healthy: str
    harness: Harness | None

    @property
    def good(self) -> bool:
        """Whether it can be read and has no error."""
        return self.harness is not None and not any(f["severity"] == "error" for f in self.findings)


def look_at(text: str, name: str) -> Looked:
    """Read and check a text that somebody is typing. Never raises for what is in it."""
    try:
        harness = read_harness(text, name)
    except ProblemsError as error:
        return Looked(tuple(_found("error", p.message, p.hint, p.line, p.column) for p in error.problems), "", None)
    except TracerError as error:
        return Looked((_found("error", error.message, error.hint, None, None),), "", None)
    survey = Survey(harness)
    findings = tuple(
        _found(f.severity, f.message, f.hint, f.mark.line if f.mark else None, f.mark.column if f.mark else None)
        for f in check(harness, survey)
    )
    return Looked(findings, truth_table(harness, survey).as_text(), harness)


def _found(severity: str, message: str, hint: str | None, line: int | None, column: int | None) -> dict[str, Any]:
    return {"severity": severity, "message": message, "hint": hint or "", "line": line, "column": column}


def completions(harness: Harness | None) -> dict[str, Any]:
    """What may be written where: the keys of each section and of each kind of part, as the schema has them, and the
    names of a harness: points of a run, controls, earths."""
    whole = schema()
    sections = {name: list(_keys(part)) for name, part in whole["properties"].items()}
    out: dict[str, Any] = {
        "sections": {name: keys for name, keys in sections.items() if keys},
        "top": list(whole["properties"]), "kinds": {kind: list(_keys(row)) for kind, row in whole["$defs"].items()},
        "points": [], "controls": [], "earths": [],
    }
    if harness is not None:
        out["controls"] = list(harness.controls)
        out["earths"] = list(harness.earths)
        points = [terminal_at(p.name, t) for p in harness.parts.values() for t in p.terminals]
        points += [terminal_at(c.name, way) for c in harness.plugs() for way in range(1, c.ways + 1)]
        blocks = [c.name for c in harness.connectors.values() if c.kind == "bullets"]
        out["points"] = [*points, *blocks, *harness.splices, *harness.earths]
    return out


def _keys(part: Mapping[str, Any]) -> tuple[str, ...]:
    """The keys of the innermost table that a part of the schema describes."""
    if "properties" in part:
        return tuple(part["properties"])
    inner = [part[k] for k in ("additionalProperties", "items") if isinstance(part.get(k), Mapping)]
    inner += [one for one in part.get("anyOf", ()) if isinstance(one, Mapping)]
    return next((keys for one in inner if (keys := _keys(one))), ())
