"""Graphviz for the places of boxes: a graph in rows, tables whose cells are ports, where nodes came to stand."""

from __future__ import annotations

import pygraphviz

from tracer.errors import DrawingError
from tracer.present.drawing.canvas import Point


def new_graph(between: float, large: bool = False) -> pygraphviz.AGraph:
    """An empty graph. In a `large` one Graphviz ends its search early: what it improves last costs most."""
    graph = pygraphviz.AGraph(directed=True, strict=False)
    graph.graph_attr.update(rankdir="TB", nodesep=f"{between / 72:.4f}", ranksep="0.3", dpi="72", mclimit="8")
    if large:
        graph.graph_attr.update(nslimit="0.2", nslimit1="0.2", mclimit="1")
    return graph


def positions(graph: pygraphviz.AGraph) -> dict[str, Point]:
    try:
        graph.layout(prog="dot")
    except (ValueError, OSError) as error:
        raise DrawingError(f"Graphviz could not lay the picture out: {error}") from error
    out = {}
    for node in graph.nodes():
        x, y = node.attr["pos"].split(",")
        out[str(node)] = (float(x), float(y))
    return out


def cells_row(columns: list[tuple[str, float, float]]) -> str:
    """One row of a table; each column as (port, width, where the port is)."""
    out = []
    for name, width, at in columns:
        half = max(1.0, min(2.0, at, width - at))
        for port, w in (("", at - half), (name, 2 * half), ("", width - at - half)):
            if w > 0.01:
                label = f' PORT="{port}"' if port else ""
                out.append(f'<TD{label} FIXEDSIZE="TRUE" WIDTH="{w:.0f}" HEIGHT="8"></TD>')
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR>{"".join(out)}</TR></TABLE>'


def table(rows: list[str]) -> str:
    inner = "".join(f"<TR><TD>{r}</TD></TR>" for r in rows)
    return f'<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">{inner}</TABLE>>'
