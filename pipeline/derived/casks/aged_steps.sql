-- The steps by which alcohol went from lot to lot, with the days on which it was drawn and put, by the house's calendar.
WITH gauged AS (
    SELECT run, lot, direction, min(timezone(getvariable('house_zone'), timezone('UTC', coalesce(g.gauged_at,
               CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END)))::DATE) AS on_day,
           min(vessel) AS vessel
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
    GROUP BY run, lot, direction
)
SELECT s.lot, s.into_lot, s.stage, c.cask, i.on_day AS drawn_on, o.on_day AS put_on
FROM derived.steps AS s
LEFT JOIN gauged AS i ON i.run = s.run AND i.lot = s.lot AND i.direction = 'in'
LEFT JOIN gauged AS o ON o.run = s.run AND o.lot = s.into_lot AND o.direction = 'out'
LEFT JOIN derived.casks AS c ON c.cask = o.vessel
WHERE s.into_rank IS NOT NULL AND s.share IS NOT NULL
ORDER BY s.into_rank, s.into_lot, put_on, s.lot, s.run
