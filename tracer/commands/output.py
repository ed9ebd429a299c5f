"""Results on standard output, for people or as JSON; wrapped to the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from tracer.present.screen import say, say_json, width

json_option = click.option("--json", "as_json", is_flag=True, help="Print the result as JSON for other programs.")


def show(as_json: bool, data: Callable[[], Any], text: Callable[[], str]) -> None:
    """Print `data()` as JSON or `text()`."""
    if as_json:
        say_json(data())
    else:
        say(text())


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


def parse_settings(
    settings: Sequence[str], option: str = "--set", example: str = "gear=reverse", form: str = "CONTROL=POSITION"
) -> Mapping[str, str]:
    """`--set CONTROL=POSITION` values, or those of another such option, as a mapping."""
    found = {}
    for s in settings:
        control, sign, position = s.partition("=")
        if not sign or not control.strip() or not position.strip():
            raise click.UsageError(f'{option} “{s}”: write {form}, e.g. {option} "{example}"')
        if control.strip() in found:
            raise click.UsageError(f"{option} {control.strip()} is given twice")
        found[control.strip()] = position.strip()
    return found


def finite(ctx: click.Context, param: click.Parameter, value: float | None) -> float | None:
    """Refuse what is no number of anything: a range check lets “nan” pass."""
    if value is not None and not math.isfinite(value):
        raise click.BadParameter("a number is needed, such as 12", ctx, param)
    return value
