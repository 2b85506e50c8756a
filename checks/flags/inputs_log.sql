-- The rows of a still's log that lie at a run: file by file the first and last line. Parameter: the run.
WITH stretch AS (
    SELECT equipment, min(first_at) AS first_at, max(last_at) AS last_at FROM derived.log_summaries WHERE run = $run GROUP BY equipment
)
SELECT 'log of ' || rows.equipment || ' at run ' || $run || ', to line ' || max(rows.line) AS what,
    files.name || coalesce(', sheet ' || sources.sheet, '') || ':' || min(rows.line) AS place
FROM typed.log_rows AS rows
JOIN stretch ON stretch.equipment = rows.equipment AND rows.read_at BETWEEN stretch.first_at AND stretch.last_at
JOIN landed.sources AS sources ON sources.source_id = rows.source_id
JOIN received.files AS files ON files.file_id = sources.file_id
GROUP BY rows.equipment, files.name, sources.sheet
ORDER BY files.name
