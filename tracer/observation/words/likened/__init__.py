"""Complaints heard by their likeness to sentences whose meaning is known, beside what the rules of speech read."""
