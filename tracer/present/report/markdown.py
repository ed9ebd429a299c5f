"""Blocks of a report as Markdown. All text that comes in is escaped here."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tracer.present.report.words import (
    Block,
    Bullets,
    Card,
    Drawing,
    Facts,
    Heading,
    Listing,
    Paragraph,
    Picture,
    Table,
)
from tracer.present.text import plain


def as_markdown(title: str, kind: str, blocks: Sequence[Block]) -> str:
    """The report as Markdown with tables; no HTML in it."""
    body = "\n".join(_markdown(b) for b in blocks)
    return re.sub(r"\n{3,}", "\n\n", f"# {_m(kind)}: {_m(title)}\n\n{body}")


def _m(text: str) -> str:
    """Text on one line in which nothing is a sign of Markdown, HTML or a link."""
    text = " ".join(plain(text).split())
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    text = re.sub(r"([\\`*_\[\]{}|#~!$])", r"\\\1", text)
    text = text.replace("://", "&#58;//").replace("@", "&#64;")
    text = re.sub(r"\bwww\.", "www&#46;", text, flags=re.IGNORECASE)
    return re.sub(r"^(?:([-+=])|([0-9]+)([.)])(?=\s|$))", _first_sign, text)


def _first_sign(match: re.Match[str]) -> str:
    return f"\\{match[1]}" if match[1] else f"{match[2]}\\{match[3]}"


def _markdown(block: Block) -> str:
    match block:
        case Heading(text):
            return f"\n## {_m(text)}\n"
        case Paragraph(text, tone):
            return f"{_m(text)}\n" if tone == "plain" else f"**{_m(text)}**\n"
        case Facts(rows):
            return "".join(f"- {_m(a)}: **{_m(b)}**\n" if b.strip() else f"- {_m(a)}: –\n" for a, b in rows)
        case Bullets(items):
            return "".join(f"- {_m(i)}\n" for i in items)
        case Table(head, rows):
            cells = [[*map(_m, head)], ["---"] * len(head), *([*map(_m, row)] for row in rows)]
            return "\n" + "".join(f"| {' | '.join(row)} |\n" for row in cells)
        case Listing(text):
            fence = "`" * max(3, 1 + max((len(run) for run in re.findall("`+", text)), default=0))
            return f"\n{fence}text\n{plain(text).rstrip()}\n{fence}\n"
        case Card(title, blocks, withdrawn):
            mark = "WITHDRAWN – " if withdrawn else ""
            return f"\n### {mark}{_m(title)}\n\n" + "\n".join(_markdown(b) for b in blocks)
        case Picture(caption, _, file):
            return f"- {_m(caption)}: {_m(file)}\n"
        case Drawing():
            return ""
