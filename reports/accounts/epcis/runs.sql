-- Every run with its time: when it ended; of one that has no end on record, when the last that it made was gauged; of one that
-- has made nothing yet, when it began. No time is made up: where none of these is on record there is none.
WITH gauged AS (
    SELECT run, any_value(equipment) AS equipment, bool_or(direction = 'out') AS has_made,
           max(gauged_at) FILTER (direction = 'out') AS made_at, min(gauged_at) FILTER (direction = 'in') AS drawn_at
    FROM derived.gauges GROUP BY run
)
SELECT g.run, g.equipment,
       CASE WHEN r.ended_at IS NOT NULL THEN r.ended_at WHEN g.has_made THEN g.made_at ELSE coalesce(r.started_at, g.drawn_at) END AS at
FROM gauged AS g LEFT JOIN derived.runs AS r USING (run)
ORDER BY g.run
