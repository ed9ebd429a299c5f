"""The command line. Only `click` is imported until a command is chosen, so that --help is quick.

In come words typed in a shell; out go what `Job`, the checks and the pictures answer, as text or JSON, and an exit
status. Nothing is reasoned here.
"""

from __future__ import annotations

import gc
import importlib
import io
import os
import sys
from contextlib import nullcontext, suppress
from typing import Any, Final, NamedTuple

import click

from tracer import __version__
from tracer.errors import ProblemsError, TracerError
from tracer.present.screen import Progress, prepare_streams, say


class _Where(NamedTuple):
    module: str
    short_help: str


_TALKS: Final = ("guide", "page", "practise")  # commands that are a conversation
# New objects between two looks for circles of them that nobody uses: hardly any in a command, more as days go by.
_NEW_OBJECTS: Final = 2_000_000
_NEW_IN_TALK: Final = 300_000
_ONE_CORE: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")  # see `circuit/one_core.py`

# Command → module of this package that holds it; the function's name is the command's with "_command".
COMMANDS: Final = {
    "check": _Where("harness_commands", "Read a harness, report errors and doubts, and show what each lamp does."),
    "new": _Where("new_command", "Begin a harness: by questions, alike a model, from a wire list, or a starter."),
    "wires": _Where("harness_commands", "The wires of a harness as a CSV list, and such a list into a harness."),
    "schema": _Where("harness_commands", "Print the JSON Schema of harness files."),
    "chart": _Where("harness_commands", "Symptom-to-cause chart of a harness for the wall."),
    "simulate": _Where("harness_commands", "What the lamps do in a vehicle state, with faults or without."),
    "faults": _Where("harness_commands", "Every fault the harness can have, with base rate and repair."),
    "open": _Where("job_commands", "Start a job file."),
    "symptom": _Where("job_commands", "Record what was seen."),
    "suspects": _Where("job_commands", "The ranked causes, with reasons."),
    "next": _Where("job_commands", "The next test, and why."),
    "reading": _Where("job_commands", "Record what a test showed."),
    "plan": _Where("plan_command", "The coming steps worked out ahead, as a sheet to take along."),
    "undo": _Where("job_commands", "Take the last entry back."),
    "differs": _Where("job_commands", "Record what differs on this vehicle from the harness file."),
    "repaired": _Where("job_commands", "Record the repair, list the proof checks, take their results."),
    "draw": _Where("record_commands", "Draw the affected sub-circuit as SVG, PNG or PDF."),
    "guide": _Where("record_commands", "The whole job as a conversation in the terminal."),
    "page": _Where("page_commands", "The jobs of a folder in a browser, at the vehicle."),
    "report": _Where("record_commands", "Write the record of the job as HTML or Markdown."),
    "learn": _Where("learn_command", "Learn from closed jobs how often each kind of fault turns up here."),
    "practise": _Where("practice_commands", "Practise on a vehicle whose fault is hidden."),
    "about": _Where("about_command", "Look over this installation, for a question to somebody who knows it."),
}


class _Lazy(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"tracer.commands.{COMMANDS[cmd_name].module}")
        found: click.Command = getattr(module, f"{cmd_name}_command")
        return found

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:  # else told as a failure of the command
            raise _ClosedPipeError from None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from tracer.errors import did_you_mean

            raise click.UsageError(f"no command “{args[0]}” ({did_you_mean(args[0], COMMANDS)})", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, where.short_help) for name, where in COMMANDS.items()])


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="tracer")
def cli() -> None:
    """Find wiring faults in vehicle lighting circuits: from what was seen to a proven repair.

    \b
    A job in short:
      tracer open job.yaml --harness harness.yaml
      tracer symptom job.yaml "left rear reversing lamp dark when gear reverse"
      tracer suspects job.yaml
      tracer next job.yaml
      tracer reading job.yaml V-3f2a "11.9 V"
      tracer repaired job.yaml 1
      tracer report job.yaml -o report.html

    Exit status: 0 done; 1 done, and the answer is bad news; 2 wrong use.
    """


class _ClosedPipeError(Exception):
    """Whoever read the output has read enough."""


def main(args: list[str] | None = None) -> Any:
    """Run the command line and exit with the documented status."""
    # A command makes much and throws little away in circles: looking for these hundreds of times takes a tenth of it,
    # and a fifth where the entries of a long job lie about meanwhile.
    alone = _answers_alone(sys.argv[1:] if args is None else args)
    gc.set_threshold(_NEW_OBJECTS if alone else _NEW_IN_TALK)
    if "numpy" not in sys.modules:  # to tell its libraries later takes as long as a tenth of a step
        os.environ.update(dict.fromkeys(_ONE_CORE, "1"))
    prepare_streams()
    try:
        with Progress() if alone else nullcontext():
            status = cli.main(args=args, prog_name="tracer", standalone_mode=False)
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
    except TracerError as error:
        _complain(error)
        sys.exit(2)
    except click.exceptions.Exit as done:
        sys.exit(done.exit_code)
    except (click.exceptions.Abort, KeyboardInterrupt):
        say("stopped; everything recorded so far is saved", err=True)
        sys.exit(130)
    except click.ClickException as wrong:
        _show_usage(wrong)
        sys.exit(2)
    except (_ClosedPipeError, BrokenPipeError):
        _leave_pipe()
        sys.exit(0)
    except OSError as error:
        what = f"{error.filename}: " if error.filename else ""
        say(f"error: {what}{error.strerror or error}", err=True)
        sys.exit(2)
    sys.exit(status if isinstance(status, int) else 0)


def _answers_alone(args: list[str]) -> bool:
    """Whether a command answers and ends, so that its seconds are counted: not where somebody is asked questions
    meanwhile."""
    return bool(args) and args[0] in COMMANDS and args[0] not in _TALKS


def _leave_pipe() -> None:
    """Let nothing be written at the end of the program into a pipe that is closed: that would be an error again."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())


def _show_usage(wrong: click.ClickException) -> None:
    """As `click` shows it, but through the one place that prints."""
    shown = io.StringIO()
    wrong.show(shown)
    say(shown.getvalue().rstrip("\n"), err=True)


def _complain(error: TracerError) -> None:
    if isinstance(error, ProblemsError):
        for problem in error.problems:
            say(f"error: {problem}", err=True)
        return
    say(f"error: {error.message}", err=True)
    if error.hint:
        say(f"  hint: {error.hint}", err=True)
    for number, choice in enumerate(error.choices, 1):
        say(f"  {number}. {choice}", err=True)
