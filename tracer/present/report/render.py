"""Blocks of a report as a self-contained HTML page or as Markdown. All text that comes in is escaped here."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from typing import Final
from xml.etree import ElementTree

from tracer.errors import DrawingError
from tracer.present.report.words import Block, Bullets, Card, Drawing, Facts, Heading, Listing, Paragraph, Table
from tracer.present.text_lines import printable

_UNIT: Final = re.compile(r"(?<=[0-9]) (?=(?:V|Ω|A|W|min)\b|%)")  # a number stays with its unit
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"

_STYLE: Final = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 52rem; padding: 1rem; background: #fff; color: #1a1a1a;
  font: 16px/1.45 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; line-height: 1.2; margin: 0 0 .2rem; }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .5rem; border-bottom: 2px solid #1a1a1a; padding-bottom: .1rem; }
h3 { font-size: 1rem; margin: 0 0 .35rem; }
p { margin: .4rem 0; }
.kind { margin: 0; font-size: .85rem; letter-spacing: .06em; text-transform: uppercase; color: #555; }
.good, .open, .warning { break-inside: avoid; border: 2px solid #1a1a1a; padding: .45rem .7rem; font-weight: 600; }
.good::before { content: "✓ "; } .open::before { content: "● "; } .warning::before { content: "! "; }
.good { border-color: #1b6e33; } .open { border-color: #9a5b00; border-style: dashed; }
.warning { border-color: #9a5b00; font-weight: 400; }
dl { display: grid; grid-template-columns: minmax(7.5rem, 12rem) 1fr; gap: .2rem .8rem; margin: .4rem 0; }
dt { color: #555; } dd { margin: 0; font-weight: 600; white-space: pre-line; }
ul { margin: .3rem 0; padding-left: 1.2rem; } li { margin: .15rem 0; }
section { border: 1px solid #999; border-radius: 4px; padding: .6rem .75rem; margin: .6rem 0; }
table { border-collapse: collapse; width: 100%; margin: .4rem 0; font-size: .94em; }
th, td { text-align: left; vertical-align: top; padding: .2rem .4rem; border-bottom: 1px solid #bbb; }
th { color: #555; font-weight: 400; border-bottom-color: #555; hyphens: auto; }
th, td { min-width: 5.4em; }
pre { background: #f3f3f3; border: 1px solid #ccc; padding: .5rem; white-space: pre-wrap; font-size: .85rem;
  margin: .3rem 0; }
.withdrawn { border-style: dashed; color: #555; }
.withdrawn p, .withdrawn dd, .withdrawn pre { text-decoration: line-through; }
.withdrawn > h3 b { border: 1px solid; padding: 0 .3rem; margin-right: .3rem; }
figure { margin: 1rem 0; } figcaption { color: #555; font-size: .92rem; }
.sheet { overflow-x: auto; border: 1px solid #999; }
.sheet svg { display: block; width: 100%; min-width: 44rem; height: auto; }
.small { margin-top: 1.5rem; border-top: 1px solid #999; padding-top: .4rem; color: #555; font-size: .85rem; }
@media (max-width: 34rem) {
  body { padding: .7rem; } dl { grid-template-columns: 1fr; gap: 0; } dd { margin-bottom: .4rem; }
  th, td { padding: .2rem .25rem; } table { font-size: .88em; }
}
@page { size: A4; margin: 14mm 13mm 15mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.35; }
  h2 { margin-top: 1.1rem; } h2, h3 { break-after: avoid; } section, tr, figure, dl { break-inside: avoid; }
  section:has(tbody tr:nth-child(4)) { break-inside: auto; }
  section { padding: .4rem .6rem; margin: .45rem 0; }
  figure { break-before: page; margin: 0; }
  .sheet { overflow: visible; border: 0; } .sheet svg { min-width: 0; max-height: 250mm; }
}
"""


def as_html(title: str, kind: str, blocks: Sequence[Block], drawing_svg: str | None) -> str:
    """A page that needs nothing but itself.

    Raises:
        DrawingError: The drawing is not plain SVG.
    """
    svg = _checked_svg(drawing_svg) if drawing_svg else ""
    return (
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        f"<meta http-equiv=\"Content-Security-Policy\" content=\"{_POLICY}\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        f"<title>{_h(f'{kind}: {title}')}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<p class=\"kind\">{_h(kind)}</p>\n<h1>{_h(title)}</h1>\n"
        f"{''.join(_html(b, svg) for b in blocks)}</body>\n</html>\n"
    )


def _h(text: str) -> str:
    return _UNIT.sub("\u00a0", html.escape(printable(text)))


def _html(block: Block, svg: str) -> str:
    match block:
        case Heading(text):
            return f"<h2>{_h(text)}</h2>\n"
        case Paragraph(text, tone):
            return f"<p>{_h(text)}</p>\n" if tone == "plain" else f"<p class=\"{tone}\">{_h(text)}</p>\n"
        case Facts(rows):
            return "<dl>\n" + "".join(f"<dt>{_h(a)}</dt><dd>{_h(b)}</dd>\n" for a, b in rows) + "</dl>\n"
        case Bullets(items):
            return "<ul>\n" + "".join(f"<li>{_h(i)}</li>\n" for i in items) + "</ul>\n"
        case Table(head, rows):
            top = "".join(f"<th scope=\"col\">{_h(c)}</th>" for c in head)
            body = "".join("<tr>" + "".join(f"<td>{_h(c)}</td>" for c in row) + "</tr>\n" for row in rows)
            return f"<table>\n<thead><tr>{top}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n"
        case Listing(text):
            return f"<pre>{_h(text)}</pre>\n"
        case Card(title, blocks, withdrawn):
            start, mark = ("<section class=\"withdrawn\">", "<b>WITHDRAWN</b>") if withdrawn else ("<section>", "")
            return f"{start}\n<h3>{mark}{_h(title)}</h3>\n{''.join(_html(b, svg) for b in blocks)}</section>\n"
        case Drawing(caption):
            if not svg:
                return ""
            return f"<figure>\n<figcaption>{_h(caption)}</figcaption>\n<div class=\"sheet\">{svg}</div>\n</figure>\n"


def _checked_svg(svg: str) -> str:
    """The SVG element alone.

    Raises:
        DrawingError: Not SVG, or something in it could act or reach outside the page.
    """
    text = svg[svg.find("<svg") :]
    if not text.startswith("<svg") or "<!" in text.replace("<!--", ""):
        raise DrawingError("the drawing for the report is not SVG")
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise DrawingError(f"the drawing for the report is not SVG: {error}") from error
    for element in root.iter():
        name = str(element.tag).rpartition("}")[2].casefold()
        for key, value in element.attrib.items():
            key = key.rpartition("}")[2].casefold()
            outside = key in ("href", "src") and not value.startswith("#")
            if key.startswith("on") or outside or re.search(r"url\(\s*['\"]?(?!#|['\"])", value):
                raise DrawingError("the drawing for the report reaches outside the page")
        styled = name == "style" and re.search(r"@import|url\(\s*['\"]?(?!#|['\"])", element.text or "")
        if styled or name in ("script", "foreignobject", "iframe", "image", "set", "animate"):
            raise DrawingError("the drawing for the report has active parts")
    return text.strip()


def as_markdown(title: str, kind: str, blocks: Sequence[Block]) -> str:
    """The report as Markdown with tables; no HTML in it."""
    body = "\n".join(_markdown(b) for b in blocks)
    return re.sub(r"\n{3,}", "\n\n", f"# {_m(kind)}: {_m(title)}\n\n{body}")


def _m(text: str) -> str:
    """Text on one line in which nothing is a sign of Markdown, HTML or a link."""
    text = " ".join(printable(text).split())
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
            return f"\n{fence}text\n{printable(text).rstrip()}\n{fence}\n"
        case Card(title, blocks, withdrawn):
            mark = "WITHDRAWN – " if withdrawn else ""
            return f"\n### {mark}{_m(title)}\n\n" + "\n".join(_markdown(b) for b in blocks)
        case Drawing():
            return ""
