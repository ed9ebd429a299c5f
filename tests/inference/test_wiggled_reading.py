"""A reading that moves while something is wiggled: from what the fault shows to what a sound vehicle shows."""

from __future__ import annotations

import numpy as np
import pytest

from tracer.inference.reading_likelihood import WIGGLED_ELSE, wiggled_loglik
from tracer.observation.words.readings import parse_value


@pytest.mark.parametrize(("shown", "loose"), [
    ("0 to 12 V", True), ("0.5 to 11.5 V", True),  # from the broken wire's nothing to the supply and back
    ("5.9 to 6.1 V", False),  # about the middle, and hardly at all: something else was moved
    ("0 to 25 V", False),  # further than either shows
])
def test_a_loose_contact_takes_the_voltage_all_the_way(shown: str, loose: bool) -> None:
    stays, comes_and_goes = wiggled_loglik(np.zeros(1), 12.0, parse_value(shown, "volts"), "volts", 12.0)
    assert np.exp(stays[0]) == pytest.approx(WIGGLED_ELSE)
    assert np.exp(comes_and_goes[0]) == pytest.approx(1 - WIGGLED_ELSE if loose else WIGGLED_ELSE)
