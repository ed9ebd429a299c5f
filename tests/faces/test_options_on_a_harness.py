"""Commands on a harness: each option does what its help says, by itself and beside others, and what is told is what
was found."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from tests.faces.test_what_commands_print import ran as ran
from tests.noting import noting
from tests.small_vehicle import TEXT, tool
from tracer.checking.simulation import LampLit, Simulation, simulate
from tracer.commands import watching
from tracer.commands.watching import news, watch
from tracer.harness.base_rates import FAULT_SOURCES, RATES

ON = {"ignition": "on", "lights": "on"}


@pytest.fixture
def van(tmp_path: Path) -> Path:
    path = tmp_path / "van.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


# --- simulate


def told(ran: Any, van: Path, monkeypatch: pytest.MonkeyPatch, *options: str, **found: Any) -> list[str]:
    """What is said of a case that was found so."""
    case = replace(simulate(tool().harness, ON), **found)
    monkeypatch.setattr("tracer.job.harnesses.simulate", lambda *_: case)
    status, said, _ = ran("simulate", van, *options)
    assert status == 0
    lines: list[str] = said.splitlines()
    return lines


@pytest.mark.parametrize(("lamp", "line"), [
    (LampLit("tail", "normal", "normal", 12.0, 0.4), "tail  normal"),
    (LampLit("tail", "dim", "normal", 6.0, 0.3), "tail  dim (should be normal)"),
    (LampLit("tail", "dark", "normal", 0.0, 0.0), "tail  dark (should be normal)"),
    (LampLit("tail", "faint", "dark", 3.0, 0.1), "tail  faint (should be dark)"),
    (LampLit("tail", "dark", "dark", 0.4, 0.0), "tail  dark"), (LampLit("tail", "dark", "dark", 0.0, 0.0), None),
])
def test_a_lamp_is_told_where_it_does_anything_or_should(
    lamp: LampLit, line: str | None, ran: Any, van: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what it should do where it does not."""
    lines = told(ran, van, monkeypatch, lamps=(lamp,))
    if line is None:
        assert "every lamp dark" in lines and not any(x.startswith("tail") for x in lines)
    else:
        shown = next(x for x in lines if x.startswith("tail"))
        assert "every lamp dark" not in lines
        assert shown.startswith(line + "  ") and f"{lamp.volts:.2f} V" in shown and f"{lamp.amps:.2f} A" in shown


@pytest.mark.parametrize(("rate", "says"), [
    (None, ""), (0, "the flasher unit stays closed: steady light"), (90, "the flasher unit gives 90 flashes per min"),
])
def test_a_flasher_is_told_of_where_it_works_or_is_stuck(
    rate: int | None, says: str, ran: Any, van: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = "\n".join(told(ran, van, monkeypatch, flashes_per_minute=rate))
    assert says in said and ("flasher unit" in said) == bool(says) and ("60 to 120" in said) == bool(rate)


@pytest.mark.parametrize(("pulled_in", "buzzing", "buzzes", "says"), [
    ((), (), False, []), (("K1", "K2"), (), False, ["K1 pulls in", "K2 pulls in"]),
    (("K1", "K2"), ("K1",), True, ["K1 buzzes", "K2 pulls in"]),
    (("K1",), (), True, ["a relay buzzes", "K1 pulls in"]),
])
def test_a_relay_pulls_in_or_buzzes(
    pulled_in: tuple[str, ...], buzzing: tuple[str, ...], buzzes: bool, says: list[str], ran: Any, van: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lines = told(ran, van, monkeypatch, relays_pulled_in=pulled_in, relays_buzzing=buzzing, buzzes=buzzes)
    assert [x for x in lines if "buzzes" in x or "pulls in" in x] == says


def test_fuses_coils_and_terminals_are_told_each_on_a_line(
    ran: Any, van: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    more = {"fuses_blow": {"F1": "at once"}, "coils_amps": {"arm": 1.234}}
    lines = told(ran, van, monkeypatch, "--volts", "tail.feed", "--volts", "F1.out", **more)
    case: Simulation = simulate(tool().harness, ON)
    assert lines[-4:] == ["fuse F1 blows at once", "arm carries 1.23 A", *(
        f"{t}: {case.volts[t]:.2f} V" for t in ("tail.feed", "F1.out"))]


@pytest.mark.parametrize("engine", [True, False])
def test_a_case_is_simulated_as_its_options_say(engine: bool, ran: Any, van: Path) -> None:
    """Settings, the engine and faults; the netlist is written beside what is told."""
    cir = van.with_name("n.cir")
    options = ["--set", "ignition=on", "--set", "lights=on", "--fault", "filament open: tail", "--netlist", cir]
    status, said, _ = ran("simulate", van, *options, *["--engine"] * engine, "--json")
    data = json.loads(said)
    assert status == 0 and data["state"] == ON and data["engine_running"] == engine and cir.exists()
    assert data["faults"] == ["filament open: tail"]
    assert {x["lamp"]: (x["look"], x["healthy"]) for x in data["lamps"]} == {
        "tail": ("dark", "normal"), "plate": ("normal", "normal")}
    cir.unlink()
    assert ran("simulate", van, *options, "--volts", "no such thing")[0] == 2 and not cir.exists()


# --- chart and wires


@pytest.mark.parametrize(("name", "begins"), [
    ("c.html", "<!doctype html>"), ("c.HTM", "<!doctype html>"), ("c.md", "#"), ("c.txt", "#"),
])
def test_a_chart_is_for_the_wall_by_its_ending(name: str, begins: str, ran: Any, van: Path) -> None:
    out = van.with_name(name)
    assert ran("chart", van, "-o", out)[:2] == (0, f"written: {out}\n")
    assert out.read_text(encoding="utf-8").lower().startswith(begins)


def test_a_chart_for_a_small_sheet_is_another_one(ran: Any, van: Path) -> None:
    texts = []
    for paper in ((), ("--paper", "A3"), ("--paper", "A4")):
        assert ran("chart", van, "-o", van.with_name("c.html"), *paper)[0] == 0
        texts.append(van.with_name("c.html").read_text(encoding="utf-8"))
    assert texts[0] == texts[1] != texts[2]
    assert ran("chart", van, "-o", van.with_name("c.html"), "--paper", "A5")[0] == 2


@pytest.mark.parametrize(("options", "says"), [
    (("--add",), "--add goes with --from"), (("--from", "LIST"), "--from needs -o"),
    (("--from", "LIST", "-o", "OUT", "--semicolons"), "--semicolons is for writing"),
    (("--from", "LIST", "-o", "OTHER"), "exists already; nothing was changed"),
    (("--from", "LIST", "-o", "OUT"), None), ((), None),
    (("--from", "LIST", "--add", "-o", "OUT"), "two wires are named"),
])
def test_a_wire_list_is_written_or_laid_in(
    options: tuple[str, ...], says: str | None, ran: Any, van: Path
) -> None:
    """Two options that do not go together are told so, and nothing is written."""
    names = {"LIST": "list.csv", "OUT": "out.yaml", "OTHER": "other.yaml"}
    paths = {word: van.with_name(name) for word, name in names.items()}
    assert ran("wires", van, "-o", paths["LIST"])[1] == f"written: {paths['LIST']}, 7 wires\n"
    paths["OTHER"].write_text(TEXT, encoding="utf-8")
    status, said, err = ran("wires", van, *(paths.get(x, x) for x in options))
    done = says is None
    assert (status == 0) == done and (done or says in err) and (done or not said)
    assert paths["OUT"].exists() == (done and "OUT" in options)
    assert paths["OTHER"].read_text(encoding="utf-8") == TEXT
    if not options:
        assert said.strip() == paths["LIST"].read_text(encoding="utf-8").strip()
    if paths["OUT"].exists():
        assert said.splitlines() == [f"written: {paths['OUT']}, 7 wires", f"next:  tracer check {paths['OUT']}"]
        assert ran("wires", paths["OUT"])[1] == ran("wires", van)[1]


def test_a_column_that_nobody_reads_is_named(ran: Any, van: Path) -> None:
    listed, out = van.with_name("list.csv"), van.with_name("out.yaml")
    listed.write_text("from,to,mood\nbattery.+,F1.in,glum\n", encoding="utf-8")
    assert "mood" in ran("wires", van, "--from", listed, "-o", out)[2]
    listed.write_text("from,to\nbattery.+,F1.in\n", encoding="utf-8")
    assert not ran("wires", van, "--from", listed, "-o", van.with_name("out2.yaml"))[2]


# --- check


@pytest.mark.parametrize(("options", "status", "says"), [
    (("--watch", "--json"), 2, "--watch says in words"), (("--watch", "--sneak"), 2, "--watch says in words"),
    (("--watch",), 1, ""), (("--overlay", "none.yaml"), 2, "none.yaml"), ((), 0, ""), (("--sneak",), 0, ""),
])
def test_check_reports_or_watches(
    options: tuple[str, ...], status: int, says: str, ran: Any, van: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that is not there is no error in the harness."""
    watched: list[str] = []
    monkeypatch.setattr(watching, "watch", lambda harness, overlays: noting(watched, harness, 1))
    found, said, err = ran("check", van, *options)
    assert found == status and says in said + err and bool(watched) == (options == ("--watch",))
    if options == ("--sneak",):
        plain, data = ran("check", van)[1], json.loads(ran("check", van, "--json")[1])
        assert said.startswith(plain.rstrip("\n") + "\n\n") and "sneak" not in data


def test_a_count_of_each_severity_is_told_in_one_or_in_many() -> None:
    one, two = {("error", "a"): "a [error]"}, {("error", "a"): "a [error]", ("error", "b"): "b", ("note", "c"): "c"}
    assert news({}, one) == ["new:  a [error]", "1 error"] and news(one, {})[0] == "gone: a [error]"
    assert news(one, two) == ["new:  b", "new:  c", "2 errors, 1 note"]
    assert news(two, {}) == ["gone: a [error]", "gone: b", "gone: c", "no errors, nothing doubtful"]
    assert news(one, one) == ["1 error"]


@pytest.mark.parametrize("most", [1, 2, 5])
def test_a_file_that_nobody_saves_is_checked_once(
    most: int, van: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And looked at as often as it was waited; a file that is saved is given time to settle first."""
    checked, waited = list[str](), list[float]()
    monkeypatch.setattr(watching, "found_in", lambda harness, overlays: noting(checked, harness, {}))
    assert watch(str(van), (), waited.append, most) == 0
    assert len(checked) == 1 and waited == [watching.EVERY_S] * most

    def edit(seconds: float) -> None:
        waited.append(seconds)
        if len(waited) == 1:
            van.write_text(TEXT + "\n", encoding="utf-8")

    checked.clear()
    waited.clear()
    assert watch(str(van), (), edit, 3) == 0 and len(checked) == 2
    assert waited == [watching.EVERY_S, watching._SETTLED_S, watching.EVERY_S, watching.EVERY_S]


# --- faults


def test_a_kind_of_fault_that_nobody_knows_is_answered_by_one_like_it(ran: Any, van: Path) -> None:
    status, said, err = ran("faults", van, "--kind", "fuse blwn")
    assert status == 2 and not said and "did you mean “fuse blown”" in err
    status, said, _ = ran("faults", van, "--kind", "fuse blown")
    rows = [line for line in said.splitlines() if "fuse blown: " in line]
    assert status == 0 and len(rows) == 1 and "\n1 faults; base rates: " in said


def test_where_rates_are_from_is_told_of_those_that_are_shown(ran: Any, van: Path) -> None:
    """Each by its letter, and no letter of a source that none of them has."""
    text = van.read_text(encoding="utf-8")
    van.write_text(f"{text}base rates: {{wire open: 3}}\n", encoding="utf-8")
    assert len({*FAULT_SOURCES.values()}) == len(FAULT_SOURCES)
    assert {r.source for r in RATES.values()} < {*FAULT_SOURCES}
    for kind in (None, "fuse blown", "earth open", "wire open"):
        options = ("--kind", kind) if kind else ()
        status, said, _ = ran("faults", van, *options)
        every = json.loads(ran("faults", van, *options, "--json")[1])
        sources = re.split("; (?=[a-z]: )", said.splitlines()[-1].partition("base rates: ")[2])
        assert status == 0 and {x.partition(": ")[2] for x in sources} == {f["source"] for f in every}
        letters = {f["fault"]: next(x[0] for x in sources if x.endswith(f["source"])) for f in every}
        for name, letter in letters.items():
            row = next(line for line in said.splitlines() if f"  {name}  " in line)
            assert row.split("%")[1].split()[0] == letter
