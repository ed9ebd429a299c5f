"""What can be said of a harness before any job: rules, truth table, sneak scan, symptom chart, simulation.

In comes a harness; out go findings with line and column, tables and simulated cases. The faces call it, and whoever
types a harness reads what it says.
"""
