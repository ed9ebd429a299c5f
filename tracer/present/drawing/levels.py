"""Which row each thing stands in: the supply first, what is fed below it, the consumers' earths last."""

from __future__ import annotations

from tracer.errors import DrawingError
from tracer.harness.devices import Source
from tracer.present.drawing.dot import new_graph, positions
from tracer.present.drawing.graph import Picture


def levels_of(picture: Picture) -> dict[str, int]:
    """Even rows for units, so that lettering and passing runs have the odd ones; as short as possible in all.

    Raises:
        DrawingError: Graphviz failed, or the runs cannot be put in order.
    """
    graph = new_graph(8.0)
    names = {u: f"n{i}" for i, u in enumerate(picture.units)}
    for unit in picture.units:
        graph.add_node(names[unit], width="0.1", height="0.1", fixedsize="true", label="")
    first, last = [], []
    for id, thing in picture.units.items():
        above, below = picture.runs_at(id)
        if _is_battery(picture, id) and not above:
            first.append(names[id])
        local = above and all(_is_battery(picture, r.upper) for r in above)
        if thing.kind == "earth" and not local and not below:
            last.append(names[id])
    for run in picture.runs:
        graph.add_edge(names[run.upper], names[run.lower], weight="2")
    for group, rank in ((first, "min"), (last, "max")):
        if group:
            graph.add_subgraph(group, rank=rank)
    place = positions(graph)
    heights = sorted({round(y, 1) for _, y in place.values()}, reverse=True)
    row = {y: i for i, y in enumerate(heights)}
    level = {u: 2 * row[round(place[n][1], 1)] for u, n in names.items()}
    _lift(picture, level)
    for run in picture.runs:
        if level[run.upper] >= level[run.lower]:
            raise DrawingError("the runs of this choice of devices cannot be put in order")
    return level


def _lift(picture: Picture, level: dict[str, int]) -> None:
    """What may stand higher without longer lines does, so that fuses stand in a row below the supply."""
    for unit in sorted(level, key=lambda u: level[u]):
        above, below = picture.runs_at(unit)
        if above and len(above) == len(below):
            level[unit] = max(level[r.upper] for r in above) + 2


def _is_battery(picture: Picture, unit: str) -> bool:
    return any(isinstance(d, Source) for d in picture.units[unit].devices)
