"""Which bullet of a block each wire ends in: as numbered in the runs, else the next one that is free."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from msgspec.structs import replace

from tracer.errors import Mark
from tracer.harness.devices import Joint
from tracer.harness.file.nodes import Notes
from tracer.harness.model import Connector
from tracer.harness.node import terminal_at

_USUAL_WAYS: Final = 2  # a sleeve into which nothing is pushed takes one bullet at each end


class Seats:
    """The bullets of all blocks of one harness."""

    def __init__(self, connectors: dict[str, Connector], numbered: Iterable[tuple[str, int]]) -> None:
        """`numbered`: block and number of the bullets that runs call by their number."""
        self._connectors = connectors
        self._taken: dict[str, set[int]] = {}
        for block, number in numbered:
            self._taken.setdefault(block, set()).add(number)

    def free(self, block: str, mark: Mark, what: str, notes: Notes) -> str:
        """The node of the next bullet that is not taken, which then is; notes where the block has no more."""
        taken = self._taken.setdefault(block, set())
        number = next(n for n in range(1, len(taken) + 2) if n not in taken)
        ways = self._connectors[block].ways
        if ways and number > ways:
            notes.add(mark, f"{what}: {block} takes {ways} bullet{'s' * (ways != 1)}, and all are taken",
                      f"write how many it takes: {{kind: bullets, ways: {number}}}")
        taken.add(number)
        return terminal_at(block, number)

    def joints(self) -> list[Joint]:
        """The contact of every bullet with its block. Blocks of which the file does not say how many they take are
        given as many as there are."""
        out = []
        for name, connector in self._connectors.items():
            if connector.kind != "bullets":
                continue
            taken = sorted(self._taken.get(name, ()))
            if not connector.ways:
                self._connectors[name] = replace(connector, ways=max([_USUAL_WAYS, *taken]))
            out += [Joint(f"{name} bullet {n}", terminal_at(name, n), name, "bullet") for n in taken]
        return out


def numbered_in(runs: Iterable[str], connectors: Mapping[str, Connector]) -> Iterable[tuple[str, int]]:
    """The bullets that runs call by their number."""
    for run in runs:
        for point in run.split(">"):
            owner, _, number = point.partition("." if "." in point else "/")
            name, number = " ".join(owner.split()), number.strip()
            known = connectors.get(name)
            if known and known.kind == "bullets" and number.isascii() and number.isdigit() and len(number) < 5:
                yield name, int(number)
