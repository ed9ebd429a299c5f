"""What the package meets on Windows, as far as that can be played on another system.

Modules and functions that Windows lacks cannot be had by the package nor by the libraries it takes for what differs;
a console of code page 1252; relative paths with backslashes. The tests themselves keep their POSIX modules.
"""

from __future__ import annotations

import builtins
import os
import signal
import sys
from collections.abc import Mapping, Sequence
from types import ModuleType
from typing import Any, Final

VARIABLE: Final = "TESTS_AS_ON"  # "windows": the whole run so
MISSING: Final = frozenset(("fcntl", "termios", "tty", "pty", "resource", "pwd", "grp", "posix"))
_MISSING_FROM: Final[Mapping[ModuleType, tuple[str, ...]]] = {
    os: ("getuid", "geteuid", "O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_DIRECTORY", "fchmod", "mkfifo"),
    signal: ("SIGKILL", "SIGHUP"),
}
_CONCERNED: Final = ("tracer", "filelock", "platformdirs")


def install() -> None:
    """Play Windows from here on, in this process: before anything of the package is imported."""
    assert not [m for m in sys.modules if m.split(".")[0] in ("tracer", "filelock")]
    real = builtins.__import__

    def guarded(
        name: str, globals: Mapping[str, Any] | None = None, locals: Mapping[str, Any] | None = None,
        fromlist: Sequence[str] | None = (), level: int = 0,
    ) -> ModuleType:
        who = str((globals or {}).get("__name__", "")).split(".")[0]
        if who in _CONCERNED and level == 0 and name.split(".")[0] in MISSING:
            raise ModuleNotFoundError(f"No module named '{name}'", name=name)
        return real(name, globals, locals, fromlist or (), level)

    builtins.__import__ = guarded
    hidden = {(m, n): getattr(m, n) for m, names in _MISSING_FROM.items() for n in names if hasattr(m, n)}
    for module, name in hidden:
        delattr(module, name)
    try:  # what asks at import whether the system has something is answered no
        import tracer.cache
        import tracer.guide.keyboard
        import tracer.job.file
        import tracer.job.whole_file  # noqa: F401
    finally:
        for (module, name), value in hidden.items():
            setattr(module, name, value)
