"""How likely what was seen and heard is under each prediction: the error model of eyes and ears.

All its parameters stand here and, for the words that a light is called by, in `word_model`, with their reasons.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.flasher_rate import ELECTRONIC_MISSES_BELOW, HEALTHY_PER_MIN, THERMAL_STOPS_AT
from tracer.circuit.model import Bools, Floats, Ints
from tracer.harness.base_rates import AWAKE_SHARE
from tracer.harness.model import VehicleState
from tracer.inference.bayes import ordered_word_probabilities
from tracer.inference.counted_lamps import either_way
from tracer.inference.lens_light import LENS_SEEN_ASKED, looked_at
from tracer.inference.load_likelihood import load_loglik
from tracer.inference.meant_states import LIT_ABOVE
from tracer.inference.pulsing_lamps import by_phases
from tracer.inference.reading_likelihood import undescribed_value
from tracer.inference.repeated_judgements import Cells, Masks, SaidBefore, mask_of
from tracer.inference.word_model import (
    CARELESS_SLIP,
    COMPLAINT_SLIP,
    DOUBT_SLIP,
    LIT_IS_CALLED,
    NOT_NORMAL,
    WORD_SLIP,
    Eye,
    at_random,
    likely_word,
    likely_words,
    meant,
    usual_word,
    word_probability,
)
from tracer.observation.consistency import comes_and_goes_in
from tracer.observation.evidence import (
    Compared,
    Evidence,
    FuseSeen,
    LampSeen,
    LensSeen,
    Light,
    LoadSeen,
    RelaySeen,
    Seen,
    Symptom,
    Value,
)
from tracer.observation.forward_model import Panel, Predictor

# Two lamps side by side: differences of a quarter are said, and lamps of one kind differ by a tenth (log10 of flux;
# brightness is told apart to 1 or 2 % side by side, from memory). Whoever sees one dark seldom calls it dimmer.
COMPARED_BORDER = 0.10
COMPARED_SOFTNESS = 0.05
DARK_IS_CALLED_DIMMER = 0.3
COMPARED_SLIP = 0.015
FLASH_SLIP, RATE_SLIP = 0.02, 0.03
DARK_FLUX = -2.5
# So many units that a file calls thermal go fast where a lamp is missed, as electronic ones do: a hot-wire unit does,
# and an electronic one may have come in its place. (Common practice, no source.)
GOES_FAST = 0.2
# A click is heard if one listens for it; a buzz is hard to miss.
CLICK_MISSED, CLICK_IMAGINED, BUZZ_MISSED = 0.10, 0.03, 0.05
# "Sometimes": of a loose contact that is awake this share of the time; of a fault that stays, a mistake. Who saw it
# come and go has seen it right as well; who saw it go over a bump or with his hand on it is hardly ever wrong.
SOMETIMES_OF_LASTING = 0.015
MOVED_OF_LASTING = 0.005
SOMETIMES_SAID = 0.9
# "Everything else normal" is said after a glance: each other lamp is checked with this probability …
OTHERS_LOOKED_AT = 0.85
OTHERS_FLOOR = np.log(0.002)  # … and the whole remark never counts for more than this.
# Of a fault of which nobody knows what it does: that everything else is normal, and that "only" is true.
OTHERS_OF_ANYTHING, ONLY_OF_ANYTHING = float(np.log(0.3)), float(np.log(0.5))

# What is said of a rate (`flashing` gives it): hardly anybody counts, so that some call a slow or a fast one just
# flashing; near the borders of 60 and 120 per minute it is a matter of taste; and near the load at which a
# thermal unit stops nobody knows whether it does.
SLOW_IS_SAID, FAST_IS_SAID = 0.6, 0.92
RATE_SOFTNESS = 0.12  # of its logarithm
LOAD_SOFTNESS = 0.05

PLAIN_EYE = Eye()
NOTHING: Final[Mapping[int, Any]] = MappingProxyType({})
# Which of the things said nobody asked for; how likely each then is, (H,), to an eye and with what was said before.
Unasked = Mapping[int, Callable[[Eye, "Masks | None"], Floats]]

def flash_probabilities(
    panel: Panel, lamp: int | slice, electronic: bool, surely: bool = False, as_filed: bool = False,
) -> dict[str, Floats]:
    """Probabilities (H,) of steady, flashing (any rate), slow, fast for one lamp, or (H, lamps) for several.
    `surely`: slips are reckoned elsewhere; `as_filed`: a thermal unit does as such units do, and is no other."""
    contrast = panel.flux[:, lamp] - panel.least[:, lamp]
    varies = _ramp(contrast, 0.30, 0.05)
    load, per_min = (x[:, None] if contrast.ndim == 2 else x for x in (panel.load, panel.per_min))
    load = np.nan_to_num(load, nan=1.0)
    stops = np.zeros_like(load) if electronic else _ramp(-load, -THERMAL_STOPS_AT, LOAD_SOFTNESS)
    rate = np.log(np.maximum(np.nan_to_num(per_min, nan=90.0), 1.0))
    low, high = np.log(HEALTHY_PER_MIN)
    slip, least = (0.0, 0.0) if surely else (FLASH_SLIP, RATE_SLIP)
    slow = least + (SLOW_IS_SAID - least) * _ramp(-rate, -low, RATE_SOFTNESS)
    fast = least + (FAST_IS_SAID - least) * _ramp(rate, high, RATE_SOFTNESS)
    flashing = slip + (1 - 2 * slip) * varies * (1 - stops)
    slow, fast = flashing * slow, flashing * fast
    if not electronic and not as_filed:
        lit = _ramp(panel.flux[:, lamp], -1.2, 0.1)
        turns = slip + (1 - 2 * slip) * np.maximum(varies, stops * lit)
        other = GOES_FAST * _ramp(-load, -ELECTRONIC_MISSES_BELOW, LOAD_SOFTNESS)
        flashing = (1 - other) * flashing + other * turns
        slow = (1 - other) * slow + other * turns * least
        fast = (1 - other) * fast + other * turns * FAST_IS_SAID
    return {"steady": 1 - flashing, "flashing": flashing, "slow": slow, "fast": fast}


def slip_of(seen: LampSeen, usual: float | None) -> float:
    """How often a look is wrong altogether; `usual` is the lamp's log10 flux on a sound vehicle, if that counts."""
    if seen.doubtful:
        return DOUBT_SLIP
    return WORD_SLIP if usual is None or likely_word(usual) in seen.words else COMPLAINT_SLIP


def lamp_loglik(
    panel: Panel, predictor: Predictor, seen: LampSeen, healthy: Panel | None = None, eye: Eye = PLAIN_EYE,
    before: Masks | None = None, complaint: bool = True, slip: float | None = None, mates: Sequence[int] = (),
) -> Floats:
    """ln probability (H,) of one lamp's look; `healthy` says how it usually looks, `before` (H, lamps) what the
    lamps were called when they shone alike. `complaint`: somebody came with it, and was not sent to look; `slip`: how
    often it is wrong altogether, if that is another than usual; `mates`: of a lamp that was asked for, those whose
    light some take for its own, as far as it should be lit."""
    lamp, p = predictor.lamp_index[seen.lamp], np.zeros(len(panel.flux))
    usual = None if healthy is None else float(healthy.flux[0, lamp])
    again = None if before is None or seen.doubtful else before[:, lamp]
    slip = slip_of(seen, usual if complaint else None) if slip is None else slip
    mates = mates if usual is not None and usual > LIT_ABOVE else ()
    for chance, own in either_way(panel, healthy, predictor, lamp):
        looks = [(1.0, own, lamp)] if healthy is None else looked_at(
            own, healthy, predictor, lamp, mates, LENS_SEEN_ASKED)
        for by, light, at in looks:
            calls = partial(eye.calls, words=seen.words, slip=slip, usual=usual, before=again)
            called = by_phases(own, lamp, healthy, calls) if light is own else calls(light.flux[:, at])
            if seen.flash is not None and predictor.flasher is not None:
                called = called * flash_probabilities(light, at, predictor.electronic)[seen.flash]
            p = p + chance * by * called
    # A hypothesis whose circuit could not be solved predicts nothing.
    return np.asarray(np.log(np.where(panel.usable, p, word_at_random(seen.words, usual))))


def look_loglik(
    panel: Panel, predictor: Predictor, value: Value, healthy: Panel | None = None, eye: Eye = PLAIN_EYE,
    before: Masks | None = None, mates: Sequence[int] = (),
) -> Floats:
    """ln probability (H,) of what a look showed: a lamp (`mates` as in `lamp_loglik`), or that the temporary lead's
    fuse blew."""
    if value.lead_blew:
        return np.asarray(np.log(np.where(panel.lead_blown, 0.95, 0.02)))
    if value.seen is None:
        return np.zeros(len(panel.flux))
    return lamp_loglik(panel, predictor, value.seen, healthy, eye, before, complaint=False, mates=mates)


def fuse_loglik(panel: Panel, predictor: Predictor, seen: FuseSeen) -> Floats:
    blown = panel.blown[:, predictor.fuses.index(seen.fuse)]
    return np.asarray(np.where(blown == seen.blown, np.log(0.97), np.log(0.03)))


def told_apart(one: Floats, two: Floats, slip: float = 0.0) -> Floats:
    """Probability (H, 3) that one of two lights, both log10 flux, is called dimmer, alike or brighter."""
    apart = np.maximum(one, DARK_FLUX) - np.maximum(two, DARK_FLUX)
    return ordered_word_probabilities(apart, [-COMPARED_BORDER, COMPARED_BORDER], COMPARED_SOFTNESS, slip)


def compared_loglik(panel: Panel, predictor: Predictor, seen: Compared) -> Floats:
    """ln probability (H,) of a comparison of two lamps."""
    one, two = (panel.flux[:, predictor.lamp_index[x]] for x in (seen.lamp, seen.other))
    words = told_apart(one, two, DOUBT_SLIP if seen.doubtful else COMPARED_SLIP)
    p = words[..., ("dimmer", "alike", "brighter").index(seen.how)]
    dark_one, dark_two = (word_probability(x, frozenset({"dark"}), 0.0) for x in (one, two))
    p = p * (1 - (1 - DARK_IS_CALLED_DIMMER) * np.abs(dark_one - dark_two))
    return np.asarray(np.log(np.where(panel.usable, p, 1 / 3)))


def relay_loglik(panel: Panel, predictor: Predictor, seen: RelaySeen) -> Floats:
    """ln probability (H,) of what was heard of a relay, or of a flasher unit's ticking."""
    if seen.relay in predictor.relays:
        k = predictor.relays.index(seen.relay)
        clicks, buzzes = panel.pulled_in[:, k], panel.restless[:, k]
    else:
        clicks, buzzes = np.nan_to_num(panel.per_min, nan=0.0) > 0, np.zeros(len(panel.load), dtype=bool)
    heard_buzz = np.where(buzzes, 1 - BUZZ_MISSED, 0.01)
    heard_click = (1 - heard_buzz) * np.where(clicks, 1 - CLICK_MISSED, CLICK_IMAGINED)
    p = {"buzzes": heard_buzz, "clicks": heard_click, "silent": 1 - heard_buzz - heard_click}[seen.does]
    return np.asarray(np.log(np.where(panel.usable, p, 1 / 3)))


def lens_loglik(
    panel: Panel, predictor: Predictor, seen: LensSeen, healthy: Panel | None = None, eye: Eye = PLAIN_EYE,
    before: Masks | None = None,
) -> Floats:
    """ln probability (H,) that at least one of the lamps that it may be looked so."""
    each = np.array([lamp_loglik(panel, predictor, look, healthy, eye, before) for look in seen.looks])
    none = np.log1p(-np.minimum(np.exp(each), 1 - 1e-12)).sum(axis=0)
    return np.asarray(np.log(-np.expm1(none)))


def only_loglik(panel: Panel, healthy: Panel, predictor: Predictor, seen: LampSeen, eye: Eye) -> Floats:
    """ln probability (H,) that a lamp did not look as said in a state without the control that "only" names."""
    lamp = predictor.lamp_index[seen.lamp]
    same = eye.calls(panel.flux[:, lamp], seen.words, 0.0, float(healthy.flux[0, lamp]))
    return np.asarray(np.log(WORD_SLIP + (1 - 2 * WORD_SLIP) * (1 - same)))


def others_loglik(
    panel: Panel, healthy: Panel, predictor: Predictor, named: frozenset[str], eye: Eye = PLAIN_EYE,
    before: Masks | None = None,
) -> Floats:
    """ln probability (H,) of "everything else normal"."""
    total = np.zeros(len(panel.flux))
    for i, filament in enumerate(predictor.lamps):
        if filament.lamp not in named:
            total += other_loglik(panel, healthy, predictor, i, eye, None if before is None else before[:, i])
    return np.maximum(total, OTHERS_FLOOR)


def other_loglik(
    panel: Panel, healthy: Panel, predictor: Predictor, lamp: int, eye: Eye = PLAIN_EYE, before: Masks | None = None
) -> Floats:
    """What one lamp of everything else adds to that, (H,)."""
    usual = float(healthy.flux[0, lamp])
    p = eye.calls(panel.flux[:, lamp], frozenset([likely_word(usual)]), WORD_SLIP, usual, before)
    if usual - healthy.least[0, lamp] > 0.5:
        p = p * flash_probabilities(panel, lamp, predictor.electronic)["flashing"]
    return np.asarray(np.log(1 - OTHERS_LOOKED_AT + OTHERS_LOOKED_AT * p))


def as_meant(item: Evidence, predictor: Predictor) -> Evidence:
    """What was seen, its words as they are meant of lamps that should be dark (`eyes.LIT_IS_CALLED`)."""

    def own(seen: Seen, state: VehicleState) -> Seen:
        if isinstance(seen, LensSeen):
            looks = [own(look, state) for look in seen.looks]
            return LensSeen(tuple(k for k in looks if isinstance(k, LampSeen)))
        if not isinstance(seen, LampSeen) or not (seen.words <= LIT_IS_CALLED or seen.words == NOT_NORMAL):
            return seen
        usual = float(predictor.healthy(state).flux[0, predictor.lamp_index[seen.lamp]])
        return replace(seen, words=meant(seen.words, usual))

    if isinstance(item, Symptom):
        return replace(item, seen=tuple(own(s, item.state) for s in item.seen))
    if item.test.row.of_lamps and item.value.seen is not None:
        seen = own(item.value.seen, item.test.state)
        assert isinstance(seen, LampSeen)
        return replace(item, value=replace(item.value, seen=seen))
    return item


def note_said(said: SaidBefore, predictor: Predictor, item: Evidence, cells: Cells, active: Ints) -> None:
    """Keeps what the lamps were called in a symptom or a look; `cells` as the hypotheses `active` (A,) make them."""
    seen = item.seen if isinstance(item, Symptom) else (item.value.seen,)
    looks = [s for s in seen if isinstance(s, LampSeen) and not s.doubtful and not s.sometimes]
    words = {predictor.lamp_index[s.lamp]: mask_of(s.words) for s in looks}
    light: Light = ""
    if isinstance(item, Symptom):
        light = item.light
        if item.others_normal:
            usual, named = likely_words(predictor.healthy(item.state).flux[0]), item.lamps_named()
            words |= {i: 1 << int(usual[i]) for i, f in enumerate(predictor.lamps) if f.lamp not in named}
    said.note(cells, active, light, list(words), list(words.values()))


def symptom_parts(
    predictor: Predictor, symptom: Symptom, panel_of: Callable[[VehicleState], Panel], before: Masks | None = None,
    shift: float = 0.0, unasked: Unasked = NOTHING,
) -> Floats:
    """ln probability (N, H) of each thing said in one symptom. `panel_of` gives the panel of a state; `before`
    (H, lamps) is what the lamps were called when they shone alike; `shift` as in `Eye`; `unasked` gives what some of
    the things said are as complaints that nobody asked for."""
    panel, healthy = panel_of(symptom.state), predictor.healthy(symptom.state)
    eye = Eye(shift, symptom.light)
    rows: list[Floats] = []
    for k, seen in enumerate(symptom.seen):
        if k in unasked:
            rows.append(unasked[k](eye, before))
            continue
        match seen:
            case LampSeen():
                rows.append(lamp_loglik(panel, predictor, seen, healthy, eye, before))
            case FuseSeen():
                rows.append(fuse_loglik(panel, predictor, seen))
            case Compared():
                rows.append(compared_loglik(panel, predictor, seen))
            case RelaySeen():
                rows.append(relay_loglik(panel, predictor, seen))
            case LensSeen():
                rows.append(lens_loglik(panel, predictor, seen, healthy, eye, before))
            case LoadSeen():
                rows.append(load_loglik(panel, predictor, seen))
    if symptom.others_normal:
        rows.append(others_loglik(panel, healthy, predictor, symptom.lamps_named(), eye, before))
    for control in symptom.only:
        state = symptom.without(control, predictor.harness)
        without, usual = panel_of(state), predictor.healthy(state)
        rows += [only_loglik(without, usual, predictor, s, eye) for s in symptom.seen if isinstance(s, LampSeen)]
    return np.array(rows, dtype=float).reshape(-1, len(panel.flux))


def carelessly(said: Floats, item: Evidence, predictor: Predictor, unasked: Mapping[int, float] = NOTHING) -> Floats:
    """ln probability (N, H) of each thing said if a careless person says it; `said` is that of a careful one.
    `unasked`: which of the things said are complaints nobody asked for, and how likely each is at random."""
    if isinstance(item, Symptom):
        alone = [undescribed_seen(s, item.state, predictor) for s in item.seen]
        alone += [OTHERS_OF_ANYTHING] * item.others_normal
    else:
        alone = [undescribed_seen(item.value.seen, item.test.state, predictor)] if item.value.seen else []
    for k, p in unasked.items():
        alone[k] = float(np.log(p))
    anything = np.array(alone + [np.log(0.5)] * (len(said) - len(alone)), dtype=float)[:, None]
    return np.asarray(np.logaddexp(np.log1p(-CARELESS_SLIP) + said, np.log(CARELESS_SLIP) + anything))


def by_permanence(said: Floats, usual: Floats, item: Evidence) -> tuple[Floats, Floats]:
    """ln probability (H,) of one piece of evidence if the fault stays, and if it comes and goes.

    Args:
        said: (N, H) ln probability of each thing said while the fault shows.
        usual: (N, 1) the same on a healthy vehicle.
    """
    seen = item.seen if isinstance(item, Symptom) else ()
    at_times = np.array([comes_and_goes_in(s) for s in seen] + [False] * (len(said) - len(seen)))
    often, count = said[~at_times].sum(axis=0), int(at_times.sum())
    now = said[at_times].sum(axis=0)
    asleep = np.log(1 - AWAKE_SHARE) + usual[~at_times].sum(axis=0)
    mistaken = [MOVED_OF_LASTING if getattr(s, "moved", False) else SOMETIMES_OF_LASTING
                for s in seen if comes_and_goes_in(s)]
    lasting = often + now + float(np.log(mistaken).sum())
    if len(often) and count == len(said):  # nothing else was said of what it showed at the time
        return lasting, now + count * np.log(SOMETIMES_SAID)
    return lasting, np.logaddexp(np.log(AWAKE_SHARE) + often, asleep) + now + count * np.log(SOMETIMES_SAID)


def undescribed_loglik(item: Evidence, predictor: Predictor) -> float:
    """ln probability of a piece of evidence under "not described by the harness file"."""
    if isinstance(item, Symptom):
        each = sum(undescribed_seen(s, item.state, predictor) for s in item.seen)
        return each + OTHERS_OF_ANYTHING * item.others_normal + ONLY_OF_ANYTHING * len(item.only)
    if item.value.lead_blew:
        return float(np.log(0.1))
    if item.test.row.of_lamps:
        return undescribed_seen(item.value.seen, item.test.state, predictor) if item.value.seen else 0.0
    return undescribed_value(item.value, item.test.kind, predictor.emf)


def undescribed_seen(seen: Seen, state: VehicleState, predictor: Predictor) -> float:
    """ln probability of one thing seen under "something the harness file does not describe": any word as likely as
    any other."""
    if isinstance(seen, LensSeen):
        none = [1 - np.exp(undescribed_seen(look, state, predictor)) for look in seen.looks]
        return float(np.log(1 - np.prod(none)))
    if not isinstance(seen, LampSeen):
        return float(np.log(0.5 if isinstance(seen, (FuseSeen, LoadSeen)) else 1 / 3))
    lamp = predictor.lamp_index.get(seen.lamp)  # none of a test lamp
    usual = None if lamp is None else float(predictor.healthy(state).flux[0, lamp])
    p = word_at_random(seen.words, usual) * (0.5 if seen.flash else 1.0) * (0.5 if seen.sometimes else 1.0)
    return float(np.log(p))


def word_at_random(words: frozenset[str], usual: float | None) -> float:
    """Probability of words for a lamp if any is as likely as any other; `usual` is its flux on a sound vehicle."""
    of = np.zeros(1, dtype=np.intp) if usual is None else usual_word(usual)
    return float(at_random(np.uint8(mask_of(words)), of).item())


def contradicted(loglik: Floats, undescribed: Floats | float) -> Bools:
    """Which rows the observation speaks against: it would be likelier with no explanation at all."""
    return np.asarray(loglik < undescribed - 1.0)


def _ramp(x: Floats, middle: float, width: float) -> Floats:
    return np.asarray(1 / (1 + np.exp(-np.clip((x - middle) / width, -50, 50))))
