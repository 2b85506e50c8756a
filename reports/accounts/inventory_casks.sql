-- Casks counted on a day, and those of the same place that were not found, with what the book holds in each at that moment
-- [LPA] and its uncertainty. Parameter: the day, by the house's calendar.
WITH counted AS (
    SELECT * FROM derived.counts
    WHERE container = 'cask' AND timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE = $1
),
errors AS (             -- what one error gives to all entries of a cask is added up with its sign before it is squared
    SELECT c.item, e.error, sum(e.alcohol_l ORDER BY e.booked_at, e.alcohol_l) AS alcohol_l
    FROM counted AS c JOIN derived.entry_errors AS e ON e.place = c.item AND e.lot = c.lot AND e.booked_at <= c.counted_at
    GROUP BY c.item, e.error
),
held AS (
    SELECT c.item, sum(a.alcohol_l) AS book_l FROM counted AS c
    JOIN derived.account_entries AS a ON a.place = c.item AND a.lot = c.lot AND a.booked_at <= c.counted_at GROUP BY c.item
),
uncertainties AS (
    SELECT item, sqrt(sum(alcohol_l ** 2 ORDER BY error)) AS u_book_l FROM errors GROUP BY item
)
SELECT c.item AS cask, c.lot, c.places, c.counted_at, c.pieces, c.book_pieces, c.counted_by, h.book_l::DOUBLE AS book_l, u.u_book_l
FROM counted AS c LEFT JOIN held AS h USING (item) LEFT JOIN uncertainties AS u USING (item)
ORDER BY c.places, c.item
