"""The report in words: the data of a job as blocks of text that HTML and Markdown both can show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, ClassVar, Literal

from msgspec import Struct

from tracer.units import capital, minutes, percent

_GRADE = {"danger": "DANGER", "caution": "Caution", "note": "Note"}
Tone = Literal["plain", "good", "open", "warning", "small"]

_FOOT = (
    "Likelihoods are worked out from the harness file and typical fault rates, given what was seen and measured. "
    "Minutes of tests are estimates. Local rules and licensed practice come first. At the roadside: off "
    "the road, or warned."
)


class Heading(Struct, frozen=True):
    kind: ClassVar[str] = "heading"
    text: str


class Paragraph(Struct, frozen=True):
    kind: ClassVar[str] = "paragraph"
    text: str
    tone: Tone = "plain"


class Facts(Struct, frozen=True):
    """Pairs of label and text."""

    kind: ClassVar[str] = "facts"
    rows: tuple[tuple[str, str], ...]


class Bullets(Struct, frozen=True):
    kind: ClassVar[str] = "bullets"
    items: tuple[str, ...]


class Table(Struct, frozen=True):
    kind: ClassVar[str] = "table"
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Listing(Struct, frozen=True):
    """Text shown as typed, line by line."""

    kind: ClassVar[str] = "listing"
    text: str


class Card(Struct, frozen=True):
    """One entry of the job with a title; `withdrawn` if it was taken back."""

    kind: ClassVar[str] = "card"
    title: str
    blocks: tuple[Block, ...]
    withdrawn: bool = False


class Drawing(Struct, frozen=True):
    """The place of the drawing."""

    kind: ClassVar[str] = "drawing"
    caption: str


class Picture(Struct, frozen=True):
    """A photo. `source`: as an address that needs nothing else; `file`: beside the job."""

    kind: ClassVar[str] = "picture"
    caption: str
    source: str
    file: str


Block = Heading | Paragraph | Facts | Bullets | Table | Listing | Card | Drawing | Picture
Data = Mapping[str, Any]


def report_blocks(data: Data) -> list[Block]:
    """The whole report, top to bottom, without its title."""
    return [
        *_summary(data), *_open(data), *_seen(data), *_tests(data), *_contradictions(data), *_reasoning(data),
        *_repairs(data), *_effort(data), *_differences(data), *_cautions(data), Paragraph(_FOOT, "small"),
        *_drawing(data),
    ]


def when(time: str | None) -> str:
    """A time as day and clock time of the place where it was written."""
    return datetime.fromisoformat(time).strftime("%Y-%m-%d %H:%M") if time else "–"


def _minutes(value: float | None) -> str:
    return "not recorded" if value is None else minutes(value)


def _summary(data: Data) -> list[Block]:
    standing = [r for r in data["repairs"] if not r["withdrawn"]]
    risk, harness = data["risk_of_another_fault"], data["harness"]
    rows = [
        ("Complaint as given", data["complaint"] or "none recorded"),
        ("Status", data["status"]),
        ("From – to", f"{when(data['started'])} – {when(data['last_entry'])}"),
    ]
    reasoning = data["reasoning"]
    if reasoning and reasoning["what_is_wrong"] and standing:
        label = "What was wrong" if data["closed"] else "Held to be wrong"
        rows.append((label, reasoning["what_is_wrong"]))
    if standing:
        rows.append(("Repair", standing[-1]["repair"]))
        good = [c for c in standing[-1]["checks"] if c["result"] == "as expected"]
        rows.append(("Proof", f"{len(good)} of {len(standing[-1]['checks'])} checks as expected"))
    if risk:
        rows.append(("Risk of another fault", f"{percent(risk['now'])}{_risk_note(data)}"))
    changed = "changed since the job was opened" if harness["changed_since_job_was_opened"] else "unchanged"
    rows.append(("Harness file", f"{harness['title']} ({harness['file']}, {changed})"))
    out: list[Block] = [Facts(tuple(rows))]
    if data["closed"]:
        return [Paragraph("Repaired and proven: every proof check came out as expected.", "good"), *out]
    return [Paragraph(f"JOB STILL OPEN – {_after_colon(data['status'])}", "open"), *_road(data), *out]


def _after_colon(status: str) -> str:
    left = status.removeprefix("open").lstrip(": ")
    return left or "no repair recorded yet"


def _risk_note(data: Data) -> str:
    risk = data["risk_of_another_fault"]
    if data["closed"]:
        return f" after the checks (before them {percent(risk['before_the_checks'])})"
    return f" until all checks are good; {percent(risk['after_all_checks'])} then"


def _open(data: Data) -> list[Block]:
    if data["open"] is None:
        return []
    suspects, step = data["open"]["suspects"], data["open"]["next_step"]
    out: list[Block] = [Heading("Where the job stands")]
    if suspects:
        out.append(Table(
            ("Suspect: what would be wrong", "What to do", "Chance"),
            tuple(
                (f"{s['rank']}: {s['what_would_be_wrong']}", s["repair"], percent(s["probability"])) for s in suspects
            ),
        ))
        none = data["open"]["probability_of_none_described"]
        if none >= 0.5:
            out.append(Paragraph(
                f"No fault that the harness file describes explains what is recorded ({percent(none)}).", "warning"))
        elif none >= 0.02:
            out.append(Paragraph(f"Something that the harness file does not describe: {percent(none)}."))
    label = f"{step.get('label')}: " if step.get("label") else ""
    blocks: list[Block] = [Paragraph(f"{label}{step['says']}")]
    if step.get("checks_left"):
        blocks.append(Paragraph("Proof checks left: " + ", ".join(map(str, step["checks_left"]))))
    if step.get("expected"):
        blocks.append(_expected_table(step["expected"]))
    out.append(Card("Next step", (*_told(step), *blocks)))
    return out


def _told(step: Data) -> list[Block]:
    """The cautions of a step, above it."""
    said = tuple(f"{_GRADE[c['grade']]}: {c['text']}" for c in step.get("cautions") or ())
    return [Bullets(said)] if said else []


def _road(data: Data) -> list[Block]:
    road = data["road"]
    return [Paragraph(road["says"], "warning"), Paragraph(road["lamps"])] if road else []


def _expected_table(expected: Sequence[Data]) -> Table:
    return Table(
        ("If this was the cause (likelihood then)", "it would show"),
        tuple((f"{e['suspect']} ({percent(e['probability'])})", e["shows"]) for e in expected),
    )


def _seen(data: Data) -> list[Block]:
    out: list[Block] = [Heading("What was seen")]
    for s in data["seen"]:
        looks = [*s["looks"], *(["everything else normal"] if s["everything_else_normal"] else [])]
        rows = [("Vehicle state", s["state"] or "not known any more"), ("Seen", "; ".join(looks) or s["as_said"])]
        if s["as_said"] and looks:
            rows.append(("In the words given", s["as_said"]))
        late = ", after a repair" if s["after_repair"] else ""
        out.append(Card(f"{when(s['time'])}{late}", (Facts(tuple(rows)),), s["withdrawn"]))
    return out if data["seen"] else [*out, Paragraph("No symptom is recorded.")]


def _tests(data: Data) -> list[Block]:
    out: list[Block] = [Heading("Tests")]
    for t in data["tests"]:
        blocks: list[Block] = [*_told(t), Paragraph(f"Set-up: {t['set_up']}.")]
        if t["expected"]:
            blocks.append(_expected_table(t["expected"]))
        blocks.append(Facts((("Found", t["found"]),)))
        title = f"{t['label']} – {t['instrument']}, {when(t['time'])}"
        if t["estimated_minutes"] is not None:
            title += f", about {_minutes(t['estimated_minutes'])}"
        out.append(Card(title, tuple(blocks), t["withdrawn"]))
    return out if data["tests"] else [*out, Paragraph("No test was made.")]


def _contradictions(data: Data) -> list[Block]:
    if not data["contradictions"]:
        return []
    said = tuple(f"{c['first']} – against – {c['second']}" for c in data["contradictions"])
    return [Heading("Contradictions"), Paragraph("These entries cannot both be right; both are kept.", "warning"),
            Bullets(said)]


def _reasoning(data: Data) -> list[Block]:
    r = data["reasoning"]
    if r is None:
        return []
    repaired = r["of"] == "repaired"
    out: list[Block] = [Heading("Why this was repaired" if repaired else "Most likely so far, and why")]
    if not r["known_to_the_harness_file"]:
        return [*out, Paragraph(
            f"The repair “{r['repair']}” is in words of its own: it is not on the list of what the harness file "
            "describes, so that no reason is worked out for it.")]
    share = percent(r["probability"])
    out.append(Paragraph(
        f"{capital(r['what_is_wrong'])}. " + (f"Before the repair, {share} of the likelihood stood for it."
                                               if repaired else f"{share} of the likelihood stands for it.")))
    out += _path(r["path"])
    out.append(Table(
        ("Seen or found", "This cause predicts", "Fits"),
        tuple((f"{e['test'] or 'Seen'}: {e['seen']}", e["predicted"], _fit_words(e)) for e in r["evidence"]),
    ))
    gone = [o for o in r["ruled_out"] if o["excluded"]]
    if gone:
        out += [Paragraph("What else it could have been, and what spoke against it:"),
                Bullets(tuple(_excluded(o) for o in gone))]
    left = [o for o in r["ruled_out"] if not o["excluded"]]
    if left:
        out += [Paragraph("Not excluded by any test:", "warning"),
                Bullets(tuple(f"{o['suspect']} ({percent(o['probability_in_the_end'])})" for o in left))]
    if r["probability_of_none_described"] >= 0.02:
        none = percent(r["probability_of_none_described"])
        out.append(Paragraph(f"Likelihood of a cause that the harness file does not describe: {none}."))
    return out


def _fit_words(e: Data) -> str:
    if not e["fits"]:
        return "NO"
    return "yes, unlike a healthy vehicle" if e["a_healthy_vehicle_would_not"] else "yes"


def _path(path: Data | None) -> list[Block]:
    if path is None:
        return []
    if path["words"].startswith("no current"):
        return [Paragraph(f"With {path['state']}, {path['words']}.")]
    out: list[Block] = [Paragraph(f"With {path['state']}, the current through {path['lamp']} takes this way: "
                                  f"{path['words']}.")]
    if path["back_feed_through"]:
        lamps = " and ".join(path["back_feed_through"])
        out.append(Paragraph(
            f"Back-feed: current passes {lamps} the wrong way round, which it never does on a healthy vehicle."))
    return out


def _excluded(o: Data) -> str:
    if o["test"] is None:
        return f"{o['suspect']} – everything found together made it unlikely ({percent(o['probability_in_the_end'])})"
    return f"{o['suspect']} – {o['test']} would have shown {o['would_have_shown']}; found was {o['found']}"


def _drawing(data: Data) -> list[Block]:
    standing = any(not r["withdrawn"] for r in data["repairs"]) and not (data["open"] and data["open"]["suspects"])
    return [Drawing("The affected circuit with the fault that was repaired" if standing else "The affected circuit")]


def _repairs(data: Data) -> list[Block]:
    out: list[Block] = []
    for r in data["repairs"]:
        rows = [("Done", r["repair"]), ("Parts", ", ".join(r["parts"]) or "none"),
                ("Minutes", _minutes(r["recorded_minutes"]))]
        blocks: list[Block] = [*_told(r), Facts(tuple(rows))]
        if not r["changed_what_the_vehicle_does"]:
            blocks.append(Paragraph("The complaint stayed as it was.", "warning"))
        elif r["followed_by_another"]:
            blocks.append(Paragraph("Another repair followed this one.", "warning"))
        if r["checks"]:
            told = tuple(f"Check {c['number']}: {_GRADE[x['grade']]}: {x['text']}"
                         for c in r["checks"] for x in c["cautions"])
            blocks += [Paragraph("Proof checks:"), *([Bullets(told)] if told else []), Table(
                ("Vehicle state", "These lamps shine, all others dark", "Result"),
                tuple((f"{c['number']}: {c['state']}{_for(c)}", _looks(c), _result(c)) for c in r["checks"]),
            )]
        out.append(Card(f"Repair, {when(r['time'])}", tuple(blocks), r["withdrawn"]))
    if not out:
        return []
    risk = data["risk_of_another_fault"]
    if risk:
        said = f"The risk that the vehicle has another fault is {percent(risk['now'])}{_risk_note(data)}."
        out.append(Paragraph(said))
    return [Heading("Repair and proof"), *out]


def _for(check: Data) -> str:
    return " (the complaint)" if check["because"] == "the complaint" else ""


def _looks(check: Data) -> str:
    lamps = [x if not x.endswith(" normal") else x.removesuffix(" normal") for x in check["expected"]]
    return ", ".join(x.replace(" normal, flashing", " (flashing)") for x in lamps) or "–"


def _result(check: Data) -> str:
    said = str(check["result"] or "not made yet")
    if said == "not as expected":
        said = f"NOT AS EXPECTED: {check['found']}"
    if check["withdrawn_results"]:
        said += f" (withdrawn: {', '.join(check['withdrawn_results'])})"
    return said


def _effort(data: Data) -> list[Block]:
    e = data["effort"]
    parts = [p for r in data["repairs"] if not r["withdrawn"] for p in r["parts"]]
    return [Heading("Time and parts"), Facts((
        ("Tests, estimated", _minutes(e["tests_estimated_minutes"])),
        ("Repair, recorded", _minutes(e["repairs_recorded_minutes"])),
        ("Engine starts", str(e["engine_starts"])),
        ("Parts", ", ".join(parts) or "none"),
    ))]


def _differences(data: Data) -> list[Block]:
    d, harness = data["differences"], data["harness"]
    out: list[Block] = [Heading("This vehicle, for the next visit")]
    if d["in_words"]:
        out += [Paragraph("The wiring of this vehicle differs from the harness file:"), Bullets(tuple(d["in_words"]))]
    otherwise = tuple(x["says"] for x in d["wiring"] if not x["as_filed"])
    if otherwise:
        out += [Paragraph("By what was read, this vehicle differs from its diagram in:"), Bullets(otherwise)]
    confirmed = [x["says"] for x in d["wiring"] if x["as_filed"]]
    if confirmed:
        out.append(Paragraph(f"Read to be as drawn, and not followed before: {'; '.join(confirmed)}."))
    for o in d["overlays"]:
        out.append(Card(f"Recorded as a difference: {o['name']}, {when(o['time'])}", (Listing(o["text"]),),
                        o["withdrawn"]))
    if not otherwise and not any(not o["withdrawn"] for o in d["overlays"]):
        out.append(Paragraph("Nothing recorded in which this vehicle differs from the harness file."))
    for n in d["notes"]:
        out.append(Card(f"Note, {when(n['time'])}", (Paragraph(n["text"]),), n["withdrawn"]))
    if d["places_opened"]:
        out.append(Paragraph("Opened for tests: " + "; ".join(d["places_opened"]) + "."))
    for e in d["earlier_jobs"]:
        rows = [("Complaint", e["complaint"] or "none recorded"), ("Status", e["status"]),
                ("Repaired", "; ".join(e["repairs"]) or "nothing")]
        rows += [("Opened", "; ".join(e["opened"]))] if e["opened"] else []
        rows += [("Notes", "; ".join(e["notes"]))] if e["notes"] else []
        title = f"Earlier job on this vehicle, {when(e['started'] or None)} ({e['file']})"
        out.append(Card(title, (Facts(tuple(rows)),)))
    out.append(Facts((("Harness file", harness["file"]), ("Its fingerprint", f"SHA-256 {harness['sha256'][:16]}…"))))
    if harness["changed_since_job_was_opened"]:
        out.append(Paragraph("The harness file has changed since this job was opened: what is worked out here "
                             "follows the file as it is now.", "warning"))
    return out


def _cautions(data: Data) -> list[Block]:
    """Those said with a step stand there; what is said once a job stands here."""
    said = tuple(c["text"] for c in data["cautions"] if c["grade"] == "note" and c["text"] not in _FOOT)
    return [Heading("For the whole job"), Bullets(said)] if said else []
