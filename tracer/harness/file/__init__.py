"""Harness files: YAML text with positions to a harness and back, their schema, and starters."""
