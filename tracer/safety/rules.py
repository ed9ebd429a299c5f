"""The rules: when each caution applies, how grave it is, and what it says. One row a rule, gravest first.

Sources: HSE HSG261 (health and safety in motor vehicle repair, as quoted in public text: brakes on, wheels chocked,
engine in neutral, stands and not the jack, exhaust led out); all else is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

from msgspec import Struct

from tracer.safety.battery import earthed_lead, earthed_pole
from tracer.safety.facts import Facts
from tracer.units import capital

Grade = Literal["danger", "caution", "note"]
HSE: Final = "HSE HSG261, as quoted in public text"
PRACTICE: Final = "common practice, no source"


class Caution(Struct, frozen=True):
    """One thing to be said before a step.

    Attributes:
        head: Its head word, which stands for it once it was shown in the job.
        again: It was shown in this job before; a danger is said in full all the same.
    """

    grade: Grade
    head: str
    text: str
    again: bool = False


class Rule(Struct, frozen=True):
    """A row of the table. `text` may hold the words of `_words`; `once`: said once a job, then not even its head."""

    name: str
    grade: Grade
    head: str
    when: Callable[[Facts], bool]
    text: str
    source: str = PRACTICE
    once: bool = False


def _hazard(*names: str) -> Callable[[Facts], bool]:
    return lambda f: bool(f.hazards & {*names})


def _hands_on(f: Facts) -> bool:
    return bool(f.nodes) or f.what == "trace"


def _on_wheels(f: Facts) -> bool:
    """Whether it has a handbrake and wheels to chock."""
    return not f.stands and f.kinds not in ({"trailer"}, {"caravan"})


def _near(*words: str) -> Callable[[Facts], bool]:
    return lambda f: bool(f.place_words & {*words})


def _in_caravan(f: Facts) -> bool:
    if not f.is_a("caravan") or not _hands_on(f):
        return False
    return f.kinds == {"caravan"} or f.what == "trace" or "caravan" in f.place_words


def _below(f: Facts) -> bool:
    inside = f.place_words & {"seat", "dash", "saddle", "step", "bonnet", "trim", "tank"}
    return "under" in f.place_words and not inside


_UNDERNEATH: Final = (
    "underneath", "gearbox", "axle", "chassis", "crossmember", "subframe", "sill", "propshaft", "tow",
)
_BODY: Final = (*_UNDERNEATH, "body", "rear", "cab", "cross", "bumper")


def _underneath(f: Facts) -> bool:
    return not f.stands and (_below(f) or bool(f.place_words & {*_UNDERNEATH}))


def _stirred(f: Facts) -> bool:
    """An engine bay with its engine stopped: an electric fan may start."""
    return not f.running and bool(f.place_words & {"engine", "radiator"})


RULES: Final[tuple[Rule, ...]] = (
    # --- danger: can kill or burn
    Rule("short", "danger", "fire", lambda f: f.short,
         "Fire: a wire without a fuse may lie on the body. {Lead} off, and off until it is found."),
    Rule("in gear, running", "danger", "in gear", lambda f: f.running and bool(f.driving),
         "Never in gear with the engine running: stop the engine before {driving}.", HSE),
    Rule("cranking", "danger", "starter", lambda f: f.cranking,
         "The starter turns the engine: out of gear, nobody near belts, fan or wheels; not for a look or a reading.",
         HSE),
    Rule("in gear", "danger", "in gear",
         lambda f: bool(f.driving) and not f.running and not f.stands and not f.rolling,
         "{Driving}: engine off and kept off, handbrake on, wheels chocked first.", HSE),
    Rule("in gear, rolling", "danger", "in gear",
         lambda f: bool(f.driving) and not f.running and not f.stands and bool(f.rolling),
         "{Driving}: engine off and kept off, wheels chocked in front and behind first.", HSE),
    Rule("in gear, on its stand", "danger", "in gear", lambda f: bool(f.driving) and not f.running and f.stands,
         "{Driving}: on its stand, engine off and kept off, nobody on it."),
    Rule("rolling", "danger", "chocks", lambda f: f.released and not (f.driving or f.running or f.stands),
         "{Rolling}: wheels chocked in front and behind first, engine off.", HSE),
    Rule("engine", "danger", "engine",
         lambda f: f.running and not f.driving and not f.stands and not f.rolling and not f.is_a("tractor"),
         "Engine running: neutral, handbrake on, wheels chocked, exhaust led out; clear of belts and fan.", HSE),
    Rule("engine, tractor", "danger", "engine",
         lambda f: f.running and not f.driving and not f.rolling and f.is_a("tractor"),
         "Engine running: neutral, power take-off out, handbrake on, wheels chocked, exhaust led out; clear of belts "
         "and fan.", HSE),
    Rule("engine, rolling", "danger", "engine",
         lambda f: f.running and not f.driving and not f.stands and bool(f.rolling),
         "Engine running: neutral, wheels chocked in front and behind, exhaust led out; clear of belts and fan.",
         HSE),
    Rule("engine, on its stand", "danger", "engine", lambda f: f.running and not f.driving and f.stands,
         "Engine running: neutral, on its stand, exhaust led out; clear of chain and wheel."),
    Rule("caravan", "danger", "caravan", _in_caravan,
         "Caravan: mains lead out, its own battery off, gas off at the bottle, before a hand goes in."),
    Rule("airbag", "danger", "airbag", _near("airbag", "srs", "pretensioner"),
         "Airbag wiring: hands and meters off; it is for its maker's instructions."),
    Rule("high voltage", "danger", "high voltage",
         lambda f: bool(f.place_words & {"hv", "traction", "inverter"}) or {"high", "voltage"} <= f.place_words,
         "High voltage: hands and meters off; licensed people only."),
    Rule("discharge lamp", "danger", "discharge lamp", _near("xenon", "discharge", "hid", "ballast"),
         "Discharge lamp, high voltage: left to its maker's instructions."),
    Rule("raised body", "danger", "body",
         lambda f: f.is_a("lorry", "bus") and (f.what == "trace" or _below(f) or bool(f.place_words & {*_BODY})),
         "Body and cab propped before a hand goes below; nobody under a frame that stands on air.", HSE),
    Rule("underneath", "danger", "stands", _underneath,
         "Underneath: wheels chocked; if it is lifted, on stands on firm ground, never on the jack alone.", HSE),
    Rule("heat", "danger", "sparks", _hazard("heat"),
         "Sparks and flame: {lead} off before cutting, crimping or soldering; none near fuel, gas or the battery."),
    # --- caution: can hurt or damage
    Rule("battery", "caution", "battery", _hazard("battery lead off"),
         "Battery: everything off; {first} off first and on last ({pole} is earthed here). No ring on the finger, no "
         "bare spanner near the posts, no spark: its gas burns."),
    Rule("charging", "caution", "charging", _hazard("charging"),
         "Charging: the {pole} lead off, caps and windows open, charger off before its clips go on or come off."),
    Rule("headlamp", "caution", "hot lamp",
         lambda f: "hot lamp" in f.hazards and bool(f.lamp_purposes & {"dipped", "main"}),
         "Hot lamp: off and cool first, held by the cap, not the glass; a discharge lamp is left to its maker's "
         "instructions."),
    Rule("hot lamp", "caution", "hot lamp",
         lambda f: "hot lamp" in f.hazards and not f.lamp_purposes & {"dipped", "main"},
         "Hot lamp: off and cool first; hold it by the cap."),
    Rule("lead", "caution", "lead", _hazard("unfused lead"),
         "Fused lead only; never through a control unit or an airbag circuit."),
    Rule("new fuse", "caution", "fuse", _hazard("fuse in a short"),
         "Fuse: the same rating, no wire in its place, and once; if it blows, find the short first."),
    Rule("bare ends", "caution", "bare ends", _hazard("bare ends"),
         "Bare ends: mark each and insulate each before anything is live again."),
    Rule("electronics", "caution", "electronics",
         lambda f: f.electronics and bool(f.hazards & {"current through electronics", "unfused lead"}),
         "LEDs or electronics here: no filament test lamp, no lead; voltmeter only."),
    Rule("splice", "caution", "tape", lambda f: bool(f.splices),
         "Taped splice: pierce no insulation; tape off with everything off, the bare joint kept clear of metal."),
    Rule("wires moved", "caution", "wires moved", _hazard("wires moved while live"),
         "Move wires by sound insulation, lamps with a dry cloth (hot); clear of belts and fan."),
    Rule("clamp", "caution", "clamp", _hazard("clamp at a wire"),
         "Clamp: one wire alone, clear of hot and moving parts; pull no wire out of its plug."),
    Rule("prop", "caution", "prop", lambda f: any("pedal" in n or "brake" in n for n in f.held),
         "A prop on the {held} comes out before the vehicle moves.", once=True),
    Rule("coil", "caution", "coil", lambda f: f.harness.ignition == "contact breaker" and f.ignition_on,
         "Contact breaker: ignition on with the engine stopped in short spells only, the coil overheats.", once=True),
    Rule("standing", "caution", "chocks",
         lambda f: bool(f.rolling) and not (f.released or f.driving or f.running or f.stands),
         "{Rolling} as it is taken to stand: wheels chocked.", HSE, once=True),
    # --- notes: once a job
    Rule("local rules", "note", "local rules", lambda f: True,
         "Local rules and licensed practice come first. At the roadside: off the road, or warned.", once=True),
    Rule("secured", "note", "secured", lambda f: _hands_on(f) and _on_wheels(f) and not (f.rolling or f.driving),
         "Before anything: handbrake on, wheels chocked.", HSE, once=True),
    Rule("secured, on its stand", "note", "secured", lambda f: _hands_on(f) and f.stands,
         "Before anything: on its stand, key out.", once=True),
    Rule("secured, trailer", "note", "secured", lambda f: _hands_on(f) and f.kinds in ({"trailer"}, {"caravan"}),
         "Before anything: coupled to a braked vehicle, or its wheels chocked.", once=True),
    Rule("probe", "note", "probe", _hazard("probe at live contacts"),
         "Probe without bridging neighbouring contacts.", once=True),
    Rule("plug", "note", "plug", _hazard("plug or fuse pulled"),
         "Pull on the housing, not on the wires; yellow (airbag) and orange (high voltage) plugs stay shut.",
         once=True),
    Rule("fan", "note", "fan", _stirred, "An electric fan may start by itself: hands and sleeves clear.", once=True),
    Rule("wire renewed", "note", "as built", _hazard("wire renewed"),
         "Wire size and fuse as the circuit was built.", once=True),
    Rule("lamp fitted", "note", "approved lamp", _hazard("lamp fitted"),
         "Fit a lamp of the approved category for that place, no other.", once=True),
)
BY_NAME: Final = {r.name: r for r in RULES}


def rules_for(facts: Facts) -> tuple[Rule, ...]:
    """The rules that apply to a step, gravest first."""
    return tuple(r for r in RULES if r.when(facts))


def cautions_of(facts: Facts) -> tuple[Caution, ...]:
    """What must be said before a step, gravest first: a note and what is said once only where it was not said in this
    job."""
    words = _words(facts)
    said = facts.now.said
    return tuple(
        Caution(r.grade, r.head, r.text.format(**words), r.name in said and r.grade != "danger")
        for r in rules_for(facts) if not (r.once and r.name in said)
    )


def _words(f: Facts) -> dict[str, str]:
    driving = " and ".join(f"{n} in {p}" for n, p in f.driving)
    rolling = " and ".join(f"{n} {p}" for n, p in f.rolling)
    lead = earthed_lead(f.harness)
    return {
        "driving": driving, "Driving": capital(driving), "Rolling": capital(rolling), "lead": lead,
        "Lead": capital(lead), "first": earthed_lead(f.harness, first=True), "pole": earthed_pole(f.harness),
        "held": " and the ".join(f.held),
    }
