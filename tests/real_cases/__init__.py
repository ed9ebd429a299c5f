"""Published cases of lighting faults, each with a small invented harness around it."""
