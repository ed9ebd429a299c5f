"""A symptom put together by numbers: positions of the controls, lamps, and how they looked."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from tracer.errors import SymptomError, UnknownNameError
from tracer.guide.talk import NUMBERS, Back, Talk, look_words, looks_lines, numbers
from tracer.job.typed import LOOKS, parse_state, parse_value, state_words
from tracer.job.values import Harness, VehicleState
from tracer.present.text_lines import columns, wrap

_NO_LAMPS: Final = "type the numbers of lamps, or a part of a name"


def compose(talk: Talk, harness: Harness, state: VehicleState | None = None) -> str:
    """What was seen, in the words that the job reads; `state` if that is given already.

    Raises:
        Key: A letter left the questions; going back from the first one too.
    """
    fixed, seen, groups = state, dict[str, str](), list[list[str]]()
    while True:
        try:
            if state is None:
                state = _ask_state(talk, harness)
            lamps = _ask_lamps(talk, harness, state, seen)
            if lamps:
                with suppress(Back):  # back to the lamps
                    seen |= dict.fromkeys(lamps, _ask_look(talk, lamps))
                    groups.append(lamps)
                continue
            options = ["did not look at all of them", "yes, every lamp not named was as it should be"]
            rest = talk.choose("Was everything else normal?", options, 1) == 2
            # Of a lamp that was picked as wrong "normal" is how bright it was, even if it should be dark.
            bright = {"normal": "full brightness"}
            said = [f"{lamp} {bright.get(look, look)}" for lamp, look in seen.items()]
            said += ["everything else normal"] * rest
            return f"{', '.join(said)} when {state_words(state)}"
        except Back:
            if groups:
                for lamp in groups.pop():
                    seen.pop(lamp, None)
            elif fixed is None and state is not None:
                state = None
            else:
                raise


def _ask_state(talk: Talk, harness: Harness) -> VehicleState:
    moves = [(c.name, p) for c in harness.controls.values() for p in c.positions if p != c.assumed]
    assumed = harness.state({})
    usual = harness.say_state(assumed)
    choices = wrap(f"Controls that stood otherwise than usual (usual: {usual}):", talk.width)
    choices += columns([*(f"{c} {p}" for c, p in moves), "engine running"], talk.width)

    def understand(typed: str) -> VehicleState:
        if typed == "none":
            return assumed
        if not NUMBERS.fullmatch(typed):
            return parse_state(typed, harness)
        chosen: dict[str, str] = {}
        for n in numbers(typed, len(moves) + 1):
            if n <= len(moves):
                control, position = moves[n - 1]
                if chosen.setdefault(control, position) != position:
                    raise SymptomError(f"{control} cannot be both {chosen[control]} and {position}")
        return harness.state(chosen, len(moves) + 1 in numbers(typed, len(moves) + 1))

    return talk.question("Numbers, e.g. 2 or 3 5", understand, "none", choices)


def _ask_lamps(talk: Talk, harness: Harness, state: VehicleState, seen: dict[str, str]) -> list[str]:
    """Lamps that looked wrong; none when there are no more."""
    names = [f.lamp for f in harness.lamps()]

    def understand(typed: str) -> list[str]:
        if typed == "no more" and seen:
            return []
        if NUMBERS.fullmatch(typed):
            return [names[n - 1] for n in numbers(typed, len(names))]
        words = typed.casefold().split()
        fit = [n for n in names if words and all(w in n.casefold() for w in words)]
        fit = [n for n in fit if n.casefold() == typed.casefold()] or fit
        if len(fit) > 1:
            raise UnknownNameError("which: " + ", ".join(f"{names.index(n) + 1} {n}" for n in fit) + "?")
        if not fit:
            raise UnknownNameError(f"no lamp “{typed}”", _NO_LAMPS)
        return fit

    if seen:
        said = ", ".join(f"{lamp} {look}" for lamp, look in seen.items())
        so_far = wrap(f"So far, with {harness.say_state(state)}: {said}.", talk.width)
        return talk.question("Another lamp, by number or a part of its name", understand, "no more", so_far)
    lamps = [*wrap(f"Lamps, with {harness.say_state(state)}:", talk.width), *columns(names, talk.width)]
    return talk.question("Which looked wrong, e.g. 2 or 3 5", understand, choices=lamps)


def _ask_look(talk: Talk, lamps: list[str]) -> str:
    def understand(typed: str) -> str:
        look = look_words(typed)
        parse_value(look, "look", lamps[0])
        return look

    choices = [*wrap(f"How did it look: {', '.join(lamps)}", talk.width), *looks_lines(LOOKS, talk.width)]
    return talk.question("Look", understand, choices=choices)
