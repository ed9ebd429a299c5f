"""The whole job as a conversation in the terminal: short questions, answered by number.

In comes what a person types; out go the questions and what `Job` says to the answers. Nothing is reasoned here.
"""

from __future__ import annotations

import io
import os
import select
import shutil
import signal
import sys
import termios
from contextlib import suppress

from tracer.errors import TracerError
from tracer.guide.conversation import Guide
from tracer.guide.talk import WORKING, Ask, Say
from tracer.job.job import Job

__all__ = ["run_guide", "terminal_guide"]


def run_guide(job: Job, ask: Ask, say: Say, width: int = 80) -> int:
    """Lead through a job from what was seen to the proven repair.

    Args:
        ask: Shows a prompt and returns what was typed; EOFError and KeyboardInterrupt end the guide.
        say: Shows one line.
        width: No line is longer.

    Returns:
        0: closed, or stopped on request; 1: nothing more that the guide can offer, or the job file cannot be
        written; 130: interrupted. What was answered is in the job file in every case.
    """
    return Guide(job, ask, say, max(width, 40)).run()


def terminal_guide(job: Job, lines: bool = False) -> int:
    """The guide on standard input and output. `lines`: also where standard input is no terminal, each
    line of it an answer, which is repeated in the output.

    Raises:
        TracerError: Standard input is not a terminal.
    """
    terminal = sys.stdin is not None and sys.stdin.isatty()
    if not terminal and not lines:
        raise TracerError("the guide asks questions, and standard input is not a terminal",
                          "run it in a terminal, or with --lines to take each line of the input as an answer")
    for stream in (sys.stdin, sys.stdout):
        if isinstance(stream, io.TextIOWrapper):  # never stop at a character that the terminal lacks
            stream.reconfigure(errors="replace")

    busy = False

    def ask(prompt: str) -> str:
        nonlocal busy
        if terminal and busy:  # what was typed before the question could be read is no answer to it
            with suppress(termios.error):
                termios.tcflush(sys.stdin, termios.TCIFLUSH)
        busy = False
        if terminal:
            _prompt(prompt)
            return input()
        print(prompt, end="", flush=True)
        answer = input()
        print(answer)
        return answer

    def say(line: str) -> None:
        nonlocal busy
        busy = busy or line == WORKING
        print(line, flush=True)

    return run_guide(job, ask, say, min(shutil.get_terminal_size((80, 24)).columns, 100))


def _prompt(prompt: str) -> None:
    """Show a prompt in a terminal and wait until there is something to read; no interrupt can slip past.

    Between a prompt and the read behind `input` an interrupt is only noted, and the read then waits for a
    line all the same. A signal also writes to a pipe here, and the pipe is waited for together with the input.
    """
    woken, wake = os.pipe()
    os.set_blocking(wake, False)
    before = signal.set_wakeup_fd(wake)
    try:
        print(prompt, end="", flush=True)
        select.select([sys.stdin, woken], [], [])
    finally:
        signal.set_wakeup_fd(before)
        os.close(woken)
        os.close(wake)
