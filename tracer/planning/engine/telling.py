"""What checks tell in a belief, in bits, for many beliefs at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.planning.engine.core import Array, Ints, xlogx
from tracer.planning.engine.laid import add_rows, lay, runs
from tracer.planning.engine.nodes import Node

_CELLS: Final = 60_000  # of a table of joint probabilities at a time: what stays in the cache of a core
_NOTHING: Final = 1e-10  # bits


class Telling:
    """The checks of one problem: (H, R) outcome probabilities side by side, where the outcomes of each check begin,
    and the (H,) rising labels of the hypotheses."""

    def __init__(self, table: Array, start: Ints, label: Ints) -> None:
        self.table, self.start, self.label = table, start, label
        # Memory that is used again and again is still in the cache, and is not fetched from the system every time.
        self._space = np.empty((4, max(_CELLS, table.size)))

    def bits(self, nodes: Sequence[Node]) -> Array:
        """(nodes, T) bits each check tells about the repair."""
        found = np.zeros((len(nodes), self.start.size))
        if not self.start.size:
            return found
        # Those with as many repairs together, since these are added up one after the other.
        order = sorted(range(len(nodes)), key=lambda k: -len(nodes[k].share))
        width, at = self.table.shape[1], 0
        while at < len(order):
            end, cells = at + 1, nodes[order[at]].alive.size * width
            while end < len(order) and (cells := cells + nodes[order[end]].alive.size * width) <= _CELLS:
                end += 1
            found[order[at:end]] = self._bits([nodes[k] for k in order[at:end]])
            at = end
        return found

    def bits_apart(self, node: Node) -> Array:
        """(T,) bits each check tells about the hypothesis, whichever repair cures it."""
        if not self.start.size:
            return np.zeros(0)
        joint = self.table[node.alive] * node.belief[:, None]
        per_row = xlogx(joint).sum(axis=0) - xlogx(joint.sum(axis=0))
        bits = np.add.reduceat(per_row, self.start) - xlogx(node.belief).sum()
        return np.asarray(self._open(bits[None], [node])[0])

    def joint(self, node: Node) -> Array:
        """(C, R) joint masses of the repairs alive (in the order of their numbers) and the outcomes."""
        begins = runs(self.label[node.alive])
        return np.add.reduceat(self.table[node.alive] * node.belief[:, None], begins, axis=0)

    def _bits(self, nodes: Sequence[Node]) -> Array:
        """As `bits`, for few nodes, those with most repairs first."""
        width = self.table.shape[1]
        laid = lay(nodes)
        whose = np.repeat(np.arange(len(nodes)), laid.lengths)
        parts = runs(whose * (int(self.label[-1]) + 2) + self.label[laid.alive])
        lengths = np.append(parts[1:], whose.size) - parts
        many = np.array([len(node.share) for node in nodes])
        begins = np.cumsum(many) - many
        joint, by_repair, told, spare = (space[:rows * width].reshape(rows, width) for space, rows in zip(
            self._space, (whose.size, parts.size, parts.size, parts.size), strict=True))
        np.take(self.table, laid.alive, axis=0, out=joint, mode="clip")
        joint *= laid.belief[:, None]
        longest = np.argsort(-lengths, kind="stable")
        add_rows(joint, parts[longest], lengths[longest], by_repair, spare)
        np.maximum(by_repair, 1e-300, out=told)
        np.log2(told, out=told)
        told *= by_repair
        at = np.empty_like(longest)
        at[longest] = np.arange(at.size)
        whole, sums = joint[:len(nodes)], np.empty((len(nodes), width))
        add_rows(by_repair, begins, many, whole, spare, at)
        add_rows(told, begins, many, sums, spare, at)
        sums -= xlogx(whole)
        bits = np.add.reduceat(sums, self.start, axis=1)
        bits -= np.add.reduceat(xlogx(np.add.reduceat(laid.belief, parts)), begins)[:, None]
        return self._open(bits, nodes)

    def _open(self, bits: Array, nodes: Sequence[Node]) -> Array:
        """Only what is still to be told: nothing by checks already made."""
        width = (self.start.size + 7) // 8
        used = np.frombuffer(b"".join([node.used.to_bytes(width, "little") for node in nodes]), dtype=np.uint8)
        made = np.unpackbits(used.reshape(-1, width), axis=1, count=self.start.size, bitorder="little")
        return np.where((bits > _NOTHING) & (made == 0), bits, 0.0)
