"""What was wrong and what was done, in sentences that a driver understands: no terminals, no pin codes, short.

One row a kind of fault. `{lamp}` stands for the lamp that the fault is in, `{lamps}` for those it made go wrong,
`{part}` for the part, all in words. A sentence has at most twenty words; a test holds every kind to that.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from tracer.faults import Fault
from tracer.harness.model import Harness
from tracer.harness.node import node_of

MOST_WORDS: Final = 20
BACK_FEED: Final = "The current found its way through the other lamps."
_CODE: Final = re.compile(r"[A-Z]{1,4}[0-9]+[a-z]?|[0-9]+[a-z]?")
_LAMP_WORDS: Final = ("lamp", "light", "tell-tale", "headlamp", "semaphore")
_MOST_LAMPS: Final = 2


class Told(NamedTuple):
    """What was wrong, and what was done about it; the second stands alone too."""

    wrong: str
    done: str


_BULB = "A new bulb was fitted in {lamp}."
_HOLDER = "The bulb holder of {lamp} was cleaned."
_EARTH = "The earth connection was cleaned and remade."
_PLUG = "The contact in the plug was cleaned or renewed."
_DRIED = "It was dried and cleaned."
_WIRE = "The wire was repaired."
_JOINT = "The joint was made anew."
_SWITCH = "The {part} was repaired or renewed."
_RENEWED = "The {part} was renewed."
_BACK = "The wires were put back where they belong."
_TAKEN_OFF = "It was taken off, and the wiring is as it was made."

TOLD: Final[Mapping[str, Told]] = {
    "filament open": Told("The bulb of {lamp} had burnt out.", _BULB),
    "both lamps dead": Told("Both bulbs had burnt out, left and right: {lamps}.", "Two new bulbs were fitted."),
    "filaments bridged": Told(
        "Inside one bulb the two filaments touched, and one lit the other: {lamp}.", _BULB),
    "wrong lamp": Told("A bulb of the wrong strength was fitted in {lamp}.", "The right bulb was fitted in {lamp}."),
    "lamp missing": Told("The bulb of {lamp} was missing or wholly dead.", _BULB),
    "lamp turned round": Told("A bulb sat the wrong way round in its holder: {lamp}.", "The bulb was turned round."),
    "single lamp for twin": Told(
        "A bulb with one filament was fitted where one with two belongs: {lamp}.", "The right bulb was fitted."),
    "twin lamp for single": Told(
        "A bulb with two filaments was fitted where one with one belongs: {lamp}.", "The right bulb was fitted."),
    "lamps exchanged": Told("Two bulbs had changed places: {lamp}.", "They were changed back."),
    "LED fitted": Told("An LED lamp was fitted in {lamp}, where a filament bulb belongs.",
                       "A filament bulb of the approved kind was fitted."),
    "LED fitted reversed": Told("An LED lamp was fitted the wrong way round in {lamp}.", "It was turned round."),
    "holder bad": Told("The bulb holder of {lamp} was corroded and passed too little current.", _HOLDER),
    "holder open": Told("The bulb of {lamp} had no contact in its holder.", _HOLDER),
    "holder corroded": Told("All contacts in the bulb holder of {lamp} were corroded.", _HOLDER),
    "holder shorted": Told("The live contact in the bulb holder of {lamp} touched metal.",
                           "The contact was freed and checked."),
    "holders shorted": Told("The live contacts in several bulb holders touched metal: {lamps}.",
                            "The holders were made sound or renewed."),
    "lamp unit wet": Told("Water had got into the {part}; its contacts were corroded.",
                          "The unit was dried, cleaned and sealed."),
    "earth bad": Told("The earth of {lamps} had rusted and passed too little current.", _EARTH),
    "earth open": Told("The earth of {lamps} had rusted through.", _EARTH),
    "eyelet bad": Told("The eyelet of an earth wire was corroded: the earth of {lamps}.", _EARTH),
    "eyelet open": Told("The eyelet of an earth wire had come off: the earth of {lamps}.", _EARTH),
    "strap bad": Told("The earth strap was loose or corroded.", "The earth strap was renewed."),
    "strap open": Told("The earth strap was broken or missing.", "The earth strap was renewed."),
    "mounting bad": Told("The lamp’s mounting is its earth, and it was corroded: {lamps}.", "It was cleaned."),
    "mounting open": Told("The lamp’s mounting is its earth, and had lost contact: {lamps}.", "It was cleaned."),
    "way bad": Told("A contact in a plug was corroded and starved {lamps}.", _PLUG),
    "way open": Told("A contact in a plug had failed and cut off {lamps}.", _PLUG),
    "ways crossed": Told("Two wires had changed places in a plug.", "They were put back into their places."),
    "feeds exchanged": Told("The wires of two lamps were on each other’s terminals: {lamps}.", _BACK),
    "stray live end": Told("A live wire end left over from earlier work touched the body.",
                           "It was taken out or insulated."),
    "old repair bad": Told("An old repair in a wire made poor contact and starved {lamps}.", "It was made anew."),
    "old repair open": Told("An old repair in a wire had come apart and cut off {lamps}.", "It was made anew."),
    "wires changed over": Told("Two wires at the {part} were on each other’s terminals.", _BACK),
    "ways joined": Told("Water or dirt in a plug joined two contacts that must not touch.", _DRIED),
    "connector unplugged": Told("A plug had come apart and cut off {lamps}.", "It was plugged together again."),
    "connector wet": Told("Water stood in a plug; its contacts were corroded.", _DRIED),
    "wire open": Told("A wire to {lamps} was broken.", _WIRE),
    "wire bad": Told("A wire to {lamps} hung by a few strands and passed too little current.", _WIRE),
    "wire to body": Told("A wire was rubbed through and touched the body.", "The wire was repaired and protected."),
    "wires joined": Told("Two wires were rubbed or melted together.", "They were parted and repaired."),
    "splice bad": Told("A joint of several wires was corroded and starved {lamps}.", _JOINT),
    "splice open": Told("A joint of several wires had come apart and cut off {lamps}.", _JOINT),
    "splice leg bad": Told("One wire was corroded where several are joined: that of {lamps}.", _JOINT),
    "splice leg open": Told("One wire had come out where several are joined: that of {lamps}.", _JOINT),
    "terminal bad": Told("The connection at the end of a wire was poor and starved {lamps}.",
                         "It was cleaned and tightened, or renewed."),
    "terminal off": Told("The connection at the end of a wire had come off: {lamps}.",
                         "It was put on again and tightened, or renewed."),
    "clip open": Told("The clips that hold the fuse of {lamps} made no contact.",
                      "They were cleaned and closed."),
    "clip bad": Told("The clips that hold the fuse of {lamps} were corroded.", "The clips were cleaned."),
    "fuse blown": Told("The fuse of {lamps} had blown.", "A new fuse was fitted, and its cause looked for."),
    "wrong fuse": Told("A fuse that is too weak was fitted for {lamps}.", "The right fuse was fitted."),
    "switch never makes": Told("A contact in the {part} no longer closed and left {lamps} off.", _SWITCH),
    "switch bad": Told("A contact in the {part} was burnt and starved {lamps}.", _SWITCH),
    "switch never breaks": Told("A contact in the {part} no longer opened and left {lamps} on.", _SWITCH),
    "switch dead": Told("The {part} was dead: none of its contacts closed.", _SWITCH),
    "switch out of adjustment": Told("The {part} was out of adjustment.", "The {part} was adjusted or renewed."),
    "switch leaking": Told("The {part} let current pass while it was off.", _SWITCH),
    "switch position dead": Told("The {part} made no contact in one of its positions.", _SWITCH),
    "flasher dead": Told("The {part} for the indicators was dead.", _RENEWED),
    "flasher stuck": Told("The {part} for the indicators no longer flashed: they stayed lit.", _RENEWED),
    "flasher bad": Told("The contact of the {part} for the indicators was burnt.", _RENEWED),
    "wrong flasher": Told("The {part} was of a kind for other bulbs than these.", _RENEWED),
    "relay coil open": Told("The {part} of {lamps} no longer switched: its coil was broken.", _RENEWED),
    "relay coil shorted": Told("The {part} of {lamps} had a burnt coil.", _RENEWED),
    "relay stuck open": Told("The {part} of {lamps} no longer closed.", _RENEWED),
    "relay stuck closed": Told("The {part} of {lamps} was stuck on.", _RENEWED),
    "relay bad": Told("The {part} of {lamps} had a burnt contact.", _RENEWED),
    "wrong relay": Told("The {part} of {lamps} was of the wrong kind.", _RENEWED),
    "unit dead": Told("The {part} was dead: none of its outputs switched on.", _RENEWED),
    "unit input dead": Told("The {part} no longer noticed that it was switched on.", _RENEWED),
    "unit output dead": Told("The {part} no longer switched {lamps} on.", _RENEWED),
    "unit output stuck on": Told("The {part} kept {lamps} on all the time.", _RENEWED),
    "unit output bad": Told("The {part} gave {lamps} too little current.", _RENEWED),
    "dimmer open": Told("The dimmer of {lamps} was broken inside.", "The dimmer was cleaned or renewed."),
    "dimmer bad": Told("The dimmer of {lamps} made poor contact.", "The dimmer was cleaned or renewed."),
    "buzzer dead": Told("The {part} was dead.", _RENEWED),
    "buzzer reversed": Told("The {part} was connected the wrong way round.", "Its wires were changed over."),
    "motor open": Told("The {part} no longer turned: its brushes or winding were worn out.", _RENEWED),
    "motor seized": Told("The {part} was seized and drew too much current.", "It was freed or renewed."),
    "diode open": Told("A diode in the wiring of {lamps} had failed.", "The diode was renewed."),
    "diode short": Told("A diode in the wiring of {lamps} let current pass both ways.", "The diode was renewed."),
    "diode reversed": Told("A diode in the wiring of {lamps} sat the wrong way round.", "It was turned round."),
    "load open": Told("The {part} was dead.", _RENEWED),
    "block bad": Told("A block that joins several wires was corroded and starved {lamps}.", "It was renewed."),
    "bullet bad": Told("A push-in connector in a wire was corroded and starved {lamps}.", "It was cleaned."),
    "bullet in the wrong block": Told("A wire of {lamps} was pushed into a neighbouring connector.", _BACK),
    "bullets changed over": Told("Two wires had changed places in their push-in connectors: {lamps}.", _BACK),
    "bullet out": Told("A push-in connector had come apart and cut off {lamps}.", "It was put together again."),
    "earth cut": Told("The earth wire of {lamps} had been cut.", "The wire was joined again."),
    "switch bypassed": Told("A wire led past the {part}, so that it no longer switched.", "The wire was taken out."),
    "battery low": Told("The battery was low.", "The battery was charged or renewed."),
    "battery terminal bad": Told("A clamp on the battery made poor contact.", "The clamp was cleaned and tightened."),
    "not charging": Told("The generator did not charge the battery.", "The charging was put right."),
    "charging too high": Told("The regulator let the voltage rise, which burns bulbs.",
                              "The regulator was put right."),
    "added load": Told("Something added later was tapped into the wiring of {lamp}.", _TAKEN_OFF),
    "added joint": Told("Something added later joined the wiring of two lamps: {lamp}.", _TAKEN_OFF),
    "added feed": Told("A wire added later fed {lamp} at the wrong time.", _TAKEN_OFF),
}


_ANY: Final = Told("A fault in the wiring of {lamps} was found.", "It was repaired.")  # a kind without a row yet


def told_of(fault: Fault, harness: Harness, affected: Sequence[str]) -> Told:
    """What is said of a fault. `affected`: names of the lamps that went wrong, those complained of first."""
    words = {"lamp": lamp_words(_own_lamps(fault, harness)) or lamp_words(affected), "lamps": lamp_words(affected),
             "part": _part_words(fault, harness)}
    if not words["lamps"]:
        words["lamps"] = words["lamp"]
    row = TOLD.get(fault.kind, _ANY)
    filled = [text.format(**{k: v or "some lamps" for k, v in words.items()}) for text in row]
    return Told(*(text.replace("the the ", "the ").replace("The the ", "The ") for text in filled))


def lamp_words(names: Sequence[str]) -> str:
    """Lamps as one speaks of them: one by its name, several by what they have in common."""
    names = list(dict.fromkeys(names))
    if not names:
        return ""
    split = [n.replace("+", " ").split() for n in names]
    if len(names) == _MOST_LAMPS and (pair := _pair(split[0], split[1])):
        return pair
    if len(names) <= _MOST_LAMPS and sum(map(len, split)) <= 4:
        return " and ".join(f"the {_lamp(n)}" for n in names)
    common = [a for a, *others in zip(*split, strict=False) if all(a == o for o in others)]
    if common and set(common) <= {"rear", "front"}:
        return f"several {common[0]} lamps"
    if common:
        return f"the {' '.join(w for w in common if w not in ('lamp', 'light'))} lamps"
    if len({s[-1] for s in split}) == 1 and split[0][-1] not in _LAMP_WORDS:
        return f"the {split[0][-1]} lamps"
    sides = {w for s in split for w in s} & {"rear", "front"}
    return f"several {sides.pop()} lamps" if len(sides) == 1 else "several lamps"


def _pair(one: Sequence[str], other: Sequence[str]) -> str:
    """Two lamps that differ in their side, or in their last word, as one; "" for any others."""
    differ = [k for k, (a, b) in enumerate(zip(one, other, strict=False)) if a != b]
    if len(one) != len(other) or len(differ) != 1 or len(one) < 2 or _LAMP_WORDS.count(one[-1]):
        return ""
    k = differ[0]
    if {one[k], other[k]} == {"left", "right"}:
        return f"both {' '.join([*one[:k], *one[k + 1:]])} lamps"
    return f"the {' '.join(one[:k])} {one[k]} and {other[k]} lamps" if 0 < k == len(one) - 1 else ""


def _lamp(name: str) -> str:
    """A lamp's name, with “lamp” where it does not say so itself."""
    return name if name.split()[-1].removesuffix("s") in _LAMP_WORDS else f"{name} lamp"


def _own_lamps(fault: Fault, harness: Harness) -> list[str]:
    """The lamps that a fault of bulbs and holders is in."""
    return [f.lamp for f in harness.lamps() if f.name in fault.elements or set(f.holder) & set(fault.elements)]


def _part_words(fault: Fault, harness: Harness) -> str:
    """The part that a fault is in; one that is only a code is called by its kind."""
    part = harness.parts.get(node_of(fault.node).owner) or next(
        (p for p in harness.parts.values() if any(d.name in fault.elements for d in p.devices)), None)
    if part is None:
        return ""
    if any(_CODE.fullmatch(w) for w in part.name.split()):
        return part.kind
    own = bool(part.lamps) and not any(w.removesuffix("s") in (*_LAMP_WORDS, "unit") for w in part.name.split())
    return f"{part.name} {part.kind}" if own else part.name
