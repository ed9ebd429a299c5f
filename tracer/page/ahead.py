"""Working ahead: what the first step of a job needs of its vehicle, while somebody still marks what was seen.

Before anything was told, most of the time to the first step goes into what every complaint on that vehicle needs: its
faults, which fuses their shorts blow, what all of them show. A thread beside the requests works that out on a copy of
the job in memory. Nothing is written to the job, and nobody waits for it but who asks for the step meanwhile.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from threading import Lock, Thread
from typing import Final

from tracer.errors import TracerError
from tracer.job.job import Job
from tracer.job.typed import example_sentence
from tracer.job.what_if import WhatIf

_ONE: Final = Lock()  # two at once would take as long as one after the other, and the requests still longer


class Ahead:
    """What is worked out ahead for one job."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._wanted, self._working = True, False
        self._turn, self._found = Lock(), list[WhatIf]()
        self._thread = Thread(target=self._work, name="ahead", daemon=True)
        self._thread.start()

    def _work(self) -> None:
        with _ONE:
            with self._turn:
                self._working = self._wanted
            if not self._working:
                return
            # Whatever is wrong with the job or its harness is told to whoever asks for the step.
            with suppress(TracerError, OSError):
                told = WhatIf(Job(self._path))  # a job of its own, so that nobody waits for it
                self._found.append(told)
                _suppose(told)
                told.next(record=False)

    def give(self, job: Job, wait: bool) -> bool:
        """Hand what was found over to a job, if it is wired alike; whether that is over and done with. With `wait`
        what is under way is finished first, since to begin anew beside it would take longer."""
        if not wait and self._thread.is_alive():
            return False
        with self._turn:  # what has not begun never will
            self._wanted = False
        if self._working:
            self._thread.join()
        for told in self._found:
            job.take_over(told)
        return True


def _suppose(told: WhatIf) -> None:
    """Tell a copy of the job what may be told: the complaint it was opened with, or else anything."""
    with suppress(TracerError):
        told.symptom(told.complaint)
        return
    told.symptom(example_sentence(told.harness))
