"""Small sound harnesses in which tests make mistakes. All invented."""

from __future__ import annotations

RELAY = """\
harness: Headlamp relay and horn
system: 12 V negative earth
colours: BS AU 7
usual: {size: 2.5 mm², length: 1 m}
controls:
  lights: [off, on]
  horn push: [released, pressed]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 15 A}
  F2: {kind: fuse, rating: 15 A}
  light switch: {kind: switch, control: lights, contacts: {on: [30-56]}}
  horn button: {kind: switch, control: horn push, contacts: {pressed: [in-31b]}}
  lamp relay: {kind: relay}
  headlamp: {kind: lamp, lamp: H3}
  horn: {kind: load, power: 40 W}
connectors:
  C1: {ways: 4}
splices:
  S1: dash
  S2: scuttle
earths:
  E1: bulkhead
  E2: front panel
wires:
  - {run: battery.- > E1, size: 16 mm², colour: B}
  - {run: battery.+ > S1, size: 6 mm², colour: N}
  - {run: S1 > F1.in, colour: N}
  - {run: S1 > F2.in, colour: N}
  - {run: S1 > light switch.30, colour: N}
  - {run: light switch.56 > lamp relay.86, colour: U}
  - {run: lamp relay.85 > S2, colour: B}
  - {run: F1.out > lamp relay.30, colour: NU}
  - {run: lamp relay.87 > C1.1, colour: UW, name: to plug}
  - {run: C1.1 > headlamp.feed, colour: UW, name: from plug}
  - {run: headlamp.earth > C1.2 > E2, colour: B}
  - {run: F2.out > horn.feed, colour: P}
  - {run: horn.earth > horn button.in, colour: PB}
  - {run: horn button.31b > S2, colour: B}
  - {run: S2 > E2, colour: B}
"""

PLUG_13 = """\
harness: Trailer with a 13-pin plug
system: 12 V negative earth
vehicle: trailer
usual: {size: 1.5 mm², length: 2 m}
controls:
  side lights: [off, on]
  ignition: {positions: [off, on], assumed: on}
  door: [shut, ajar]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  door switch: {kind: switch, control: door, contacts: {ajar: [in-out]}}
  light switch: {kind: switch, control: side lights, contacts: {on: [30-58L, 30-58R]}}
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  left tail: {kind: lamp, lamp: R5W}
  right tail: {kind: lamp, lamp: R5W}
  left number-plate lamp: {kind: lamp, lamp: C5W}
  right number-plate lamp: {kind: lamp, lamp: C5W}
  refrigerator: {kind: load, power: 60 W}
  interior lamp: {kind: lamp, lamp: R10W}
connectors:
  X1: {standard: ISO 11446}
splices: {S1: dash, S2: cross beam, S3: cross beam, S4: draw bar}
earths: {E1: battery, E2: tow bar}
wires:
  - {run: battery.- > E1, size: 10 mm²}
  - {run: battery.+ > F1.in, size: 4 mm²}
  - F1.out > S1
  - S1 > light switch.30
  - S1 > ignition switch.30
  - light switch.58R > X1.5 > S2
  - light switch.58L > X1.7 > S3
  - S2 > right tail.feed
  - S2 > right number-plate lamp.feed
  - S3 > left tail.feed
  - S3 > left number-plate lamp.feed
  - right tail.earth > S4
  - left tail.earth > S4
  - right number-plate lamp.earth > S4
  - left number-plate lamp.earth > S4
  - {run: S4 > X1.3 > E2, size: 2.5 mm²}
  - S1 > X1.9 > door switch.in
  - door switch.out > interior lamp.feed
  - {run: interior lamp.earth > X1.13 > E2, size: 2.5 mm²}
  - ignition switch.15 > X1.10 > refrigerator.feed
  - {run: refrigerator.earth > X1.11 > E2, size: 2.5 mm²}
"""
