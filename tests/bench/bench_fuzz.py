"""Damaged harness files and wire lists, and arbitrary text, through load, check and the commands.

Prints how many loaded, what was slowest, and the memory at the beginning and the end. Anything that is not
a TracerError, takes more than the limit of processor time, or ends a command with another status than the
documented ones is printed with the case's number; `--case N` writes that case to standard output.

    .venv-tests/bin/python tests/bench/bench_fuzz.py --cases 20000
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import os
import random
import signal
import sys
import tempfile
import time
import traceback
from pathlib import Path
from types import FrameType
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as hypothesis_seed
from hypothesis import strategies as st

from tests.mutations import bases, chosen, mutated, mutated_list
from tracer.checking.rules import check, findings_text
from tracer.commands import main as command
from tracer.errors import ProblemsError, TracerError
from tracer.harness.file.text import dump_harness, read_harness
from tracer.harness.file.wire_list import wire_list_text
from tracer.harness.file.wires_in import lay_in

LIMIT_S = 2.0
SMALL_BYTES = 6000
CHECKED_OF_LARGE = 20  # a whole vehicle's check takes a second or more: one of so many is checked
COMMANDS_EVERY = 50
WALL_S = 120


class Case(NamedTuple):
    kind: str  # "file" or "list"
    base: str
    text: str
    is_small: bool


def _case(number: int, seed: int, sound: dict[str, str]) -> Case:
    r = random.Random(f"{seed}:{number}")
    names = sorted(sound)
    small = [n for n in names if len(sound[n]) < SMALL_BYTES]
    base = chosen(names, small, r)
    if r.random() < 0.15:
        return Case("list", base, mutated_list(wire_list_text(read_harness(sound[base]), r.random() < 0.5), r), True)
    return Case("file", base, mutated(sound[base], r), base in small)


class StillRunningError(Exception):
    """Raised by the alarm in the middle of a case."""


def _alarm(signum: int, frame: FrameType | None) -> None:
    raise StillRunningError


def _mb() -> float:
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


class Fuzz:
    """Counts what happened to the cases."""

    def __init__(self, sound: dict[str, str]) -> None:
        self.sound = sound
        self.loaded = self.checked = self.commands = self.refused = 0
        self.slowest_s, self.slowest = 0.0, ""
        self.wrong: list[str] = []

    def run(self, name: str, case: Case, with_check: bool, with_command: bool) -> None:
        start = time.process_time()
        signal.alarm(WALL_S)
        try:
            self._run(case, with_check)
            if with_command:
                self._command(name, case)
        except StillRunningError:
            self.wrong.append(f"{name}: still running after {WALL_S} s")
        except Exception:  # that nothing else escapes is what is tried
            self.wrong.append(f"{name} ({case.base}): {traceback.format_exc()}")
        finally:
            signal.alarm(0)
        took = time.process_time() - start
        if took > self.slowest_s:
            self.slowest_s, self.slowest = took, f"{name} ({case.base})"
        if took > LIMIT_S and case.is_small:
            self.wrong.append(f"{name} ({case.base}): {took:.1f} s of processor time")

    def _run(self, case: Case, with_check: bool) -> None:
        try:
            if case.kind == "list":
                lay_in(self.sound[case.base], case.base, case.text, "l.csv")
                self.loaded += 1
                return
            harness = read_harness(case.text, "f.yaml")
        except TracerError as error:
            self.refused += 1
            assert str(error) and all(p.file for p in getattr(error, "problems", ())), "an error without a place"
            assert all("\n" not in str(p) for p in getattr(error, "problems", ())), "an error of several lines"
            return
        self.loaded += 1
        assert read_harness(dump_harness(harness)) == harness, "does not read back equal"
        if with_check:
            self.checked += 1
            findings_text(check(harness))

    def _command(self, name: str, case: Case) -> None:
        """`tracer check` as a person runs it: 0, or 1 where errors were found; never a traceback."""
        self.commands += 1
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "f.yaml"
            path.write_bytes(case.text.encode("utf-8", "surrogatepass"))
            out, err = io.StringIO(), io.StringIO()
            status: object = None
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                try:
                    command(["check", str(path)])
                except SystemExit as done:
                    status = done.code
            try:
                read = read_harness(path.read_bytes().decode("utf-8"), str(path))
                expected = int(any(f.severity == "error" for f in check(read)))
            except (ProblemsError, UnicodeDecodeError):
                expected = 1
            if status != expected:
                said = err.getvalue()[:300]
                self.wrong.append(f"{name} ({case.base}): exit status {status}, not {expected}; {said}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--texts", type=int, default=1000, help="arbitrary texts by hypothesis besides")
    parser.add_argument("--case", type=int, help="write this case instead of running")
    args = parser.parse_args()
    sound = bases()
    if args.case is not None:
        sys.stdout.buffer.write(_case(args.case, args.seed, sound).text.encode("utf-8", "surrogatepass"))
        return 0
    signal.signal(signal.SIGALRM, _alarm)
    fuzz = Fuzz(sound)
    memory: list[tuple[int, float]] = []
    start = time.monotonic()
    for number in range(args.cases):
        case = _case(number, args.seed, sound)
        with_check = case.is_small or number % CHECKED_OF_LARGE == 0
        with_command = case.kind == "file" and case.is_small and number % COMMANDS_EVERY == 0
        fuzz.run(f"case {number}", case, with_check, with_command)
        if number in (args.cases // 20, args.cases // 2, args.cases - 1):
            memory.append((number + 1, _mb()))
    _texts(fuzz, args.texts, args.seed)
    memory.append((args.cases + args.texts, _mb()))
    took = time.monotonic() - start
    print(f"{args.cases} cases and {args.texts} texts in {took:.0f} s (seed {args.seed}): "
          f"{fuzz.refused} refused, {fuzz.loaded} loaded, {fuzz.checked} checked, "
          f"{fuzz.commands} through the command")
    print(f"slowest: {fuzz.slowest}, {fuzz.slowest_s:.2f} s of processor time")
    print("memory: " + ", ".join(f"{mb:.0f} MB after {n}" for n, mb in memory))
    for wrong in fuzz.wrong:
        print(wrong)
    print(f"{len(fuzz.wrong)} wrong")
    return 1 if fuzz.wrong else 0


def _texts(fuzz: Fuzz, count: int, seed: int) -> None:
    @hypothesis_seed(seed)
    @settings(max_examples=max(count, 1), deadline=None, database=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))
    @given(st.text(), st.text(st.characters(codec="utf-8")), st.sampled_from(sorted(fuzz.sound)))
    def one(text: str, more: str, base: str) -> None:
        fuzz.run(f"text {text!r}", Case("file", base, text, True), True, False)
        titled = fuzz.sound["lamp.yaml"].replace("One lamp", more)
        fuzz.run(f"title {more!r}", Case("file", "lamp.yaml", titled, True), False, False)
        fuzz.run(f"list {text!r}", Case("list", "lamp.yaml", f"from,to,{more}\n{text}", True), True, False)

    if count:
        one()


if __name__ == "__main__":
    sys.exit(main())
