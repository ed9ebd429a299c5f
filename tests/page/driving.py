"""A folder with jobs behind Flask's own client, and pages taken apart."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tracer.page.app import make_app

KEY, HOST = "k" * 22, "localhost"
ORIGIN = {"Origin": f"http://{HOST}"}
MODELS = Path(__file__).parents[2] / "harness_models"


def client_of(folder: Path, entered: bool = True, ahead: bool = False) -> FlaskClient:
    client = make_app(folder, KEY, {HOST}, ahead=ahead).test_client()
    if entered:
        assert client.get(f"/?key={KEY}").status_code == 303
    return client


def vehicle(folder: Path, model: str = "pickup") -> None:
    (folder / f"{model}.yaml").write_text((MODELS / f"{model}.yaml").read_text(encoding="utf-8"), encoding="utf-8")


def started(client: FlaskClient, model: str = "pickup", vehicle: str = "Invented T 1970") -> str:
    """The name of a new job."""
    answer = client.post("/new", headers=ORIGIN, data={"vehicle_file": f"harness:{model}.yaml", "vehicle": vehicle})
    assert answer.status_code == 303, answer.text
    return answer.headers["Location"].removeprefix("/job/")


def sent(client: FlaskClient, name: str, **form: str | list[str]) -> TestResponse:
    return client.post(f"/job/{name}/entry", headers=ORIGIN, data={k.replace("__", " "): v for k, v in form.items()})


def hidden(page: str, name: str) -> str:
    """The value of the first field of that name."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found, f"no field {name}"
    return html.unescape(found[1])


def heading(page: str) -> str:
    found = re.search(r"<h1[^>]*>(.*?)</h1>", page, re.DOTALL)
    assert found
    return html.unescape(re.sub("<[^>]*>", "", found[1]))


def tables(page: str) -> list[list[list[str]]]:
    return [json.loads(html.unescape(t)) for t in re.findall(r'name="table" value="([^"]*)"', page)]
