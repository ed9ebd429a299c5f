"""What people type, read for the faces before it is recorded: states, tests, values, and a state in words again."""

from __future__ import annotations

from tracer.observation.test_kinds import INSTRUMENTS, LOOKS, TestKind
from tracer.observation.words.probes import parse_test
from tracer.observation.words.reading_data import test_as_data, test_from_data, test_key
from tracer.observation.words.readings import parse_value
from tracer.observation.words.states import parse_state, state_words
from tracer.observation.words.symptoms import example_sentence

__all__ = [
    "INSTRUMENTS", "LOOKS", "TestKind", "example_sentence", "parse_state", "parse_test", "parse_value", "state_words",
    "test_as_data", "test_from_data", "test_key",
]
