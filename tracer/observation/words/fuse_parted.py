"""A fuse that holds, or blows all the same, once a plug is apart: told as it is found out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from tracer.harness.model import Connector, Harness, Part, VehicleState
from tracer.observation.evidence import Evidence, FuseSeen, Symptom

_SAID: Final = re.compile(
    r"(?P<fuse>.+?) (?:(?:now|still|then|even) )*"
    r"(?P<does>holds|held|stays (?:whole|in)|does not blow|doesn.?t blow|blows|blew|pops|goes)"
    r"(?: (?:again|too|now))*,? "
    r"(?:with|when|if|once|after|as soon as) (?P<plug>.+?) (?:is |was |pulled )?"
    r"(?:unplugged|apart|off|pulled|disconnected|parted|out|open)"
    r"(?:,? (?:when|and|with) (?P<state>.+))?", re.I,
)
_TAKEN_APART: Final = re.compile(
    r"(?P<start>.+?) (?:with|when|if|once|after) (?:i|you|we) "
    r"(?:unplug|part|pull|disconnect)(?:ged|ed)? (?P<plug>.+)", re.I,
)
_BLOWS: Final = ("blows", "blew", "pops", "goes")


def parted_fuse(
    text: str, harness: Harness, before: Sequence[Evidence], used_in: Callable[[str], VehicleState | None]
) -> tuple[str, str] | None:
    """The test that this is, and what it showed, both as typed: with the plug apart and a new fuse in, a test lamp
    behind the fuse is lit as long as it holds. None if the sentence says something else.

    Args:
        before: What was told so far: the fuse is tried in the state in which it was said to blow.
        used_in: Gives a state in which something hangs on a fuse, for one of which nothing was said.
    """
    plain = " ".join(text.strip().rstrip(".!").split())
    if (turned := _TAKEN_APART.fullmatch(plain)) is not None:
        plain = f"{turned['start']} with {turned['plug']} unplugged"
    found = _SAID.fullmatch(plain)
    if found is None:
        return None
    plug, told = _named(found["plug"], harness.connectors), _told(before)
    fuses = {n: p for n, p in harness.parts.items() if p.kind == "fuse"}
    fuse = _named(found["fuse"], fuses) or (next(iter(told), "") if _plainly_the_fuse(found["fuse"]) else "")
    if not plug or not fuse:
        return None
    state = told[fuse].state if fuse in told else used_in(fuse) or harness.state({})
    when = found["state"] or ", ".join(f"{c} {p}" for c, p in state.positions)
    shows = "out" if found["does"].lower() in _BLOWS else "lit"
    return f"test lamp at {fuse}.out when {when} with {plug} unplugged and new fuse {fuse}", shows


def _told(before: Sequence[Evidence]) -> dict[str, Symptom]:
    """The last complaint of each fuse, the latest first."""
    out: dict[str, Symptom] = {}
    for item in reversed(before):
        if isinstance(item, Symptom):
            for seen in item.seen:
                if isinstance(seen, FuseSeen) and seen.blown:
                    out.setdefault(seen.fuse, item)
    return out


def _named(words: str, things: Mapping[str, Part] | Mapping[str, Connector]) -> str:
    plain = re.sub(r"^(?:the|fuse|a new|new|plug|connector|socket) ", "", words.strip().casefold())
    plain = re.sub(r"^(?:fuse|plug|connector|socket) ", "", plain)
    for name, thing in things.items():
        if plain in {name.casefold(), *map(str.casefold, getattr(thing, "also", ()))}:
            return name
    return ""


def _plainly_the_fuse(words: str) -> bool:
    return words.strip().casefold() in {"it", "the fuse", "fuse", "a new fuse", "new fuse"}
