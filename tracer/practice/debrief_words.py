"""How an exercise went, as lines."""

from __future__ import annotations

from tracer.practice.debrief import Debrief


def debrief_lines(d: Debrief) -> list[str]:
    """The answer, the learner beside the plan, what each test told, and what was forgotten."""
    lines = [("Found: " if d.found else "It was: ") + "; ".join(d.answer), f"Repair: {'; '.join(d.needed)}",
             f"{'':24}{'you':>8}{'plan':>8}"]
    rows = (("minutes", f"{d.minutes:.0f}", f"{d.plan.minutes:.0f}"), ("tests", len(d.tests), d.plan.tests),
            ("parts renewed in vain", len(d.in_vain), len(d.plan.in_vain)),
            ("engine starts", d.starts, d.plan.starts), ("hints", d.hints, ""))
    lines += [f"{name:24}{own:>8}{plan:>8}".rstrip() for name, own, plan in rows]
    for n, test in enumerate(d.tests, 1):
        lines.append(f"{n:>3}. {test.asked}: {test.shown} — {test.says}" + (" (proposed)" if test.hinted else ""))
    lines += [f"Where the two parted: {d.parted}"] * bool(d.parted)
    lines += [f"Sound, and renewed all the same: {part}" for part in d.in_vain]
    lines += [f"DANGER, never to be done so: {danger}" for danger in d.dangers]
    return lines + [f"Not said before the step: {caution}" for caution in d.missed]
