"""Every row as text.

In: a received file and its map. Out: landed.sources and landed.rows; no meaning is given here.
"""
