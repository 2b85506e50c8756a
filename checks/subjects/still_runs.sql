-- One row a still run: how long it overlapped a run begun before it on the same still.
WITH following AS (
    SELECT
        runs.*,
        max_by(run, (ended_at, run)) FILTER (ended_at IS NOT NULL) OVER earlier AS other_run,
        max(ended_at) OVER earlier AS other_ended_at
    FROM derived.runs
    JOIN house_stills ON house_stills.code = runs.equipment
    WINDOW earlier AS (
        PARTITION BY equipment ORDER BY started_at, run ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
    )
)
SELECT
    'run ' || run AS record, run, equipment, source_id, line,
    greatest(0, coalesce(date_diff('second', started_at, other_ended_at), 0)) / 60.0 AS overlap_min,
    'with run ' || other_run AS note
FROM following
ORDER BY started_at, run
