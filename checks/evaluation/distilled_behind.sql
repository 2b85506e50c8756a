-- The still runs behind each batch, by the house's calendar.
SELECT a.batch, r.run, timezone(getvariable('house_zone'), timezone('UTC', coalesce(r.ended_at, r.started_at)))::DATE AS on_day
FROM derived.ancestor_runs AS a JOIN derived.runs AS r USING (run) WHERE r.stage IN ('strip', 'rectify')
ORDER BY a.batch, on_day, r.run
