"""The page at the vehicle in figures: taps, bytes, seconds from tap to next step, kills and lost connections.

    python tests/bench/bench_page.py [--kills N] [--lost N] [--browser]

Taps are counted from the opened job to the first proposal for "left rear stop dark" on the pick-up. Bytes are those
of each screen without the drawing. Seconds are from sending an answer to having the next step's page, by the server's
own client, on the pick-up and on a whole vehicle. The server is killed while it writes; connections are cut before,
during and after an entry: nothing acknowledged may be lost, and nothing recorded twice.
"""

from __future__ import annotations

import argparse
import http.client
import random
import socket
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.bench_commands import WHOLE  # noqa: E402
from tests.bench.generated import harness_text  # noqa: E402
from tests.page.browser import browsing, served  # noqa: E402
from tests.page.driving import KEY, client_of, hidden, sent, started, vehicle  # noqa: E402
from tests.page.test_server import Server, kill_while_writing  # noqa: E402
from tracer.job.job import Job  # noqa: E402

_MARKING_S = 20.0  # controls set, a lamp found on the plan, its look chosen
SEEN = "left rear stop dark when brake pedal pressed"
SCREENS = ("", "/seen", "/suspects", "/estimate", "/circuit", "/record", "/other", "/plan", "/at?point=E4",
           "/understood")


def taps(folder: Path) -> int:
    """From the opened job to the first step."""
    vehicle(folder)
    count = 0
    with browsing() as tab, served(folder) as url:
        tab.size(360, 640)
        tab.go(f"{url}/?key={KEY}")
        tab.go(f"{url}/job/{started(client_of(folder))}")
        for selector, text in (("#seen [name=set][value='brake pedal\tpressed']", ""),
                               ("[data-lamp='left rear stop'] summary", ""),
                               ("[data-lamp='left rear stop'] .looks label", "dark")):
            tab.tap(selector, text)
            count += 1
        tab.tap_through("#seen footer .go")
        count += 1
        assert tab.js("document.querySelectorAll('.answers').length") == 1
    return count


def sizes(folder: Path) -> dict[str, int]:
    """Bytes of each screen, style and script."""
    vehicle(folder)
    client = client_of(folder)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    found = {s or "the step": len(client.get(f"/job/{name}{s}").data) for s in SCREENS[:-1]}
    found["jobs"] = len(client.get("/").data)
    return found | {f: len(client.get(f"/static/{f}").data) for f in ("page.css", "page.js")}


def waits(folder: Path, harness: str, seen: str, answers: int, marking_s: float = 0.0) -> list[float]:
    """Seconds from an answer to the page of the next step, for a job of several answers. `marking_s`: after so long a
    time in which somebody marks what was seen on the opened page, and the server works ahead."""
    client = client_of(folder, ahead=marking_s > 0)
    name = started(client, harness.removesuffix(".yaml"))
    client.get(f"/job/{name}")
    time.sleep(marking_s)
    out = []
    begun = time.monotonic()
    page = client.get(sent(client, name, what="words", words=seen, mark="a").headers["Location"]).text
    out.append(time.monotonic() - begun)
    for turn in range(answers):
        if 'name="test"' not in page:
            break
        begun = time.monotonic()
        done = sent(client, name, what="not done", test=hidden(page, "test"), mark=f"m{turn}")
        page = client.get(done.headers["Location"]).text
        out.append(time.monotonic() - begun)
    return out


def lose_connections(folder: Path, times: int, seed: int = 1) -> tuple[int, int]:
    """Entries acknowledged, and entries sent more than once, where the connection is cut at random."""
    vehicle(folder)
    Job.create(folder / "job.yaml", folder / "pickup.yaml")
    rng, server, again = random.Random(seed), Server(folder), 0
    try:
        for number in range(times):
            form = urlencode({"what": "note", "text": f"note {number}", "mark": f"m{number}"})
            head = (f"POST /job/job/entry HTTP/1.1\r\nHost: {server.host}:{server.port}\r\nCookie: tracer_key="
                    f"{server.key}\r\nOrigin: http://{server.host}:{server.port}\r\nContent-Length: {len(form)}\r\n"
                    "Content-Type: application/x-www-form-urlencoded\r\nAccept: application/json\r\n\r\n")
            whole = (head + form).encode()
            with socket.create_connection((server.host, server.port)) as cut:
                cut.sendall(whole[: rng.choice((rng.randrange(len(whole)), len(whole)))])
                time.sleep(rng.random() * 0.02)
            again += 1
            answer = server.ask("POST", "/job/job/entry", what="note", text=f"note {number}", mark=f"m{number}")
            assert answer.status == 200, answer.read()
    finally:
        server.process.kill()
        server.process.wait(20)
    texts = [str(e.data["text"]) for e in Job(folder / "job.yaml").record.events if e.kind == "note"]
    assert sorted(texts) == sorted(f"note {n}" for n in range(times)), "lost or twice"
    return len(texts), again


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--lost", type=int, default=200)
    parser.add_argument("--browser", action="store_true", help="count taps too")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        by = sizes(Path(folder))
        print("bytes:", ", ".join(f"{name} {size}" for name, size in by.items()), f"; largest {max(by.values())}")
        for marking_s in (0.0, _MARKING_S):
            took = waits(Path(folder), "pickup.yaml", SEEN, 4, marking_s)
            print(f"seconds to the next step, pick-up, after {marking_s:.0f} s of marking:",
                  ", ".join(f"{t:.2f}" for t in took))
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "whole.yaml").write_text(harness_text(), encoding="utf-8")
        for marking_s in (0.0, _MARKING_S):
            took = waits(Path(folder), "whole.yaml", WHOLE[0], 3, marking_s)
            print(f"seconds to the next step, whole vehicle, after {marking_s:.0f} s of marking:",
                  ", ".join(f"{t:.2f}" for t in took))
    if args.browser:
        with tempfile.TemporaryDirectory() as folder:
            print(f"taps from the opened job to the first proposal: {taps(Path(folder))}")
    with tempfile.TemporaryDirectory() as folder:
        told, again = kill_while_writing(Path(folder), args.kills)
        print(f"{args.kills} kills: {told} entries acknowledged, {again} sent again; none lost, none twice")
    with tempfile.TemporaryDirectory() as folder:
        told, again = lose_connections(Path(folder), args.lost)
        print(f"{args.lost} lost connections: {told} entries recorded, {again} sent again; none lost, none twice")


if __name__ == "__main__":
    try:
        main()
    except http.client.HTTPException as error:
        raise SystemExit(f"the server did not answer: {error!r}") from error
