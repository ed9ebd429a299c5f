"""What to draw: the elements, the suspects among them, and what is known of a vehicle state."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field


class Mark(Struct, frozen=True):
    """A suspect: its rank, the elements that it touches (devices, nodes, parts, connectors, lamps), in words."""

    rank: int
    elements: tuple[str, ...]
    says: str


class View(Struct, frozen=True):
    """What to draw.

    Attributes:
        elements: Device names; empty draws the whole harness.
        test_points: (label, node), numbered as in the test list.
        volts: Node → V in the chosen vehicle state, calculated.
        flow: Device name → A, positive from its a to its b.
        back_feed: Device names that carry back-feed current.
        lamps: Lamp name → what it does, in a word.
        state: The vehicle state in words.
        measured: Label of a test point → what was measured there.
        crossed: Name of a connector way or a wire that sits in the wrong place → the nodes that it joins then.
    """

    title: str
    subtitle: str = ""
    elements: frozenset[str] = frozenset()
    suspects: tuple[Mark, ...] = ()
    test_points: tuple[tuple[str, str], ...] = ()
    volts: Mapping[str, float] = field(default_factory=dict)
    flow: Mapping[str, float] = field(default_factory=dict)
    back_feed: frozenset[str] = frozenset()
    lamps: Mapping[str, str] = field(default_factory=dict)
    state: str = ""
    measured: Mapping[str, str] = field(default_factory=dict)
    crossed: Mapping[str, tuple[str, str]] = field(default_factory=dict)
