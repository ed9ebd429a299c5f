"""The whole job as a conversation in the terminal: short questions, answered by number.

In comes what a person types; out go the questions and what `Job` says to the answers. Nothing is reasoned here.
"""

from __future__ import annotations

import sys

from tracer.errors import TracerError
from tracer.guide.conversation import Guide
from tracer.guide.keyboard import forget_typed, wait_for_line
from tracer.guide.talk import WORKING, Ask, Say
from tracer.job.job import Job
from tracer.present.screen import prepare_streams, width
from tracer.present.screen import say as show

__all__ = ["run_guide", "terminal_ask", "terminal_guide"]


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
    prepare_streams()
    busy = False

    def ask(prompt: str) -> str:
        nonlocal busy
        if terminal and busy:  # what was typed before the question could be read is no answer to it
            forget_typed()
        busy = False
        show(prompt, end="")
        if terminal:
            wait_for_line()
            return input()
        answer = input()
        show(answer)
        return answer

    def say(line: str) -> None:
        nonlocal busy
        busy = busy or line == WORKING
        show(line)

    return run_guide(job, ask, say, width())


def terminal_ask(prompt: str) -> str:
    """Show a prompt on the terminal and return the line that is typed."""
    show(prompt, end="")
    wait_for_line()
    return input()
