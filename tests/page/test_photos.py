"""Photos and notes at a thing: kept small and bare, shown there in the vehicle's next job, and in the report."""

from __future__ import annotations

import io
import json
import re
import struct
import zlib
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from PIL import Image
from werkzeug.test import TestResponse

from tests.page.driving import ORIGIN, client_of, sent, started, vehicle
from tracer.job.job import Job
from tracer.job.photos import MOST_BYTES, add_photo, folder_of, need_thing, photos_of, scaled
from tracer.observation.evidence import Symptom
from tracer.present.report import report_html, report_markdown

SEEN = "left rear reversing lamp dim, left rear tail faint when gear reverse"
GPS_BLOCK, ORIENTATION = 0x8825, 0x0112  # tags of Exif 2.3 (JEITA CP-3451C), section 4.6


def picture(width: int = 400, height: int = 300, turned: int = 1, kind: str = "JPEG") -> bytes:
    """A photo with a red left upper corner, taken at a place, as a camera held in one of its eight ways writes it."""
    image = Image.new("RGB", (width, height), "white")
    image.paste("red", (0, 0, width // 2, height // 2))
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    exif[0x010F] = "Invented camera of Mr X"
    exif.get_ifd(GPS_BLOCK).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})
    out = io.BytesIO()
    image.save(out, kind, **({"exif": exif} if kind in ("JPEG", "WEBP", "PNG") else {}))
    return out.getvalue()


def posted(client: FlaskClient, name: str, content: bytes, file: str = "a.jpg", **form: str) -> TestResponse:
    data = {"mark": "m", "point": "E4", **form, "photo": (io.BytesIO(content), file)}
    return client.post(f"/job/{name}/at", headers=ORIGIN, data=data, content_type="multipart/form-data")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF"])
def test_a_photo_is_kept_small_and_without_what_the_camera_wrote(kind: str) -> None:
    small = scaled(picture(3000, 2000, kind=kind))
    image = Image.open(io.BytesIO(small))
    assert image.format == "JPEG" and image.size == (1600, 1067)
    assert not image.getexif() and b"Invented camera" not in small and b"Exif" not in small
    assert len(small) < 300_000


@pytest.mark.parametrize(("turned", "size", "red"), [
    (1, (400, 300), (10, 10)), (3, (400, 300), (390, 290)), (6, (300, 400), (290, 10)), (8, (300, 400), (10, 390)),
])
def test_it_stands_upright(turned: int, size: tuple[int, int], red: tuple[int, int]) -> None:
    """Orientation of Exif 2.3: 3 turned by 180°, 6 to be turned clockwise by 90°, 8 anticlockwise: of the red corner
    of the stored picture, left above, this makes right below, right above and left below."""
    image = Image.open(io.BytesIO(scaled(picture(turned=turned)))).convert("RGB")
    assert image.size == size
    r, g, b = image.getpixel(red)  # type: ignore[misc]
    assert r > 200 and g < 60 and b < 60


NONE = {
    "text": b"hello", "half a JPEG": picture()[:400], "a page": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "noise": bytes(range(256)) * 40, "a head alone": b"\xff\xd8\xff\xe0", "PDF": b"%PDF-1.7\n",
}


@pytest.mark.parametrize("content", NONE.values(), ids=NONE)
def test_a_file_that_is_no_photo_gets_a_plain_sentence_and_nothing_is_kept(tmp_path: Path, content: bytes) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    before = (tmp_path / f"{name}.yaml").read_bytes()
    answer = posted(client, name, content)
    assert answer.status_code == 422 and "no photo that can be read" in answer.text
    assert (tmp_path / f"{name}.yaml").read_bytes() == before
    assert not folder_of(tmp_path / f"{name}.yaml").exists()


def test_a_picture_that_would_fill_the_memory_is_refused() -> None:
    """A few bytes that say that they are a picture of 40,000 by 40,000 points (PNG, ISO/IEC 15948: the header with
    its checksum comes first)."""
    small = io.BytesIO()
    Image.new("1", (8, 8)).save(small, "PNG")
    start, rest = small.getvalue()[:12], small.getvalue()[33:]
    header = b"IHDR" + struct.pack(">II", 40_000, 40_000) + small.getvalue()[24:29]
    with pytest.raises(Exception, match="pixels"):
        scaled(start + header + struct.pack(">I", zlib.crc32(header)) + rest)


def test_twenty_megabytes_are_taken_and_more_than_the_limit_is_not(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    large = picture(2000, 1500) + b"\0" * 20_000_000
    assert posted(client, name, large).status_code == 303
    assert posted(client, name, picture() + b"\0" * (MOST_BYTES + 300_000), mark="n").status_code == 413
    kept = list(folder_of(tmp_path / f"{name}.yaml").iterdir())
    assert len(kept) == 1 and kept[0].stat().st_size < 500_000


@pytest.mark.parametrize("file", ["../../etc/passwd", "a\0b.jpg", "<script>.jpg", "con", "x" * 300, "; rm -rf .jpg"])
def test_a_hostile_file_name_never_becomes_one_here(tmp_path: Path, file: str) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    posted(client, name, picture(), file.replace("\0", "%00"))
    assert all(re.fullmatch(r"[0-9a-f]{16}\.jpg", p.name) for p in folder_of(tmp_path / f"{name}.yaml").iterdir())
    assert {p.name for p in tmp_path.iterdir()} <= {"pickup.yaml", f"{name}.yaml", f".{name}.yaml.lock",
                                                    f"{name}.photos"}


@pytest.mark.parametrize("file", ["../pickup.yaml", "/etc/passwd", "0123456789abcdef.jpg", "a/b.jpg"])
def test_a_job_file_that_names_another_file_shows_none(tmp_path: Path, file: str) -> None:
    vehicle(tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "pickup.yaml")
    job.add([("photo", {"file": file, "at": "E4"})])
    assert photos_of(job) == ()
    client = client_of(tmp_path)
    assert client.get(f"/job/job/photo/job/{Path(file).name}").status_code == 404


def test_it_is_shown_at_the_step_and_in_the_next_job_on_the_vehicle(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    answer = posted(client, name, picture(), text="behind the lamp <b>")
    assert posted(client, name, picture(), text="behind the lamp <b>").status_code == answer.status_code == 303
    client.post(f"/job/{name}/at", headers=ORIGIN, data={"mark": "n", "point": "E4", "text": "rust"})
    assert [e.kind for e in Job(tmp_path / f"{name}.yaml").record.living if e.kind in ("photo", "note")] == [
        "photo", "note"]
    page = client.get(f"/job/{name}").text
    source = re.search(r'<img src="([^"]*)" alt="behind the lamp &lt;b&gt;"', page)
    assert source and client.get(source[1]).data.startswith(b"\xff\xd8")
    again = client.post("/new", headers=ORIGIN, data={"vehicle_file": f"job:{name}", "complaint": "again"})
    later = again.headers["Location"].removeprefix("/job/")
    sent(client, later, what="words", words=SEEN, mark="a")
    page = client.get(f"/job/{later}").text
    assert "behind the lamp &lt;b&gt;, an earlier job" in page and "rust (an earlier job)" in page
    thing = client.get(f"/job/{later}/at?point=E4").text
    assert "earth point" in thing and "rust" in thing and "<img" in thing


def test_the_report_has_them_on_request_alone(tmp_path: Path) -> None:
    vehicle(tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "pickup.yaml")
    job.symptom(SEEN)
    add_photo(job, picture(), "E4", "rust & salt")
    assert "data:image/jpeg" not in report_html(job)
    page = report_html(job, photos=True)
    assert "data:image/jpeg;base64," in page and "E4, rust &amp; salt" in page
    assert "E4, rust &amp; salt" in report_markdown(job, photos=True)


def test_what_is_known_of_a_part_is_told(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    sent(client, name, what="read", test="volts E4 when gear reverse", value="3.4 V", mark="b")
    page = client.get(f"/job/{name}/at?point=E4").text
    assert "clean and remake earth point E4" in page and "volts E4: 3.4 V" in page
    assert "left rear tail" in client.get(f"/job/{name}/at?point=left rear.stop").text
    assert client.get(f"/job/{name}/at?point=nothing").status_code == 422
    circuit = client.get(f"/job/{name}/circuit").text
    found = re.search(r'data-places="([^"]*)"', circuit)
    assert found
    places = json.loads(found[1].replace("&#34;", '"'))
    assert {"E4", "left rear"} <= {p[0] for p in places}
    assert all(-0.1 < x < 1.1 for p in places for x in p[1:])


def test_a_thing_that_is_not_there_is_refused(tmp_path: Path) -> None:
    vehicle(tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "pickup.yaml")
    for name in ("E4", "left rear", "left rear.stop", "C2.5", "C2", "left rear stop"):
        need_thing(job.harness, name)
    with pytest.raises(Exception, match="there is no “E44”"):
        add_photo(job, picture(), "E44")


def test_a_folder_that_takes_no_photo_gets_a_plain_sentence(tmp_path: Path) -> None:
    vehicle(tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "pickup.yaml")
    folder_of(job.path).write_text("in the way")
    with pytest.raises(Exception, match="cannot be kept"):
        add_photo(job, picture(), "E4")
    assert not job.record.events


@pytest.mark.parametrize("between", [False, True])
def test_a_photo_between_a_repair_and_the_next_look_changes_nothing(tmp_path: Path, between: bool) -> None:
    """Who looks after a repair was sent to look, whether he took a photo first or not."""
    vehicle(tmp_path)
    job = Job.create(tmp_path / "job.yaml", tmp_path / "pickup.yaml")
    job.symptom(SEEN)
    job.repaired("new earth ring")
    if between:
        add_photo(job, picture(), "E4")
    job.symptom("left rear reversing lamp dim when gear reverse")
    said = job.entries[-1].item
    assert isinstance(said, Symptom) and said.asked
