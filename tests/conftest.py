"""The tests keep what is kept between commands in a folder of their own, and know no workshop's memory; the jobs of
one worker on a vehicle share what weighs evidence on it."""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests import as_on_windows, long

if os.environ.get(as_on_windows.VARIABLE) == "windows":
    as_on_windows.install()
from tests.shared import investigator_for  # takes the package in: not before the system is played
from tracer.cache import FOLDER_VARIABLE
from tracer.inference import shown
from tracer.job import understanding
from tracer.memory.store import MEMORY_VARIABLE

os.environ[MEMORY_VARIABLE] = "off"  # that of whoever runs the tests stays out of them
# Workers take the folder of the process that started them: what one has worked out the others need not.
if "PYTEST_XDIST_WORKER" not in os.environ or FOLDER_VARIABLE not in os.environ:
    _FOLDER = tempfile.mkdtemp(prefix="tracer-tests-")
    os.environ[FOLDER_VARIABLE] = _FOLDER
    atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
if "REACHED" not in os.environ:  # else each test has to enter by itself all that it rests on (tests/bench/reached.py)
    investigator_for.folder = Path(os.environ[FOLDER_VARIABLE])

# What the workers hold on to would be gone through for loops again and again, a tenth of their time.
gc.set_threshold(50_000, 20, 50)


# How long an example takes says how busy the machine is, and nothing of the law.
settings.register_profile("by the law alone", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("by the law alone")


def pytest_configure(config: pytest.Config) -> None:
    long.ask(config.option.markexpr)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What many tests wait for is begun first: at the end the other workers would have nothing left to take over."""
    items.sort(key=lambda item: item.path.name != "test_real_cases.py")


@pytest.fixture(scope="session", autouse=True)
def jobs_share() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(understanding, "Investigator", investigator_for)
        patch.setattr(shown, "_MOST_BYTES", 100_000_000)  # one vehicle serves many jobs
        yield
