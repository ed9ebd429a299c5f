"""The pages for people: sentences that can be read in one breath, paths that exist, every bench listed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGES = ("DEVELOPERS.md", "README.md")
MOST_WORDS = 40
PATH = re.compile(r"`((?:[\w.*]+/)*[\w*]+\.py)`")


def prose(page: str) -> str:
    """A page without code blocks, tables, headings and indented formulas."""
    text = re.sub(r"^```.*?^```", "", (ROOT / page).read_text(encoding="utf-8"), flags=re.M | re.S)
    kept: list[str] = []
    code = False
    for line in text.splitlines():
        after_blank = not kept or not kept[-1].strip()
        code = line.startswith("    ") and (code or after_blank)
        if not code and not line.startswith(("|", "#")):
            kept.append(line)
        else:
            kept.append("")
    return "\n".join(kept)


def sentences(page: str) -> Iterator[str]:
    """Sentences; a paragraph and a list item end one, and so does a full stop before a capital."""
    for block in re.split(r"\n\s*\n|\n(?=\s*(?:[-*]|\d+\.) )", prose(page)):
        plain = re.sub(r"`[^`]*`", "CODE", block).replace("**", "")
        for found in re.split(r"(?<=[.!?])[)”\"]*\s+(?=[A-Z`“*(])", plain):
            if found.strip():
                yield " ".join(found.split())


@pytest.mark.parametrize("page", PAGES)
def test_no_sentence_is_too_long_to_be_read_at_once(page: str) -> None:
    long = [s for s in sentences(page) if len(s.split()) > MOST_WORDS]
    assert not long, "\n".join(f"{len(s.split())} words: {s}" for s in long)


def test_a_sentence_is_counted_to_its_end_and_no_further() -> None:
    """The counting itself, on the page at hand: else a page of one sentence would pass as none."""
    found = list(sentences("DEVELOPERS.md"))
    assert len(found) > 150
    assert all(len(s.split()) < 400 for s in found)
    assert any("low-rank" in s for s in found)


def exists(path: str) -> bool:
    """Whether a named file is there: from the root, from the package, or by its own name in one of their folders."""
    if "/" not in path:
        return any(True for top in ("tracer", "tests", "demo") for _ in (ROOT / top).rglob(path))
    return any(True for base in (ROOT, ROOT / "tracer", *(p for p in (ROOT / "tracer").iterdir() if p.is_dir()))
               for _ in base.glob(path))


@pytest.mark.parametrize("page", PAGES)
def test_every_file_named_exists(page: str) -> None:
    named = PATH.findall((ROOT / page).read_text(encoding="utf-8"))
    missing = [n for n in dict.fromkeys(named) if not exists(n)]
    assert not missing


def test_the_pages_name_files() -> None:
    assert len(set(PATH.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")))) > 80


def test_every_bench_is_listed() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    missing = [p.name for p in sorted((ROOT / "tests/bench").glob("*.py")) if f"| `{p.name}` | " not in text]
    assert not missing


def test_every_room_has_its_page() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [p.name for p in (ROOT / "tracer").iterdir() if (p / "__init__.py").is_file()]
    headings = " ".join(re.findall(r"^## Rooms?: (.*)$", text, re.M))
    assert not [r for r in rooms if r not in headings]
