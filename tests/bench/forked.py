"""Mutants of functions tried in forked copies of one process that has read the tests and the package already.

A fresh process reads all modules for seconds before the first test begins; here a mutant's function is put in the
place of the sound one, and its tests begin at once. What was worked out while modules were read stays as it was: a
mutant may live here that a fresh process kills, hardly the other way round, since a failure counts only if the test
passes on the tree as it is in the same way. Mutants outside functions want a process that has read nothing.
"""

from __future__ import annotations

import ast
import contextlib
import gc
import io
import os
import re
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType

import pytest

_NOT_PATCHED = 97
_SOUND = 0, 5  # of pytest: all passed, none collected


def codes_of(code: CodeType) -> Iterator[CodeType]:
    """A piece of code and all that stand in it."""
    yield code
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield from codes_of(inner)


class Forked:
    """The sound package, read once, from which each trial is a copy."""

    def __init__(self, root: Path, folders: Sequence[str], modules: Sequence[Path]) -> None:
        """`folders`: of the tests; `modules`: those that are mutated, below `root`."""
        self._root, self._passes = root, dict[str, bool]()
        with contextlib.redirect_stdout(io.StringIO()):
            pytest.main(["--collect-only", "-q", "-n", "0", "-p", "no:cacheprovider", *folders])
        for path in modules:
            name = path.as_posix().removesuffix(".py").removesuffix("/__init__").replace("/", ".")
            import_module(name)
        gc.collect()
        self._functions: dict[str, list[FunctionType]] = {}
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                self._functions.setdefault(thing.__code__.co_filename, []).append(thing)
        gc.freeze()  # else each copy would go through all of it for loops

    def killed(self, path: Path, tree: ast.Module, tests: Sequence[str], most_s: float) -> bool:
        """Whether tests fail on a module with the change; `tree` has the lines of the sound one."""
        code, said = self._in_a_copy(lambda: self._changed(path, tree) or _run(tests), most_s)
        if code == _NOT_PATCHED:
            raise ValueError(f"no function of {path} is changed")
        failed = re.search(r"^(?:FAILED|ERROR) (tests/.*?)(?: - .*)?$", said, re.MULTILINE)
        if code == 1 and failed is not None and "::" in failed[1]:
            return self._sound(failed[1])
        return code not in _SOUND

    def _sound(self, test: str) -> bool:
        if test not in self._passes:
            self._passes[test] = self._in_a_copy(lambda: _run([test]), 600.0)[0] == 0
        return self._passes[test]

    def _changed(self, path: Path, tree: ast.Module) -> int:
        """Put the changed functions in the place of the sound ones; 0 if there were any."""
        file, found = str(self._root / path), 0
        new = {(c.co_qualname, c.co_firstlineno): c for c in codes_of(compile(tree, file, "exec"))}
        for function in self._functions.get(file, ()):
            old = function.__code__
            code = new.get((old.co_qualname, old.co_firstlineno))
            if code is not None and code.co_freevars == old.co_freevars and code != old:
                function.__code__ = code
                found += 1
        return 0 if found else _NOT_PATCHED

    @staticmethod
    def _in_a_copy(work: Callable[[], int], most_s: float) -> tuple[int, str]:
        """What a copy of this process returns, and prints; one that takes more processor than that, or waits for ten
        times as long, is ended."""
        with tempfile.TemporaryFile() as out:
            child = os.fork()
            if child == 0:
                code = 99
                try:
                    nothing = os.open(os.devnull, os.O_RDWR)
                    os.dup2(nothing, 0)
                    os.dup2(nothing, 2)
                    os.dup2(out.fileno(), 1)
                    spent = resource.getrusage(resource.RUSAGE_SELF)
                    most = int(most_s + spent.ru_utime + spent.ru_stime)
                    resource.setrlimit(resource.RLIMIT_CPU, (most, most + 5))
                    code = work()
                finally:
                    sys.stdout.flush()
                    os._exit(code)
            begun, ended, status = time.monotonic(), 0, 0
            while not ended:
                ended, status = os.waitpid(child, os.WNOHANG)
                if not ended and time.monotonic() - begun > 10 * most_s:
                    os.kill(child, 9)
                time.sleep(0.0 if ended else 0.02)
            out.seek(0)
            return os.waitstatus_to_exitcode(status), out.read().decode(errors="replace")


def _run(tests: Sequence[str]) -> int:
    """Run tests in this process, with a folder of their own for what is kept between commands."""
    from tests.shared import investigator_for  # as they were read with the tests
    from tracer.cache import FOLDER_VARIABLE

    folder = tempfile.mkdtemp(prefix="tracer-mutant-")
    os.environ[FOLDER_VARIABLE] = folder
    investigator_for.folder = Path(folder)
    try:
        return int(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--tb=line", "-rfE", *tests]))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
