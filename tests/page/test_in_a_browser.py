"""Whole jobs by taps alone in a real browser, sizes and contrast as it works them out, and lost connections."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from demo.stories import STORIES, Story
from tests.library import MODELS
from tests.long import rest_long
from tests.page.browser import CHROMIUM, Browser, browsing, served
from tests.page.driving import KEY, client_of, sent, started, vehicle
from tests.page.mechanic import Mechanic
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.job.job import Job
from tracer.page.app import make_app
from tracer.practice.simulated_vehicle import PracticeVehicle

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
SMALL = (360, 640)
SEEN = "left rear reversing lamp dim, left rear tail faint when gear reverse"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with browsing() as found:
        found.size(*SMALL)
        yield found
        assert found.left == []  # no request wanted to leave this machine


def mechanic(browser: Browser, folder: Path, story: Story) -> Mechanic:
    harness = load_harness(folder / story.harness)
    fault = find_fault(list_faults(harness), story.planted)
    truth = next(v for v in fault.variants if v.says.startswith(story.severity)).change
    name = browser.js("decodeURIComponent(location.pathname.split('/')[2])")
    return Mechanic(browser, folder / f"{name}.yaml", PracticeVehicle(harness, truth, story.supply_v, [fault]), fault,
                    story.supply_v)


def opened(browser: Browser, url: str, story: Story) -> None:
    """A job from the first page on; only the name is typed."""
    browser.go(f"{url}/?key={KEY}")
    browser.tap_through("a", "Start a job")
    browser.js(f"document.querySelector('select').value = 'harness:{story.harness}'; 0")
    browser.tap("[name=vehicle]")
    browser.call("Input.insertText", text=story.vehicle)
    browser.tap_through("button", "Start")


@pytest.mark.parametrize("which", rest_long(STORIES))
def test_a_whole_job_by_taps_alone(browser: Browser, tmp_path: Path, which: str) -> None:
    story = STORIES[which]
    vehicle(tmp_path, story.harness.removesuffix(".yaml"))
    with served(tmp_path) as url:
        opened(browser, url, story)
        who = mechanic(browser, tmp_path, story)
        who.tell(story.seen[0])
        for seen in story.seen[1:]:
            browser.go(f"{url}/job/{who.path.stem}/seen")
            who.tell(seen)
        who.finish()
        assert browser.js("document.querySelector('h1').innerText") == "Repaired and proven"
    assert who.repaired and Job(who.path).closed
    assert max(who.fitted, default=0) <= SMALL[1], who.fitted  # no step of these has to be scrolled


def test_a_whole_job_with_scripts_off(browser: Browser, tmp_path: Path) -> None:
    story = STORIES["pickup"]
    vehicle(tmp_path, "pickup")
    browser.scripts(False)
    try:
        with served(tmp_path) as url:
            opened(browser, url, story)
            who = mechanic(browser, tmp_path, story)
            who.tell(story.seen[0])
            who.finish()
            assert browser.js("document.querySelector('h1').innerText") == "Repaired and proven"
    finally:
        browser.scripts(True)
    assert who.repaired and Job(who.path).closed


def test_a_tap_on_the_drawing_says_what_is_known_and_two_fingers_zoom_it(
    browser: Browser, tmp_path: Path, job: str,
) -> None:
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}/circuit")
        browser.until("document.querySelector('.drawing img').complete")
        box = browser.js("(() => { document.querySelector('.drawing').scrollIntoView();"
                         "const r = document.querySelector('.drawing img').getBoundingClientRect();"
                         "return [r.x, r.y, r.width, r.height]; })()")
        before = box[2]
        fingers = [{"x": box[0] + 100, "y": box[1] + 80, "id": 1}, {"x": box[0] + 160, "y": box[1] + 80, "id": 2}]
        browser.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=fingers)
        for step in range(1, 7):
            fingers[1]["x"] = box[0] + 160 + 20 * step
            browser.call("Input.dispatchTouchEvent", type="touchMove", touchPoints=fingers)
        browser.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        assert browser.js("document.querySelector('.drawing img').getBoundingClientRect().width") > 1.5 * before
        where = browser.js(
            "(() => { const img = document.querySelector('.drawing img'), sheet = img.parentElement;"
            "const p = JSON.parse(sheet.dataset.places).find(p => p[0] === 'E4'), w = img.clientWidth;"
            "sheet.scrollLeft = (p[1] + p[3]) / 2 * w - 150;"
            "sheet.scrollTop = (p[2] + p[4]) / 2 * img.clientHeight - 100;"
            "const r = img.getBoundingClientRect();"
            "return [r.x + (p[1] + p[3]) / 2 * r.width, r.y + (p[2] + p[4]) / 2 * r.height]; })()")
        for kind in ("mousePressed", "mouseReleased"):
            browser.call("Input.dispatchMouseEvent", type=kind, x=where[0], y=where[1], button="left", clickCount=1)
        browser.until("location.pathname.endsWith('/at')")
        assert browser.js("document.querySelector('h1').innerText") == "E4"


def test_at_most_eight_taps_from_the_opened_job_to_the_first_step(browser: Browser, tmp_path: Path) -> None:
    vehicle(tmp_path)
    with served(tmp_path) as url:
        opened(browser, url, STORIES["pickup"])
        who = mechanic(browser, tmp_path, STORIES["pickup"])
        who.tell("left rear stop dark when brake pedal pressed")
        assert browser.js("document.querySelectorAll('.answers').length") == 1
    assert who.taps <= 8


@pytest.fixture
def job(tmp_path: Path) -> str:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    return name


PAGES = ("", "/seen", "/suspects", "/estimate", "/circuit", "/record", "/other", "/at?point=E4", "/plan")
# Luminance and contrast as WCAG 2.1 defines them ("relative luminance", "contrast ratio").
MEASURE = """(() => {
  const lum = c => { const [r, g, b] = c.match(/[\\d.]+/g).map(Number).map(x => x / 255)
    .map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
    if (!/, 0\\)$|transparent/.test(c)) return c; } return 'rgb(255, 255, 255)'; };
  const shown = e => e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().width > 2;
  const bad = [];
  for (const e of document.querySelectorAll('button, a, summary, select, input:not([type=hidden])')) {
    if (!shown(e)) continue;
    const whole = e.matches('input[type=checkbox], input[type=radio]') ? e.closest('label') : e;
    const box = whole.getBoundingClientRect();
    if (Math.round(box.width) < 48 || Math.round(box.height) < 48)
      bad.push(['target', e.outerHTML.slice(0, 90), box.width, box.height]);
    const label = e.ariaLabel || e.innerText || (e.labels && e.labels[0] && e.labels[0].innerText) || '';
    if (!label.trim()) bad.push(['label', e.outerHTML.slice(0, 90)]);
  }
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (words.nextNode()) {
    const e = words.currentNode.parentElement;
    if (!words.currentNode.data.trim() || !shown(e) || e.closest('.hidden, option, script')) continue;
    const s = getComputedStyle(e), a = lum(s.color), b = lum(behind(e)), size = parseFloat(s.fontSize);
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 7) bad.push(['contrast', e.outerHTML.slice(0, 90), ratio]);
    const captions = 'header small, .end, .coupling, ol.do li > b, legend, .chips, .record small, .jobs small';
    if (size < (e.closest(captions) ? 13 : 18)) bad.push(['text', e.outerHTML.slice(0, 90), size]);
  }
  if (document.documentElement.scrollWidth > innerWidth) bad.push(['wide', document.documentElement.scrollWidth]);
  return bad; })()"""


@pytest.mark.parametrize("width", [320, 360])
def test_targets_text_contrast_and_labels_of_every_screen(
    browser: Browser, tmp_path: Path, job: str, width: int,
) -> None:
    found = {}
    browser.size(width, 640)
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        for address in ("/", "/new", *(f"/job/{job}{page}" for page in PAGES)):
            browser.go(url + address)
            found[address] = browser.js(MEASURE)
        browser.go(f"{url}/job/{job}?said=1")
        browser.js("document.querySelectorAll('details:not(.lamp)').forEach(d => { d.open = true; }); 0")
        found["unfolded"] = browser.js(MEASURE)
    browser.size(*SMALL)
    assert {k: v for k, v in found.items() if v} == {}


BROKEN_WORDS = r"""[...document.querySelectorAll('.lamp > summary')].flatMap(e => {
  const bad = [], texts = document.createTreeWalker(e, NodeFilter.SHOW_TEXT), range = document.createRange();
  while (texts.nextNode()) if (!texts.currentNode.parentElement.closest('.hidden'))
    for (const word of texts.currentNode.data.matchAll(/[^\s-]+/g)) {
    range.setStart(texts.currentNode, word.index); range.setEnd(texts.currentNode, word.index + word[0].length);
    const box = range.getBoundingClientRect(), style = getComputedStyle(e);
    const beyond = box.right > e.getBoundingClientRect().right + 1;
    if (beyond || box.height > 1.9 * parseFloat(style.fontSize)) bad.push(word[0]);
  }
  return bad; })"""


@pytest.mark.parametrize("width", [320, 360])
def test_no_word_of_the_vehicle_plan_is_broken(browser: Browser, tmp_path: Path, width: int) -> None:
    """Three lamps beside each other, as on a motorcycle, leave little room for “indicator”."""
    browser.size(width, 640)
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        for model in ("motorcycle_6v", "lorry_24v"):
            shutil.copy(MODELS / f"{model}.yaml", tmp_path)
            Job.create(tmp_path / f"job_{model}.yaml", tmp_path / f"{model}.yaml")
            browser.go(f"{url}/job/job_{model}/seen")
            assert browser.js("document.querySelectorAll('.lamp > summary').length") > 6
            assert browser.js(BROKEN_WORDS) == []
            assert browser.js("document.documentElement.scrollWidth") == width
    browser.size(*SMALL)


def test_the_keyboard_reaches_everything_in_the_order_in_which_it_is_read(
    browser: Browser, tmp_path: Path, job: str,
) -> None:
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}")
        reached = []
        for _ in range(30):
            for kind in ("keyDown", "keyUp"):
                browser.call("Input.dispatchKeyEvent", type=kind, key="Tab", code="Tab", windowsVirtualKeyCode=9)
            at = browser.js("[...document.querySelectorAll('a, button, summary, input:not([type=hidden])')]"
                            ".filter(e => e.checkVisibility()).indexOf(document.activeElement)")
            if at < 0 or at in reached:
                break
            reached.append(at)
        count = browser.js("[...document.querySelectorAll('a, button, summary, input:not([type=hidden])')]"
                           ".filter(e => e.checkVisibility()).length")
    assert reached == list(range(count))


def test_a_step_is_reached_and_answered_with_scripts_off(browser: Browser, tmp_path: Path) -> None:
    vehicle(tmp_path)
    with served(tmp_path) as url:
        browser.scripts(False)
        try:
            browser.go(f"{url}/?key={KEY}")
            name = started(client_of(tmp_path))
            browser.go(f"{url}/job/{name}/seen")
            browser.tap("#seen [name=set][value='brake pedal\tpressed']")
            browser.tap("[data-lamp='left rear stop'] summary")
            browser.tap("[data-lamp='left rear stop'] .looks label", "dark")
            browser.tap_through("#seen footer .go")
            browser.until("document.querySelectorAll('.answers').length", 30)
            browser.tap_through(".answers button")  # once the page is whole: a tap on one still growing goes astray
            browser.until("document.body.innerText.includes('Recorded:') && /said=[3-9]/.test(location.search)", 30)
        finally:
            browser.scripts(True)
    kinds = [e.kind for e in Job(tmp_path / f"{name}.yaml").record.living if e.kind != "proposed"]
    assert kinds in (["symptom", "reading"], ["symptom", "reading", "symptom"])


def test_an_entry_made_without_a_connection_is_kept_and_sent_once(browser: Browser, tmp_path: Path, job: str) -> None:
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}/record")
        browser.tap("[name=text]")
        browser.call("Input.insertText", text="rust at the rail")
        browser.lost = True
        browser.tap("button", "Keep the note")
        browser.until("document.getElementById('live').innerText.includes('No connection')", 30)
        assert "rust" not in (tmp_path / f"{job}.yaml").read_text(encoding="utf-8")
        browser.lost = False
        browser.until("location.search.startsWith('?said=')", 30)
        browser.go(f"{url}/job/{job}/record")
        time.sleep(0.5)
        assert browser.js("localStorage.getItem('tracer kept entries')") == "[]"
    assert (tmp_path / f"{job}.yaml").read_text(encoding="utf-8").count("rust at the rail") == 1


def test_the_other_device_shows_an_entry_within_two_seconds(browser: Browser, tmp_path: Path, job: str) -> None:
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}/record")
        took = 9.0
        for n in range(3):  # the best of three, for the machine may be busy
            Job(tmp_path / f"{job}.yaml").note(f"seen by the other man: {n}")
            at = time.monotonic()
            browser.until(f"document.body.innerText.includes('seen by the other man: {n}')", 20)
            took = min(took, time.monotonic() - at)
            if took <= 2.0:
                break
        assert took <= 3.0


# The question how the job stands, asked just before an own entry is sent and answered on the way to its page.
LATE_STAND = """(() => { const real = window.fetch; let answer;
    window.fetch = (url, more) => String(url).endsWith("/stand")
        ? new Promise(ok => { answer = () => ok(new Response('{"stand": 99}')); window.asked = true; })
        : real(url, more);
    window.addEventListener("beforeunload", () => setTimeout(answer, 100)); })()"""


def test_an_own_entry_is_not_taken_for_one_of_the_other_device(
    browser: Browser, tmp_path: Path, job: str, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Else the page is loaded anew instead of the one that says what was recorded, where that takes its time."""
    def slow(folder: Path, *more: Any) -> Flask:
        app = make_app(folder, *more)
        plain = app.wsgi_app

        def late(environ: Any, start: Any) -> Any:
            time.sleep(1 if "said=" in environ["QUERY_STRING"] else 0)
            return plain(environ, start)

        monkeypatch.setattr(app, "wsgi_app", late)
        return app

    monkeypatch.setattr("tests.page.browser.make_app", slow)
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}")
        browser.until("document.querySelectorAll('.answers').length", 30)
        browser.js(LATE_STAND)
        browser.until("window.asked", 10)
        browser.tap_through(".answers button")
        browser.until("document.body.innerText.includes('Recorded:') && /said=[0-9]/.test(location.search)", 10)


@pytest.mark.parametrize("what", ["typed", "nothing typed"])
def test_what_is_being_typed_is_not_lost_when_the_other_device_records(
    browser: Browser, tmp_path: Path, job: str, what: str,
) -> None:
    """A line of a sheet half typed stays; with nothing typed the page shows the entry."""
    with served(tmp_path) as url:
        browser.go(f"{url}/?key={KEY}")
        browser.go(f"{url}/job/{job}/plan")
        if what == "typed":
            browser.tap("textarea")
            browser.call("Input.insertText", text="TP1 half of it")
        browser.js("window.before = true")
        Job(tmp_path / f"{job}.yaml").note("seen by the other man")
        if what == "typed":
            browser.until("document.getElementById('live').innerText.includes('another device')", 10)
            assert browser.js("document.querySelector('textarea').value") == "TP1 half of it"
        else:
            browser.until("!window.before", 10)
