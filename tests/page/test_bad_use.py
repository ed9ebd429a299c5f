"""Double taps, two devices, files that change or vanish, hostile names: a plain sentence, and nothing lost."""

from __future__ import annotations

import errno
import os
import time
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from tests.page.driving import HOST, KEY, ORIGIN, client_of, hidden, sent, started, vehicle
from tracer.job.job import Job
from tracer.page.app import make_app

SEEN = "left rear reversing lamp dim, left rear tail faint when gear reverse"
SCRIPT = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    vehicle(tmp_path)
    return client_of(tmp_path)


def entries(folder: Path, name: str) -> list[str]:
    return [e.kind for e in Job(folder / f"{name}.yaml").record.events if e.kind != "proposed"]


def test_a_double_tap_is_recorded_once(client: FlaskClient, tmp_path: Path) -> None:
    name = started(client)
    answers = [sent(client, name, what="words", words=SEEN, mark="one") for _ in range(3)]
    assert [a.headers["Location"] for a in answers] == [f"/job/{name}?said=1"] * 3
    page = client.get(f"/job/{name}").text
    test = hidden(page, "test")
    for _ in range(2):
        sent(client, name, what="read", test=test, value="3.4 V", mark="two")
    for _ in range(2):
        sent(client, name, what="mended", repair="clean and remake earth point E4", mark="three")
    number = str(Job(tmp_path / f"{name}.yaml").repairs[-1].number)
    for _ in range(2):
        sent(client, name, what="checked", check="1", repair=number, mark="four", **{"look:left rear tail": "faint"})
    assert entries(tmp_path, name) == ["symptom", "reading", "repaired", "proof", "symptom"]


def test_what_was_sent_before_the_server_was_started_anew_is_not_recorded_twice(
    client: FlaskClient, tmp_path: Path,
) -> None:
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="one")
    sent(client_of(tmp_path), name, what="words", words=SEEN, mark="one")
    assert entries(tmp_path, name) == ["symptom"]


def test_two_devices_see_each_others_entries_and_overwrite_nothing(client: FlaskClient, tmp_path: Path) -> None:
    name = started(client)
    app = make_app(tmp_path, KEY, {HOST})
    phone, tablet = app.test_client(), app.test_client()
    for device in (phone, tablet):
        device.get(f"/?key={KEY}")
    before = tablet.get(f"/job/{name}/stand").get_json()
    sent(phone, name, what="words", words=SEEN, mark="p")
    assert tablet.get(f"/job/{name}/stand").get_json() != before
    sent(tablet, name, what="note", text="rust at the rail", mark="t")
    assert entries(tmp_path, name) == ["symptom", "note"]


def test_what_another_program_records_is_seen(client: FlaskClient, tmp_path: Path) -> None:
    name = started(client)
    before = client.get(f"/job/{name}/stand").get_json()["stand"]
    Job(tmp_path / f"{name}.yaml").symptom(SEEN)
    time.sleep(0.6)
    assert client.get(f"/job/{name}/stand").get_json()["stand"] > before


def test_undo_takes_back_only_the_entry_that_was_shown(client: FlaskClient, tmp_path: Path) -> None:
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    sent(client, name, what="note", text="from the other device", mark="b")
    refused = sent(client, name, what="undo", entry="1")
    assert refused.status_code == 422 and "not the last one any more" in refused.text
    last = hidden(client.get(f"/job/{name}/record").text, "entry")
    assert sent(client, name, what="undo", entry=last).status_code == 303
    assert [e.number for e in Job(tmp_path / f"{name}.yaml").record.living if e.kind != "proposed"] == [1]


def test_a_check_of_a_repair_taken_back_is_refused(client: FlaskClient) -> None:
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    sent(client, name, what="mended", own="new earth ring", mark="b")
    page = client.get(f"/job/{name}").text
    check, repair = hidden(page, "check"), hidden(page, "repair")
    sent(client, name, what="undo", entry=repair)
    late = sent(client, name, what="checked", check=check, repair=repair, result="ok", mark="c")
    assert late.status_code == 422 and "taken back" in late.text


def test_a_job_deleted_meanwhile_gets_a_plain_sentence(client: FlaskClient, tmp_path: Path) -> None:
    name = started(client)
    client.get(f"/job/{name}")
    (tmp_path / f"{name}.yaml").unlink()
    for answer in (client.get(f"/job/{name}"), sent(client, name, what="note", text="x")):
        assert answer.status_code == 404 and "renamed or deleted" in answer.text
    assert client.get("/").status_code == 200


def test_a_harness_edited_meanwhile_is_read_anew_and_said(client: FlaskClient, tmp_path: Path) -> None:
    name, path = started(client), tmp_path / "pickup.yaml"
    client.get(f"/job/{name}")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("left rear corner", "left hind corner"), encoding="utf-8")
    time.sleep(0.6)
    assert "wiring file has changed" in client.get(f"/job/{name}").text
    path.write_text(text.replace("ways: 6", "ways: 1"), encoding="utf-8")
    time.sleep(0.6)
    broken = client.get(f"/job/{name}")
    assert broken.status_code == 422 and "pickup.yaml" in broken.text
    path.unlink()
    assert client.get(f"/job/{name}").status_code == 422
    path.write_text(text, encoding="utf-8")
    assert client.get(f"/job/{name}").status_code == 200


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES])
def test_a_folder_that_takes_no_writes_gets_a_plain_sentence_and_acknowledges_nothing(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int,
) -> None:
    name = started(client)
    before = (tmp_path / f"{name}.yaml").read_bytes()

    def refuse(source: object, target: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "replace", refuse)
    answer = sent(client, name, what="note", text="x", mark="a")
    assert answer.status_code == 422
    assert os.strerror(number) in answer.text and "nothing was changed" in answer.text
    monkeypatch.undo()
    assert (tmp_path / f"{name}.yaml").read_bytes() == before
    assert sent(client, name, what="note", text="x", mark="a").status_code == 303


def test_script_in_every_name_stays_text(client: FlaskClient, tmp_path: Path) -> None:
    answer = client.post("/new", headers=ORIGIN, data={
        "vehicle_file": "harness:pickup.yaml", "vehicle": SCRIPT, "complaint": SCRIPT, "worked": SCRIPT})
    name = answer.headers["Location"].removeprefix("/job/")
    sent(client, name, what="note", text=SCRIPT, mark=SCRIPT)
    sent(client, name, what="words", words=SEEN, mark="a")
    sent(client, name, what="mended", own=SCRIPT, parts=SCRIPT, mark="b")
    refused = client.post(f"/job/{name}/understood", headers=ORIGIN, data={"words": SCRIPT})
    texts = [client.get(u).text for u in ("/", "/new", *(f"/job/{name}{x}" for x in (
        "", "?said=1", "/record", "/suspects", "/circuit", "/other?at=" + SCRIPT, "/seen", "/report")))]
    for text in (*texts, refused.text):
        assert "<script>alert" not in text and "<img src=x" not in text
    assert "&lt;script&gt;" in texts[0]


@pytest.mark.parametrize("form", [
    {}, {"what": "x"}, {"what": "read"}, {"what": "read", "test": "V-0000", "value": "1 V"},
    {"what": "read", "test": "volts at C2.3", "value": "much"}, {"what": "seen"},
    {"what": "seen", "set": ["gear\treverse", "gear\tforward"], "look:left rear tail": "dim"},
    {"what": "seen", "set": ["gear\tsideways"], "look:left rear tail": "dim"},
    {"what": "seen", "look:left rear tail": "purple"}, {"what": "words", "words": "the thing is broken"},
    {"what": "checked", "check": "1", "repair": "1", "result": "ok"},
    {"what": "checked", "check": "-1", "repair": "x"},
    {"what": "undo", "entry": "999999999999"}, {"what": "mended"}, {"what": "mended", "own": "x", "minutes": "soon"},
    {"what": "read", "test": "V-0000", "table": "{"}, {"what": "read", "test": "V-0000", "table": "[]"},
    {"what": "read", "test": "V-0000", "table": "[[1]]"}, {"what": "note", "text": " "},
])
def test_what_makes_no_sense_is_refused_and_nothing_recorded(
    client: FlaskClient, tmp_path: Path, form: dict[str, str | list[str]],
) -> None:
    name = started(client)
    before = (tmp_path / f"{name}.yaml").read_bytes()
    answer = sent(client, name, **form)
    assert answer.status_code == 422, answer.text
    assert 'role="alert"' in answer.text
    assert (tmp_path / f"{name}.yaml").read_bytes() == before


@pytest.mark.parametrize("address", ["?said=x", "?said=9999999999999", "?said=77", "/seen?check=9", "/seen?check=x",
                                     "/seen?test=V-0000", "/circuit?zoom=x", "?at=nowhere", "?without=magic",
                                     "/usual?set=gear%09sideways", "/seen?set=%09"])
def test_addresses_typed_wrong_never_break(client: FlaskClient, address: str) -> None:
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    assert client.get(f"/job/{name}{address}").status_code in (200, 422)


def test_a_job_of_the_same_name_gets_a_number(client: FlaskClient, tmp_path: Path) -> None:
    assert [started(client) for _ in range(3)] == ["invented-t-1970", "invented-t-1970-2", "invented-t-1970-3"]
    assert started(client, vehicle="../../etc/passwd") == "etc-passwd"
    assert started(client, vehicle="/.. ☠") == "job"
    assert {p.parent for p in tmp_path.rglob("*.yaml")} == {tmp_path}


def test_an_error_is_said_as_data_to_a_script(client: FlaskClient) -> None:
    name = started(client)
    asked = {**ORIGIN, "Accept": "application/json"}
    wrong = client.post(f"/job/{name}/entry", headers=asked, data={"what": "words", "words": "all is odd"})
    assert wrong.status_code == 422 and wrong.get_json()["error"]
    right = client.post(f"/job/{name}/entry", headers=asked, data={"what": "words", "words": SEEN, "mark": "a"})
    assert right.get_json() == {"go": f"/job/{name}?said=1"}
