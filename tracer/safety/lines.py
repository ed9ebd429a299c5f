"""Cautions as lines that faces print: danger and caution above the step, notes after them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tracer.safety.rules import Caution, Grade


def lines_of(cautions: Sequence[Caution]) -> list[tuple[Grade, str]]:
    """Graded lines in the order in which they are read. What was shown in this job before is one line of head words;
    a danger never is."""
    out: list[tuple[Grade, str]] = [(c.grade, c.text) for c in cautions if c.grade == "danger"]
    out += [(c.grade, c.text) for c in cautions if c.grade == "caution" and not c.again]
    heads = list(dict.fromkeys(c.head for c in cautions if c.grade == "caution" and c.again))
    out += [("caution", f"as before: {', '.join(heads)}")] if heads else []
    out += [(c.grade, c.text) for c in cautions if c.grade == "note" and not c.again]
    return out


def label(grade: Grade) -> str:
    """The word that leads a line: a danger stands out by its capitals, on paper without colour as well."""
    return {"danger": "DANGER", "caution": "Caution", "note": "Note"}[grade]


def labelled(cautions: Sequence[Caution]) -> list[tuple[str, str]]:
    """(leading word with its colon, text) of each line."""
    return [(f"{label(grade)}: ", text) for grade, text in lines_of(cautions)]


def as_data(cautions: Sequence[Caution]) -> list[dict[str, Any]]:
    """Grade and full text of each, for other programs."""
    return [{"grade": c.grade, "text": c.text} for c in cautions]


def above(cautions: Sequence[Caution]) -> list[tuple[str, str]]:
    """What stands above a step: dangers and cautions, each led by its word."""
    return labelled([c for c in cautions if c.grade != "note"])


def notes(cautions: Sequence[Caution]) -> list[str]:
    """What is said once a job, below the step."""
    return [text for _, text in lines_of([c for c in cautions if c.grade == "note"])]
