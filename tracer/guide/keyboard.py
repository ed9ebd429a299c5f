"""The keyboard of the terminal: the one place that knows how systems differ in it.

Everywhere: a prompt, then a line. On POSIX systems also: what was typed ahead of a question is thrown away, and no
interrupt can slip between a prompt and the read. Windows throws typed-ahead keys away in its own manner.
"""

from __future__ import annotations

import os
import signal
import sys
from contextlib import suppress

try:
    import select
    import termios
except ImportError:  # Windows
    _POSIX = False
else:
    _POSIX = True


def forget_typed() -> None:
    """Throw away what was typed before a question could be read: it is no answer to it."""
    if _POSIX:
        with suppress(termios.error, OSError, ValueError):
            termios.tcflush(sys.stdin, termios.TCIFLUSH)
        return
    with suppress(ImportError, OSError):
        import msvcrt

        kbhit, getwch = (getattr(msvcrt, name) for name in ("kbhit", "getwch"))
        while kbhit():
            getwch()


def wait_for_line() -> None:
    """Wait until there is something to read; no interrupt can slip past.

    Between a prompt and the read behind `input` an interrupt is only noted, and the read then waits for a
    line all the same. A signal also writes to a pipe here, and the pipe is waited for together with the input.
    Where a terminal cannot be waited for so, `input` waits itself.
    """
    if not _POSIX:
        return
    woken, wake = os.pipe()
    os.set_blocking(wake, False)
    before = signal.set_wakeup_fd(wake)
    try:
        select.select([sys.stdin, woken], [], [])
    finally:
        signal.set_wakeup_fd(before)
        os.close(woken)
        os.close(wake)
