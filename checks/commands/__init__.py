"""The commands of the checks: check, batches, explain, decide."""
