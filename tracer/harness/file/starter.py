"""Commented starter harnesses: a file that loads as it is, to be changed into one's own vehicle."""

from __future__ import annotations

from typing import Final

from tracer.errors import TracerError, did_you_mean
from tracer.harness.file.dump import plain_or_quoted

_HEAD: Final = """\
# A harness file: every wire, connector, part and earth of the circuit, typed from the paper diagram.
# Change the lines to what your diagram shows; text after a # is for people only.
# When it is typed, let it be checked: a healthy harness must behave like a healthy vehicle.
harness: {title}
system: {system} {earth} earth
colours: IEC 60757          # the code of the colour letters below; the other one known is BS AU 7
usual: {{size: 1 mm², length: 1 m, loom: main}}   # for wires whose line does not say otherwise

"""

_VEHICLE_END: Final = """\
controls:                   # what a person operates: its positions, the one at rest first
  lamp switch: [off, on]
  brake pedal: {positions: [released, pressed], sprung: yes}    # sprung: somebody has to hold it

parts:                      # anything with terminals; its kind says which
  battery: {kind: battery}                                      # terminals + and -
  F1: {kind: fuse, rating: 8 A, place: fuse box}                # in, out
  F2: {kind: fuse, rating: 8 A, place: fuse box}
  lamp switch: {kind: switch, control: lamp switch, contacts: {on: [30-58]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [30-54]}}
  # One terminal for each lamp, and the common earth: stop, tail, earth. Put the other side below it.
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}, place: left rear corner, access: 2 min}

connectors:                 # ways are numbered from 1; rows decide which ways are neighbours
  C1: {ways: 3, place: behind left rear lamp unit, access: 2 min}

splices:                    # joints of three or more wires, and where they are
  S1: behind the fuse box

earths:                     # where wires meet the body
  E1: battery strap
  E2: left rear chassis rail

wires:                      # one line for each wire, from end to end, with the ways that it passes
  - {run: battery.- > E1, size: 10 mm², colour: BK, length: 0.4 m}
  - {run: battery.+ > S1, size: 4 mm², colour: RD}
  - {run: S1 > F1.in, colour: RD, length: 0.2 m}
  - {run: S1 > F2.in, colour: RD, length: 0.2 m}
  - {run: F1.out > lamp switch.30, colour: RDWH}
  - {run: F2.out > brake switch.30, colour: RDBU}
  - {run: lamp switch.58 > C1.1 > left rear.tail, colour: GY, length: [3 m, 0.2 m]}
  - {run: brake switch.54 > C1.2 > left rear.stop, colour: BKRD, length: [3 m, 0.2 m]}
  - {run: left rear.earth > C1.3 > E2, size: 1.5 mm², colour: BN, length: 0.6 m}
"""

_REAR: Final = """\
controls:                   # what a person operates: its positions, the one at rest first
  ignition: {positions: [off, on], assumed: on}     # assumed: where it stands when nobody mentions it
  lamp switch: [off, side]
  brake pedal: {positions: [released, pressed], sprung: yes}    # sprung: somebody has to hold it
  gear: {positions: [neutral, reverse], drives: [reverse]}      # drives: where the engine moves the vehicle
  indicator stalk: [off, left, right]

parts:                      # anything with terminals; its kind says which
  battery: {kind: battery}                                      # terminals + and -
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  lamp switch: {kind: switch, control: lamp switch, contacts: {side: [30-58]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [15-54]}}
  reversing switch: {kind: switch, control: gear, contacts: {reverse: [in-out]}, place: gearbox}
  indicator stalk: {kind: switch, control: indicator stalk, contacts: {left: [49a-L], right: [49a-R]}}
  flasher unit: {kind: flasher unit, load: 21 W}                # 49, 49a
  F1: {kind: fuse, rating: 8 A, place: fuse box}                # in, out; stop, reversing, indicators
  F2: {kind: fuse, rating: 8 A, place: fuse box}                # tail
  # One terminal for each lamp, and the common earth: stop, tail, indicator, reversing, earth.
  left rear:
    {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W, reversing: P21W},
     place: left rear corner, access: 2 min}
  right rear:
    {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W, reversing: P21W},
     place: right rear corner, access: 2 min}

connectors:                 # ways are numbered from 1; rows decide which ways are neighbours
  C1: {ways: 5, place: behind left rear lamp unit, access: 2 min}
  C2: {ways: 5, place: behind right rear lamp unit, access: 2 min}

splices:                    # joints of three or more wires, and where they are
  S1: behind the fuse box   # battery feed
  S2: behind the fuse box   # F1
  S3: rear loom             # stop
  S4: rear loom             # tail
  S5: rear loom             # reversing

earths:                     # where wires meet the body
  E1: battery strap
  E2: left rear chassis rail
  E3: right rear chassis rail

wires:                      # one line for each wire, from end to end, with the ways that it passes
  - {run: battery.- > E1, size: 10 mm², colour: BK, length: 0.4 m}
  - {run: battery.+ > S1, size: 4 mm², colour: RD}
  - {run: S1 > ignition switch.30, size: 2.5 mm², colour: RD}
  - {run: S1 > lamp switch.30, colour: RD}
  - {run: ignition switch.15 > F1.in, size: 1.5 mm², colour: BK}
  - {run: F1.out > S2, size: 1.5 mm², colour: BKRD, length: 0.2 m}
  - {run: S2 > flasher unit.49, colour: BKRD}
  - {run: S2 > brake switch.15, colour: BKRD}
  - {run: S2 > reversing switch.in, colour: BKRD, length: 2 m}
  - {run: flasher unit.49a > indicator stalk.49a, colour: GN}
  - {run: indicator stalk.L > C1.3 > left rear.indicator, colour: GNBK, length: [4 m, 0.2 m]}
  - {run: indicator stalk.R > C2.3 > right rear.indicator, colour: GNWH, length: [5 m, 0.2 m]}
  - {run: brake switch.54 > S3, colour: BKYE, length: 4 m}
  - {run: S3 > C1.2 > left rear.stop, colour: BKYE, length: 0.8 m}
  - {run: S3 > C2.2 > right rear.stop, colour: BKYE, length: 1.3 m}
  - {run: reversing switch.out > S5, colour: BU, length: 4 m}
  - {run: S5 > C1.4 > left rear.reversing, colour: BU, length: 0.8 m}
  - {run: S5 > C2.4 > right rear.reversing, colour: BU, length: 1.3 m}
  - {run: lamp switch.58 > F2.in, colour: GY}
  - {run: F2.out > S4, colour: GYRD, length: 4 m}
  - {run: S4 > C1.1 > left rear.tail, colour: GYRD, length: 0.8 m}
  - {run: S4 > C2.1 > right rear.tail, colour: GYRD, length: 1.3 m}
  - {run: left rear.earth > C1.5 > E2, size: 1.5 mm², colour: BN, length: 0.6 m}
  - {run: right rear.earth > C2.5 > E3, size: 1.5 mm², colour: BN, length: 0.6 m}
"""

_TRAILER: Final = """\
controls:                   # what feeds the trailer; each function by a switch of its own
  side lights: [off, on]
  brake pedal: {positions: [released, pressed], sprung: yes}    # sprung: somebody has to hold it
  indicators: [off, left, right]

parts:                      # anything with terminals; its kind says which
  battery: {kind: battery}                                      # the towing vehicle's, or the workshop's
  F1: {kind: fuse, rating: 10 A}                                # in, out
  light switch: {kind: switch, control: side lights, contacts: {on: [30-58L, 30-58R]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [30-54]}}
  flasher unit: {kind: flasher unit, load: 21 W}
  indicator switch: {kind: switch, control: indicators, contacts: {left: [49a-L], right: [49a-R]}}
  # One terminal for each lamp, and the common earth: stop, tail, indicator, earth.
  left lamp unit: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W}, place: left corner}
  right lamp unit: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W}, place: right corner}
  plate lamp: {kind: lamp, lamp: C5W, place: tailboard}

connectors:                 # the standard says how many ways there are and what each is for
  X1: {standard: ISO 1724, place: draw bar}

splices:                    # joints of three or more wires, and where they are
  S1: towing vehicle        # battery feed
  S2: rear of the trailer   # stop
  S3: rear of the trailer   # right tail and plate
  S4: rear of the trailer   # earth

earths:                     # the towing vehicle's body; the trailer's lamps are earthed through way 3
  E1: battery strap
  E2: at the socket

wires:                      # one line for each wire, from end to end, with the ways that it passes
  - {run: battery.- > E1, size: 10 mm², colour: BK, length: 0.5 m}
  - {run: battery.+ > F1.in, size: 2.5 mm², colour: RD}
  - {run: F1.out > S1, size: 2.5 mm², colour: RD}
  - {run: S1 > light switch.30, colour: RD}
  - {run: S1 > brake switch.30, colour: RD}
  - {run: S1 > flasher unit.49, colour: RD}
  - {run: flasher unit.49a > indicator switch.49a, colour: GN}
  - {run: indicator switch.L > X1.1 > left lamp unit.indicator, colour: YE, length: 4 m}
  - {run: indicator switch.R > X1.4 > right lamp unit.indicator, colour: GN, length: 4 m}
  - {run: light switch.58R > X1.5 > S3, colour: BN, length: 4 m}
  - {run: S3 > right lamp unit.tail, colour: BN}
  - {run: S3 > plate lamp.feed, colour: BN}
  - {run: brake switch.54 > X1.6 > S2, colour: RD, length: 4 m}
  - {run: S2 > left lamp unit.stop, colour: RD}
  - {run: S2 > right lamp unit.stop, colour: RD}
  - {run: light switch.58L > X1.7 > left lamp unit.tail, colour: BK, length: 4 m}
  - {run: left lamp unit.earth > S4, colour: WH}
  - {run: right lamp unit.earth > S4, colour: WH}
  - {run: plate lamp.earth > S4, colour: WH}
  - {run: S4 > X1.3 > E2, size: 1.5 mm², colour: WH, length: 4 m}
"""

STARTERS: Final = {"rear": _REAR, "trailer": _TRAILER, "vehicle-end": _VEHICLE_END}
_SYSTEMS: Final = ("6 V", "12 V", "24 V")
_EARTHS: Final = ("negative", "positive")


_AT_6_V = (
    ("size: 4 mm²", "size: 10 mm²"), ("size: 2.5 mm²", "size: 6 mm²"), ("size: 1.5 mm²", "size: 4 mm²"),
    ("size: 1 mm²", "size: 2.5 mm²"), ("rating: 10 A", "rating: 20 A"), ("rating: 8 A", "rating: 16 A"),
)


def starter_text(
    title: str = "My vehicle", system: str = "12 V", earth: str = "negative", what: str = "rear"
) -> str:
    """The text of a starter file that loads without error.

    Args:
        title: Of the harness.
        system: "6 V", "12 V" or "24 V".
        earth: "negative" or "positive".
        what: "rear" (both rear lamp units), "trailer" (with a 7-pin plug) or "vehicle-end" (the
            smallest: one lamp unit, to be extended).

    Raises:
        TracerError: One of them is none of these.
    """
    for value, known, name in ((system, _SYSTEMS, "system"), (earth, _EARTHS, "earth"), (what, STARTERS, "starter")):
        if value not in known:
            raise TracerError(f"no {name} “{value}”", did_you_mean(value, known))
    # Control characters and line breaks could not be read back.
    clean = " ".join("".join(c if c.isprintable() else " " for c in title).split()) or "My vehicle"
    body = STARTERS[what]
    if earth == "positive":
        # The terminals that are earthed and fed change places.
        body = body.replace("run: battery.- >", "run: battery.\0 >").replace("run: battery.+ >", "run: battery.- >")
        body = body.replace("run: battery.\0 >", "run: battery.+ >")
    text = _HEAD.format(title=plain_or_quoted(clean), system=system, earth=earth) + body
    if system == "6 V":  # twice the current: thicker wires and larger fuses
        for at_12_v, at_6_v in _AT_6_V:
            text = text.replace(at_12_v, at_6_v)
    return text
