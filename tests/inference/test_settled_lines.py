"""Which lines of a file that nobody has followed are settled by what was measured, and how."""

from __future__ import annotations

from tests.job.test_wiring_learned import TEXT
from tests.shared import investigator_for
from tracer.harness.file.text import read_harness
from tracer.inference.settled_lines import SETTLED, settled_lines
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom

SAID = "left tail dark, plate lamp dark, right tail normal when lights side"


def test_only_a_wire_or_part_of_the_file_is_as_the_file_has_it() -> None:
    """The plate lamp is earthed at E2, which is open (by hand in tests/job/test_wiring_learned.py); an earth that
    nobody added is no line of the file, and nothing is said of it."""
    harness = read_harness(TEXT)
    own, evidence = investigator_for(harness), list[Evidence]([parse_symptom(SAID, harness)])
    for node, shown in (("plate lamp.earth", "12.4 V"), ("E2", "12.4 V"), ("E3", "0 V")):
        test = parse_test(f"volts at {node} when lights side", harness)
        evidence.append(Reading(test, parse_value(shown, "volts")))
    best = own.diagnose(evidence).suspects[0].best
    found = settled_lines(own, evidence, best)
    as_filed = {line.line for line in found if line.deviation is None}
    assert "earth" in as_filed <= {w.name for w in harness.wires} | {*harness.parts}
    assert {line.line: line.says for line in found}["plate"] == "plate lamp.earth leads to E2, not to E3"
    assert all(SETTLED <= line.chance <= 1 for line in found) and len(as_filed) < len(found)
    assert settled_lines(own, [], best) == ()
