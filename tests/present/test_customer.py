"""The customer's page: sentences that a driver understands, one sheet of A4, prices added up by hand."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, Change
from tracer.errors import TracerError
from tracer.faults import Fault, list_faults
from tracer.harness.base_rates import RATES
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.inference.hypotheses import basic_states
from tracer.job.job import Job
from tracer.observation.forward_model import Predictor
from tracer.practice.simulated_vehicle import looks_of
from tracer.present.html import templates
from tracer.present.report.customer import Bill, bill, customer_data, customer_html, customer_markdown, money
from tracer.present.report.driver_words import BACK_FEED, MOST_WORDS, TOLD, Told, lamp_words, told_of

CHROMIUM = "/usr/bin/chromium"
# The largest last: it takes longest.
USED = ("rear_end", "saloon_1970s", "glass_fibre", "pickup", "tow_13pin", "estate_1990s")
# Codes of parts, ways and terminals: E4, C2.5, S2, 58R, 49a, 30-54. A number of bulbs or checks is none.
CODE = re.compile(r"\b[A-Z]{1,3}[0-9]+\b|\b[0-9]+[a-zA-Z]\b|\b[0-9]+[-–][0-9]+\b|[a-z]\.[a-z]"
                  r"|\b(?:15|30|31|49|53|54|56|57|58|85|86|87)\b")

Looks = Mapping[VehicleState, dict[str, str]]  # of every lamp, by state


def looks_in(predictor: Predictor, change: Change) -> Looks:
    states = basic_states(predictor.harness)
    return dict(zip(states, looks_of(predictor, change, states), strict=True))


def affected(fault: Fault, predictor: Predictor, sound: Looks) -> list[str]:
    """Lamps that look otherwise under a fault, at its worst severity."""
    sick = looks_in(predictor, fault.variants[-1].change)
    found = [lamp for state, good in sound.items() for lamp in good if good[lamp] != sick[state][lamp]]
    return list(dict.fromkeys(found))


@cache
def forty() -> tuple[tuple[str, Told], ...]:
    """One fault of each kind that the models have, and what is said of it."""
    found: dict[str, Told] = {}
    for name in USED:
        harness = load_harness(MODELS / f"{name}.yaml")
        predictor = Predictor(harness)
        sound = looks_in(predictor, NO_CHANGE)
        for fault in list_faults(harness):
            if fault.kind not in found:
                found[fault.kind] = told_of(fault, harness, affected(fault, predictor, sound))
    return tuple(found.items())


def too_long(text: str) -> list[str]:
    return [s for s in re.split(r"(?<=\.)\s+", text) if len(s.split()) > MOST_WORDS]


def test_every_kind_of_fault_has_its_sentences() -> None:
    assert set(TOLD) == set(RATES)


def test_forty_faults_are_told_in_short_sentences_without_codes() -> None:
    told = forty()
    assert len(told) >= 40
    for kind, (wrong, done) in told:
        for text in (wrong, done):
            assert text.endswith("."), (kind, text)
            assert too_long(text) == [], (kind, text)
            assert CODE.search(text) is None, (kind, text)
            assert "{" not in text
            assert text[0].isupper()


def test_no_row_grows_beyond_twenty_words_with_the_longest_names() -> None:
    longest = "the left front headlamp side light lamp"
    for kind, row in TOLD.items():
        for text in row:
            filled = text.format(lamp=longest, lamps=longest, part="combined lighting switch")
            assert too_long(filled) == [], (kind, filled)
    assert too_long(BACK_FEED) == []


@pytest.mark.parametrize(("names", "said"), [
    (["left rear stop"], "the left rear stop lamp"), (["number-plate lamp"], "the number-plate lamp"),
    (["left rear stop", "left rear tail", "left rear indicator"], "the left rear lamps"),
    (["left rear stop", "right rear stop", "high stop"], "the stop lamps"),
    (["left rear stop", "right rear stop"], "both rear stop lamps"),
    (["left rear stop", "left rear tail"], "the left rear stop and tail lamps"),
    (["left rear tail", "right rear indicator"], "several rear lamps"),
    (["panel lamp 1", "panel lamp 2", "panel lamp 3"], "the panel lamps"),
    (["left rear stop", "right rear tail", "left rear indicator"], "several rear lamps"),
    (["left rear stop", "right front side", "panel lamp 1"], "several lamps"), ([], ""),
])
def test_lamps_are_spoken_of_as_people_do(names: Sequence[str], said: str) -> None:
    assert lamp_words(names) == said


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """An earth point gone on the pick-up; the current of one lamp goes back through others. Invented."""
    folder = tmp_path_factory.mktemp("customer")
    shutil.copy(MODELS / "pickup.yaml", folder)
    made = Job.create(folder / "job.yaml", folder / "pickup.yaml", "Invented pick-up, 1978", "A lamp is weak.")
    made.symptom("left rear reversing lamp dim, left rear tail faint when gear reverse")
    proof = made.repaired("clean and remake earth point E4", ["ring terminal", "grease"], 12)
    made.prove_all({c.number: "ok" for c in proof.checks})
    return made


def test_a_job_is_told_as_a_driver_would_have_it(job: Job) -> None:
    data = customer_data(job, Bill())
    assert data["wrong"][0].startswith("The earth of the left rear reversing and tail lamps had rusted")
    assert BACK_FEED in data["wrong"]
    assert data["done"] == ["The earth connection was cleaned and remade."]
    assert data["closed"]
    assert data["open"][0] == "Nothing is open, and the lamps leave nothing against driving it."
    assert data["price"] == []
    for text in (*data["wrong"], *data["done"], *data["proof"], *data["open"]):
        assert too_long(text) == []
        assert CODE.search(text) is None
    assert "E4" not in customer_markdown(job, Bill())


def test_prices_are_added_up(job: Job) -> None:
    """12 minutes at 60 an hour are 12; with 2.50 for the terminal 14.50. No test was made: nothing for the search."""
    asked = bill("60 €", ["ring terminal=2,50 €"], "incl. 19 % of tax, invented")
    data = customer_data(job, asked, "Workshop Example\n\nInvented Street 1\n")
    assert data["price"] == [
        ("Work, 12 min at 60.00 € an hour", "12.00 €"), ("Parts", "2.50 €"), ("Together", "14.50 €")]
    assert data["parts"] == [{"part": "ring terminal", "price": "2.50 €"}, {"part": "grease", "price": ""}]
    assert data["tax"] == "incl. 19 % of tax, invented"
    assert data["head"] == ["Workshop Example", "Invented Street 1"]


@pytest.mark.parametrize(("rate", "prices", "message"), [
    ("-60", [], "the rate “-60” is less than nothing"), ("0", [], "a rate of nothing makes no price"),
    ("", [], "is no amount"), ("nan", [], "is no amount"), ("sixty", [], "is no amount"),
    ("1e9999", [], "is no amount"),
    (None, ["grease=-1"], "the price of grease “-1” is less than nothing"), (None, ["grease"], "write PART=AMOUNT"),
    (None, ["=3"], "write PART=AMOUNT"), ("60 €", ["grease=2 £"], "cannot be added up"),
    (None, ["grease=1", "grease=2"], "given twice"),
])
def test_amounts_that_cannot_be_are_told(rate: str | None, prices: list[str], message: str) -> None:
    with pytest.raises(TracerError, match=re.escape(message)):
        bill(rate, prices, "")


def test_a_price_for_a_part_that_was_not_fitted_is_told(job: Job) -> None:
    with pytest.raises(TracerError, match="no part “lamp” was fitted in this job"):
        customer_data(job, bill(None, ["lamp=3"], ""))
    with pytest.raises(TracerError, match="the workshop’s head has 9 lines; 8 fit"):
        customer_data(job, Bill(), "line\n" * 9)


@pytest.mark.parametrize(("text", "says"), [
    ("60", "60.00"), ("£ 2.50", "2.50 £"), ("2,5 EUR", "2.50 EUR"), (" 0 ", "0.00"),
])
def test_amounts_are_read_as_people_write_them(text: str, says: str) -> None:
    assert money(text, "it").says() == says


def test_a_job_that_is_not_over_says_so(tmp_path: Path) -> None:
    shutil.copy(MODELS / "rear_end.yaml", tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "rear_end.yaml")
    job.symptom("left rear stop dark when brake pedal pressed")
    data = customer_data(job, Bill())
    assert data["wrong"] == ["The cause has not been repaired yet."]
    assert "Do not drive it on the road before stop, direction and side lamps are seen to work." in data["open"]
    assert "Not proven to work yet: the left rear stop lamp." in data["open"]
    job.repaired("took out a mouse’s nest <b>by hand</b>")
    data = customer_data(job, Bill())
    assert data["done"] == ["In the workshop’s words: took out a mouse’s nest <b>by hand</b>."]
    page = customer_html(job, Bill(), "<script>alert(1)</script>")
    assert "<b>" not in page
    assert "<script>" not in page


def _fullest(told: Told) -> dict[str, Any]:
    """A page with as much on it as may stand there."""
    long = "The customer says that the lamps at the back do strange things whenever it rains. "
    return {
        "head": [f"Invented workshop, line {n} of its head, as long as a line may be, with much: {'x' * 20}"[:90]
                 for n in range(8)],
        "vehicle": "Invented saloon of the 1970s with a long name, " + "and more of it " * 5,
        "date": "2026-03-04",
        "complaint": (long * 6)[:400],
        "wrong": [told.wrong, BACK_FEED, TOLD["added joint"].wrong.format(lamp="x")],
        "done": [told.done, f"Before that: {told.done}", f"Before that: {told.done}"],
        "parts": [{"part": "a part with a name as long as sixty characters can well be", "price": "12.50 €"}] * 9,
        "time": ["48 min for the search, as reckoned", "35 min for the repair"],
        "price": [("Work, 83 min at 60.00 € an hour", "83.00 €"), ("Parts", "112.50 €"), ("Together", "195.50 €")],
        "tax": "t" * 120, "closed": False,
        "proof": ["After the repair the lamps were looked at in 9 settings of the controls."] * 2,
        "open": ["This job is not finished.", "Do not drive it on the road before stop and side lamps work.",
                 "Not proven to work yet: several rear lamps.", "What local law says comes first."],
    }


def _sheets(pages: Sequence[str]) -> str:
    """Many pages in one document, each on sheets of its own: one run of the browser prints all."""
    bodies = [re.split(r"</?body[^>]*>", page)[1] for page in pages]
    assert '<body class="full">' in pages[0]
    head = pages[0].split("<body")[0]
    every = "".join(f'<div class="full" style="break-before:page">{b}</div>' for b in bodies)
    return f"{head}<body>{every}</body></html>"


def _texts(pdf: Path) -> Iterator[str]:
    out = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, check=True, timeout=60)
    yield from (" ".join(x.split()) for x in out.stdout.decode().split("\f") if x.strip())


@pytest.mark.skipif(not Path(CHROMIUM).exists() or not shutil.which("pdftotext"), reason="needs chromium and poppler")
def test_every_page_fits_one_sheet_of_a4(tmp_path: Path) -> None:
    """Forty faults, each on the fullest page that can be: as many sheets as pages, each with its own sentence."""
    told = [x for _, x in forty()]
    page = templates().get_template("customer.html")
    pages = [page.render(policy="", **_fullest(t)) for t in told]
    (tmp_path / "all.html").write_text(_sheets(pages), encoding="utf-8")
    subprocess.run([CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path}/profile",
                    "--no-pdf-header-footer", f"--print-to-pdf={tmp_path}/all.pdf", f"file://{tmp_path}/all.html"],
                   check=True, capture_output=True, timeout=240)
    sheets = list(_texts(tmp_path / "all.pdf"))
    assert len(sheets) == len(told)
    for sheet, t in zip(sheets, told, strict=True):
        assert " ".join(t.wrong.split()) in sheet
        assert "What local law says comes first." in sheet
    info = subprocess.run(["pdfinfo", str(tmp_path / "all.pdf")], capture_output=True, check=True).stdout.decode()
    assert "A4" in info
