"""Bullets: what each fault of one does to the circuit, where a probe finds it, and how it is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.patterns.test_from_nothing import worked
from tracer.circuit.model import NO_CHANGE
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.harness.terminal_words import say_terminal
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.probes import parse_test
from tracer.planning.confirmation import unplugged
from tracer.safety.advice import cautions_of, of_repair, of_test

MODEL = Path(__file__).parents[2] / "harness_models" / "bullets_1960s.yaml"
CAR = load_harness(MODEL)
FAULTS = list_faults(CAR)
PREDICTOR = Predictor(CAR)


def volts(node: str, fault: str | None, done: tuple[Intervention, ...] = ()) -> float:
    change = find_fault(FAULTS, fault).variants[0].change if fault else NO_CHANGE
    state = CAR.state({"lighting switch": "side"})
    return float(PREDICTOR.observed(Test("volts", state, node, CAR.reference, done=done), [change])[0])


def test_a_bullet_that_fell_out_leaves_its_wire_dead_and_its_block_live() -> None:
    """Three lamps of 5 W and 3.5 m of 1 mm² cost a tenth of a volt; the earthed pole is plus."""
    assert volts("B2", "bullet out: B2.2") == pytest.approx(-12.5, abs=0.15)
    assert volts("B2.3", "bullet out: B2.2") == pytest.approx(-12.5, abs=0.15)
    assert volts("B2.2", "bullet out: B2.2") == pytest.approx(0, abs=1e-3)
    assert volts("B2.2", None) == pytest.approx(-12.5, abs=0.15)


def test_the_feed_of_a_block_out_leaves_the_whole_block_dead() -> None:
    assert volts("B2.1", "bullet out: B2.1") == pytest.approx(-12.6, abs=0.05)
    assert [volts(n, "bullet out: B2.1") for n in ("B2", "B2.3")] == pytest.approx([0, 0], abs=1e-3)


def test_a_bullet_pulled_on_purpose_is_a_bullet_out() -> None:
    pulled = (Intervention("pull bullet", "B2.2"),)
    assert volts("left rear.tail", None, pulled) == pytest.approx(0, abs=1e-3)
    assert parse_test("ohms B2.2 to left rear.tail with bullet B2.2 pulled", CAR).done == pulled
    assert parse_test("ohms B2.2 to left rear.tail with bullet 2 of B2 out", CAR).done == pulled
    assert unplugged(["B2.2", "left rear.tail", "B2"], CAR) == pulled  # the block itself stays where it is


def test_every_bullet_is_a_contact_of_its_own_with_a_repair_of_two_minutes() -> None:
    bullets = [f for f in FAULTS if f.kind in ("bullet bad", "bullet out")]
    assert len(bullets) == 2 * sum(c.ways for c in CAR.connectors.values() if c.kind == "bullets") - 2 * 2
    assert {f.repair_min for f in bullets} == {2.0} and not any(f.renews for f in bullets)
    assert {f.node for f in FAULTS if f.kind == "block bad"} == {"B1", "B2", "B3"}  # a sleeve of two is no block
    assert not any(f.kind.startswith(("way", "connector", "splice")) for f in FAULTS)


def test_it_is_said_where_the_wire_leads() -> None:
    assert say_terminal(CAR, "B2.2") == "bullet 2 of B2, on the wire to terminal tail of left rear"
    assert say_terminal(CAR, "B2") == "block B2"
    shown = parse_test("volts at B2.2 when lighting switch side", CAR).says(CAR)
    assert "bullet 2 of B2, on the wire to terminal tail of left rear" in shown


def test_bare_ends_are_warned_of() -> None:
    """A bullet that is pulled is bare, and that of a feed is live: insulated, or the battery off first."""
    fault = find_fault(FAULTS, "bullet out: B1.1")
    said = " ".join(c.text for c in cautions_of(of_repair([fault], CAR)))
    assert "insulate" in said.lower() or "battery" in said.lower()
    live = parse_test("ohms B1.2 to lighting switch.A with bullet B1.2 pulled", CAR)
    assert any("bare" in c.text.lower() or "insulate" in c.text.lower() for c in cautions_of(of_test(live, CAR)))


# --- in another block than its own


def test_two_bullets_changed_over_swap_what_their_wires_carry() -> None:
    """The left tail's wire is in the block of the stop lamps and the other way round: with the side lights the stop
    filament shines and the tail does not. 21 W in place of 5 W cost another tenth of a volt on 3.5 m."""
    fault = "bullets changed over: B2.2 and B3.2"
    assert volts("left rear.tail", fault) == pytest.approx(0, abs=0.02)  # what the unit’s earth rises by
    assert volts("left rear.stop", fault) == pytest.approx(-12.4, abs=0.15)
    assert volts("left rear.stop", None) == pytest.approx(0, abs=0.02)
    assert volts("right rear.tail", fault) == pytest.approx(-12.4, abs=0.15)


def test_a_bullet_in_the_free_hole_of_the_block_beside_it() -> None:
    """B3 takes four and has three. What was fed by the side lights has the voltage of the stop lamps’ block; by
    hand 42 W and 5 W over 5 m of 1 mm² (0.018 Ω/m), some 4 A, cost 0.35 V of 12.5 V,
    and the fuse and contacts more."""
    fault = "bullet in the wrong block: B2.2 in B3"
    assert volts("left rear.tail", fault) == pytest.approx(0, abs=0.02)
    pressed = CAR.state({"brake pedal": "pressed"})
    change = find_fault(FAULTS, fault).variants[0].change
    shown = PREDICTOR.observed(Test("volts", pressed, "left rear.tail", CAR.reference), [change])
    block = PREDICTOR.observed(Test("volts", pressed, "B3", CAR.reference), [NO_CHANGE])
    assert float(shown[0]) == pytest.approx(float(block[0]), abs=0.1)
    assert -12.3 < float(shown[0]) < -11.9


def test_only_neighbours_of_one_loom_are_mistaken_for_each_other() -> None:
    moved = [f for f in FAULTS if f.kind in ("bullets changed over", "bullet in the wrong block")]
    assert moved and not any("B1" in f.name or "B6" in f.name for f in moved)  # bulkhead and lid: alone there
    sleeves = [f.name for f in moved if "B4." in f.name and "B5." in f.name]
    assert len(sleeves) == 2  # four pairs of ends, two by two the same
    into = {f.name.rpartition(" in ")[2] for f in moved if f.kind == "bullet in the wrong block"}
    assert into == {"B3"}  # the only one with a free hole
    assert {f.repair_min for f in moved} == {3.0} and not any(f.renews for f in moved)


@pytest.mark.parametrize(("planted", "state", "lamps"), [
    ("bullets changed over: B2.3 and B3.2", "lighting switch side", ("right rear tail", "left rear stop")),
    pytest.param("bullet in the wrong block: B2.3 in B3", "brake pedal pressed", ("right rear tail",),
                 marks=pytest.mark.long),
])
def test_a_job_leads_to_the_bullet_in_the_wrong_block(
    planted: str, state: str, lamps: tuple[str, ...], tmp_path: Path
) -> None:
    """Two of one lamp unit would be sought at the unit first, where its wires are changed over oftener."""
    _, wrong = worked(tmp_path, MODEL.read_text(encoding="utf-8"), planted, state, *lamps)
    assert wrong == 0
