-- Bottles counted on a day against the book at that moment. Parameter: the day, by the house's calendar.
SELECT item AS batch, product, places, counted_at, pieces, book_pieces, difference, alcohol_l, counted_by
FROM derived.counts
WHERE container = 'cased goods' AND timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE = $1
UNION ALL               -- what the book holds on a day on which bottles were counted, and nobody counted
SELECT e.batch, any_value(e.product), NULL, NULL, NULL, sum(e.pieces), -sum(e.pieces), NULL, NULL
FROM derived.goods_entries AS e
JOIN (
    SELECT max(counted_at) AS moment FROM derived.counts
    WHERE container = 'cased goods' AND timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE = $1
) AS d ON e.booked_at <= d.moment
WHERE e.batch NOT IN (
    SELECT item FROM derived.counts
    WHERE container = 'cased goods' AND timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE = $1
)
GROUP BY e.batch HAVING sum(e.pieces) <> 0
ORDER BY 1
