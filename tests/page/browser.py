"""A real browser, driven over its debugging protocol; requests that leave this machine are refused and counted."""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any
from urllib.parse import urlsplit

import waitress
import websocket

from tests.page.driving import KEY
from tracer.page.app import make_app
from tracer.page.server import listening

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@contextmanager
def served(folder: Path, port: int | None = None) -> Iterator[str]:
    """The page of a folder; its address."""
    sock = listening("127.0.0.1", port or 0)
    host = f"127.0.0.1:{sock.getsockname()[1]}"
    server = waitress.create_server(make_app(folder, KEY, {host}), sockets=[sock], threads=4)
    Thread(target=server.run, daemon=True).start()
    try:
        yield f"http://{host}"
    finally:
        server.task_dispatcher.shutdown()
        server.close()


class Browser:
    """One tab."""

    def __init__(self, socket: websocket.WebSocket) -> None:
        self._socket, self._number = socket, 0
        self.left: list[str] = []  # requests that wanted to leave this machine
        self.lost = False  # as if the connection were gone

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        self._number += 1
        number = self._number
        self._socket.send(json.dumps({"id": number, "method": method, "params": params}))
        while True:
            said = json.loads(self._socket.recv())
            if said.get("method") == "Fetch.requestPaused":
                self._let(said["params"])
            if said.get("id") == number:
                if "error" in said:
                    raise RuntimeError(f"{method}: {said['error']['message']}")
                found: dict[str, Any] = said["result"]
                return found

    def _let(self, asked: dict[str, Any]) -> None:
        """Answered without waiting for the reply."""
        url = asked["request"]["url"]
        self._number += 1
        ours = urlsplit(url).hostname == "127.0.0.1" or url.startswith(("data:", "file:"))
        if not ours:
            self.left.append(url)
        go = {"method": "Fetch.continueRequest", "params": {"requestId": asked["requestId"]}}
        no = {"method": "Fetch.failRequest",
              "params": {"requestId": asked["requestId"], "errorReason": "InternetDisconnected"}}
        self._socket.send(json.dumps({"id": self._number, **(go if ours and not self.lost else no)}))

    def js(self, expression: str) -> Any:
        """The value of an expression in the page."""
        said = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in said:
            raise RuntimeError(str(said["exceptionDetails"].get("exception", {}).get("description")))
        return said["result"].get("value")

    def until(self, expression: str, seconds: float = 20.0) -> Any:
        """The value of an expression once it is true of a page that is whole."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                if found := self.js(f"document.readyState == 'complete' && ({expression})"):
                    return found
            except RuntimeError:  # between two pages
                pass
            time.sleep(0.02)
        raise TimeoutError(f"{expression} in {self.js('document.body.innerText')!r}")

    def go(self, url: str) -> None:
        """Open a page and wait until it is there: not the one before, though it has the same address."""
        self.js("window.left = true")
        self.call("Page.navigate", url=url)
        there = f"location.href.startsWith({json.dumps(url.split('?')[0])})"
        self.until(f"!window.left && {there}")

    def size(self, width: int, height: int) -> None:
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=True)

    def scripts(self, on: bool) -> None:
        self.call("Emulation.setScriptExecutionDisabled", value=not on)

    def tap(self, selector: str, text: str = "") -> None:
        """Tap the middle of the first element that fits, scrolled into sight, and wait for what it loads."""
        where = self.js(
            f"(() => {{ const all = [...document.querySelectorAll({json.dumps(selector)})];"
            f"const e = all.find(e => (e.innerText || e.value || '').includes({json.dumps(text)}));"
            "if (!e) return null; const at = block => { e.scrollIntoView({block});"
            "const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; };"
            "const there = at('center'), top = document.elementFromPoint(...there);"  # what lies over it is left
            "return !top || e.contains(top) || top.contains(e) ? there : at('start'); })()"
        )
        if where is None:
            raise LookupError(f"nothing to tap: {selector} {text!r} in {self.js('document.body.innerText')}")
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=where[0], y=where[1], button="left", clickCount=1)

    def tap_through(self, selector: str, text: str = "") -> None:
        """Tap what leads to another page, and wait for that."""
        self.js("window.before = true")
        self.tap(selector, text)
        self.until("!window.before", 60)

    def picture(self, path: Path, whole: bool = False) -> None:
        taken = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(base64.b64decode(taken["data"]))


@contextmanager
def browsing() -> Iterator[Browser]:
    """A browser with one empty tab."""
    assert CHROMIUM
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        process = subprocess.Popen(
            [CHROMIUM, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
             "--disable-extensions", "--disable-background-networking", "--disable-component-update",
             "--disable-sync", "--hide-scrollbars", "--remote-debugging-port=0", "--remote-allow-origins=*",
             f"--user-data-dir={home}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        try:
            port = _written(Path(home) / "DevToolsActivePort")
            yield _tab(port)
        finally:
            process.terminate()
            process.wait(10)


def _written(path: Path) -> int:
    for _ in range(600):
        if path.exists() and path.read_text().strip():
            return int(path.read_text().split()[0])
        time.sleep(0.05)
    raise TimeoutError("the browser did not start")


def _tab(port: int) -> Browser:
    import http.client

    ask = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    ask.request("GET", "/json/list")
    tab = next(t for t in json.loads(ask.getresponse().read()) if t["type"] == "page")
    browser = Browser(websocket.create_connection(tab["webSocketDebuggerUrl"], timeout=60))
    browser.call("Page.enable")
    browser.call("Fetch.enable")
    return browser
