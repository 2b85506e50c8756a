"""Spirit as physics: density, strength, volume, alcohol, fermentation, vapour, and what is uncertain of each.

Pure functions of numbers and arrays; nothing here knows a file, a table or a record. Single values come
back as floats and raise a ValueError that names value and range; arrays come back as arrays in which an
element that cannot be is NaN.

From a reading to a balance one needs, in order, `strength`, `gauging` and `pure_alcohol`; on the bench
`blending`; at the edges `units`; for every figure `uncertainty`. What distillation can and cannot do is in
`vapour`, what a wash can give in `extract`, what the official tables print in `r22_tables`.
"""
