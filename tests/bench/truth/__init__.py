"""A truth that shares nothing with the tool: own reading, laws, faults, people, and the ideal observer beside it."""
