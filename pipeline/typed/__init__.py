"""Records with one meaning a column.

In: landed rows and their source map. Out: typed.* and typed.refused; rows in = kept + already held + refused +
passed over, for each section of each source.
"""
