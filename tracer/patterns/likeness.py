"""A harness that is nearly right, made one's own: nothing of it traced, in another colour code, for the other side of
the road."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from tracer.harness.file.text import read_harness
from tracer.harness.lamp_purposes import other_side
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.patterns.pattern_files import trade
from tracer.standards import COLOUR_CODES, colour_words

_HEAD: Final = """\
# Begun alike {name}{changes}.
# Nothing of it has been followed on this vehicle yet: every line counts as not traced. Change what differs, write
# traced: yes where you followed a wire, then  tracer check.

"""
_WORD: Final = re.compile(r"\b(left|right|Left|Right)\b")
_SIDE_TERMINAL: Final = re.compile(r"(?<=[-.])([LR])\b|(?<=\b54)([LR])\b|(?<=\b57)([LR])\b|(?<=\b58)([LR])\b")
_COLOUR: Final = re.compile(r"(\bcolour:\s*['\"]?)([A-Za-z]+)")
_USUAL: Final = re.compile(r"^usual:[ \t]*\{(.*)\}", re.MULTILINE)
_USUAL_BLOCK: Final = re.compile(r"^usual:[ \t]*(#.*)?\n([ \t]+)", re.MULTILINE)
_TRACED: Final = re.compile(r",?\s*\btraced:\s*(yes|no)\b")
_CHANGED: Final[Mapping[str, str]] = {"left": "right", "right": "left", "Left": "Right", "Right": "Left",
                                      "L": "R", "R": "L"}
_WAYS: Final[Mapping[str, str]] = {"1": "4", "4": "1", "5": "7", "7": "5"}  # of a socket: those of one side
_NEAREST: Final[Mapping[str, str]] = {"turquoise": "green", "silver": "slate", "gold": "yellow", "violet": "purple",
                                      "grey": "slate", "light green": "green", "slate": "grey", "purple": "violet",
                                      "green-and-yellow": "green"}


def alike(text: str, name: str, colours: str | None = None, mirrored: bool = False) -> str:
    """The text of a harness made one's own.

    Args:
        text: The harness file that is nearly right.
        name: What to call it in the head.
        colours: The colour code to write it in; None: its own.
        mirrored: For the other side of the road: left and right changed over.

    Raises:
        ProblemsError: It cannot be read.
    """
    harness = read_harness(text, file=name)
    if mirrored:
        text = _mirrored(text, harness)
    changes = ", left and right changed over" if mirrored else ""
    if colours and colours != harness.colour_code:
        text = _recoloured(text, harness.colour_code, colours)
        changes += f", its colours put into {colours}"
    return _HEAD.format(name=name, changes=changes) + _nothing_traced(text)


def _nothing_traced(text: str) -> str:
    text = "\n".join(_TRACED.sub("", line) if line.lstrip().startswith(("-", "usual:", "traced:")) else line
                     for line in text.split("\n"))
    if _USUAL.search(text):
        return _USUAL.sub(lambda m: f"usual: {{{m[1]}{', ' if m[1].strip() else ''}traced: no}}", text, count=1)
    if _USUAL_BLOCK.search(text):
        return _USUAL_BLOCK.sub(lambda m: f"{m[0]}traced: no\n{m[2]}", text, count=1)
    return re.sub(r"^system:.*$", lambda m: m[0] + "\nusual: {traced: no}", text, count=1, flags=re.MULTILINE)


# --- colours ------------------------------------------------------------------------------------


def _recoloured(text: str, old: str, new: str) -> str:
    """Wires in the colours that makers with the other code give to what they carry, else in the same colours."""
    if not old:
        return re.sub(r"^system:.*$", lambda m: f"{m[0]}\ncolours: {new}", text, count=1, flags=re.MULTILINE)
    column = {"BS AU 7": 0, "IEC 60757": 1}
    by_use = {pair[column[old]]: pair[column[new]] for name, pair in trade().colours.items()
              if not name.startswith("trailer ")}

    def changed(match: re.Match[str]) -> str:
        return match[1] + (by_use.get(match[2].upper()) or same_colour(match[2], old, new))

    text = re.sub(r"^colours:[ \t]*[^#\n]*?([ \t]*(#.*)?)$", lambda m: f"colours: {new}{m[1]}", text, count=1,
                  flags=re.MULTILINE)
    return _COLOUR.sub(changed, text)


def same_colour(letters: str, old: str, new: str) -> str:
    """The letters of the same colours in another code; a colour that it lacks becomes the nearest."""
    by_word = {word: k for k, word in COLOUR_CODES[new].items()}
    words = colour_words(letters, old) or ()
    return "".join(by_word.get(w) or by_word.get(_NEAREST.get(w, ""), "") for w in words)


# --- the other side of the road -----------------------------------------------------------------


def _mirrored(text: str, harness: Harness) -> str:
    sockets = [n for n, c in harness.connectors.items() if "indicator" in c.functions.get(1, "")]
    pairs = _paired_colours(harness)
    text = _WORD.sub(lambda m: _CHANGED[m[1]], text)
    text = _SIDE_TERMINAL.sub(_turned, text)
    for name in sockets:
        way = re.compile(rf"(?<![\w.])({re.escape(name)}[./])([1457])\b")
        text = way.sub(lambda m: m[1] + _WAYS[m[2]], text)
    return _COLOUR.sub(lambda m: m[1] + pairs.get(m[2].upper(), m[2]), text)


def _turned(match: re.Match[str]) -> str:
    return _CHANGED[next(filter(None, match.groups()))]


def _paired_colours(harness: Harness) -> dict[str, str]:
    """Colours that differ between the same terminal left and right: these change over as well."""
    colour_at: dict[str, str] = {}
    for wire in harness.wires:
        for segment in wire.segments:
            for end in (segment.a, segment.b):
                if node_of(end).owner in harness.parts and wire.colour:
                    colour_at[end] = wire.colour
    pairs: dict[str, set[str]] = {}
    for end, colour in colour_at.items():
        turned = colour_at.get(_SIDE_TERMINAL.sub(_turned, other_side(end)))
        if turned and turned != colour:
            pairs.setdefault(colour, set()).add(turned)
    return {c: next(iter(to)) for c, to in pairs.items() if len(to) == 1 and pairs.get(next(iter(to))) == {c}}
