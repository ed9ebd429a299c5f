"""Who may ask: a key made anew at each start, kept as a cookie; only our own address, only our own pages write."""

from __future__ import annotations

import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable, Collection
from threading import Lock
from typing import Final

from flask import Flask, Response, abort, redirect, request
from werkzeug.wrappers import Response as AnyResponse

COOKIE: Final = "tracer_key"
WRONG_A_MINUTE: Final = 10
_WINDOW_S: Final = 60.0
POLICY: Final = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


def new_key() -> str:
    """A key of 128 bits."""
    return secrets.token_urlsafe(16)


class WrongKeys:
    """Counts wrong keys; after ten in a minute no key is looked at until the minute is over."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._at, self._lock = clock, deque[float](), Lock()

    def note(self) -> None:
        with self._lock:
            self._at.append(self._clock())

    def wait_s(self) -> float:
        """Seconds until a key is looked at again; 0 if at once."""
        with self._lock:
            now = self._clock()
            while self._at and now - self._at[0] >= _WINDOW_S:
                self._at.popleft()
            return _WINDOW_S - (now - self._at[0]) if len(self._at) >= WRONG_A_MINUTE else 0.0


def guard(app: Flask, key: str, hosts: Collection[str], wrong: WrongKeys | None = None) -> None:
    """Put the guards before every request and the headers on every answer.

    Args:
        key: As in the link.
        hosts: Values of the Host header that are us, with port.
    """
    counted = wrong or WrongKeys()

    @app.before_request
    def check() -> AnyResponse | None:
        if request.host not in hosts:
            abort(403, "This address is not ours.")
        if request.method not in ("GET", "HEAD") and request.headers.get("Origin") != f"http://{request.host}":
            abort(403, "Only pages of this address may write here.")
        held = request.cookies.get(COOKIE, "")
        if held and _same(held, key) and "key" not in request.args:
            return None
        given = request.args.get("key", "") if request.method == "GET" and request.path == "/" else ""
        if wait := counted.wait_s():
            late = Response("Too many wrong keys. Wait a minute, then use the link or the code again.\n", 429)
            late.headers["Retry-After"] = str(int(wait) + 1)
            return late
        if given and _same(given, key):
            answer = redirect("/", 303)
            answer.set_cookie(COOKIE, key, httponly=True, samesite="Strict")
            return answer
        if given or held:
            counted.note()
        return abort(403, "Open the link, or scan the code, that `tracer page` printed when it was started.")

    @app.after_request
    def headers(answer: Response) -> Response:
        answer.headers.setdefault("Content-Security-Policy", POLICY)
        answer.headers["X-Content-Type-Options"] = "nosniff"
        # "no-referrer" would make browsers hide the origin of our own forms.
        answer.headers["Referrer-Policy"] = "same-origin"
        answer.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        answer.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        if request.endpoint != "static":
            answer.headers["Cache-Control"] = "no-store"
        return answer


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8"))
