"""The physics: what voltages and currents a harness has, sound or changed.

In come a `model.Setup` (vehicle state and what is done on purpose) and many `model.Change`s at once; out go node
voltages, light, blown fuses and relays, for all of them as arrays. `fuses_and_relays.Settler` is the door; the plain
solver behind it judges the fast one.
"""
