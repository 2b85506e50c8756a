"""Quantities that need a computation.

In: typed.* and the house profile. Out: derived.*, each number with its standard uncertainty; made anew each time.
"""
