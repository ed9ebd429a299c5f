"""One command of `tracer` run as the program runs it, and what its parts took: a program of its own for
`bench_steps.py`, which reads in nothing that the command does not.

    python tests/bench/step_parts.py next JOB --json

Prints what the parts took beyond the parts they called, and what the command said.
"""

from __future__ import annotations

import functools
import gc
import io
import json
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from contextlib import redirect_stdout
from importlib import import_module
from typing import Any

# part of the time → where it is spent, as module and name
PARTS: dict[str, Sequence[tuple[str, str]]] = {
    "reading": [("tracer.harness.file.text", "load_harness"), ("tracer.job.file", "load")],
    "faults": [("tracer.faults", "list_faults"), ("tracer.inference.hypotheses", "single_hypotheses")],
    "solving": [("tracer.circuit.fuses_and_relays", "Settler.solve_several"),
                ("tracer.circuit.fuses_and_relays", "Settler.know"),
                ("tracer.circuit.fuses_and_relays", "Settler.disturbed")],
    "weighing": [("tracer.inference.diagnosis_cache", "diagnosed"), ("tracer.inference.lookalikes", "with_groups")],
    "candidates": [("tracer.planning.candidates", "Candidates.__init__"),
                   ("tracer.planning.candidates", "Candidates.all")],
    "planning": [("tracer.planning.next_step", "propose")],
}


class Clock:
    """CPU seconds by part, each less what the parts called from it took."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = defaultdict(float)
        self._open: list[str] = ["start"]
        self._last = 0.0  # since the process began

    def turn(self, part: str | None) -> None:
        """Begin a part, or end the present one."""
        now = time.process_time()
        self.spent[self._open[-1]] += now - self._last
        self._last = now
        if part is None:
            self._open.pop()
        else:
            self._open.append(part)

    def timed(self, part: str, call: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(call)
        def measured(*args: Any, **named: Any) -> Any:
            self.turn(part)
            try:
                found = call(*args, **named)
                return list(found) if hasattr(found, "__next__") else found  # else it is worked out elsewhere
            finally:
                self.turn(None)

        return measured


def main() -> None:
    """Run the command."""
    clock = Clock()
    from tracer import __main__ as program

    gc.set_threshold(program.WHILE_READ_IN)  # as the program does first
    for module in ("tracer.commands.job_commands", "tracer.planning.next_step", "tracer.inference.lookalikes"):
        import_module(module)  # else they would be imported within what is measured
    known = [m for name, m in sys.modules.items() if name.startswith("tracer")]
    for part, places in PARTS.items():
        for name, place in places:
            *owner, last = place.split(".")
            if owner:
                cls = getattr(sys.modules[name], owner[0])
                setattr(cls, last, clock.timed(part, getattr(cls, last)))
                continue
            call = getattr(import_module(name), last, None)
            if call is not None:
                ours = clock.timed(part, call)
                for m in known:
                    if getattr(m, last, None) is call:
                        setattr(m, last, ours)
    clock.turn("rest")
    out, ends = io.StringIO(), program.end

    def tell(status: int) -> None:
        clock.turn(None)
        print(json.dumps(clock.spent | {"proposed": json.loads(out.getvalue())}), file=sys.__stdout__, flush=True)
        ends(status)

    program.end = tell
    with redirect_stdout(out):
        program.main()


if __name__ == "__main__":
    main()
