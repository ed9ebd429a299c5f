"""An exercise by the page's forms alone: begun, asked, and ended."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.page.driving import ORIGIN, client_of, heading, vehicle
from tracer.practice import seal
from tracer.practice.exercise import Exercise
from tracer.practice.hidden_faults import draw
from tracer.practice.learner import FOLDER_VARIABLE


def test_an_exercise_from_beginning_to_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "learners"))
    vehicle(tmp_path, "rear_end")
    client = client_of(tmp_path)
    assert "Hide a fault" in client.get("/exercises").text
    begun = client.post("/exercises", headers=ORIGIN, data={
        "vehicle_file": "rear_end.yaml", "level": "1", "learner": "Ann"})
    assert begun.status_code == 303
    address = begun.headers["Location"]
    page = client.get(address).text
    assert heading(page) == "What is wrong with it?"
    path = tmp_path / f"{address.removeprefix('/exercise/')}.yaml"
    told = seal.read(path)
    hidden = draw(Exercise(path).job.harness, told.level, told.seed).faults[0]
    assert hidden.says not in page

    def said(what: str, words: str = "") -> str:
        answer = client.post(address, headers=ORIGIN, data={"what": what, "words": words})
        assert answer.status_code == 200
        return answer.text

    assert "does not say which kind of test" in said("ask", "nonsense")
    assert "every other lamp: dark" in said("look", "brake pedal pressed")
    assert "Noted." in said("mind", "hot lamps")
    assert said("hint")
    assert "choose what to do" in said("anything")
    end = said("repair", hidden.repair)
    assert heading(end) == "How it went"
    assert "every lamp does what it should" in end
    assert "1 of 1 found" in end
    assert "1 of 1 found" in client.get(address).text  # looked at twice, counted once
    assert "this exercise is over" in said("ask", "look anything")


def test_a_wiring_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    vehicle(tmp_path, "rear_end")
    answer = client_of(tmp_path).post("/exercises", headers=ORIGIN, data={"vehicle_file": "../x.yaml"})
    assert answer.status_code == 422
    assert "choose a wiring file" in answer.text
    assert not list(tmp_path.glob("practice-*"))
