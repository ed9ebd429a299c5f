"""The drawing says which wires nobody followed, and how bullets are lettered."""

from __future__ import annotations

from pathlib import Path

from tests.faults.test_deviations import SMALL
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.present.drawing.draw import draw
from tracer.present.drawing.selection import view_of_harness

NOBODY = "?: nobody has followed this wire"
MODELS = Path(__file__).parents[2] / "harness_models"


def lettering(harness: Harness) -> str:
    return draw(harness, view_of_harness(harness), "svg").decode()


def test_a_wire_that_nobody_followed_has_a_question_mark() -> None:
    traced = lettering(read_harness(SMALL))
    assert "mm² ?" not in traced and NOBODY not in traced
    one = lettering(read_harness(SMALL.replace("> E2, name: earth}", "> E2, name: earth, traced: no}")))
    assert one.count("mm² ?") == 1 and NOBODY in one
    other = "> E2, name: earth, or: left tail.earth > E3}"
    perhaps = lettering(read_harness(SMALL.replace("> E2, name: earth}", other)))
    assert perhaps.count("mm² ?") == 1


def test_a_mounting_that_nobody_saw_has_one_too() -> None:
    unseen = "mounting ?: nobody has seen"  # where it is bolted, on the next line
    assert unseen not in lettering(read_harness(SMALL))
    for known in ("traced: no", "or: E2"):
        page = lettering(read_harness(SMALL.replace("earth at: E3}", f"earth at: E3, {known}}}")))
        assert page.count(">mounting ?<") == 1 and unseen in page


def test_bullets_are_named_and_explained() -> None:
    page = lettering(load_harness(MODELS / "bullets_1960s.yaml"))
    assert "B2/2" in page and ">B2<" in page
    assert "bullet 1 in block B1" in page
