-- Logs of still runs, thinned for drawing: in each of 250 steps of a run the least and the greatest value are kept,
-- so a log of up to 250 to 500 points is whole and no spike is lost.
WITH still_runs AS (
    SELECT run, equipment, started_at, coalesce(ended_at, started_at + INTERVAL 24 HOUR) AS ended_at
    FROM typed.runs
    WHERE run IN $runs AND stage IN ('strip', 'rectify', 'botanical')
), logged AS (
    SELECT run, tag, value, round(epoch(read_at - started_at) / 3600, 5) AS hours,
           floor(250 * epoch(read_at - started_at) / greatest(epoch(still_runs.ended_at - started_at), 1)) AS step
    FROM still_runs JOIN typed.readings USING (equipment)
    WHERE read_at BETWEEN started_at AND still_runs.ended_at
), ends AS (
    SELECT run, tag, step, count(*) AS points, min(value) AS least, arg_min(hours, value) AS least_at,
           max(value) AS greatest, arg_max(hours, value) AS greatest_at
    FROM logged GROUP BY ALL
), drawn AS (
    SELECT run, tag, least_at AS hours, least AS value FROM ends
    UNION ALL
    SELECT run, tag, greatest_at, greatest FROM ends WHERE greatest_at <> least_at
)
SELECT run, tag, (SELECT sum(points)::BIGINT FROM ends WHERE ends.run = drawn.run AND ends.tag = drawn.tag) AS points,
       list(hours ORDER BY hours) AS hours, list(value ORDER BY hours) AS values
FROM drawn GROUP BY run, tag ORDER BY run, tag;
