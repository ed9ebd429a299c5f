"""The command line: every command with and without --json, exit status, wrong use."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tracer.commands import COMMANDS, main
from tracer.job.job import Job
from tracer.planning.constraints import Limits
from tracer.planning.next_step import Proposal

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
SMALL = MODEL.with_name("rear_end.yaml")


class Ran:
    """What one command did."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err

    @property
    def data(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    def call(*args: object) -> Ran:
        capsys.readouterr()
        with pytest.raises(SystemExit) as done:
            main([str(a) for a in args])
        shown = capsys.readouterr()
        code = done.value.code
        return Ran(code if isinstance(code, int) else 0, shown.out, shown.err)

    return call


@pytest.fixture
def job(run: Any, tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    assert run("open", path, "--harness", MODEL, "--complaint", "weak light").status == 0
    assert run("symptom", path, "left rear reversing lamp dim, left rear tail faint when gear reverse").status == 0
    return path


def test_the_harness_may_stand_after_the_job(run: Any, tmp_path: Path) -> None:
    """With or without the option it is the same vehicle; two files are one too many, and nothing is begun."""
    job, other = tmp_path / "job.yaml", tmp_path / "other.yaml"
    assert run("open", job, MODEL).status == 0
    assert run("open", other, "--harness", MODEL).status == 0
    assert Job(job).harness.title == Job(other).harness.title
    refused = run("open", tmp_path / "third.yaml", MODEL, "--harness", SMALL)
    assert refused.status == 2 and "two harness files" in refused.err
    assert not (tmp_path / "third.yaml").exists()


@pytest.mark.skipif(os.name == "nt", reason="quoted for this shell")
@pytest.mark.parametrize("complaint", ["left rear stop dark", 'the "stop" lamp\'s dead, $5 spent'])
def test_a_complaint_is_offered_to_be_weighed(run: Any, tmp_path: Path, complaint: str) -> None:
    """What is offered, typed into a shell, is the complaint as one argument."""
    job = tmp_path / "job.yaml"
    opened = run("open", job, "--harness", SMALL, "--complaint", complaint).out
    offered = shlex.split(next(line for line in opened.splitlines() if line.startswith("next: ")))
    assert offered[1:5] == ["tracer", "symptom", str(job), complaint]
    assert "The complaint is weighed once" in run("suspects", job).out
    assert run("symptom", job, "left rear stop dark").status == 0
    assert "The complaint is weighed once" not in run("suspects", job).out


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_help_with_an_example_and_json(run: Any, name: str) -> None:
    shown = run(name, "--help")

    assert shown.status == 0
    assert f"tracer {name}" in shown.out
    assert "--json" in shown.out


def test_check(run: Any) -> None:
    text, data = run("check", SMALL), run("check", SMALL, "--json")

    assert text.status == data.status == 0
    assert "left rear stop" in text.out
    assert data.data["findings"] == []
    assert run("check", SMALL, "--sneak").status == 0
    assert "sneak" in run("check", SMALL, "--sneak", "--json").data


def test_check_of_a_broken_harness_is_bad_news(run: Any, tmp_path: Path) -> None:
    """Exit status 1, every problem with its line, in text and JSON."""
    broken = tmp_path / "h.yaml"
    broken.write_text(
        MODEL.read_text(encoding="utf-8").replace("kind: battery", "kind: batery").replace("C2.3", "C2.9"),
        encoding="utf-8",
    )
    text, data = run("check", broken), run("check", broken, "--json")

    assert text.status == data.status == 1
    assert "did you mean “battery”" in text.out
    assert "C2 has 5 ways" in text.out
    assert all(f["line"] for f in data.data["findings"])
    assert run("faults", broken).status == 2


def test_new_check_and_schema(run: Any, tmp_path: Path) -> None:
    """Every starter checks clean, at 6 V too, where the currents are twice as large."""
    kinds = (("rear", "12 V"), ("trailer", "12 V"), ("vehicle-end", "24 V"), ("rear", "6 V"), ("trailer", "6 V"))
    for what, system in kinds:
        path = tmp_path / f"{what} {system}.yaml"
        assert run("new", path, "--what", what, "--system", system).status == 0
        assert run("check", path, "--json").data["findings"] == []
        assert run("new", path).status == 2  # refuses to overwrite
    assert run("new", tmp_path / "j.yaml", "--json").data == {"written": str(tmp_path / "j.yaml")}
    assert run("schema").data == run("schema", "--json").data


def test_chart(run: Any, tmp_path: Path) -> None:
    assert "left rear" in run("chart", SMALL).out
    assert run("chart", SMALL, "--json").data
    assert run("chart", SMALL, "-o", tmp_path / "c.html").status == 0
    assert "<script" not in (tmp_path / "c.html").read_text(encoding="utf-8")


def test_simulate_says_what_the_worked_circuit_says(run: Any, tmp_path: Path) -> None:
    """Worked circuit, "earth open, reverse": the reversing lamp keeps about 8.8 V, the tail about 3.3 V; this
    harness differs a little in wires and lamps."""
    args = ("simulate", MODEL, "--set", "gear=reverse", "--fault", "earth open: E4")
    text, data = run(*args, "--netlist", tmp_path / "n.cir"), run(*args, "--json").data
    volts = {x["lamp"]: x["volts"] for x in data["lamps"]}

    assert "earth point E4 is open" in text.out
    assert abs(volts["left rear reversing"] - 8.76) < 0.4
    assert abs(volts["left rear tail"] - 3.28) < 0.3
    assert ".op" in (tmp_path / "n.cir").read_text(encoding="utf-8")


def test_faults(run: Any) -> None:
    text, data = run("faults", MODEL), run("faults", MODEL, "--json").data

    assert "common practice, no source" in text.out
    assert abs(sum(f["share"] for f in data) - 1) < 1e-9
    assert len({f["fault"] for f in data}) == len(data)


def test_suspects_next_reading_undo(run: Any, job: Path) -> None:
    suspects = run("suspects", job, "--json").data
    assert suspects["suspects"][0]["repair"] == "clean and remake earth point E4"
    assert "BACK through the left rear tail filament (back-feed)" in suspects["suspects"][0]["path"]
    assert "explains" in run("suspects", job).out
    assert run("suspects", job, "--why", 1).status == 0

    step = run("next", job, "--json").data
    assert step["kind"] == "test"
    assert next(c["text"] for c in step["cautions"] if c["grade"] == "note").startswith("Local rules")
    assert step["test"]["key"] in run("next", job, "--explain").out
    without = run("next", job, "--without", "voltmeter", "--without", "ohmmeter", "--alone", "--engine-off", "--json")
    assert without.data.get("test", {"test": "look"})["test"] in ("look", "test lamp")

    said = run("reading", job, step["test"]["key"], "3.3 V", "--json").data
    assert said["leading"][0]["share"] > suspects["suspects"][0]["share"]
    assert run("undo", job).status == 0
    assert run("undo", job, "--json").data["kind"] == "symptom"


def test_the_options_of_next_are_the_limits_of_the_step(run: Any, tmp_path: Path, monkeypatch: Any) -> None:
    """Each by itself and all together; what they take away is held in tests/planning/test_constraints.py."""
    job, asked = tmp_path / "job.yaml", list[Limits | None]()
    run("open", job, "--harness", SMALL)
    run("symptom", job, "left rear tail dark when lamp switch side")
    plain = Job.next

    def noted(self: Job, limits: Limits | None = None, record: bool = True) -> Proposal:
        asked.append(limits)
        return plain(self, limits, record)

    monkeypatch.setattr(Job, "next", noted)
    options = {
        ("--at", "rear"): Limits(at="rear"), ("--without", "ohmmeter"): Limits(without=frozenset({"ohmmeter"})),
        ("--with", "voltmeter"): Limits(only=frozenset({"voltmeter"})), ("--alone",): Limits(alone=True),
        ("--engine-off",): Limits(engine_off=True), (): Limits(),
    }
    for typed in options:
        assert run("next", job, *typed).status == 0
    assert run("next", job, *(word for typed in options for word in typed)).status == 0
    assert asked == [*options.values(), Limits("rear", frozenset({"ohmmeter"}), frozenset({"voltmeter"}), True, True)]
    assert run("next", job, "--without", "voltmetre").status == run("next", job, "--at", "the moon").status == 2
    assert len(asked) == len(options) + 1


def test_a_negative_reading_is_a_value(run: Any, tmp_path: Path) -> None:
    """On a positive-earth vehicle the meter, black on body, shows a minus."""
    harness, path = tmp_path / "h.yaml", tmp_path / "job.yaml"
    assert run("new", harness, "--earth", "positive").status == 0
    assert run("open", path, "--harness", harness).status == 0
    assert run("symptom", path, "left rear tail dark when lamp switch side").status == 0
    said = run("reading", path, "volts C1.1 when lamp switch side", "-12.3 V")

    assert said.status == 0
    assert "no leading suspect predicts this" not in said.out


def test_a_reading_without_its_minus_is_taken_with_it(run: Any, tmp_path: Path) -> None:
    """On a positive-earth vehicle: whoever reads 12.3 V off a meter means its size (common practice, no source)."""
    harness = tmp_path / "h.yaml"
    assert run("new", harness, "--earth", "positive").status == 0
    shares = []
    for value in ("-12.3 V", "12.3 V"):
        path = tmp_path / f"job{value}.yaml"
        assert run("open", path, "--harness", harness).status == 0
        assert run("symptom", path, "left rear tail dark when lamp switch side").status == 0
        said = run("reading", path, "volts C1.1 when lamp switch side", value)
        assert ("taken as below the body" in said.out) == (value == "12.3 V")
        shares.append([s["share"] for s in run("suspects", path, "--json").data["suspects"]])
    assert shares[0] == shares[1]

    said = run("reading", path, "volts C1.1 when lamp switch side", "+12.3 V")
    assert "no leading suspect predicts this" in said.out
    assert "taken as below the body" not in said.out


def test_proof_results_are_recorded_all_or_none(run: Any, job: Path) -> None:
    assert run("repaired", job, "9999").status == 2
    assert run("repaired", job, "1", "--minutes", "-5").status == 2
    assert run("repaired", job, "1").status == 0
    before = job.read_bytes()

    assert run("repaired", job, "--proof", "1=ok", "--proof", "9=ok").status == 2
    assert job.read_bytes() == before
    assert run("repaired", job, "1").status == 2  # the ranks have moved


def test_a_closed_job_says_so(run: Any, job: Path) -> None:
    run("repaired", job, 1)
    checks = run("repaired", job, "--json").data["checks"]
    run("repaired", job, *[f"--proof={c['number']}=ok" for c in checks])

    assert "closed: repaired and proven" in run("next", job).out
    assert "closed: repaired and proven" in run("suspects", job).out


def test_draw_report_repaired(run: Any, job: Path, tmp_path: Path) -> None:
    for kind, magic in (("svg", b"<"), ("png", b"\x89PNG"), ("pdf", b"%PDF")):
        out = tmp_path / f"c.{kind}"
        assert run("draw", job, "-o", out).status == 0
        assert out.read_bytes().startswith(magic)
    rear = MODEL.with_name("rear_end.yaml")
    assert run("draw", rear, "-o", tmp_path / "h.svg", "--set", "brake pedal=pressed", "--json").data["written"]
    assert run("draw", rear, "-o", tmp_path / "s.svg", "--state", "brake pedal pressed").status == 0
    assert (tmp_path / "s.svg").read_text(encoding="utf-8") == (tmp_path / "h.svg").read_text(encoding="utf-8")
    assert "not by both" in run("draw", MODEL, "-o", "x.svg", "--state", "gear reverse", "--set", "gear=reverse").err
    assert run("draw", job, "-o", tmp_path / "c.gif").status == 2

    assert run("repaired", job).status == 2  # nothing said
    assert "Check the repair" in run("repaired", job, 1, "--part", "ring terminal", "--minutes", 12).out
    checks = run("repaired", job, "--json").data["checks"]
    bad = run("repaired", job, "--proof", "1=left rear reversing dim")
    assert bad.status == 1
    assert "failed" in bad.out
    done = run("repaired", job, *[f"--proof={c['number']}=ok" for c in checks], "--json")
    assert done.status == 0
    assert done.data["closed"]

    assert run("report", job, "-o", tmp_path / "r.html").status == 0
    assert run("report", job, "-o", tmp_path / "r.md").status == 0
    assert "E4" in run("report", job).out
    customer = ("report", job, "--for", "customer")
    shown, written = run(*customer), run(*customer, "-o", tmp_path / "k.md")
    assert shown.status == written.status == 0
    assert (tmp_path / "k.md").read_text(encoding="utf-8").strip() == shown.out.strip()
    assert run("report", job, "--json").data
    assert run("guide", job, "--json").data["closed"]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["suspcts"], "did you mean “suspects”"),
        (["check", "no-such-file.yaml"], "no-such-file.yaml"),
        (["suspects", "no-such-job.yaml"], "no-such-job.yaml"),
        (["simulate", str(MODEL), "--set", "gear"], "CONTROL=POSITION"),
        (["simulate", str(MODEL), "--set", "gear=sideways"], "positions: neutral, forward, reverse"),
        (["simulate", str(MODEL), "--set", "geer=reverse"], "did you mean “gear”"),
        (["simulate", str(MODEL), "--fault", "earth opn: E4"], "did you mean"),
        (["simulate", str(MODEL), "--volts", "left rear.stp"], "it has stop, tail, indicator"),
        (["faults", str(MODEL), "--kind", "earth opn"], "earth open"),
        (["draw", str(MODEL), "-o", "x.svg", "--suspect", "1"], "needs a job"),
    ],
)
def test_error_wrong_use_is_status_2_with_a_hint(run: Any, args: list[str], said: str) -> None:
    shown = run(*args)

    assert shown.status == 2
    assert said in shown.err
    assert shown.out == ""
    assert "Traceback" not in shown.err


def test_help_is_quick_and_imports_no_numpy() -> None:
    """Start-up must not wait for numerical libraries."""
    code = "import sys; from tracer.commands import cli; cli.main(['--help'], standalone_mode=False); " \
        "sys.exit('numpy' in sys.modules or 'networkx' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stdout


def test_the_colour_codes_offered_are_those_known() -> None:
    """The command names them itself, so that its help needs no table of the package; none may be missing there."""
    from tracer.commands.new_command import new_command
    from tracer.standards import COLOUR_CODES

    (option,) = (p for p in new_command.params if p.name == "colours")
    assert list(getattr(option.type, "choices", ())) == list(COLOUR_CODES)
