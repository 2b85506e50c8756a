-- made from: derived.cask_events, derived.goods_entries, derived.openings, typed.casks, typed.inventory, house_zone
-- What was counted, all places of a lot on one day together, against what the book held at that moment: bottles by lot, and
-- casks, each of which is there or is not. A cask that the book holds and a count of its place does not list was not found;
-- of a count that names no place every cask should be in it.
INSERT INTO derived.counts BY NAME
WITH dated AS (
    SELECT *, timezone(getvariable('house_zone'), timezone('UTC', counted_at))::DATE AS on_day FROM typed.inventory
),
goods AS (
    SELECT lot AS item, on_day, max(counted_at) AS counted_at, sum(pieces) AS pieces, string_agg(location, ', ' ORDER BY location) AS places,
           CASE WHEN bool_and(counted_by IS NOT NULL) THEN string_agg(DISTINCT counted_by, ', ' ORDER BY counted_by) END AS counted_by,
           first(source_id ORDER BY source_id, line) AS source_id, first(line ORDER BY source_id, line) AS line
    FROM dated WHERE container = 'cased goods' GROUP BY lot, on_day
),
held_goods AS (
    SELECT c.item, c.on_day, coalesce(sum(e.pieces), 0) AS book_pieces
    FROM goods AS c LEFT JOIN derived.goods_entries AS e ON e.batch = c.item AND e.booked_at <= c.counted_at
    GROUP BY c.item, c.on_day
),
bottles AS (            -- litres of pure alcohol in one
    SELECT batch, any_value(product) AS product, sum(alcohol_l)::DOUBLE / nullif(sum(pieces), 0) AS each_l
    FROM derived.goods_entries WHERE entry IN ('opening', 'bottled') GROUP BY batch
),
days AS (               -- on which casks were counted, and where
    SELECT on_day, max(counted_at) AS counted_at, list(DISTINCT location) FILTER (location IS NOT NULL) AS places FROM dated WHERE container = 'cask' GROUP BY on_day
),
casks AS (
    SELECT vessel AS item, on_day, max(counted_at) AS counted_at, min(location) AS places,
           min(counted_by) AS counted_by, first(source_id ORDER BY source_id, line) AS source_id, first(line ORDER BY source_id, line) AS line
    FROM dated WHERE container = 'cask' GROUP BY vessel, on_day
),
fillings AS (
    SELECT contents AS lot, cask, min(happened_at) FILTER (event = 'filled') AS filled_at, min(happened_at) FILTER (event = 'emptied') AS emptied_at
    FROM derived.cask_events GROUP BY contents, cask
),
full_from AS (
    SELECT coalesce(f.lot, o.lot) AS lot, coalesce(f.cask, o.vessel) AS cask, coalesce(o.came_at, f.filled_at) AS filled_at, f.emptied_at
    FROM fillings AS f FULL JOIN (SELECT * FROM derived.openings WHERE lot = vessel || '/1') AS o ON o.lot = f.lot
),
held_casks AS (
    SELECT d.on_day, f.cask AS item, any_value(f.lot) AS lot, any_value(r.location) AS location
    FROM days AS d JOIN full_from AS f ON f.filled_at <= d.counted_at AND (f.emptied_at IS NULL OR f.emptied_at > d.counted_at)
    LEFT JOIN typed.casks AS r ON r.cask = f.cask
    WHERE d.places IS NULL OR list_contains(d.places, r.location)
       OR EXISTS (SELECT 1 FROM casks AS c WHERE c.item = f.cask AND c.on_day = d.on_day)
    GROUP BY d.on_day, f.cask
),
every AS (
    SELECT 'cased goods' AS container, c.item, c.item AS lot, b.product, c.counted_at, c.on_day, c.pieces, h.book_pieces, b.each_l,
           c.places, c.counted_by, c.source_id, c.line
    FROM goods AS c JOIN held_goods AS h USING (item, on_day) LEFT JOIN bottles AS b ON b.batch = c.item
    UNION ALL
    SELECT 'cask', coalesce(c.item, h.item), h.lot, NULL, coalesce(c.counted_at, d.counted_at), on_day, CASE WHEN c.item IS NULL THEN 0 ELSE 1 END,
           CASE WHEN h.item IS NULL THEN 0 ELSE 1 END, NULL, coalesce(c.places, h.location), c.counted_by, c.source_id, c.line
    FROM casks AS c FULL JOIN held_casks AS h USING (item, on_day) JOIN days AS d USING (on_day)
)
SELECT container, item, lot, product, counted_at, date_trunc('month', on_day)::DATE AS month, pieces, book_pieces,
       pieces - book_pieces AS difference, (pieces - book_pieces) * each_l AS alcohol_l, places, counted_by, source_id, line
FROM every
ORDER BY counted_at, container, item;
