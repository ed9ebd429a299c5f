"""What can be said of a harness before any job: rules, truth table, sneak scan, symptom chart."""
