"""Statistics of runs and months, pure: numbers in, numbers out; nothing of ours is imported.

control_limits.py    individuals and moving range chart (NIST/SEMATECH e-Handbook 6.3.2.2), d2 = 1.128
ratios.py            ratio of sums with its standard error
log_cleaning.py      a still's log: what is wrong with its times (log_times.py) and its sensors (sensor_faults.py)
phases.py, steps.py  phases of a run and changes of level; drift.py, thinning.py, run_band.py beside them
sensory.py           chance level of difference tests (exact binomial)
"""
