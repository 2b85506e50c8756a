-- Bottles of the lots that a lot went into (offered as "reached"): how many came, where they went, how many the book holds in
-- the house, and what the last count did not find. Came less all that left is in the house, bottle by bottle.
WITH counted AS (
    SELECT item AS batch, last(counted_at ORDER BY counted_at) AS counted_at, last(pieces ORDER BY counted_at) AS counted,
           last(difference ORDER BY counted_at) AS difference
    FROM derived.counts WHERE container = 'cased goods' GROUP BY item
)
SELECT e.batch, any_value(e.product) AS product, any_value(r.share) AS share,
       coalesce(sum(e.pieces) FILTER (e.entry IN ('opening', 'bottled')), 0) AS came,
       coalesce(-sum(e.pieces) FILTER (e.entry = 'dispatched'), 0) AS dispatched,
       coalesce(sum(e.pieces) FILTER (e.entry = 'returned'), 0) AS returned,
       coalesce(-sum(e.pieces) FILTER (e.entry = 'sampled'), 0) AS sampled,
       coalesce(-sum(e.pieces) FILTER (e.entry = 'destroyed'), 0) AS destroyed,
       coalesce(-sum(e.pieces) FILTER (e.entry = 'used'), 0) AS used,
       coalesce(sum(e.pieces), 0) AS in_the_house,
       any_value(c.counted_at) AS counted_at, any_value(c.counted) AS counted, coalesce(-any_value(c.difference), 0) AS unaccounted
FROM reached AS r JOIN derived.goods_entries AS e ON e.batch = r.lot LEFT JOIN counted AS c ON c.batch = r.lot
GROUP BY e.batch
ORDER BY e.batch
