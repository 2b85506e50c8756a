-- One row a logged still run: the log's start of heating against the run sheet's.
SELECT 'run ' || clocks.run AS record, clocks.run, clocks.equipment, runs.source_id, runs.line, clocks.offset_min
FROM derived.log_clocks AS clocks
JOIN derived.runs ON runs.run = clocks.run
ORDER BY clocks.started_at, clocks.run
