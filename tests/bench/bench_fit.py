"""How many steps fit a phone of 360×640 without scrolling, over simulated jobs, measured by a real browser.

Faults are planted by their rate; every step that the tool proposes on the way is shown as the page shows it, with
what was said back to the answer before, and measured down to the last thing that is needed to answer it.

    python tests/bench/bench_fit.py [MODEL ...] [--jobs N] [--seed N] [--keep FILE] [--pictures FOLDER]
"""

from __future__ import annotations

import argparse
import pickle
import random
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.bench_sheet import MODELS, Garage, brought  # noqa: E402
from tests.page.browser import Browser, browsing, served  # noqa: E402
from tests.page.driving import KEY  # noqa: E402
from tests.page.mechanic import NEEDED  # noqa: E402
from tracer.harness.file.text import load_harness  # noqa: E402
from tracer.inference.diagnose import Investigator  # noqa: E402
from tracer.job.job import Job  # noqa: E402
from tracer.job.typed import state_words, test_key  # noqa: E402
from tracer.job.values import Symptom  # noqa: E402
from tracer.job.what_if import WhatIf  # noqa: E402
from tracer.page.app import make_app  # noqa: E402
from tracer.present.conversation.core import answer, screen_of_proposal  # noqa: E402
from tracer.present.conversation.screens import NotDone, Read, Said, Step  # noqa: E402

SIZE = (360, 640)
MOST_STEPS = 20
VEHICLE = "Invented vehicle T 1970"


@dataclass(frozen=True)
class Shown:
    """A step of a job with what was said back before it."""

    model: str
    step: Step
    said: Said


def steps_of(job: WhatIf, model: str, garage: Garage, said: Said) -> list[Shown]:
    """Every step of a job up to its repair."""
    found: list[Shown] = []
    for _ in range(MOST_STEPS):
        p = job.next()
        if p.test is None:
            if p.kind != "repair" or garage.mended(job, p.says):
                break
            job.repaired_in_vain(p.says)
            continue
        screen = screen_of_proposal(job, p)
        assert isinstance(screen, Step)
        found.append(Shown(model, screen, said))
        value, others = garage.read(job, p.test, p.also)
        key = test_key(p.test)
        said = answer(job, NotDone(key) if value == "could not" else Read(key, value, others))
    return found


def collect(models: list[str], jobs: int, seed: int, minutes: float, keep: Path | None) -> list[Shown]:
    """Steps of simulated jobs, as many jobs of each model, for at most some minutes; kept job by job."""
    found: list[Shown] = []
    begun = time.monotonic()
    tools = {m: (random.Random(f"{m} {seed}"), Investigator(load_harness(MODELS / f"{m}.yaml"))) for m in models}
    for model in models * jobs:
        rng, tool = tools[model]
        if time.monotonic() - begun > 60 * minutes:
            break
        garage, told = brought(tool, rng)
        with tempfile.TemporaryDirectory() as folder:
            job = WhatIf(Job.create(Path(folder) / "job.yaml", MODELS / f"{model}.yaml", VEHICLE))
            said = Said(0, "")
            for s in told:
                assert isinstance(s, Symptom)
                done = job.symptom(f"{', '.join(x.says() for x in s.seen)} when {state_words(s.state)}")
                said = Said(done.number, f"seen: {done.understood}", done.remark)
            found += steps_of(job, model, garage, said)
        print(f"{model} {garage.fault.name}: {len(found)} steps so far", flush=True)
        if keep:
            keep.write_bytes(pickle.dumps(found))
    return found


def page_of(folder: Path, shown: Shown) -> str:
    """The page of a step as the server makes it."""
    app = make_app(folder, KEY, {"localhost"})
    job = type("Stand", (), {"vehicle": VEHICLE, "harness_changed": False, "evidence": (1,),
                             "repairs": ()})()
    with app.test_request_context("/"):
        return app.jinja_env.get_template("step.html").render(
            name="job", job=job, stand=1, mark="m", said=shown.said.recorded, said_number=shown.said.number,
            remark=shown.said.remark, changed=shown.said.changed, taken_back=False, last=1, screen=shown.step,
            photos=(), notes=(), points=("E4",))


def measure(browser: Browser, url: str, folder: Path, shown: Shown) -> int:
    """px down to the last thing needed."""
    browser.js(f"document.open(); document.write({page_of(folder, shown)!r}); document.close(); 0")
    browser.until("document.readyState == 'complete' && document.querySelector('form.more')"
                  " && getComputedStyle(document.body).fontSize == '18px'")
    return int(browser.js(NEEDED))


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("models", nargs="*", default=["pickup", "tow_7pin", "motorcycle_6v"])
    parser.add_argument("--jobs", type=int, default=10, help="of each model")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=30.0, help="to collect them at most")
    parser.add_argument("--keep", type=Path, help="the steps, collected once and measured again from here")
    parser.add_argument("--pictures", type=Path, help="of those that do not fit")
    args = parser.parse_args()
    if args.keep and args.keep.exists():
        found: list[Shown] = pickle.loads(args.keep.read_bytes())
    else:
        found = collect(args.models, args.jobs, args.seed, args.minutes, args.keep)
    with tempfile.TemporaryDirectory() as folder, browsing() as browser, served(Path(folder)) as url:
        browser.size(*SIZE)
        browser.go(f"{url}/?key={KEY}")
        px = [measure(browser, url, Path(folder), s) for s in found]
        long = sorted((p, n) for n, p in enumerate(px) if p > SIZE[1])
        for p, n in long[::-1][:12]:
            print(f"{p} px  {found[n].model}: {found[n].step.title}; {len(found[n].step.answers)} answers, "
                  f"{len(found[n].step.lines)} lines, also {len(found[n].step.also)}")
            if args.pictures:
                args.pictures.mkdir(exist_ok=True)
                measure(browser, url, Path(folder), found[n])
                browser.picture(args.pictures / f"{p}-{n}.png", whole=True)
    for model in dict.fromkeys(s.model for s in found):
        own = [p for p, s in zip(px, found, strict=True) if s.model == model]
        fit = sum(p <= SIZE[1] for p in own)
        print(f"{model}: {fit} of {len(own)} steps fit ({fit / len(own):.0%}); longest {max(own)} px")
    fit = sum(p <= SIZE[1] for p in px)
    print(f"all: {fit} of {len(px)} steps fit 360×640 ({fit / len(px):.0%}), median {sorted(px)[len(px) // 2]} px")


if __name__ == "__main__":
    main()
