-- Litres of the month that rest on an apparent strength, or on one that was estimated from the extract: moved by the gauges
-- of the month (each gauge counts, into and out of runs), and what the book holds of such lots at its end. Parameter: the
-- first day of the month.
WITH readings AS (
    SELECT g.strength_is, g.lot, g.alcohol_l,
           date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', coalesce(g.gauged_at,
               CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END))))::DATE AS month
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
    WHERE g.part <> 'bottles' OR g.strength_is <> 'true'
    UNION ALL
    SELECT strength_is, lot, NULL, date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', gauged_at)))::DATE
    FROM derived.stock_gauges
),
lots AS (               -- a lot is as doubtful as the worst of its readings so far
    SELECT lot, CASE WHEN bool_or(strength_is = 'apparent') THEN 'apparent' ELSE 'estimated' END AS strength_is
    FROM readings WHERE strength_is IN ('apparent', 'estimated') AND month <= $1 GROUP BY lot
),
held AS (
    SELECT lot, sum(alcohol_l)::DOUBLE AS alcohol_l FROM derived.account_entries
    WHERE is_vessel AND month <= $1 GROUP BY lot
),
moved AS (
    SELECT strength_is, sum(alcohol_l) AS alcohol_l, count(*) AS gauges FROM readings
    WHERE month = $1 AND alcohol_l IS NOT NULL GROUP BY strength_is
)
SELECT kinds.strength_is, coalesce(any_value(m.gauges), 0) AS gauges, coalesce(any_value(m.alcohol_l), 0) AS moved_l,
       count(h.lot) FILTER (h.alcohol_l <> 0) AS lots_held, coalesce(sum(h.alcohol_l), 0) AS closing_l,
       -- a warehouse of casks would fill the page
       array_to_string(list(h.lot ORDER BY h.lot) FILTER (h.alcohol_l <> 0)[:8], ', ')
           || CASE WHEN count(*) FILTER (h.alcohol_l <> 0) > 8 THEN ' and ' || (count(*) FILTER (h.alcohol_l <> 0) - 8) || ' more' ELSE '' END AS which
FROM (VALUES ('apparent'), ('estimated')) AS kinds(strength_is)
LEFT JOIN moved AS m ON m.strength_is = kinds.strength_is
LEFT JOIN lots AS l ON l.strength_is = kinds.strength_is
LEFT JOIN held AS h ON h.lot = l.lot
GROUP BY kinds.strength_is
HAVING coalesce(any_value(m.gauges), 0) > 0 OR count(h.lot) FILTER (h.alcohol_l <> 0) > 0
ORDER BY kinds.strength_is
