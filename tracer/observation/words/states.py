"""Vehicle states in words: "ignition on, gear reverse", "lights side and brake pressed", "everything off"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from msgspec import Struct, field
from msgspec.structs import replace

from tracer.errors import SymptomError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.model import Control, Harness, VehicleState
from tracer.observation.words.words import HARMLESS, check_length, listed, singular, tokens, word_set

_RUNNING: Final = {"running": True, "run": True, "idling": True, "started": True, "on": True, "stopped": False,
                   "off": False}
_REST: Final = frozenset({"off", "released", "rest"})
_WORKED: Final = frozenset({"on", "pressed", "applied", "down", "depressed", "pushed", "operated", "held"})
_NOT: Final = frozenset({"not", "isn't", "no"})
_EVERYTHING: Final = frozenset({"everything", "all", "others", "nothing"})
_EMPTY: Final = (HARMLESS - {"on"}) | {"position", "set", "switched", "turned", "selected", "engaged", "foot", "key",
                                        "moved", "put", "to"}
# Words that go with any control, once another word has named it or its position.
_SOFT: Final = frozenset({"light", "lamp", "switch", "pedal", "lever", "stalk", "beam", "button", "knob", "signal"})
_LIGHT: Final = frozenset({"light", "lamp", "beam"})
# Words that tell one position, whichever of them the harness uses.
_SAME: Final = tuple(map(word_set, ("side pilot parking position tail marker", "dip dipped low", "main high full",
                                     "reverse reversing backward", "head headlamp headlight", "closed shut")))
_MAX_WORDS: Final = 12  # in one item; nobody needs more, and runs of words are tried in every split


def state_words(state: VehicleState) -> str:
    """Every control with its position, in words that `parse_state` reads."""
    return ", ".join([f"{c} {p}" for c, p in state.positions] + (["engine running"] if state.engine_running else []))


class _Fit(Struct, frozen=True):
    """One understanding of some words: a control in a position."""

    named: bool  # all words of one of the control's names are there
    direct: bool  # the position by its own name, not by "on", "off" or "held down"
    missing: int  # words of the position's name not said
    bare: bool  # "main beam on": the position, and that something is lit, but not the control
    control: str
    position: str


class _States:
    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.names: dict[str, list[frozenset[str]]] = {}
        self.words: dict[str, frozenset[str]] = {}
        self.positions: dict[str, dict[str, frozenset[str]]] = {}
        for name, control in harness.controls.items():
            self.names[name] = [_words(n) for n in (name, *control.also)]
            self.words[name] = frozenset(w for ws in self.names[name] for w in ws)
            self.positions[name] = {p: _words(p) for p in control.positions}
        self.vocabulary = frozenset(
            w for c in harness.controls for ws in (self.words[c], *self.positions[c].values()) for w in ws
        )

    def pairs(self) -> list[str]:
        found = [f"{c.name} {p}" for c in self.harness.controls.values() for p in c.positions]
        return [*found, "engine running", "engine off", "everything off"]

    def fits(self, words: Sequence[str]) -> list[_Fit]:
        """The best understandings of these words as one control and one position."""
        found = [f for c in self.harness.controls.values() for f in self._fits(c, words)]
        if not found or (self._called_so(words) and not any(f.named for f in found)):
            return []  # "lights on" of a control called so that has no such position is not said of another's lights
        def rank(f: _Fit) -> tuple[bool, bool, int]:
            return f.named, f.direct, -f.missing
        best = max(map(rank, found))
        return [f for f in found if rank(f) == best]

    def _called_so(self, words: Sequence[str]) -> bool:
        """Whether a control has just that name, "on" and "off" apart."""
        said = {x for w in words if w not in _EMPTY | _WORKED | _REST for x in self._known(w)}
        return any(n and n == said for names in self.names.values() for n in names)

    def _fits(self, control: Control, words: Sequence[str]) -> Iterator[_Fit]:
        own = self.words[control.name]
        options = [(w, self._known(w)) for w in words if w not in _EMPTY or w in self.vocabulary]
        named = any(n and n <= {x for _, o in options for x in o} for n in self.names[control.name])
        rest, *others = control.positions
        just_on = len(others) == 1 and self.positions[control.name][others[0]] <= _WORKED
        if just_on and named and all(own.intersection(known) for _, known in options):
            # "with the side lights": they are on. Where a position says more than that, it is to be named.
            yield _Fit(named, False, 1, False, control.name, others[0])
            return
        for position, position_words in self.positions[control.name].items():
            direct = of_control = stands = False
            left: list[str] = []
            for word, known in options:
                # "on" tells where a control stands that has but one position beside rest.
                by_meaning = (word in _REST and position == rest) or (word in _WORKED and others == [position])
                if position_words.intersection(known):
                    direct = True
                elif by_meaning:
                    stands = True
                elif own.intersection(known):
                    of_control = True
                elif not (word in _WORKED and position != rest):
                    left.append(word)
            if direct and not of_control:  # "dipped beam on": that something is lit, not where the control stands
                left = [w for w in left if w not in _WORKED]
            telling = of_control or (direct and not position_words <= _REST | _WORKED)
            if (direct or stands) and (not left or (telling and all(singular(w) in _SOFT for w in left))):
                missing = sum(w not in {x for _, o in options for x in o} for w in position_words)
                lit = any(
                    w in _WORKED or singular(w) in _LIGHT for w, o in options if not position_words.intersection(o)
                )
                yield _Fit(named, direct, missing, lit and not of_control and direct, control.name, position)

    def _known(self, word: str) -> tuple[str, ...]:
        one = singular(word)
        for spelled in (word, one):
            if spelled in self.vocabulary:
                return (spelled,)
        same = [s for group in _SAME if one in group for s in sorted(group & self.vocabulary)]
        if same:
            return tuple(same)
        return tuple(v for v in self.vocabulary if v.startswith(one)) if len(one) >= 3 else ()


def _words(name: str) -> frozenset[str]:
    found = [singular(t) for t in tokens(name) if t[0].isalnum()]
    return frozenset(found)


def parse_state(text: str, harness: Harness) -> VehicleState:
    """The vehicle state that a text describes; controls it does not mention stand as assumed.

    Raises:
        UnknownNameError: A control or position that the harness does not have.
        SymptomError: Words that fit several controls, a control without its position, or one control in two.
    """
    states = _States(harness)
    chosen: dict[str, str] = {}
    engine: bool | None = None
    base: str | None = None
    bare = ""
    for item in re.split(r"[,;&+]|\band\b", check_length(text), flags=re.IGNORECASE):
        words = [t for t in tokens(item) if t[0].isalnum()]
        if "braking" in words and "braking" not in states.vocabulary:
            words[words.index("braking")] = "brake"
            words.append("pressed")
        if not any(w not in _EMPTY for w in words) and not any(w in states.vocabulary for w in words):
            continue
        if len(words) > _MAX_WORDS:
            raise SymptomError(f"“{clip(item)}” is too long for one control", "put commas between the controls")
        told = [w for w in words if w in _EVERYTHING or w == "rest"]
        if told and told[0] not in states.vocabulary and (told[0] != "rest" or words[0] in ("rest", "the")):
            base = _everything(item, words)
            continue
        if "engine" in words and "engine" not in states.vocabulary:
            engine = _joined_engine(engine, item, words)
            continue
        for fit in _one_item(item, words, states):
            control, position = fit.control, fit.position
            if chosen.setdefault(control, position) != position:
                raise SymptomError(f"{control} cannot be both {chosen[control]} and {position}",
                                   "record what was seen in each position as a symptom of its own")
            bare = bare or (clip(item) if fit.bare else "")
    if base is None and not chosen and engine is None:
        raise SymptomError("the position of no control is given", "such as “everything off” or “ignition on”")
    if bare and len(chosen) == 1 and base is None:
        # The switch of the lamps would be taken to be off, which is not what was meant.
        (control, position), = chosen.items()
        raise SymptomError(f"“{bare}” tells only where the {control} stands",
                           f"name the other controls too, or write “{control} {position}”")
    if base == "all":
        moved = [f"{c} {p}" for c, p in chosen.items() if p != harness.controls[c].positions[0]]
        moved += ["engine running"] if engine else []
        if moved:
            raise SymptomError(f"“everything off” and “{moved[0]}” cannot both be", "say “everything else off”")
    if base is not None:
        chosen = {n: c.positions[0] for n, c in harness.controls.items()} | chosen
    return harness.state(chosen, bool(engine))


def _everything(item: str, words: Sequence[str]) -> str:
    others = "rest" in (words[0], *words[1:2]) or {"else", "other", "others"}.intersection(words)
    said = [w for w in words[:-1] if w != "rest"] + [words[-1]]
    left = set(said) - _EVERYTHING - _EMPTY - {"else", "other", "control", "controls", "switches"}
    if not left or left - ({"on"} if "nothing" in words else _REST):
        raise SymptomError(f"“{clip(item)}” is not a vehicle state", "say “everything off” or “everything else off”")
    return "others" if others else "all"


def _joined_engine(before: bool | None, item: str, words: Sequence[str]) -> bool:
    told = {_RUNNING[w] for w in words if w in _RUNNING}
    left = [w for w in words if w not in _RUNNING and w not in _EMPTY and w not in _NOT and w != "engine"]
    if len(told) != 1 or left:
        raise SymptomError(f"“{clip(item)}” does not say whether the engine runs",
                           "say “engine running” or “engine off”")
    running = told.pop() != bool(_NOT.intersection(words))
    if before is not None and before != running:
        raise SymptomError("the engine cannot be both running and off",
                           "record what was seen in each as a symptom of its own")
    return running


class _Seen(Struct):
    """What was found of runs of words, and the runs that fit several controls."""

    fits: dict[tuple[str, ...], tuple[_Fit, ...]] = field(default_factory=dict)
    several: list[list[_Fit]] = field(default_factory=list)


def _one_item(item: str, words: list[str], states: _States) -> tuple[_Fit, ...]:
    """The controls in one item, which are several where no comma was put between them."""
    seen = _Seen()
    found = _split(tuple(words), states, seen)
    if found:
        return found
    if seen.several:
        names = [f"{f.control} {f.position}" for f in seen.several[0]]
        raise SymptomError(f"“{clip(item)}” could be {listed(names)}", "name the control as well")
    said = clip(item)
    known = {x for w in words if w not in _EMPTY for x in states._known(singular(w))}
    near = [c for c in states.harness.controls.values() if states.words[c.name] & known]
    unknown = [w for w in words if w not in _EMPTY | _REST | _WORKED | _NOT and not states._known(w)]
    if near and not unknown:
        pairs = [f"{c.name}: {', '.join(c.positions)}" for c in near]
        raise SymptomError(f"“{said}” does not say which position", "; ".join(pairs))
    if near and len(unknown) < len([w for w in words if w not in _EMPTY]):
        near_pairs = [f"{c.name} {p}" for c in near for p in c.positions]
        raise UnknownNameError(f"no control position “{said}”", did_you_mean(item.strip(), near_pairs))
    raise UnknownNameError(f"no control position “{said}”", did_you_mean(item.strip(), states.pairs()))


def _split(words: tuple[str, ...], states: _States, seen: _Seen) -> tuple[_Fit, ...]:
    """The controls that a run of words sets, each in its turn; none if it is not understood."""
    if words in seen.fits:
        return seen.fits[words]
    negated = any(w in _NOT for w in words)
    fits = states.fits([w for w in words if w not in _NOT])
    result: tuple[_Fit, ...] = ()
    if len(fits) == 1:
        positions = states.harness.controls[fits[0].control].positions
        if not negated:
            result = (fits[0],)
        elif len(positions) == 2:
            result = (replace(fits[0], position=positions[positions[0] == fits[0].position]),)
    elif fits:
        seen.several.append(fits)
    else:
        for at in range(1, len(words)):
            left = _split(words[:at], states, seen)
            right = _split(words[at:], states, seen) if left else ()
            told = {(f.control, f.position) for f in (*left, *right)}
            if left and right and len(told) == len({c for c, _ in told}):
                result = (*left, *right)
                break
    seen.fits[words] = result
    return result


def state_as_data(state: VehicleState) -> dict[str, Any]:
    """A vehicle state as plain data, every control named."""
    return {"state": dict(state.positions), "engine running": state.engine_running}


def state_from_data(data: Mapping[str, Any], harness: Harness) -> VehicleState:
    """The vehicle state of recorded data; controls the harness has gained since stand as assumed.

    Raises:
        SymptomError: The data has another form.
        UnknownNameError: A control or position that the harness no longer has.
    """
    positions, running = data.get("state"), data.get("engine running", False)
    if not isinstance(positions, Mapping) or not isinstance(running, bool):
        raise SymptomError("the vehicle state is not recorded as positions of controls", "state: {ignition: on}")
    if not all(isinstance(c, str) and isinstance(p, str) for c, p in positions.items()):
        raise SymptomError("the vehicle state is not recorded as positions of controls", "state: {ignition: on}")
    return harness.state(positions, running)
