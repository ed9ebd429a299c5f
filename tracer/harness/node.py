"""Names of nodes: who owns a node, which terminal or way it is, on which side of a plug, or where inside a part.

A terminal is "owner.terminal"; a way of a connector "C1.3" on its incoming half and "C1.3'" on the outgoing one; a
point inside a part "part/point"; a splice, an earth point and the body are their own names. Only this module knows
how such a name is put together.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

_TERMINAL, _INSIDE, _FAR = ".", "/", "'"


class Node(Struct, frozen=True):
    """A node's name, taken apart.

    Attributes:
        owner: Part or connector that it belongs to; of a splice, an earth point and the body that itself.
        terminal: Its short name at the owner, of a way its number, of either half; "" if it is no terminal.
        far: Whether it is the outgoing half of a way.
        inner: The point inside the owner; "" where a probe can go.
    """

    name: str
    owner: str
    terminal: str = ""
    far: bool = False
    inner: str = ""

    @property
    def is_way(self) -> bool:
        """Whether it is called by a number, as the ways of connectors are (and some terminals of parts)."""
        return self.terminal.isdigit()

    @property
    def near(self) -> str:
        """The name of the incoming half of the same way; of all else its own."""
        return self.name.rstrip(_FAR) if self.far else self.name

    @property
    def shell(self) -> bool:
        """Whether it is the outside of a lamp's cap, which a probe reaches in the holder."""
        return self.inner.endswith("shell")


@lru_cache(1 << 16)
def node_of(name: str) -> Node:
    """The node of a name."""
    owner, inside, inner = name.partition(_INSIDE)
    if inside:
        return Node(name, owner, inner=inner)
    owner, dot, terminal = name.rpartition(_TERMINAL)
    if not dot:
        return Node(name, name)
    return Node(name, owner, terminal.rstrip(_FAR), terminal.endswith(_FAR))


def terminal_at(owner: str, terminal: str | int, far: bool = False) -> str:
    """The name of a terminal, or of one half of a way."""
    return f"{owner}{_TERMINAL}{terminal}{_FAR * far}"


def far_side(way: str) -> str:
    """The name of the outgoing half of a way that is named by its incoming one."""
    return way + _FAR


def inside(part: str, point: str) -> str:
    """The name of a point inside a part, where no probe goes."""
    return f"{part}{_INSIDE}{point}"
