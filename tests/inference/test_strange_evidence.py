"""Evidence that cannot be, through the commands: a clear message each, nothing lost, and no long wait."""

from __future__ import annotations

import itertools
import re
import time
from pathlib import Path
from typing import Any

import pytest

from tests.inference.test_trade_examples import CLUSTER
from tracer.commands import main
from tracer.job.job import Job


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Any:
    """Run a command on a fresh job: (status, output, errors), each on one line."""
    harness, job = tmp_path / "rear.yaml", tmp_path / "job.yaml"
    harness.write_text(CLUSTER, encoding="utf-8")

    def run(command: str, *args: object) -> tuple[int, str, str]:
        capsys.readouterr()
        with pytest.raises(SystemExit) as done:
            main([command, str(job), *(str(a) for a in args)])
        shown = capsys.readouterr()
        status = done.value.code
        return status if isinstance(status, int) else 0, " ".join(shown.out.split()), " ".join(shown.err.split())

    assert run("open", "--harness", harness)[0] == 0
    return run


def test_evidence_that_nothing_explains(call: Any) -> None:
    for said in (
        "both rear stop lamps bright, both tail lamps bright, every front indicator bright and steady when "
        "brake released",
        "left repeater bright and fast, right repeater dark, both side lamps bright when indicators left",
    ):
        assert call("symptom", said)[0] == 0
    status, out, _ = call("suspects")
    assert status == 1
    assert "Nothing that the harness file describes explains this" in out
    assert "Least bad below" in out


def test_evidence_that_contradicts_itself(call: Any) -> None:
    assert call("symptom", "left rear stop dark when brake pressed")[0] == 0
    status, out, _ = call("symptom", "left rear stop normal when brake pressed")
    assert status == 0
    assert "contradicts what was recorded earlier for the same lamp in the same state; both are kept" in out
    status, out, _ = call("suspects")
    assert "what was recorded contradicts itself (entries are kept; undo the wrong one)" in out


def test_normal_said_of_a_lamp_that_should_be_dark(call: Any) -> None:
    status, out, _ = call("symptom", "left rear stop normal, right rear stop lit when brake released")
    assert status == 0
    assert "left rear stop dark; right rear stop lit" in out
    assert "dark, as it should be here: left rear stop (else say “lit”)" in " ".join(out.split())
    assert "as it should be" not in call("symptom", "left rear stop normal when brake pressed")[1]


@pytest.mark.parametrize(
    ("command", "words", "expected"),
    [
        ("symptom", ("hind stop lamp dark when brake pressed",), "hind"),
        ("symptom", ("left rear fog dark when brake pressed",), "fog"),
        ("symptom", ("fuse F12 blows when brake pressed",), "no fuse"),
        ("symptom", ("left rear stop dark when gearbox reverse",), "gearbox"),
        ("symptom", ("left rear stop dark when brake sideways",), "sideways"),
        ("reading", ("volts left rear.fog when brake pressed", "12 V"), "fog"),
        ("reading", ("volts S99 when brake pressed", "12 V"), "S99"),
    ],
)
def test_evidence_about_what_is_not_there(call: Any, command: str, words: tuple[str, ...], expected: str) -> None:
    status, out, err = call(command, *words)
    assert status == 2
    assert out == ""
    assert expected in err
    assert "hint: " in err
    assert "nothing recorded yet" in call("suspects")[1]


@pytest.mark.parametrize(
    "state", ["indicators left, indicators right", "side lights on, side lights off", "brake pressed and released"]
)
def test_a_state_that_cannot_be(call: Any, state: str) -> None:
    status, _, err = call("symptom", f"left rear stop dark when {state}")
    assert status == 2
    assert "indicators" in err or "side lights" in err or "brake" in err
    assert "nothing recorded yet" in call("suspects")[1]


def test_five_hundred_symptoms(call: Any, tmp_path: Path) -> None:
    """All that a patient person might write down, the truth being an open earth of the left rear unit."""
    job = Job(tmp_path / "job.yaml")
    said = [
        "left rear stop dim when brake pressed", "left rear tail dim when brake pressed",
        "right rear stop normal when brake pressed", "left repeater faint when brake pressed",
        "left rear tail normal when side lights on", "right rear tail normal when side lights on",
        "left side lamp normal when side lights on", "right front indicator flashing when indicators right",
        "left front indicator flashing when indicators left", "right repeater dark when brake pressed",
    ]
    for text in said:
        job.symptom(text)
    head, *events = re.split(r"(?m)^- number: \d+\n", job.path.read_text(encoding="utf-8"))
    many = itertools.islice(itertools.cycle(events), 499)
    job.path.write_text(head + "".join(f"- number: {n}\n{e}" for n, e in enumerate(many, 1)), encoding="utf-8")
    begun = time.process_time()
    status, out, _ = call("symptom", "left rear indicator dim when brake pressed")
    assert (status, "500" in out) == (0, True)
    status, out, _ = call("suspects")
    assert status == 0
    # Said fifty times is not seen fifty times: the shares are those of the eleven things that were said.
    assert "clean and remake earth point E2" in out.split(" 2. ")[0]
    assert time.process_time() - begun < 15.0
