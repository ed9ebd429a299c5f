"""The wiring as data: what a harness file says, with its values already in ohms, watts and volts.

In come text or calls that build one; out goes a frozen `model.Harness` whose parts hold their devices. Every room
below may read it; nothing here knows of circuits, faults or people.
"""
