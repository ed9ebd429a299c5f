"""Where a job stands, its tests, reasons and proof checks as lines of limited width."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from tracer import standards
from tracer.harness.model import Harness, VehicleState
from tracer.harness.terminal_words import say_terminal
from tracer.job.job import Job
from tracer.job.text import Event
from tracer.observation.evidence import Reading, Symptom, Test
from tracer.observation.words.states import state_words
from tracer.planning.next_step import Proposal
from tracer.planning.proof_reading import Remeasured
from tracer.planning.repair_proof import ProofCheck
from tracer.present.memory_words import seen_words
from tracer.present.suspects_screen import ranked
from tracer.present.text_lines import clip, plural, wrap
from tracer.safety.advice import Caution, Step, of_test, steps_of
from tracer.safety.lines import above, notes
from tracer.units import percent

_SHOWN: Final = ("symptom", "reading", "repaired", "proof", "note", "photo", "overlay")


# --- words that the job understands again


def test_words(test: Test, harness: Harness) -> str:
    """A test in the words that `parse_test` reads."""
    what = test.row.words(test.spot(harness))
    if test.at_rest:
        return what
    done = "".join(f", {i.words()}" for i in test.done)
    return f"{what} when {state_words(test.state)}{done}"


test_words.__test__ = False  # type: ignore[attr-defined]


# --- overview


def overview(job: Job, width: int, expected: Mapping[str, str] | None = None) -> list[str]:
    """A rule, where the job is, the last three entries, the leading three suspects; `expected` tells
    by repair what the test would show."""
    done = sum(isinstance(e.item, Reading) and not e.item.value.told_nothing for e in job.entries)
    spent = f"{plural(done, 'test')}, {job.minutes_spent:.0f} min"
    starts = f", {plural(job.engine_starts, 'engine start')}" if job.engine_starts else ""
    lines = ["-" * width, clip(f"{job.vehicle or job.path.name}: {job.status()} ({spent}{starts})", width)]
    shown = [e for e in job.record.living if e.kind in _SHOWN]
    lines += [clip(f"  {say_event(job, e)}", width) for e in shown[-3:]]
    if not job.evidence or (job.proof is not None and not failed(job)):
        return lines
    lines.append("Suspects" + (", and what each would show:" if expected else ":"))
    left = 1.0
    for n, s in ranked(job.diagnosis)[:3]:
        share, _ = job.diagnosis.standing_together(s)
        left -= share
        said = s.search or s.repair
        lines += _suspect(f"{n:>2} {percent(share):>6}  ", said, (expected or {}).get(s.repair, ""), width)
    unknown, own = job.diagnosis.undescribed, "something the harness file does not describe"
    what = "all others" if unknown < 0.05 else f"all others ({percent(unknown)}: {own})"
    if percent(left) == percent(unknown):
        what = own
    return [*lines, *wrap(what, width, f"   {percent(max(left, 0.0)):>6}  ")]


def _suspect(first: str, repair: str, shows: str, width: int) -> list[str]:
    lines = wrap(repair, width, first)
    if not shows:
        return lines
    if len(lines[-1]) + len(shows) + 6 <= width:
        lines[-1] += f"  → {shows}"
        return lines
    return [*lines, *wrap(shows, width, " " * len(first) + "→ ", " " * len(first))]


def failed(job: Job) -> bool:
    """A proof check of the last repair did not come out as expected."""
    return any(not r.good for r in job.proof_results.values())


def say_event(job: Job, event: Event) -> str:
    """One entry in short: number, what it is, what it says."""
    items = [e.item for e in job.entries if e.number == event.number]
    item = items[0] if items else None
    if isinstance(item, Symptom):
        states = []
        for one in (i for i in items if isinstance(i, Symptom)):
            said = [s.says() for s in one.seen] + (["everything else normal"] if one.others_normal else [])
            states.append(f"{'; '.join(said)} ({short_state(job.harness, one.state)})")
        what = f"seen: {'; '.join(states)}"
    elif isinstance(item, Reading):
        value = "not done" if item.value.told_nothing else item.value.text
        state = short_state(job.harness, item.test.state) if item.test.sets_state(job.harness) else ""
        about = "; ".join(filter(None, [*(i.says(job.harness) for i in item.test.done), state]))
        what = f"{item.test.row.short(item.test.spot(job.harness))}: {value}" + (f" ({about})" if about else "")
    elif event.kind == "repaired":
        what = f"repaired: {event.data.get('repair', '')}"
    elif event.kind == "proof":
        good = "as expected" if event.data.get("good") else str(event.data.get("found", ""))
        what = f"proof check {event.data.get('check', '')}: {good}"
    elif event.kind in ("note", "photo") and event.data.get("at"):
        what = f"{event.kind} at {event.data['at']}: {event.data.get('text', '')}".removesuffix(": ")
    elif event.kind == "photo":
        what = f"photo: {event.data.get('text', '')}".removesuffix(": ")
    else:
        what = f"{event.kind}: {event.data.get('text', '') if event.kind == 'note' else event.data.get('name', '')}"
    return f"{event.number:>2} {' '.join(what.split())}"


def short_state(harness: Harness, state: VehicleState) -> str:
    """The controls that do not stand as usual."""
    said = [f"{c} {p}" for c, p in state.positions if p != harness.controls[c].assumed]
    return ", ".join(said + (["engine running"] if state.engine_running else [])) or harness.say_state(state)


# --- the test


def test_steps(job: Job, test: Test) -> list[str]:
    """What to do for a test, in order."""
    return [s.text for s in ordered_steps(job, test)]


def ordered_steps(job: Job, test: Test) -> tuple[Step, ...]:
    """The same, each with the part of the step to which it belongs."""
    harness = job.harness
    facts = of_test(test, harness, job.now, job.shorts)
    setting = set_up(harness, job.standing.state, test.state)
    return steps_of(facts, reading=_reading(harness, test), setting=setting)


def _reading(harness: Harness, test: Test) -> list[str]:
    """The reading itself: where to look, where each probe goes; of what is in the hand no terminal of the vehicle."""
    said = _sentence(test.row.says(test.spot(harness)))
    if test.in_hand:
        return [f"{said}."]
    place = next((p.place for p in harness.parts.values() if test.lamp in [f.lamp for f in p.lamps]), "")
    words = {
        "a": probe(harness, test.plus), "b": probe(harness, test.minus),
        "lamp": test.lamp + (f" ({place})" if place else ""), "says": said, "system_v": f"{harness.system_v:g}",
    }
    return [step.format_map(words) for step in test.row.steps]


def _sentence(said: str) -> str:
    return said[0].upper() + said[1:]


test_steps.__test__ = False  # type: ignore[attr-defined]


def set_up(harness: Harness, now: VehicleState, state: VehicleState) -> str:
    """How to bring the vehicle into a state."""
    controls = harness.controls
    moved = [n for n in state.differing(now) if n != "engine"]
    away = [f"{c} {p}" for c, p in state.positions if p != controls[c].positions[0]]
    held = [c for c, p in state.positions if controls[c].needs_holding(p)]
    back = [f"{c} {state[c]}" for c in moved if state[c] == controls[c].positions[0]]
    text = "Set: " + (", ".join(away + (["engine running"] if state.engine_running else [])) or "everything at rest")
    if now.engine_running and not state.engine_running:
        back.append("engine off")
    if back:
        text += f"; back to {', '.join(back)}"
    if not moved and not back:
        text += " (as it stands)"
    return text + "." + (f" Prop or hold the {' and the '.join(held)}." if held else "")


def probe(harness: Harness, node: str) -> str:
    """A terminal in words with wire colour, size and place where the harness knows them."""
    said = say_terminal(harness, node)
    if not node or node in harness.bodies():
        return said
    known = standards.COLOUR_CODES.get(harness.colour_code) is not None
    wires = []
    for wire in harness.wires:
        for s in wire.segments:
            if node in (s.a, s.b):
                names = standards.colour_words(wire.colour, harness.colour_code) if known and wire.colour else None
                colour = f"{'/'.join(names)} ({wire.colour})" if names else wire.colour
                wires.append(" ".join(filter(None, [colour, f"{wire.section_mm2:g} mm²"])))
    place, minutes = harness.place_of(node)
    about = [" and ".join(dict.fromkeys(wires)), place if place and place not in said else ""]
    if minutes >= 1:
        about.append(f"{minutes:.0f} min to get at")
    return said + "".join(f"; {a}" for a in about if a)


def unit_of(test: Test) -> str:
    """The unit a meter shows in this test; empty for looks."""
    return test.row.unit


# --- what a result did


def change_lines(before: Mapping[str, float], after: Mapping[str, float], width: int) -> list[str]:
    """How the list of suspects shrank."""
    count = [sum(share >= 0.01 for share in side.values()) for side in (before, after)]
    lines = [f"Suspects of at least 1 %: {count[0]} before, {count[1]} now."]
    leading = sorted(after, key=lambda r: -after[r])[:3]
    leading += [r for r in sorted(before, key=lambda r: -before[r])[:1] if r not in leading]
    for repair in leading:
        was, now = before.get(repair, 0.0), after.get(repair, 0.0)
        if max(was, now) >= 0.005:
            lines += wrap(repair, width, f"  {percent(was):>5} → {percent(now):>5}  ")
    return lines


def shares(job: Job) -> dict[str, float]:
    return {s.repair: s.share for s in job.suspects()}


# --- reasons


def why_lines(job: Job, rank: int, proposal: Proposal | None, width: int) -> list[str]:
    """Why suspect `rank` is one, where the current goes, and why this test and not another."""
    suspects = job.diagnosis.listed
    s = suspects[rank - 1]
    lines = wrap(f"Suspect {rank}, {percent(s.share)}: {s.repair}.", width)
    lines += wrap(s.best.says(), width, "  fault: ")
    if s.search:
        lines += wrap(f"One place of a search ({percent(s.search_share)}): {s.search}.", width, "  ")
    if job.learned.rates is not None:
        lines += wrap(seen_words(job.learned.rates, s), width, "  ", "    ")
    if not job.evidence:
        return [*lines, "  Nothing was recorded yet: this is how often such faults happen."]
    why = job.reason(s)
    for fit in why.fits:
        word = "explains" if fit.fits and fit.explains else "fits" if fit.fits else "AGAINST"
        lines += wrap(fit.seen, width, f"  {word}: ", "    ")
        if not fit.fits:
            lines += wrap(f"it predicts {fit.predicted}", width, "    ")
    if why.path:
        lines += wrap(why.path, width, "  current: ", "    ")
    for more in why.elsewhere[:1]:
        lines += wrap(more, width, "  would also be seen: ", "    ")
    ranks = {t.repair: n for n, t in enumerate(suspects, 1)}
    alike = [f"{ranks[r]} ({r})" for r in s.alike if r in ranks][:2]
    if alike:
        lines += wrap(f"Looks the same in every vehicle state as suspect {' and '.join(alike)}.", width, "  ")
    if proposal is not None and proposal.test is not None and proposal.kind == "test":
        about = f"about {proposal.minutes:.0f} min to a proven repair"
        lines += wrap(f"{proposal.why}; {about}", width, "This test: ", "  ")
        for o in proposal.options[1:2]:
            lines += wrap(f"{o.says} (about {o.minutes:.0f} min in all)", width, "  instead of: ", "    ")
    return lines


# --- proof


def check_lines(job: Job, check: ProofCheck, count: int, width: int) -> list[str]:
    """One proof check: what to set and how every lamp must look."""
    lines = wrap(f"PROOF CHECK {check.number} of {count} ({check.because})", width)
    lines += caution_lines(check.cautions, width)
    if check.again is not None:
        return lines + _measured_lines(job, check.again, width)
    lines += [line for s in check.steps if s.phase == "safe" for line in wrap(s.text, width, "    ")]
    made = [e.data["check"] for e in job.record.living if e.kind == "proof" and e.number > job.repairs[-1].number]
    proof = job.proof.checks if job.proof else ()
    now = next((c.state for c in proof if made and c.number == made[-1]), job.standing.state)
    lines += wrap(set_up(job.harness, now, check.state), width, " 1. ")
    by_look: dict[str, list[str]] = {}
    for lamp, look in check.expected:
        by_look.setdefault(look, []).append(lamp)
    lines.append(" 2. Look at all lamps. They must be:")
    for look, lamps in by_look.items():
        lines += wrap(", ".join(lamps), width, f"    {look}: ", "      ")
    lines.append("    dark: every other lamp" if by_look else "    dark: every lamp")
    lines += [line for s in check.steps if s.phase == "back" for line in wrap(s.text, width, " 3. ")]
    return lines


def _measured_lines(job: Job, again: Remeasured, width: int) -> list[str]:
    lines = ["Measure once more what was wrong before the repair:"]
    for n, step in enumerate(test_steps(job, again.test), 1):
        lines += wrap(step, width, f" {n}. ")
    return lines + wrap(f"It must show {again.reads}.", width, "    ")


# --- safety


def caution_lines(cautions: Sequence[Caution], width: int) -> list[str]:
    """Dangers and cautions, above the step."""
    return [line for first, text in above(cautions) for line in wrap(text, width, first, "  ")]


def note_lines(cautions: Sequence[Caution], width: int) -> list[str]:
    """What is said once a job, below the step."""
    return [line for text in notes(cautions) for line in wrap(text, width, "Note: ", "  ")]
