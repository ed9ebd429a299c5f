"""A lamp is looked at again where suspects live only by what was said of it being wrong (common practice, no source:
see the fault with your own eyes before you follow it further)."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.library import reading_on, tool_on
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.planning.candidates import Candidates
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.engine import information_gain

MODEL = Path(__file__).parents[2] / "harness_models" / "saloon_1970s.yaml"
LAMP = "right reversing lamp"
HOLDER = f"clean the holder of {LAMP}"


@pytest.fixture(scope="module")
def own() -> Investigator:
    return tool_on(MODEL)


def reading(own: Investigator, test: str, shown: str) -> Reading:
    return reading_on(own.harness, test, shown)


def complaint(own: Investigator) -> list[Evidence]:
    state = own.harness.state({"ignition": "on", "gear": "reverse"})
    return [Symptom(state, (LampSeen(LAMP, frozenset({"dark"})),))]


def measured_sound(own: Investigator) -> list[Evidence]:
    """Sent to look, somebody said "dark": in an answer the word may be wrong, what is told unasked is hardly ever
    made up. Then all that can be measured round a lamp with a bad holder contact, on a battery at 12 V: the whole
    voltage at its feed, none at its earth, a whole filament. Left is the holder, or a lamp that was never dark."""
    when = "when ignition on, gear reverse"
    f = own.harness.lamp(LAMP)
    in_hand = Test("ohms", own.harness.state({}), f.a, f.b, done=(Intervention("take out lamp", f.bulb),))
    return [
        *(replace(c, asked=True) for c in complaint(own) if isinstance(c, Symptom)),
        reading(own, f"volts {LAMP}.feed {when}", "11.64 V"),
        reading(own, f"volts {LAMP}.earth {when}", "0.02 V"),
        Reading(in_hand, parse_value("0.8 ohm", "ohms")),
        reading(own, f"look left reversing lamp {when}", "normal"),
    ]


def looked_at(own: Investigator, found: Diagnosis) -> set[Test]:
    rows, _ = rows_to_plan_with(found)
    return {c.test for c in Candidates(found, rows).all() if c.test.kind == "look" and not c.test.done}


def test_not_twice_where_every_suspect_has_it_as_it_was_said(own: Investigator) -> None:
    found = own.diagnose(complaint(own))
    again = parse_test(f"look {LAMP} when ignition on, gear reverse", own.harness)
    assert again.lamp == LAMP
    dark = [s for s in found.suspects if s.share > 0.001]
    assert dark and again not in looked_at(own, found)


def test_again_where_a_suspect_lives_by_a_wrong_complaint(own: Investigator) -> None:
    found = own.diagnose(measured_sound(own))
    again = parse_test(f"look {LAMP} when ignition on, gear reverse", own.harness)
    assert again in looked_at(own, found)

    before = {s.repair: s.share for s in found.suspects}
    dark, normal = (
        {s.repair: s.share for s in own.diagnose([*measured_sound(own), Reading(again, parse_value(w, "look", LAMP))]
                                                 ).suspects}
        for w in ("dark", "normal")
    )
    assert dark[HOLDER] > before[HOLDER] > normal[HOLDER]
    # A sound lamp called dark twice: two slips, each made anew.
    elsewhere = next(r for r in before if r.startswith("new lamp: left rear stop"))
    assert dark.get(elsewhere, 0.0) < 0.1 * before[elsewhere]


def test_no_other_look_tells_more_then(own: Investigator) -> None:
    """Looking at every other lamp in turn, to clear those that a wrong complaint leaves open, takes twenty looks; the
    lamp itself answers in one."""
    found = own.diagnose(measured_sound(own))
    rows, shares = rows_to_plan_with(found)
    _, label = cures(found, rows)
    looks = [c for c in Candidates(found, rows).all() if c.test.kind == "look" and not c.test.done]
    told = {(c.test.lamp, c.also): information_gain(shares, label, c.likelihood) for c in looks}
    assert told[LAMP, ()] > 2 * max(bits for (lamp, also), bits in told.items() if LAMP not in (lamp, *also))
