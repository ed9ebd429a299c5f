"""Results on standard output, for people or as JSON; wrapped to the terminal."""

from __future__ import annotations

import json
import os
import shutil
import textwrap
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from tracer.errors import TracerError

json_option = click.option("--json", "as_json", is_flag=True, help="Print the result as JSON for other programs.")


def write_whole(path: str, text: str) -> None:
    """Write a text file as a whole or not at all: what stood there before stays until the new one is complete."""
    target = Path(path).resolve()
    temporary = target.with_name(f".{target.name}.tmp")
    try:
        with open(temporary, "w", encoding="utf-8", newline="") as stream:
            if target.exists():
                shutil.copymode(target, temporary)
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(temporary, target)
    except OSError as error:
        raise TracerError(f"{path} cannot be written: {(error.strerror or str(error)).lower()}") from None
    finally:
        with suppress(OSError):
            temporary.unlink()


def show(as_json: bool, data: Callable[[], Any], text: Callable[[], str]) -> None:
    """Print `data()` as JSON or `text()`."""
    click.echo(json.dumps(data(), indent=2, ensure_ascii=False) if as_json else text())


def width() -> int:
    return min(shutil.get_terminal_size((80, 24)).columns, 100)


def wrapped(text: str, first: str = "", then: str | None = None) -> str:
    """A paragraph with `first` before its first line and `then` before the others."""
    rest = " " * len(first) if then is None else then
    return "\n".join(
        textwrap.wrap(text, width(), initial_indent=first, subsequent_indent=rest, break_on_hyphens=False) or [first]
    )


def table(rows: Sequence[Sequence[str]], header: Sequence[str]) -> str:
    """Columns aligned by blanks, no lines: readable in any terminal and in a pipe."""
    every = [list(header), *[list(r) for r in rows]]
    widths = [max(len(r[k]) for r in every) for k in range(len(header))]
    return "\n".join("  ".join(c.ljust(w) for c, w in zip(r, widths, strict=True)).rstrip() for r in every)


def parse_settings(settings: Sequence[str]) -> Mapping[str, str]:
    """`--set CONTROL=POSITION` values as a mapping."""
    found = {}
    for s in settings:
        control, sign, position = s.partition("=")
        if not sign or not control.strip() or not position.strip():
            raise click.UsageError(f'--set “{s}”: write CONTROL=POSITION, e.g. --set "gear=reverse"')
        if control.strip() in found:
            raise click.UsageError(f"--set {control.strip()} is given twice")
        found[control.strip()] = position.strip()
    return found
