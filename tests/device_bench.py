"""An invented bench that carries every kind of part once, for tests of the kinds and of the engine."""

from __future__ import annotations

from typing import Any

import yaml

BENCH = """\
harness: Invented bench with every device
system: 12 V negative earth
colours: IEC 60757
usual: {size: 1 mm², length: 1 m, temperature: 40 °C}

controls:
  ignition: {positions: [off, on], assumed: on}
  lamp switch: [off, side]
  panel dimmer: [bright, middle, low, off]
  stalk: {positions: [off, left, right, flash], sprung: [flash]}
  brake pedal: {positions: [released, pressed], sprung: yes}

parts:
  battery: {kind: battery}
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  lamp switch: {kind: switch, control: lamp switch, contacts: {side: [30-58]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [15-54]}}
  stalk: {kind: switch, control: stalk, make before break: yes,
          contacts: {left: [49a-L], right: [49a-R], flash: [15-H]}}
  F1: {kind: fuse, rating: 10 A}
  F2: {kind: fuse, rating: 5 A}
  dimmer: {kind: dimmer, control: panel dimmer, steps: {bright: 0 ohm, middle: 8 ohm, low: 20 ohm}}
  panel lamp 1: {kind: lamp, lamp: 2.2 W}
  panel lamp 2: {kind: lamp, lamp: LED 0.4 W}
  left rear: {kind: lamp unit, lamps: {stop + tail: LED 3/0.5 W, indicator: P21W}}
  right rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: LED 2.5 W}, earth at: E4}
  horn relay: {kind: relay, contacts: make, quench: diode}
  rest relay: {kind: relay, contacts: break, quench: resistor, numbering: DIN 72552}
  head relay: {kind: relay, contacts: change-over, numbering: DIN 72552}
  horn: {kind: load, power: 48 W}
  blower: {kind: motor, power: 40 W}
  buzzer: {kind: buzzer, current: 0.1 A, earth at: E3}
  left beam: {kind: lamp, lamp: H1}
  right beam: {kind: lamp, lamp: R5W, earth at: E2}
  flasher unit: {kind: flasher unit, works: electronic, load: 21 W, tell-tale: C, earth: yes}
  indicator tell-tale: {kind: lamp, lamp: LED 0.3 W}
  module: {kind: control unit, outputs: {58T: tail in, 54T: stop in}}
  trailer tail: {kind: lamp, lamp: R5W, earth at: E2}
  drain: {kind: diode}
  heater: {kind: resistor, resistance: 30 ohm, power: 10 W}

splices: {S1: feed, S2: ignition, S3: side, S4: dash earth, S5: beam}
connectors: {C1: {ways: 4}}
earths:
  E1: battery strap
  E2: left front
  E3: dash
  E4: {place: rear chassis, body: chassis}
  E5: {place: strap to the chassis, body: chassis}
  E6: {place: glass-fibre tail, body: none}

wires:
  - {run: battery.- > E1, size: 16 mm²}
  - {run: battery.+ > S1, size: 6 AWG}
  - {run: E3 > E5, size: 10 mm², length: 0.3 m}
  - S1 > ignition switch.30
  - S1 > F2.in
  - F2.out > lamp switch.30
  - ignition switch.15 > F1.in
  - F1.out > S2
  - S2 > brake switch.15
  - S2 > stalk.15
  - S2 > flasher unit.49
  - flasher unit.31 > E3
  - flasher unit.49a > stalk.49a
  - flasher unit.C > indicator tell-tale.feed
  - indicator tell-tale.earth > S4
  - S4 > E3
  - stalk.L > C1.1 > left rear.indicator
  - stalk.R > C1.2 > right rear.indicator
  - brake switch.54 > C1.3 > left rear.stop
  - brake switch.54 > right rear.stop
  - lamp switch.58 > S3
  - S3 > C1.4 > left rear.tail
  - S3 > right rear.tail
  - left rear.earth > E6
  - E6 > E4
  - S3 > dimmer.in
  - dimmer.out > panel lamp 1.feed
  - dimmer.out > panel lamp 2.feed
  - panel lamp 1.earth > S4
  - panel lamp 2.earth > S4
  - S3 > buzzer.feed
  - stalk.H > horn relay.86
  - horn relay.85 > E3
  - S1 > horn relay.30
  - horn relay.87 > horn.feed
  - horn.earth > E2
  - stalk.H > head relay.86
  - head relay.85 > E3
  - S2 > head relay.87
  - head relay.87a > S5
  - S5 > heater.a
  - heater.b > E3
  - S5 > drain.anode
  - drain.cathode > right beam.feed
  - head relay.87b > left beam.feed
  - left beam.earth > E2
  - S3 > rest relay.86
  - rest relay.85 > E3
  - S2 > rest relay.87
  - {run: rest relay.87a > blower.feed, temperature: 90 °C}
  - blower.earth > E2
  - S1 > module.30
  - module.31 > E3
  - S3 > module.tail in
  - brake switch.54 > module.stop in
  - module.58T > trailer tail.feed
"""


class _Plain(yaml.SafeDumper):
    """Writes everything out: a harness file has no anchors."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def two_of_each() -> str:
    """The bench with another part beside each but the battery, wired as the first is but through no plug: what is
    called after its kind, and not after its part, is there twice."""
    read: dict[str, Any] = yaml.load(BENCH, Loader=yaml.BaseLoader)
    twins = read["parts"].keys() - {"battery"}

    def beside(run: str) -> str:
        points = [p.strip() for p in run.split(">")]
        kept = [p for p in points if p.rpartition(".")[0] not in read["connectors"]]
        return " > ".join(f"other {p}" if p.rpartition(".")[0] in twins else p for p in kept)

    runs = [wire if isinstance(wire, dict) else {"run": wire} for wire in read["wires"]]
    parts = {**read["parts"], **{f"other {n}": {**read["parts"][n]} for n in read["parts"] if n in twins}}
    wires = runs + [{**wire, "run": beside(wire["run"])} for wire in runs if beside(wire["run"]) != wire["run"]]
    return yaml.dump({**read, "parts": parts, "wires": wires}, Dumper=_Plain, allow_unicode=True, sort_keys=False)
