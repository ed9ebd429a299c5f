"""A harness checked anew after each save: what is new, what is gone, and how many are left."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from tracer.errors import ProblemsError, TracerError
from tracer.present.screen import say

EVERY_S: Final = 0.4
_SETTLED_S: Final = 0.15  # some editors write in two steps
Found = dict[tuple[str, str], str]  # severity and message, without its place → as it is printed


def found_in(harness: str, overlays: Sequence[str]) -> Found:
    """Every error, or every finding, of the files as they are now."""
    from tracer.job.harnesses import Survey, check, load_harness

    try:
        read = load_harness(harness, overlays)
    except ProblemsError as error:
        return {("error", p.message): f"{p} [error]" for p in error.problems}
    except TracerError as error:  # gone for a moment, while it is written
        return {("error", error.message): f"{error} [error]"}
    return {(f.severity, f.message): str(f) for f in check(read, Survey(read))}


def news(before: Found, after: Found) -> list[str]:
    """What a save changed, in lines."""
    lines = [f"new:  {text}" for key, text in after.items() if key not in before]
    lines += [f"gone: {text}" for key, text in before.items() if key not in after]
    count = {s: sum(severity == s for severity, _ in after) for s in ("error", "warning", "note")}
    left = ", ".join(f"{n} {s}{'s' * (n != 1)}" for s, n in count.items() if n)
    return [*lines, left or "no errors, nothing doubtful"]


def watch(
    harness: str, overlays: Sequence[str], wait: Callable[[float], None] = time.sleep, most: int | None = None
) -> int:
    """Check after each save until somebody stops it with Ctrl-C.

    Args:
        wait: Waits so many seconds; a test puts its own edits here.
        most: Stop after so many looks; None: go on.

    Returns:
        1 if the last look found an error, else 0.
    """
    files = [Path(f) for f in (harness, *overlays)]
    before: Found = {}
    stamp: list[tuple[int, int]] | None = None
    say(f"watching {', '.join(map(str, files))}: save, and what is new is said here; Ctrl-C stops")
    try:
        looks = 0
        while most is None or looks < most:
            looks += 1
            now = _stamps(files)
            if now and now != stamp:
                if stamp is not None:
                    wait(_SETTLED_S)
                    now = _stamps(files) or now
                stamp = now
                after = found_in(harness, overlays)
                for line in ([time.strftime("%H:%M:%S"), *news(before, after)]):
                    say(line)
                before = after
            wait(EVERY_S)
    except KeyboardInterrupt:
        say("stopped")
    return 1 if any(severity == "error" for severity, _ in before) else 0


def _stamps(files: Sequence[Path]) -> list[tuple[int, int]] | None:
    """When each file was written and how long it is; None while one is not there."""
    try:
        return [(s.st_mtime_ns, s.st_size) for s in (f.stat() for f in files)]
    except OSError:
        return None
