-- Bottles counted in the month against the book at that moment, and casks that were not found or that the book does not hold.
-- Parameter: the first day of the month.
SELECT container, item, lot, product, counted_at, pieces, book_pieces, difference, alcohol_l, places, counted_by
FROM derived.counts WHERE month = $1 AND (container = 'cased goods' OR difference <> 0) ORDER BY counted_at, container DESC, item
