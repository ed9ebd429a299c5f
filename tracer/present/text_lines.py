"""Lines of limited width: paragraphs, clipped lines, numbered columns."""

from __future__ import annotations

import os
import re
import shlex
import textwrap
from collections.abc import Sequence


def wrap(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """`text` in lines of at most `width` characters; `first` leads the first line, `rest` the others."""
    then = " " * len(first) if rest is None else rest
    lines = textwrap.wrap(text, width, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
    return lines or [first.rstrip()]


def clip(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1].rstrip() + "…"


def quoted(path: str) -> str:
    """A path as it is typed in the shell of this system."""
    if os.name == "nt":
        return f'"{path}"' if re.search(r"[\s&()^;,=]", path) else path
    return shlex.quote(path)


def sentence(text: str) -> str:
    """A sentence as it is typed in the shell of this system: one argument, whatever stands in it."""
    if re.search(r'["$`\\!%]', text) is None:
        return f'"{text}"'
    if os.name == "nt":
        return '"' + text.replace('"', '\\"') + '"'
    return shlex.quote(text)


def plural(count: int, one: str) -> str:
    return f"{count} {one}" + ("" if count == 1 else "s")


def columns(items: Sequence[str], width: int) -> list[str]:
    """Items numbered from 1, in as many columns as fit, counted downwards."""
    cells = [f"{n:>3} {item}" for n, item in enumerate(items, 1)]
    cell = max((len(c) for c in cells), default=0) + 2
    if cell > width:
        return [line for c in cells for line in wrap(c[4:], width, c[:4])]
    across = max(1, (width + 2) // cell)
    rows = -(-len(cells) // across)
    return ["".join(c.ljust(cell) for c in cells[row::rows]).rstrip() for row in range(rows)]
