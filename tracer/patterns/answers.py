"""What was answered, what is taken where nobody knows, and which question comes next."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from tracer.errors import Problem, ProblemsError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import Notes, TableNode, TextNode, clip, parse_yaml, tidy
from tracer.patterns.questions import BY_ID, QUESTIONS, Question, derived, holds, numbers_of

NOT_KNOWN: Final = ("", "?", "don't know", "don’t know", "dont know", "not known", "unknown")
_LONGEST_TITLE: Final = 120


class Answers(Struct, frozen=True):
    """Answers by question. `said` holds what somebody said; everything else goes by what is usual."""

    said: Mapping[str, str] = field(default_factory=dict)
    passed: frozenset[str] = frozenset()  # asked, and nobody knew

    def known(self) -> dict[str, str]:
        """The answer to every question: said, usual, or that of a question which is not asked."""
        out: dict[str, str] = {}
        for q in QUESTIONS:
            out[q.id] = (self.said.get(q.id) or usual(q, out)) if holds(q.when, out) else q.unasked
        return out | derived(out)

    def due(self) -> Question | None:
        """The next question; None if all are answered or passed."""
        known = self.known()
        return next((q for q in QUESTIONS
                     if holds(q.when, known) and q.id not in self.said and q.id not in self.passed), None)

    def due_together(self) -> tuple[Question, ...]:
        """The questions of the next part that can be asked at once, as on a page."""
        first, known = self.due(), self.known()
        return tuple(q for q in QUESTIONS if first is not None and q.part == first.part and holds(q.when, known)
                     and q.id not in self.said and q.id not in self.passed)

    def told(self, question: str) -> bool:
        """Whether somebody said it, or it follows from what was said."""
        return question in self.said or not holds(BY_ID[question].when, self.known())

    def with_answer(self, question: str, typed: str) -> Answers:
        """These answers and one more; nothing, “?” and “don't know” take what is usual.

        Raises:
            UnknownNameError: No such question, or no choice of it.
        """
        if question not in BY_ID:
            raise UnknownNameError(f"no question “{clip(question)}”", did_you_mean(question, BY_ID))
        chosen = choice_of(BY_ID[question], typed)
        if chosen is None:
            return Answers({k: v for k, v in self.said.items() if k != question}, self.passed | {question})
        return Answers({**self.said, question: chosen}, self.passed - {question})

    def without(self, question: str) -> Answers:
        """As before a question was answered or passed."""
        return Answers({k: v for k, v in self.said.items() if k != question}, self.passed - {question})


def usual(question: Question, known: Mapping[str, str]) -> str:
    """What is taken where nobody knows, by the answers before it."""
    return next((value for condition, value in question.usual if holds(condition, known)), question.default)


def choice_of(question: Question, typed: str) -> str | None:
    """The choice that was typed, by its number, its words or their beginning; None where nobody knows.

    Raises:
        UnknownNameError: It is none of the choices, or the beginning of several.
    """
    text = tidy(typed)
    if text.casefold() in NOT_KNOWN:
        return None
    if not question.choices:
        if len(text) > _LONGEST_TITLE or not text.isprintable():
            raise UnknownNameError(f"“{clip(text)}” cannot be a name", f"one line of at most {_LONGEST_TITLE} signs")
        return text
    choices = list(question.choices)
    lower = text.casefold()
    if lower in ("y", "n") and "yes" in choices:
        lower = {"y": "yes", "n": "no"}[lower]
    exact = [c for c in choices if c.casefold() == lower or c.casefold().replace(" ", "") == lower.replace(" ", "")]
    if exact:
        return exact[0]
    numbered = numbers_of(question)
    if text in numbered:
        return numbered[text]
    begins = [c for c in choices if c.casefold().startswith(lower)] or _with_the_year(text, choices)
    if len(begins) == 1:
        return begins[0]
    if begins:
        raise UnknownNameError(f"{question.id}: “{clip(text)}” could be " + " or ".join(begins), "write it out")
    raise UnknownNameError(f"{question.id}: “{clip(text)}” is no choice", did_you_mean(text, choices))


def _with_the_year(text: str, choices: Sequence[str]) -> list[str]:
    """The choice whose span of years a year lies in: 1967 is “1955 to 1969”."""
    if not re.fullmatch(r"(18|19|20)\d\d", text):
        return []
    year = int(text)
    for c in choices:
        years = [int(y) for y in re.findall(r"\b\d{4}\b", c)]
        if years and ((c.startswith("before") and year < years[0]) or (c.endswith("later") and year >= years[0])
                      or (len(years) == 2 and years[0] <= year <= years[1])):
            return [c]
    return []


def read_answers(text: str, file: str) -> Answers:
    """Answers from a file: one “question: answer” a line, in YAML; what is not answered is not known.

    Raises:
        ProblemsError: Every line that is no answer to any question, with its place.
    """
    notes = Notes()
    root = parse_yaml(text, file, notes)
    if not isinstance(root, TableNode):
        raise ProblemsError([Problem("is no list of answers", "one a line, like “vehicle: car”", file)])
    answers = Answers()
    for key, (key_node, value) in root.entries.items():
        if not isinstance(value, TextNode):
            notes.add(value.mark, f"{clip(key)}: one answer is expected", "write it like  vehicle: car")
            continue
        try:
            answers = answers.with_answer(key, value.text)
        except UnknownNameError as error:
            notes.add(key_node.mark if key not in BY_ID else value.mark, error.message, error.hint)
    known = answers.known()
    for key in answers.said:
        q = BY_ID[key]
        if not holds(q.when, known) and answers.said[key] != known[key]:
            why = " and ".join(f"“{k}: {known[k]}”" for k, allowed in q.when.items() if known.get(k) not in allowed)
            notes.add(root.entries[key][1].mark, f"{key}: not asked with {why}", "leave the line out")
    notes.raise_if_any()
    return answers
