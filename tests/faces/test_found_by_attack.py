"""What hostile or unlucky use found once: files written over, half records, escapes, tracebacks, silent loss."""

from __future__ import annotations

import ast
import io
import json
import os
import re
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import tracer.commands
from tests.library import MODELS
from tests.long import rest_long
from tracer.commands import main
from tracer.errors import did_you_mean
from tracer.guide import run_guide
from tracer.job.job import Job
from tracer.present.screen import Progress, say

ROOT = Path(__file__).parents[2]
REAR = (MODELS / "rear_end.yaml").read_text(encoding="utf-8")
SEEN = "left tail dark when lamp switch side"


def run(*args: object) -> int:
    with pytest.raises(SystemExit) as left:
        main([str(a) for a in args])
    code = left.value.code
    assert isinstance(code, int)
    return code


@pytest.fixture
def van(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(REAR, encoding="utf-8")
    return tmp_path / "van.yaml"


@pytest.fixture
def job(van: Path) -> Path:
    Job.create("job.yaml", "van.yaml", "Van", "no tail lamp")
    Job("job.yaml").symptom(SEEN)
    return van.with_name("job.yaml")


def edited(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


# ---- outputs


@pytest.mark.parametrize("words", [
    "wires van.yaml -o van.yaml", "wires van.yaml -o job.yaml", "wires van.yaml -o other.yaml",
    "simulate van.yaml --netlist van.yaml", "simulate van.yaml --netlist job.yaml", "chart van.yaml -o van.yaml",
    "chart van.yaml -o job.yaml", "report job.md -o job.md", "report job.yaml -o van.md", "draw van.svg -o van.svg",
    "draw job.yaml -o van.svg", "wires van.yaml --from van.csv -o van.csv", "chart van.yaml -o hard.yaml",
    "chart van.yaml -o soft.yaml", "wires van.yaml -o folder", "chart van.yaml -o pipe",
    "wires van.yaml -o quoted.yaml",
])
def test_no_output_replaces_an_input_a_harness_or_a_job(
    job: Path, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("wires", "van.yaml", "-o", "van.csv") == 0
    for name in ("van.svg", "van.md", "other.yaml"):
        Path(name).write_text(REAR, encoding="utf-8")
    Path("job.md").write_bytes(job.read_bytes())
    Path("quoted.yaml").write_text('\ufeff"harness": Van\n', encoding="utf-8")
    os.link("van.yaml", "hard.yaml")
    os.symlink("van.yaml", "soft.yaml")
    os.mkfifo("pipe")
    Path("folder").mkdir()
    before = {p: p.read_bytes() for p in Path().iterdir() if p.is_file()}
    capsys.readouterr()
    assert run(*words.split()) == 2
    told = capsys.readouterr()
    assert words.split()[-1] in told.err and "Traceback" not in told.err and told.out == ""
    after = {p: p.read_bytes() for p in Path().iterdir() if p.is_file() and p.suffix != ".lock"}
    assert after == {p: c for p, c in before.items() if p.suffix != ".lock"}


def test_a_harness_may_take_its_own_wires_back(van: Path) -> None:
    assert run("wires", "van.yaml", "-o", "van.csv") == 0
    assert run("wires", "van.yaml", "-o", "van.csv") == 0  # an older list is written over, as asked
    assert run("wires", "van.yaml", "--from", "van.csv", "-o", "van.yaml") == 0
    assert run("check", "van.yaml") == 0


@pytest.mark.parametrize("words", [
    "chart van.yaml -o out.html", "report job.yaml -o out.md", "draw job.yaml -o out.svg",
    "simulate van.yaml --netlist out.cir", "wires van.yaml -o out.csv",
])
def test_a_full_disk_leaves_what_was_there(job: Path, words: str) -> None:
    out = Path(words.split()[-1])
    out.write_text("older", encoding="utf-8")

    def little_room() -> None:  # files of this program may have 1000 bytes: the system says so at the write
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    done = subprocess.run([sys.executable, "-m", "tracer", *words.split()], text=True, capture_output=True,
                          preexec_fn=little_room, env=os.environ | {
                              "PYTHONPATH": str(ROOT), "TRACER_CACHE": "off", "PYTHONDONTWRITEBYTECODE": "1"})
    assert done.returncode == 2 and f"{out} cannot be written: file too large" in done.stderr, done.stderr
    assert out.read_text() == "older" and not list(Path().glob(".out*"))


def test_a_link_prepared_under_the_temporary_name_is_not_followed(van: Path) -> None:
    Path("victim").write_text("precious")
    os.symlink("victim", ".out.csv.tmp")
    assert run("wires", "van.yaml", "-o", "out.csv") == 0
    assert Path("victim").read_text() == "precious" and not Path("out.csv").is_symlink()


@pytest.mark.parametrize("harness", ["pipe", "/dev/zero"])
def test_draw_waits_for_nothing(van: Path, harness: str) -> None:
    if harness == "pipe":
        os.mkfifo("pipe")
    assert run("draw", harness, "-o", "out.svg") == 2


# ---- all or nothing


@pytest.mark.parametrize("proof", [
    "99=ok", "1=nonsense words", "²=ok", "9" * 5000 + "=ok", "0=ok", "1=", "1", "-1=ok",
])
def test_a_refused_proof_result_leaves_the_repair_unrecorded(job: Path, proof: str) -> None:
    before = job.read_bytes()
    assert run("repaired", "job.yaml", "1", "--proof", "1=ok", "--proof", proof) == 2
    assert job.read_bytes() == before


@pytest.mark.parametrize("rank", ["²", "9" * 5000, "0", "7777", "１２３４５６７"])
def test_a_rank_that_is_none(job: Path, rank: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = job.read_bytes()
    code = run("repaired", "job.yaml", rank)
    assert "Traceback" not in capsys.readouterr().err
    assert code == 2 or rank == "²"  # words of one's own
    assert (job.read_bytes() == before) == (code == 2)


@pytest.mark.parametrize("minutes", ["nan", "inf", "-1", "99999"])
def test_minutes_that_are_none(job: Path, minutes: str) -> None:
    before = job.read_bytes()
    assert run("repaired", "job.yaml", "1", "--minutes", minutes) == 2
    assert job.read_bytes() == before


def test_a_repair_and_its_results_are_one_write(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened, writes = Job(job), list[str]()
    replace = os.replace

    def noted(old: Path, new: Path) -> None:
        writes.append(Path(new).name)
        replace(old, new)

    monkeypatch.setattr(os, "replace", noted)
    opened.repaired("1", results={1: "ok", 2: "left tail dark"})
    assert writes.count("job.yaml") == 1
    assert [e.kind for e in Job(job).events()][-4:] == ["repaired", "proof", "proof", "symptom"]


def test_the_guide_takes_five_thousand_digits_for_an_answer(job: Path) -> None:
    said: list[str] = []
    answers = iter(["9" * 5000, "²", "d"])
    assert run_guide(Job(job), lambda prompt: next(answers), said.append) == 0
    assert max(len(line) for line in said if not line.startswith("  tracer")) <= 80


# ---- what is printed

ESCAPES = "\x1b]52;c;aGk=\x07 \x1b[2J \x9b2J \x1b]8;;http://x\x07 \u202e"
DANGEROUS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]")


def test_no_control_character_reaches_the_terminal(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Job.create("bad.yaml", "van.yaml", f"Van {ESCAPES}", f"dark {ESCAPES}")
    bad = Job("bad.yaml")
    bad.symptom(SEEN)
    bad.note(f"note {ESCAPES}")
    bad.repaired(f"words {ESCAPES}")
    assert "\\e]52" in Path("bad.yaml").read_text(encoding="utf-8")  # kept as it was given
    for words in ("suspects", "next", "report", "repaired", f"symptom {ESCAPES}", f"reading {ESCAPES} {ESCAPES}",
                  "undo", "undo"):
        command, *more = words.split(" ", 1)
        for as_json in ([], ["--json"]):
            run(command, "bad.yaml", *more[:1], *([ESCAPES] if command == "reading" else []), *as_json)
            out, err = capsys.readouterr()
            assert not DANGEROUS.search(out) and not DANGEROUS.search(err), (words, out, err)
            if as_json and out:
                json.loads(out)
    for wrong in (["check", f"no {ESCAPES}"], [ESCAPES], ["suspects", "bad.yaml", f"--{ESCAPES}"]):
        run(*wrong)
        out, err = capsys.readouterr()
        assert not DANGEROUS.search(out + err), wrong


def test_the_guide_prints_no_control_character(job: Path, capsys: pytest.CaptureFixture[str],
                                               monkeypatch: pytest.MonkeyPatch) -> None:
    Job.create("bad.yaml", "van.yaml", f"Van {ESCAPES}", f"dark {ESCAPES}")
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"2\n{ESCAPES}\nd\n"))
    run("guide", "bad.yaml", "--lines")
    out, err = capsys.readouterr()
    assert "Van" in out and not DANGEROUS.search(out + err)


def test_a_harness_is_looked_at_after_unescaping(van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edited(van, "harness: Invented rear end", 'harness: "\\e]52;c;aGk=\\a"')
    assert run("check", van) == 1
    assert "U+001B" in capsys.readouterr().out


def test_commands_and_guide_print_in_one_place_only() -> None:
    for path in [p for room in ("commands", "guide", "page") for p in (ROOT / "tracer" / room).rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                assert ast.unparse(node.func) not in ("print", "click.echo", "click.secho", "sys.stdout.write"), path


@pytest.mark.parametrize("encoding", rest_long(["cp1252", "utf-8", "latin-1", "ascii"], 2))
def test_an_output_that_lacks_signs_stops_nothing(job: Path, encoding: str) -> None:
    def command(*args: str) -> str:
        done = subprocess.run([sys.executable, "-m", "tracer", *args], capture_output=True,
                              env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding})
        assert done.returncode == 0 and b"Traceback" not in done.stderr, done.stderr
        return done.stdout.decode(encoding)

    said = command("reading", "job.yaml", "ohms left rear.earth to E1", "0.2 Ω")
    assert ("0.2 Ω" if encoding == "utf-8" else "0.2 ohm") in said
    assert json.loads(command("suspects", "job.yaml", "--json"))["evidence_count"] == 2


def test_a_closed_pipe_is_no_failure(van: Path) -> None:
    for args in (["faults", "van.yaml"], ["schema"]):
        with subprocess.Popen([sys.executable, "-m", "tracer", *args], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              env=os.environ | {"PYTHONPATH": str(ROOT)}) as program:
            assert program.stdout is not None and program.stderr is not None
            program.stdout.close()
            err = program.stderr.read()
            assert program.wait() == 0 and err == b"", err


# ---- jobs changed by hand, and harnesses that lost something


@pytest.mark.parametrize(("old", "new", "told"), [
    ("kind: symptom", "kind: symptm", "did you mean “symptom”"),
    ("everything else normal", "everything else nromal", "did you mean “everything else normal”"),
    ("engine running", "engine runing", "did you mean “engine running”"),
    ("    words:", "    wrods:", "did you mean “words”"),
    ("  seen:", "  saw:", "“seen” is missing here"),
])
def test_what_a_hand_misspelt_is_named(
    job: Path, old: str, new: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    edited(job, old, new)
    line = next(n for n, text in enumerate(job.read_text(encoding="utf-8").splitlines(), 1) if new.strip() in text)
    for command in ("suspects", "next", "undo"):
        assert run(command, "job.yaml") == 2
        err = capsys.readouterr().err
        assert told in err and (f"job.yaml:{line}:" in err or "missing" in told), err
    assert run("report", "job.yaml") == 1  # the record prints all the same
    out, err = capsys.readouterr()
    assert "left tail dark" in out and "no tail lamp" in out


def test_a_kind_of_fault_misspelt_under_a_repair_is_named(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The workshop's memory learns from these: one that nobody knows would be learned as nothing."""
    Job(job).repaired("1")
    edited(job, "filament open:", "filament opne:")
    assert run("suspects", "job.yaml") == 2
    assert "did you mean “filament open”" in capsys.readouterr().err


def test_a_number_of_hundreds_of_digits_is_named(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Job(job).reading("volts at left rear.tail when lamp switch side", "0.3 V")
    edited(job, "low: 0.3", f"low: {'3' * 400}")
    assert run("next", "job.yaml") == 2
    assert "low: a number or inf belongs here" in capsys.readouterr().err


def test_a_job_cut_anywhere_is_refused_or_read_but_never_a_crash(job: Path, tmp_path: Path) -> None:
    opened = Job(job)
    opened.next()
    opened.reading("volts at left rear.tail when lamp switch side", "0.3 V")
    opened.repaired("1", results={1: "ok"})
    content, refused = job.read_bytes(), 0
    cut = tmp_path / "cut.yaml"
    for end in range(len(content) - 1, 0, -7):
        cut.write_bytes(content[:end])
        try:
            found = Job(cut)
            assert found.entries is not None and found.proof_results is not None and found.history.skipped is not None
            assert found.proposed is not None
        except tracer.errors.TracerError:
            refused += 1
    assert 0 < refused < len(content) // 7


@pytest.mark.parametrize(("old", "new"), [
    ("resolution: 0.1", "resolution: -1"), ("low: 0.3", "low: .nan"), ("low: 0.3", "low: [1]"),
    ("test: volts", "test: look"), ("test: volts", "test: vlots"),
])
def test_a_reading_damaged_by_hand_is_told(
    job: Path, old: str, new: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Job(job).reading("volts at left rear.tail when lamp switch side", "0.3 V")
    edited(job, old, new)
    assert run("suspects", "job.yaml") == 2
    assert "job.yaml" in (err := capsys.readouterr().err) or "entry 2" in err
    assert run("report", "job.yaml") == 1 and "0.3 V" in capsys.readouterr().out


def test_a_renamed_lamp_names_the_entry_and_the_record_prints(
    job: Path, van: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    van.write_text(REAR.replace("left rear", "port rear"), encoding="utf-8")
    text = van.read_text(encoding="utf-8")
    van.write_text(re.sub(r"\bleft\b", "port", text), encoding="utf-8")
    assert run("suspects", "job.yaml") == 2
    assert "entry 1 of the job (symptom)" in capsys.readouterr().err
    for output in ([], ["-o", "out.html"], ["-o", "out.md"]):
        assert run("report", "job.yaml", *output) == 1
    assert "left tail dark" in capsys.readouterr().out
    assert SEEN in Path("out.html").read_text(encoding="utf-8")
    assert run("undo", "job.yaml") == 0
    assert Job(job).record.living == ()


def test_the_record_prints_without_its_harness(job: Path, van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    van.unlink()
    assert run("report", "job.yaml") == 1
    assert "left tail dark" in capsys.readouterr().out


def test_a_harness_in_latin_1_under_an_overlay(job: Path, van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("led.yaml").write_text("overlay: nothing much\n", encoding="utf-8")
    assert run("differs", "job.yaml", "led.yaml") == 0
    van.write_bytes(REAR.encode("utf-8") + b"# \xfc\n")
    assert run("suspects", "job.yaml") == 2
    assert "is not UTF-8" in capsys.readouterr().err


# ---- locks, links, names


@pytest.mark.parametrize("kind", ["fifo", "link", "folder"])
def test_a_lock_that_is_something_else_is_left_alone(
    job: Path, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    lock = job.with_name(".job.yaml.lock")
    lock.unlink(missing_ok=True)
    Path("victim").write_text("precious")
    {"fifo": os.mkfifo, "link": lambda p: os.symlink("victim", p), "folder": os.mkdir}[kind](lock)
    before = job.read_bytes()
    assert run("symptom", "job.yaml", SEEN) == 2
    assert ".job.yaml.lock" in capsys.readouterr().err
    assert job.read_bytes() == before and Path("victim").read_text() == "precious"


def test_another_name_of_the_job_file_is_told(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.link("job.yaml", "copy.yaml")
    assert run("undo", "job.yaml") == 0
    assert "another name too (a hard link)" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["=1+1", "+31", "-30", "@SUM(A1)"])
def test_cells_are_no_formulas_and_read_back_the_same(van: Path, name: str) -> None:
    van.write_text(REAR.replace("  - {run: battery.+ >", f'  - {{name: "{name}", run: battery.+ >'), encoding="utf-8")
    for more in ([], ["--semicolons"]):
        assert run("wires", "van.yaml", "-o", "van.csv", *more) == 0
        rows = Path("van.csv").read_text(encoding="utf-8").splitlines()
        starts = [cell.strip('"')[:1] for row in rows[1:] for cell in re.split("[,;]", row)]
        assert not {"=", "+", "@"} & set(starts)
        before = tracer.load_harness("van.yaml")
        assert run("wires", "van.yaml", "--from", "van.csv", "-o", "van.yaml") == 0
        assert tracer.load_harness("van.yaml") == before and name in [w.name for w in before.wires]


def test_a_connector_with_a_semicolon_in_its_name_comes_back(van: Path) -> None:
    van.write_text(re.sub(r"\bC1\b", '"C;1"', REAR).replace('> "C;1"', "> C;1"), encoding="utf-8")
    text = re.sub(r"\{run: ([^,}]*C;1[^,}]*)", r'{run: "\1"', van.read_text(encoding="utf-8"))
    van.write_text(text, encoding="utf-8")
    before = tracer.load_harness("van.yaml")
    assert "C;1" in before.connectors
    assert run("wires", "van.yaml", "-o", "van.csv") == 0
    assert run("wires", "van.yaml", "--from", "van.csv", "-o", "van.yaml") == 0
    assert tracer.load_harness("van.yaml") == before


def test_many_unknown_names_are_answered_at_once() -> None:
    """95 unknown names beside 200 long ones: what is compared letter by letter is bounded, whatever their length."""
    names = [f"left rear lamp unit {n} behind the inner arch panel " * 40 for n in range(200)]
    code = ("import time; from tracer.errors import did_you_mean; import sys; names = eval(sys.stdin.read());"
            "t = time.process_time(); [did_you_mean(n.replace('lamp', 'lmap'), names) for n in names[:95]];"
            "print(time.process_time() - t)")
    done = subprocess.run([sys.executable, "-c", code], input=repr(names), text=True, capture_output=True, check=True,
                          env=os.environ | {"PYTHONPATH": str(ROOT)})
    assert float(done.stdout) < 8
    assert did_you_mean("gaer", ["gear", "ignition"]) == "did you mean “gear”?"


# ---- while it works


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_what_takes_long_counts_the_seconds_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Progress, "AFTER_S", 0.05)
    for stream, shows in ((Terminal(), True), (io.StringIO(), False)):
        monkeypatch.setattr(sys, "stderr", stream)
        monkeypatch.setattr(sys, "stdout", io.StringIO())
        with Progress():
            end = time.monotonic() + (20.0 if shows else 0.3)  # a busy machine begins a thread when it can
            while "working … " not in stream.getvalue() and time.monotonic() < end:
                time.sleep(0.02)
            say("the answer")
            said = stream.getvalue()
            time.sleep(0.2)
        assert bool(re.search(r"working … \d+ s", said)) == shows
        assert stream.getvalue() == said and said.endswith("\r" if shows else "")  # gone with the first thing said


def test_an_interrupt_in_the_first_moments_is_no_crash(van: Path) -> None:
    """While the command line is read in: from the first line of ours on."""
    code = """
import os, signal, sys
from tracer.__main__ import main
class Interrupt:
    def find_spec(self, name, path=None, target=None):
        if name == at:
            os.kill(os.getpid(), signal.SIGINT)
at = sys.argv.pop(1)
sys.meta_path.insert(0, Interrupt())
main()
"""
    for at in ("tracer.commands", "click", "tracer.commands.harness_commands", "tracer.checking.rules"):
        # What was started in the background, as these tests may have been, would ignore it.
        done = subprocess.run([sys.executable, "-c", code, at, "check", "van.yaml"], text=True, capture_output=True,
                              env=os.environ | {"PYTHONPATH": str(ROOT)},
                              preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))
        assert done.returncode == 130 and "Traceback" not in done.stderr, (at, done.stderr)
