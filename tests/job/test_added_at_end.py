"""What is added at the end of a job file is read back from its last entry on, and stands as if all had been read."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from tracer.errors import JobFileError, ProblemsError
from tracer.job.file import append, create, read, withdraw
from tracer.job.text import Event, JobHeader, checked, checked_at_end, margin_at_end, parse, with_entries

NOW = datetime(2026, 5, 4, 9, 30, 15, tzinfo=UTC)
TOP = f"tracer job: 1\nharness: van.yaml\nharness fingerprint: {'a' * 64}\nvehicle: Van\ncomplaint: dark\n"
ONE = "- number: 1\n  time: 2026-05-04T09:00:00+00:00\n  kind: note\n  text: first\n"
TWO = "- number: 2\n  time: 2026-05-04T09:01:00+00:00\n  kind: note\n"
BACK = "- number: 3\n  time: 2026-05-04T09:02:00+00:00\n  kind: withdrawn\n  entry: 1\n"
NEW = Event(9, NOW, "note", {"text": "added: last", "many": ["a", {"b": 1.5}], "lines": "one\ntwo\n"})

ENDINGS = {
    "as written": f"events:\n{ONE}{TWO}  text: x\n",
    "one taken back": f"events:\n{ONE}{TWO}  text: x\n{BACK}",
    "indented": "events:\n" + "".join(f"    {line}\n" for line in (ONE + TWO + "  text: x").splitlines()),
    "no line break at the end": f"events:\n{ONE}{TWO}  text: x",
    "a comment below": f"events:\n{ONE}{TWO}  text: x\n# seen on the way\n\n",
    "lines that go on": f"events:\n{ONE}{TWO}  text: >\n    long\n    text\n\n",
    "an entry begun on a line of its own": f"events:\n{ONE}-\n{TWO.replace('-', ' ', 1)}  text: x\n",
    "further spaces": f"events:\n{ONE}{TWO.replace('- number', '-   number').replace('  time', '    time')}"
                      .replace("  kind: note\n", "    kind: note\n", 2).replace("    kind", "  kind", 1),
    "a text in signs beyond Latin": f"events:\n{ONE}{TWO}  text: Ω ↯ 𝄞\n",
}


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_it_says_what_all_of_it_says(ending: str, newline: str) -> None:
    old = (TOP + ENDINGS[ending]).replace("\n", newline).encode()
    new = with_entries(old, margin_at_end(old, "job"), [NEW])
    whole = checked(new, "job", parse(old, "job").header, [*parse(old, "job").events, NEW])
    assert checked_at_end(old, new, "job", [NEW]) == whole == parse(new, "read anew")
    assert [e.withdrawn for e in whole.events][:1] == [ending == "one taken back"]


@pytest.mark.parametrize("below", ["...\n", "---\n", "  text: twice\n", "- number: 7\n"])
def test_what_does_not_read_back_is_refused(tmp_path: Path, below: str) -> None:
    """A document's end, a key that stands twice, half an entry: nothing is written."""
    path = tmp_path / "job.yaml"
    path.write_text(TOP + f"events:\n{ONE}{TWO}  text: x\n" + below, encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises((JobFileError, ProblemsError)):
        append(path, "note", {"text": "more"}, NOW)
    assert path.read_bytes() == before


def test_of_a_long_job_the_end_alone_is_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, seen = tmp_path / "job.yaml", list[int]()
    create(path, JobHeader("van.yaml", "a" * 64), [Event(n, NOW, "note", {"text": f"n {n}"}) for n in range(1, 400)])
    read(path)
    compose = yaml.compose

    def counted(text: str, **given: Any) -> Any:
        seen.append(len(text))
        return compose(text, **given)

    monkeypatch.setattr(yaml, "compose", counted)
    append(path, "note", {"text": "last"}, NOW)
    assert read(path).events[-1].data == {"text": "last"}
    assert max(seen) < len(path.read_bytes()) / 100
    assert withdraw(path, NOW).number == 400
    assert [e.number for e in read(path).events if e.withdrawn] == [400]
