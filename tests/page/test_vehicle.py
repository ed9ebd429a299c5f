"""A vehicle without a diagram, described on the pages: by forms alone, to a wiring file and a job on it."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.page.driving import ORIGIN, client_of, heading
from tracer.checking.rules import check
from tracer.harness.file.text import load_harness


def fields(page: str) -> tuple[dict[str, str], list[str]]:
    """The hidden fields of the form with their values, and the names that are asked."""
    hidden = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', page)
    asked = re.findall(r'<input (?:type="radio" )?name="([^"]*)"', page)
    return {html.unescape(k): html.unescape(v) for k, v in hidden}, list(dict.fromkeys(map(html.unescape, asked)))


def test_a_vehicle_is_described_by_forms_alone(tmp_path: Path) -> None:
    client = client_of(tmp_path)
    assert "/vehicle" in client.get("/new").text
    says = {"a:title": "Invented <estate> & co", "a:vehicle": "car", "a:rear lamps": "two bulbs", "a:road": "right"}
    page, parts = client.get("/vehicle").text, []
    for _ in range(20):
        given, asked = fields(page)
        assert asked and not set(asked) & set(given)
        parts.append(heading(page))
        answer = client.post("/vehicle", headers=ORIGIN, data={**given, **{a: says.get(a, "") for a in asked}})
        if answer.status_code == 303:
            break
        page = answer.text
    assert answer.headers["Location"] == "/new"
    assert parts[0] == "Vehicle" and parts[-1] == "Supply" and len(parts) <= 14
    (made,) = tmp_path.glob("*.yaml")
    assert made.name == "invented-estate-co.yaml"
    harness = load_harness(made)
    assert harness.title == "Invented <estate> & co" and "left rear stop" in {f.lamp for f in harness.lamps()}
    assert [str(f) for f in check(harness)] == []
    assert made.name.removesuffix(".yaml") in client.get("/new").text


@pytest.mark.parametrize(("data", "told"), [
    ({"a:title": "x", "a:vehicle": "boat"}, "“boat” is no choice"),
    ({"a:title": "x" * 200}, "cannot be a name"),
])
def test_what_is_no_answer_is_said_and_asked_again(tmp_path: Path, data: dict[str, str], told: str) -> None:
    page = client_of(tmp_path).post("/vehicle", headers=ORIGIN, data=data).text
    assert told in html.unescape(page) and list(tmp_path.iterdir()) == []


def test_answers_to_what_is_not_asked_count_for_nothing(tmp_path: Path) -> None:
    client = client_of(tmp_path)
    said = {"a:title": "x", "a:vehicle": "trailer", "a:horn": "relay"}
    page = client.post("/vehicle", headers=ORIGIN, data=said).text
    assert "horn" not in page
    assert client.get("/vehicle").status_code == 200 and list(tmp_path.iterdir()) == []
