"""Which functions of the package each test reaches, and what the test takes: a plugin that writes both to a file.

    REACHED=FILE python -m pytest -n 0 -p tests.bench.reached tests/planning

With it a mutant is run against those tests alone that can notice it, the quickest first (`bench_mutants.py`).
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest

PACKAGE = str(Path(__file__).resolve().parents[2] / "tracer") + os.sep
OUT = "REACHED"


class Reached:
    """Test → its seconds of processor, and the functions (module:line) that it entered, set-up included."""

    def __init__(self) -> None:
        self.tests: dict[str, tuple[float, list[str]]] = {}
        self._entered: set[CodeType] = set()

    def called(self, frame: FrameType, event: str, arg: object) -> None:
        self._entered.add(frame.f_code)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[Any]:
        self._entered = set()
        begun = _processor_s()
        sys.settrace(self.called)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            names = {f"{c.co_filename.removeprefix(PACKAGE)}:{c.co_firstlineno}" for c in self._entered
                     if c.co_filename.startswith(PACKAGE)}
            self.tests[item.nodeid] = round(_processor_s() - begun, 3), sorted(names)

    def pytest_unconfigure(self) -> None:
        Path(os.environ[OUT]).write_text(json.dumps(self.tests), encoding="utf-8")


def _processor_s() -> float:
    """Of this process and of those that it has started and seen end."""
    spent = os.times()
    return time.process_time() + spent.children_user + spent.children_system


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(Reached())
