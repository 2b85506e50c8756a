"""The alcohol account of a month, and the trace of a lot."""
