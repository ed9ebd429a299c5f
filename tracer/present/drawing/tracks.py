"""Lines that run across between two rows: which one above which, so that few cross."""

from __future__ import annotations

from collections.abc import Sequence

NEAR = 4.5  # two vertical pieces closer than this would touch
STRAIGHT = 0.6


def assign_tracks(edges: Sequence[tuple[float, float]]) -> tuple[list[int], int]:
    """A track (0 uppermost) for every line from x1 above to x2 below, and how many tracks there are."""
    bent = [i for i, (a, b) in enumerate(edges) if abs(a - b) > STRAIGHT]
    order = sorted(bent, key=lambda i: (edges[i][1] > edges[i][0], -min(edges[i]) if edges[i][1] > edges[i][0]
                                        else max(edges[i])))
    improved, rounds = True, 0
    while improved and rounds < 60:
        improved, rounds = False, rounds + 1
        for n in range(len(order) - 1):
            upper, lower = order[n], order[n + 1]
            if _cost(edges[lower], edges[upper]) < _cost(edges[upper], edges[lower]):
                order[n], order[n + 1] = lower, upper
                improved = True
    tracks = [0] * len(edges)
    done: list[int] = []
    for i in order:
        tracks[i] = max((tracks[j] + 1 for j in done if _meet(edges[i], edges[j])), default=0)
        done.append(i)
    return tracks, (max(tracks[i] for i in order) + 1 if order else 0)


def _span(edge: tuple[float, float]) -> tuple[float, float]:
    return min(edge) - NEAR, max(edge) + NEAR


def _meet(e: tuple[float, float], f: tuple[float, float]) -> bool:
    (a, b), (c, d) = _span(e), _span(f)
    return a < d and c < b


def _cost(upper: tuple[float, float], lower: tuple[float, float]) -> float:
    """Crossings, and lines on top of each other, when `upper` runs above `lower`."""
    if not _meet(upper, lower):
        return 0.0
    (ul, ur), (ll, lr) = sorted(upper), sorted(lower)
    cost = float(ul < lower[0] < ur) + float(ll < upper[1] < lr)
    if abs(lower[0] - upper[1]) < NEAR:  # both would stand in the same column between the tracks
        cost += 50.0
    return cost
