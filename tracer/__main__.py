"""`python -m tracer`, and the command `tracer`: an interrupt ends them quietly from the first moment on."""

from __future__ import annotations

import gc
import sys


def main() -> None:
    """Run the command line."""
    try:
        from tracer.commands import main as run  # an interrupt while this is read in is no crash

        run()
    except KeyboardInterrupt:
        sys.exit(130)
    finally:
        # All goes with the process: to look through it for circles first takes a tenth of a second.
        gc.freeze()


if __name__ == "__main__":
    main()
