-- What there is to count at a moment by the book: each lot in a vessel or cask, each lot of bottles. Parameter: the moment, UTC.
WITH casks AS (         -- where each lay at the time
    SELECT cask, last(location ORDER BY from_at NULLS FIRST) AS location, last(position ORDER BY from_at NULLS FIRST) AS position
    FROM derived.cask_places WHERE from_at IS NULL OR from_at <= $1 GROUP BY cask
),
held AS (
    SELECT place AS vessel, lot FROM derived.account_entries
    WHERE is_vessel AND booked_at <= $1 AND lot IS NOT NULL
    GROUP BY place, lot HAVING sum(alcohol_l) > 0
),
used AS (               -- what is used up is not there, whatever the gauges leave over
    SELECT lot FROM derived.used_up_lots WHERE emptied_at <= $1
)
SELECT CASE WHEN h.vessel IN (FROM derived.casks) THEN 'cask' ELSE 'tank' END AS container, h.vessel, h.lot, coalesce(l.material, 'not on record') AS what,
       c.location, c.position
FROM held AS h LEFT JOIN casks AS c ON c.cask = h.vessel LEFT JOIN derived.lots AS l USING (lot)
WHERE h.lot NOT IN (FROM used)
UNION ALL
SELECT 'cased goods', NULL, batch, coalesce(any_value(product), 'not on record'), NULL, NULL
FROM derived.goods_entries WHERE booked_at <= $1 GROUP BY batch HAVING sum(pieces) <> 0
ORDER BY container DESC, location, position, vessel, lot
