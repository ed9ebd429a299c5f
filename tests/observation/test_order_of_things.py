"""Which of two things goes first, and what is said twice or both ways: small laws of what is understood."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tracer.circuit.model import NO_CHANGE, Change
from tracer.harness.devices import FuseLink, SwitchContact
from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.heat_places import _rank
from tracer.observation.words.speech_circumstances import Circumstances, _note

REAR = tool_on(MODELS / "rear_end.yaml")

BOTH = ("running", "stopped")


def test_of_what_may_get_hot_switches_go_first_and_then_fuses_the_largest_first() -> None:
    parts = sorted(load_harness(MODELS / "estate_1990s.yaml").parts.values(), key=_rank)
    kinds = ["switch" if any(isinstance(d, SwitchContact) for d in p.devices) and not p.coils else
             "fuse" if any(isinstance(d, FuseLink) for d in p.devices) else "else" for p in parts]
    assert kinds == sorted(kinds, key=["switch", "fuse", "else"].index) and len(set(kinds)) == 3
    amps = [d.rating_a for p in parts for d in p.devices if isinstance(d, FuseLink)]
    assert amps == sorted(amps, reverse=True) and len(set(amps)) > 1


@pytest.mark.parametrize("said", [*product(BOTH, repeat=2), *((x,) for x in BOTH)], ids=" ".join)
def test_an_engine_runs_or_stands_as_was_said_last_and_both_is_a_contradiction(said: tuple[str, ...]) -> None:
    found = Circumstances()
    for kind in said:
        _note(kind, f"engine {kind}", found, healthy_states(REAR.harness))
    assert found.running == (said[-1] == "running")
    assert found.failed == ([f"engine {said[-1]}"] if len({*said}) == 2 else [])


def test_a_flasher_for_more_lamps_has_less_of_its_load() -> None:
    """Its rate goes by the share of the lamps that it is made for."""
    own = REAR.predictor
    setup = own.setup(REAR.harness.state({"indicator stalk": "left"}))
    panel = own.panel(setup, own.table([NO_CHANGE, Change(flasher_load=2.0), Change(flasher_load=0.5)]))
    assert np.isfinite(panel.load).all() and panel.load[0] == pytest.approx(1.0, abs=0.7)
    assert panel.load[1:] == pytest.approx([panel.load[0] / 2, panel.load[0] * 2], rel=0.05)
