"""A fuse that sits in its clips without touching them (worked by hand; common practice, no source)."""

from __future__ import annotations

from tests.library import MODELS, evidence_from
from tests.shared import investigator_for
from tracer.harness.devices import FuseLink
from tracer.harness.file.text import load_harness
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Reading, Test
from tracer.observation.words.readings import parse_value

HARNESS = load_harness(MODELS / "saloon_led.yaml")
LINK = next(d for d in HARNESS.parts["F1"].devices if isinstance(d, FuseLink))
IN_HAND = Test("ohms", HARNESS.at_rest(), LINK.a, LINK.b, done=(Intervention("pull fuse", "F1"),))
OWN = investigator_for(HARNESS)


def test_a_sound_fuse_with_volts_on_one_side_alone_makes_no_contact_in_its_clips() -> None:
    """12.7 V before the fuse and none behind it, also with the door shut, when nothing is on behind it: through a
    joint of some kΩ a meter of 10 MΩ would still see nearly all of them there, so that it is open. The fuse itself,
    in the hand, has 0.3 Ω with the leads."""
    said = evidence_from(
        HARNESS, "interior lamp dark when door open", ("volts at F1.out when door open", "0.01 V"),
        ("volts at F1.in when door open", "12.7 V"), ("volts at F1.out when door closed", "0.00 V"),
        ("ohms F1.out to S3", "0.3 ohm"),
    )
    found = OWN.diagnose([*said, Reading(IN_HAND, parse_value("0.3 ohm", "ohms", in_hand=True))])
    assert found.suspects[0].repair == "clean the clips of F1"
    assert found.suspects[0].best.faults[0].kind == "clip open"
    assert next((s.share for s in found.suspects if s.repair == "new fuse F1"), 0.0) < 0.1


def test_a_blown_fuse_in_the_hand_clears_its_clips() -> None:
    said = evidence_from(HARNESS, "interior lamp dark when door open", ("volts at F1.out when door open", "0.01 V"),
                         ("volts at F1.in when door open", "12.7 V"))
    found = OWN.diagnose([*said, Reading(IN_HAND, parse_value("open", "ohms", in_hand=True))])
    assert next((s.share for s in found.suspects if s.repair == "clean the clips of F1"), 0.0) < 0.02
