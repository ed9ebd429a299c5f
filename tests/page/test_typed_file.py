"""Typing a harness on the pages: findings at their lines, the last good state, and never over a newer file."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.page.driving import ORIGIN, client_of, hidden, vehicle

FILE = "trailer_7pin.yaml"


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    vehicle(tmp_path, "trailer_7pin")
    return client_of(tmp_path)


def sent(client: FlaskClient, text: str, stamp: str, what: str = "look") -> Any:
    return client.post("/typing", headers={**ORIGIN, "Accept": "application/json"},
                       data={"file": FILE, "text": text, "stamp": stamp, "what": what})


def opened(client: FlaskClient) -> tuple[str, str]:
    """The text on the page and the stamp of the file."""
    page = client.get("/typing", query_string={"file": FILE}).text
    found = re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page, re.DOTALL)
    assert found
    return html.unescape(found[1]), hidden(page, "stamp")


def test_the_page_shows_the_file_and_what_its_lamps_do(client: FlaskClient, tmp_path: Path) -> None:
    assert f"/typing?file={FILE}" in client.get("/new").text
    text, _ = opened(client)
    assert text == (tmp_path / FILE).read_text(encoding="utf-8")
    page = client.get("/typing", query_string={"file": FILE}).text
    assert "No errors or warnings" in page and "left lamp unit stop" in page
    assert client.get("/typing/drawing.svg", query_string={"file": FILE}).data.startswith((b"<?xml", b"<svg"))
    offered = json.loads(html.unescape(page.split("data-completions='")[1].split("'")[0]))
    assert "left lamp unit.stop" in offered["points"] and "X1.3" in offered["points"]
    assert "rating" in offered["kinds"]["fuse"] and "loom" in offered["sections"]["wires"]
    assert {"parts", "wires", "usual"} <= set(offered["top"])


def test_mistakes_are_told_with_their_line_while_one_types(client: FlaskClient) -> None:
    text, stamp = opened(client)
    line = next(n for n, x in enumerate(text.splitlines(), 1) if "brake switch.54" in x)
    said = sent(client, text.replace("brake switch.54 > X1.6", "brake switch.55 > X1.6"), stamp).get_json()
    assert [(f["severity"], f["line"]) for f in said["findings"]] == [("error", line)]
    assert "54" in said["findings"][0]["hint"] and said["healthy"] == "" and said["stamp"] == stamp
    without = text.replace("  - {run: S3 > left lamp unit.stop, colour: RD, length: 0.8 m}\n", "")
    said = sent(client, without, stamp).get_json()
    assert {f["severity"] for f in said["findings"]} == {"warning"} and said["healthy"]


def test_the_last_state_without_errors_is_one_step_away(client: FlaskClient) -> None:
    text, stamp = opened(client)
    better = text.replace("rating: 10 A", "rating: 8 A")
    sent(client, better, stamp)
    broken = sent(client, better.replace("kind: fuse", "kind: fus"), stamp).get_json()
    assert broken["good"] and broken["findings"]
    back = {"file": FILE, "text": "nothing", "stamp": stamp, "what": "good"}
    page = client.post("/typing", headers=ORIGIN, data=back).text
    assert "rating: 8 A" in page and "No errors or warnings" in page


def test_saved_whole_and_never_over_a_newer_file(client: FlaskClient, tmp_path: Path) -> None:
    file = tmp_path / FILE
    text, stamp = opened(client)
    saved = sent(client, text.replace("rating: 10 A", "rating: 8 A").replace("\n", "\r\n"), stamp, "save")
    assert saved.get_json()["says"] == "Saved." and file.read_text(encoding="utf-8").count("rating: 8 A") == 1
    assert b"\r\n" not in file.read_bytes()
    late = sent(client, text, stamp, "save")
    assert late.status_code == 409 and "nothing was saved" in late.get_json()["says"]
    assert "rating: 8 A" in file.read_text(encoding="utf-8")
    again = sent(client, text + "x\n", saved.get_json()["stamp"], "save").get_json()
    assert again["says"].startswith("Saved with 1 error:")
    assert sorted(p.name for p in tmp_path.iterdir()) == [FILE]


def test_line_ends_of_a_file_stay(client: FlaskClient, tmp_path: Path) -> None:
    file = tmp_path / FILE
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    text, stamp = opened(client)
    assert sent(client, text, stamp, "save").status_code == 200
    assert file.read_bytes().count(b"\r\n") == file.read_bytes().count(b"\n") > 20


@pytest.mark.parametrize("name", ["", "none.yaml", "../trailer_7pin.yaml", "/etc/passwd", "trailer_7pin"])
def test_only_files_of_the_folder_are_opened(client: FlaskClient, name: str) -> None:
    assert client.get("/typing", query_string={"file": name}).status_code == 404
    data = {"file": name, "text": "x", "what": "save", "stamp": ""}
    assert client.post("/typing", headers=ORIGIN, data=data).status_code == 404
    assert client.get("/typing/drawing.svg", query_string={"file": name}).status_code == 404


def test_what_is_no_yaml_at_all_is_told_and_nothing_is_drawn_anew(client: FlaskClient) -> None:
    text, stamp = opened(client)
    for odd in ("", "{", "a: [", "harness: x\n\tb: 1", "\x00", "x" * 5000):
        said = sent(client, odd, stamp)
        assert said.status_code == 200 and said.get_json()["findings"][0]["severity"] == "error"
    assert sent(client, "x" * 70_000, stamp).status_code == 413
    assert text
