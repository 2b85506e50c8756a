"""Chance that does not depend on the order of the work: one stream of random numbers a name."""

import random

SEED = "quillmere-1"


def stream(name: str) -> random.Random:
    """Random numbers that belong to a name: the same ones each time, whatever else was drawn."""
    return random.Random(f"{SEED}:{name}")


def bounded(rng: random.Random, mean: float, sd: float, bound: float = 2.0) -> float:
    """A normal variate redrawn until it lies within so many standard deviations."""
    while True:
        z = rng.gauss(0.0, 1.0)
        if abs(z) <= bound:
            return mean + sd * z
