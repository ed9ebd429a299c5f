"""A command's matrices are solved on one core, and it is not looked for what else would have to be told so."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from threadpoolctl import threadpool_info

from tests.library import MODELS
from tracer.circuit import one_core as module
from tracer.circuit.one_core import ASKED_AT_START, one_core


def blas() -> set[int]:
    return {lib["num_threads"] for lib in threadpool_info() if lib["user_api"] == "blas"}


def test_a_command_starts_on_one_core_and_looks_for_nothing() -> None:
    said = ("import sys; from tracer.commands import main; main(sys.argv[1:])\n"
            "assert 'numpy' in sys.modules and 'threadpoolctl' not in sys.modules\n"
            "from threadpoolctl import threadpool_info\n"
            "assert {x['num_threads'] for x in threadpool_info() if x['user_api'] == 'blas'} == {1}")
    own = {k: v for k, v in os.environ.items() if k not in ASKED_AT_START}
    run = subprocess.run([sys.executable, "-c", said, "simulate", str(MODELS / "rear_end.yaml")],
                         capture_output=True, text=True, env=own, cwd=Path(module.__file__).parents[2])
    assert run.returncode == 0, run.stderr


def test_whoever_uses_the_package_otherwise_is_held_to_one_core(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ASKED_AT_START:
        monkeypatch.delenv(name, raising=False)
    before = blas()
    with one_core():
        assert blas() == {1}
    assert blas() == before
