"""From a craft distillery's run logs and lab readings to batch release dossiers and yield trends.

The packages lie at the top of the repository, as `pipeline`, `checks` and `reports`; these are common words, so they
are imported below this one only. Here are links to them, which the build follows.
"""
