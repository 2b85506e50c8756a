"""Everything from a file to a derived quantity, in stages that know only the stages before them.

received    the file as it came, kept by its SHA-256
landed      every row of it as text, with sheet and line
typed       records with one meaning a column, or refused with the reason
derived     litres of pure alcohol, yields, recoveries, lineage, each with its standard uncertainty

`engineering` and `statistics` are pure and import nothing of ours.
"""
