"""The tests keep what is kept between commands in a folder of their own."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

from tracer.cache import FOLDER_VARIABLE

_FOLDER = tempfile.mkdtemp(prefix="tracer-tests-")
os.environ[FOLDER_VARIABLE] = _FOLDER
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
