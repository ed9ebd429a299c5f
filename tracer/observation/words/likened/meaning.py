"""What a complaint means, in a short form that holds for every vehicle: "left tail = faint @ reverse".

A meaning is clauses parted by " ; ", each `WHO = LOOK @ WHEN`:

- WHO: "car" or "trailer", a side ("left", "right", "both", "one"), an end ("front", "rear"), then what the lamps
  are for, joined by "+": tail, side, stop, highstop, indicator, repeater, reversing, dip, main, headlamp, plate, fog,
  marker, work, interior, panel, telltale-indicator, telltale-main, everything, light (one lamp, not told which); or
  horn, blower, a fuse ("fuse-F3", "fuse"); or "others".
- LOOK: a word of `LOOKS`, or "blows" of a fuse.
- WHEN: what is switched on, joined by "+": "own" (what switches these lamps on), side, dip, main, lights, brake,
  reverse, ind-left, ind-right, ind, hazard, horn, door, fogswitch, ignition, off; then marks: "/moved" (as it is
  tapped or shaken), "/engine-on", "/idle", "/revs" and others, which change nothing here.

A clause behind "?" is implied: it may be left out. In the examples a side stands as A, the first that the sentence
names, and B, the other.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct

LOOKS: Final = ("dark", "dim", "faint", "lit", "normal", "bright", "flicker", "sometimes-dark", "sometimes-lit",
                "pulse", "steady", "fast", "slow")
BETWEEN: Final = " ; "
OTHERS: Final = "others"
_SIDES: Final = frozenset({"left", "right", "both", "one", "each"})
_ENDS: Final = frozenset({"front", "rear", "middle"})
_VEHICLES: Final = frozenset({"car", "trailer"})
_OF_SIDE: Final = frozenset({"tail", "side", "plate", "marker"})  # lamps of the side lights
_CLAUSE: Final = re.compile(r"(\??) ?(.+?) = (\S+)(?: @ (\S+))?")
_PLUS: Final = re.compile(r"\+")
_MARK: Final = re.compile("/")
_SIDE: Final = re.compile(r"\b[AB]\b")
_OPPOSITE: Final = {"left": "right", "right": "left"}


class Clause(Struct, frozen=True):
    """One clause of a meaning: which lamps or things, how they do, and when."""

    functions: tuple[str, ...]
    look: str
    when: tuple[str, ...]
    vehicle: str = ""
    side: str = ""
    end: str = ""
    marks: tuple[str, ...] = ()
    implied: bool = False

    @property
    def everything(self) -> bool:
        return "everything" in self.functions


def clauses_of(meaning: str) -> tuple[Clause, ...]:
    """The clauses of a meaning.

    Raises:
        ValueError: It has another form; says in which clause.
    """
    return tuple(map(_clause, meaning.split(BETWEEN)))


def _clause(said: str) -> Clause:
    found = _CLAUSE.fullmatch(said.strip())
    if found is None:
        raise ValueError(f"not WHO = LOOK @ WHEN: {said}")
    words = found[2].split()
    named = [f for w in words if w not in _SIDES | _ENDS | _VEHICLES for f in _PLUS.split(w)]
    when, *marks = _MARK.split(found[4] or "own")
    if not named:
        raise ValueError(f"no lamp or thing: {said}")
    return Clause(tuple(named), found[3], tuple(w for w in _PLUS.split(when) if w), _first(words, _VEHICLES),
                  _first(words, _SIDES), _first(words, _ENDS), tuple(marks), bool(found[1]))


def _first(words: Sequence[str], of: frozenset[str]) -> str:
    return next((w for w in words if w in of), "")


def _with_own(clause: str) -> str:
    """A clause with "own" for what switches its lamps on, so that it may be told of others."""
    if not {*_clause(clause).functions} <= _OF_SIDE:
        return clause
    return re.sub(r"(?<= @ )(?:side|lights)\b", "own", clause)


def slotted(meaning: str, sides: Sequence[str]) -> str | None:
    """A meaning with its sides as A, the first that its sentence names, and B; None if it has a side that the
    sentence does not name."""
    meaning = BETWEEN.join(map(_with_own, meaning.split(BETWEEN)))
    if not sides:
        return None if re.search(r"\b(?:left|right)\b", meaning) else meaning
    of = {sides[0]: "A", _OPPOSITE[sides[0]]: "B"}
    return re.sub(r"\b(?:left|right)\b", lambda found: of[found[0]], meaning)


def told_of(
    meaning: str, sides: Sequence[str], functions: Mapping[str, str], fuse: str, towed: tuple[bool, bool]
) -> str | None:
    """The meaning of an example, told of what another sentence names; None where that is not the same kind of thing.

    Args:
        sides: Those that the sentence names, in order.
        functions: Of the example → what the sentence names in its place.
        fuse: The fuse that the sentence names, or none.
        towed: Whether the example, and whether the sentence, speaks of a trailer.
    """
    out = meaning
    if _SIDE.search(out):
        if not sides:
            return None
        of = {"A": sides[0], "B": _OPPOSITE[sides[0]]}
        out = _SIDE.sub(lambda found: of[found[0]], out)
    elif sides and (BETWEEN in out or "both" not in out):
        return None
    elif sides:  # "both stop" of one that names no side
        out = re.sub(r"\bboth\b", sides[0], out)
    out = _of_others(out, functions)
    if towed == (False, True) and "trailer" not in out:
        out = BETWEEN.join(c if "fuse" in c or OTHERS in c else re.sub(r"^(\? )?", r"\1trailer ", c, count=1)
                           for c in out.split(BETWEEN))
    elif towed == (True, False):
        out = out.replace("trailer ", "")
    name = f"fuse-{fuse}" if fuse else "fuse"
    return re.sub(r"\bfuse-\w+", name, out) if "fuse-" in out else re.sub(r"\bfuse\b(?!-)", name, out, count=1)


def _of_others(meaning: str, functions: Mapping[str, str]) -> str:
    """The same of lamps and things that others are named for."""
    parts = [clause.partition(" = ") for clause in meaning.split(BETWEEN)]
    named = [re.sub("[a-z-]+", lambda word: functions.get(word[0], word[0]), who) for who, _, _ in parts]
    return BETWEEN.join(f"{who} = {rest}" for who, (_, _, rest) in zip(named, parts, strict=True))


def told_outright(meaning: str) -> str:
    """A meaning without what is implied, in one order: what is the same for two of them."""
    return BETWEEN.join(sorted(c for c in meaning.split(BETWEEN) if not c.startswith("?")))


def varied(
    meaning: str, sides: Sequence[str], functions: Sequence[str], moved: bool, others: bool, both_vehicles: bool,
) -> list[str]:
    """Other meanings that the words of a sentence may have, where one is near: with what it names exchanged, and with
    what it says beside.

    Args:
        sides: Those that the sentence names, in order.
        functions: What it names, in order.
        moved: It tells of a knock or a bump.
        others: It tells that all else is well.
        both_vehicles: It speaks of the car and of its trailer.
    """
    out = []
    if both_vehicles and BETWEEN not in meaning and re.match(r"(?:trailer|car) ", meaning):
        bare = meaning.partition(" ")[2]
        out.append(f"car {bare}{BETWEEN}trailer {bare}")
    if len(sides) > 1:
        out.append(re.sub(r"\b(?:left|right)\b", lambda found: _OPPOSITE[found[0]], meaning))
    elif sides and BETWEEN not in meaning and "@ own+ind" in meaning:  # "both tails dip with the right indicator"
        whole = re.sub(rf"^{sides[0]}\b", "both", meaning)
        out.append(re.sub(r"\bind(?:-\w+)?\b", f"ind-{sides[0]}", whole))
    if len(functions) == 2 and all(re.search(rf"\b{f}\b", meaning) for f in functions):
        out.append(_of_others(meaning, dict(zip(functions, reversed(functions), strict=True))))
    if moved and "/moved" not in meaning:
        out.append(re.sub(r" = \S+ @ own\b", " = sometimes-dark @ own/moved", meaning, count=1))
    if others and OTHERS not in meaning:
        out.append(f"{meaning}{BETWEEN}{OTHERS} = normal @ own")
    return [m for m in out if m != meaning]
