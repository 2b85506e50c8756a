-- Bottled lots among those that a lot went into (offered as "reached"), with what of it stands behind them: the bottles
-- that were filled, or stood there when the book was begun, less those that a run took back; they stand behind what that run made.
WITH returned AS (
    SELECT lot, sum(pieces) AS bottles, sum(alcohol_l) AS alcohol_l
    FROM derived.gauges WHERE direction = 'in' AND part = 'bottles' GROUP BY lot
),
filled AS (
    SELECT batch, product, bottled_at, bottles_filled, alcohol_bottled_l FROM derived.bottlings
    UNION ALL
    SELECT lot, min(material), min(came_at), sum(pieces), sum(alcohol_l) FROM derived.openings
    WHERE kind = 'bottled spirit' AND lot NOT IN (SELECT batch FROM derived.bottlings) GROUP BY lot
)
SELECT b.batch, b.product, b.bottled_at, greatest(0, b.bottles_filled - coalesce(t.bottles, 0))::INTEGER AS bottles, r.share,
       r.per_unit * greatest(0, b.alcohol_bottled_l - coalesce(t.alcohol_l, 0)) AS consumed
FROM reached AS r JOIN filled AS b ON b.batch = r.lot LEFT JOIN returned AS t ON t.lot = r.lot
ORDER BY b.bottled_at, b.batch
