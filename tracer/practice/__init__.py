"""A vehicle with a known fault, to practise on and to measure the tool by.

In come a harness, a hidden fault and a test; out goes what an electrician would see or read. Faces, the demo and the
tests use it; nothing that reasons about a real job may.
"""
