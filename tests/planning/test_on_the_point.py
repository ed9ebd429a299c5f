"""No repair on words alone where two minutes at the point tell if it is needed (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS
from tests.long import rest_long
from tracer.circuit.model import NO_CHANGE
from tracer.faults import find_fault
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.seldom_seen import ALONE
from tracer.inference.silence import DEAD_UNMENTIONED, GOES_ON, MOST_SILENCE
from tracer.job.job import Job
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.costs import Standing
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living
from tracer.planning.on_the_point import voltages_there
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.present.job_words import test_words

# Invented: the feed of the tail lamps and the earth of the load lamps lie side by side in one plug.
VAN = """
harness: Invented van with load lamps
system: 12 V negative earth
vehicle: van
colours: BS AU 7
usual: {size: 1.5 mm², length: 1 m, loom: main}
controls:
  lights: {positions: [off, side, head]}
  dip switch: {positions: [dipped, main]}
  winker switch: {positions: [off, left, right]}
  load switch: {positions: [off, on]}
  brake pedal: {positions: [released, pressed]}
parts:
  battery: {kind: battery, place: under the seat, access: 2 min}
  lighting switch: {kind: switch, control: lights, contacts: {side: [A-S], head: [A-S, A-H]}, place: dash}
  load lamp switch: {kind: switch, control: load switch, contacts: {on: [in-out]}, place: dash, access: 4 min}
  stop switch: {kind: switch, control: brake pedal, contacts: {pressed: [in-out]}, place: pedals, access: 6 min}
  dip switch: {kind: switch, control: dip switch, contacts: {dipped: [H-L], main: [H-U]}, place: dash, access: 4 min}
  winker switch: {kind: switch, control: winker switch, contacts: {left: [F-L], right: [F-R]}, place: dash}
  flasher unit: {kind: flasher unit, works: thermal, load: 42 W, place: bulkhead, access: 3 min}
  left headlamp: {kind: lamp unit, lamps: {main + dip: R2}, place: left wing, access: 4 min}
  right headlamp: {kind: lamp unit, lamps: {main + dip: R2}, place: right wing, access: 4 min}
  left sidelamp: {kind: lamp, lamp: R5W, place: left wing, access: 3 min}
  right sidelamp: {kind: lamp, lamp: R5W, place: right wing, access: 3 min}
  left front winker: {kind: lamp, lamp: P21W, for: [indicator left], place: left wing}
  right front winker: {kind: lamp, lamp: P21W, for: [indicator right], place: right wing}
  left back winker: {kind: lamp, lamp: P21W, for: [indicator left], place: left back}
  right back winker: {kind: lamp, lamp: P21W, for: [indicator right], place: right back}
  F1: {kind: fuse, rating: 15 A, place: bulkhead, access: 1 min}
  F2: {kind: fuse, rating: 15 A, place: bulkhead, access: 1 min}
  left back lamp: {kind: lamp unit, lamps: {stop + tail: P21/5W}, place: left back, access: 2 min}
  right back lamp: {kind: lamp unit, lamps: {stop + tail: P21/5W}, place: right back, access: 2 min}
  load lamp 1: {kind: lamp, lamp: 10 W, place: roof front, access: 2 min}
  load lamp 2: {kind: lamp, lamp: 10 W, place: roof back, access: 2 min}
connectors:
  C1: {ways: 5, place: door pillar, access: 5 min}
splices:
  S6: {place: front, access: 6 min}
  S7: {place: front, access: 6 min}
  S8: {place: front, access: 6 min}
  S9: {place: front, access: 6 min}
  S10: {place: front, access: 6 min}
  S1: {place: bulkhead, access: 5 min}
  S2: {place: body loom, access: 8 min}
  S3: {place: body loom, access: 8 min}
  S4: {place: roof rail, access: 6 min}
  S5: {place: roof rail, access: 6 min}
earths:
  E1: {place: battery post, access: 2 min, body: none}
  E2: {place: back collecting bolt, access: 4 min, body: none}
wires:
  - {run: battery.- > E1, size: 25 mm², colour: B, length: 0.3 m}
  - {run: battery.+ > S1, size: 16 mm², colour: N, length: 1.5 m}
  - {run: E2 > E1, size: 6 mm², colour: B, length: 2.8 m}
  - {run: S1 > F1.in, size: 2.5 mm², colour: N}
  - {run: S1 > F2.in, size: 2.5 mm², colour: N}
  - {run: F1.out > lighting switch.A, colour: P}
  - {run: F2.out > load lamp switch.in, colour: G}
  - {run: S1 > stop switch.in, colour: N}
  - {run: stop switch.out > C1.1 > S2, colour: GP}
  - {run: S2 > left back lamp.stop, colour: GP}
  - {run: S2 > right back lamp.stop, colour: GP}
  - {run: lighting switch.S > S10, colour: R}
  - {run: S10 > left sidelamp.feed, colour: R}
  - {run: S10 > right sidelamp.feed, colour: R}
  - {run: left sidelamp.earth > E1, colour: B}
  - {run: right sidelamp.earth > E1, colour: B}
  - {run: S10 > C1.3 > S3, colour: R}
  - {run: S3 > left back lamp.tail, colour: R}
  - {run: S3 > right back lamp.tail, colour: R}
  - {run: load lamp switch.out > C1.5 > S4, colour: PW}
  - {run: S4 > load lamp 1.feed, colour: PW}
  - {run: S4 > load lamp 2.feed, colour: PW}
  - {run: load lamp 1.earth > S5, colour: B}
  - {run: load lamp 2.earth > S5, colour: B}
  - {run: S5 > C1.4 > E1, colour: B}
  - {run: lighting switch.H > dip switch.H, colour: U}
  - {run: dip switch.U > S6, colour: UW}
  - {run: dip switch.L > S7, colour: UR}
  - {run: S6 > left headlamp.main, colour: UW}
  - {run: S6 > right headlamp.main, colour: UW}
  - {run: S7 > left headlamp.dip, colour: UR}
  - {run: S7 > right headlamp.dip, colour: UR}
  - {run: left headlamp.earth > E1, colour: B}
  - {run: right headlamp.earth > E1, colour: B}
  - {run: S1 > flasher unit.49, colour: G}
  - {run: flasher unit.49a > winker switch.F, colour: LGN}
  - {run: winker switch.L > S8, colour: GR}
  - {run: winker switch.R > S9, colour: GW}
  - {run: S8 > left front winker.feed, colour: GR}
  - {run: S9 > right front winker.feed, colour: GW}
  - {run: S8 > left back winker.feed, colour: GR}
  - {run: S9 > right back winker.feed, colour: GW}
  - {run: left front winker.earth > E1, colour: B}
  - {run: right front winker.earth > E1, colour: B}
  - {run: left back winker.earth > E2, colour: B}
  - {run: right back winker.earth > E2, colour: B}
  - {run: left back lamp.earth > E2, colour: B}
  - {run: right back lamp.earth > E2, colour: B}
"""
SAID = ("left back lamp tail dark, right back lamp tail dark when lights side",
        "load lamp 1 faint, load lamp 2 faint when load switch on")
HARNESS = read_harness(VAN)
OWN = Investigator(HARNESS)
CROSSED = find_fault(OWN.faults, "ways crossed: C1 ways 3 and 4")


def _opened(tmp_path: Path) -> Job:
    (tmp_path / "van.yaml").write_text(VAN, encoding="utf-8")
    job = Job.create(tmp_path / "van.job", tmp_path / "van.yaml")
    for text in SAID:
        job.symptom(text)
    return job


def test_ways_are_not_changed_back_on_words_alone(tmp_path: Path) -> None:
    """Nothing else explains the words by itself, so that the share is near one; still the plug is not taken apart
    before a reading on one of its two ways: with the side lights on there are volts on one of them or the other."""
    job = _opened(tmp_path)
    job.symptom("left sidelamp lit, right sidelamp lit when load switch on")
    step = job.next()
    assert step.kind == "repair" and step.suspect is not None and step.suspect.repair == CROSSED.repair
    assert step.sure > 0.99
    assert step.test is not None and step.test.kind == "volts"
    assert step.test.plus.rstrip("'") in ("C1.3", "C1.4")
    crossed, sound = OWN.predictor.observed(step.test, [CROSSED.variants[0].change, NO_CHANGE])
    assert abs(crossed - sound) > 0.25 * OWN.predictor.emf


@pytest.mark.parametrize("bad", rest_long(["crossed", "earth"]))
def test_the_reading_there_settles_it(tmp_path: Path, bad: str) -> None:
    """The words fit an earth as well that takes all lamps and of which two were told: by reading on it comes up where
    it is the cause, and nothing is changed back in vain."""
    own = CROSSED if bad == "crossed" else find_fault(OWN.faults, "earth bad: E1")
    change = own.variants[0].change if bad == "crossed" else own.at(40.0).change
    vehicle = PracticeVehicle(HARNESS, change, faults=[own])
    job = _opened(tmp_path)
    for _ in range(8):
        step = job.next()
        if step.test is None:
            break
        job.reading(test_words(step.test, HARNESS), vehicle.answer(step.test))
    assert step.kind == "repair" and step.suspect is not None
    assert (step.suspect.repair == CROSSED.repair) == (bad == "crossed")


def test_who_told_of_two_functions_has_not_kept_silent_of_a_dead_vehicle() -> None:
    """Load lamps have no function that the trade has a name for, and are one all the same: told of them and of the
    tails, an earth that takes everything costs what is left unsaid, and not that nobody said the vehicle is dead. Of
    the tails alone it leaves both beams, the stop lamps, either side's winkers, both headlamps and both back lamps
    unsaid, nine groups, and four lamps besides: the side lamps in front and the load lamps; and who has as much more
    to tell goes on."""
    earth = find_fault(OWN.faults, "earth bad: E1").at(40.0).change
    said = [parse_symptom(text, HARNESS) for text in SAID]
    one, both = (float(np.exp(OWN.silence.loglik([earth], told)[0])) for told in (said[:1], said))
    left = 9 + 4 * ALONE
    assert one == pytest.approx(DEAD_UNMENTIONED / (1 + left) * (1 - GOES_ON * left / (1 + left)))
    assert both == pytest.approx(MOST_SILENCE)


def test_no_voltage_where_none_tells_the_rivals_apart(tmp_path: Path) -> None:
    """A motorcycle's stop lamp glows with the left indicator: crust in C2, or two wires of the loom rubbed through.
    Under both the same volts stand wherever a probe reaches, and that something is wrong is sure."""
    job = Job.create(tmp_path / "job.yaml", MODELS / "motorcycle_6v.yaml")
    job.symptom("left rear indicator dim when brake lever pulled")
    job.reading("look left rear indicator when indicator switch left", "normal, flashing")
    job.symptom("rear lamp stop dim, flashing, rear lamp tail dark when indicator switch left")
    for wire in ("C2.2' to rear lamp.stop", "C2.3' to left rear indicator.feed"):
        job.reading(f"inspect {wire}", "nothing")
    job.reading("ohms C2.2 to left rear indicator.feed with C2 unplugged", "open")
    shares = {s.repair: s.share for s in job.suspects()[:2]}
    assert set(shares) == {"dry and clean C2", "part and repair the GP and GR wires in the main loom"}
    assert min(shares.values()) > 0.03
    diagnosis = job.diagnosis
    own = next(s for s in diagnosis.suspects if s.repair == "dry and clean C2")
    living = Living(diagnosis, rows_to_plan_with(diagnosis)[0])
    asked = list(voltages_there(diagnosis, own.best, living.work_states(), Standing(job.harness.state({})), (),
                                lambda t: True))
    assert asked == []
