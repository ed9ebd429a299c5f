"""Typing a harness in a real browser: findings while one types, completion by taps, the last good state, saving."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page.browser import CHROMIUM, Browser, browsing, served
from tests.page.driving import KEY, vehicle
from tracer.harness.file.text import load_harness

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
FILE = "trailer_7pin.yaml"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with browsing() as found:
        found.size(1000, 800)
        yield found
        assert found.left == []  # no request wanted to leave this machine


def cursor_behind(browser: Browser, words: str) -> None:
    """Put the cursor behind the first such words."""
    browser.js("(() => { const t = document.getElementById('text'), at = t.value.indexOf(" + repr(words) + ") + "
               f"{len(words)}; t.focus(); t.setSelectionRange(at, at); return at; }})()")


def test_typed_checked_completed_taken_back_and_saved(browser: Browser, tmp_path: Path) -> None:
    vehicle(tmp_path, "trailer_7pin")
    before = (tmp_path / FILE).read_text(encoding="utf-8")
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/typing?file={FILE}")
        assert browser.js("document.getElementById('text').value") == before
        # A mistake is told at its line, without a tap.
        cursor_behind(browser, "F1: {kind: fus")
        browser.call("Input.insertText", text="x")
        browser.until("document.querySelector('#findings .error') !== null")
        line = next(n for n, x in enumerate(before.splitlines(), 1) if "F1: {kind" in x)
        assert browser.js("document.querySelector('#findings .error').dataset.line") == str(line)
        assert browser.js("document.querySelector('#lines .error').innerText.trim()").endswith(str(line))
        # One tap brings the last state without errors back.
        browser.tap_through("#good")
        assert browser.js("document.getElementById('text').value") == before
        # What may come next is offered: the kinds, the keys of a kind, the points of a run.
        cursor_behind(browser, "fog switch: {kind: switch, ")
        browser.call("Input.insertText", text="pla")
        browser.until("[...document.querySelectorAll('#offered button')].some(b => b.innerText === 'place')")
        browser.tap("#offered button", "place")
        browser.call("Input.insertText", text=": dash, ")
        browser.until("document.getElementById('findings').innerText.includes('No errors or warnings')")
        browser.tap("button[value=save]")
        browser.until("document.getElementById('says').innerText === 'Saved.'")
        assert load_harness(tmp_path / FILE).parts["fog switch"].place == "dash"
        # Somebody else saves: nothing is written over that.
        (tmp_path / FILE).write_text(before, encoding="utf-8")
        browser.tap("button[value=save]")
        browser.until("document.getElementById('says').innerText.includes('nothing was saved')")
        assert (tmp_path / FILE).read_text(encoding="utf-8") == before
        browser.js("window.onbeforeunload = null; document.getElementById('text').value = ''; 0")
