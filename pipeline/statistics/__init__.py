"""Statistics of runs and months, pure: numbers in, numbers out; nothing of ours is imported.

control_limits.py    individuals and moving range chart (NIST/SEMATECH e-Handbook 6.3.2.2), d2 = 1.128
ratios.py            ratio of sums with its standard error
sensory.py           chance level of difference tests (exact binomial)
"""
