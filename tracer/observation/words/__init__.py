"""What people type: symptoms, vehicle states, tests and readings in words, turned into values."""
