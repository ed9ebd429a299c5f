"""The file of answers to fill in: one block a part of the vehicle, and with each question when it is asked."""

from __future__ import annotations

from tracer.job.new_harness import QUESTIONS, answers_text, read_answers


def test_every_question_stands_once_under_its_part_with_the_condition_it_is_asked_on() -> None:
    lines = answers_text().splitlines()
    at = [next(n for n, line in enumerate(lines) if line.startswith(f"#{q.id}:")) for q in QUESTIONS]
    assert at == sorted(at) and len(set(at)) == len(QUESTIONS)
    for question, n in zip(QUESTIONS, at, strict=True):
        heading = max(k for k in range(n) if lines[k] == "") + 1
        assert lines[heading] == f"# {question.part}"
        asked = lines[n - 1].removeprefix(f"# {question.text}")
        assert all(key in asked for key in question.when) and ("Only with" in asked) == bool(question.when)
    assert lines.count("") == len({q.part for q in QUESTIONS})


def test_filled_in_with_what_stands_there_it_is_read() -> None:
    """Each line with the first choice it offers, where it is asked in any case."""
    always = [q for q in QUESTIONS if not q.when and q.choices]
    filled = answers_text()
    for q in always:
        first = next(iter(q.choices))
        filled = filled.replace(f"#{q.id}: {' | '.join(q.choices)}", f"{q.id}: {first}")
    assert read_answers(filled, "answers.yaml").said == {q.id: next(iter(q.choices)) for q in always}
