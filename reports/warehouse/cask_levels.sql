-- What each cask that was not empty held by the book at each moment of `moments`: its last gauge by then and what went in and
-- out since; with the rate by which the rest is foretold, its own or that of casks like it.
WITH fillings AS (
    SELECT contents, any_value(cask) AS cask, min(filled_at) AS filled_at, min(emptied_at) AS emptied_at FROM (
        SELECT contents, cask, CASE event WHEN 'filled' THEN happened_at END AS filled_at, CASE event WHEN 'emptied' THEN happened_at END AS emptied_at
        FROM derived.cask_events
        UNION ALL SELECT lot, vessel, came_at, NULL FROM derived.openings WHERE lot = vessel || '/1'
    ) GROUP BY contents HAVING min(filled_at) IS NOT NULL
),
held AS (
    SELECT m.as_of, f.* FROM fillings AS f JOIN moments AS m ON f.filled_at <= m.as_of AND (f.emptied_at IS NULL OR f.emptied_at > m.as_of)
),
gauged AS (
    SELECT lot, gauged_at, max(gauge) AS gauge FROM derived.stock_gauges GROUP BY lot, gauged_at
),
since AS (
    SELECT h.as_of, h.contents, h.cask, h.filled_at, g.gauge, g.gauged_at
    FROM held AS h ASOF LEFT JOIN gauged AS g ON g.lot = h.contents AND g.gauged_at <= h.as_of
),
rates AS (
    SELECT contents, per_year, u_per_year, 0.0 AS scatter_per_year, NULL AS like_it FROM derived.evaporation
    UNION ALL
    SELECT contents, per_year, u_per_year, scatter_per_year, like_it FROM derived.cask_stock WHERE like_it IS NOT NULL
)
SELECT s.as_of, s.contents, s.cask, s.filled_at, coalesce(s.gauged_at, s.filled_at) AS gauged_at,
       list({'gauge': f.gauge, 'sign': f.sign} ORDER BY f.moved_at, f.gauge) AS gauges,
       CASE WHEN bool_and(f.alcohol_l IS NOT NULL) THEN sum(f.sign * f.alcohol_l ORDER BY f.moved_at, f.gauge) END AS book_l,
       any_value(r.per_year) AS per_year, any_value(r.u_per_year) AS u_per_year, any_value(r.scatter_per_year) AS scatter_per_year,
       any_value(r.like_it) AS like_it, any_value(a.aged_from) AS aged_from
FROM since AS s
JOIN (
    SELECT lot, moved_at, gauge, alcohol_l, sign FROM derived.lot_flows
    UNION ALL SELECT lot, gauged_at, gauge, alcohol_l, 1 FROM derived.stock_gauges
) AS f ON f.lot = s.contents AND f.moved_at <= s.as_of AND (s.gauge IS NULL OR f.gauge = s.gauge OR f.moved_at > s.gauged_at)
LEFT JOIN rates AS r ON r.contents = s.contents
LEFT JOIN derived.ages AS a ON a.lot = s.contents
GROUP BY s.as_of, s.contents, s.cask, s.filled_at, s.gauged_at
ORDER BY s.as_of, s.contents
