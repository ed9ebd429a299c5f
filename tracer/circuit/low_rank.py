"""Conductance changes to a factored network, for many rows of few changes each, and what they cut off."""

from __future__ import annotations

import numpy as np

from tracer.circuit.model import Bools, Floats, Ints

# Removals that leave less than this of the branches' own conductance between their ends have cut off
# an island that nothing else feeds: the remainder is rounding, so the island is set to 0 V outright.
CUT_OFF = 1e-7


class LowRank:
    """Woodbury correction of z for K conductance changes in each of H rows.

    With ρ = √|d| and σ the sign of d, M t = σ ρ · right and s = ρ t are the currents that undo the
    change, M = I + σ ρ R ρ. M is singular where the change cuts off a side that nothing else feeds.
    """

    def __init__(self, z: Floats, d: Floats, a: Ints, b: Ints) -> None:
        self.a, self.b = a, b
        self.root, self.signed = np.sqrt(np.abs(d)), np.sign(d) * np.sqrt(np.abs(d))
        self.w: Floats = np.swapaxes(z[a] - z[b], 1, 2)  # (H, n, K); z is symmetric
        row = np.arange(len(d))[:, None]
        r = self.w[row, a] - self.w[row, b]  # (H, K, K): voltage across change k from current in l
        m = np.eye(d.shape[1]) + self.signed[:, :, None] * r * self.root[:, None, :]
        try:
            self.inverse: Floats = np.asarray(np.linalg.inv(m))
            doubtful = ~(np.abs(self.inverse).max(axis=(1, 2)) < 1 / CUT_OFF)  # also what is not a number
        except np.linalg.LinAlgError:
            self.inverse, doubtful = np.zeros_like(m), np.ones(len(m), dtype=bool)
        # (row, (n, islands) how the voltage of each cut-off island may shift as a whole)
        self.islands: list[tuple[int, Floats]] = []
        for h in np.flatnonzero(doubtful):
            left, size, right = np.linalg.svd(m[h])
            keep = size > CUT_OFF
            self.inverse[h] = (right[keep].T / size[keep]) @ left[:, keep].T
            if not keep.all():
                self.islands.append((int(h), self.w[h] @ (self.root[h][:, None] * right[~keep].T)))

    def scale(self, right: Floats) -> Floats:
        """The currents that undo the change, for right of shape (H, K, …)."""
        return np.asarray(self.root[:, :, None] * (self.inverse @ (self.signed[:, :, None] * right)))

    def apply(self, v: Floats) -> Floats:
        """Correct node voltages (H, n) of the unchanged network for the changes."""
        across = np.take_along_axis(v, self.a, 1) - np.take_along_axis(v, self.b, 1)
        s = self.scale(across[:, :, None])[:, :, 0]
        out: Floats = np.asarray(v - np.einsum("hnk,hk->hn", self.w, s))
        for h, shift in self.islands:  # its leaks carry no current in sum: 0 V on average
            out[h] -= shift @ np.linalg.lstsq(shift, out[h], rcond=None)[0]
        return out


def chosen_columns(chosen: Bools) -> tuple[Ints, Bools]:
    """(H, most) columns in which each row is true, and where such a column stands: rows true in fewer are
    filled up."""
    row, column = np.divmod(chosen.ravel().nonzero()[0], max(chosen.shape[1], 1))
    count = np.bincount(row, minlength=len(chosen))
    out = np.zeros((len(chosen), int(count.max(initial=0))), dtype=np.intp)
    out[row, np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)] = column
    return out, np.arange(out.shape[1]) < count[:, None]
