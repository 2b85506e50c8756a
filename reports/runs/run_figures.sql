-- Of each run with a log: its curve as kept, its log's stretch and files, its place among runs alike.
WITH stretches AS (
    SELECT run, min(first_at) AS first_at, max(last_at) AS last_at FROM derived.log_summaries WHERE run IN $runs GROUP BY run
),
files AS (
    SELECT s.run, list(DISTINCT f.file ORDER BY f.file) AS files
    FROM stretches AS s
    JOIN derived.run_curves AS c USING (run)
    JOIN typed.log_blocks AS b ON b.equipment = c.equipment AND b.first_at <= s.last_at AND b.last_at >= s.first_at
    JOIN typed.log_files AS f USING (source_id)
    GROUP BY s.run
)
SELECT c.run, c.equipment, c.stage, coalesce(r.recipe, r.product, '') AS recipe, s.first_at, s.last_at, f.files, k.curve,
       c.hearts_from_sheet_at, c.hearts_to_sheet_at, o.offset_min, c.band, c.band_runs, c.distance, c.distance_limit
FROM derived.run_curves AS c
JOIN derived.kept_curves AS k USING (run)
JOIN stretches AS s USING (run)
JOIN files AS f USING (run)
JOIN derived.runs AS r USING (run)
LEFT JOIN derived.log_clocks AS o USING (run)
ORDER BY c.log_started_at, c.run;
