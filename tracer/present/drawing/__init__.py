"""Pictures of a circuit: supply at the top, earth at the bottom, as a paper current-flow diagram is read.

In comes a harness and a `View` (which elements, suspects, test points, voltages of one vehicle state); out goes SVG,
PNG or PDF (`draw.draw`). `selection` makes the view of a job or of a whole harness; faces and the report call both.
"""
