"""A volt drop is judged against the current that flows."""

from __future__ import annotations

import numpy as np

from tests.library import MODELS
from tracer import load_harness
from tracer.inference.reading_likelihood import value_loglik
from tracer.observation.evidence import Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value

HARNESS = load_harness(MODELS / "pickup.yaml")


def test_a_sound_contact_in_a_heavy_current_is_not_condemned() -> None:
    """By hand: a short lets 13 A through a sound switch of 28 mΩ, 0.36 V. Expected of a sound one of 10 mΩ are 13 A
    × 10 mΩ = 0.13 V, with 2 A only 0.02 V; of one with 0.15 Ω of its own 2 A × 0.15 Ω = 0.30 V. The reading hardly
    tells the first from the last (under a factor of e² = 7), and speaks against the second."""
    test = parse_test("volt drop brake switch.15 to brake switch.54 when brake pressed", HARNESS)
    reading = Reading(test, parse_value("0.36 V", test.kind, ""))
    own = np.arange(3)
    heavy, light, bad = value_loglik(np.array([0.13, 0.02, 0.30]), reading.value, reading, 12.6, True, own, own)
    assert bad - heavy < 2.0
    assert bad - light > 4.0
