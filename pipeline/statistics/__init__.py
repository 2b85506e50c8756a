"""Statistics of runs and months, pure: numbers in, numbers out; nothing of ours is imported.

control_limits.py    individuals and moving range chart (NIST/SEMATECH e-Handbook 6.3.2.2), d2 = 1.128
fill.py              net contents of bottles (Directive 76/211/EEC)
reconciliation.py    least squares under balances, global and measurement test (Narasimhan and Jordache 2000)
rises.py             one-sided cumulative sum: when a series rose (NIST/SEMATECH e-Handbook 6.3.2.3)
selected_inverse.py  entries of a sparse inverse on its own pattern
unmeasured.py        which unmeasured streams of a network can be worked out
ranks.py             ranks of values that may be alike
ratios.py            ratio of sums with its standard error
log_cleaning.py      a still's log: what is wrong with its times (log_times.py) and its sensors (sensor_faults.py)
phases.py, steps.py  phases of a run and changes of level; drift.py, thinning.py, run_band.py beside them
sensory.py           chance level of difference tests (exact binomial)
"""
