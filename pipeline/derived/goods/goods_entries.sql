-- made from: derived.gauges, derived.openings, derived.removals, derived.runs, typed.bottling, house_zone
-- The ledger of finished goods. What comes into the store is positive; the stock of a batch is the sum of its entries. What was
-- filled, and what a run took back, is booked with the very litres that the account of bulk books. What else left is booked by
-- what is left of the batch, so that of a batch without a bottle nothing remains by rounding. A count is never booked: it is
-- compared (derived.counts), and what explains the difference is recorded as such.
INSERT INTO derived.goods_entries BY NAME
WITH moved AS (
    SELECT came_at AS booked_at, lot AS batch, 'opening' AS entry, pieces, alcohol_l, false AS is_removal, NULL AS duty_status,
           NULL AS document, NULL AS customer, 'opening inventory' AS note, source_id, line
    FROM derived.openings WHERE kind = 'bottled spirit'
    UNION ALL
    SELECT coalesce(g.gauged_at, CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END), g.lot,
           CASE g.direction WHEN 'out' THEN 'bottled' ELSE 'used' END,
           CASE g.direction WHEN 'out' THEN 1 ELSE -1 END * g.pieces, CASE g.direction WHEN 'out' THEN 1 ELSE -1 END * g.alcohol_l,
           false, NULL, NULL, NULL,
           CASE g.direction WHEN 'out' THEN 'run ' ELSE 'emptied in run ' END || g.run || CASE WHEN g.pieces IS NULL THEN ', bottles not counted' ELSE '' END,
           g.source_id, g.line
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run) WHERE g.part = 'bottles'
    UNION ALL
    SELECT removed_at, lot, kind, CASE kind WHEN 'returned' THEN 1 ELSE -1 END * pieces, CASE kind WHEN 'returned' THEN 1 ELSE -1 END * alcohol_l,
           true, duty_status, document, to_whom, reason, source_id, line
    FROM derived.removals WHERE is_bottled
),
balanced AS (           -- the batch as booked so far by what is no removal, and to the last digit by everything
    SELECT *, sum(alcohol_l::DECIMAL(18, 2)) FILTER (NOT is_removal) OVER so_far AS booked_l, sum(alcohol_l) OVER so_far AS exact_l
    FROM moved
    WINDOW so_far AS (
        PARTITION BY batch ORDER BY booked_at, is_removal, entry <> 'returned', entry, document, customer, source_id, line
        ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
    )
),
removed AS (            -- all that removals have taken so far, to the cent that makes the balance right
    SELECT *, exact_l::DECIMAL(18, 2) - coalesce(booked_l, 0) AS taken_l FROM balanced WHERE is_removal AND alcohol_l IS NOT NULL
),
booked AS (
    SELECT * EXCLUDE (is_removal, booked_l, exact_l) REPLACE (alcohol_l::DECIMAL(18, 2) AS alcohol_l) FROM balanced
    WHERE NOT is_removal OR alcohol_l IS NULL
    UNION ALL
    SELECT * EXCLUDE (is_removal, booked_l, exact_l, taken_l) REPLACE (taken_l - lag(taken_l, 1, 0) OVER (
        PARTITION BY batch ORDER BY booked_at, entry <> 'returned', entry, document, customer, source_id, line) AS alcohol_l)
    FROM removed
),
products AS (
    SELECT lot AS batch, min(product) AS product FROM (
        SELECT lot, product FROM typed.bottling
        UNION ALL
        SELECT lot, material FROM derived.openings WHERE kind = 'bottled spirit' AND lot NOT IN (SELECT lot FROM typed.bottling)
    ) GROUP BY lot
)
SELECT b.booked_at, date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', b.booked_at)))::DATE AS month,
       b.batch, p.product, b.entry, b.pieces, b.alcohol_l, b.duty_status, b.document, b.customer, b.note, b.source_id, b.line
FROM booked AS b LEFT JOIN products AS p USING (batch)
ORDER BY b.booked_at, b.batch, b.entry, b.document, b.customer, b.source_id, b.line;
