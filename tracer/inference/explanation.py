"""Why a suspect is a suspect: evidence by evidence, the path of the current, and what else would be seen."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import get_args

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import Bools, Floats
from tracer.harness.devices import Filament
from tracer.harness.model import VehicleState
from tracer.inference.current_paths import Flow, flow, path_through, say_path
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.hypotheses import Hypothesis, basic_states
from tracer.inference.likelihood import (
    OTHERS_OF_ANYTHING,
    as_meant,
    compared_loglik,
    contradicted,
    flash_probabilities,
    relay_loglik,
    symptom_parts,
    undescribed_seen,
)
from tracer.inference.load_likelihood import load_does
from tracer.inference.usual_directions import FLOWS_A, WORTH, usual_of
from tracer.inference.visual_inspection import hand_chances, say_chance, shows_in
from tracer.inference.word_model import likely_word
from tracer.observation.evidence import (
    Compared,
    Comparison,
    Evidence,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    Reading,
    RelaySeen,
    Sound,
    Symptom,
    Test,
    by_hand,
)
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.test_kinds import KINDS, TestKind


class Fit(Struct, frozen=True):
    """One piece of evidence under one suspect: what it predicts, what was seen, whether that fits."""

    predicted: str
    seen: str
    fits: bool
    explains: bool  # a healthy vehicle would not have shown it


class Reason(Struct, frozen=True):
    """All that speaks for and against one suspect."""

    fits: tuple[Fit, ...]
    path: str
    back_feed: tuple[str, ...]
    elsewhere: tuple[str, ...]


def say_lamp(panel: Panel, predictor: Predictor, lamp: str) -> str:
    """The look of one lamp that row 0 of a panel predicts: "normal, flashing", "dark"."""
    i = predictor.lamp_index[lamp]
    word = likely_word(float(panel.flux[0, i]))
    if word == "dark" or predictor.flasher is None:
        return word
    p = flash_probabilities(panel, i, predictor.electronic, as_filed=True)
    if p["flashing"][0] < 0.5:
        busy = not np.isnan(panel.load[0]) and panel.flux[0, i] - panel.least[0, i] > 0.3
        return f"{word}, steady instead of flashing" if busy else word
    rate = next((r for r in ("slow", "fast") if p[r][0] > 0.5 * p["flashing"][0]), "")
    return f"{word}, flashing {rate}".rstrip()


def say_value(kind: TestKind, value: float) -> str:
    """A predicted reading in words."""
    if np.isnan(value):
        return "no prediction"
    quantity = KINDS[kind].quantity
    return quantity.say(value) if quantity else likely_word(value)


def say_either(kind: TestKind, values: Floats) -> str:
    """A predicted reading that is one of these values, in words."""
    return " or ".join(dict.fromkeys(say_value(kind, float(v)) for v in values))


def predicted_words(predictor: Predictor, hypothesis: Hypothesis, item: Evidence) -> str:
    """What the hypothesis predicts for one piece of evidence."""
    if by_hand(item):
        return say_chance(float(chances_by_hand(predictor, item.test, [hypothesis])[0]), item.test.kind)
    if isinstance(item, Reading) and not item.test.row.of_lamps:
        return say_either(item.test.kind, either_way(predictor, [item.test], [hypothesis.change])[0][:, 0])
    done = item.test.change(predictor.circuit) if isinstance(item, Reading) else None
    state = item.test.state if isinstance(item, Reading) else item.state
    setup = predictor.setup(state, done) if done else predictor.setup(state)
    panel = predictor.panel(setup, predictor.table([hypothesis.change], setup.done))
    if isinstance(item, Reading):
        return f"{item.test.lamp} {say_lamp(panel, predictor, item.test.lamp)}"
    said = []
    for seen in item.seen:
        if isinstance(seen, LampSeen):
            said.append(f"{seen.lamp} {say_lamp(panel, predictor, seen.lamp)}")
        elif isinstance(seen, LensSeen):
            said += [f"{lamp} {say_lamp(panel, predictor, lamp)}" for lamp in seen.lamps]
        else:
            said.append(_say_other(panel, predictor, seen))
    if item.others_normal:
        odd = _odd_lamps(predictor, panel, predictor.healthy(item.state), set(item.lamps_named()))
        said.append("everything else normal" if not odd else "also " + ", ".join(odd[:3]))
    return ", ".join(said)


def chances_by_hand(predictor: Predictor, test: Test, hypotheses: Sequence[Hypothesis]) -> Floats:
    """(H,) probability that something is found, changes or is lost where hands or a pin go."""
    def shows(test: Test) -> Bools:
        panel = predictor.panel(predictor.setup(test.state), predictor.table([h.change for h in hypotheses]))
        return shows_in(panel, predictor, test)

    def along(test: Test) -> Floats:
        return predictor.observed(test, [h.change for h in hypotheses])

    return hand_chances(test, hypotheses, shows, along, predictor.harness)


def _say_other(panel: Panel, predictor: Predictor, seen: FuseSeen | Compared | RelaySeen | LoadSeen) -> str:
    """What row 0 of a panel predicts for a fuse, a comparison or a sound: the likeliest thing to be said."""
    if isinstance(seen, FuseSeen):
        blown = bool(panel.blown[0, predictor.fuses.index(seen.fuse)])
        return replace(seen, blown=blown, when="", once=False).says()
    if isinstance(seen, LoadSeen):
        weak = replace(seen, works=True, sometimes=False, weak=True)
        works = replace(seen, works=True, sometimes=False, weak=False)
        if seen.weak and load_does(panel, predictor, weak)[0]:
            return weak.says()
        return (works if load_does(panel, predictor, works)[0] else replace(works, works=False)).says()
    if isinstance(seen, Compared):
        ways = [replace(seen, how=how, doubtful=False) for how in get_args(Comparison)]
        return max(ways, key=lambda w: float(compared_loglik(panel, predictor, w)[0])).says()
    sounds = [replace(seen, does=does) for does in get_args(Sound)]
    return max(sounds, key=lambda w: float(relay_loglik(panel, predictor, w)[0])).says()


def say_evidence(item: Evidence, diagnosis: Diagnosis) -> str:
    """What was seen, in words."""
    harness = diagnosis.predictor.harness
    if isinstance(item, Symptom):
        return f"{item.says().replace('; ', ', ')} ({harness.say_state(item.state)})"
    value = item.value.text or (item.value.seen.says() if item.value.seen else "")
    return f"{item.test.says(harness)}: {value}"


def reason(diagnosis: Diagnosis, suspect: Suspect) -> Reason:
    """Evidence by evidence, path, and checks that a look can settle."""
    predictor, row = diagnosis.predictor, suspect.rows[0]
    fits = []
    words: dict[Hashable, str] = {}  # what was looked at or measured twice is predicted once
    for e, item in enumerate(diagnosis.evidence):
        own, healthy = diagnosis.loglik[e, row], diagnosis.healthy[e]
        against = bool(contradicted(np.array([own]), float(diagnosis.random[e]))[0])
        what = item.test if isinstance(item, Reading) else replace(item, text="")
        if what not in words:
            words[what] = predicted_words(predictor, suspect.best, item)
        fits.append(Fit(words[what], say_evidence(item, diagnosis), not against, bool(own > healthy + 1.0)))
    path = current_path(diagnosis, suspect)
    said, fed = (f"{path.lamp}: {path.words}", path.back_feed) if path else ("", ())
    return Reason(tuple(fits), said, fed, tuple(elsewhere(diagnosis, suspect)))


class Path(Struct, frozen=True):
    """The way of the current through one lamp in one state; `back_feed` names lamps it passes the wrong way."""

    state: str
    lamp: str
    words: str
    back_feed: tuple[str, ...]


def current_path(diagnosis: Diagnosis, suspect: Suspect) -> Path | None:
    """The path that tells most about a suspect: through a lamp that was seen lit, with a back-feed if there is
    one; else through a lamp that stayed dark."""
    predictor, harness = diagnosis.predictor, diagnosis.predictor.harness
    usual = usual_of(predictor)
    gains: dict[tuple[VehicleState, str], float] = {}
    for state, name, gain in _looked_at(diagnosis, suspect):
        gains[state, name] = max(gain, gains.get((state, name), gain))
    named = {name for _, name in gains}
    flows: dict[VehicleState, Flow] = {}
    best: tuple[tuple[bool, bool, bool, float], Path] | None = None
    for (state, name), gain in gains.items():
        lamp = harness.lamp(name)
        if state not in flows:
            flows[state] = flow(predictor, predictor.setup(state), suspect.best.change)
        found = flows[state]
        amps = abs(found.signed.get(lamp.name, 0.0))
        glows = amps >= max(FLOWS_A, WORTH * abs(usual.most.get(lamp.name, 0.0)))
        path = path_through(found, lamp, predictor) if glows else ()
        against = usual.against(found)
        fed = tuple(x.device.lamp for x in path if isinstance(x.device, Filament) and x.name in against)
        words = say_path(path, lamp, against)
        rank = (bool(named & set(fed)), bool(fed), glows, gain)
        if best is None or rank > best[0]:
            best = rank, Path(harness.say_state(state), name, words, fed)
    return best[1] if best else None


def _looked_at(diagnosis: Diagnosis, suspect: Suspect) -> list[tuple[VehicleState, str, float]]:
    """Lamps that were looked at on the undisturbed vehicle: state, lamp, and how much the suspect explains."""
    out = []
    for e, item in enumerate(diagnosis.evidence):
        gain = float(diagnosis.loglik[e, suspect.rows[0]] - diagnosis.healthy[e])
        if isinstance(item, Symptom):
            out += [(item.state, s.lamp, gain) for s in item.seen if isinstance(s, LampSeen)]
        elif item.test.row.of_lamps and not item.test.done:
            out.append((item.test.state, item.test.lamp, gain))
    return out


def elsewhere(diagnosis: Diagnosis, suspect: Suspect, count: int = 3) -> list[str]:
    """What a look in other vehicle states would show if the suspect were true (unlike a healthy vehicle)."""
    predictor = diagnosis.predictor
    seen = {i.state for i in diagnosis.evidence if isinstance(i, Symptom)}
    found: list[tuple[int, str]] = []
    states = [s for s in basic_states(predictor.harness) if s not in seen]
    table = predictor.table([suspect.best.change])
    panels = predictor.looks([(predictor.setup(state), table) for state in states])
    for state, panel in zip(states, panels, strict=True):
        odd = _odd_lamps(predictor, panel, predictor.healthy(state), set())
        if odd:
            found.append((len(odd), f"{predictor.harness.say_state(state)}: {', '.join(odd[:3])}"))
    found.sort(key=lambda f: f[0])
    return [words for _, words in found[:count]]


def _odd_lamps(predictor: Predictor, panel: Panel, healthy: Panel, skip: set[str]) -> list[str]:
    """Lamps that look otherwise than on a healthy vehicle, the most different first."""
    odd = []
    for i, lamp in enumerate(predictor.lamps):
        if lamp.lamp in skip:
            continue
        ours, theirs = say_lamp(panel, predictor, lamp.lamp), say_lamp(healthy, predictor, lamp.lamp)
        if ours != theirs:
            odd.append((-abs(float(panel.flux[0, i] - healthy.flux[0, i])), f"{lamp.lamp} {ours}"))
    return [words for _, words in sorted(odd)]


def would_be_wrong(diagnosis: Diagnosis, suspect: Suspect) -> list[str]:
    """The single observations that speak against a suspect: all of them would have to be wrong if it were true."""
    predictor, change, row = diagnosis.predictor, suspect.best.change, suspect.rows[0]

    def panel_of(state: VehicleState) -> Panel:
        return predictor.panel(predictor.setup(state), predictor.table([change]))

    out: list[str] = []
    for e, item in enumerate(diagnosis.evidence):
        if not contradicted(diagnosis.loglik[e, [row]], float(diagnosis.random[e]))[0]:
            continue
        if not isinstance(item, Symptom):
            out.append(say_evidence(item, diagnosis))
            continue
        heard = as_meant(item, predictor)
        assert isinstance(heard, Symptom)
        parts = symptom_parts(predictor, heard, panel_of)[:, 0]
        said = [s.says() for s in item.seen] + ["everything else normal"] * item.others_normal
        unexplained = [undescribed_seen(s, item.state, predictor) for s in heard.seen]
        unexplained += [OTHERS_OF_ANYTHING] * item.others_normal
        where = predictor.harness.say_state(item.state)
        wrong = [w for w, p, u in zip(said, parts, unexplained, strict=False) if contradicted(p, u)]
        out += [f"{w} ({where})" for w in wrong] or [say_evidence(item, diagnosis)]
    return out


def states_tried(diagnosis: Diagnosis) -> list[VehicleState]:
    """Vehicle states in which something was seen or measured, in order."""
    states = [
        i.state if isinstance(i, Symptom) else i.test.state for i in diagnosis.evidence
        if isinstance(i, Symptom) or not i.test.at_rest
    ]
    return list(dict.fromkeys(states))
