"""The drawing of a sub-circuit."""

from __future__ import annotations

from pathlib import Path

from tracer.drawing import View, draw, sub_circuit
from tracer.harness_text import load_harness

MODELS = Path(__file__).parent.parent / "harness_models"


def test_three_formats() -> None:
    harness = load_harness(MODELS / "pickup.yaml")
    view = View("Left rear", elements=sub_circuit(harness, ["left rear reversing"]))
    assert draw(harness, view, "png").startswith(b"\x89PNG\r\n")
    assert draw(harness, view, "pdf").startswith(b"%PDF-")
    assert b"<svg" in draw(harness, view, "svg")
