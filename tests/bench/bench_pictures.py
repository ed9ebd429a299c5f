"""Pictures of every screen of the page at four sizes and in grey, to be looked at; prints where they lie.

    python tests/bench/bench_pictures.py FOLDER [--sizes 360x640,390x844,820x1180,1280x800] [--whole]
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from PIL import Image  # noqa: E402

from demo.stories import STORIES  # noqa: E402
from tests.page.browser import browsing, served  # noqa: E402
from tests.page.driving import KEY, client_of, sent, started, vehicle  # noqa: E402
from tracer.job.job import Job  # noqa: E402
from tracer.job.photos import add_note, add_photo  # noqa: E402
from tracer.present.sheet.page import sheet_html  # noqa: E402
from tracer.present.sheet.tree import grow  # noqa: E402

SIZES = "360x640,390x844,820x1180,1280x800"
OPEN_ALL = "document.querySelectorAll('details:not(.lamp)').forEach(d => { d.open = true; }); 0"


def photo() -> bytes:
    """An invented rusty earth point."""
    image = Image.new("RGB", (900, 600), (120, 130, 120))
    image.paste((150, 80, 30), (350, 200, 560, 400))
    out = io.BytesIO()
    image.save(out, "JPEG")
    return out.getvalue()


def prepared(folder: Path) -> dict[str, str]:
    """Jobs in all states: what is shown → its address."""
    for model in ("pickup", "tow_7pin", "motorcycle_6v", "tractor", "lorry_24v"):
        vehicle(folder, model)
    client = client_of(folder)
    fresh, step, mend, proof, closed = (started(client, vehicle=f"Invented {n}") for n in
                                        ("new one", "pick-up T 1970", "to be repaired", "repaired", "proven"))
    story = STORIES["pickup"]
    for name in (step, mend, proof, closed):
        for n, seen in enumerate(story.seen):
            sent(client, name, what="words", words=seen, mark=f"a{n}")
    job = Job(folder / f"{step}.yaml")
    add_photo(job, photo(), "E4", "rust behind the lamp")
    add_note(job, "the bolt turns with the nut", "E4")
    for name in (mend, proof, closed):
        sent(client, name, what="read", test="volts E4 when gear reverse", value="3.4 V", mark="b")
    for name in (proof, closed):
        sent(client, name, what="mended", repair="clean and remake earth point E4", mark="c")
    done = Job(folder / f"{closed}.yaml")
    assert done.proof
    done.prove_all({c.number: "ok" for c in done.proof.checks})
    trailer = started(client, "tow_7pin", "Invented estate car with trailer")
    for n, seen in enumerate(STORIES["trailer"].seen):
        sent(client, trailer, what="words", words=seen, mark=f"a{n}")
    others = {m: started(client, m, f"Invented {m}") for m in ("motorcycle_6v", "tractor", "lorry_24v")}
    return {
        "jobs": "/", "new": "/new", "seen": f"/job/{fresh}", "step": f"/job/{step}?said=1", "open": f"/job/{step}",
        "trailer-step": f"/job/{trailer}?said=2", "trailer-seen": f"/job/{trailer}/seen", "repair": f"/job/{mend}",
        "proof": f"/job/{proof}", "closed": f"/job/{closed}", "suspects": f"/job/{step}/suspects",
        "estimate": f"/job/{step}/estimate",
        "circuit": f"/job/{step}/circuit", "record": f"/job/{mend}/record", "other": f"/job/{step}/other",
        "thing": f"/job/{step}/at?point=E4", "plan": f"/job/{step}/plan",
        "different": f"/job/{proof}/seen?check=1", "error": "/job/none",
        **{f"seen-{m}": f"/job/{name}" for m, name in others.items()},
    }


def main() -> None:
    """Take them."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sizes", default=SIZES)
    parser.add_argument("--only", default="")
    parser.add_argument("--whole", action="store_true", help="down to the end of the page")
    args = parser.parse_args()
    args.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, browsing() as tab, served(Path(folder)) as url:
        addresses = {k: url + v for k, v in prepared(Path(folder)).items()}
        job = Job(Path(folder) / "invented-pick-up-t-1970.yaml")
        sheet = Path(folder) / "sheet.html"
        sheet.write_text(sheet_html(job, grow(job, minutes=0.15)), encoding="utf-8")
        addresses["sheet"] = sheet.as_uri()
        tab.go(f"{url}/?key={KEY}")
        for size in args.sizes.split(","):
            width, height = map(int, size.split("x"))
            tab.size(width, height)
            for name, address in addresses.items():
                if args.only and name not in args.only.split(","):
                    continue
                tab.go(address)
                if name == "open":
                    tab.js(OPEN_ALL)
                tab.picture(args.folder / f"{name}-{size}.png", whole=args.whole or name == "open")
                wide = tab.js("document.documentElement.scrollWidth")
                if wide > width:
                    print(f"{name} at {size}: {wide} px wide")
        tab.size(360, 640)
        tab.call("Emulation.setEmulatedVisionDeficiency", type="achromatopsia")
        for name in ("step", "seen", "trailer-step", "proof", "sheet", "suspects"):
            tab.go(addresses[name])
            tab.picture(args.folder / f"{name}-grey.png")
    print(f"{len(list(args.folder.glob('*.png')))} pictures in {args.folder}")


if __name__ == "__main__":
    main()
