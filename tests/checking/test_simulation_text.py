"""What `tracer simulate` prints of a case, and as data: each number rounded once, from what came out."""

from __future__ import annotations

import json

import pytest
from msgspec.structs import replace

from tests.made_up_arm import ARM, CAR
from tracer.checking.simulation import LampLit, simulate
from tracer.commands import main
from tracer.harness.file.text import read_harness
from tracer.harness.part_kinds import KINDS
from tracer.job import harnesses


def test_a_number_is_rounded_once(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """12.3546 V are 12.35 V, and 12.355 V as data: rounded again, those would be 12.36 V."""
    monkeypatch.setitem(KINDS, "arm", ARM)
    car = read_harness(CAR, "arms")
    lamp = LampLit("left arm", "normal", "normal", 12.3546, 0.24547)
    case = replace(simulate(car), lamps=(lamp,), coils_amps={"left arm coil": 3.1246, "right arm coil": 0.004},
                   volts={"left arm.feed": 12.3546, "F1.out": 2e-4})
    monkeypatch.setattr(harnesses, "load_harness", lambda path: car)
    monkeypatch.setattr(harnesses, "simulate", lambda *of: case)

    def said(*more: str) -> str:
        with pytest.raises(SystemExit):
            main(["simulate", "arms.yaml", "--volts", "left arm.feed", *more])
        return capsys.readouterr().out

    lines = said().splitlines()
    assert "left arm  normal  12.35 V  0.25 A" in lines
    assert lines[-2:] == ["left arm coil carries 3.12 A", "left arm.feed: 12.35 V"], "nothing of what carries nothing"
    data = json.loads(said("--json"))
    assert (data["lamps"][0]["volts"], data["lamps"][0]["amps"]) == (12.355, 0.2455)
    assert data["coils_amps"] == {"left arm coil": 3.125, "right arm coil": 0.004}
    assert data["terminals_volts"] == {"left arm.feed": 12.355}
