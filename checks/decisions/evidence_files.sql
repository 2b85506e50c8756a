-- The received files behind a batch: those that its runs, gauges, lots, results and bottling were read from.
WITH runs AS (
    SELECT run FROM derived.ancestor_runs WHERE batch = $batch
),
lots AS (
    SELECT lot FROM derived.ancestor_lots WHERE batch = $batch
),
read_from AS (
    SELECT source_id FROM typed.runs WHERE run IN (FROM runs)
    UNION SELECT source_id FROM typed.movements WHERE run IN (FROM runs)
    UNION SELECT source_id FROM derived.openings WHERE lot IN (FROM lots)
    UNION SELECT source_id FROM typed.laboratory WHERE lot IN (FROM lots)
    UNION SELECT source_id FROM typed.bottling WHERE lot = $batch
    UNION SELECT source_id FROM typed.fills WHERE lot = $batch
    UNION SELECT source_id FROM typed.panel WHERE lot IN (FROM lots)
)
SELECT DISTINCT files.name, files.sha256
FROM read_from
JOIN landed.sources AS sources ON sources.source_id = read_from.source_id
JOIN received.files AS files ON files.file_id = sources.file_id
ORDER BY files.name, files.sha256
