"""Terminals as people name them: "left rear.stop", "way 3 of C1, far side", "body"."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Final

from tracer.errors import ReadingError, UnknownNameError, did_you_mean
from tracer.harness.devices import FlasherContact, FuseLink, Source, SwitchContact, ends
from tracer.harness.file.nodes import clip
from tracer.harness.model import BODY, Harness, Part
from tracer.harness.node import node_of, terminal_at
from tracer.harness.terminal_words import say_node, say_terminal
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.words import listed

_BODY_WORDS: Final = frozenset({BODY, "earth", "ground", "chassis", "clean body metal", "body metal", "body earth"})
_FAR = Pattern(r"\s*(?:,?\s*\(?(?:far side|outgoing half|outgoing side)\)?|')\Z", re.IGNORECASE)
_NEAR = Pattern(r"\s*,?\s*\(?(?:near side|incoming half|incoming side)\)?\Z", re.IGNORECASE)
_OF = Pattern(r"(?:terminal|way|pin)\s+(\S+)\s+of\s+(.+)", re.IGNORECASE)
_OWNED = Pattern(r"(.+?)\s+(?:terminal|way|pin)\s+(\S+)", re.IGNORECASE)


_SIDED = Pattern(r"(.+?)[\s-]+(?:side|half|end)\)?\s*", re.IGNORECASE)
_OWN_SIDES: Final = frozenset({"far", "near", "outgoing", "incoming"})


def _is_none(part: Part) -> bool:
    return False


def _supplies(part: Part) -> bool:
    return any(isinstance(d, (Source, FuseLink, SwitchContact, FlasherContact)) for d in part.devices)


def _relays(part: Part) -> bool:
    """Whether it is there to switch, and not an arm whose coil switches its own lamp."""
    return bool(part.coils) and not part.lamps


# What a side of a plug is called by, and which parts lie there: by what is in them, of whatever kind they are.
_SIDES: Final[Mapping[str, Callable[[Part], bool]]] = {
    **dict.fromkeys(("lamp", "light"), lambda part: bool(part.lamps)),
    "switch": lambda part: part.flashes or _relays(part) or any(isinstance(d, SwitchContact) for d in part.devices),
    **dict.fromkeys(("fuse", "fuse box"), lambda part: any(isinstance(d, FuseLink) for d in part.devices)),
    "battery": lambda part: _supplies(part) and not part.flashes,
    **dict.fromkeys(("feed", "live"), _supplies),
    "relay": _relays,
}


class SideUnsaidError(ReadingError):
    """A way of a plug without a word of which half. `said`: the words that name it."""

    def __init__(self, said: str, way: str, ends: Sequence[str], nodes: Sequence[str]) -> None:
        super().__init__(f"“{clip(said)}” does not say which side of the plug",
                         f"{way} leads to {ends[0]} on one side and to {ends[1]} on the other", tuple(nodes))
        self.said = said


class Terminals:
    """The terminals of a harness by every name they may be called."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.nodes: dict[str, None] = {}
        self._called: dict[str, dict[str, None]] = {}
        self._owners: dict[str, str] = {}
        for part in harness.parts.values():
            for terminal in part.terminals:
                node = terminal_at(part.name, terminal)
                self._add(node, *(f"{n}{sep}{terminal}" for n in (part.name, *part.also) for sep in ". "))
            self._owners.update({n.casefold(): part.name for n in (part.name, *part.also)})
        self._owners.update({c.casefold(): c for c in harness.connectors})
        for joint in harness.joints:
            self._add(joint.a)
            self._add(joint.b)
        for name in (*harness.splices, *harness.earths, *(b for b in harness.bodies())):
            self._add(name)
        for device in harness.devices():
            for node in ends(device):
                self._add(node)

    @cached_property
    def printed(self) -> Mapping[str, tuple[str, str, str]]:
        """Node → the ways in which it is printed."""
        return {n: (n, say_node(n, self.harness), say_terminal(self.harness, n)) for n in self.nodes}

    def _add(self, node: str, *called: str) -> None:
        self.nodes.setdefault(node)
        for name in (node, *called):
            self._called.setdefault(name.casefold(), {}).setdefault(node)

    def find(self, text: str) -> str | None:
        """The node that a text names; None if there is none.

        Raises:
            ReadingError: It names several.
        """
        name = " ".join(text.split()).replace("’", "'")
        if name in self.nodes:
            return name
        if sided := self._by_side(name):
            return sided
        self._ask_side(name)
        for variant in self._variants(name):
            found = self._called.get(variant.casefold(), {})
            if len(found) > 1:
                exact = [n for n in found if n == variant]
                if len(exact) != 1:
                    raise ReadingError(f"“{clip(text)}” could be {listed(found)}", "write it exactly like one")
                return exact[0]
            if found:
                return next(iter(found))
        return self.harness.reference if name.casefold() in _BODY_WORDS else None

    def _way(self, name: str) -> str | None:
        """The near half of the way that "pin 5 of C3" or "C3 pin 5" names."""
        for match, (terminal, owner) in ((_OF.fullmatch(name), (1, 2)), (_OWNED.fullmatch(name), (2, 1))):
            if match:
                plug = self._owners.get(match.group(owner).casefold().removeprefix("the "), "")
                node = f"{plug}.{match.group(terminal)}"
                if plug in self.harness.connectors and node in self.nodes and f"{node}'" in self.nodes:
                    return node
        return None

    def _ask_side(self, name: str) -> None:
        """
        Raises:
            SideUnsaidError: The way of a plug, and not which of its halves.
        """
        node = self._way(name)
        if node is not None:
            halves = (node, f"{node}'")
            ends = [listed([e.rstrip("'") for e in self.wired_to(h)], "and") for h in halves]
            raise SideUnsaidError(name, node, ends, halves)

    def _by_side(self, name: str) -> str | None:
        """The half of a way on the side of which something lies: "C3 pin 5, lamp side"; None if that is not said."""
        bare = _SIDED.fullmatch(name)
        if bare is None:
            return None
        words = re.sub(r"[,()]", " ", bare.group(1)).split()
        for count in range(1, len(words)):
            said = " ".join(words[:count])
            what = re.sub(r"\A(?:on |the )+", "", " ".join(words[count:])).casefold()
            node = said.rstrip("'") if f"{said}'" in self.nodes else self._way(said)
            if node is None or what in _OWN_SIDES:
                continue
            here, there = self._steps_to(what, node), self._steps_to(what, f"{node}'")
            if here != there:
                return node if here < there else f"{node}'"
            ends = [listed([e.rstrip("'") for e in self.wired_to(h)], "and") for h in (node, f"{node}'")]
            raise SideUnsaidError(name, node, ends, (node, f"{node}'"))
        return None

    def _steps_to(self, what: str, half: str) -> float:
        """How many wires and joints lead from a half to the nearest part of that kind, name or place, or whether its
        wire lies in that loom; infinite if none does."""
        lies_there, parts = _SIDES.get(what, _is_none), self.harness.parts
        looms = {(w.loom or "").casefold() for w in self.harness.wires for s in w.segments if half in (s.a, s.b)}
        if what.removesuffix(" loom") in looms:
            return 0
        own = {half.rstrip("'"), f"{half.rstrip(chr(39))}'"}
        steps, todo = {half: 0}, [half]
        for here in todo:
            part = parts.get(here.rsplit(".", 1)[0])
            called = (part.name, *part.also, part.place) if part else ()
            if part and (lies_there(part) or what in (c.casefold() for c in called)):
                return steps[here]
            across = [j.b if j.a == here else j.a for j in self.harness.joints if here in (j.a, j.b)]
            for there in (*self.wired_to(here), *across):
                if there not in steps and there not in own and there not in self.harness.bodies():
                    steps[there] = steps[here] + 1
                    todo.append(there)
        return math.inf

    def wired_to(self, node: str) -> list[str]:
        """The far ends of the wires that end at a node."""
        ends = [(s.a, s.b) for w in self.harness.wires for s in w.segments if node in (s.a, s.b)]
        return list(dict.fromkeys(b if a == node else a for a, b in ends))

    def other_end(self, node: str) -> str:
        """The far end of the one wire that ends at a node.

        Raises:
            ReadingError: None or several do.
        """
        far = self.wired_to(node)
        if len(far) == 1:
            return far[0]
        if not far:
            raise ReadingError(f"no wire ends at {node}", "a clamp goes round a wire: name one of its ends")
        which = listed([f"{node} to {f}" for f in far])
        raise ReadingError(f"several wires end at {node}", f"say which: amps {which}")

    def _variants(self, name: str) -> list[str]:
        """Ways to write what was meant: "way 3 of C1, far side" is C1.3'."""
        far, near = _FAR.search(name), _NEAR.search(name)
        end = far or near
        bare, prime = (name[: end.start()], "'" if far else "") if end else (name, "")
        out = [bare + prime]
        for match, (terminal, owner) in ((_OF.fullmatch(bare), (1, 2)), (_OWNED.fullmatch(bare), (2, 1))):
            if match:
                said = match.group(owner).casefold()
                out.append(f"{self._owners.get(said, said)}.{match.group(terminal)}{prime}")
        return out

    def _terminals_of(self, owner: str) -> list[str]:
        return [n for n in self.nodes if (x := node_of(n)).owner == owner and x.terminal and not x.far]

    def need(self, text: str) -> str:
        """The node that a text names.

        Raises:
            UnknownNameError: There is none; with the nearest.
            ReadingError: The text names several, or a part without a terminal.
        """
        node = self.find(text)
        if node is not None:
            return node
        said = clip(text)
        owner = self._owners.get(" ".join(text.split()).casefold())
        if owner is not None:
            own = self._terminals_of(owner)
            raise ReadingError(f"“{said}” does not say at which terminal", "one of " + listed(own) if own else None)
        for variant in self._variants(text):
            name, _, terminal = variant.strip().rpartition(".")
            known = self._owners.get(name.casefold())
            if known is None:
                continue
            own = self._terminals_of(known)
            if known in self.harness.connectors and terminal.rstrip("'").isdecimal():
                way, ways = terminal.rstrip("'"), self.harness.connectors[known].ways
                sort = "bullet" if self.harness.block_of(known) else "way"
                what = "carries no wire" if 1 <= int(way) <= ways else f"is not there: {known} has {ways} {sort}s"
                raise UnknownNameError(f"{sort} {way} of {known} {what}", "wired: " + listed(own, "and"))
            short = [node_of(n).terminal for n in own]
            raise UnknownNameError(f"{known} has no terminal “{clip(terminal)}”", "it has " + listed(short, "and"))
        plain = [n for n in self.nodes if not node_of(n).inner]
        raise UnknownNameError(f"no terminal “{said}”", did_you_mean(text, plain))


_latest: list[Terminals] = []  # a job reads all its tests against one harness


def terminals_of(harness: Harness) -> Terminals:
    """The terminals of a harness, gathered once as long as the same one is asked for."""
    if not _latest or _latest[0].harness is not harness:
        _latest[:] = [Terminals(harness)]
    return _latest[0]
