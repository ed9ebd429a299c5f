"""Who may open the pages, from where, and who may write."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.page.driving import HOST, KEY, ORIGIN, client_of, sent, started, vehicle
from tracer.page.access import COOKIE, WrongKeys, new_key
from tracer.page.app import make_app

JOB = "/job/invented-t-1970"
ADDRESSES = ("/", "/new", JOB, f"{JOB}/record", "/job/nobody", "/static/page.js", "/none")


def test_a_key_has_128_bits_and_is_made_anew() -> None:
    keys = {new_key() for _ in range(100)}
    assert len(keys) == 100
    assert all(len(k) == 22 for k in keys)  # 22 signs of 6 bits hold 128


@pytest.mark.parametrize("address", ADDRESSES)
def test_without_the_key_every_address_is_refused(tmp_path: Path, address: str) -> None:
    vehicle(tmp_path)
    started(client_of(tmp_path))
    answer = client_of(tmp_path, entered=False).get(address)
    assert answer.status_code == 403
    assert "scan the code" in answer.text
    assert "Invented" not in answer.text


def test_the_key_becomes_a_cookie_that_no_script_and_no_other_page_has(tmp_path: Path) -> None:
    answer = client_of(tmp_path, entered=False).get(f"/?key={KEY}")
    assert answer.headers["Location"] == "/"  # the key does not stay in the address
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith(f"{COOKIE}=") and "HttpOnly" in cookie and "SameSite=Strict" in cookie


def test_ten_wrong_keys_in_a_minute_slow_down(tmp_path: Path) -> None:
    now = 100.0
    client = make_app(tmp_path, KEY, {HOST}, WrongKeys(lambda: now)).test_client()
    for _ in range(10):
        assert client.get("/?key=wrong").status_code == 403
    late = client.get(f"/?key={KEY}")
    assert late.status_code == 429 and late.headers["Retry-After"] == "61"
    now += 61
    assert client.get(f"/?key={KEY}").status_code == 303


def test_who_is_in_already_is_not_slowed_down_by_who_guesses(tmp_path: Path) -> None:
    app = make_app(tmp_path, KEY, {HOST})
    own, other = app.test_client(), app.test_client()
    own.get(f"/?key={KEY}")
    for _ in range(12):
        other.get("/?key=wrong")
    assert other.get("/?key=wrong").status_code == 429
    assert own.get("/").status_code == 200


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "127.0.0.1:1", ""])
def test_a_foreign_host_is_refused(tmp_path: Path, host: str) -> None:
    client = client_of(tmp_path)
    assert client.get("/", headers={"Host": host}).status_code == 403


@pytest.mark.parametrize("origin", [None, "null", "http://evil.example", f"https://{HOST}", f"http://{HOST}.evil.example"])
def test_a_write_from_elsewhere_is_refused(tmp_path: Path, origin: str | None) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    before = (tmp_path / f"{name}.yaml").read_bytes()
    headers = {} if origin is None else {"Origin": origin}
    answer = client.post(f"/job/{name}/entry", headers=headers, data={"what": "note", "text": "from elsewhere"})
    assert answer.status_code == 403
    assert (tmp_path / f"{name}.yaml").read_bytes() == before


def test_nothing_of_a_page_comes_from_outside_and_nothing_frames_it(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    for address in ("/", f"/job/{started(client)}"):
        policy = client.get(address).headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy and "http" not in policy


@pytest.mark.parametrize(
    "name", ["..", "../secret", "%2e%2e%2fsecret", "..%2Fsecret", "/etc/passwd", "secret.yaml", "."]
)
def test_a_name_is_never_a_path(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "jobs"
    inside.mkdir()
    vehicle(inside)
    client = client_of(inside)
    job = started(client)
    (tmp_path / "secret.yaml").write_text((inside / f"{job}.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    assert client.get(f"/job/{name}").status_code in (404, 308)
    written = client.post(f"/job/{name}/entry", headers=ORIGIN, data={"what": "note", "text": "x"})
    assert written.status_code in (404, 405)


@pytest.mark.parametrize("chosen", ["harness:../pickup.yaml", "harness:/etc/passwd", "job:../x", "x", "", "harness:"])
def test_a_vehicle_is_chosen_from_what_the_folder_holds(tmp_path: Path, chosen: str) -> None:
    inside = tmp_path / "jobs"
    inside.mkdir()
    vehicle(tmp_path)
    client = client_of(inside)
    answer = client.post("/new", headers=ORIGIN, data={"vehicle_file": chosen, "vehicle": "x"})
    assert answer.status_code == 422, answer.text
    assert list(inside.iterdir()) == []


def test_a_body_too_big_is_refused(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    assert sent(client, name, what="note", text="x" * 70_000).status_code == 413
