"""The customer's page: one sheet with what was wrong, what was done, what it costs, and whether it may be driven so.

The full record stays for the file. Prices are printed as they are given and added up; nothing is known of taxes,
whose line is the workshop's own words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from msgspec import Struct

from tracer.errors import TracerError
from tracer.job.job import Job
from tracer.job.text import Event
from tracer.observation.evidence import LampSeen, Reading, Symptom
from tracer.present.html import templates
from tracer.present.report.data import report_data
from tracer.present.report.driver_words import BACK_FEED, lamp_words, told_of
from tracer.units import minutes as say_minutes

_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_MOST_COMPLAINT: Final = 400  # characters, so that all of it stays one page
_MOST_LINES: Final = 8
_MOST_LINE: Final = 90
_PRICE: Final = re.compile(r"\s*(?P<before>[^\d\s.,+-]{0,6})\s*(?P<number>-?[0-9]+(?:[.,][0-9]+)?)\s*"
                           r"(?P<after>[^\d\s.,+-]{0,6})\s*")


class Money(Struct, frozen=True):
    """An amount and its currency as it was written."""

    amount: float
    currency: str

    def says(self) -> str:
        return f"{self.amount:.2f} {self.currency}".strip()


class Bill(Struct, frozen=True):
    """What the workshop asks: a rate per hour, prices of parts, its own words about taxes."""

    rate: Money | None = None
    prices: Mapping[str, Money] | None = None
    tax: str = ""


def money(text: str, what: str) -> Money:
    """An amount as people write it: "60", "60 €", "£ 2.50", "2,50 EUR".

    Raises:
        TracerError: No amount, or less than nothing.
    """
    found = _PRICE.fullmatch(text)
    if found is None or (found["before"] and found["after"]):
        raise TracerError(f"{what} “{_clip(text, 40)}” is no amount", "write it like 60, or 60 €")
    amount = float(found["number"].replace(",", "."))
    if amount < 0 or not math.isfinite(amount):
        raise TracerError(f"{what} “{_clip(text, 40)}” is less than nothing", "write what it costs, without a minus")
    return Money(amount, found["before"] or found["after"])


def bill(rate: str | None, prices: Sequence[str], tax: str) -> Bill:
    """What was given on the command line: `prices` like "ring terminal=2.50".

    Raises:
        TracerError: Something of it is no amount, a part is named twice, or the currencies differ.
    """
    hourly = None if rate is None else money(rate, "the rate")
    if hourly is not None and hourly.amount == 0:
        raise TracerError("a rate of nothing makes no price", "leave --rate out, or give what an hour costs")
    found: dict[str, Money] = {}
    for given in prices:
        part, sign, amount = given.rpartition("=")
        if not sign or not part.strip():
            raise TracerError(f"--price “{_clip(given, 40)}”: write PART=AMOUNT", "such as “ring terminal=2.50”")
        if part.strip() in found:
            raise TracerError(f"--price {part.strip()} is given twice")
        found[part.strip()] = money(amount, f"the price of {_clip(part.strip(), 40)}")
    every = {m.currency for m in (*found.values(), *([hourly] if hourly else []))}
    if len(every) > 1:
        raise TracerError(f"amounts in {' and '.join(sorted(c or 'no currency' for c in every))} cannot be added up",
                          "write all of them in one")
    return Bill(hourly, found, tax)


def customer_data(job: Job, asked: Bill, head: str = "") -> dict[str, Any]:
    """All that the page says, as plain values; its sentences have at most twenty words."""
    data = report_data(job)
    wrong, done = _sentences(job)
    parts = [str(p) for r in job.repairs for p in r.data.get("parts", [])]
    lines = [line.strip()[:_MOST_LINE] for line in head.splitlines() if line.strip()]
    if len(lines) > _MOST_LINES:
        raise TracerError(f"the workshop’s head has {len(lines)} lines; {_MOST_LINES} fit the page")
    return {
        "head": lines, "vehicle": _clip(job.vehicle.strip() or job.harness.title, 120),
        "date": (data["last_entry"] or "")[:10], "complaint": _clip(job.complaint.strip(), _MOST_COMPLAINT),
        "wrong": wrong, "done": done, "parts": _parts(parts, asked), "time": _time(data["effort"]),
        "price": _price(data["effort"], parts, asked), "tax": _clip(asked.tax, 120), "proof": _proof(data),
        "open": _open(data), "closed": job.closed,
    }


def _sentences(job: Job) -> tuple[list[str], list[str]]:
    """What was wrong, and what was done, repair by repair."""
    wrong: list[str] = []
    done: list[str] = []
    for event in job.repairs:
        one, other = _of_repair(job, event)
        last = event is job.repairs[-1]
        wrong += one if last else []
        done += other if last else [f"Before that: {x[:1].lower()}{x[1:]}" for x in other]
    if not job.repairs:
        wrong = ["The cause has not been repaired yet."]
    return list(dict.fromkeys(wrong)), list(dict.fromkeys(done))


def _of_repair(job: Job, event: Event) -> tuple[list[str], list[str]]:
    """Sentences of one repair: of its fault, if the harness file describes it, else in the workshop's words."""
    name = str(event.data.get("repair", ""))
    before = job.diagnosis_before(event.number)
    suspect = next((s for s in before.suspects if s.repair == name), None)
    faults = list(suspect.best.defects) if suspect is not None else [
        f for f in job.investigator.faults if f.repair == name][:1]
    if not faults:
        return ["The workshop found it in its own way."], [f"In the workshop’s words: {_clip(name, 80)}."]
    told = [told_of(f, job.harness, _odd_lamps(job, event.number)) for f in faults]
    wrong = [t.wrong for t in told]
    if suspect is not None and before.evidence and job.reason(suspect, before).back_feed:
        wrong.append(BACK_FEED)
    return wrong, [t.done for t in told]


def _odd_lamps(job: Job, until: int) -> list[str]:
    """Lamps that were seen otherwise than on a sound vehicle before an entry, in the order in which they were told
    of."""
    found: list[str] = []
    for entry in job.entries:
        item = entry.item
        if entry.number >= until or (isinstance(item, Reading) and (item.test.done or not item.test.row.of_lamps)):
            continue
        seen = item.seen if isinstance(item, Symptom) else (item.value.seen,)
        looks = [s for s in seen if isinstance(s, LampSeen)]
        state = item.state if isinstance(item, Symptom) else item.test.state
        usual = dict(job.usual_looks(state, [s.lamp for s in looks]))
        for s in looks:
            word, flashes = usual[s.lamp].split(",")[0], "flashing" in usual[s.lamp]
            if word not in s.words or s.flash in ("slow", "fast") or (s.flash == "steady" and flashes):
                found.append(s.lamp)
    return list(dict.fromkeys(found))


def _parts(parts: Sequence[str], asked: Bill) -> list[dict[str, str]]:
    """Parts fitted, each with its price if one was given.

    Raises:
        TracerError: A price is given for a part that was not fitted, or more parts than a page holds.
    """
    prices = asked.prices or {}
    if unknown := [p for p in prices if p not in parts]:
        raise TracerError(f"no part “{_clip(unknown[0], 40)}” was fitted in this job",
                          f"fitted: {', '.join(parts) or 'none'}")
    shown = [{"part": _clip(p, 60), "price": prices[p].says() if p in prices else ""} for p in parts[:_MOST_LINES]]
    rest = len(parts) - len(shown)
    return [*shown, *([{"part": f"and {rest} more", "price": ""}] if rest else [])]


def _time(effort: Mapping[str, Any]) -> list[str]:
    repair = effort["repairs_recorded_minutes"]
    search = f"{say_minutes(effort['tests_estimated_minutes'])} for the search, as reckoned"
    return [search, "the repair’s own time was not written down" if repair is None else
            f"{say_minutes(repair)} for the repair"]


def _price(effort: Mapping[str, Any], parts: Sequence[str], asked: Bill) -> list[tuple[str, str]]:
    """Lines of the price: work, parts, both together; only what was given."""
    prices, rows, total = asked.prices or {}, list[tuple[str, str]](), 0.0
    currency = next((m.currency for m in (*prices.values(), *([asked.rate] if asked.rate else []))), "")
    if asked.rate is not None:
        spent = effort["tests_estimated_minutes"] + (effort["repairs_recorded_minutes"] or 0.0)
        total = round(asked.rate.amount * spent / 60, 2)
        rows.append((f"Work, {say_minutes(spent)} at {asked.rate.says()} an hour", Money(total, currency).says()))
    if prices:
        own = sum(prices[p].amount for p in parts if p in prices)
        total += own
        rows.append(("Parts", Money(own, currency).says()))
    return [*rows, ("Together", Money(total, currency).says())] if len(rows) > 1 else rows


def _proof(data: Mapping[str, Any]) -> list[str]:
    """What proves the repair, in sentences."""
    standing = [r for r in data["repairs"] if not r["withdrawn"]]
    checks = standing[-1]["checks"] if standing else []
    if not checks:
        return ["Nothing has been proven yet."]
    good = sum(c["result"] == "as expected" for c in checks)
    out = [f"After the repair the lamps were looked at in {len(checks)} settings of the controls."]
    if data["closed"]:
        return [*out, "In all of them every lamp did what it should."]
    return [*out, f"In {good} of them every lamp did what it should; the others are open or were not right."]


def _open(data: Mapping[str, Any]) -> list[str]:
    """What is open, and whether it may be driven so."""
    road = data["road"]
    if road is None:
        risk = data["risk_of_another_fault"]["now"]
        return ["Nothing is open, and the lamps leave nothing against driving it.",
                f"About {max(1, round(100 * risk))} of 100 such vehicles have another fault that no lamp shows."]
    out = ["This job is not finished.",
           "Do not drive it on the road before stop, direction and side lamps are seen to work."]
    if road["not_proven"]:
        out.append(f"Not proven to work yet: {lamp_words(road['not_proven'])}.")
    return [*out, "What local law says comes first."]


def customer_html(job: Job, asked: Bill, head: str = "") -> str:
    """The page; it needs nothing but itself and fits one sheet of A4."""
    return templates().get_template("customer.html").render(policy=_POLICY, **customer_data(job, asked, head))


def customer_markdown(job: Job, asked: Bill, head: str = "") -> str:
    """The same for a screen or a letter of one's own."""
    d = customer_data(job, asked, head)
    out = [*d["head"], "", f"# {d['vehicle']}", "", d["date"], ""]
    rows = [("Your complaint", [d["complaint"] or "none recorded"]), ("What was wrong", d["wrong"]),
            ("What was done", d["done"]),
            ("Parts", [f"{p['part']} {p['price']}".strip() for p in d["parts"]] or ["none"]), ("Time", d["time"]),
            ("Price", [f"{a}: {b}" for a, b in d["price"]]), ("Tax", [d["tax"]] if d["tax"] else []),
            ("Proof", d["proof"]), ("Still open", d["open"])]
    for title, lines in rows:
        if lines:
            out += [f"## {title}", "", *(f"- {line}" for line in lines), ""]
    return "\n".join(out).strip() + "\n"


def _clip(text: str, most: int) -> str:
    text = " ".join(text.split())
    return text if len(text) <= most else text[: most - 1] + "…"
