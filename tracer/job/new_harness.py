"""What a face needs to begin a new harness: the questions, the answers, and what is made of them.

A face shows `Answers.due()` until it is None, hands each reply to `Answers.with_answer`, and writes
`harness_from_answers`. Nothing else is needed, in a terminal as on a page.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tracer.harness.file.from_list import harness_from_list
from tracer.harness.file.model_files import model_names, model_text
from tracer.harness.file.nodes import read_text_file
from tracer.harness.file.vague_ends import ALL_OTHERS, END_KINDS, VagueEnd, kinds_of_ends, vague_ends
from tracer.patterns.answers import Answers, read_answers, usual
from tracer.patterns.file_text import harness_from_answers
from tracer.patterns.likeness import alike
from tracer.patterns.questions import QUESTIONS, Question, numbers_of

__all__ = [
    "ALL_OTHERS", "END_KINDS", "QUESTIONS", "Answers", "Question", "VagueEnd", "alike", "answers_text",
    "harness_from_answers", "harness_from_list", "kinds_of_ends", "model_names", "model_text", "numbers_of",
    "question_data", "read_answers", "read_text_file", "usual", "vague_ends",
]


def question_data(question: Question) -> dict[str, Any]:
    """A question as plain data: what a page or a script needs to ask it."""
    def condition(said: Mapping[str, tuple[str, ...]]) -> dict[str, list[str]]:
        return {key: list(allowed) for key, allowed in said.items()}

    return {
        "id": question.id, "part": question.part, "text": question.text, "choices": dict(question.choices),
        "default": question.default,
        "usual": [{"when": condition(when), "answer": answer} for when, answer in question.usual],
        "asked_when": condition(question.when), "else": question.unasked,
    }


def answers_text() -> str:
    """A file of answers to fill in: every question with its choices as a comment."""
    lines = ["# Answers for  tracer new FILE --answers THIS.  What is left out is not known: what is usual is taken."]
    part = ""
    for q in QUESTIONS:
        if q.part != part:
            part = q.part
            lines += ["", f"# {part}"]
        lines.append(f"# {q.text}" + (f" Only with {_said(q.when)}." if q.when else ""))
        lines.append(f"#{q.id}: {' | '.join(q.choices) or q.default}")
    return "\n".join(lines) + "\n"


def _said(when: Mapping[str, tuple[str, ...]]) -> str:
    return "; ".join(f"{key}: {' or '.join(allowed)}" for key, allowed in when.items())
