"""The tests keep what is kept between commands in a folder of their own, and know no workshop's memory."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

from tests import as_on_windows

if os.environ.get(as_on_windows.VARIABLE) == "windows":
    as_on_windows.install()
from tracer.cache import FOLDER_VARIABLE  # not before the system is played
from tracer.memory.store import MEMORY_VARIABLE

os.environ[MEMORY_VARIABLE] = "off"  # that of whoever runs the tests stays out of them
# Workers take the folder of the process that started them: what one has worked out the others need not.
if "PYTEST_XDIST_WORKER" not in os.environ or FOLDER_VARIABLE not in os.environ:
    _FOLDER = tempfile.mkdtemp(prefix="tracer-tests-")
    os.environ[FOLDER_VARIABLE] = _FOLDER
    atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
