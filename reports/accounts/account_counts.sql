-- Bottles counted in the month against the book at that moment. Parameter: the first day of the month.
SELECT batch, product, counted_at, pieces, book_pieces, difference, alcohol_l, places, counted_by
FROM derived.goods_counts WHERE month = $1 ORDER BY counted_at, batch
