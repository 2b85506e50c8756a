"""The commands of the pipeline: receive, amend, the bench calculators."""
