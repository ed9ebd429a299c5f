"""`python -m tracer`, and the command `tracer`: an interrupt ends them quietly from the first moment on."""

from __future__ import annotations

import atexit
import gc
import os
import sys
import threading
from types import ModuleType

# New objects between two looks for circles of them that nobody uses, until the command is known: what is read in
# stays.
WHILE_READ_IN = 1_000_000


def main() -> None:
    """Run the command line, and end the process with its exit status."""
    gc.set_threshold(WHILE_READ_IN)
    try:
        _leave_out()
        from tracer.commands import main as run  # an interrupt while this is read in is no crash

        run()
    except KeyboardInterrupt:
        end(130)
    except SystemExit as done:
        if not isinstance(done.code, int):
            raise
        end(done.code)


def _leave_out() -> None:
    """Leave out what libraries read in at their start and no command asks for: numpy's descriptions of its functions
    (a tenth of its start), and what msgspec would take from a later Python's typing."""
    for name in ("numpy._core._add_newdocs", "numpy._core._add_newdocs_scalars"):
        sys.modules.setdefault(name, ModuleType(name))
    if "typing_extensions" not in sys.modules:
        sys.modules["typing_extensions"] = None  # type: ignore[assignment]  # as if it were not installed
        import msgspec  # noqa: F401

        del sys.modules["typing_extensions"]


def end(status: int) -> None:
    """End the process. All that was made goes with it: to look through it for circles and to take it apart piece by
    piece first takes a twentieth of a step."""
    if threading.active_count() == 1:  # nobody else is at work
        atexit._run_exitfuncs()
        try:
            for stream in (sys.stdout, sys.stderr):
                if stream is not None:
                    stream.flush()
        except (OSError, ValueError):  # nobody reads any more: told as Python tells it
            pass
        else:
            os._exit(status)
    gc.freeze()
    sys.exit(status)


if __name__ == "__main__":
    main()
