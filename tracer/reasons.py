"""Why a suspect is a suspect: evidence by evidence, the path of the current, and what else would be seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracer.circuit import Change
from tracer.evidence import Evidence, LampSeen, Reading, Symptom
from tracer.filament import log_flux
from tracer.harness import VehicleState
from tracer.likelihood import contradicted, flash_probabilities, likely_word
from tracer.paths import back_feeds, flow, path_through, say_path
from tracer.predictions import Panel, Predictor
from tracer.suspects import Diagnosis, Hypothesis, Suspect, basic_states


@dataclass(frozen=True)
class Fit:
    """One piece of evidence under one suspect: what it predicts, what was seen, whether that fits."""

    predicted: str
    seen: str
    fits: bool
    explains: bool  # a healthy vehicle would not have shown it


@dataclass(frozen=True)
class Reason:
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
    p = flash_probabilities(panel, i, predictor.flasher.working == "electronic")
    if p["flashing"][0] < 0.5:
        busy = not np.isnan(panel.load[0]) and panel.flux[0, i] - panel.least[0, i] > 0.3
        return f"{word}, steady instead of flashing" if busy else word
    rate = next((r for r in ("slow", "fast") if p[r][0] > 0.5 * p["flashing"][0]), "")
    return f"{word}, flashing {rate}".rstrip()


def say_value(kind: str, value: float) -> str:
    """A predicted reading in words."""
    if np.isnan(value):
        return "no prediction"
    if kind == "test lamp":
        return likely_word(value)
    if kind == "ohms":
        return "open" if np.isinf(value) or value > 5e6 else f"{value:.1f} Ω" if value < 100 else f"{value:.0f} Ω"
    return f"{value + 0.0:.2f} V" if abs(value) >= 0.005 else "0.00 V"


def predicted_words(predictor: Predictor, hypothesis: Hypothesis, item: Evidence) -> str:
    """What the hypothesis predicts for one piece of evidence."""
    if isinstance(item, Reading) and item.test.kind != "look":
        return say_value(item.test.kind, float(predictor.observed(item.test, [hypothesis.change])[0]))
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
        else:
            blown = panel.blown[0, predictor.fuses.index(seen.fuse)]
            said.append(f"fuse {seen.fuse} {'blows' if blown else 'holds'}")
    if item.others_normal:
        odd = _odd_lamps(predictor, panel, predictor.healthy(item.state), set(item.lamps_named()))
        said.append("everything else normal" if not odd else "also " + ", ".join(odd[:3]))
    return ", ".join(said)


def say_evidence(item: Evidence, diagnosis: Diagnosis) -> str:
    """What was seen, in words."""
    harness = diagnosis.predictor.harness
    if isinstance(item, Symptom):
        said = [s.says() for s in item.seen] + (["everything else normal"] if item.others_normal else [])
        return f"{', '.join(said)} ({harness.say_state(item.state)})"
    value = item.value.text or (item.value.seen.says() if item.value.seen else "")
    return f"{item.test.says(harness)}: {value}"


def reason(diagnosis: Diagnosis, suspect: Suspect) -> Reason:
    """Evidence by evidence, path, and checks that a look can settle."""
    predictor, row = diagnosis.predictor, suspect.rows[0]
    fits = []
    for e, item in enumerate(diagnosis.evidence):
        own, healthy = diagnosis.loglik[e, row], diagnosis.healthy[e]
        against = bool(contradicted(np.array([own]), float(diagnosis.beyond[e]))[0])
        fits.append(Fit(
            predicted_words(predictor, suspect.best, item), say_evidence(item, diagnosis), not against,
            bool(own > healthy + 1.0),
        ))
    path, fed = _path(diagnosis, suspect)
    return Reason(tuple(fits), path, fed, tuple(elsewhere(diagnosis, suspect)))


def _path(diagnosis: Diagnosis, suspect: Suspect) -> tuple[str, tuple[str, ...]]:
    """The current path of the lamp that the suspect explains best, a back-feed before a plain one."""
    predictor = diagnosis.predictor
    candidates: list[tuple[bool, float, VehicleState, str, Change | None]] = []
    for e, item in enumerate(diagnosis.evidence):
        gain = float( diagnosis.loglik[e, suspect.rows[0]] - diagnosis.healthy[e])
        if isinstance(item, Symptom):
            lamps = [s for s in item.seen if isinstance(s, LampSeen)]
            candidates += [("dark" in s.words, -gain, item.state, s.lamp, None) for s in lamps]
        elif item.test.kind == "look":
            dark = item.value.seen is None or "dark" in item.value.seen.words
            candidates.append((dark, -gain, item.test.state, item.test.lamp, item.test.change(predictor.circuit)))
    best: tuple[str, tuple[str, ...]] = ("", ())
    for _, _, state, name, done in sorted(candidates, key=lambda c: c[:2])[:6]:  # lamps that shine first
        lamp = predictor.harness.lamp(name)
        setup = predictor.setup(state, done) if done else predictor.setup(state)
        found = flow(predictor, setup, suspect.best.change)
        path = path_through(found, lamp, predictor)
        fed = back_feeds(path, lamp)
        words = f"{name}: {say_path(path, lamp)}"
        if fed:
            return words, fed
        if not best[0] or ("no current" in best[0] and path):
            best = (words, ())
    return best


def elsewhere(diagnosis: Diagnosis, suspect: Suspect, count: int = 3) -> list[str]:
    """What a look in other vehicle states would show if the suspect were true (unlike a healthy vehicle)."""
    predictor = diagnosis.predictor
    seen = {i.state for i in diagnosis.evidence if isinstance(i, Symptom)}
    found: list[tuple[int, str]] = []
    for state in basic_states(predictor.harness):
        if state in seen:
            continue
        panel = predictor.panel(predictor.setup(state), predictor.table([suspect.best.change]))
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


def states_tried(diagnosis: Diagnosis) -> list[VehicleState]:
    """Vehicle states in which something was seen or measured, in order."""
    states = [i.state if isinstance(i, Symptom) else i.test.state for i in diagnosis.evidence]
    return list(dict.fromkeys(states))


def light_of(volts: float, v_normal: float) -> str:
    """The word for a lamp at a voltage."""
    return likely_word(float(log_flux(np.array(volts), np.array(v_normal))))
