"""Rules about which lamps light together, held against what each lamp is for.

Whenever one control is moved, everything that lights up has one common purpose on a healthy vehicle:
lamps swapped at a terminal or joined by a wrong way number light up with strangers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Final

from tracer.checking.findings import Finding
from tracer.checking.scene import Rule, Scene
from tracer.harness.devices import FlasherContact
from tracer.harness.lamp_purposes import INDICATORS, LIGHTING, PURPOSES, lamp_purposes, say_purposes, words_of
from tracer.harness.model import Control, Harness, Part, VehicleState

Purposes = frozenset[str]

# What one movement may light together. A tell-tale may light with anything: it tells of it.
_ANY_TIME: Final[Purposes] = frozenset(("tell-tale",))
_LIGHTING_SWITCH: Final = LIGHTING | {"fog", "work"}  # rotary lamp switches have positions for fog and work lamps
_TOGETHER: Final[tuple[Purposes, ...]] = (
    frozenset(("stop",)), frozenset(("indicator left",)), frozenset(("indicator right",)), frozenset(("reversing",)),
    _LIGHTING_SWITCH,
)
_OTHER_LAMPS: Final = frozenset(("reversing", "stop", "brake", "warning", "interior", "parking", "park"))
_STEADY: Final = "steady instead of flashing"
_MOST_TOLD: Final = 3
_LIT: Final = ("normal", "bright", "dim")


def strangers(scene: Scene) -> Iterator[Finding]:
    """A lamp that lights up together with lamps of another purpose, or by a control meant for another."""
    if not scene.seen or any(h.blown for h in scene.seen):
        return
    purposes = {lamp: said for lamp, said in lamp_purposes(scene.harness).items() if said - _ANY_TIME}
    told: set[str] = set()
    for moved, state, lit in _lighting_up(scene):
        known = {lamp: purposes[lamp] for lamp in lit if lamp in purposes}
        control, position = (scene.harness.controls[moved[0][0]], moved[0][1]) if len(moved) == 1 else (None, "")
        expected = _meant_by(control, position) if control is not None else _beam(scene, moved)
        if expected is not None and expected <= INDICATORS and not any(own & INDICATORS for own in known.values()):
            expected = None  # with the ignition off some stalks switch the parking lamps of one side
        named = control is not None and expected is not None
        if expected is None:
            expected = _company(known, control, scene)
        odd = [lamp for lamp, own in known.items() if not own & expected and lamp not in told]
        told.update(odd)
        if not odd:
            continue
        friend = next((f"together with {o}, {_a(own)}" for o, own in known.items() if own & expected), "")
        where = f"position {position} of {control.name}" if named and control else "what lights beside it"
        said = scene.harness.say_state(state)
        for lamp in odd if len(odd) <= _MOST_TOLD else odd[:1]:
            if len(odd) <= _MOST_TOLD:
                how = friend or "in a state that is not meant for it"
                message = f"{lamp}, {_a(known[lamp])}, lights {how} ({said})"
            else:  # many at once have one cause
                how = friend or "in a state that is not meant for them"
                message = f"{lamp} and {len(odd) - 1} other lamps light {how} ({said})"
            part = scene.part_of[scene.harness.lamp(lamp).name]
            yield Finding("lamps together", "warning", message,
                          f"follow the feed back to {where}: a terminal, a way or a splice is swapped; if it is "
                          f"meant so, say so: {_meant_so(part, lamp, known[lamp], expected)}", part.mark)


def left_out_of_hazard(scene: Scene) -> Iterator[Finding]:
    """An indicator that works by the stalk and stays dark when the hazard warning is on."""
    if not scene.seen or any(h.blown for h in scene.seen):
        return
    indicators = {lamp for lamp, said in lamp_purposes(scene.harness).items() if said & INDICATORS}
    working = {lamp for h in scene.seen for lamp in indicators if h.looks[lamp].startswith(_LIT)}
    base = scene.harness.state({})
    for control, position in _moves(scene.harness, base):
        if _meant_by(scene.harness.controls[control], position) != INDICATORS:
            continue
        lit = _lit(scene, _with(base, {control: position}))
        dark = [lamp for lamp in _ordered(scene, frozenset(working)) if lamp not in lit]
        if dark and lit & indicators:
            more = f" and {len(dark) - 1} other indicators stay" if len(dark) > 1 else " stays"
            yield Finding("left out of the hazard warning", "warning",
                          f"{dark[0]}{more} dark with {control} {position}",
                          f"check which wires leave the switch moved by {control}: one for each side",
                          scene.part_of[scene.harness.lamp(dark[0]).name].mark)


def indicators_that_do_not_flash(scene: Scene) -> Iterator[Finding]:
    """A flasher unit with less load than it is made for: mostly the other end's lamps are not typed yet."""
    parts = scene.harness.parts.values()
    unit = next((p for p in parts if any(isinstance(d, FlasherContact) for d in p.devices)), None)
    if unit is None or scene.lone or any(h.blown for h in scene.seen):
        return
    for h in scene.seen:
        steady = [lamp for lamp, look in h.looks.items() if look.endswith(_STEADY)]
        if steady:
            watts = sum(getattr(scene.harness.lamp(lamp).law, "watts", 0.0) for lamp in steady)
            yield Finding(
                "indicators do not flash", "warning",
                f"{steady[0]} lights without flashing ({scene.harness.say_state(h.state)}): {unit.name} is made for "
                f"{unit.settings.get('load', 0.0):g} W",
                f"if other lamps are not typed, write “load: {watts:g} W”; if it is electronic, “works: electronic”",
                unit.mark)
            return


def purposes_unknown(scene: Scene) -> Iterator[Finding]:
    """Lamps named so that nothing can be told from what lights together."""
    unknown = [lamp for lamp, said in lamp_purposes(scene.harness).items() if not said]
    if len(unknown) > 2 and 2 * len(unknown) > len(scene.harness.lamps()):
        part = scene.part_of[scene.harness.lamp(unknown[0]).name]
        yield Finding("purposes unknown", "note",
                      f"what {unknown[0]} and {len(unknown) - 1} other lamps are for is not known, so nothing tells "
                      "whether the right ones light together",
                      f"name them by what they do (stop, tail, left indicator), or say it: "
                      f"{_meant_so(part, unknown[0], frozenset(), frozenset(('stop',)))}", part.mark)


def _a(purposes: Purposes) -> str:
    """A lamp by its purposes: "a stop lamp", "a left indicator"."""
    said = say_purposes(purposes)
    return f"{'an' if said[0] in 'aeiou' else 'a'} {said}"


def _meant_so(part: Part, lamp: str, own: Purposes, expected: Purposes) -> str:
    """The key that declares a lamp's further purpose, as it is written in the part's entry."""
    further = next((p for p in PURPOSES if p in expected), "")
    both = ", ".join([*(p for p in PURPOSES if p in own), further])
    both = f"[{both}]" if own else both
    short = lamp.removeprefix(part.name).strip()
    return f"“for: {{{short}: {both}}}”" if short else f"“for: {both}”"


def _lighting_up(scene: Scene) -> Iterator[tuple[tuple[tuple[str, str], ...], VehicleState, list[str]]]:
    """Controls moved (one, then two), the state, and the lamps that none of the lesser movements lights."""
    harness = scene.harness
    surveyed = {h.state for h in scene.seen}
    for base in _bases(harness):
        dark = _lit(scene, base)
        single: dict[tuple[str, str], frozenset[str]] = {}
        for control, position in _moves(harness, base):
            state = _with(base, {control: position})
            lit = _lit(scene, state)
            single[control, position] = lit
            yield ((control, position),), state, _ordered(scene, lit - dark)
        for one, two in combinations(single, 2):
            state = _with(base, dict((one, two)))
            # Pairs were surveyed up to a limit; beyond it nothing is solved for this rule alone.
            if one[0] != two[0] and state in surveyed:
                yield (one, two), state, _ordered(scene, _lit(scene, state) - single[one] - single[two] - dark)


def _bases(harness: Harness) -> tuple[VehicleState, ...]:
    """Everything as assumed; and with what is assumed on (the ignition) at rest."""
    rest = {c.name: c.positions[0] for c in harness.controls.values() if c.assumed != c.positions[0]}
    return (harness.state({}), harness.state(rest)) if rest else (harness.state({}),)


def _moves(harness: Harness, base: VehicleState) -> Iterator[tuple[str, str]]:
    for control in harness.controls.values():
        for position in control.positions:
            if position != base[control.name]:
                yield control.name, position


def _with(base: VehicleState, moved: Mapping[str, str]) -> VehicleState:
    return VehicleState(tuple((c, moved.get(c, p)) for c, p in base.positions), base.engine_running)


def _lit(scene: Scene, state: VehicleState) -> frozenset[str]:
    return frozenset(lamp for lamp, look in scene.survey.at(state).looks.items() if look.startswith(_LIT))


def _ordered(scene: Scene, lamps: frozenset[str]) -> list[str]:
    return [f.lamp for f in scene.harness.lamps() if f.lamp in lamps]


def _company(known: Mapping[str, Purposes], control: Control | None, scene: Scene) -> Purposes:
    """The group of purposes that most of the lamps share; both sides of the indicators at once only where
    one position of the control does that: such a control is a hazard switch whatever its name."""
    groups = list(_TOGETHER)
    if control is None or _warns_both(control, scene):
        groups.append(INDICATORS)
    counts = Counter({group: sum(bool(own & group) for own in known.values()) for group in groups})
    return max(groups, key=lambda g: (counts[g], -groups.index(g)))


def _warns_both(control: Control, scene: Scene) -> bool:
    """Whether a control has only one position (beside its assumed one) that lights indicators."""
    purposes = lamp_purposes(scene.harness)
    base = scene.harness.state({})
    lighting = [
        p for p in control.positions
        if p != control.assumed and any(
            purposes[lamp] & INDICATORS for lamp in _lit(scene, _with(base, {control.name: p})) - _lit(scene, base))
    ]
    return len(lighting) <= 1


def _meant_by(control: Control, position: str) -> Purposes | None:
    """What a control's position lights by its name; None if the name does not say."""
    words, place = words_of(control.name), words_of(position)
    if words & {"hazard", "hazards"} or place & {"hazard", "hazards"}:
        return INDICATORS
    if words & {"brake", "footbrake"} and not words & {"hand", "parking"}:
        return frozenset(("stop",))
    if words & {"indicator", "indicators", "stalk", "trafficators", "semaphores"} and not place & {"parking", "park"}:
        if "left" in place:
            return frozenset(("indicator left",))
        if "right" in place:
            return frozenset(("indicator right",))
    if words & {"gear", "gears"} and "reverse" in place:
        return frozenset(("reversing",))
    beam = _beam_of(words, place)
    if beam is not None:
        return beam
    if words & {"lights", "light", "lamp", "lamps", "lighting", "fog", "dip"} and not words & _OTHER_LAMPS:
        return _LIGHTING_SWITCH
    return None


def _beam_of(words: frozenset[str], place: frozenset[str]) -> Purposes | None:
    """What a dip switch lights by the name of its position."""
    if not words & {"dip", "dipper", "beam", "headlamp", "headlamps"}:
        return None
    if "main" in place or "high" in place:
        return frozenset(("main",))
    return frozenset(("dipped",)) if place & {"dipped", "dip", "low"} else None


def _beam(scene: Scene, moved: tuple[tuple[str, str], ...]) -> Purposes | None:
    """A dip switch lights nothing alone: with the lamp switch on, its position's name holds."""
    found = [_beam_of(words_of(control), words_of(position)) for control, position in moved]
    return next((beam for beam in found if beam is not None), None)


RULES: tuple[Rule, ...] = (strangers, left_out_of_hazard, indicators_that_do_not_flash, purposes_unknown)
