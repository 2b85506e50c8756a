"""Simulates the invented demo distillery and writes its files.

In: house.toml beside this package and the calendar in `plan`. Out: the files of sample_logs. Mass is
conserved in every working; noise, rounding and habits are added only when something is read or written.
The same code gives the same bytes. Run it from the root of the repository: python -m sample_logs.generator
"""
