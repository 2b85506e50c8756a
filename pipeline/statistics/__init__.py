"""Statistics of runs and months, pure: numbers in, numbers out; nothing of ours is imported.

control_limits.py    individuals and moving range chart (NIST/SEMATECH e-Handbook 6.3.2.2), d2 = 1.128
sample_charts.py     X-bar and s charts of samples of any size, with the alarms that chance gives
ewma.py, cusum.py    charts that remember, with their average run lengths (run_lengths.py)
run_rules.py         the house's two run rules, their run length, and the alarms that chance gives
change_scan.py       the stretch of a series that changed, as a step or as a slope, and its chance
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
