"""What the page on Python shows is what happens; the interface is lazy and complete."""

from __future__ import annotations

import doctest
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import tracer

ROOT = Path(__file__).parents[2]


def test_the_examples_show_what_happens(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "harness_models", tmp_path / "harness_models")
    monkeypatch.chdir(tmp_path)
    text = (ROOT / "demo" / "python.md").read_text(encoding="utf-8").replace("```", "")
    examples = doctest.DocTestParser().get_doctest(text, {}, "python.md", "python.md", 0)
    wrong: list[str] = []

    done = doctest.DocTestRunner(optionflags=doctest.REPORT_NDIFF).run(examples, out=wrong.append)

    assert done.attempted > 30
    assert done.failed == 0, "".join(wrong)


def test_every_name_is_there() -> None:
    assert {n for n in tracer.__all__ if not callable(getattr(tracer, n))} == set()
    assert set(tracer.__all__) <= set(dir(tracer))
    with pytest.raises(AttributeError, match="no attribute 'jobs'"):
        tracer.jobs  # noqa: B018


def test_importing_it_imports_nothing_heavy() -> None:
    code = "import sys, tracer; print([m for m in ('numpy', 'yaml', 'click', 'pygraphviz') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"
