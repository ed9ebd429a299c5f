"""Every workshop's laptop: nothing of the package needs one system, and files are the same on all.

Windows is played as far as another system can (`tests/as_on_windows.py`). The tests of jobs and faces run so as a
whole with `TESTS_AS_ON=windows sh tests/run tests/job tests/faces`.
"""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from tests.as_on_windows import MISSING
from tests.library import MODELS
from tracer.errors import TracerError
from tracer.job.whole_file import need_free

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "tracer"
KEYBOARD = PACKAGE / "guide" / "keyboard.py"
SOURCES = sorted(PACKAGE.rglob("*.py"))

ENDED = "(status of what was played)"
PLAYED = f"""
import json, sys
from tests import as_on_windows
as_on_windows.install()
from tracer.commands import main
for args in json.loads(sys.argv[1]):
    try:
        main(args)
    except SystemExit as left:
        print(left.code or 0, "{ENDED}", flush=True)
"""


def played(folder: Path, commands: Sequence[Sequence[str]], told: str = "") -> tuple[list[str], str]:
    """Commands one after the other as on Windows, in a console of code page 1252: what each printed, its status last,
    and all errors."""
    done = subprocess.run(
        [sys.executable, "-c", PLAYED, json.dumps(commands)], cwd=folder, input=told.encode("cp1252"),
        capture_output=True, env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "cp1252"},
    )
    return done.stdout.decode("cp1252").split(ENDED)[:-1], done.stderr.decode("cp1252")


def nodes(path: Path) -> Iterator[ast.AST]:
    return ast.walk(ast.parse(path.read_text(encoding="utf-8")))


def test_no_module_but_the_keyboard_needs_one_system() -> None:
    for path in (p for p in SOURCES if p != KEYBOARD):
        for node in nodes(path):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else (
                [node.module or ""] if isinstance(node, ast.ImportFrom) else [])
            assert not {n.split(".")[0] for n in names} & {*MISSING, "select", "msvcrt", "winreg"}, path


def test_texts_are_read_and_written_as_utf8_with_fixed_line_ends() -> None:
    for path in SOURCES:
        for node in (n for n in nodes(path) if isinstance(n, ast.Call)):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name == "open" and ast.unparse(node.func) not in ("os.open", "Image.open"):  # which takes pictures
                given = (*node.args, *(k.value for k in node.keywords))
                modes = [a.value for a in given if isinstance(a, ast.Constant)]
                binary = any(isinstance(m, str) and "b" in m and len(m) <= 3 for m in modes)
                assert binary, f"{path}: {ast.unparse(node)}"
            assert name != "write_text", f"{path}: its line ends differ from system to system: {ast.unparse(node)}"
            if name == "read_text":
                assert "encoding" in {k.arg for k in node.keywords}, f"{path}: {ast.unparse(node)}"


def test_a_whole_job_as_on_windows(tmp_path: Path) -> None:
    (tmp_path / "harnesses").mkdir()
    (tmp_path / "harnesses" / "van.yaml").write_bytes((MODELS / "rear_end.yaml").read_bytes())
    steps = [
        ("open job.yaml --harness harnesses/van.yaml --complaint", "R\xfccklicht dunkel"),
        ("symptom job.yaml", "left tail dark when lamp switch side"),
        ("reading job.yaml", "ohms left rear.earth to E1", "0.2 Ω"),
        ("suspects job.yaml",), ("next job.yaml",), ("undo job.yaml",),
        ("repaired job.yaml 1 --proof 1=ok",), ("report job.yaml -o report.html",), ("draw job.yaml -o drawing.svg",),
        ("wires harnesses/van.yaml -o van.csv",), ("chart harnesses/van.yaml -o chart.md",), ("about",),
        ("new own.yaml --like saloon_1970s",), ("guide job.yaml --lines",),
    ]
    shown, errors = played(tmp_path, [[*first.split(), *more] for first, *more in steps], told="?\nd\n")
    assert "Traceback" not in errors and len(shown) == len(steps), errors
    for (first, *_), out in zip(steps, shown, strict=True):
        assert out.split()[-1] == "0", (first, out, errors)
        assert "0.2 Ω" not in out  # code page 1252 has no Ω; it is spelt out
    assert "Everything recorded so far is saved" in shown[-1]
    for name in ("job.yaml", "report.html", "drawing.svg", "van.csv", "chart.md", "own.yaml"):
        content = (tmp_path / name).read_bytes()
        assert b"\r" not in content and content.decode("utf-8"), name
    assert "Rücklicht" in (tmp_path / "job.yaml").read_text(encoding="utf-8")
    assert "harness: harnesses/van.yaml" in (tmp_path / "job.yaml").read_text(encoding="utf-8")


def test_the_modules_are_really_missing_there(tmp_path: Path) -> None:
    script = PLAYED.partition("from tracer.commands")[0] + (
        "import tracer.guide.keyboard as k, tracer.cache as c, filelock\n"
        "print(k._POSIX, c.ONLY_OWNER, c._NO_LINK, filelock.FileLock.__name__)"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, text=True, capture_output=True, check=True,
                          env=os.environ | {"PYTHONPATH": str(ROOT)})
    assert done.stdout.split() == ["False", "False", "0", "SoftFileLock"]


def test_names_that_differ_in_case_alone_are_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    harness = tmp_path / "van.yaml"
    harness.write_text("harness: Van\n", encoding="utf-8")
    real = os.stat

    def folded(path: str | Path, *args: object, **more: object) -> os.stat_result:
        name = os.fspath(path)
        return real(os.path.join(os.path.dirname(name), os.path.basename(name).lower()))

    monkeypatch.setattr(os, "stat", folded)
    with pytest.raises(TracerError, match="is what this is made from"):
        need_free(str(tmp_path / "VAN.yaml"), [str(harness)])


def test_a_replaced_file_that_is_held_open_is_tried_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a virus scanner holds a new file on Windows: PermissionError for a moment."""
    from tracer.job import whole_file

    tries: list[int] = []
    real = os.replace

    def held(old: Path, new: Path) -> None:
        tries.append(1)
        if len(tries) < 3:
            raise PermissionError(13, "held")
        real(old, new)

    monkeypatch.setattr(whole_file, "_TRIES", 5)
    monkeypatch.setattr(os, "replace", held)
    monkeypatch.setattr(whole_file, "_WINDOWS", True)
    whole_file.replace_whole(tmp_path / "out.txt", b"new")
    assert len(tries) == 3 and (tmp_path / "out.txt").read_bytes() == b"new"
