"""Every screen, and whole jobs by its forms alone."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.page.driving import ORIGIN, client_of, heading, hidden, sent, started, tables, vehicle
from tracer.job.job import Job
from tracer.observation.story import Story


def test_a_whole_job_by_forms_alone(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    assert heading(client.get(f"/job/{name}").text) == "What was seen"
    kept = client.post(f"/job/{name}/entry", headers=ORIGIN, data={
        "what": "seen", "mark": "a", "set": ["ignition\ton", "gear\treverse"], "look:left rear reversing": "dim",
        "look:left rear tail": "faint",
    })
    page = client.get(kept.headers["Location"]).text
    assert "Recorded:" in page and "left rear tail faint" in page
    assert heading(page) == "Volts E4"
    page = client.get(sent(client, name, what="read", test=hidden(page, "test"), value="3.4", unit="V",
                           mark="b").headers["Location"]).text
    assert heading(page) == "Clean and remake earth point E4"
    page = client.get(sent(client, name, what="mended", repair=hidden(page, "repair"), mark="c", minutes="12",
                           parts="ring terminal").headers["Location"]).text
    assert "check 1 of" in page
    for turn in range(10):
        if "Repaired and proven" in page:
            break
        measured = "Measure once more" in page
        shown = {"shows": "0.04"} if measured else {"result": "ok"}
        page = client.get(sent(client, name, what="checked", check=hidden(page, "check"), **shown,
                               repair=hidden(page, "repair"), mark=f"d{turn}").headers["Location"]).text
    assert heading(page) == "Repaired and proven"
    assert measured, "what the voltmeter found on a dim lamp is measured again, last"
    job = Job(tmp_path / f"{name}.yaml")
    assert job.closed
    assert job.repairs[0].data["parts"] == ["ring terminal"] and job.repairs[0].data["minutes"] == 12


def test_what_is_measured_again_and_is_as_bad_as_before_opens_the_job(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words="left rear reversing lamp dim, left rear tail faint when gear reverse")
    job = Job(tmp_path / f"{name}.yaml")
    job.reading("volts E4 when gear reverse", "3.4 V")
    proof = job.repaired("1")
    job.prove_all({c.number: "ok" for c in proof.checks[:-1]})
    page = client.get(f"/job/{name}").text
    assert "Measure once more" in page and "Something is different" not in page
    kept = sent(client, name, what="checked", check=hidden(page, "check"), repair=hidden(page, "repair"),
                shows="3.3 V", mark="a")
    assert "check" not in heading(client.get(kept.headers["Location"]).text), "the next step, and no proof"
    assert not Job(job.path).closed


def test_each_further_screen_shows_what_it_is_for(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words="left rear reversing lamp dim, left rear tail faint when gear reverse")
    pages = ("suspects", "circuit", "record", "other", "seen")
    shown = {page: client.get(f"/job/{name}/{page}").text for page in pages}
    assert "clean and remake earth point E4" in shown["suspects"]
    assert "take this back" in shown["record"] and "left rear tail faint" in shown["record"]
    assert "no voltmeter" in shown["other"]
    assert "left headlamp dip" in shown["seen"]
    assert client.get(f"/job/{name}/circuit.svg").data.startswith((b"<?xml", b"<svg"))
    assert "Job record" in client.get(f"/job/{name}/report").text
    assert all(len(text) < 100_000 for text in shown.values())
    assert all(len(re.findall("<h1", text)) == 1 for text in shown.values())


def test_a_lamp_that_should_shine_is_shown_lit_for_the_controls_as_set(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    braking = {"set": ["ignition\ton", "brake pedal\tpressed"]}
    usual = client.get(f"/job/{name}/usual", query_string=braking).get_json()
    assert {lamp for lamp, look in usual.items() if look != "dark"} == {"left rear stop", "right rear stop"}
    reversing = {"set": ["ignition\ton", "gear\treverse"]}
    page = client.post(f"/job/{name}/understood", headers=ORIGIN, data=reversing).text
    lit = set(re.findall(r'class="lamp lit" data-lamp="([^"]*)"', page))
    assert lit == {"left rear reversing", "right rear reversing"}


def test_words_are_said_back_and_marked_on_the_plan_before_they_are_kept(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    before = (tmp_path / f"{name}.yaml").read_bytes()
    page = client.post(f"/job/{name}/understood", headers=ORIGIN,
                       data={"words": "left rear reversing lamp dim when gear reverse"}).text
    assert "Understood:" in page and 'name="look:left rear reversing" value="dim" checked' in page
    assert 'value="gear\treverse" checked' in page
    assert (tmp_path / f"{name}.yaml").read_bytes() == before


def test_an_answer_that_names_several_lamps_records_them_all(tmp_path: Path) -> None:
    vehicle(tmp_path, "tow_7pin")
    client = client_of(tmp_path)
    name = started(client, "tow_7pin", "Invented estate car")
    seen = "trailer left stop dark, trailer right stop dark when brake pedal pressed"
    page = client.get(sent(client, name, what="words", mark="a", words=seen).headers["Location"]).text
    found = tables(page)
    assert found
    sent(client, name, what="read", test=hidden(page, "test"), table=str(found[0]).replace("'", '"'), mark="b")
    job = Job(tmp_path / f"{name}.yaml")
    told = [e.data for e in job.record.living if e.kind == "symptom"][-1]
    assert {s["lamp"] for s in told["seen"]} == {lamp for lamp, _ in found[0][1:]}


def test_a_step_that_cannot_be_done_gives_another(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    seen = "left rear reversing lamp dim, left rear tail faint when gear reverse"
    page = client.get(sent(client, name, what="words", mark="a", words=seen).headers["Location"]).text
    first = hidden(page, "test")
    page = client.get(sent(client, name, what="not done", test=first, mark="b").headers["Location"]).text
    assert hidden(page, "test") != first
    limited = client.get(f"/job/{name}", query_string={"without": ["voltmeter"]}).text
    assert "Volt" not in heading(limited)


def test_a_failed_check_opens_the_job_again(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", mark="a", words="left rear stop dark when brake pedal pressed")
    page = client.get(sent(client, name, what="mended", own="new bulb left rear stop",
                           mark="b").headers["Location"]).text
    check = hidden(page, "check")
    marking = client.get(f"/job/{name}/seen?check={check}").text
    assert "Set: " in marking and 'name="set"' not in marking
    after = sent(client, name, what="checked", check=check, repair=hidden(page, "repair"), mark="c",
                 **{"look:left rear stop": "dark"})
    assert after.status_code == 303, after.text
    assert "open: proof check" in Job(tmp_path / f"{name}.yaml").status()


def test_the_story_is_kept_in_the_record_and_may_be_skipped(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    client.post("/new", headers=ORIGIN, data={
        "vehicle_file": "harness:pickup.yaml", "vehicle": "A 1", "complaint": "dead",
        "work": ["trailer socket", "radio"], "since": "", "runs": "yes"})
    told = [dict(e.data) for e in Job(tmp_path / "a-1.yaml").record.living if e.kind == "story"]
    assert told == [{"runs": True, "work": ["trailer socket", "radio"]}]
    started(client, vehicle="B 2")
    assert Job(tmp_path / "b-2.yaml").record.living == ()


def test_an_earlier_job_on_the_vehicle_is_carried_on(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    first = started(client)
    again = client.post("/new", headers=ORIGIN, data={"vehicle_file": f"job:{first}", "complaint": "again"})
    assert Job(tmp_path / (again.headers["Location"].removeprefix("/job/") + ".yaml")).earlier_jobs


@pytest.mark.parametrize("model", ["pickup", "tow_7pin", "motorcycle_6v"])
def test_jobs_stand_open_first_with_vehicle_and_state(tmp_path: Path, model: str) -> None:
    vehicle(tmp_path, model)
    client = client_of(tmp_path)
    assert "No job in this folder yet" in client.get("/").text
    name = started(client, model)
    (tmp_path / "broken.yaml").write_text("tracer job: 1\nharness: 7\n", encoding="utf-8")
    page = client.get("/").text
    assert "nothing told yet" in page and "cannot be opened" in page
    assert page.index(f"/job/{name}") < page.index("cannot be opened")




def test_the_complaint_that_was_typed_stands_ready_to_be_understood(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    where = client.post("/new", headers=ORIGIN, data={
        "vehicle_file": "harness:pickup.yaml", "vehicle": "A 1", "complaint": "left brake light dead"})
    page = client.get(where.headers["Location"]).text
    assert '<details class="fold" open><summary>say it in a sentence' in page
    assert 'name="words" value="left brake light dead"' in page
    sent(client, "a-1", what="words", words="left rear stop dark when brake pedal pressed", mark="a")
    again = client.get("/job/a-1/seen").text  # the second time it is something else that was seen
    assert 'name="words" value=""' in again and '<details class="fold"><summary>say it in a sentence' in again


def test_a_closed_job_offers_one_page_for_the_customer_and_the_full_record(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    seen = "left rear reversing lamp dim, left rear tail faint when gear reverse"
    sent(client, name, what="words", mark="a", words=seen)
    job = Job(tmp_path / f"{name}.yaml")
    job.prove_all({c.number: "ok" for c in job.repaired("clean and remake earth point E4").checks})
    page = client_of(tmp_path).get(f"/job/{name}").text
    assert f"/job/{name}/customer" in page and f"/job/{name}/report" in page
    told = client.get(f"/job/{name}/customer")
    assert told.status_code == 200 and "What was wrong" in told.text
    assert "E4" not in re.sub("<[^>]*>", "", told.text.split("What was wrong")[1].split("What was done")[0])
    assert "script" not in told.headers["Content-Security-Policy"].replace("script-src 'none'", "")


def test_the_page_understands_every_sentence_that_the_terminal_does(tmp_path: Path) -> None:
    """Of two states of the controls, and of a fuse that needs a reading: said back whole, and kept whole."""
    vehicle(tmp_path, "tow_7pin")
    client = client_of(tmp_path)
    name = started(client, "tow_7pin", "Invented estate car")
    words = "trailer lights all go dim when I brake"
    page = client.post(f"/job/{name}/understood", headers=ORIGIN, data={"words": words})
    assert page.status_code == 200
    said = html.unescape(page.text.split("Understood:</b>")[1].split("</p>")[0])
    assert said.count("trailer left tail") == 2 and "brake pedal pressed" in said
    assert 'name="look:trailer left tail" value="dim" checked' not in page.text  # the plan shows one state at a time
    sent(client, name, what="words", words=hidden(page.text, "words"), mark="a")
    job, own = Job(tmp_path / f"{name}.yaml"), Job.create(tmp_path / "own.yaml", tmp_path / "tow_7pin.yaml")
    own.symptom(words)
    assert [e.item for e in job.entries] == [e.item for e in own.entries]


def test_what_is_not_understood_is_offered_in_ready_sentences(tmp_path: Path) -> None:
    vehicle(tmp_path, "tow_7pin")
    client = client_of(tmp_path)
    name = started(client, "tow_7pin", "Invented estate car")
    page = client.post(f"/job/{name}/understood", headers=ORIGIN, data={"words": "left brake light dead"})
    assert page.status_code == 422 and 'role="alert"' in page.text
    ready = [html.unescape(w) for w in re.findall(r'class="stack"><input type="hidden" name="words" value="([^"]*)"',
                                                  page.text)]
    assert len(ready) >= 2
    for words in ready:
        answer = client.post(f"/job/{name}/understood", headers=ORIGIN, data={"words": words})
        assert answer.status_code == 200 and "Understood:" in answer.text


def test_the_story_is_asked_for_where_nobody_told_it(tmp_path: Path) -> None:
    """Once, beside what was seen; the same reply as in the guide."""
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    page = client.get(f"/job/{name}").text
    assert "crank and run as usual" in page and 'name="work"' in page

    assert sent(client, name, what="story", runs="yes", work=["washed"], mark="s").status_code == 303
    job = Job(tmp_path / f"{name}.yaml")
    assert job.story == Story(runs=True, work=("washed",))
    assert "crank and run as usual" not in client.get(f"/job/{name}").text
    assert sent(client, name, what="story", mark="t").status_code == 422


def test_the_side_of_the_road_is_told_with_the_vehicle(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    assert "keeps right" in client.get("/new").text
    client.post("/new", data={"vehicle_file": "harness:pickup.yaml", "vehicle": "abroad", "traffic": "keeps right"},
                headers=ORIGIN)
    said = client.post("/job/abroad/understood", data={"words": "n/s tail dead"}, headers=ORIGIN).text
    assert "right rear tail dark" in said and "keeps right" in said
