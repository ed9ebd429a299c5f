"""Lines that meet at a bad earth point, where neither the point nor a line alone shows what both do together.

Both cases are vehicles of `bench_no_diagram.py` on which the tool once went wrong; what is told here is what ngspice
answered for them.
"""

from __future__ import annotations

from functools import cache

from msgspec.structs import replace

from tests.library import MODELS, evidence_from
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis


@cache
def untraced(model: str) -> Investigator:
    """A model of which nobody followed a wire but the battery's."""
    harness = load_harness(MODELS / f"{model}.yaml")
    poles = {*harness.poles()}
    return Investigator(replace(
        harness, wires=tuple(replace(w, traced=bool(poles & {*w.run})) for w in harness.wires),
        parts={n: replace(p, traced=False) for n, p in harness.parts.items()}))


def found(model: str, *told: str | tuple[str, str]) -> Diagnosis:
    own = untraced(model)
    return own.diagnose(evidence_from(own.harness, *told))


CAR = ("left rear stop faint, right rear stop faint, right rear tail dim when ignition on, lamp switch head",
       "left rear stop faint, right rear stop faint, right rear tail faint when ignition on, lamp switch head, "
       "dip switch main")
SIDE = "when lamp switch side"
TURN = "when lamp switch side, indicator stalk right"
REAR = (
    f"number-plate lamp dark {SIDE}", f"right rear tail normal {SIDE}",
    (f"volts at number-plate lamp.earth {SIDE}", "-0.01 V"), (f"volts at number-plate lamp.feed {SIDE}", "0 V"),
    f"left rear stop dark, left rear tail normal, right rear stop dark, right rear indicator flashing {TURN}",
    (f"volts at F2.out {TURN}", "0.05 V"), (f"volts at F2.in {TURN}", "0.05 V"),
    (f"volt drop lamp switch.30 to lamp switch.58R {TURN}", "-0.02 V"),
    ("ohms lamp switch.58R to F3.in", "open"), ("ohms lamp switch.58R to F1.in", "5.3 ohm"),
)


def test_a_line_feeds_all_that_hangs_on_the_point_it_leads_to() -> None:
    """The right headlamp returns through E9, which is off the body: its current goes on through the rear lamps. That
    E9 is bad says nothing of what was seen, nor where the headlamp is earthed; they were "not described" at 95 %."""
    d = found("car_1950s", *CAR)
    assert d.listed[3].repair == "clean and remake earth point E9" and d.listed[3].share > 0.1
    own = next(s for s in d.listed if s.repair == "clean and remake earth point E9")
    assert {f.says for f in own.best.deviations} == {"right headlamp.earth leads to E9, not to E3"}
    assert d.undescribed < 0.05


def test_two_units_that_hang_on_the_battery_s_own_point_work_while_the_body_floats() -> None:
    """Both rear units are earthed at E4, where the battery is, and E4 is off the body: all that is measured against
    the body reads nothing. With one of the two lines alone the other unit is fed back through the number-plate lamp,
    so that each seems not to help; the lamp switch, which is sound, stood at 99.8 %."""
    d = found("rear_end", *REAR)
    assert d.suspects[0].repair == "clean and remake earth point E4" and d.suspects[0].share > 0.8
    assert {f.rewired.line for f in d.suspects[0].best.deviations if f.rewired} == {"w20", "w21"}
