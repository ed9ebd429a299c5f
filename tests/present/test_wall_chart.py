"""The wall chart: what is seen with its causes, two sheets at most for an end of a vehicle, read from afar."""

from __future__ import annotations

import re
import shutil
import subprocess
from functools import cache
from pathlib import Path

import pytest

from tests.checking.test_chart import NASTY
from tests.library import MODELS
from tests.long import in_turn
from tracer.checking.chart import Chart, chart
from tracer.harness.file.text import load_harness, read_harness
from tracer.observation.evidence import WORDS
from tracer.present.wall_chart import sights_of, wall_html, wall_sheets

CHROMIUM = "/usr/bin/chromium"
ALL = sorted(p.stem for p in MODELS.glob("*.yaml"))


@cache
def made(name: str) -> Chart:
    return chart(load_harness(MODELS / f"{name}.yaml"))


def test_every_row_of_the_chart_is_in_a_sight() -> None:
    c = made("rear_end")
    sights = sights_of(c)
    assert sum(s.share for s in sights) == pytest.approx(sum(r.share for r in c.rows))
    assert {r for s in sights for r in s.shares} == {r for row in c.rows for r in row.repairs}
    assert len({(s.state, s.seen) for s in sights}) == len(sights)
    assert all(s.seen for s in sights)


def test_a_dead_stop_lamp_is_read_off_the_wall() -> None:
    """A lone lamp that is dark is mostly its bulb, then its holder (base rates: 18 to 1.2 and 2.4)."""
    sight = next(s for s in sights_of(made("rear_end")) if s.seen == "left rear stop dark" and "brake" in s.state)
    assert sight.causes[0].repair.startswith("new lamp: left rear stop")
    assert "clean the holder" in sight.causes[1].repair
    shares = [float(c.share.strip("<> %")) for c in sight.causes]
    assert shares[0] > 60
    assert sum(shares) == pytest.approx(100, abs=2)


@pytest.mark.parametrize("name", in_turn(ALL, 0))
def test_an_end_of_a_vehicle_takes_two_sheets_at_most(name: str) -> None:
    sheets = wall_sheets(made(name))
    ends = [s.end for s in sheets]
    assert ends
    assert all(ends.count(e) <= 2 for e in ends)
    for sheet in sheets:
        assert 1 <= len(sheet.columns) <= 2
        assert all(column and column[0][0] for column in sheet.columns)  # the state heads every column
    shown = [s for sheet in sheets for column in sheet.columns for _, s in column]
    # Dead lamps are few among what is brought to be traced, and all else is many small shares.
    assert sum(s.share for s in shown) > 0.6 * sum(r.share for r in made(name).rows)
    least = {end: min(s.share for sheet in sheets if sheet.end == end for column in sheet.columns for _, s in column)
             for end in ends}
    left = {(s.state, s.seen): s.share for s in sights_of(made(name))}
    for s in shown:
        del left[s.state, s.seen]
    assert all(share <= max(least.values()) for share in left.values())  # each end shows its likeliest


@pytest.mark.parametrize("name", in_turn(ALL, 0))  # the charts that are made already
def test_what_is_shortened_says_of_every_lamp_how_it_looks(name: str) -> None:
    """A row that ends in "and 9 more" would not say whether these are dark or dim; no two of a state read alike."""
    sights = sights_of(made(name))
    assert len({(s.state, s.seen) for s in sights}) == len(sights)
    looks = (*WORDS, "lit", "too bright", "flashing", "slow", "fast", "blows")
    for sight in sights:
        assert all(group.endswith(looks) for group in sight.seen.split("; ")), sight.seen


def test_what_was_typed_is_escaped() -> None:
    page = wall_html(chart(read_harness(NASTY)))
    assert "<script>" not in page
    assert "&lt;script&gt;" in page
    assert "http" not in page.replace("http-equiv", "")
    assert "url(" not in page
    assert not re.search(r"#(?!000\b|fff\b)[0-9a-f]{3,6}\b", page)  # black and white


def _run_on(text: str) -> str:
    """Without what a line's end may add or take."""
    return re.sub(r"[\s\u00ad\u2010-]", "", text)


def _letters_mm(page: str, pdf: Path) -> float:
    """The smallest of the letters of what is seen, mm of type size, as printed."""
    root = float(re.search(r"html \{ font-size: ([0-9.]+)mm", page)[1])  # type: ignore[index]
    return 1.12 * root


@pytest.mark.skipif(not Path(CHROMIUM).exists() or not shutil.which("pdftotext"), reason="needs chromium and poppler")
@pytest.mark.parametrize(("name", "paper"), [("saloon_1970s", "A3"), ("rear_end", "A4")])
def test_the_sheets_print_as_they_were_laid(name: str, paper: str, tmp_path: Path) -> None:
    """As many sheets of paper as were laid out, of that size, across; every row and its causes on its own sheet."""
    c = made(name)
    page, sheets = wall_html(c, "A3" if paper == "A3" else "A4"), wall_sheets(c)
    (tmp_path / "wall.html").write_text(page, encoding="utf-8")
    subprocess.run([CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path}/profile",
                    "--no-pdf-header-footer", f"--print-to-pdf={tmp_path}/wall.pdf", f"file://{tmp_path}/wall.html"],
                   check=True, capture_output=True, timeout=240)
    info = subprocess.run(["pdfinfo", str(tmp_path / "wall.pdf")], capture_output=True, check=True).stdout.decode()
    width, height = map(float, re.search(r"Page size:\s+([0-9.]+) x ([0-9.]+)", info).groups())  # type: ignore[union-attr]
    assert (width, height) == pytest.approx((1190.55, 841.89) if paper == "A3" else (841.89, 595.28), abs=2)
    out = subprocess.run(["pdftotext", str(tmp_path / "wall.pdf"), "-"], capture_output=True, check=True)
    papers = [" ".join(x.split()) for x in out.stdout.decode().split("\f") if x.strip()]
    assert len(papers) == len(sheets)
    for text, sheet in zip(papers, sheets, strict=True):
        for column in sheet.columns:
            for heading, sight in column:
                assert _run_on(sight.seen) in _run_on(text)  # a line may end at a hyphen
                assert heading in text
    assert _letters_mm(page, tmp_path) * 0.7 >= (5.0 if paper == "A3" else 3.5)  # capitals: seven tenths of the type
