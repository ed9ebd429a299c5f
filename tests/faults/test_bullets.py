"""Bullets: what each fault of one does to the circuit, where a probe finds it, and how it is said."""

from __future__ import annotations

from pathlib import Path

import pytest

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

CAR = load_harness(Path(__file__).parents[2] / "harness_models" / "bullets_1960s.yaml")
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
