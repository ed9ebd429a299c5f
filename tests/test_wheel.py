"""What is handed out: a wheel and an sdist, built here, installed into an empty environment and tried there.

The dependencies are lent by the environment of the tests, so that nothing is fetched.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from pathlib import Path

import pytest

import tracer

ROOT = Path(__file__).parents[1]
MODELS = sorted(p.name for p in (ROOT / "harness_models").glob("*.yaml"))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel and the sdist, built from a copy so that nothing is left in the clone."""
    copy, out = tmp_path_factory.mktemp("copy"), tmp_path_factory.mktemp("built")
    for name in ("tracer", "harness_models"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    for made in ("sdist", "wheel"):
        script = f"import sys; from setuptools import build_meta; print(build_meta.build_{made}(sys.argv[1]))"
        done = subprocess.run([sys.executable, "-c", script, str(out)], cwd=copy, text=True, capture_output=True)
        assert done.returncode == 0, done.stderr
    return out


def test_the_wheel_carries_models_licence_and_types(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert wheel.name == f"tracer-{tracer.__version__}-py3-none-any.whl"  # no compiler needed
    assert sorted(n.split("/")[1] for n in names if n.startswith("harness_models/") and n.endswith(".yaml")) == MODELS
    assert "tracer/py.typed" in names and any(n.endswith(("licenses/LICENSE", "info/LICENSE")) for n in names)
    assert "tracer/present/templates/report.html" in names
    patterns = {str(p.relative_to(ROOT)) for p in (ROOT / "tracer/patterns/trade").glob("*.yaml")}
    assert patterns and patterns <= set(names)
    modules = {str(p.relative_to(ROOT)) for p in (ROOT / "tracer").rglob("*.py")}
    assert modules <= set(names)
    assert not [n for n in names if n.startswith(("tests/", "demo/"))]


def test_the_sdist_carries_what_the_wheel_is_built_from(built: Path) -> None:
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as packed:
        names = {n.partition("/")[2] for n in packed.getnames()}
    assert {"pyproject.toml", "README.md", "LICENSE", "tracer/__main__.py"} <= names
    assert {f"harness_models/{m}" for m in MODELS} <= names


def test_it_works_where_there_is_no_clone(built: Path, tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    venv = tmp_path / "empty"
    alone = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", venv], check=True)
    python = venv / "bin" / "python"
    subprocess.run([sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", "--no-index",
                    "--disable-pip-version-check", wheel], check=True, cwd=tmp_path, env=alone)
    site = subprocess.run([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], check=True,
                          text=True, capture_output=True).stdout.strip()
    Path(site, "lent.pth").write_text(sysconfig.get_path("purelib") + "\n")  # a .pth in there is not followed
    work = tmp_path / "work"
    work.mkdir()

    def run(*args: str, by: tuple[str | Path, ...] = (venv / "bin" / "tracer",)) -> str:
        done = subprocess.run([*by, *args], cwd=work, text=True, capture_output=True, env=alone)
        assert done.returncode == 0, (args, done.stdout, done.stderr)
        return done.stdout

    assert "Find wiring faults" in run("--help")
    assert tracer.__version__ in run("--version")
    run("new", "van.yaml", "--like", "saloon_1970s")
    assert "saloon" in run("check", "van.yaml")
    (work / "answers.yaml").write_text("vehicle: motorcycle\n", encoding="utf-8")
    run("new", "twin.yaml", "--answers", "answers.yaml")
    run("open", "job.yaml", "--harness", "van.yaml")
    assert "nothing stands in the way" in run("about")
    assert tracer.__version__ in run("-m", "tracer", "--version", by=(python,))
    assert run("-c", "import tracer; print(tracer.__file__)", by=(python,)).startswith(str(venv))
