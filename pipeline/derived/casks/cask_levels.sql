-- What each cask that is not empty held by its last gauge, and what went in and out since. The uncertainty adds up the
-- errors that the gauges share.
WITH opened AS (
    SELECT lot AS contents, vessel AS cask, came_at AS filled_at FROM derived.openings WHERE lot = vessel || '/1'
),
fillings AS (
    SELECT contents, cask, min(happened_at) FILTER (event = 'filled') AS filled_at, bool_or(event = 'emptied') AS is_empty
    FROM derived.cask_events GROUP BY contents, cask
),
open AS (
    SELECT coalesce(f.contents, o.contents) AS contents, coalesce(f.cask, o.cask) AS cask, coalesce(o.filled_at, f.filled_at) AS filled_at
    FROM fillings AS f FULL JOIN opened AS o USING (contents)
    WHERE NOT coalesce(f.is_empty, false) AND coalesce(o.filled_at, f.filled_at) IS NOT NULL
),
last_gauge AS (
    SELECT lot AS contents, max_by(gauge, (gauged_at, gauge)) AS gauge, max(gauged_at) AS gauged_at FROM derived.stock_gauges GROUP BY lot
),
flows AS (
    SELECT o.contents, g.gauge, g.alcohol_l, g.sign, g.moved_at
    FROM open AS o LEFT JOIN last_gauge AS l USING (contents)
    JOIN (
        SELECT lot, moved_at, gauge, alcohol_l, sign FROM derived.lot_flows
        UNION ALL SELECT lot, gauged_at, gauge, alcohol_l, 1 FROM derived.stock_gauges
    ) AS g ON g.lot = o.contents AND (l.gauge IS NULL OR g.gauge = l.gauge OR g.moved_at > l.gauged_at)
),
errors AS (
    SELECT contents, sqrt(sum(part ** 2 ORDER BY error)) AS u_l FROM (
        SELECT f.contents, e.error, sum(f.sign * e.alcohol_l ORDER BY f.gauge) AS part
        FROM flows AS f JOIN derived.gauge_errors AS e USING (gauge) GROUP BY f.contents, e.error
    ) GROUP BY contents
)
SELECT o.cask, o.contents, m.location, o.filled_at, coalesce(l.gauged_at, o.filled_at) AS gauged_at,
       CASE WHEN bool_and(f.alcohol_l IS NOT NULL) THEN sum(f.sign * f.alcohol_l ORDER BY f.moved_at, f.gauge) END AS gauged_l,
       any_value(coalesce(e.u_l, 0)) AS u_gauged_l
FROM open AS o JOIN flows AS f USING (contents) LEFT JOIN last_gauge AS l USING (contents) LEFT JOIN errors AS e USING (contents)
LEFT JOIN located AS m ON m.cask = o.cask
GROUP BY ALL
ORDER BY o.cask
