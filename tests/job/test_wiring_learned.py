"""A vehicle wired otherwise than its file says: the pair is found, the line settled, and the next job knows."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.test_deviations import SMALL
from tracer.faults import Fault, list_deviations
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness
from tracer.inference.settled_lines import SettledLine
from tracer.job.job import Job
from tracer.job.wiring import overlay_text
from tracer.present.report.data import report_data

PLATE = """  - {run: plate lamp.earth > E3, name: plate}
"""
TEXT = SMALL.replace("controls:", "usual: {traced: no}\ncontrols:").replace(
    "  horn: {kind: load", "  plate lamp: {kind: lamp, lamp: C5W, place: boot lid}\n  horn: {kind: load"
).replace("earth at: E3}", "earth at: E3, traced: yes}").replace("earth at: E1}", "earth at: E1, traced: yes}") + (
    "  - S1 > plate lamp.feed\n" + PLATE)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "car.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "one.yaml", tmp_path / "car.yaml", "Invented car", "left tail and plate lamp dark")


def test_a_fault_and_a_deviation_are_found_together(job: Job, tmp_path: Path) -> None:
    """The plate lamp is earthed at E2 and not at E3, and E2 is open: two lamps that by the file share nothing are
    dark, while the one that shares E3 is not. Worked by hand: with E2 open, no current flows through either lamp, and
    12.4 V stand at both earth terminals and at E2."""
    job.symptom("left tail dark, plate lamp dark, right tail normal when lights side")
    two_bulbs, at_one_point, *_ = job.suspects()  # by rate: 20 and 20 of two lamps, 1.5 of E2 at odds of 1 to 17
    assert two_bulbs.repair == "new lamp: left tail and new lamp: plate lamp"
    assert at_one_point.repair == "clean and remake earth point E2"
    assert any(f.says == "plate lamp.earth leads to E2, not to E3" for f in at_one_point.best.deviations)
    proposal = job.next()
    assert proposal.test is not None
    for node, shown in (("plate lamp.earth", "12.4 V"), ("E2", "12.4 V"), ("E3", "0 V")):
        job.reading(f"volts at {node} when lights side", shown)
    assert job.suspects()[0].share > 0.98
    says = {line.line: line.says for line in job.wiring}
    assert says["plate"] == "plate lamp.earth leads to E2, not to E3"
    assert says["earth"] == "earth is as the file has it"
    job.repaired("clean and remake earth point E2")
    told = report_data(job)["differences"]["wiring"]
    assert {"line": "plate", "says": "plate lamp.earth leads to E2, not to E3", "as_filed": False} in [
        {k: x[k] for k in ("line", "says", "as_filed")} for x in told]

    second = Job.create(tmp_path / "two.yaml", same_vehicle_as=tmp_path / "one.yaml")
    wires = {w.name: w for w in second.harness.wires}
    assert wires["plate"].run == ("plate lamp.earth", "E2") and wires["plate"].traced
    assert wires["earth"].traced and not wires["fed"].traced
    assert "wire added: plate lamp.earth > E2, 1 mm²" in second.differences
    second.symptom("left tail dark, plate lamp dark, right tail normal when lights side")
    second.reading("volts at E2 when lights side", "12.4 V")
    assert second.suspects()[0].repair == "clean and remake earth point E2"
    assert second.suspects()[0].share > 0.95  # one reading is enough, where the wiring is known
    assert not second.suspects()[0].best.deviations


def test_without_untraced_lines_nothing_is_settled(tmp_path: Path) -> None:
    (tmp_path / "car.yaml").write_text(SMALL, encoding="utf-8")
    job = Job.create(tmp_path / "one.yaml", tmp_path / "car.yaml")
    job.symptom("left tail dark when lights side")
    assert [line for line in job.wiring if line.deviation is None] == []


UNTRACED = TEXT.replace(", traced: yes", "")
DEVIATIONS = list_deviations(read_harness(UNTRACED))


def settled(name: str, deviation: Fault | None = None) -> Harness:
    """The vehicle as the next job knows it, once a line was settled."""
    harness = read_harness(UNTRACED)
    over = overlay_text(harness, [SettledLine(name, 1.0, deviation)])
    return read_harness(UNTRACED, "car", [(over, "told")])


@pytest.mark.parametrize("deviation", DEVIATIONS, ids=lambda d: d.name)
def test_a_line_that_was_settled_is_wired_so_for_the_next_job(deviation: Fault) -> None:
    """A wire leads where it was told to lead, a part is bolted where it was told to be, an earth that nobody had
    drawn is there, and no line of the file is asked about again."""
    own = deviation.rewired
    assert own is not None
    before, after = read_harness(UNTRACED), settled(own.line, deviation)
    wires = {w.name: w for w in after.wires}
    if own.run and own.line:
        wire = wires[own.line]
        assert (wire.run, wire.traced, wire.others) == (own.run, True, ())
        assert wire.length_m == next(w.length_m for w in before.wires if w.name == own.line)
    elif own.run:
        assert len(after.wires) == len(before.wires) + 1 and after.wires[-1].run == own.run and after.wires[-1].traced
    if own.earth:
        assert dict(before.parts[own.line].settings)["earth at"] != own.earth
    assert (own.bolt in after.earths) == bool(own.bolt) and set(before.earths) <= set(after.earths)
    if own.bolt:  # it is looked for where the part is whose lead was said to go there
        assert after.earths[own.bolt].place == before.place_of(own.run[0])[0] != own.bolt
    assert deviation.name not in {d.name for d in list_deviations(after)}  # nor is it offered once more
    asked = {d.rewired.line for d in list_deviations(after) if d.rewired is not None}
    assert not own.line or own.line not in asked


@pytest.mark.parametrize("line", sorted({d.rewired.line for d in DEVIATIONS if d.rewired and d.rewired.line}))
def test_a_line_that_is_as_the_file_has_it_is_asked_about_no_more(line: str) -> None:
    before, after = read_harness(UNTRACED), settled(line)
    assert [w.run for w in after.wires] == [w.run for w in before.wires] and after.parts.keys() == before.parts.keys()
    assert not any(d.rewired is not None and d.rewired.line == line for d in list_deviations(after))
    assert any(d.rewired is not None and d.rewired.line == line for d in list_deviations(before))
