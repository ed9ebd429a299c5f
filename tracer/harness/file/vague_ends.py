"""Ends of a wire list that have a name and no terminal: what each is by its words, and the terminals that follow.

People write “fusebox → left tail, boot joint”. Guessed is only what the words of a name say; what they do not say has
to be asked. Which words mean what is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from msgspec import Struct

from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness.file.nodes import Notes, TableNode, TextNode, clip, tidy
from tracer.harness.file.wire_list import MOST_PROBLEMS, read_wire_list
from tracer.harness.lamp_purposes import inferred, words_of

# What an end may be, and the terminal that a wire is on which arrives there and which leaves from there.
END_KINDS: Final[Mapping[str, tuple[str, str]]] = {
    "lamp": ("feed", "earth"), "load": ("feed", "earth"), "fuse": ("in", "out"), "switch": ("in", "out"),
    "flasher unit": ("49", "49a"), "battery": ("-", "+"), "connector": ("", ""), "bullets": ("", ""),
    "splice": ("", ""), "earth": ("", ""),
}
ALL_OTHERS: Final = "*"
_PLAIN: Final = re.compile(r"(?:[SE]\d+[a-z]?)", re.IGNORECASE)  # as designations are given: nothing to ask
# Words, and what an end is whose name has one of them; the first row that fits.
_WORDS: Final[tuple[tuple[frozenset[str], str], ...]] = (
    (frozenset(("earth", "earthed", "ground", "gnd", "chassis", "body", "strap")), "earth"),
    (frozenset(("fuse", "fuses", "fusebox", "fuseholder")), "fuse"),
    (frozenset(("switch", "stalk", "button", "pedal")), "switch"),
    (frozenset(("flasher",)), "flasher unit"),
    (frozenset(("battery",)), "battery"),
    (frozenset(("splice", "soldered", "crimp")), "splice"),
    (frozenset(("bullet", "bullets", "snap", "sleeve")), "bullets"),
    (frozenset(("joint", "plug", "connector", "socket", "multiplug", "block")), "connector"),
    (frozenset(("horn", "blower", "pump", "wiper", "heater", "motor", "load")), "load"),
    (frozenset(("lamp", "lamps", "light", "lights", "bulb", "headlamp", "headlight", "taillight")), "lamp"),
)


class VagueEnd(Struct, frozen=True):
    """An end without a terminal.

    Attributes:
        guess: What it is by its words; "" where they do not say.
        because: The words that say so.
        rows: In how many rows it stands.
        line: The first of them, by its line in the list.
        ends: How many wires end there, beside those that pass.
    """

    name: str
    guess: str
    because: str
    rows: int
    line: int
    ends: int


def guess_of(name: str, ends: int = 0) -> tuple[str, str]:
    """What an end is by the words of its name, and which words say so; a joint in which several wires end joins them,
    as a block of bullets does."""
    words = words_of(name)
    for known, kind in _WORDS:
        found = sorted(words & known)
        if found:
            return ("bullets" if kind == "connector" and ends > 1 and "joint" in found else kind), ", ".join(found)
    purposes = inferred(name)
    if purposes:
        return "lamp", "its words"
    return ("fuse", name) if re.fullmatch(r"[Ff]\d+", name) else ("", "")


def vague_ends(listed: str, list_file: str) -> tuple[VagueEnd, ...]:
    """The ends of a list that have no terminal and no designation of a splice or an earth.

    Raises:
        ProblemsError: It is no wire list.
    """
    notes = Notes(MOST_PROBLEMS)
    rows = read_wire_list(listed, list_file, notes)
    notes.raise_if_any()
    seen: dict[str, list[tuple[int, bool]]] = {}
    with_terminals: set[str] = set()
    for node in rows.wires:
        assert isinstance(node, TableNode)
        run = node.entries["run"][1]
        assert isinstance(run, TextNode)
        points = [tidy(p) for p in run.text.split(">")]
        for i, point in enumerate(points):
            if "." in point or "/" in point:
                with_terminals.add(tidy(re.split(r"[./]", point)[0]))
            elif point and not _PLAIN.fullmatch(point):
                seen.setdefault(point, []).append((run.mark.line, i in (0, len(points) - 1)))
    out = []
    for name, places in seen.items():
        if name in with_terminals:
            continue
        ends = sum(end for _, end in places)
        out.append(VagueEnd(name, *guess_of(name, ends), len(places), places[0][0], ends))
    return tuple(out)


def kinds_of_ends(found: tuple[VagueEnd, ...], said: Mapping[str, str]) -> dict[str, str]:
    """What each vague end is: as said, else as guessed; "" where neither is known.

    Raises:
        UnknownNameError: Something is said of a name that is no vague end, or no kind is said.
    """
    names = {e.name for e in found}
    for name, kind in said.items():
        if name not in names and name != ALL_OTHERS:
            raise UnknownNameError(f"no end “{clip(name)}” without a terminal", did_you_mean(name, names))
        if kind not in END_KINDS:
            raise UnknownNameError(f"{clip(name)}: no kind of end “{clip(kind)}”", did_you_mean(kind, END_KINDS))
    return {e.name: said.get(e.name) or e.guess or said.get(ALL_OTHERS, "") for e in found}


def with_terminals(run: str, kinds: Mapping[str, str], ways: dict[str, int]) -> str:
    """A run with the terminals of its vague ends; `ways` counts those of each connector."""
    points = [tidy(p) for p in run.split(">")]
    out = []
    for i, point in enumerate(points):
        kind = kinds.get(point, "")
        arriving, leaving = END_KINDS.get(kind, ("", ""))
        if kind == "connector":
            ways[point] = ways.get(point, 0) + 1
            point = f"{point}.{ways[point]}"
        elif arriving and i in (0, len(points) - 1):
            point = f"{point}.{arriving if i else leaving}"
        out.append(point)
    return " > ".join(out)
