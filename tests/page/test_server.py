"""Starting and stopping the server as a user does, and killing it while it writes."""

from __future__ import annotations

import http.client
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlencode

import pytest
import segno

from tests.page.driving import vehicle
from tracer.errors import TracerError
from tracer.job.job import Job
from tracer.page.server import code_lines, folder_of, listening

KILLS = 3


class Server:
    def __init__(self, folder: Path) -> None:
        command = [sys.executable, "-c", "from tracer.commands import main; main()", "page", str(folder)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        said = ""
        assert self.process.stdout
        while not (found := re.search(r"http://([\d.]+):(\d+)/\?key=(\S+)", said)):
            line = self.process.stdout.readline()
            assert line, f"it ended: {said}"
            said += line
        self.host, self.port, self.key = found[1], int(found[2]), found[3]

    def ask(self, method: str, address: str, **form: str) -> http.client.HTTPResponse:
        client = http.client.HTTPConnection(self.host, self.port, timeout=60)
        headers = {"Cookie": f"tracer_key={self.key}", "Origin": f"http://{self.host}:{self.port}",
                   "Content-Type": "application/x-www-form-urlencoded", "Accept": "application/json"}
        client.request(method, address, urlencode(form), headers)
        return client.getresponse()


def test_it_starts_with_a_link_and_stops_cleanly(tmp_path: Path) -> None:
    vehicle(tmp_path)
    server = Server(tmp_path)
    try:
        assert server.ask("GET", "/").status == 200
        assert b"Waitress" not in b"".join(f"{k}{v}".encode() for k, v in server.ask("GET", "/").getheaders())
    finally:
        server.process.send_signal(signal.SIGINT)
    assert server.process.wait(20) == 0


def test_nothing_acknowledged_is_lost_and_nothing_is_recorded_twice_when_it_is_killed(tmp_path: Path) -> None:
    kill_while_writing(tmp_path, KILLS)


def kill_while_writing(folder: Path, kills: int) -> tuple[int, int]:
    """Notes that were acknowledged, and notes that were sent again after a kill."""
    vehicle(folder)
    Job.create(folder / "job.yaml", folder / "pickup.yaml")
    number, acknowledged, again = 0, 0, 0
    waiting: list[int] = []
    for kill in range(kills):
        server = Server(folder)
        end = time.monotonic() + 0.3 + 0.05 * (kill % 9)
        try:
            while True:
                if not waiting:
                    number += 1
                    waiting = [number]
                else:
                    again += 1
                if time.monotonic() > end and server.process.poll() is None:
                    server.process.kill()
                note = {"what": "note", "text": f"note {waiting[0]}", "mark": f"m{waiting[0]}"}
                answer = server.ask("POST", "/job/job/entry", **note)
                assert answer.status == 200, answer.read()
                waiting, acknowledged = [], acknowledged + 1
        except (OSError, http.client.HTTPException):
            pass
        finally:
            server.process.kill()
            server.process.wait(20)
        texts = [str(e.data["text"]) for e in Job(folder / "job.yaml").record.events if e.kind == "note"]
        assert len(texts) == len(set(texts))
        assert {f"note {n}" for n in range(1, number + 1)} - set(texts) <= {f"note {n}" for n in waiting}
    return acknowledged, again


def test_a_port_that_is_taken_gets_a_plain_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(TracerError, match="cannot be used"):
            listening("127.0.0.1", taken.getsockname()[1])


def test_a_folder_that_is_not_there_gets_a_plain_sentence(tmp_path: Path) -> None:
    with pytest.raises(TracerError, match="there is no folder"):
        folder_of(str(tmp_path / "none"))


def test_the_code_to_scan_has_every_module_of_the_code() -> None:
    link, rows = "http://192.0.2.7:8470/?key=kkkkkkkkkkkkkkkkkkkkkk", list[list[bool]]()
    for line in code_lines(link).split("\n"):
        rows += [[c in " ▄" for c in line], [c in " ▀" for c in line]]  # a light module is drawn
    code = [[bool(m) for m in row] for row in segno.make(link, error="m", micro=False).matrix_iter(border=2)]
    assert rows[: len(code)] == code
