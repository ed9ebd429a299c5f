"""Every word that means something for one harness: its own names, and those of the trade."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Final

from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS, QUANTITIES, TOWED
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_colours import COLOURS
from tracer.observation.words.speech_lamps import Lamps
from tracer.observation.words.speech_looks import PHRASES
from tracer.observation.words.speech_who import Who
from tracer.observation.words.symptom_data import fuses, loads, relays
from tracer.observation.words.words import singular, word_set

FILLERS: Final = word_set(
    "the a an of on at in its it my his her our their is are was were be been being they them there still just "
    "only even "
    "also then now very really quite rather a bit little slightly both's side sides hand end i've got have has "
    "had having i "
    "i'm to for from with when while by up do does did done get gets getting seems seem looks look appears go "
    "goes keep "
    "keeps well please mate so this these those one ones set again ever always completely totally either too as than "
    "you we he she customer says said car vehicle's vehicle truck van any more s thing things by mean means lot "
    "whole "
    "circuit what whats what's about problem fault faulty pair and together much fender fenders wing wings mudguard "
    "love pal boss chief guv duck "
    "fully way think reckon guess suppose suspect alone it's there's that's"
)
_ENGLISH: Final = word_set(
    "brake brakes braking foot pedal pressed press reverse reversing gear engine running ignition door open "
    "lights light lamps "
    "since towbar fitted bumps bumpy roads rough wet hot cold indicators indicate indicating hazards hazard "
    "sidelights "
    "headlights headlight headlamp headlamps sidelight sidelamp sidelamps taillight taillights select selecting "
    "selected engage "
    "engaged pressing touch touching hitting pushing stepping applying switch switched turning turned turn signal "
    "signalling "
    "trailer caravan sometimes intermittent intermittently occasionally after while minute minutes once straight "
    "change checked replaced swapped renewed tested tried cleaned difference joy new globe globes bulb bulbs "
    "holder holders contact contacts connection connections rev revs revved revving "
    "late fronts rears short shorts shorted shorting somewhere rusted rusty dusted loose loosed earth earthed "
    "corroded "
    "bent cracked smashed wired wiring traced traces faces facing worn there's think "
    "relay relays arrow arrows amp amps box runs run motor beater beaters shows show shown tools delay delays "
    "pins flows narrow two three four five six ten "
    "alike equal equally along backs own itself away immediately because changed bought never always nearside "
    "offside driver passenger "
    "where stayed times twice except themselves itself whatsoever whenever otherwise button opened opening "
    "permanently constantly happens across field fields lens"
)
# What the vehicle itself is called, so far as it is no word of a lamp.
VEHICLE: Final = word_set("car vehicle truck van tractor lorry bike motorbike motorcycle pickup bus coach ambulance "
                          "wagon estate")
HEARD: Final = word_set(
    "buzzer horn horns bell siren blower heater fan pump wiper wipers compressor hooter klaxon motor fridge")
HEARD_AS: Final = {"fan": ("blower",), "blower": ("fan", "heater"), "heater": ("blower", "fan"), "hooter": ("horn",),
                   "klaxon": ("horn",), "motor": ("blower", "fan", "pump", "wiper", "heater"),
                   "fridge": ("refrigerator",)}
# What a flasher unit is called (common practice, no source).
_FLASHERS: Final = (
    "flasher unit", "flasher relay", "flasher can", "flasher box", "indicator relay", "blinker relay", "winker relay",
    "turn signal relay", "turn signal flasher", "hazard relay",
)
_MIDDLE_STOP: Final = Pattern(
    r"\b(?:third|3rd|(?:high|upper|top|cent(?:re|er)|middle)(?:[ -]?level|[ -]?mount(?:ed)?)?) (?:brake|stop)"
    r"(?: (?:light|lamp))?\b")
_MIDDLE_ONE: Final = Pattern(
    r"\b(?:third|3rd|(?:high|upper|top|cent(?:re|er)|middle)(?:[ -]?level|[ -]?mount(?:ed)?)?) one\b")
_STOPS: Final = Pattern(r"\b(?:brake|stop)s?\b")
_FUSE_NAME: Final = Pattern(r"[fF] ?0*(\d+)")


class Lexicon:
    """Every word that means something for one harness."""

    def __init__(self, healthy: HealthyStates) -> None:
        self.healthy, self.harness = healthy, healthy.harness
        self.lamps = Lamps(healthy)
        self.fuses, self.loads, self.relays = (f(self.harness) for f in (fuses, loads, relays))

    @cached_property
    def spelled(self) -> Mapping[tuple[str, ...], tuple[str, str]]:
        """Words of a whole name → what kind of thing, and its name."""
        out: dict[tuple[str, ...], tuple[str, str]] = {}
        for kind, known in (("relay", self.relays), ("load", self.loads), ("fuse", self.fuses)):
            for name, also in known.items():
                for called in (name, *also, *(called_by_number(name) if kind == "fuse" else ())):
                    out[tuple(plain(called).split())] = kind, name
        for lamp in self.lamps.purposes:
            out.setdefault(tuple(plain(lamp.replace(" lamp ", " light ")).split()), ("lamp", lamp))  # "panel light 1"
            out[tuple(plain(lamp).split())] = "lamp", lamp
        for lamp in self.tell_tales:  # "handbrake light", if no other lamp is called so
            base = plain(lamp).removesuffix(" telltale").split()
            if {*base} - {*FUNCTIONS, *NOUNS, "left", "right", "front", "rear", "beam"}:
                for noun in ("light", "lamp", "warning light", "warning lamp"):
                    out.setdefault((*base, *noun.split()), ("lamp", lamp))
        for word in HEARD:  # the one that there is
            called = {singular(word), *HEARD_AS.get(singular(word), ())}
            exact = [name for name in self.loads if singular(plain(name).split()[-1]) == singular(word)]
            named = exact or [name for name in self.loads if singular(plain(name).split()[-1]) in called]
            if len(named) == 1:
                out.setdefault((word,), ("load", named[0]))
            for name in named if word in HEARD_AS else ():  # "heater fan", "blower motor" of the heater blower
                words = plain(name).split()
                for short in {(*words[:-1], word), (*words[-1:], word)} - {(word,)}:
                    out.setdefault(short, ("load", name))
        for name in self.loads:  # "fridge" is written down for its switch
            switch = self.harness.controls.get(f"{name} switch")
            for called in switch.also if switch else ():
                out.setdefault(tuple(plain(called).removesuffix(" switch").split()), ("load", name))
        for called, (kind, name) in [*out.items()]:  # "fridge relay" of the refrigerator's
            if kind == "load" and f"{name} relay" in self.relays:
                out.setdefault((*called, "relay"), ("relay", f"{name} relay"))
        units = [r for r in self.relays if self.harness.parts[r].flashes]
        for called in _FLASHERS if len(units) == 1 else ():
            out.setdefault(tuple(called.split()), ("relay", units[0]))
        return out

    def vehicle_word(self, word: str) -> Who | None:
        """What "the car's lights" and "trailer lights" say of which lamps, where there are two vehicles or the one
        that is spoken of is not in the file; None where it tells nothing."""
        kinds, towed = {*self.harness.vehicle}, bool(self.lamps.towed)
        alone = bool(kinds) and kinds <= TOWED  # what tows it is not in the file
        if word == "van" and "caravan" in kinds and word not in kinds | self.names:
            word = "caravan"  # as those who tow one call it
        if word in VEHICLE and word not in self.names:
            return Who([word], own=True) if towed and not alone else Who([word], names=[word]) if alone else None
        return None if word not in TOWED or alone else Who([word], names=sorted(TOWED & self.names) or [word])

    def with_middle_stop(self, text: str) -> str:
        """A text with the lamp's own name for "the third brake light", where there is one between the two."""
        middle = [n for n, p in self.lamps.purposes.items() if "stop" in p and not self.lamps.side[n]]
        if len(middle) != 1:
            return text
        text = _MIDDLE_STOP.sub(plain(middle[0]), text)
        return _MIDDLE_ONE.sub(plain(middle[0]), text) if _STOPS.search(text) else text

    @cached_property
    def switched(self) -> Mapping[str, str]:
        """Word by which a switch is called, and none of its lamps → that control: the "plough lamp switch" says which
        is the plough lamp."""
        known = {*FUNCTIONS, *NOUNS, *self.names, "left", "right", "front", "rear"} | FILLERS
        out: dict[str, str] = {}
        for name, control in self.harness.controls.items():
            for called in (name, *control.also):
                words = [w for w in plain(called).removesuffix(" switch").split() if singular(w) not in NOUNS]
                if len(words) == 1 and called.endswith((" lamp switch", " light switch", " lights switch")) and (
                        singular(words[0]) not in known):
                    out[words[0]] = name
        return out

    def lit_by(self, control: str) -> tuple[str, ...]:
        """The lamps that never light without a control."""
        own = {lamp: self.healthy.own(lamp) for lamp in self.lamps.purposes}
        return tuple(lamp for lamp, states in own.items() if states and all(
            control in self.healthy.moves(s) for s in states))

    @cached_property
    def tell_tales(self) -> tuple[str, ...]:
        return tuple(self.lamps.called("tell-tale"))

    @cached_property
    def last_of_loads(self) -> frozenset[tuple[str, ...]]:
        """Last words of the names of loads."""
        return frozenset(words[-1:] for words, (kind, _) in self.spelled.items() if kind == "load")

    @cached_property
    def names(self) -> frozenset[str]:
        """Words of the harness's names of lamps that are no common word here."""
        own = {singular(w) for w in self.lamps.names.vocabulary}
        return frozenset(own - set(FUNCTIONS) - NOUNS - {"left", "right", "front", "rear", "back"} - FILLERS)

    @cached_property
    def known(self) -> frozenset[str]:
        """Words that are taken as they stand."""
        words = {w for phrase in PHRASES for w in phrase} | {w for s in self.spelled for w in s}
        nouns = {*FUNCTIONS, *NOUNS, *self.names, *self.switched, *HEARD}
        words |= nouns | {f"{n}s" for n in nouns} | QUANTITIES | FILLERS | _ENGLISH | VEHICLE | {*COLOURS}
        words |= {"left", "right", "front", "rear", "back", "fronts", "rears", "other", "others"}
        for control in self.harness.controls.values():
            words |= {w for n in (control.name, *control.also, *control.positions) for w in plain(n).split()}
        return frozenset(words)

    @cached_property
    def means(self) -> Mapping[str, object]:
        """Word → what it means, where several words mean the same."""
        single: dict[str, object] = {p[0]: say for p, say in PHRASES.items() if len(p) == 1}
        for word, function in FUNCTIONS.items():
            single[word] = single[f"{word}s"] = function
        return single | dict.fromkeys(("light", "lamp", "lights", "lamps", "bulb", "bulbs"), "noun")


def called_by_number(fuse: str) -> list[str]:
    """How the fuse F2 is called by its number alone."""
    number = _FUSE_NAME.fullmatch(fuse)
    return [f"fuse {number[1]}"] if number else []
