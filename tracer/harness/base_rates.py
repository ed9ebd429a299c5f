"""How often each kind of fault turns up, relative to the others, how long its repair takes, what it
needs, and how bad a bad joint gets. One place, so that they can be argued with.

No published data describe old vehicles' lighting: sheltered-equipment tables (MIL-HDBK-217F) put 99 %
on the lamp and know no corroded earths. The order lamp ≫ joint > switch ≫ wire is theirs; holders, earths and
connector ways are lifted to what workshops see (common practice, no source). Three outside figures hold the sizes,
and a test holds them to these: of vehicles with a lamp of a function dark 5 to 20 in a hundred have all of them
dark (headlamps 9 to 14, German light tests; number plates 8, British inspections); modes of connectors, switches and
relays stand to each other as in FMD-91 (tabled in MIL-HDBK-338B) within a factor of two; what failed in 47 published
cases, dead lamps apart (of 48 parts: earths 12, open wires 8, contacts of holders and plugs 7, wires that touched 6,
switches 5, wrong lamps 3, fuses 3, flashers 2): that takes a quarter off the holders, which had half of all, and adds
a third to wires on the body. Such cases are those worth telling, so the rates go about half of the way. A harness
file may override any rate under `base rates:`. All these are rates among vehicles; `brought` has those among the
vehicles that come to be traced.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct

PRACTICE: Final = "common practice, no source"
GIVEN: Final = "the harness file"
ORDERED: Final = "order by MIL-HDBK-217F, size common practice"
MODES: Final = "ratio of modes by FMD-91 in MIL-HDBK-338B, within a factor of two; size common practice"
FAULT_SOURCES: Final = {ORDERED: "o", MODES: "m", PRACTICE: "p", GIVEN: "h"}  # each with its letter in a list


class Rate(Struct, frozen=True):
    """Relative base rate of one fault kind on one element, the minutes its repair takes, what the repair
    needs, where the rate comes from, and how often such a fault comes and goes.

    `comes_and_goes`: probability that a fault of this kind is a loose contact rather than a lasting one.
    """

    rate: float
    repair_min: float
    needs: str
    source: str = PRACTICE
    comes_and_goes: float = 0.0


_LAMP, _CLEAN, _CRIMP = "the lamp", "wire brush, contact grease", "wire, crimp sleeves, crimping tool, tape"
_TERMINAL, _SWITCH, _RELAY, _FLASHER = "terminal, crimping tool", "the switch", "the relay", "the flasher unit"

RATES: Final[Mapping[str, Rate]] = {
    "filament open": Rate(20.0, 3.0, _LAMP, ORDERED, 0.03),
    "filaments bridged": Rate(0.4, 3.0, _LAMP, PRACTICE, 0.1),
    "wrong lamp": Rate(0.3, 3.0, _LAMP),
    "lamp missing": Rate(0.3, 3.0, _LAMP),
    "lamp turned round": Rate(0.12, 3.0, "nothing; a lamp with sound pins if its own are worn"),
    "single lamp for twin": Rate(0.15, 3.0, _LAMP),
    "twin lamp for single": Rate(0.10, 3.0, _LAMP),
    "lamps exchanged": Rate(0.06, 4.0, "nothing"),
    "LED fitted": Rate(0.15, 3.0, "a filament lamp of the approved category"),
    "LED fitted reversed": Rate(0.08, 3.0, "nothing"),
    "holder bad": Rate(1.8, 6.0, _CLEAN, ORDERED, 0.35),
    "holder open": Rate(0.9, 6.0, _CLEAN, ORDERED, 0.35),
    "holder corroded": Rate(0.45, 6.0, _CLEAN, PRACTICE, 0.3),
    "holder shorted": Rate(0.04, 6.0, "small screwdriver, new holder if its insulation is gone", PRACTICE, 0.3),
    # Holders of one age and make, of which several touch their shells: after one, one vehicle in ten. (Judgement.)
    "holders shorted": Rate(0.04, 30.0, "new holders, or insulating washers", PRACTICE, 0.2),
    # Of what ages alike: when one of two equal lamps is dead the other is too in one vehicle of some dozens.
    "both lamps dead": Rate(0.25, 5.0, "two lamps"),
    "lamp unit wet": Rate(0.12, 12.0, "seal, contact grease, new holder if it is eaten away"),
    "earth bad": Rate(2.4, 10.0, "wire brush, ring terminal, contact grease", PRACTICE, 0.3),
    "earth open": Rate(1.5, 10.0, "wire brush, ring terminal, contact grease", PRACTICE, 0.3),
    "eyelet bad": Rate(0.3, 8.0, "wire brush, ring terminal, contact grease", PRACTICE, 0.3),
    "eyelet open": Rate(0.15, 8.0, "ring terminal, crimping tool", PRACTICE, 0.3),
    "strap bad": Rate(0.5, 12.0, "wire brush, braided strap", PRACTICE, 0.3),
    "strap open": Rate(0.2, 12.0, "braided strap", PRACTICE, 0.2),
    "mounting bad": Rate(3.0, 10.0, _CLEAN, PRACTICE, 0.3),
    "mounting open": Rate(1.5, 10.0, _CLEAN, PRACTICE, 0.3),
    "way bad": Rate(0.30, 8.0, _TERMINAL, MODES, 0.4),
    "way open": Rate(0.40, 8.0, _TERMINAL, MODES, 0.4),
    # A bullet has no lock and no seal: on the vehicles that have them it is the commonest fault after the lamps.
    "bullet bad": Rate(0.9, 2.0, "fine abrasive, contact grease, pliers to close the sleeve", PRACTICE, 0.4),
    "bullet out": Rate(0.6, 2.0, "nothing", PRACTICE, 0.3),
    "bullet in the wrong block": Rate(0.02, 3.0, "nothing"),
    "bullets changed over": Rate(0.04, 3.0, "nothing"),
    "block bad": Rate(0.1, 6.0, "a block or sleeves", PRACTICE, 0.3),
    "ways crossed": Rate(0.10, 8.0, "terminal extractor"),
    "feeds exchanged": Rate(0.04, 6.0, "nothing"),
    "stray live end": Rate(0.02, 12.0, "tape, heat-shrink sleeve", PRACTICE, 0.6),
    "old repair bad": Rate(0.03, 20.0, _CRIMP, PRACTICE, 0.35),
    "old repair open": Rate(0.02, 20.0, _CRIMP, PRACTICE, 0.35),
    "wires changed over": Rate(0.08, 6.0, "nothing"),
    "ways joined": Rate(0.10, 10.0, "contact cleaner, contact grease", MODES),
    "connector unplugged": Rate(0.10, 2.0, "nothing", PRACTICE, 0.3),
    "connector wet": Rate(0.10, 10.0, "contact cleaner, contact grease, new seal"),
    # Without its ends and old repairs, which stand for themselves.
    "wire open": Rate(0.12, 25.0, _CRIMP, ORDERED, 0.25),
    "wire bad": Rate(0.06, 25.0, _CRIMP, ORDERED, 0.25),
    "wire to body": Rate(0.08, 25.0, _CRIMP, PRACTICE, 0.3),
    "wires joined": Rate(0.03, 30.0, _CRIMP, PRACTICE, 0.2),
    "splice bad": Rate(0.25, 20.0, _CRIMP, ORDERED, 0.25),
    "splice open": Rate(0.12, 20.0, _CRIMP, ORDERED, 0.25),
    "splice leg bad": Rate(0.08, 20.0, _CRIMP, ORDERED, 0.25),
    "splice leg open": Rate(0.06, 20.0, _CRIMP, ORDERED, 0.25),
    "terminal bad": Rate(0.08, 5.0, _TERMINAL, PRACTICE, 0.4),
    "terminal off": Rate(0.04, 5.0, _TERMINAL, PRACTICE, 0.4),
    "clip bad": Rate(0.6, 5.0, "fine abrasive, contact grease", PRACTICE, 0.3),
    "clip open": Rate(0.25, 5.0, "pliers to close the clip, contact grease", PRACTICE, 0.4),
    "fuse blown": Rate(0.8, 3.0, "the fuse, and the cause found first"),
    "wrong fuse": Rate(0.08, 3.0, "a fuse of the right rating"),
    "switch never makes": Rate(0.5, 20.0, _SWITCH, MODES, 0.25),
    "switch bad": Rate(0.3, 20.0, _SWITCH, MODES, 0.3),
    "switch never breaks": Rate(0.2, 20.0, _SWITCH, MODES, 0.2),
    "switch dead": Rate(0.10, 15.0, "its plug pushed home, else the switch", MODES, 0.3),
    "switch out of adjustment": Rate(0.2, 10.0, "spanner or screwdriver", MODES, 0.3),
    "switch leaking": Rate(0.05, 20.0, _SWITCH, PRACTICE, 0.2),
    "switch position dead": Rate(0.08, 20.0, _SWITCH, PRACTICE, 0.3),
    "flasher dead": Rate(1.8, 6.0, _FLASHER, PRACTICE, 0.15),
    "flasher stuck": Rate(0.5, 6.0, _FLASHER, PRACTICE, 0.15),
    "flasher bad": Rate(0.2, 6.0, _FLASHER, PRACTICE, 0.2),
    "wrong flasher": Rate(0.15, 6.0, "a flasher unit for the lamps fitted"),
    "relay coil open": Rate(0.3, 5.0, _RELAY, MODES),
    "relay coil shorted": Rate(0.17, 5.0, _RELAY + ", and the fuse it blew", MODES),
    "relay stuck open": Rate(0.5, 5.0, _RELAY, MODES, 0.3),
    "relay stuck closed": Rate(0.3, 5.0, _RELAY, MODES, 0.2),
    "relay bad": Rate(0.3, 5.0, _RELAY, MODES, 0.3),
    "unit dead": Rate(0.4, 15.0, "the unit", PRACTICE, 0.1),
    "unit input dead": Rate(0.1, 15.0, "the unit"),
    "unit output dead": Rate(0.4, 15.0, "the unit, and the short that burnt it found first"),
    "unit output stuck on": Rate(0.15, 15.0, "the unit"),
    "unit output bad": Rate(0.1, 15.0, "the unit", PRACTICE, 0.1),
    "wrong relay": Rate(0.10, 5.0, "a relay of the right type"),
    "dimmer open": Rate(0.5, 20.0, "the dimmer", PRACTICE, 0.3),
    "dimmer bad": Rate(0.6, 20.0, "contact cleaner, else the dimmer", PRACTICE, 0.4),
    "buzzer dead": Rate(0.3, 10.0, "the buzzer"),
    "buzzer reversed": Rate(0.05, 5.0, "nothing"),
    "motor open": Rate(0.5, 30.0, "brushes, else the motor", PRACTICE, 0.3),
    "motor seized": Rate(0.2, 30.0, "the motor"),
    "diode open": Rate(0.1, 10.0, "the diode"),
    "diode short": Rate(0.1, 10.0, "the diode"),
    "diode reversed": Rate(0.04, 10.0, "nothing"),
    "load open": Rate(0.3, 15.0, "the part"),
    "battery low": Rate(1.0, 30.0, "charger or battery"),
    "battery terminal bad": Rate(0.6, 6.0, "wire brush, petroleum jelly", PRACTICE, 0.3),
    "not charging": Rate(0.6, 45.0, "belt, brushes, regulator or generator"),
    "charging too high": Rate(0.15, 30.0, "regulator"),
    "added load": Rate(0.02, 10.0, "tape, heat-shrink sleeve"),
    "added joint": Rate(0.015, 12.0, "tape, heat-shrink sleeve; a new socket where water got in"),
    "added feed": Rate(0.01, 12.0, "tape, heat-shrink sleeve"),
    "switch bypassed": Rate(0.02, 10.0, "tape, heat-shrink sleeve"),
    "earth cut": Rate(0.02, 15.0, _CRIMP),
}

# What is brought to be traced is not what an inspection counts: whoever has a dark lamp puts another in first, and if
# that was it he comes nowhere. Of the published cases of one dark lamp, or pair of lamps, that a dead one could have
# explained, the lamp had been changed, tried elsewhere or measured before the wiring was looked at in 7 of 10 (R21,
# R29, R33, R37, R39, R47 and C01, not in R25, R41 and R43): of dead filaments 3 in 10 are left. The count is small:
# 0.1 or 0.5 would not surprise. Where the story tells that the lamp was tried, `story_weights` says what is left. Of
# blown fuses the cases say nothing of the kind (the fuse alone in 3 of 51 parts, none tried before).
LEFT_BY_TRYING: Final[Mapping[str, float]] = {"filament open": 0.3, "both lamps dead": 0.3}


def brought(kind: str) -> float:
    """The rate of a kind among vehicles that are brought to be traced; `RATES` holds those among all vehicles."""
    return RATES[kind].rate * LEFT_BY_TRYING.get(kind, 1.0)


# Kinds whose repair renews and remakes nothing: something is cleaned, pushed home, turned round or changed back, and
# if it was not the cause, nothing is lost but the minutes. (Common practice, no source.)
RENEWS_NOTHING: Final = frozenset({
    "lamp turned round", "lamps exchanged", "LED fitted reversed", "holder bad", "holder open", "lamp unit wet",
    "earth bad", "earth open", "eyelet bad", "eyelet open", "mounting bad", "mounting open", "way bad", "way open",
    "terminal bad", "terminal off", "ways crossed", "wires changed over", "ways joined", "connector unplugged",
    "connector wet", "clip bad", "clip open", "switch out of adjustment", "battery terminal bad", "buzzer reversed",
    "diode reversed", "added load", "added joint", "added feed", "feeds exchanged", "holder corroded",
    "holder shorted", "stray live end", "bullet bad", "bullet out", "switch bypassed",
    "bullet in the wrong block", "bullets changed over",
})

# A length of wire that bends with a lid, a door, the handlebars or the column: how much oftener it breaks or chafes,
# and how often that comes and goes. (Common practice, no source: broken wires are looked for there first.)
BENDING_BREAKS: Final = frozenset({"wire open", "wire bad", "wire to body", "wires joined"})
FLEXES_RATE: Final = 6.0
FLEXES_LOOSE: Final = 0.6
# A wire that the battery feeds without a fuse, straight or through switches, and that lies on the body for good burns
# through within seconds, or the battery is flat: nobody looks for that by its lamps. (Judgement.)
UNFUSED_SHORT: Final = 0.1
# An earth point on which several wires stand, beside that of one unit: of 51 parts in 47 published cases 10 were the
# earth of one unit or holder, 2 a shared one; the battery's own, which carries everything, none. A shared one is a
# better joint, is looked after, and there are fewer of them.
SHARED_EARTH: Final = 0.25

# Resistance of a bad joint, Ω, and how the probability spreads: about log-uniform over the range that
# lamps show and meters find, tapering where a joint is as good as open.
SEVERITIES: Final[tuple[tuple[float, float], ...]] = (
    (0.3, 0.10), (1.0, 0.20), (3.0, 0.24), (10.0, 0.20), (40.0, 0.12), (200.0, 0.09), (3000.0, 0.05),
)
# An LED lamp takes about an eighth of the current of the filament lamp that it stands in for.
LED_SHARE: Final = 0.12
# A flasher unit made for twice or for half the lamps.
OTHER_FLASHER_LOAD: Final = ((2.0, 0.5), (0.5, 0.5))
# A battery clamp carries everything: a tenth of an ohm in it is already seen at the lamps.
CLAMP_OHM: Final = ((0.05, 0.3), (0.2, 0.35), (1.0, 0.25), (10.0, 0.1))
# Voltage of a low battery that feeds lamps, as a share of its own when charged, how the probability spreads, and what
# one calls it. A cell that died takes a sixth of 12 V with it, a third of 6 V; an empty one gives way to any load.
# (Common practice, no source.)
BATTERY_LEFT: Final = (
    (0.92, 0.4, "tired"), (0.86, 0.2, "low"), (0.8, 0.18, "flat"), (0.7, 0.12, "quite flat"), (0.5, 0.1, "empty"),
)
# What a low battery has inside, Ω beyond its own on a 12 V vehicle, with how the probability spreads: what a charger
# cures has hardly more, sulphated plates and a bad bond between cells have from some 0.03 Ω to half an ohm, and the
# voltage that looks well at rest is gone under load. (Common practice, no source.)
BATTERY_INSIDE: Final = ((0.0, 0.6), (0.06, 0.25), (0.25, 0.15))
# Paths that do not belong there, from metal on metal to crust. Shorts and joined wires are so many that two points of
# each must do; `Fault.at` knows all between.
SHORT_OHM: Final = ((0.05, 0.8), (1.5, 0.2))
# … and of those that no fuse ends: what is left to be looked for is mostly crust that carries a few amperes.
LASTING_SHORT_OHM: Final = ((0.05, 0.2), (1.5, 0.8))
JOINED_OHM: Final = ((0.2, 0.65), (6.0, 0.35))
WET_OHM: Final = ((0.2, 0.3), (1.0, 0.15), (5.0, 0.15), (25.0, 0.2), (150.0, 0.2))
# Where what joins two ways of a plug sits: across both halves, so that it is gone as soon as the plug is apart, or as
# crust on one half or the other, where it stays. (Judgement.)
ACROSS_HALVES, ON_ONE_HALF = 0.3, 0.35
# A transistor that no longer opens fully.
OUTPUT_OHM: Final = ((1.0, 0.4), (6.0, 0.4), (50.0, 0.2))
SWITCH_LEAK_OHM: Final = ((4.0, 0.3), (30.0, 0.4), (200.0, 0.3))
HOLDER_SHORT_OHM: Final = ((0.05, 0.75), (2.0, 0.25))
# Each contact of a holder that is corroded all over.
HOLDER_OHM: Final = ((0.7, 0.35), (4.0, 0.4), (40.0, 0.25))
BRIDGE_OHM: Final = ((0.1, 0.6), (1.0, 0.25), (10.0, 0.15))
# Water: what leaks between neighbours, what the contacts have come to, and how the probability spreads.
WATER_OHM: Final = ((10.0, 0.5, 0.3), (60.0, 2.0, 0.4), (400.0, 6.0, 0.3))
# Lamps that fit where another belongs (one base, other watts), with how the probability spreads.
OTHER_WATTS: Final[Mapping[float, tuple[tuple[float, float], ...]]] = {
    21.0: ((5.0, 0.6), (10.0, 0.4)), 10.0: ((5.0, 0.5), (21.0, 0.5)), 5.0: ((21.0, 0.5), (10.0, 0.5)),
    4.0: ((2.0, 1.0),), 2.0: ((4.0, 1.0),), 3.0: ((1.2, 0.5), (5.0, 0.5)), 2.2: ((1.2, 0.5), (4.0, 0.5)),
    55.0: ((100.0, 1.0),),
}

# Share of the time in which a loose contact shows.
AWAKE_SHARE: Final = 0.3
# Expected number of further, independent faults on a vehicle that already has one.
FURTHER_FAULTS: Final = 0.15
# Share of the vehicles that are brought with a second fault in the branch of the first, where the current has one way
# only: in 4 of 47 published cases two or three faults lay in one branch. It is a share of vehicles, and not a factor
# on rates: of a car whose file has its rear end alone no more have one than of a car whose file has everything.
IN_ONE_BRANCH: Final = 4 / 47
# Probability that the lamp on the other side has it too, which is what somebody did to both, or what ages alike; two
# dead filaments of one age are a fault of their own, "both lamps dead". (Of cars with a dead headlamp 9 to 14 in a
# hundred have both dark, German light tests of 2013, 2018 and 2022, most of them by one cause in their common feed or
# earth; the rest judgement.)
BOTH_SIDES: Final[Mapping[str, float]] = {
    "LED fitted": 0.6, "LED fitted reversed": 0.4, "lamp turned round": 0.3, "wrong lamp": 0.3,
    "single lamp for twin": 0.2, "twin lamp for single": 0.2, "holder bad": 0.05,
}
# Share kept at the start for something that the harness file does not describe. Small, since the faults
# include what is fitted wrongly, what was added and what hands did; of 47 published cases a description of the
# wiring with these faults misses none wholly. A dead lamp is never among them: it is about one in 600 of all other
# faults, which are some 0.68 of what is brought of the cars. (Judgement.)
UNDESCRIBED: Final = 0.0011

# Wiring that is otherwise than the file says, and no fault: the chance that it is so of one line to which it can
# happen, shared among the ways in which it can. Of lines that nobody followed on the vehicle; of an earth wire that a
# later hand added the chance where everything else was traced comes first. (Judgement.)
DEVIATION_CHANCE: Final[Mapping[str, float]] = {
    "earth added": 0.01,
    "earth added, untraced": 0.04,
    "earthed elsewhere": 0.15,
    "fed elsewhere": 0.08,
    "branches elsewhere": 0.06,
    "alternative run": 0.5,
}
# How often a vehicle is brought with nothing but such a difference: it was there all along, and works. (Judgement.)
DIFFERENCE_ALONE: Final = 0.02
# A wire that nobody followed has a joint or plug that the file does not show so many times as often. (Judgement.)
UNTRACED_JOINT: Final = 3.0
