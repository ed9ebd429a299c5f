"""What the healthy vehicle settles to in many set-ups, as arrays that can be kept with the harness and put together
again: every step of a job asks for the same ones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.cache import Arrays, Kept
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import Circuit, Setup
from tracer.circuit.settled import Settled
from tracer.circuit.solution import GivenVolts, Solution

_OF_SOLUTION = ("port_v", "port_i", "watched_v", "residual_a", "converged")
_OF_SETTLED = ("blown", "blow_s", "pulled_in", "restless", "lead_blown")


def remember(settler: Settler, setups: Sequence[Setup], kept: Kept, what: str, key: object) -> None:
    """Find what the healthy vehicle does in set-ups of which every job on it asks, from what is kept under a name and
    a key. It is put together from arrays whether they were found or just worked out: the last digits are the same."""
    settler.kept = kept
    if not setups:
        return

    def work_out() -> Arrays:
        settler.know(setups)
        return as_arrays([settler.healthy(s) for s in setups])

    counts = len(setups), len(settler.fuses), len(settler.coils)
    found = kept.recall(what, key, work_out, lambda arrays: fits(arrays, settler.circuit, *counts))
    for setup, settled in zip(setups, of_arrays(found, len(settler.circuit.nodes)), strict=True):
        if settled is not None:
            settler.known[setup] = settled


def remember_asked(settler: Settler, setups: Sequence[Setup], key: object) -> None:
    """The same in set-ups that a step of a job asks for: those after it mostly ask for the same. What is known by now
    is left alone; where nothing is kept, all is left to whoever asks."""
    new = [s for s in dict.fromkeys(setups) if s not in settler.known]
    if settler.kept is not None and new:
        remember(settler, new, settler.kept, "healthy, as asked for", (key, tuple(new)))


def as_arrays(found: Sequence[Settled]) -> Arrays:
    """One row a set-up; those with a relay that buzzes are in between two states, and are not kept."""
    return {
        **{n: np.concatenate([getattr(s.solution, n) for s in found]) for n in _OF_SOLUTION},
        **{n: np.concatenate([getattr(s, n) for s in found]) for n in _OF_SETTLED},
        "volts": np.concatenate([s.solution.volts for s in found]),
    }


def fits(found: Arrays, circuit: Circuit, count: int, fuses: int, coils: int) -> bool:
    """Whether arrays can be those of `count` set-ups of a circuit."""
    shapes = {
        "port_v": (count, len(circuit.ports)), "port_i": (count, len(circuit.ports)),
        "watched_v": (count, len(circuit.watched)), "residual_a": (count,), "converged": (count,),
        "volts": (count, len(circuit.nodes)), "blown": (count, fuses), "blow_s": (count, fuses),
        "pulled_in": (count, coils), "restless": (count, coils), "lead_blown": (count,),
    }
    true_or_false = {"converged", "blown", "pulled_in", "restless", "lead_blown"}
    return found.keys() == shapes.keys() and all(
        found[n].shape == shape and found[n].dtype.kind == ("b" if n in true_or_false else "f")
        for n, shape in shapes.items()
    ) and bool(np.isfinite(found["volts"][found["converged"]]).all())


def of_arrays(found: Arrays, nodes: int) -> list[Settled | None]:
    """What was kept; None where a relay buzzes."""
    out: list[Settled | None] = []
    for k in range(len(found["converged"])):
        here = slice(k, k + 1)
        port_v, port_i, watched_v, residual_a, converged = (found[n][here] for n in _OF_SOLUTION)
        solution = Solution(port_v, port_i, watched_v, residual_a, converged, nodes).with_volts(
            GivenVolts(found["volts"][here]))
        blown, blow_s, pulled_in, restless, lead_blown = (found[n][here] for n in _OF_SETTLED)
        settled = Settled(solution, blown, blow_s, pulled_in, restless, lead_blown)
        out.append(None if settled.buzzing.any() else settled)
    return out
