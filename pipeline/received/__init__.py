"""The file as it came.

In: a path. Out: a row of received.files, an untouched copy, and the source map that takes it.
"""
