-- made from: derived.goods_entries, typed.inventory, house_zone
-- Cased goods as counted, all places of a lot on one day together, against what the book held at that moment.
INSERT INTO derived.goods_counts BY NAME
WITH counted AS (
    SELECT lot AS batch, timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE AS on_day, max(counted_at) AS counted_at,
           sum(pieces) AS pieces, string_agg(location, ', ' ORDER BY location) AS places,
           CASE WHEN bool_and(counted_by IS NOT NULL) THEN string_agg(DISTINCT counted_by, ', ' ORDER BY counted_by) END AS counted_by,
           first(source_id ORDER BY source_id, line) AS source_id, first(line ORDER BY source_id, line) AS line
    FROM typed.inventory WHERE container = 'cased goods' GROUP BY lot, on_day
),
held AS (
    SELECT c.batch, c.on_day, coalesce(sum(e.pieces), 0) AS book_pieces
    FROM counted AS c LEFT JOIN derived.goods_entries AS e ON e.batch = c.batch AND e.booked_at <= c.counted_at
    GROUP BY c.batch, c.on_day
),
bottles AS (            -- litres of pure alcohol in one
    SELECT batch, any_value(product) AS product, sum(alcohol_l)::DOUBLE / nullif(sum(pieces), 0) AS each_l
    FROM derived.goods_entries WHERE entry IN ('opening', 'bottled') GROUP BY batch
)
SELECT c.batch, b.product, c.counted_at, date_trunc('month', c.on_day)::DATE AS month, c.pieces, h.book_pieces,
       c.pieces - h.book_pieces AS difference, (c.pieces - h.book_pieces) * b.each_l AS alcohol_l,
       c.places, c.counted_by, c.source_id, c.line
FROM counted AS c JOIN held AS h USING (batch, on_day) LEFT JOIN bottles AS b USING (batch)
ORDER BY c.counted_at, c.batch;
