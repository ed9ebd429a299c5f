"""`tracer new` at the terminal and without one: questions, answers, models alike, vague wire lists, check --watch."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.faces.test_commands import run as run
from tests.library import MODELS
from tracer.commands.watching import watch
from tracer.harness.file.text import load_harness

LIST = ("from,through,to\nfusebox,boot joint,left tail\nfusebox,boot joint,right tail\nbattery,,fusebox\n"
        "left tail,,rear earth\n")


def test_questions_are_printed_and_their_answers_make_a_vehicle(run: Any, tmp_path: Path) -> None:
    asked = run("new", "--questions", "--json").data
    assert len(asked) >= 30 and all(q["default"] for q in asked)
    sheet = run("new", "--questions").out
    assert all(f"#{q['id']}: " in sheet for q in asked)
    answers = tmp_path / "answers.yaml"
    answers.write_text("title: Invented van\nvehicle: van\nplate lamps: two\n", encoding="utf-8")
    made = tmp_path / "van.yaml"
    shown = run("new", made, "--answers", answers)
    assert shown.status == 0 and "written" in shown.out
    assert run("check", made, "--json").data["findings"] == []
    assert load_harness(made).title == "Invented van"
    assert run("new", made, "--answers", answers).status == 2  # refuses to overwrite


@pytest.mark.parametrize(("args", "message"), [
    ((), "the name of the new file is missing"),
    (("x.yaml", "--answers", "none.yaml"), "none.yaml: no such file"),
    (("x.yaml", "--like", "saloon_1970"), "did you mean “saloon_1970s”"),
    (("x.yaml", "--like", "saloon_1970s", "--what", "rear"), "begin in one way: --like or --what"),
    (("x.yaml", "--other-side"), "--other-side goes with --like"),
    (("x.yaml", "--end", "a=lamp"), "--end goes with --wires"),
])
def test_wrong_use_of_new(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...],
                          message: str) -> None:
    monkeypatch.chdir(tmp_path)
    shown = run("new", *args)
    assert shown.status == 2 and message in shown.err
    assert list(tmp_path.iterdir()) == []


def test_a_file_of_one_s_own_may_be_taken_alike(run: Any, tmp_path: Path) -> None:
    mine = tmp_path / "mine.yaml"
    shown = run("new", mine, "--like", MODELS / "car_1950s.yaml", "--colours", "IEC 60757", "--other-side")
    assert shown.status == 0
    harness = load_harness(mine)
    assert harness.colour_code == "IEC 60757" and not any(w.traced for w in harness.wires)
    assert run("check", mine, "--json").data["findings"] == []


def test_vague_ends_are_guessed_by_their_words_and_shown(run: Any, tmp_path: Path) -> None:
    listed, made = tmp_path / "list.csv", tmp_path / "made.yaml"
    listed.write_text(LIST, encoding="utf-8")
    shown = run("new", made, "--wires", listed)
    assert shown.status == 0
    assert "left tail (line 2): lamp (guessed" in shown.err and "boot joint (line 2): connector (guessed" in shown.err
    text = made.read_text(encoding="utf-8")
    assert "left tail: {kind: lamp, lamp: to fill in}" in text and "fusebox: {kind: fuse, rating: to fill in}" in text
    assert "run: fusebox.out > boot joint.1 > left tail.feed" in text and "boot joint: {ways: 2}" in text
    assert "splices" not in text and "rear earth:" in text


def test_ends_that_no_word_tells_are_asked_for(run: Any, tmp_path: Path) -> None:
    listed, made = tmp_path / "list.csv", tmp_path / "made.yaml"
    listed.write_text(LIST + "thing,,right tail\n", encoding="utf-8")
    shown = run("new", made, "--wires", listed)
    assert shown.status == 2 and "nothing says what “thing” (line 6) is" in shown.err and not made.exists()
    shown = run("new", made, "--wires", listed, "--json")
    assert shown.status == 1 and shown.data["written"] is None and not made.exists()
    assert {e["name"]: e["kind"] for e in shown.data["ends"]} == {
        "fusebox": "fuse", "boot joint": "connector", "left tail": "lamp", "right tail": "lamp", "battery": "battery",
        "rear earth": "earth", "thing": None}
    for wrong, message in (("thing=horn", "no kind of end “horn”"), ("thin=lamp", "did you mean “thing”?"),
                           ("thing", "write NAME=KIND")):
        shown = run("new", made, "--wires", listed, "--end", wrong)
        assert shown.status == 2 and message in shown.err and not made.exists()
    shown = run("new", made, "--wires", listed, "--end", "thing=switch", "--end", "boot joint=bullets", "--json")
    assert shown.status == 0 and shown.data["written"] == str(made)
    text = made.read_text(encoding="utf-8")
    assert "run: thing.out > right tail.feed" in text and "boot joint: bullets" in text


def test_designations_of_splices_and_earths_are_not_asked_about(run: Any, tmp_path: Path) -> None:
    listed, made = tmp_path / "list.csv", tmp_path / "made.yaml"
    listed.write_text("from,to\nF1.out,S1\nS1,tail.feed\ntail.earth,E1\n", encoding="utf-8")
    shown = run("new", made, "--wires", listed, "--json")
    assert shown.data == {"written": str(made)}


# --- on a terminal --------------------------------------------------------------------------------


def _on_terminal(folder: Path, *args: str, typed: str) -> tuple[int, str]:
    """A command on a terminal of its own: what it shows to what is typed."""
    leader, follower = pty.openpty()
    process = subprocess.Popen([sys.executable, "-m", "tracer", *args], cwd=folder, stdin=follower, stdout=follower,
                               stderr=follower, env={**os.environ, "COLUMNS": "80"})
    os.close(follower)
    shown = b""
    lines = typed.splitlines(keepends=True)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            data = os.read(leader, 65536)
        except OSError:
            break
        if not data:
            break
        shown += data
        if shown.rstrip(b"\r\n").endswith(b"] > ") and lines:
            os.write(leader, lines.pop(0).encode())
    os.close(leader)
    return process.wait(30), shown.decode().replace("\r\n", "\n")


def test_the_terminal_asks_and_writes(tmp_path: Path) -> None:
    status, shown = _on_terminal(tmp_path, "new", "mine.yaml", typed="Invented estate\n" + "\n" * 60)
    assert status == 0, shown
    assert "What kind of vehicle is it?" in shown and "written: mine.yaml" in shown
    asked = int(shown.split(" questions, ")[0].split()[-1])
    assert 20 <= asked <= 40
    assert load_harness(tmp_path / "mine.yaml").title == "Invented estate"


def test_stopped_at_the_terminal_nothing_is_written(tmp_path: Path) -> None:
    status, shown = _on_terminal(tmp_path, "new", "mine.yaml", typed="x\nd\n")
    assert status == 2 and "stopped; nothing was written" in shown and list(tmp_path.iterdir()) == []


def test_the_terminal_asks_what_vague_ends_are(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("from,to\nthing,left tail\nleft tail,rear earth\n", encoding="utf-8")
    status, shown = _on_terminal(tmp_path, "new", "mine.yaml", "--wires", "list.csv", typed="boat\nswitch\n\n\n")
    assert status == 0, shown
    assert "? a number or one of lamp, load" in shown and "left tail (line 2, by its words) [lamp] > " in shown
    assert "thing: {kind: switch" in (tmp_path / "mine.yaml").read_text(encoding="utf-8")


# --- check --watch --------------------------------------------------------------------------------


def test_watch_says_after_each_save_what_is_new(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "h.yaml"
    sound = ("harness: Invented\nsystem: 12 V negative earth\ncontrols: {lights: [off, on]}\nparts:\n"
             "  battery: {kind: battery}\n  s: {kind: switch, control: lights, contacts: {on: [30-58]}}\n"
             "  tail: {kind: lamp, lamp: R5W, earth at: E2}\nearths: [E1, E2]\n"
             "wires: [battery.- > E1, battery.+ > s.30, s.58 > tail.feed]\n")
    file.write_text(sound, encoding="utf-8")
    edits = [sound.replace("R5W", "R55W"), "", sound.replace(", s.58 > tail.feed", ""), sound]
    looks = 0

    def wait(_: float) -> None:
        nonlocal looks
        looks += 1
        if looks % 2 and edits:
            file.write_text(edits.pop(0), encoding="utf-8")
            os.utime(file, ns=(looks * 10**9, looks * 10**9))

    assert watch(str(file), (), wait, most=12) == 0
    shown = [line for line in capsys.readouterr().out.splitlines() if not line[:2].isdigit()]
    assert "watching" in shown[0] and "Ctrl-C" in shown[0]
    assert shown[1] == "no errors, nothing doubtful"
    assert any(line.startswith("new:  ") and "“R55W”" in line for line in shown)
    assert any(line.startswith("gone: ") and "“R55W”" in line for line in shown)
    assert any(line.startswith("new:  ") and "no wire ends at tail.feed" in line for line in shown)
    assert shown[-1] == "no errors, nothing doubtful"


def test_watch_stops_on_ctrl_c_and_refuses_what_it_cannot(run: Any, tmp_path: Path) -> None:
    def stop(_: float) -> None:
        raise KeyboardInterrupt

    broken = tmp_path / "h.yaml"
    broken.write_text("harness: x\n", encoding="utf-8")
    assert watch(str(broken), (), stop) == 1
    assert run("check", broken, "--watch", "--json").status == 2
    assert "no such file" in run("check", tmp_path / "none.yaml", "--watch").err
