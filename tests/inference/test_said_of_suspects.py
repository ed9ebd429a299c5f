"""What is said of a suspect: how the lamps would look elsewhere, and beside those that were told of."""

from __future__ import annotations

import pytest

from tests.library import MODELS, evidence_from, tool_on
from tracer.faults import find_fault
from tracer.inference.explanation import current_path, elsewhere, predicted_words
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.search_bound import Search

TOOL = tool_on(MODELS / "rear_end.yaml")
DEAD = "filament open: left rear stop"
GLASS_FIBRE = tool_on(MODELS / "glass_fibre.yaml")


def test_a_suspect_says_what_would_look_otherwise_in_other_states() -> None:
    """A dead stop filament shows where it was told of and nowhere else; without the unit's earth its
    indicator only glows."""
    found = TOOL.diagnose(evidence_from(TOOL.harness, "left rear stop dark when brake pedal pressed"))
    suspects = [(s.best.faults[0].name, s) for s in found.suspects]
    assert elsewhere(found, next(s for name, s in suspects if name == DEAD)) == []
    said = elsewhere(found, next(s for name, s in suspects if "left rear.earth" in name))
    assert said and not any("brake pedal pressed:" in words for words in said)
    assert any(words.startswith("indicator stalk left: ") and "left rear indicator faint" in words for words in said)


def test_where_all_else_was_called_normal_what_would_not_be_is_said_and_nothing_twice() -> None:
    fault = next(f for f in TOOL.faults if f.name == DEAD)
    dead = Hypothesis((fault,), (fault.variants[0],), 1.0)
    other, own = evidence_from(TOOL.harness, "right rear stop dark, everything else normal when brake pedal pressed",
                               "left rear stop dark, everything else normal when brake pedal pressed")
    assert "left rear stop dark" in predicted_words(TOOL.predictor, dead, other)
    assert predicted_words(TOOL.predictor, dead, own).count("left rear stop") == 1


@pytest.mark.parametrize(("fault", "said", "expected"), [
    ("relay coil open: horn relay", "horn relay clicks", "horn relay does not click"),
    ("load open: horn", "horn relay does not click", "horn relay clicks"),
    ("load open: horn", "horn works", "horn does not work"),
    ("wire bad: horn.earth – G2", "horn works", "horn works"),  # 0.3 Ω beside the 2.4 Ω of 60 W
    ("load open: horn", "fuse F1 blew", "fuse F1 holds"),
    ("load open: horn", "right rear stop dimmer than left rear stop",
     "right rear stop as bright as left rear stop"),
    ("filament open: left rear stop", "left rear stop as bright as right rear stop",
     "left rear stop dimmer than right rear stop"),
])
def test_what_a_suspect_predicts_of_horn_relay_fuse_and_two_lamps(fault: str, said: str, expected: str) -> None:
    """What the circuit does with the fault (Ohm), whatever was said."""
    found = find_fault(GLASS_FIBRE.faults, fault)
    (item,) = evidence_from(GLASS_FIBRE.harness, f"{said} when horn button pressed, brake pedal pressed")
    assert predicted_words(GLASS_FIBRE.predictor, Hypothesis((found,), (found.variants[0],), 1.0), item) == expected


def test_of_all_that_would_be_dark_three_are_named() -> None:
    """With the battery's terminal off nothing shines, of six lamps that were called normal."""
    off = find_fault(TOOL.faults, "battery terminal bad: battery.+")
    (item,) = evidence_from(TOOL.harness, "left rear tail dark, everything else normal when lamp switch side, "
                                          "brake pedal pressed, indicator stalk left")
    said = predicted_words(TOOL.predictor, Hypothesis((off,), (off.variants[-1],), 1.0), item)
    assert said.startswith("left rear tail dark, also ") and said.count(" dark") == 4


def test_the_way_of_the_current_is_that_through_the_lamp_which_the_suspect_explains() -> None:
    """Of two that glow the one that is dim by its bad holder, and not the other, of which nothing was wrong."""
    found = TOOL.diagnose(evidence_from(
        TOOL.harness, "right rear stop normal when brake pedal pressed, lamp switch side",
        "left rear stop dim when brake pedal pressed", "right rear tail normal when lamp switch side"), pairs=False)
    holder = next(s for s in found.suspects if s.best.faults[0].kind == "holder bad")
    path = current_path(found, holder)
    assert path is not None and (path.lamp, path.state) == ("left rear stop", "brake pedal pressed")
    assert path.back_feed == () and "the left rear stop filament" in path.words


@pytest.mark.parametrize(("left_out", "triples", "said"), [
    (0.0, False, "could hold under 0.1 %"), (0.0009, False, "could hold under 0.1 %"),
    (0.02, False, "could hold at most 2 %"), (0.02, True, "could hold at most 2 %"),
])
def test_what_was_left_out_is_said_with_what_it_can_hold(left_out: float, triples: bool, said: str) -> None:
    words = Search(100, 20, left_out, triples).says()
    assert words.startswith("searched: 100 faults and 20 pairs") and said in words
    assert ("the likeliest triples" in words) == triples == (not words.endswith(", three faults at once"))
