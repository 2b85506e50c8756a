-- Of each lot the day of which its age is told: when it was last drawn, or made; of what a cask still holds, the last day of
-- the book.
WITH moved AS (
    SELECT lot, direction, timezone(getvariable('house_zone'), timezone('UTC', coalesce(g.gauged_at,
               CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END)))::DATE AS on_day
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
    UNION ALL
    SELECT lot, 'out', timezone(getvariable('house_zone'), timezone('UTC', came_at))::DATE FROM derived.openings
),
emptied AS (
    SELECT cask || '/' || row_number() OVER (PARTITION BY cask ORDER BY happened_at) AS lot,
           timezone(getvariable('house_zone'), timezone('UTC', happened_at))::DATE AS on_day
    FROM typed.cask_events WHERE event = 'emptied'
),
filled AS (
    SELECT DISTINCT lot FROM derived.gauges WHERE vessel IN (FROM derived.casks)
    UNION SELECT lot FROM derived.openings WHERE lot = vessel || '/1'
)
SELECT m.lot, coalesce(any_value(e.on_day), CASE WHEN m.lot IN (FROM filled) THEN (SELECT max(on_day) FROM moved) END,
                       max(m.on_day) FILTER (direction = 'out')) AS as_of
FROM moved AS m LEFT JOIN emptied AS e USING (lot)
GROUP BY m.lot
HAVING as_of IS NOT NULL
ORDER BY m.lot
