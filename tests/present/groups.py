"""What is drawn, with the group that each stroke stands in."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.present.drawing.canvas import Canvas, Closing, Lettering, Opening, Shape, Stroke


def grouped(canvas: Canvas) -> Iterator[tuple[str, Stroke | Shape | Lettering]]:
    """The innermost group's name ("" outside all groups) and what is drawn in it, in the order of drawing."""
    names = [""]
    for op in canvas.ops:
        if isinstance(op, Opening):
            names.append(op.data)
        elif isinstance(op, Closing):
            names.pop()
        else:
            yield names[-1], op
